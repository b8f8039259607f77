"""Files that are handed over: named so that nothing is overwritten unasked, written whole or not at all."""

import unicodedata
from collections.abc import Mapping
from pathlib import Path

from pricing.basis.errors import BadInput, Problem
from pricing.basis.files import write_all_safely

_RESERVED = {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(10))}
_MOST_BYTES = 200  # of a name, which systems count in bytes, with room for what is written beside it


def file_stem(text: str) -> str:
    """Turn a title into a name that every system can store; letters of any script stay, with their vowel signs.

    >>> file_stem("Bakery sign: nine letters / black & white"), file_stem("../etc"), file_stem("con")
    ('Bakery sign nine letters black white', 'etc', 'con file')
    >>> file_stem("Πύλη"), file_stem("門 (大)")
    ('Πύλη', '門 (大)')
    >>> file_stem("\u0917\u0947\u091f \u202e / 1") == "\u0917\u0947\u091f 1"
    True
    """
    plain = "".join(sign if _stays(sign) else " " for sign in unicodedata.normalize("NFC", text))
    words = " ".join(plain.split()).strip(" .-_")[:80]
    words = words.encode()[:_MOST_BYTES].decode(errors="ignore").rstrip(" .-_")
    if not words:
        return "untitled"
    return f"{words} file" if words.casefold().split(".")[0] in _RESERVED else words


def _stays(sign: str) -> bool:
    """Whether a sign may stand in a name: letters, their marks, numbers, and a few more."""
    return sign in _MORE or unicodedata.category(sign)[0] in "LMN"


_MORE = ".,()-_"


def save_all(
    folder: Path | str, stem: str, contents: Mapping[str, str | bytes], *, replace: bool = False
) -> list[Path]:
    """Write the files of one hand-over under one name, each with its ending.

    Parameters
    ----------
    folder : path
        Where to; made if it is not there.
    stem : str
        Name without ending. Where any of the files is there already, all get the next free number.
    contents : mapping of str to str or bytes
        Content by ending (``.html``, ``-a4.pdf``).
    replace : bool
        Overwrite files of that name instead.

    Raises
    ------
    BadInput
        The folder cannot be made or written; files that were there are left whole.
    """
    at = made_folder(folder)
    name = stem if replace else _free(at, stem, list(contents))
    paths = [at / f"{name}{ending}" for ending in contents]
    write_all_safely(dict(zip(paths, contents.values(), strict=True)))
    return paths


def made_folder(folder: Path | str) -> Path:
    """Make a folder if it is not there.

    Raises
    ------
    BadInput
        It cannot be made.
    """
    at = Path(folder)
    try:
        at.mkdir(parents=True, exist_ok=True)
    except OSError as why:
        reason = "A file of that name is there" if at.exists() else (why.strerror or str(why))
        mend = f"{reason}: choose another."
        raise BadInput("--out", [Problem("the folder", str(at), "one that can be written to", mend)]) from why
    return at


def _free(folder: Path, stem: str, endings: list[str]) -> str:
    name, number = stem, 1
    while any((folder / f"{name}{ending}").exists() for ending in endings):
        number += 1
        name = f"{stem} ({number})"
    return name
