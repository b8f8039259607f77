"""The ledger itself: a file in the shop's folder, or a database on a server.

Takes    facts (`pricing.ledger.entries`), corrections, and the wish to strike a row out.
Gives    the rows that stand, and the whole history.
Safety   one transaction per call, synchronised to the disk before it returns; a writer waits up to
         half a minute for another; the same entry given twice is written once.
Room     ledger. Imports basis, backup, kinds, ladder, plain, tables.
"""

import uuid
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any, Self

import sqlalchemy as sa
from sqlalchemy import Connection, Engine
from sqlalchemy.dialects import postgresql, sqlite

from pricing.basis.errors import BadInput, Problem
from pricing.basis.records import Record
from pricing.ledger import backup
from pricing.ledger.kinds import kind_of, read_entry
from pricing.ledger.ladder import climb, version_of
from pricing.ledger.plain import plain_words
from pricing.ledger.tables import TABLES, VERSION, stands

FILE = "ledger.db"
WAIT_S = 30
_LOCK = 7_205_116  # any number; two programs that climb at once on a server wait for each other by it

Row = dict[str, Any]


def open_ledger(
    folder: Path | str, url: str | None = None, *, wait_s: float = WAIT_S, to_look: bool = False
) -> "Ledger":
    """Open the ledger of a shop; it is made when it is not there.

    Parameters
    ----------
    folder : path
        The shop's folder; backups go there.
    url : str, optional
        Address of a database, ``postgresql://user@host/name``; the file ``ledger.db`` without it.
    wait_s : float
        How long a writer waits for another.
    to_look : bool
        Whether it is only read: then it is neither made nor brought up to date.

    Raises
    ------
    BadInput
        It is only read, and not there or older than this program; the file is damaged, is no ledger, or is newer
        than this program; the server does not answer; the folder is not there.
    """
    at = Path(folder)
    if not at.is_dir():
        mend = "`new FOLDER` makes one."
        raise BadInput(str(at), [Problem("the folder", "not there", "a shop's folder", mend)])
    path = None if url else at / FILE
    where = str(path) if path else sa.make_url(url or "").render_as_string(hide_password=True)
    if path and to_look and not path.exists():
        raise BadInput(where, [Problem("the ledger", "not there", "written to once", "Log a job with `lab` first.")])
    if path:
        backup.refuse_damaged(path)
    with plain_words(where, backup.advice(at)):
        engine = _engine(path, url, wait_s)
        try:
            _make_current(engine, at, where, path, to_look=to_look)
        except BaseException:
            engine.dispose()
            raise
    return Ledger(engine, at, where)


def _engine(path: Path | None, url: str | None, wait_s: float) -> Engine:
    if path is None:
        address = sa.make_url(url or "")
        if address.drivername == "postgresql":  # the driver that is installed, whichever SQLAlchemy takes by itself
            address = address.set(drivername="postgresql+psycopg")
        return sa.create_engine(address, pool_pre_ping=True)
    engine = sa.create_engine(sa.URL.create("sqlite", database=str(path)), connect_args={"timeout": wait_s})

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


def _make_current(engine: Engine, folder: Path, where: str, path: Path | None, *, to_look: bool) -> None:
    with engine.connect() as link:
        version = version_of(link)
    if version > VERSION:
        mend = "Update this program; nothing was changed."
        raise BadInput(where, [Problem("version of the ledger", version, f"at most {VERSION}", mend)])
    if version == VERSION:
        return
    if to_look:
        mend = "Open page 7 with `lab` once, which keeps a backup first; nothing was changed."
        raise BadInput(where, [Problem("version of the ledger", version, f"{VERSION}", mend)])
    if version:
        backup.back_up(engine, folder, path, label=f"v{version}")
    with engine.connect().execution_options(writes=True) as link, link.begin():
        if engine.dialect.name == "postgresql":
            link.execute(sa.select(sa.func.pg_advisory_xact_lock(_LOCK)))
        climb(link, now())


def now() -> str:
    """Give the time in UTC, sortable as text."""
    return datetime.now(UTC).isoformat(timespec="microseconds")


def new_id() -> str:
    """Make the id of an entry; whoever may have to write it again keeps it."""
    return uuid.uuid4().hex


class Ledger:
    """An open ledger.

    Parameters
    ----------
    engine : Engine
        The database.
    folder : Path
        The shop's folder.
    where : str
        Name for messages.
    """

    def __init__(self, engine: Engine, folder: Path, where: str) -> None:
        self._engine, self.folder, self.where = engine, folder, where

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()

    @contextmanager
    def _link(self, *, writes: bool) -> Iterator[Connection]:
        with plain_words(self.where, backup.advice(self.folder)), self._engine.connect() as raw:
            link = raw.execution_options(writes=writes)
            with link.begin():
                yield link

    def add(self, kind: str, *entries: Record, ids: Sequence[str] | None = None) -> list[str]:
        """Write facts, all or none.

        Parameters
        ----------
        kind : str
            Kind of fact, as in `KINDS`.
        *entries : Record
            The facts.
        ids : sequence of str, optional
            Their ids, kept from an earlier attempt: what is there already is not written again.

        Returns
        -------
        list of str
            The ids.

        Raises
        ------
        BadInput
            A fact is not of the kind, an id is taken by another fact, or the database cannot write.
        """
        return self.add_all([(kind, entry) for entry in entries], ids=ids)

    def add_all(self, facts: Sequence[tuple[str, Record]], *, ids: Sequence[str] | None = None) -> list[str]:
        """Write facts of several kinds, all or none.

        Parameters
        ----------
        facts : sequence of (kind, Record)
            The facts.
        ids : sequence of str, optional
            As in `add`.

        Raises
        ------
        BadInput
            As `add`.
        """
        names = list(ids) if ids is not None else [new_id() for _ in facts]
        rows: dict[str, list[Row]] = {}
        for (kind, entry), name in zip(facts, names, strict=True):
            if not isinstance(entry, kind_of(kind)):
                raise BadInput(self.where, [Problem(kind, type(entry).__name__, kind_of(kind).__name__)])
            head = {"id": name, "at": now(), "replaces": None, "struck": False}
            rows.setdefault(kind, []).append(head | _plain(entry))
        with self._link(writes=True) as link:
            for kind, some in rows.items():
                self._insert(link, kind, some)
        return names

    def _insert(self, link: Connection, kind: str, rows: list[Row]) -> None:
        make = sqlite.insert if self._engine.dialect.name == "sqlite" else postgresql.insert
        table = TABLES[kind]
        statement = make(table).on_conflict_do_nothing(index_elements=["id"]).returning(table.c.id)
        written = set(link.execute(statement, rows).scalars())
        for row in rows:  # some were there already: the same fact is welcome twice, another one is not
            if row["id"] not in written:
                kept = link.execute(sa.select(table).where(table.c.id == row["id"])).mappings().one()
                if any(kept[name] != value for name, value in row.items() if name != "at"):
                    raise BadInput(self.where, [Problem("id", row["id"], "new, or that of the same fact")])

    def correct(self, kind: str, row_id: str, **changes: object) -> str:
        """Write a corrected row in place of another; the old one stays in the history.

        Parameters
        ----------
        kind : str
            Kind of fact.
        row_id : str
            Id of the row as it stands now.
        **changes : object
            Fields with their new values.

        Returns
        -------
        str
            Id of the new row.

        Raises
        ------
        BadInput
            There is no such row, it was corrected already, or a new value is not accepted.
        """
        record = kind_of(kind)
        old = self._one(kind, row_id)
        fields = {name: old[name] for name in record.model_fields}
        fresh = read_entry(kind, fields | changes, self.where)
        return self._replace(kind, row_id, _plain(fresh), struck=False)

    def strike(self, kind: str, row_id: str) -> str:
        """Take a row out; it stays in the history.

        Parameters
        ----------
        kind, row_id
            As in `correct`.

        Raises
        ------
        BadInput
            There is no such row, or it was corrected already.
        """
        old = self._one(kind, row_id)
        return self._replace(kind, row_id, {n: old[n] for n in kind_of(kind).model_fields}, struck=True)

    def _one(self, kind: str, row_id: str) -> Row:
        kind_of(kind)
        table = TABLES[kind]
        with self._link(writes=False) as link:
            found = link.execute(sa.select(table).where(table.c.id == row_id)).mappings().first()
        if found is None:
            raise BadInput(self.where, [Problem(f"id in {kind}", row_id, "the id of a row", "Look it up again.")])
        return dict(found)

    def _replace(self, kind: str, row_id: str, fields: Row, *, struck: bool) -> str:
        name = new_id()
        head = {"id": name, "at": now(), "replaces": row_id, "struck": struck}
        with self._link(writes=True) as link:
            link.execute(TABLES[kind].insert(), [head | fields])
        return name

    def rows(self, kind: str, *, job: str | None = None, brief: bool = False) -> list[Row]:
        """Give the rows that stand: not struck, and not replaced by a correction.

        Parameters
        ----------
        kind : str
            Kind of fact.
        job : str, optional
            Only those of one job.
        brief : bool
            Cost sheets of quotes with their amounts alone: thousands of whole ones take seconds to read.

        Returns
        -------
        list of dict
            In the order of writing.

        Raises
        ------
        BadInput
            There is no such kind, or the database cannot be read.
        """
        kind_of(kind)
        table = TABLES[kind]
        short = brief and "sheet" in table.c
        columns = [table.c.sheet["amounts"].label("sheet") if short and c.name == "sheet" else c for c in table.c]
        query = sa.select(*columns).where(*stands(table))
        if job is not None:
            query = query.where(table.c.job == job)
        found = self.ask(query.order_by(table.c.seq))
        return [row | {"sheet": {"amounts": row["sheet"]} if row["sheet"] else {}} for row in found] if short else found

    def ask(self, query: sa.Select[Any]) -> list[Row]:
        """Give the rows of a query over `TABLES`.

        Parameters
        ----------
        query : Select
            It only reads.

        Raises
        ------
        BadInput
            The database cannot be read.
        """
        with self._link(writes=False) as link:
            found = link.execute(query)
            names = list(found.keys())
            return [dict(zip(names, row, strict=True)) for row in found]  # half the time that mappings take

    def known(self, kind: str, ids: Sequence[str]) -> set[str]:
        """Tell which ids were written already.

        Parameters
        ----------
        kind : str
            Kind of fact.
        ids : sequence of str
            Ids to look for.

        Raises
        ------
        BadInput
            As `rows`.
        """
        kind_of(kind)
        column, found = TABLES[kind].c.id, set[str]()
        with self._link(writes=False) as link:
            for first in range(0, len(ids), 500):  # a statement takes only so many values
                some = link.execute(sa.select(column).where(column.in_(ids[first : first + 500])))
                found.update(some.scalars())
        return found

    def history(self, kind: str) -> list[Row]:
        """Give every row that was ever written, in order.

        Parameters
        ----------
        kind : str
            Kind of fact.

        Raises
        ------
        BadInput
            As `rows`.
        """
        kind_of(kind)
        table = TABLES[kind]
        return self.ask(sa.select(table).order_by(table.c.seq))

    def back_up(self) -> Path:
        """Write a backup into the folder ``backups`` and give its path.

        Raises
        ------
        BadInput
            It cannot be written.
        """
        path = self.folder / FILE if self._engine.dialect.name == "sqlite" else None
        with plain_words(self.where):
            return backup.back_up(self._engine, self.folder, path, label=f"v{VERSION}")


def _plain(entry: Record) -> Row:
    """Turn a record into what the table keeps: dates as text."""
    found: Row = {}
    for name in type(entry).model_fields:
        value = getattr(entry, name)
        found[name] = value.isoformat() if isinstance(value, date) else value
    return found
