"""The ledger itself: a file in the shop's folder, or a database on a server.

Takes    facts (`pricing.ledger.entries`), corrections, and the wish to strike a row out.
Gives    the rows that stand, and the whole history.
Safety   one transaction per call, or per `Ledger.at_once`, synchronised to the disk before it returns;
         one writer at a time, a second waits up to half a minute; the same entry given twice is
         written once.
"""

from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any, Self

import sqlalchemy as sa
from sqlalchemy import Connection, Engine

from pricing.basis.errors import BadInput, Problem
from pricing.basis.records import Record
from pricing.ledger import backup
from pricing.ledger.database_errors import Changed, plain_words
from pricing.ledger.engine import engine_of, file_or_server
from pricing.ledger.kinds import kind_of, read_entry, row_of
from pricing.ledger.migrations import climb, version_of
from pricing.ledger.stamps import new_id, now
from pricing.ledger.tables import TABLES, VERSION, stands

_FILE = "ledger.db"
WAIT_S = 30
_LOCK = 7_205_116  # any number; programs that write at once on a server wait for each other by it

LedgerRow = dict[str, Any]
BRIEF = ("amounts", "expected", "items", "listed")
"""What the log is learned from, of a cost sheet."""


def open_ledger(
    folder: Path | str, url: str | None = None, *, wait_s: float = WAIT_S, to_look: bool = False
) -> "Ledger":
    """Open the ledger of a shop; its file is made with the first fact that is written.

    Parameters
    ----------
    folder : path
        The shop's folder; backups go there.
    url : str, optional
        Address of a database, ``postgresql://user@host/name``, or of another file, ``sqlite:////folder/name.db``; the
        file ``ledger.db`` without it.
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
    path, url = file_or_server(at / _FILE, url)
    where = str(path) if path else sa.make_url(url or "").render_as_string(hide_password=True)
    if path and to_look and not path.exists():
        raise BadInput(where, [Problem("the ledger", "not there", "written to once", "Log a job with `lab` first.")])
    if path:
        backup.refuse_damaged(path)
    unborn = (path, wait_s) if path and not path.exists() else None
    ledger = Ledger(engine_of(None if unborn else path, url, wait_s), at, where, unborn=unborn)
    try:
        ledger.make_current(to_look=to_look)
    except BaseException:
        ledger.close()
        raise
    return ledger


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
    unborn : tuple of Path and float, optional
        File to make, and how long to wait for others, where ``engine`` is an empty one in memory.
    """

    def __init__(self, engine: Engine, folder: Path, where: str, *, unborn: tuple[Path, float] | None = None) -> None:
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
        """Bring the tables to this program's version, after a backup.

        Parameters
        ----------
        to_look : bool
            Whether nothing may be written: then tables of another version are refused.

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
                backup.back_up(self._engine, self.folder, self._path, label=f"v{version}")
            with self._transaction(writes=True) as link:
                climb(link, now())

    @property
    def _path(self) -> Path | None:
        named = self._engine.url.database if self._engine.dialect.name == "sqlite" else None
        return Path(named) if named else None

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
        if self._unborn and (writes or self._unborn[0].exists()):
            self._make_file(*self._unborn)
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

    def _make_file(self, path: Path, wait_s: float) -> None:
        self._engine.dispose()
        self._engine, self._unborn = engine_of(path, None, wait_s), None
        self.make_current()

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
        names = list(ids) if ids is not None else [new_id() for _ in entries]
        record = kind_of(kind)
        table, rows = TABLES[kind], list[LedgerRow]()
        for entry, name in zip(entries, names, strict=True):
            if not isinstance(entry, record):
                raise BadInput(self.where, [Problem(kind, type(entry).__name__, record.__name__)])
            rows.append({"id": name, "at": now(), "replaces": None, "struck": False} | row_of(entry))
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
        return self._replace(kind, row_id, row_of(fresh), struck=False)

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

    def _one(self, kind: str, row_id: str) -> LedgerRow:
        kind_of(kind)
        table = TABLES[kind]
        with self._link(writes=False) as link:
            found = link.execute(sa.select(table).where(table.c.id == row_id)).mappings().first()
        if found is None:
            raise BadInput(self.where, [Problem(f"id in {kind}", row_id, "the id of a row", "Look it up again.")])
        return dict(found)

    def _replace(self, kind: str, row_id: str, fields: LedgerRow, *, struck: bool) -> str:
        name, table = new_id(), TABLES[kind]
        head = {"id": name, "at": now(), "replaces": row_id, "struck": struck}
        with self._link(writes=True) as link:
            if link.execute(sa.select(table.c.id).where(table.c.replaces == row_id)).first():
                mend = "Read it again: somebody corrected it just now; correct that row instead."
                raise Changed(self.where, [Problem("the row", "corrected already", "the newest of its line", mend)])
            link.execute(table.insert(), [head | fields])
        return name

    def rows(self, kind: str, *, job: str | None = None, brief: bool = False) -> list[LedgerRow]:
        """Collect the rows that stand: not struck, and not replaced by a correction.

        Parameters
        ----------
        kind : str
            Kind of fact.
        job : str, optional
            Only those of one job.
        brief : bool
            Cost sheets of quotes with `BRIEF` alone: thousands of whole ones take seconds to read.

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
        """Collect the rows of a query over `TABLES`.

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
        with self._link(writes=False) as link:
            return set(self._kept(link, TABLES[kind], ids))

    def history(self, kind: str) -> list[LedgerRow]:
        """Collect every row that was ever written, in order.

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
        if self._unborn:
            raise BadInput(self.where, [Problem("the ledger", "empty", "a ledger with something in it")])
        with plain_words(self.where):
            return backup.back_up(self._engine, self.folder, self._path, label=f"v{VERSION}")
