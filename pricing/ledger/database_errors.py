"""What a database says when something is wrong, in the owner's words."""

from collections.abc import Iterator
from contextlib import contextmanager
from json import JSONDecodeError

from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from pricing.basis.errors import BadInput, Problem

_KEPT = "What was written before is safe; this entry was not written."

_SQLITE = {
    "SQLITE_FULL": ("full disk", "room to write", f"Free some space and enter it again. {_KEPT}"),
    "SQLITE_BUSY": ("in use", "free within half a minute", f"Close the other program, then enter it again. {_KEPT}"),
    "SQLITE_LOCKED": ("in use", "free within half a minute", f"Close the other program, then enter it again. {_KEPT}"),
    "SQLITE_READONLY": ("write-protected", "writable", f"Check the rights of the folder and the file. {_KEPT}"),
    "SQLITE_CANTOPEN": ("not to be opened", "a file that can be opened", "Check the folder and its rights."),
    "SQLITE_IOERR": ("a disk error", "a sound disk with room", f"Check the disk and the space on it. {_KEPT}"),
    "SQLITE_CORRUPT": ("damaged", "a whole ledger", "Nothing was changed. {backups}"),
    "SQLITE_NOTADB": ("not a ledger", "a ledger", "Nothing was changed. {backups}"),
}
_POSTGRES = {
    "53": ("out of room or connections", "room on the server", f"Ask whoever keeps the server. {_KEPT}"),
    "08": ("not answering", "a running server", f"Check that the server runs and the address is right. {_KEPT}"),
    "28": ("refused", "a user the server knows", "Check user and password in the address."),
    "3D": ("not there", "a database on the server", "Make the database first."),
    "42501": ("not allowed", "a user who may write", f"Ask whoever keeps the server. {_KEPT}"),
    "25006": ("read-only", "writable", f"Ask whoever keeps the server. {_KEPT}"),
}


class Changed(BadInput):
    """Somebody else corrected the same row first."""


@contextmanager
def plain_words(where: str, backups: str = "") -> Iterator[None]:
    """Turn what the database raises into words with advice; about backups where the file is damaged.

    Raises
    ------
    BadInput
        In place of every error of the database.
    """
    try:
        yield
    except SQLAlchemyError as why:
        raise _told(why, where, backups) from why
    except (UnicodeError, JSONDecodeError) as why:  # damage inside a text, which the database does not look into
        raise _damaged(where, backups) from why


def _damaged(where: str, backups: str) -> BadInput:
    value, accepts, mend = _SQLITE["SQLITE_CORRUPT"]
    return BadInput(where, [Problem("the ledger", value, accepts, mend.format(backups=backups).rstrip())])


def _told(why: SQLAlchemyError, where: str, backups: str) -> BadInput:
    cause = why.orig if isinstance(why, DBAPIError) else None
    name = str(getattr(cause, "sqlite_errorname", "") or "")
    state = str(getattr(cause, "sqlstate", "") or "")
    text = str(cause or why).strip().splitlines()[0] if str(cause or why).strip() else type(why).__name__
    if text.startswith("Could not decode to UTF-8"):
        return _damaged(where, backups)
    for code, (value, accepts, mend) in _SQLITE.items():
        if name.startswith(code):
            return BadInput(where, [Problem("the ledger", value, accepts, mend.format(backups=backups))])
    for code, (value, accepts, mend) in _POSTGRES.items():
        if state.startswith(code):
            return BadInput(where, [Problem("the ledger", value, accepts, mend)])
    if "connect" in text.casefold():
        value, accepts, mend = _POSTGRES["08"]
        return BadInput(where, [Problem("the ledger", value, accepts, mend)])
    return BadInput(where, [Problem("the ledger", text, "free of this error", _KEPT)])
