"""Every assumption behind a summary, with its source and how well it is known.

Room     show. Imports basis, shop, show.
"""

from collections.abc import Sequence
from typing import Any, NamedTuple

from pricing.basis.facts import KINDS, facts
from pricing.basis.units import readable, shown
from pricing.show.cells import Measure
from pricing.show.fields import Tongue
from pricing.show.live_shop import live_shop
from pricing.show.naming import Names
from pricing.show.report import Report
from pricing.show.words import Words


class Row(NamedTuple):
    """One assumption as it is printed."""

    what: str
    points: str
    moves: str
    source: str


def assumptions(report: Report) -> Sequence[tuple[str, list[Row]]]:
    """Give the three-point numbers by how well they are known; within each, what moves the job most comes first.

    Parameters
    ----------
    report : Report
        What is shown.

    Returns
    -------
    sequence of (str, list of Row)
        Guesses first: they are what to ask about.
    """
    shop, words, names = report.shop, Words(report.shop), Names(report.shop)
    tongue = Tongue(shop.currency, shop.front.units)
    swing = {key: abs(high - low) for key, low, high in report.sides.fancy.swings()}
    groups = []
    for kind in reversed(KINDS):
        keys = [key for key, row in shop.uncertain.items() if row.kind == kind]
        rows = []
        for key in sorted(keys, key=lambda k: -swing.get(k, 0.0)):
            row = shop.uncertain[key]
            measure = Measure(row.unit, tongue)
            points = " – ".join(measure.write(point) for point in (row.low, row.likely, row.high))
            moves = words.money(swing[key]) if swing.get(key, 0.0) > 5e-3 else ""
            told = "; ".join(text for text in (row.source.title, row.where, row.read_on, row.note) if text)
            rows.append(Row(_first(names.of(key)), f"{points} {measure.heading}".strip(), moves, told))
        if rows:
            groups.append((kind, rows))
    return groups


def own_numbers(report: Report) -> list[tuple[str, list[tuple[str, str]]]]:
    """Give the shop's own numbers by group: bills, people, machines, prices; all of them the owner's word."""
    words, groups = Words(report.shop), dict[str, list[tuple[str, str]]]()
    for own in live_shop(report.shop).own:
        value = own.cell.value
        if own.shows.endswith("%"):
            text = f"{value:.1%}".replace(".0%", "%")
        elif own.unit == "money":
            text = words.money(value, cents=value % 1 > 0)
        elif own.unit.startswith("money/"):
            text = f"{words.rate(value)}/{readable(own.unit.removeprefix('money/'))}"
        else:
            text = f"{value:g} {readable(own.unit)}".strip()
        groups.setdefault(own.group, []).append((_first(own.label), text))
    return list(groups.items())


def constants(report: Report) -> list[tuple[str, str, str]]:
    """Give constants of physics and trade that prices rest on: name, value with its bounds, how known and whence."""
    rows = []
    for fact in facts().values():
        if fact.name.split(".")[0] in _NOT_OF_PRICES:
            continue
        value, unit = _shown(fact.value, fact.unit, report)
        bounds = "" if fact.low == fact.high else f" ({_shown(fact.low, fact.unit, report)[0]} to"
        bounds += f" {_shown(fact.high, fact.unit, report)[0]})" if bounds else ""
        source = f"{fact.source.kind}: {fact.source.title}" + (f", {fact.where}" if fact.where else "")
        rows.append((_first(fact.name.replace(".", ", ").replace("_", " ")), f"{value}{bounds} {unit}".strip(), source))
    return rows


_NOT_OF_PRICES = {"drawing", "ledger", "packing", "fit"}  # limits of readers and of fits
_SHORT = {"millimeter": "mm", "micrometer": "µm"}


def _shown(value: float, unit: str, report: Report) -> tuple[str, str]:
    if unit in {"dimensionless", ""}:
        return f"{value:.4g}", ""
    at = shown(value, unit, report.shop.front.units)
    written = readable(at.unit, report.shop.currency)
    return f"{at.value:.4g}", _SHORT.get(written, written)


def _first(text: str) -> str:
    return text[:1].upper() + text[1:]


def kinds_share(report: Report) -> dict[str, int]:
    """Count the three-point numbers by how well they are known."""
    found: dict[str, Any] = dict.fromkeys(KINDS, 0)
    for row in report.shop.uncertain.values():
        found[row.kind] += 1
    return found
