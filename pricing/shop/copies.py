"""Daily copies of a shop's folder: the last fourteen days, and one a month from before."""

import re
import shutil
from datetime import date, timedelta
from pathlib import Path
from typing import Final

from pricing.basis.errors import BadInput, Problem
from pricing.shop.folder import FILES

_FOLDER: Final = ".copies"
"""Where in the shop's folder they lie, each under its day."""
DAYS: Final = 14
_KINDS: Final = {".toml", ".csv", ".txt", ".html", ".css"}
_PARTS: Final = ("jobs", "templates")


def copies(folder: Path) -> list[date]:
    """Collect the days of which a shop's folder has a copy, the newest first."""
    at = folder / _FOLDER
    names = [one.name for one in at.iterdir()] if at.is_dir() else []
    return sorted((date.fromisoformat(n) for n in names if re.fullmatch(r"\d{4}-\d\d-\d\d", n)), reverse=True)


def keep_copy(folder: Path, today: date) -> bool:
    """Copy a shop's folder as it is, once a day, and let old copies go; False when there is one of today.

    Raises
    ------
    BadInput
        It cannot be written.
    """
    at = folder / _FOLDER
    new, beside = at / today.isoformat(), at / f".{today.isoformat()}.part"
    if new.exists():
        return False
    try:
        shutil.rmtree(beside, ignore_errors=True)
        beside.mkdir(parents=True)
        for one in folder.iterdir():
            if one.is_file() and one.suffix in _KINDS and not one.name.startswith("."):
                shutil.copy2(one, beside / one.name)
        for part in _PARTS:
            if (folder / part).is_dir():
                shutil.copytree(folder / part, beside / part)
        beside.rename(new)
        for day in set(copies(folder)) - kept(copies(folder), today):
            shutil.rmtree(at / day.isoformat())
    except OSError as why:
        shutil.rmtree(beside, ignore_errors=True)
        mend = "Check the folder's rights and the space on the disk."
        raise BadInput(str(at), [Problem("the daily copy", why.strerror or str(why), "written", mend)]) from why
    return True


def kept(days: list[date], today: date) -> set[date]:
    """Tell which copies stay: those of the last fourteen days, and the first of each month.

    >>> from datetime import date
    >>> days = [date(2026, 3, 2), date(2026, 3, 9), date(2026, 4, 1), date(2026, 4, 20)]
    >>> sorted(day.isoformat() for day in kept(days, date(2026, 4, 21)))
    ['2026-03-02', '2026-04-01', '2026-04-20']
    """
    first: dict[tuple[int, int], date] = {}
    for day in sorted(days):
        first.setdefault((day.year, day.month), day)
    return {day for day in days if day > today - timedelta(days=DAYS)} | set(first.values())


def files_of(folder: Path, day: date) -> dict[str, str]:
    """Collect the files of a shop's folder as they were on a day; one without a copy that can be read is refused."""
    at = folder / _FOLDER / day.isoformat()
    if not at.is_dir():
        raise BadInput(str(at), [Problem("the copy", "not there", "a day of which there is one")])
    try:
        return {name: (at / name).read_text("utf-8") for name in FILES if (at / name).is_file()}
    except (OSError, UnicodeDecodeError) as why:
        raise BadInput(str(at), [Problem("the copy", str(why), "one that can be read")]) from why
