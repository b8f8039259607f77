"""The tables of the ledger, for SQLite and PostgreSQL alike.

Each row has ``seq`` (order of writing), ``id`` (made by the writer, so that a retry cannot double a
row), ``at`` (when it was written, UTC), ``replaces`` (id of the row that it corrects; unique, so that
two corrections of one row cannot both stand) and ``struck`` (a correction that only takes out).
"""

from typing import Any

import sqlalchemy as sa
from sqlalchemy import Column, MetaData, Table
from sqlalchemy.types import TypeEngine

VERSION = 3
"""Version of the tables that this program writes."""

METADATA = MetaData()

FIELDS: dict[str, str] = {
    "quotes": "job:t on:t note:t finish:t parts:i price:f cost:f currency:t version:t minutes:j sheet:j",
    "outcomes": "job:t on:t note:t result:t price_paid:f?",
    "jobs": "job:t on:t note:t finish:t substrate:t parts:i wiped_parts:i",
    "times": "job:t on:t note:t step:t minutes:f amounts:j worker:t how:t confirmed:b",
    "loads": "job:t on:t note:t oven:t cure:t minutes:f mass_kg:f? peak_degC:f? jobs:i? fill:f? set_degC:f?",
    "meters": "meter:t on:t reading:f unit:t carrier:t note:t",
    "powder": "job:t on:t note:t powder:t used_kg:f coated_m2:f? film_um:f? left_kg:f?",
    "packs": "powder:t on:t opened:i thrown_kg:f note:t",
    "rework": "job:t on:t note:t parts:i found:t cause:t",
    "watch": "job:t step:t action:t worker:t pressed:t steady_s:f? clock:t",
}
"""Columns by table: t text, i whole number, f double, b yes or no, j JSON; ? may be empty."""


_TYPES: dict[str, TypeEngine[Any]] = {
    "t": sa.Text(),
    "i": sa.Integer(),
    "f": sa.Float(53),  # a double on both servers
    "b": sa.Boolean(),
    "j": sa.JSON(),
}


def own_columns(fields: str) -> list[Column[Any]]:
    """Make the columns that a text like ``job:t price:f?`` names, as in `FIELDS`."""
    named = (field.partition(":") for field in fields.split())
    return [Column(name, _TYPES[kind[0]], nullable=kind.endswith("?")) for name, _, kind in named]


def common_columns() -> list[Column[Any]]:
    """Collect the columns that every table has; fresh ones, since a column belongs to one table."""
    whole = sa.BigInteger().with_variant(sa.Integer, "sqlite")  # SQLite numbers rows by itself only for INTEGER
    return [
        Column("seq", whole, primary_key=True, autoincrement=True),
        Column("id", sa.String(64), nullable=False, unique=True),
        Column("at", sa.String(40), nullable=False),
        Column("replaces", sa.String(64), nullable=True, unique=True),
        Column("struck", sa.Boolean, nullable=False),
    ]


TABLES: dict[str, Table] = {
    name: Table(name, METADATA, *common_columns(), *own_columns(fields), sqlite_autoincrement=True)
    for name, fields in FIELDS.items()
}
"""Tables by kind of fact."""


def stands(table: Table) -> tuple[sa.ColumnElement[bool], ...]:
    """Collect the conditions under which a row stands: not struck, and not replaced by a correction."""
    newer = table.alias()
    return sa.not_(table.c.struck), ~sa.exists(sa.select(1).where(newer.c.replaces == table.c.id))


VERSIONS = Table(
    "ledger_version",
    METADATA,
    Column("version", sa.Integer, primary_key=True),
    Column("at", sa.String(40), nullable=False),
)


def heads() -> sa.Select[Any]:
    """Ask how far each table is written: nothing is ever changed, so the same answer means the same facts."""
    lasts = {kind: sa.select(sa.func.coalesce(sa.func.max(table.c.seq), 0)) for kind, table in TABLES.items()}
    return sa.select(*(last.scalar_subquery().label(kind) for kind, last in lasts.items()))
