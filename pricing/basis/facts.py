"""Facts with their sources: no number enters the model without unit, bounds, source and date."""

from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from typing import Literal

from pricing.basis.errors import BadInput, Problem, gathered, nearest, not_known
from pricing.basis.files import read_table
from pricing.basis.units import turned

FactKind = Literal["measured", "published", "guess"]
FACT_KINDS: tuple[FactKind, ...] = ("measured", "published", "guess")
"""From best known to least known."""

FACT_COLUMNS = ("name", "value", "low", "high", "unit", "source", "where", "read_on", "note")
SOURCE_COLUMNS = ("key", "kind", "title", "publisher", "year", "where")


@dataclass(frozen=True, slots=True)
class Source:
    """Where a number comes from."""

    key: str
    kind: FactKind
    title: str
    publisher: str
    year: str
    where: str


@dataclass(frozen=True, slots=True)
class Fact:
    """One number with its unit, bounds and source."""

    name: str
    value: float
    low: float
    high: float
    unit: str
    source: Source
    where: str
    read_on: str
    note: str


def data_folder() -> Path:
    """Return the folder of facts and of the demo shop: beside the package, or inside an installed one."""
    inside = Path(__file__).parents[1] / "data"
    return inside if inside.is_dir() else Path(__file__).parents[2] / "data"


@cache
def sources() -> dict[str, Source]:
    """Read ``data/sources.csv`` by key."""
    return read_sources(data_folder() / "sources.csv")


def read_sources(path: Path) -> dict[str, Source]:
    """Read a table of sources by key; an unknown kind and a key that stands twice are refused."""
    found: dict[str, Source] = {}
    with gathered(path) as bad:
        for row in read_table(path, SOURCE_COLUMNS):
            line = row.pop("#")
            if row["kind"] not in FACT_KINDS:
                bad.append(not_known(f"line {line}: kind", row["kind"], FACT_KINDS))
            elif row["key"] in found:
                bad.append(Problem(f"line {line}: key", row["key"], "there once"))
            else:
                found[row["key"]] = Source(**row)  # type: ignore[arg-type]  # kind was checked
    return found


@cache
def facts() -> dict[str, Fact]:
    """Read ``data/facts.csv`` by name.

    Raises
    ------
    BadInput
        A number, date or source is wrong, or the bounds do not hold the value.
    """
    path = data_folder() / "facts.csv"
    found: dict[str, Fact] = {}
    with gathered(path) as bad:
        for row in read_table(path, FACT_COLUMNS):
            where = f"line {row.pop('#')}"
            try:
                low, value, high = (float(row[k]) for k in ("low", "value", "high"))
                date.fromisoformat(row["read_on"])
            except ValueError as why:
                bad.append(Problem(where, str(why), "numbers and a date like 2026-11-25"))
                continue
            key = row["source"]
            if not low <= value <= high:
                bad.append(Problem(f"{where}: value", value, f"from low {low:g} to high {high:g}"))
            if key not in sources():
                bad.append(Problem(f"{where}: source", key, "a key of sources.csv", nearest(key, sources())))
            elif row["name"] in found:
                bad.append(Problem(f"{where}: name", row["name"], "there once"))
            else:
                numbers = {"low": low, "value": value, "high": high}
                found[row["name"]] = Fact(**{**row, **numbers, "source": sources()[key]})  # type: ignore[arg-type]
    return found


@cache
def numbers() -> dict[str, float]:
    """Collect every fact's value by name, each in the unit of its row: what the physics is handed."""
    return {name: row.value for name, row in facts().items()}


@cache
def fact(name: str, unit: str = "") -> float:
    """Return the value of a row of ``data/facts.csv`` in the unit wanted; without one, in the row's own.

    Raises
    ------
    BadInput
        The name is not there, or its unit is of another kind.
    """
    if name not in facts():
        raise BadInput("facts.csv", [Problem("name", name, "a name in the table", nearest(name, facts()))])
    row = facts()[name]
    if not unit or unit == row.unit:
        return row.value
    value = turned(row.value, row.unit, unit)
    if isinstance(value, str):
        raise BadInput("facts.csv", [Problem(name, row.unit, f"a unit like {unit}", value)])
    return value


def weakest(kinds: "set[FactKind] | frozenset[FactKind]") -> FactKind:
    """Return the least known kind of a set; an empty set is measured.

    >>> weakest({"published", "guess"})
    'guess'
    """
    return max(kinds, key=FACT_KINDS.index, default="measured")
