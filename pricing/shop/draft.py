"""The draft of a shop's folder: what is changed on any page, kept on the disk until it is saved or thrown away.

Why      a page may be closed, its kernel may end, the machine may lose its power; and what is typed on one page must be
         in the prices of the next. Each change is a step with the whole text of the files it changes and of what they
         stood on, in a small database of the standard library, which sees to it that two writers do not meet half-way.
"""

import json
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager
from pathlib import Path
from typing import NamedTuple

from pricing.basis.errors import BadInput, Problem

DRAFT_FILE = ".draft.db"
"""Where in the folder the draft lies."""
_MADE = """
CREATE TABLE IF NOT EXISTS step (
  n INTEGER PRIMARY KEY, who TEXT NOT NULL, files TEXT NOT NULL, undone INTEGER NOT NULL DEFAULT 0
)"""


class Text(NamedTuple):
    """A file of the draft: what it stood on, and what it is now."""

    before: str
    now: str


class DraftStep(NamedTuple):
    """What the draft is after change ``n``, 0 being the folder itself: the page that made it, and files by name.

    Files that are as in the folder are left out.
    """

    n: int
    who: str
    files: Mapping[str, Text]


NOTHING = DraftStep(0, "", {})
"""Where no draft is."""


class Draft:
    """The draft of a shop's folder; what cannot be read or written is refused."""

    def __init__(self, folder: Path) -> None:
        self._at = folder / DRAFT_FILE

    @contextmanager
    def _open(self, *, make: bool = False) -> Iterator[sqlite3.Connection | None]:
        if not make and not self._at.exists():
            yield None
            return
        try:
            with closing(sqlite3.connect(self._at, timeout=20, isolation_level=None)) as link, link:
                link.execute(_MADE)
                link.execute("BEGIN IMMEDIATE")
                yield link
        except sqlite3.Error as why:
            mend = f"If it stays so, delete {DRAFT_FILE}: what was not saved is lost with it."
            raise BadInput(str(self._at), [Problem("the draft", str(why), "a draft of this program", mend)]) from why

    @property
    def stamp(self) -> tuple[int, int]:
        """What changes when the draft does."""
        try:
            found = self._at.stat()
        except OSError:
            return 0, 0
        return found.st_mtime_ns, found.st_size

    def top(self) -> DraftStep:
        """Return what stands now."""
        with self._open() as link:
            row = link and link.execute("SELECT n, who, files FROM step WHERE NOT undone ORDER BY n DESC").fetchone()
        if not row:
            return NOTHING
        return DraftStep(row[0], row[1], {name: Text(*texts) for name, texts in json.loads(row[2]).items()})

    def add(self, who: str, files: Mapping[str, Text]) -> None:
        """Put a step on top, without files for the folder as it is saved; what was undone cannot be redone any more."""
        with self._open(make=True) as link:
            if link:
                link.execute("DELETE FROM step WHERE undone")
                link.execute("INSERT INTO step (who, files) VALUES (?, ?)", (who, json.dumps(files)))

    def undo(self) -> bool:
        """Take the newest step back; False when there is none."""
        return self._turn("SELECT max(n) FROM step WHERE NOT undone", undone=True)

    def redo(self) -> bool:
        """Do the step again that was taken back last; False when there is none."""
        return self._turn("SELECT min(n) FROM step WHERE undone", undone=False)

    def _turn(self, which: str, *, undone: bool) -> bool:
        with self._open() as link:
            n = link and link.execute(which).fetchone()[0]
            if link and n:
                link.execute("UPDATE step SET undone = ? WHERE n = ?", (int(undone), n))
        return bool(n)

    @property
    def can(self) -> tuple[bool, bool]:
        """Whether there is something to undo, and to redo."""
        with self._open() as link:
            if link is None:
                return False, False
            done, undone = link.execute("SELECT count(*), coalesce(sum(undone), 0) FROM step").fetchone()
        return done > undone, undone > 0

    def clear(self) -> None:
        """Throw all steps away: they were saved."""
        with self._open() as link:
            if link:
                link.execute("DELETE FROM step")
