"""Files that are read whole or refused, and written beside before they replace."""

import csv
import io
import os
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from pricing.basis.errors import BadInput, Problem, nearest, not_known

MOST_BYTES = 20_000_000
MOST_LINE = 20_000


def read_text(path: Path) -> str:
    """Read a text file, in UTF-8 with or without a byte-order mark, or say why not.

    Raises
    ------
    BadInput
        The file is missing, empty, not UTF-8, too large, or has a line too long for a person's file.
    """
    where = str(path)
    try:
        size = path.stat().st_size
        raw = path.read_bytes() if size <= MOST_BYTES else b""
    except OSError as why:
        word = "not there" if isinstance(why, FileNotFoundError) else (why.strerror or "not readable")
        near = nearest(path.name, [p.name for p in path.parent.glob("*")]) if path.parent.is_dir() else ""
        mend = near or "Check the name and the folder; `new FOLDER` makes a whole one."
        raise BadInput(where, [Problem("the file", word, "a file that can be read", mend)]) from why
    if size > MOST_BYTES:
        mend = "This is not a file of this workbook."
        raise BadInput(where, [Problem("the file", f"{size / 1e6:.0f} MB", f"under {MOST_BYTES / 1e6:.0f} MB", mend)])
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as why:
        line = raw[: why.start].count(b"\n") + 1
        mend = "Save it again as UTF-8 (in a spreadsheet: 'CSV UTF-8')."
        raise BadInput(where, [Problem(f"line {line}", "not UTF-8", "UTF-8 text", mend)]) from why
    if not text.strip():
        raise BadInput(where, [Problem("the file", "empty", "filled in", "Copy it again from the demo shop.")])
    for number, line_text in enumerate(text.split("\n"), 1):
        if len(line_text) > MOST_LINE:
            accepts = f"at most {MOST_LINE} characters"
            mend = "Something else was pasted here; take it out."
            raise BadInput(where, [Problem(f"line {number}", f"{len(line_text)} characters", accepts, mend)])
    return text


def read_toml(path: Path) -> dict[str, Any]:
    """Read a TOML file or say where it breaks.

    Raises
    ------
    BadInput
        As `read_text`, or the file is not TOML; the message has line and column.
    """
    text = read_text(path)
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as why:
        told, _, at = str(why).removesuffix(")").partition(" (at ")
        mend = "Text stands in quotes: width = '1.2 m'; decimals have a point; each name = value on a line of its own."
        raise BadInput(str(path), [Problem(at or "the file", told, "TOML", mend)]) from why


_MARKS = {";": "semicolons", "\t": "tabs"}


def read_table(
    path: Path, columns: Sequence[str] | None = None, *, optional: Sequence[str] = ()
) -> list[dict[str, str]]:
    """Read a CSV table with a header.

    Parameters
    ----------
    path : Path
        File to read.
    columns, optional : sequence of str
        Columns that must be there, and those that may be; without columns, whatever the header names.

    Returns
    -------
    list of dict
        One per row, values stripped; optional columns that are missing come as ''. Each row has
        its line number under ``#``.

    Raises
    ------
    BadInput
        As `read_text`; a column is unknown, twice or missing; a row has too many or too few cells.
    """
    lines = csv.reader(io.StringIO(read_text(path)), strict=True)
    bad: list[Problem] = []
    rows: list[dict[str, str]] = []
    try:
        header = [cell.strip() for cell in next(lines)]
        columns = header if columns is None else columns
        known = [*columns, *optional]
        if len(header) == 1 and (marks := [word for mark, word in _MARKS.items() if mark in header[0]]):
            mend = "Save it again with commas, and decimals with a point; a spreadsheet asks for the mark on saving."
            raise BadInput(str(path), [Problem("cells", f"parted by {marks[0]}", "parted by commas", mend)])
        twice = sorted({name for name in header if header.count(name) > 1})
        missing = [name for name in columns if name not in header]
        bad += [not_known("column", n, known) for n in header if n not in known]
        bad += [Problem("column", n, "there once", "It is there twice.") for n in twice]
        bad += [Problem("column", n, "there", "It is missing from the first line.") for n in missing]
        if bad:
            raise BadInput(str(path), bad)
        for cells in lines:
            if not any(cell.strip() for cell in cells):
                continue
            if len(cells) != len(header):
                mend = "A text with a comma in it stands in double quotes."
                bad.append(Problem(f"line {lines.line_num}", f"{len(cells)} cells", f"{len(header)} cells", mend))
                continue
            row = dict.fromkeys(known, "") | {name: cell.strip() for name, cell in zip(header, cells, strict=True)}
            rows.append(row | {"#": str(lines.line_num)})
    except csv.Error as why:
        bad.append(Problem(f"line {lines.line_num}", str(why), "a CSV row", "Look at the double quotes of this line."))
    if bad:
        raise BadInput(str(path), bad)
    return rows


def table_text(columns: Sequence[str], rows: Sequence[dict[str, str]]) -> str:
    r"""Write rows as CSV text, in the order of ``columns``.

    >>> table_text(["a", "b"], [{"a": "1", "b": "x, y"}])
    'a,b\n1,"x, y"\n'
    """
    out = io.StringIO()
    writer = csv.DictWriter(out, columns, extrasaction="ignore", lineterminator="\n", restval="")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


_RISKY = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def plain_cell(text: str) -> str:
    """Keep a spreadsheet from running a text as a formula: an apostrophe makes it text.

    >>> plain_cell("=1+1"), plain_cell("Gate, 1.0 m"), plain_cell(" @sum")
    ("'=1+1", 'Gate, 1.0 m', "' @sum")
    """
    return f"'{text}" if text.lstrip(" ").startswith(_RISKY) or text.startswith(_RISKY) else text


def own_words(cell: str) -> str:
    """Take the apostrophe away again that `plain_cell` put before a text.

    >>> own_words("'=1+1"), own_words("'tis rusty")
    ('=1+1', "'tis rusty")
    """
    return cell[1:] if cell.startswith("'") and plain_cell(cell[1:]) != cell[1:] else cell


def write_safely(path: Path, content: str | bytes) -> None:
    """Write beside, then replace: a reader sees the old file or the new one, never a half. Text becomes UTF-8.

    Raises
    ------
    BadInput
        The folder cannot be written to, or the disk is full; the old file is left whole.
    """
    write_all_safely({path: content})


def write_all_safely(contents: Mapping[Path, str | bytes]) -> None:
    """Write files that belong together: all beside first, then all in their places, so that none is there alone.

    Raises
    ------
    BadInput
        As `write_safely`; the message says if a file before the failing one has been replaced already.
    """
    beside, placed, at = write_beside(contents), 0, Path()
    try:
        for at, part in beside.items():
            part.replace(at)
            placed += 1
    except OSError as why:
        for part in beside.values():
            part.unlink(missing_ok=True)
        new = ", ".join(path.name for path in [*beside][:placed])
        raise not_writable(at, why, f"Already new: {new}." if new else "Nothing was changed.", "the file") from why


def write_beside(contents: Mapping[Path, str | bytes]) -> dict[Path, Path]:
    """Write files beside those they shall replace, on the disk before it returns, all or none; tell where each waits.

    Raises
    ------
    BadInput
        As `write_safely`.
    """
    import tempfile

    beside: dict[Path, Path] = {}
    at = Path()
    try:
        for at, content in contents.items():
            handle, name = tempfile.mkstemp(prefix=f".{at.name}.", suffix=".part", dir=at.parent)
            beside[at] = Path(name)
            with os.fdopen(handle, "wb") as out:
                out.write(content if isinstance(content, bytes) else content.encode())
                out.flush()
                os.fsync(out.fileno())
            beside[at].chmod(at.stat().st_mode & 0o777 if at.exists() else 0o644)
    except OSError as why:
        for part in beside.values():
            part.unlink(missing_ok=True)
        raise not_writable(at, why, what="the file") from why
    return beside


def not_writable(at: Path, why: OSError, left: str = "Nothing was changed.", what: str = "the folder") -> BadInput:
    """Make the error for a file or folder that the system does not let be written; ``left`` says what stands now."""
    mend = f"{left} Check the folder's rights and the space on the disk."
    return BadInput(str(at), [Problem(what, why.strerror or str(why), "writable", mend)])
