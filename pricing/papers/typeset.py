"""PDF by Typst: one wheel, nothing from the system, the same line breaks on every machine.

Takes    a template of the shop's folder (the demo shop's where one is missing) and what it may print, as data.
Gives    PDF in A4 or US Letter, tagged for screen readers (PDF/UA-1), in the archive form PDF/A-3a.
Fonts    those of ``data/fonts``; the system's are asked only for signs that these lack, such as a name in Thai.
Safe     what is printed reaches a template as strings, never as markup. A template can read files of its own
         folder, such as a logo, and nothing else: the compiler is shut in there, links that lead out are
         refused, and its way to a package server ends at this machine.
"""

import json
import os
import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, date, datetime, time
from functools import lru_cache
from pathlib import Path
from threading import Lock
from typing import Any

from pricing.basis.errors import BadInput, Problem
from pricing.basis.facts import data_folder
from pricing.basis.files import read_text
from pricing.papers.pages import again, templates_of
from pricing.papers.told import plain
from pricing.shop.folder import demo_folder
from pricing.shop.shop import Shop

PDF_FORMS = ("a-3a", "ua-1")
"""Archive form, level A, and the form for screen readers: tagged, fonts embedded, every picture with words."""

_STYLE, _CHART = "style.typ", "chart.typ"
_NOWHERE = "http://127.0.0.1:9"  # the discard port: a package server is asked by way of it, and so never reached
_PROXIES = ("https_proxy", "HTTPS_PROXY", "http_proxy", "HTTP_PROXY", "all_proxy", "ALL_PROXY")
_ENV = Lock()
_LONG = re.compile(r"[^\W_]{24}(?=[^\W_]{12})")  # a name without gaps would run over its column
_MAY_BREAK = "\u200b"


def to_pdf(shop: Shop, template: str, fields: Mapping[str, Any], paper: str) -> bytes:
    """Set a paper as PDF.

    Parameters
    ----------
    template : str
        File name in the folder ``templates``, such as ``price_list.typ``.
    fields : mapping
        What the template may print, as `it`; text, numbers, days, and lists and mappings of them.

    Raises
    ------
    BadInput
        A template is missing or has a mistake: the message names file and line; or the library is not there.
    """
    typst = _library()
    folder = templates_of(shop)
    parts = [(name, _text(folder, name)) for name in (_CHART, _STYLE, template)]
    given = json.dumps({**plain(fields), "paper": {"a4": "a4", "letter": "us-letter"}[paper]}, ensure_ascii=False)
    given = _LONG.sub(lambda found: found.group() + _MAY_BREAK, given)
    source = "\n".join(["#let it = json(bytes(sys.inputs.it))", *(text for _, text in parts)]).encode()

    def made(forms: tuple[str, ...], *, system: bool) -> bytes:
        with _offline():
            found: bytes = typst.compile(
                source,
                root=folder,
                font_paths=_fonts(data_folder() / "fonts", system),
                ignore_system_fonts=not system,
                format="pdf",
                sys_inputs={"it": given},
                pdf_standards=list(forms),
                timestamp=_moment(fields),
            )
        return found

    # a sign that our fonts lack may be in the system's; a template of the owner's that skips a level of headings, or
    # a sign that nobody has, is no reason to have no paper: then it is of a plainer form
    for forms, system in ((PDF_FORMS, False), (PDF_FORMS, True), (PDF_FORMS[:1], True)):
        try:
            return made(forms, system=system)
        except typst.TypstError as why:
            if not str(why.message).startswith("PDF/"):
                raise _mistake(why, parts, fields) from why
    try:
        return made((), system=True)
    except typst.TypstError as why:
        raise _mistake(why, parts, fields) from why


def _moment(fields: Mapping[str, Any]) -> datetime:
    """When the file says that it was made: the day of the paper, so that the same paper is the same file."""
    day = date.fromisoformat(fields["today_iso"]) if "today_iso" in fields else date(2000, 1, 1)
    return datetime.combine(day, time(12), tzinfo=UTC)


def _library() -> Any:
    try:
        import typst  # loads in a hundredth of a second, but only a PDF needs it
    except ImportError as why:
        mend = (
            "Take the HTML file and print it from the browser (Print, Save as PDF). For PDF directly,"
            " `python -m pip install typst`: it is one wheel and needs nothing from the system."
        )
        raise BadInput("PDF", [Problem("the library that sets pages", "not there", "installed", mend)]) from why
    return typst


@lru_cache(maxsize=2)
def _fonts(folder: Path, system: bool) -> Any:
    """Our own fonts with those inside the library; a search through the system's takes longer than a paper."""
    import typst

    return typst.Fonts(include_system_fonts=system, include_embedded_fonts=True, font_paths=[str(folder)])


def _text(folder: Path, name: str) -> str:
    if name == _CHART:
        return read_text(Path(__file__).with_name(name))
    for at in (folder, demo_folder() / "templates"):
        if (at / name).exists():
            return read_text(at / name)
    raise BadInput(f"templates/{name}", [Problem("the template", f"{name} is not there", "there", again(name))])


@contextmanager
def _offline() -> Iterator[None]:
    """Lead the compiler's way to the network to a port of this machine where nobody listens."""
    with _ENV:
        names = (*_PROXIES, "no_proxy", "NO_PROXY")
        before = {name: os.environ.get(name) for name in names}
        os.environ.update(dict.fromkeys(_PROXIES, _NOWHERE))
        for name in ("no_proxy", "NO_PROXY"):
            os.environ.pop(name, None)
        try:
            yield
        finally:
            for name, value in before.items():
                if value is None:
                    os.environ.pop(name, None)
                else:
                    os.environ[name] = value


def _mistake(why: Any, parts: list[tuple[str, str]], fields: Mapping[str, Any]) -> BadInput:
    """Say in which file of the folder and on which line a template went wrong."""
    message = str(why.message or why)
    mend = (
        "; ".join(why.hints or ())
        or f"Names that can be printed, as it.NAME: {', '.join(sorted(fields))}. {again(parts[-1][0])}"
    )
    if "package" in message:
        message, mend = "a package is asked for", "Templates use what is in their folder; nothing is fetched."
    lines = [int(n) for n in re.findall(r"__typst_py_bytes__\.typ:(\d+):", str(why.diagnostic or ""))]
    at, first = (lines[0] if lines else 0), 2  # line 1 holds the data
    for name, text in parts:
        length = text.count("\n") + 1
        if at < first + length or name == parts[-1][0]:
            line = max(at - first + 1, 0)
            where = "chart.typ" if name == _CHART else f"templates/{name}"
            field = f"line {line}" if line else "the template"
            return BadInput(where, [Problem(field, message, "something that can be set", mend)])
        first += length
    raise AssertionError
