"""The ledger itself: a file in the shop's folder, or a database on a server.

Takes    facts (`pricing.ledger.entries`), corrections, and the wish to strike a row out.
Gives    the rows that stand, and the whole history.
Safety   one transaction per call, or per `Ledger.at_once`, synchronised to the disk before it returns;
         one writer at a time, a second waits up to half a minute; the same entry given twice is
         written once.
"""

import uuid
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Self

import sqlalchemy as sa
from sqlalchemy import Connection, Engine

from pricing.basis.errors import BadInput, Problem
from pricing.basis.records import Record
from pricing.ledger import backup
from pricing.ledger.database_errors import Changed, plain_words
from pricing.ledger.engine import engine_of
from pricing.ledger.kinds import kind_of, read_entry, row_of
from pricing.ledger.migrations import climb, version_of
from pricing.ledger.tables import TABLES, VERSION, stands

_FILE = "ledger.db"
_LOCK = 7_205_116  # any number; programs that write at once on a server wait for each other by it

LedgerRow = dict[str, Any]
BRIEF = ("amounts", "expected", "items", "listed")
"""What the log is learned from, of a cost sheet."""


def new_id() -> str:
    """Make the id of an entry; whoever may have to write it again keeps it."""
    return uuid.uuid4().hex


def _now() -> str:
    """Write the time in UTC, sortable as text."""
    return datetime.now(UTC).isoformat(timespec="microseconds")


def _table(kind: str) -> sa.Table:
    kind_of(kind)  # or a word on which there are
    return TABLES[kind]


def _file_of(address: sa.URL) -> Path | None:
    sqlite = address.get_backend_name() == "sqlite"
    return Path(address.database) if sqlite and address.database else None


def _address(folder: Path, url: str | None) -> sa.URL:
    """Tell where the ledger of a shop lies.

    Raises
    ------
    BadInput
        The folder is not there.
    """
    if not folder.is_dir():
        mend = "`new FOLDER` makes one."
        raise BadInput(str(folder), [Problem("the folder", "not there", "a shop's folder", mend)])
    return sa.make_url(url) if url else _file_address(folder / _FILE)


def _file_address(path: Path) -> sa.URL:
    return sa.URL.create("sqlite", database=str(path))


def open_ledger(folder: Path | str, url: str | None = None, *, to_look: bool = False) -> "Ledger":
    """Open the ledger of a shop; its file is made with the first fact that is written.

    Parameters
    ----------
    folder : path
        The shop's folder; backups go there.
    url : str, optional
        Address of a database, ``postgresql://user@host/name``, or of another file, ``sqlite:////folder/name.db``; the
        file ``ledger.db`` without it.
    to_look : bool
        Whether it is only read: then it is neither made nor brought up to date.

    Raises
    ------
    BadInput
        It is only read, and not there or older than this program; the file is damaged, is no ledger, or is newer
        than this program; the server does not answer; the folder is not there.
    """
    at = Path(folder)
    address = _address(at, url)
    path = _file_of(address)
    where = str(path or address.render_as_string(hide_password=True))
    unborn = path and not path.exists()
    if unborn and to_look:
        raise BadInput(where, [Problem("the ledger", "not there", "written to once", "Log a job with `lab` first.")])
    if path:
        backup.refuse_damaged(path)
    engine = engine_of(sa.URL.create("sqlite") if unborn else address)
    ledger = Ledger(engine, at, where, unborn=path if unborn else None)
    try:
        ledger.make_current(to_look=to_look)
    except BaseException:
        ledger.close()
        raise
    return ledger


def restore(folder: Path | str, kept: Path | None = None, url: str | None = None) -> str:
    """Put a backup back, and say what was done; nothing that stands there is lost.

    Parameters
    ----------
    folder : path
        The shop's folder.
    kept : Path, optional
        The backup: a file takes the ledger's place, which is kept under another name; rows of a server (``.jsonl``)
        go into an empty ledger. The newest one in the folder without it.
    url : str, optional
        As in `open_ledger`.

    Raises
    ------
    BadInput
        There is no such backup, it is not whole, or the ledger is not one that takes it.
    """
    at = Path(folder)
    path = _file_of(_address(at, url))
    kept = kept or backup.newest(at, "db" if path else "jsonl")
    if kept is None or not kept.is_file():
        raise BadInput(str(kept or at), [Problem("the backup", "not there", "a file that `log backup` wrote")])
    if kept.suffix != ".jsonl":
        if path is None:
            raise BadInput(str(kept), [Problem("the backup", "of a file", "rows of a server, in a file .jsonl")])
        aside = backup.put_back(kept, path)
        return f"{kept.name} is back." + (f" What stood there is kept as {aside.name}." if aside else "")
    with open_ledger(at, url) as ledger:
        return f"{ledger.read_rows(kept)} rows are back."


class Ledger:
    """An open ledger of a shop's folder, with its name for messages.

    Parameters
    ----------
    unborn : Path, optional
        The file to make, where ``engine`` is an empty one in memory.
    """

    def __init__(self, engine: Engine, folder: Path, where: str, *, unborn: Path | None = None) -> None:
        self._engine, self.folder, self.where, self._unborn = engine, folder, where, unborn
        self._act: ExitStack | None = None
        self._held: Connection | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()

    def make_current(self, *, to_look: bool = False) -> None:
        """Bring the tables to this program's version, after a backup; where nothing may be written, refuse others.

        Raises
        ------
        BadInput
            They are newer, the backup cannot be written, or the database cannot.
        """
        with plain_words(self.where, backup.advice(self.folder)):
            with self._engine.connect() as link:
                version = version_of(link)
            if version > VERSION:
                mend = "Update this program; nothing was changed."
                raise BadInput(self.where, [Problem("version of the ledger", version, f"at most {VERSION}", mend)])
            if version == VERSION:
                return
            if to_look and not self._unborn:
                mend = "Open page 7 with `lab` once, which keeps a backup first; nothing was changed."
                raise BadInput(self.where, [Problem("version of the ledger", version, f"{VERSION}", mend)])
            if version:
                backup.back_up(self._engine, self.folder, _file_of(self._engine.url), label=f"v{version}")
            with self._transaction(writes=True) as link:
                climb(link, _now())

    @contextmanager
    def at_once(self) -> Iterator[None]:
        """Do several things as one: what is read stays true until what is written is kept, all or none.

        Raises
        ------
        BadInput
            As `add`.
        """
        try:
            with ExitStack() as self._act:
                yield
        finally:
            self._act = self._held = None

    @contextmanager
    def _link(self, *, writes: bool) -> Iterator[Connection]:
        if self._unborn and (writes or self._unborn.exists()):
            self._engine.dispose()
            self._engine, self._unborn = engine_of(_file_address(self._unborn)), None
            self.make_current()
        if self._act and not self._held and not self._unborn:
            self._held = self._act.enter_context(self._transaction(writes=True))
        if self._held:
            yield self._held
        else:
            with self._transaction(writes=writes) as link:
                yield link

    @contextmanager
    def _transaction(self, *, writes: bool) -> Iterator[Connection]:
        """Open a transaction; writers wait for each other, so that rows are numbered in the order they are kept."""
        with plain_words(self.where, backup.advice(self.folder)), self._engine.connect() as raw:
            link = raw.execution_options(writes=writes)
            with link.begin():
                if writes and self._engine.dialect.name == "postgresql":
                    link.execute(sa.select(sa.func.pg_advisory_xact_lock(_LOCK)))
                yield link

    def add(self, kind: str, *entries: Record, ids: Sequence[str] | None = None) -> list[str]:
        """Write facts, all or none, and give their ids; with those of an earlier attempt, only what is not there yet.

        Raises
        ------
        BadInput
            A fact is not of the kind, an id is taken by another fact, or the database cannot write.
        """
        names = list(ids) if ids is not None else [new_id() for _ in entries]
        record = kind_of(kind)
        table, rows = TABLES[kind], list[LedgerRow]()
        for entry, name in zip(entries, names, strict=True):
            if not isinstance(entry, record):
                raise BadInput(self.where, [Problem(kind, type(entry).__name__, record.__name__)])
            rows.append({"id": name, "at": _now(), "replaces": None, "struck": False} | row_of(entry))
        if not rows:
            return names
        with self._link(writes=True) as link:
            kept = self._kept(link, table, names) if ids is not None else {}
            for row in rows:  # some were there already: the same fact is welcome twice, another one is not
                old = kept.get(row["id"])
                if old is not None and any(old[name] != value for name, value in row.items() if name != "at"):
                    raise BadInput(self.where, [Problem("id", row["id"], "new, or that of the same fact")])
            fresh = list({row["id"]: row for row in rows if row["id"] not in kept}.values())
            if fresh:
                link.execute(table.insert(), fresh)
        return names

    @staticmethod
    def _kept(link: Connection, table: sa.Table, names: Sequence[str]) -> dict[str, LedgerRow]:
        found: dict[str, LedgerRow] = {}
        for first in range(0, len(names), 500):  # a statement takes only so many values
            some = sa.select(table).where(table.c.id.in_(names[first : first + 500]))
            found |= {row["id"]: dict(row) for row in link.execute(some).mappings()}
        return found

    def correct(self, kind: str, row_id: str, **changes: object) -> str:
        """Write a row with changed fields in place of one that stands; give its id. The old one stays in the history.

        Raises
        ------
        BadInput
            There is no such row, it was corrected already, or a new value is not accepted.
        """
        fresh = read_entry(kind, self._fields(kind, row_id) | changes, self.where)
        return self._replace(kind, row_id, row_of(fresh), struck=False)

    def strike(self, kind: str, row_id: str) -> str:
        """Take a row out; it stays in the history.

        Raises
        ------
        BadInput
            There is no such row, or it was corrected already.
        """
        return self._replace(kind, row_id, self._fields(kind, row_id), struck=True)

    def _fields(self, kind: str, row_id: str) -> LedgerRow:
        table = _table(kind)
        found = self.ask(sa.select(table).where(table.c.id == row_id))
        if not found:
            raise BadInput(self.where, [Problem(f"id in {kind}", row_id, "the id of a row", "Look it up again.")])
        return {name: found[0][name] for name in kind_of(kind).model_fields}

    def _replace(self, kind: str, row_id: str, fields: LedgerRow, *, struck: bool) -> str:
        name, table = new_id(), TABLES[kind]
        head = {"id": name, "at": _now(), "replaces": row_id, "struck": struck}
        with self._link(writes=True) as link:
            if link.execute(sa.select(table.c.id).where(table.c.replaces == row_id)).first():
                mend = "Read it again: somebody corrected it just now; correct that row instead."
                raise Changed(self.where, [Problem("the row", "corrected already", "the newest of its line", mend)])
            link.execute(table.insert(), [head | fields])
        return name

    def rows(self, kind: str, *, job: str | None = None, brief: bool = False) -> list[LedgerRow]:
        """Collect the rows that stand, of one job or of all, in the order of writing.

        Parameters
        ----------
        brief : bool
            Cost sheets of quotes with `BRIEF` alone: thousands of whole ones take seconds to read.

        Raises
        ------
        BadInput
            There is no such kind, or the database cannot be read.
        """
        table = _table(kind)
        short = brief and "sheet" in table.c
        columns: list[sa.ColumnElement[Any]] = [c for c in table.c if not short or c.name != "sheet"]
        columns += [table.c.sheet[name].label(name) for name in BRIEF] if short else []
        query = sa.select(*columns).where(*stands(table))
        if job is not None:
            query = query.where(table.c.job == job)
        found = self.ask(query.order_by(table.c.seq))
        if not short:
            return found
        return [row | {"sheet": {name: told for name in BRIEF if (told := row.pop(name))}} for row in found]

    def ask(self, query: sa.Select[Any]) -> list[LedgerRow]:
        """Collect the rows of a query over `TABLES`, which only reads.

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
        """Tell which of some ids were written already.

        Raises
        ------
        BadInput
            As `rows`.
        """
        with self._link(writes=False) as link:
            return set(self._kept(link, _table(kind), ids))

    def history(self, kind: str) -> list[LedgerRow]:
        """Collect every row that was ever written, in order.

        Raises
        ------
        BadInput
            As `rows`.
        """
        table = _table(kind)
        return self.ask(sa.select(table).order_by(table.c.seq))

    def back_up(self) -> Path:
        """Write a backup into the folder ``backups`` and give its path.

        Raises
        ------
        BadInput
            It cannot be written.
        """
        if self._unborn:
            raise BadInput(self.where, [Problem("the ledger", "empty", "a ledger with something in it")])
        with plain_words(self.where):
            return backup.back_up(self._engine, self.folder, _file_of(self._engine.url), label=f"v{VERSION}")

    def read_rows(self, kept: Path) -> int:
        """Read a server's backup into this ledger, which must be empty; gives how many rows.

        Raises
        ------
        BadInput
            It is not empty, cannot write, or the file is no such backup.
        """
        with self._link(writes=True) as link:
            return backup.read_rows(kept, link)
