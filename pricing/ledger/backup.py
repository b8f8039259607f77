"""Backups of the ledger, and what to do when its file is damaged.

A file is copied by SQLite's own backup, which is whole even while others write. A server's tables
are written as JSON lines, which `read_rows` reads into an empty ledger of the same version or a newer one.
"""

import json
import os
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import sqlalchemy as sa
from sqlalchemy import Connection, Engine

from pricing.basis.errors import BadInput, Problem
from pricing.basis.files import write_safely
from pricing.ledger.tables import METADATA, TABLES, VERSIONS

_FOLDER = "backups"
_HEAD = b"SQLite format 3\x00"


def newest(folder: Path, ending: str) -> Path | None:
    """Find the newest backup in a shop's folder: ``db`` of a file, ``jsonl`` of a server."""
    found = (folder / _FOLDER).glob(f"ledger-*.{ending}")
    return max(found, key=lambda path: path.stat().st_mtime, default=None)


def advice(folder: Path) -> str:
    """Say which backup of a shop's ledger is the newest, and how it is put back."""
    found = newest(folder, "db")
    if found is None:
        return "There is no backup in this folder; a copy from your own backup can take its place: log restore FILE."
    return f"The newest backup is {found}: `log restore` puts it back, and keeps the damaged file under another name."


def refuse_damaged(path: Path) -> None:
    """Look a ledger's file over before anything is written into it; one that is not there is fine.

    Raises
    ------
    BadInput
        It is no ledger, cut short or damaged.
    """
    if not path.exists():
        return
    try:
        with path.open("rb") as file:
            head = file.read(len(_HEAD))
    except OSError as why:
        mend = "Check the rights of the file."
        raise BadInput(str(path), [Problem("the ledger", why.strerror or "closed", "readable", mend)]) from why
    problem = ""
    if not head:
        beside = (path.parent / _FOLDER).is_dir() or path.with_name(f"{path.name}-wal").exists()
        problem = "empty" if beside else ""
    elif head != _HEAD:
        problem = "not a ledger"
    else:
        problem = _checked(path)
    if problem:
        mend = f"Nothing was changed. {advice(path.parent)}"
        raise BadInput(str(path), [Problem("the ledger", problem, "a whole ledger", mend)])


def _checked(path: Path) -> str:
    try:
        with closing(sqlite3.connect(path, timeout=30)) as raw:
            told = raw.execute("PRAGMA quick_check(1)").fetchone()
            return "" if told == ("ok",) else f"damaged ({told[0]})" if told else "damaged"
    except UnicodeError as why:  # damage inside the database's own words about it
        return f"damaged ({why})"
    except sqlite3.DatabaseError as why:
        name = getattr(why, "sqlite_errorname", "")
        if name.startswith(("SQLITE_CORRUPT", "SQLITE_NOTADB")) or "decode" in str(why):
            return f"damaged ({why})"
        return ""  # busy or closed: the opening itself tells it better


def back_up(engine: Engine, folder: Path, path: Path | None, *, label: str) -> Path:
    """Write a backup of a file or else of a server into a shop's folder, beside first; the label goes into its name.

    Raises
    ------
    BadInput
        It cannot be written; the ledger is not touched.
    """
    at = folder / _FOLDER
    was_there = at.exists()
    target = at / f"ledger-{label}-{_stamp()}.{'db' if path else 'jsonl'}"
    beside = target.with_name(f".{target.name}.part")
    try:
        at.mkdir(exist_ok=True)
        if path:
            _copy(path, beside)
            beside.replace(target)
        else:
            write_safely(target, _dump(engine))
    except (OSError, sqlite3.Error, BadInput) as why:
        for left in at.glob(f"{beside.name}*") if at.is_dir() else ():  # with what SQLite keeps beside it
            left.unlink(missing_ok=True)
        if not was_there and at.is_dir() and not any(at.iterdir()):
            at.rmdir()
        if isinstance(why, BadInput):
            raise
        mend = "The ledger was not touched. Free some space, or check the rights of the folder."
        raise BadInput(str(target), [Problem("the backup", str(why), "written before anything changes", mend)]) from why
    return target


def _stamp() -> str:
    return datetime.now(UTC).strftime("%Y-%m-%dT%H%M%S.%f")


def _copy(path: Path, beside: Path) -> None:
    with closing(sqlite3.connect(path, timeout=30)) as source, closing(sqlite3.connect(beside)) as copy:
        source.backup(copy)
        copy.execute("PRAGMA journal_mode=DELETE")  # one file, whole by itself
    with beside.open("rb") as file:
        os.fsync(file.fileno())


def put_back(kept: Path, path: Path) -> Path | None:
    """Put a copy of a ledger's file in its place, and give the name under which what stood there is kept, if anything.

    Raises
    ------
    BadInput
        The backup is no ledger or damaged, or the folder cannot be written; the ledger is not touched.
    """
    refuse_damaged(kept)
    beside, aside = path.with_name(f".{path.name}.part"), path.with_name(f"{path.stem}-replaced-{_stamp()}.db")
    try:
        _copy(kept, beside)
        with closing(sqlite3.connect(beside)) as raw:
            if not raw.execute("SELECT 1 FROM sqlite_master WHERE name = ?", (VERSIONS.name,)).fetchone():
                raise BadInput(str(kept), [Problem("the backup", "another database", "a ledger")])
        there = path.exists()
        if there:
            try:
                aside.hardlink_to(path)  # so that there is a ledger at every moment
            except OSError:
                path.replace(aside)  # a disk without links
        for tail in ("-wal", "-shm"):  # what SQLite keeps beside a file is never another file's
            if Path(f"{path}{tail}").exists():
                Path(f"{path}{tail}").replace(f"{aside}{tail}")
        beside.replace(path)
    except (OSError, sqlite3.Error) as why:
        mend = "Close whatever has the ledger open; check the rights of the folder and the space on the disk."
        raise BadInput(str(kept), [Problem("the backup", str(why), "put in the ledger's place", mend)]) from why
    finally:
        beside.unlink(missing_ok=True)
    return aside if there else None


def _dump(engine: Engine) -> str:
    """Read all tables as they are in the database, whatever its version."""
    lines = []
    with engine.connect() as link:
        there = sa.MetaData()
        there.reflect(link, only=lambda name, _: name in METADATA.tables)
        for name, table in sorted(there.tables.items()):
            rows = link.execute(sa.select(table).order_by(*table.primary_key.columns)).mappings()
            lines += [json.dumps({"table": name, **row}, ensure_ascii=False) for row in rows]
    return "\n".join(lines) + "\n"


def read_rows(kept: Path, link: Connection) -> int:
    """Read a backup in JSON lines into the empty tables of a ledger, of its version or newer; gives how many.

    Raises
    ------
    BadInput
        The tables are not empty, or the file is no such backup.
    """
    rows: dict[str, list[dict[str, object]]] = {}
    try:
        for line in kept.read_text("utf-8").strip().split("\n"):
            row = json.loads(line)
            name = row.pop("table")
            if name in TABLES:
                row.pop("seq")  # numbered anew, in the same order
                rows.setdefault(name, []).append(row)
    except (OSError, ValueError, KeyError, AttributeError) as why:
        raise BadInput(str(kept), [Problem("the backup", str(why), "rows that `log backup` wrote")]) from why
    full = [n for n, t in TABLES.items() if link.execute(sa.select(sa.func.count()).select_from(t)).scalar_one()]
    if full:
        raise BadInput(str(kept), [Problem("table", full[0], "empty", "Restore into a new ledger.")])
    for name, some in rows.items():
        link.execute(TABLES[name].insert(), some)
    return sum(map(len, rows.values()))
