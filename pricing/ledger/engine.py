"""The database behind a ledger: SQLite, in a file or in memory, or PostgreSQL."""

from typing import Any

import sqlalchemy as sa
from sqlalchemy import Connection, Engine

WAIT_S = 30
"""How long a writer of a file waits for another."""


def engine_of(address: sa.URL) -> Engine:
    """Connect to a database; every transaction is on the disk before it ends.

    An SQLite address without a file is an empty database in memory.
    """
    if address.get_backend_name() != "sqlite":
        if address.drivername == "postgresql":  # the driver that is installed, whichever SQLAlchemy takes by itself
            address = address.set(drivername="postgresql+psycopg")
        return sa.create_engine(address, pool_pre_ping=True)
    kept = {} if address.database else {"poolclass": sa.pool.StaticPool}
    engine = sa.create_engine(address, connect_args={"timeout": WAIT_S}, **kept)

    @sa.event.listens_for(engine, "connect")
    def _set_up(raw: Any, _record: object) -> None:
        raw.isolation_level = None  # this program says itself where a transaction begins
        for pragma in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON"):
            raw.execute(f"PRAGMA {pragma}")

    @sa.event.listens_for(engine, "begin")
    def _begin(link: Connection) -> None:
        write = link.get_execution_options().get("writes", False)
        link.exec_driver_sql("BEGIN IMMEDIATE" if write else "BEGIN")

    return engine
