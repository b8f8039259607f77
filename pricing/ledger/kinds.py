"""The kinds of facts by the name of their table, and how one is made from plain values."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from pydantic import ValidationError

from pricing.basis.errors import BadInput, not_known
from pricing.basis.records import Record, problems
from pricing.ledger.clocks import Pressed
from pricing.ledger.entries import Done, Load, Meter, Outcome, Packed, Quoted, Redone, Took, Weighed

ENTRY_KINDS: Mapping[str, type[Record]] = {
    "quotes": Quoted,
    "outcomes": Outcome,
    "jobs": Done,
    "times": Took,
    "loads": Load,
    "meters": Meter,
    "powder": Weighed,
    "packs": Packed,
    "rework": Redone,
    "watch": Pressed,
}
"""Kinds of facts, by the name of their table."""


def kind_of(kind: str) -> type[Record]:
    """Return the record of a kind of fact.

    Raises
    ------
    BadInput
        There is no such kind.
    """
    if kind not in ENTRY_KINDS:
        raise BadInput("the ledger", [not_known("kind", kind, ENTRY_KINDS)])
    return ENTRY_KINDS[kind]


def read_entry(kind: str, fields: Mapping[str, object], where: str) -> Record:
    """Make a fact from plain values by the names of its fields: numbers in the unit that the name says.

    Raises
    ------
    BadInput
        With every field that is not accepted.
    """
    record = kind_of(kind)
    try:
        return record.model_validate(dict(fields))
    except ValidationError as why:
        raise BadInput(where, problems(record, why)) from None


def row_of(entry: Record) -> dict[str, Any]:
    """Turn a fact into what its table keeps: dates as text."""
    values = {name: getattr(entry, name) for name in type(entry).model_fields}
    return {name: value.isoformat() if isinstance(value, date) else value for name, value in values.items()}
