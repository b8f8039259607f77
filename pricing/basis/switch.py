"""Files of one folder that change as one: one lock for all who write, one switch from the old to the new.

Switch   the new files are written beside, then a list of them gets its name: from that moment they count,
         and whoever comes next puts them in their places if the writer was stopped. A kill leaves
         the old files or the new ones, never some of each.
Readers  take no lock: they read again when a file changed under their eyes.
"""

import contextlib
import json
import os
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from itertools import chain
from pathlib import Path
from typing import TypeVar

from pricing.basis.errors import BadInput, Problem
from pricing.basis.files import not_writable, write_beside, write_safely

LOCK = ".lock"
_SWITCH = ".switch.json"
_WAIT_S = 60.0
_OLD_S = 60.0  # a file beside that is this old belongs to nobody who still writes
_TRIES = 50
_T = TypeVar("_T")
Stamp = tuple[tuple[str, int, int, int], ...]


def stamp_of(folder: Path, names: Sequence[str]) -> Stamp:
    """Tell files apart from what they are after another save: name, time, size and place on the disk."""
    found = []
    for name in names:
        with contextlib.suppress(FileNotFoundError):
            stat = (folder / name).stat()
            found.append((name, stat.st_mtime_ns, stat.st_size, stat.st_ino))
    return tuple(found)


@contextmanager
def locked(folder: Path, names: Sequence[str] = ()) -> Iterator[None]:
    """Keep other writers out of a folder; what a stopped writer left behind is finished or swept first.

    Whoever holds the lock may take it again; ``names`` are files that are only ever written under it.

    Raises
    ------
    BadInput
        Another program holds it for a minute, or the folder cannot be written to.
    """
    from filelock import FileLock, Timeout  # heavy: only where something is written

    lock = FileLock(folder / LOCK, timeout=_WAIT_S, is_singleton=True)
    try:
        lock.acquire()
    except Timeout:
        mend = "Close the other program, then try again. Nothing was changed."
        raise BadInput(str(folder), [Problem("the folder", "in use", "free within a minute", mend)]) from None
    except OSError as why:
        raise not_writable(folder, why) from why
    try:
        try:
            _settle(folder)
            _sweep(folder, names)
        except OSError as why:
            raise not_writable(folder, why) from why
        yield
    finally:
        lock.release()


def switch_all(folder: Path, contents: Mapping[str, str]) -> None:
    """Change files of a folder as one, by their whole text; the caller holds its lock (`locked`).

    Raises
    ------
    BadInput
        They cannot be written; the old files are left whole.
    """
    if not contents:
        return
    old = {name: (folder / name).read_bytes() if (folder / name).exists() else None for name in contents}
    beside = write_beside({folder / name: text for name, text in contents.items()})
    try:
        _list(folder, {name: beside[folder / name].name for name in contents})
    except BadInput:
        for part in beside.values():
            part.unlink(missing_ok=True)
        raise
    try:
        _settle(folder)
    except OSError as why:  # a file that another program will not let go: back to the old ones, as one too
        back = write_beside({folder / name: text for name, text in old.items() if text is not None})
        _list(folder, {n: back[folder / n].name if text is not None else None for n, text in old.items()})
        with contextlib.suppress(OSError):
            _settle(folder)
        raise not_writable(folder, why) from why


def _list(folder: Path, parts: Mapping[str, str | None]) -> None:
    write_safely(folder / _SWITCH, json.dumps(parts))
    _keep(folder)


def _keep(folder: Path) -> None:
    """Have the names in a folder on the disk, where a system can."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _settle(folder: Path) -> None:
    """Put the files of a switch in their places; those that are there already were put by whoever was stopped."""
    at = folder / _SWITCH
    try:
        parts = json.loads(at.read_text("utf-8"))
    except FileNotFoundError:
        return
    for name, part in parts.items():
        if part is None:
            (folder / name).unlink(missing_ok=True)
        elif (folder / part).exists():
            (folder / part).replace(folder / name)
    _keep(folder)
    at.unlink()


def _left(folder: Path) -> Iterator[Path]:
    return chain(folder.glob(".*.part"), folder.glob("*/.*.part"))


def _sweep(folder: Path, names: Sequence[str]) -> None:
    for part in [*_left(folder)]:
        mine = part.parent == folder and part.name.startswith((f".{_SWITCH}.", *(f".{name}." for name in names)))
        with contextlib.suppress(OSError):
            if part.is_file() and (mine or time.time() - part.stat().st_mtime > _OLD_S):
                part.unlink()


def read_settled(folder: Path, names: Sequence[str], read: Callable[[], _T]) -> _T:
    """Read files that belong together; again, when somebody changed one of them meanwhile.

    What ``read`` refuses is refused once nobody writes.

    Raises
    ------
    BadInput
        A save was stopped half-way and cannot be finished here.
    """
    for _ in range(_TRIES):
        if (folder / _SWITCH).exists() or any(_left(folder)):
            _look_after(folder, names)
        before = stamp_of(folder, names)
        try:
            found = read()
        except BadInput:
            if before == stamp_of(folder, names) and not (folder / _SWITCH).exists():
                raise
            continue
        if before == stamp_of(folder, names) and not (folder / _SWITCH).exists():
            return found
    mend = "Close the other program, then try again."
    raise BadInput(str(folder), [Problem("the folder", "changing all the time", "at rest", mend)])


def _look_after(folder: Path, names: Sequence[str]) -> None:
    try:
        with locked(folder, names):
            pass
    except BadInput:
        if (folder / _SWITCH).exists():
            raise
