"""Tables of a summary: what a bank asks; hire, buy, drop; the shop's own numbers; every assumption with its source."""

from collections.abc import Sequence
from math import inf, isfinite
from typing import NamedTuple

from pricing.basis.facts import FACT_KINDS
from pricing.basis.units import readable
from pricing.papers.live_shop import live_shop
from pricing.papers.report import Report
from pricing.papers.told import PaperWords
from pricing.prices.bank_view import Bank
from pricing.shop.shop import Shop
from pricing.show.cells import Measure
from pricing.show.labels import short
from pricing.show.mix_view import choice_words, nothing_to_drop, worth_telling
from pricing.show.naming import Names


class AssumptionRow(NamedTuple):
    """One assumption as it is printed."""

    what: str
    points: str
    moves: str
    source: str


def assumption_rows(report: Report) -> Sequence[tuple[str, list[AssumptionRow]]]:
    """Collect the three-point numbers by how well they are known; within each, what moves the job most comes first.

    Returns
    -------
    sequence of (str, list of Row)
        Guesses first: they are what to ask about.
    """
    shop, words = report.shop, PaperWords(report.shop)
    tongue = shop.tongue
    swing = {key: abs(high - low) for key, low, high in report.sides.fancy.swings()}
    groups = []
    for kind in reversed(FACT_KINDS):
        keys = [key for key, row in shop.uncertain.items() if row.kind == kind]
        rows = []
        for key in sorted(keys, key=lambda k: -swing.get(k, 0.0)):
            row = shop.uncertain[key]
            measure = Measure(row.unit, tongue)
            points = " – ".join(measure.write(point, digits=3) for point in (row.low, row.likely, row.high))
            moves = words.money(swing[key]) if swing.get(key, 0.0) > 5e-3 else ""
            told = "; ".join(text for text in (row.source.title, row.where, row.read_on, row.note) if text)
            rows.append(AssumptionRow(_title(shop, key), f"{points}{measure.beside}", moves, told))
        if rows:
            groups.append((kind, rows))
    return groups


def own_numbers(report: Report) -> list[tuple[str, list[tuple[str, str]]]]:
    """Collect the shop's own numbers by group: bills, people, machines, prices; all of them the owner's word."""
    words, groups = PaperWords(report.shop), dict[str, list[tuple[str, str]]]()
    for own in live_shop(report.shop).own:
        value = own.cell.value
        if own.shows.endswith("%"):
            text = words.share(value)
        elif own.unit == "money":
            text = words.money(value, cents=value % 1 > 0)
        elif own.unit.startswith("money/"):
            much = words.money(value, cents=False) if value >= _WHOLE and value % 1 == 0 else words.rate(value)
            text = f"{much}/{readable(own.unit.removeprefix('money/'))}"
        else:
            unit = readable(own.unit)
            text = words.local(f"{value:g}") + f" {unit}{'s' if unit == 'year' and value != 1 else ''}".rstrip()
        groups.setdefault(own.group, []).append((_first(own.label), text))
    return list(groups.items())


_WHOLE = 100.0  # from here on nobody misses the cents of a round sum


def _title(shop: Shop, key: str) -> str:
    """Name a number: in few words where they tell it from all others, else in full."""
    few = key.count(".") == 1 and not key.startswith("film.")
    return short(shop, key) if few else _first(Names(shop).of(key))


def _first(text: str) -> str:
    return text[:1].upper() + text[1:]


BANK_NOTE = (
    "Worked out for the usual week in week.csv and the hours the shop has. Taxes on profit, loans and what customers"
    " owe after pick-up are not in it."
)


class BankRow(NamedTuple):
    """One question of a bank with its answer."""

    what: str
    figure: str
    told: str


def bank_rows(report: Report) -> list[BankRow]:
    """Collect the table; empty where the shop has no week of orders."""
    bank = report.bank
    if bank is None:
        return []
    words = PaperWords(report.shop)

    def whole(value: float) -> str:
        return words.money(value, cents=False)

    def years(left: float) -> str:
        span = bank.payback_y(left)
        return words.local(f"{span:.1f} years") if isfinite(span) else "never"

    fewer, prices = f"{bank.fewer:.0%}", [whole(bank.machines), whole(bank.machines_end)]
    spent = (
        "work under way is covered by deposits"
        if bank.under_way == 0
        else (f"{whole(bank.under_way)} a week's work takes before it is paid, less deposits")
    )
    before = f"{whole(bank.left + bank.bound)} a month before the machines' wear and interest"
    return [
        BankRow(
            "Cash tied up besides the machines",
            whole(bank.tied_up),
            f"{whole(bank.shelf)} for a full pack of each stock colour; {spent}.",
        ),
        BankRow("Money in the machines", prices[0], f"What they cost; sold, they bring back {prices[1]}."),
        BankRow(
            "What a month leaves",
            whole(bank.left),
            f"After all bills, the owner's draw and {whole(bank.bound)} wear and interest of the machines."
            f" The wanted work takes {bank.load:.0%} of the hours that run out first.",
        ),
        BankRow("Payback of the machines", years(bank.left), f"Without interest: price over twelve times {before}."),
        BankRow(
            "Wear and interest of the machines, covered",
            words.local(f"{bank.cover:.1f} times"),
            f"{before}, over {whole(bank.bound)}." if bank.cover < inf else "There are none.",
        ),
        BankRow(f"With {fewer} less work: a month leaves", whole(bank.left_less), _with_less(bank, fewer)),
        BankRow(f"With {fewer} less work: payback", years(bank.left_less), "As above, at what such a month leaves."),
        _even(bank),
    ]


def choice_rows(report: Report) -> list[BankRow]:
    """Collect what may be hired, bought or dropped, each with what a year then leaves more."""
    if report.choices is None:
        return []
    words = PaperWords(report.shop)
    rows = [BankRow(*choice_words(words, one)) for one in worth_telling(report.shop, report.choices)]
    none = nothing_to_drop(report.shop, report.choices)
    return [*rows, *([BankRow("Drop a kind of work", "none", none)] if none else [])]


def _with_less(bank: Bank, fewer: str) -> str:
    if bank.load_less >= 1:
        return f"Even {fewer} fewer orders would still take {bank.load_less:.0%} of the hours that run out first."
    return f"The work would then take {bank.load_less:.0%} of the hours that run out first; bills and draw stay."


def _even(bank: Bank) -> BankRow:
    if not isfinite(bank.even):
        return BankRow("Work that may fall away", "none", "Four times the orders would not pay the month either.")
    if bank.even < 0:
        return BankRow("Work that may fall away", "none", f"Orders must grow by {-bank.even:.0%} before a month pays.")
    return BankRow("Work that may fall away", f"{bank.even:.0%}", "Of all orders alike, before a month leaves nothing.")
