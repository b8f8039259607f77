"""The database behind a ledger: SQLite, in a file or in memory, or PostgreSQL."""

from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy import Connection, Engine


def file_or_server(path: Path, url: str | None) -> tuple[Path | None, str | None]:
    """Tell whether a ledger is a file, which is opened as safely under any name, or lies on a server.

    Parameters
    ----------
    path : Path
        The usual file.
    url : str, optional
        Address of another file or of a server.
    """
    address = sa.make_url(url) if url else sa.URL.create("sqlite", database=str(path))
    if address.get_backend_name() == "sqlite" and address.database:
        return Path(address.database), None
    return None, url


def engine_of(path: Path | None, url: str | None, wait_s: float) -> Engine:
    """Connect to a database; every transaction is on the disk before it ends.

    Parameters
    ----------
    path : Path, optional
        The file; without it and without an address, an empty database in memory.
    url : str, optional
        Address of a server.
    wait_s : float
        How long a writer waits for another.
    """
    if url:
        address = sa.make_url(url)
        if address.drivername == "postgresql":  # the driver that is installed, whichever SQLAlchemy takes by itself
            address = address.set(drivername="postgresql+psycopg")
        return sa.create_engine(address, pool_pre_ping=True)
    address = sa.URL.create("sqlite", database=str(path) if path else None)  # in memory where there is no file yet
    engine = sa.create_engine(
        address, connect_args={"timeout": wait_s}, **({} if path else {"poolclass": sa.pool.StaticPool})
    )

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
