"""The tables of the ledger, for SQLite and PostgreSQL alike.

Each row has ``seq`` (order of writing), ``id`` (made by the writer, so that a retry cannot double a
row), ``at`` (when it was written, UTC), ``replaces`` (id of the row that it corrects; unique, so that
two corrections of one row cannot both stand) and ``struck`` (a correction that only takes out).
"""

from typing import Any

from sqlalchemy import (
    JSON,
    BigInteger,
    Boolean,
    Column,
    ColumnElement,
    Float,
    Integer,
    MetaData,
    Select,
    String,
    Table,
    Text,
    exists,
    func,
    not_,
    select,
)
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


def own_columns(fields: str) -> list[Column[Any]]:
    """Make the columns that a text like ``job:t price:f?`` names.

    Parameters
    ----------
    fields : str
        As in `FIELDS`.
    """
    columns = []
    for field in fields.split():
        name, kind = field.rstrip("?").split(":")
        columns.append(Column(name, _type(kind), nullable=field.endswith("?")))
    return columns


def _type(kind: str) -> TypeEngine[Any]:
    match kind:
        case "t":
            return Text()
        case "i":
            return Integer()
        case "f":
            return Float(53)  # a double on both servers
        case "b":
            return Boolean()
        case _:
            return JSON()


def common_columns() -> list[Column[Any]]:
    """Collect the columns that every table has; fresh ones, since a column belongs to one table."""
    whole = BigInteger().with_variant(Integer, "sqlite")  # SQLite numbers rows by itself only for INTEGER
    return [
        Column("seq", whole, primary_key=True, autoincrement=True),
        Column("id", String(64), nullable=False, unique=True),
        Column("at", String(40), nullable=False),
        Column("replaces", String(64), nullable=True, unique=True),
        Column("struck", Boolean, nullable=False),
    ]


def _table(name: str) -> Table:
    return Table(name, METADATA, *common_columns(), *own_columns(FIELDS[name]), sqlite_autoincrement=True)


TABLES: dict[str, Table] = {name: _table(name) for name in FIELDS}
"""Tables by kind of fact."""


def stands(table: Table) -> tuple[ColumnElement[bool], ...]:
    """Collect the conditions under which a row stands: not struck, and not replaced by a correction.

    Parameters
    ----------
    table : Table
        One of `TABLES`.
    """
    newer = table.alias()
    return not_(table.c.struck), ~exists(select(1).where(newer.c.replaces == table.c.id))


VERSIONS = Table(
    "ledger_version", METADATA, Column("version", Integer, primary_key=True), Column("at", String(40), nullable=False)
)


def heads() -> Select[Any]:
    """Ask how far each table is written: nothing is ever changed, so the same answer means the same facts."""
    last = (select(func.coalesce(func.max(table.c.seq), 0)).scalar_subquery().label(k) for k, table in TABLES.items())
    return select(*last)
