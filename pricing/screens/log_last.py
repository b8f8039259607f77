"""The last entries of the log on page 7: what each says in words, and the value in it that can be mended."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final

from pricing.basis.tongue import Tongue
from pricing.basis.typed import read
from pricing.basis.units import sig
from pricing.screens.log_book import LogBook
from pricing.screens.log_form import CURES
from pricing.show.log_view import title_of
from pricing.show.sheets import Cell, Row

if TYPE_CHECKING:
    from pricing.ledger.store import LedgerRow as Fact


_MAIN: Final[Mapping[str, tuple[str, str]]] = {
    "times": ("minutes", "min"),
    "powder": ("used_kg", "kg"),
    "loads": ("minutes", "min"),
    "meters": ("reading", ""),
    "rework": ("parts", "whole"),
    "outcomes": ("price_paid", "money"),
    "jobs": ("parts", "whole"),
    "quotes": ("price", "money"),
    "packs": ("opened", "whole"),
}
"""The field of a kind that a person is most likely to mistype, and the unit it is written in."""


_ABOUT: Final[Mapping[str, str]] = {
    "powder": "Powder, {powder}",
    "packs": "Packs of {powder}",
    "meters": "Meter {meter}, {carrier}",
    "rework": "Done again, {cause}",
    "outcomes": "Quote {result}",
    "jobs": "Job done, parts",
    "quotes": "Quote given",
}


def rows_of(recent: "Sequence[tuple[str, Fact]]", tongue: Tongue, *, writes: bool) -> list[Row]:
    """Collect a row for each entry of `LogBook.recent`, to be mended where the log can be written."""
    rows = []
    for kind, fact in recent:
        field, unit = _MAIN[kind]
        value, struck = fact[field], bool(fact["struck"])
        text = "" if value is None else _written(value, unit, tongue)
        fixed = not writes or struck or value is None
        cells = {
            "day": Cell(str(fact["on"]), mark="soft when"),
            "job": Cell(str(fact.get("job", "")), plain=fixed or kind in {"quotes", "outcomes"} or "job" not in fact),
            "value": Cell(text, plain=fixed),
            "strike": Cell("Bring back" if struck else "Strike", off=not writes),
            "state": Cell("struck" if struck else "", mark="soft"),
        }
        rows.append(Row(f"{kind}|{fact['id']}", _about(kind, fact), cells))
    return rows


def _written(value: float, unit: str, tongue: Tongue) -> str:
    if unit == "money":
        return f"{value:.2f}"
    return sig(float(value), 9) if unit in {"", "whole"} else tongue.show(float(value), unit)


def _about(kind: str, fact: "Mapping[str, Any]") -> str:
    who = f", {fact['worker']}" if fact.get("worker") else ""
    if kind == "times":
        return f"{title_of(fact['step'])}{who}"
    if kind == "loads":
        return f"{fact['oven']}, {CURES[fact['cure']]}"
    thrown = f", {sig(fact['thrown_kg'])} kg thrown away" if fact.get("thrown_kg") else ""
    return _ABOUT[kind].format_map(fact) + thrown


def edit_last(book: LogBook, row: str, column: str, given: str, tongue: Tongue, *, struck: bool) -> None:
    """Take what was typed in a row and column of the sheet; a struck entry is brought back.

    Raises
    ------
    Wrong
        What was typed is not a value of this kind.
    BadInput
        It cannot be written.
    """
    kind, _, name = row.partition("|")
    changes: dict[str, object] = {}
    if column == "job":
        changes["job"] = given.strip()
    elif column == "value":
        field, unit = _MAIN[kind]
        value = read(given, unit, tongue)
        changes[field] = int(value) if unit == "whole" else value
    with book.writing() as ledger:
        if column == "strike" and not struck:
            ledger.strike(kind, name)
        else:
            ledger.correct(kind, name, **changes)  # without a change it brings back what was struck
