"""The door to a shop's log, for every page and command: the file in its folder, or the database that was named.

Takes    the shop's folder and, where it was named, a database's address (else of the environment, `URL_VARIABLE`).
Gives    the open ledger, whether there is one, and stamps of it: what rests on the log is kept as long as they stay.
"""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from pricing.basis.errors import BadInput, Problem

if TYPE_CHECKING:
    from pricing.ledger.store import Ledger

URL_VARIABLE = "PRICING_LEDGER_URL"
_FILE = "ledger.db"


def has_log(folder: Path, url: str | None = None) -> bool:
    """Tell whether a shop has a log of its own; one in a database may be empty yet."""
    return bool(url or os.environ.get(URL_VARIABLE)) or (folder / _FILE).exists()


@contextmanager
def opened_log(folder: Path | str, url: str | None = None, *, to_look: bool = False) -> "Iterator[Ledger]":
    """Open the log of a shop, wherever it is kept; ``to_look`` where it is only read.

    Raises
    ------
    BadInput
        The database's library is not installed, or the ledger cannot be opened.
    """
    try:
        from pricing.ledger.store import open_ledger
    except ModuleNotFoundError as why:
        mend = "Install the extra: pip install 'powder-shop-pricing[ledger]'."
        raise BadInput("the log", [Problem("the ledger", f"{why.name} missing", "installed", mend)]) from why
    with open_ledger(folder, url or os.environ.get(URL_VARIABLE), to_look=to_look) as ledger:
        yield ledger


def log_stamps(folder: Path, *more: str, url: str | None = None) -> tuple[int, ...]:
    """Return how far the log of a shop is written, and when further files of the folder were.

    `BadInput` where the database does not answer.
    """
    files, marks = list(more), list[int]()
    if url or os.environ.get(URL_VARIABLE):
        with opened_log(folder, url) as ledger:
            from pricing.ledger.tables import heads

            marks = list(ledger.ask(heads())[0].values())
    else:
        files += [_FILE, f"{_FILE}-wal"]
    paths = [folder / name for name in files]
    return (*marks, *(path.stat().st_mtime_ns if path.exists() else 0 for path in paths))
