"""Versions of the tables, one rung at a time; a file of an older program climbs to today's.

Rungs are written with Alembic's operations and never edited once shipped; a new version is a new rung.
All rungs run in one transaction, after a backup, so that a broken climb leaves the old file as it was.
"""

from collections.abc import Callable

import sqlalchemy as sa
from alembic.migration import MigrationContext
from alembic.operations import Operations
from sqlalchemy import Boolean, Column, Connection, Float, Integer, Text, inspect

from pricing.ledger.tables import VERSION, VERSIONS, common_columns, own_columns

_FIRST: dict[str, str] = {
    "quotes": "job:t on:t note:t finish:t parts:i price:f cost:f currency:t version:t minutes:j sheet:j",
    "outcomes": "job:t on:t note:t result:t price_paid:f?",
    "jobs": "job:t on:t note:t finish:t substrate:t parts:i wiped_parts:i",
    "times": "job:t on:t note:t step:t minutes:f amounts:j worker:t how:t",
    "loads": "job:t on:t note:t oven:t cure:t minutes:f mass_kg:f? peak_degC:f?",
    "meters": "meter:t on:t reading:f unit:t carrier:t note:t",
    "powder": "job:t on:t note:t powder:t used_kg:f coated_m2:f?",
    "rework": "job:t on:t note:t parts:i found:t cause:t",
    "watch": "job:t step:t action:t worker:t pressed:t",
}


def version_of(link: Connection) -> int:
    """Work out the version of the tables; 0 when there are none yet."""
    if VERSIONS.name not in inspect(link).get_table_names():
        return 0
    found = link.execute(sa.select(sa.func.max(VERSIONS.c.version))).scalar()
    return int(found or 0)


def climb(link: Connection, at: str, *, to: int = VERSION) -> None:
    """Bring the tables to a version, inside the caller's transaction; each rung is noted with the time."""
    op = Operations(MigrationContext.configure(link))
    for rung in range(version_of(link) + 1, to + 1):
        _RUNGS[rung - 1](op)
        link.execute(VERSIONS.insert().values(version=rung, at=at))


def _first(op: Operations) -> None:
    number, at = Column("version", Integer, primary_key=True), Column("at", sa.String(40), nullable=False)
    op.create_table(VERSIONS.name, number, at)
    for name, fields in _FIRST.items():
        op.create_table(name, *common_columns(), *own_columns(fields), sqlite_autoincrement=True)
        _only_append(op, name)


def _second(op: Operations) -> None:
    """Keep the owner's word that a row which looks wrong was so."""
    op.add_column("times", Column("confirmed", Boolean, nullable=False, server_default=sa.false()))


def _third(op: Operations) -> None:
    """Keep a clock that never runs backwards, what loads and powder teach, packs; guard against replacing as well."""
    op.add_column("watch", Column("steady_s", Float(53), nullable=True))
    op.add_column("watch", Column("clock", Text(), nullable=False, server_default=""))
    for column in (Column("jobs", Integer()), Column("fill", Float(53)), Column("set_degC", Float(53))):
        op.add_column("loads", column)
    for column in (Column("film_um", Float(53)), Column("left_kg", Float(53))):
        op.add_column("powder", column)
    packs = "powder:t on:t opened:i thrown_kg:f note:t"
    op.create_table("packs", *common_columns(), *own_columns(packs), sqlite_autoincrement=True)
    _only_append(op, "packs")
    for name in (*_FIRST, "packs"):
        _never_replace(op, name)


_REFUSED = "facts are never changed; write a correction"


def _only_append(op: Operations, name: str) -> None:
    """Let the database itself refuse to change or delete a fact."""
    if op.get_bind().dialect.name == "sqlite":
        for verb in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {name}_no_{verb.lower()} BEFORE {verb} ON {name} "
                f"BEGIN SELECT RAISE(ABORT, '{_REFUSED}'); END"
            )
        return
    op.execute(
        "CREATE OR REPLACE FUNCTION ledger_only_append() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN RAISE EXCEPTION '{_REFUSED}'; END $$"
    )
    op.execute(
        f"CREATE TRIGGER {name}_only_append BEFORE UPDATE OR DELETE ON {name} "
        "FOR EACH ROW EXECUTE FUNCTION ledger_only_append()"
    )


def _never_replace(op: Operations, name: str) -> None:
    """Refuse what deletes without saying so: a row that takes another's place, a table emptied at a stroke."""
    if op.get_bind().dialect.name == "sqlite":  # a replaced row is deleted without its trigger
        taken = "seq = NEW.seq OR id = NEW.id OR replaces = NEW.replaces"
        op.execute(
            f"CREATE TRIGGER {name}_no_replace BEFORE INSERT ON {name} "  # noqa: S608  names of our own tables
            f"WHEN EXISTS (SELECT 1 FROM {name} WHERE {taken}) BEGIN SELECT RAISE(ABORT, '{_REFUSED}'); END"
        )
        return
    op.execute(
        f"CREATE TRIGGER {name}_no_truncate BEFORE TRUNCATE ON {name} "
        "FOR EACH STATEMENT EXECUTE FUNCTION ledger_only_append()"
    )


_RUNGS: tuple[Callable[[Operations], None], ...] = (_first, _second, _third)
