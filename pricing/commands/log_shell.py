"""What the ``log`` commands share: opening the owner's ledger, and FIELD=VALUE words."""

from collections.abc import Callable
from contextlib import contextmanager
from datetime import UTC, date, datetime
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pricing.basis.errors import BadInput, Problem
from pricing.commands.shell import SHOP, URL, plain_errors
from pricing.parts.job import job_file
from pricing.show.own_log import opened_log

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pricing.ledger.store import Ledger


def with_log(command: Callable[..., None]) -> Callable[..., None]:
    """Add the options that every log command has, and give it the log that they mean, open."""

    @wraps(command)
    def run(*, folder: str | None, url: str | None, **given: Any) -> None:
        with opened(folder, url) as ledger:
            command(ledger, **given)

    found: Callable[..., None] = SHOP(URL(plain_errors(run)))
    return found


@contextmanager
def opened(folder: str | None, url: str | None) -> "Iterator[Ledger]":
    """Open the ledger of an owner's folder."""
    with opened_log(log_folder(folder), url) as ledger:
        yield ledger


def log_folder(folder: str | None) -> str:
    """Return the folder of a log; the demo shop has none to write into.

    Raises
    ------
    BadInput
        No folder was named.
    """
    if folder is None:
        mend = (
            "Make your own folder with `new FOLDER`, then: log --shop FOLDER. For a try with invented jobs: log demo."
        )
        raise BadInput("log", [Problem("--shop", "missing", "your shop's folder", mend)])
    return folder


def name_of(ledger: "Ledger", job: str) -> str:
    """Write the name a job has in the log: as told, or where a job's file is told, that of its last quote or its title.

    Raises
    ------
    BadInput
        The file of that name cannot be read.
    """
    from pricing.basis.files import read_toml
    from pricing.ledger.quotes import last_name

    quotes = ledger.rows("quotes", brief=True)
    found = job_file(job, ledger.folder) if Path(job).name == job else None
    if found is None or any(row["job"] == job for row in quotes):
        return job
    return last_name(quotes, str(read_toml(found).get("title", job)))


def pairs(words: tuple[str, ...]) -> dict[str, str]:
    """Split words like FIELD=VALUE.

    Raises
    ------
    BadInput
        A word has no equals sign.
    """
    bad = [Problem("argument", word, "like FIELD=VALUE") for word in words if "=" not in word]
    if bad:
        raise BadInput("log", bad)
    return dict(word.split("=", 1) for word in words)


def today() -> date:
    """Return the owner's own calendar day."""
    return datetime.now(UTC).astimezone().date()
