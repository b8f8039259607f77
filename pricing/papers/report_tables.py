"""Every assumption behind a summary, with its source and how well it is known."""

from collections.abc import Sequence
from typing import Any, NamedTuple

from pricing.basis.facts import FACT_KINDS
from pricing.basis.units import readable
from pricing.papers.live_shop import live_shop
from pricing.papers.report import Report
from pricing.papers.told import PaperWords
from pricing.shop.shop import Shop
from pricing.show.cells import Measure
from pricing.show.labels import short
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


def kinds_share(report: Report) -> dict[str, int]:
    """Count the three-point numbers by how well they are known."""
    found: dict[str, Any] = dict.fromkeys(FACT_KINDS, 0)
    for row in report.shop.uncertain.values():
        found[row.kind] += 1
    return found
