"""Backups of the ledger, and what to do when its file is damaged.

A file is copied by SQLite's own backup, which is whole even while others write. A server's tables
are written as JSON lines, which `restore` reads into an empty ledger of the same version.
"""

import json
import os
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import sqlalchemy as sa
from sqlalchemy import Engine

from pricing.basis.errors import BadInput, Problem
from pricing.basis.files import write_safely
from pricing.ledger.tables import METADATA, TABLES

_FOLDER = "backups"
_HEAD = b"SQLite format 3\x00"


def advice(folder: Path) -> str:
    """Say which backup is the newest, and how it is put back.

    Parameters
    ----------
    folder : Path
        The shop's folder.
    """
    found = sorted((folder / _FOLDER).glob("ledger-*.db"), key=lambda p: p.stat().st_mtime)
    if not found:
        return "There is no backup in this folder; a copy from your own backup can take its place."
    return f"The newest backup is {found[-1]}: keep the damaged file under another name, then copy it to ledger.db."


def refuse_damaged(path: Path) -> None:
    """Look a ledger's file over before anything is written into it.

    Parameters
    ----------
    path : Path
        The file; one that is not there is fine.

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
    """Write a backup beside, then give it its name.

    Parameters
    ----------
    engine : Engine
        The database.
    folder : Path
        The shop's folder.
    path : Path, optional
        The file, when the ledger is one.
    label : str
        Goes into the name.

    Raises
    ------
    BadInput
        It cannot be written; the ledger is not touched.
    """
    at = folder / _FOLDER
    was_there = at.exists()
    stamp = datetime.now(UTC).strftime("%Y-%m-%dT%H%M%S.%f")
    ending = "db" if path else "jsonl"
    target = at / f"ledger-{label}-{stamp}.{ending}"
    beside = target.with_name(f".{target.name}.part")
    try:
        at.mkdir(exist_ok=True)
        if path:
            with closing(sqlite3.connect(path, timeout=30)) as source, closing(sqlite3.connect(beside)) as copy:
                source.backup(copy)
                copy.execute("PRAGMA journal_mode=DELETE")  # one file, whole by itself
            with beside.open("rb") as file:
                os.fsync(file.fileno())
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


def restore(path: Path, engine: Engine) -> int:
    """Read a backup in JSON lines into the empty tables of a database.

    Parameters
    ----------
    path : Path
        Written by `back_up`.
    engine : Engine
        Its tables are there and empty, of the backup's version or newer.

    Returns
    -------
    int
        Number of rows.

    Raises
    ------
    BadInput
        The tables are not empty.
    """
    rows: dict[str, list[dict[str, object]]] = {}
    for line in path.read_text("utf-8").splitlines():
        row = json.loads(line)
        name = row.pop("table")
        if name in TABLES:
            row.pop("seq")  # numbered anew, in the same order
            rows.setdefault(name, []).append(row)
    with engine.begin() as link:
        full = [n for n, t in TABLES.items() if link.execute(sa.select(sa.func.count()).select_from(t)).scalar_one()]
        if full:
            raise BadInput(str(path), [Problem("table", full[0], "empty", "Restore into a new ledger.")])
        for name, some in rows.items():
            link.execute(TABLES[name].insert(), some)
    return sum(map(len, rows.values()))
