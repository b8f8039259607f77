"""The last entries of the log on page 7: what each says in words, and the value in it that can be mended."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from pricing.basis.tongue import Tongue
from pricing.basis.typed import read
from pricing.basis.units import sig
from pricing.screens.log_book import LogBook
from pricing.screens.log_form import CURES
from pricing.show.log_view import title_of
from pricing.show.sheets import Cell, Row

if TYPE_CHECKING:
    from pricing.ledger.store import LedgerRow as Fact


class _Main(NamedTuple):
    """The field of a kind that a person is most likely to mistype, and the unit it is written in."""

    field: str
    unit: str


_MAIN: Final[Mapping[str, _Main]] = {
    "times": _Main("minutes", "min"),
    "powder": _Main("used_kg", "kg"),
    "loads": _Main("minutes", "min"),
    "meters": _Main("reading", ""),
    "rework": _Main("parts", ""),
    "outcomes": _Main("price_paid", "money"),
    "jobs": _Main("parts", ""),
    "quotes": _Main("price", "money"),
    "packs": _Main("opened", ""),
}
_WHOLE = {"rework", "jobs", "packs"}


def rows_of(recent: "Sequence[tuple[str, Fact]]", tongue: Tongue, *, writes: bool) -> list[Row]:
    """Collect a row for each entry; one that was struck can be brought back.

    Parameters
    ----------
    recent : sequence of (kind, dict)
        From `LogBook.recent`.
    tongue : Tongue
        For units and money.
    writes : bool
        Whether entries can be mended here.
    """
    rows = []
    for kind, fact in recent:
        main = _MAIN[kind]
        value, struck = fact[main.field], bool(fact["struck"])
        text = "" if value is None else _written(value, main, tongue)
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


def _written(value: float, main: _Main, tongue: Tongue) -> str:
    if main.unit == "money":
        return f"{value:.2f}"
    return tongue.show(float(value), main.unit) if main.unit else sig(float(value), 9)


def _about(kind: str, fact: "Mapping[str, Any]") -> str:
    who = f", {fact['worker']}" if fact.get("worker") else ""
    match kind:
        case "times":
            return f"{title_of(fact['step'])}{who}"
        case "powder":
            return f"Powder, {fact['powder']}"
        case "packs":
            thrown = f", {sig(fact['thrown_kg'])} kg thrown away" if fact["thrown_kg"] else ""
            return f"Packs of {fact['powder']}{thrown}"
        case "loads":
            return f"{fact['oven']}, {CURES[fact['cure']]}"
        case "meters":
            return f"Meter {fact['meter']}, {fact['carrier']}"
        case "rework":
            return f"Done again, {fact['cause']}"
        case "outcomes":
            return f"Quote {fact['result']}"
        case "jobs":
            return "Job done, parts"
        case _:
            return "Quote given"


def edit_last(book: LogBook, row: str, column: str, given: str, tongue: Tongue, *, struck: bool) -> None:
    """Take an edit of the sheet.

    Parameters
    ----------
    book : LogBook
        The log.
    row, column, given : str
        As the table gives them.
    tongue : Tongue
        For units and money.
    struck : bool
        Whether the entry is struck now.

    Raises
    ------
    Wrong
        What was typed is not a value of this kind.
    BadInput
        It cannot be written.
    """
    kind, _, name = row.partition("|")
    if column == "strike":
        if struck:
            book.mend(kind, name)
        else:
            book.strike(kind, name)
    elif column == "job":
        book.mend(kind, name, job=given.strip())
    else:
        main = _MAIN[kind]
        book.mend(kind, name, **{main.field: _read(kind, given, main, tongue)})


def _read(kind: str, given: str, main: _Main, tongue: Tongue) -> float:
    value = read(given, "whole" if kind in _WHOLE else main.unit, tongue)
    return int(value) if kind in _WHOLE else value
