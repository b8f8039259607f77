"""Bounds that keep an odd file from taking the evening: bytes, counts, work.

None of them is a time: a file is read, or refused, alike on a fast machine and on a busy one.
"""

from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import NoReturn

from pricing.basis.errors import BadInput, Problem, nearest
from pricing.basis.facts import fact

_SMALLER = "Save only the part to be coated, without pictures and notes."


@dataclass(slots=True)
class Bounds:
    """One file's allowance; what costs more than one look at each record is told to `work`."""

    where: str
    size: int
    done: float = 0.0

    def work(self, points: float) -> None:
        """Count points of outlines that are compared next; more than ``drawing.most_work`` in all are refused."""
        self.done += points
        self.count("points of overlapping outlines", self.done, "drawing.most_work")

    def count(self, what: str, number: float, limit: str) -> None:
        """Refuse more of something ("entities") than the fact named ``limit`` allows."""
        if number > (most := fact(limit)):
            self.refuse("the file", f"{_mb(self.size)} with {number:,.0f} {what}", f"at most {most:,.0f}", _SMALLER)

    def refuse(self, field_name: str, value: object, accepts: str, mend: str) -> NoReturn:
        """Refuse this file for one problem."""
        raise BadInput(self.where, [Problem(field_name, value, accepts, mend)])


def open_file(path: Path) -> tuple[bytes, Bounds]:
    """Read a part's file whole.

    Raises
    ------
    BadInput
        It is missing, empty, unreadable or larger than ``drawing.most_bytes``.
    """
    bounds = Bounds(str(path), 0)
    try:
        size = path.stat().st_size
        most = fact("drawing.most_bytes")
        raw = path.read_bytes() if 0 < size <= most else b""
    except OSError as why:
        word = "not there" if isinstance(why, FileNotFoundError) else (why.strerror or "not readable")
        near = nearest(path.name, [p.name for p in path.parent.glob("*")]) if path.parent.is_dir() else ""
        raise BadInput(
            str(path), [Problem("the file", word, "a file that can be read", near or "Check name and folder.")]
        ) from why
    bounds = Bounds(str(path), size)
    if size == 0:
        bounds.refuse("the file", "empty", "a drawing or a mesh", "Export it again.")
    if size > most:
        bounds.refuse("the file", _mb(size), f"at most {_mb(most)}", _SMALLER)
    return raw, bounds


def need(where: str, *libraries: str, extra: str = "drawings") -> None:
    """Refuse a file whose libraries, named as they are imported, are not installed, and say how to get them."""
    missing = [name for name in libraries if find_spec(name) is None]
    if missing:
        mend = f"Install the workbook with its {extra}: python -m pip install -e '.[{extra}]'."
        raise BadInput(where, [Problem("reading it", f"without {', '.join(missing)}", "with its libraries", mend)])


def _mb(size: float) -> str:
    return f"{size / 1e6:.3g} MB"
