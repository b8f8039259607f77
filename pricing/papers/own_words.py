"""Words and looks of the papers, as an owner changes them: the templates of the shop's folder.

Takes    the name of a template and its new text.
Gives    it written, once it can be filled in; what was there before is in the copy of the day, and in the demo shop.
"""

from datetime import date
from pathlib import Path
from typing import Final

from pricing.basis.errors import BadInput, Problem
from pricing.basis.files import read_text, write_safely
from pricing.papers.pages import templates_of
from pricing.shop.copies import keep_copy
from pricing.shop.folder import demo_folder
from pricing.shop.shop import Shop

TEMPLATES: Final = {
    "quote_terms.txt": "Quote: what is not included, and terms",
    "quote_cautions.txt": "Quote: cautions",
    "terms.txt": "Price list: terms",
    "quote.html": "Quote as a page",
    "quote.typ": "Quote as PDF",
    "price_list.html": "Price list as a page",
    "price_list.typ": "Price list as PDF",
    "summary.html": "Summary as a page",
    "summary.typ": "Summary as PDF",
    "style.css": "Looks of pages",
    "style.typ": "Looks of PDF",
    "frame.html": "Frame of every page",
    "text.html": "Texts on pages",
}
"""What each template is, in words; those of words alone come first."""


def template_text(shop: Shop, name: str) -> str:
    """Read a template: the shop's own, or the demo shop's where it has none.

    Parameters
    ----------
    name : str
        One of `TEMPLATES`.

    Raises
    ------
    BadInput
        It cannot be read.
    """
    own = templates_of(shop) / name
    return read_text(own if own.is_file() else demo_template(name))


def demo_template(name: str) -> Path:
    """Return where the demo shop has a template."""
    return demo_folder() / "templates" / name


def save_template(folder: Path, name: str, text: str) -> None:
    """Write a template of a shop, once it can be filled in.

    Parameters
    ----------
    name : str
        One of `TEMPLATES`.

    Raises
    ------
    BadInput
        It has a mistake, or it cannot be written; the old one is left whole.
    """
    _check(name, text)
    keep_copy(folder, date.today())  # noqa: DTZ011  the owner's own day
    (folder / "templates").mkdir(exist_ok=True)
    write_safely(folder / "templates" / name, text.rstrip("\n") + "\n")


def _check(name: str, text: str) -> None:
    """Refuse what could not be filled in: an open bracket, a name that nobody fills. Typst tells of its own later."""
    if not name.endswith((".html", ".txt")):
        return
    from jinja2 import Environment, TemplateSyntaxError, meta

    made = Environment(autoescape=True)
    try:
        used = meta.find_undeclared_variables(made.parse(text))
    except TemplateSyntaxError as why:
        mend = "Each {{ has its }}, each {% if … %} its {% endif %}. Nothing was changed."
        raise BadInput(name, [Problem(f"line {why.lineno}", why.message or "", "what can be filled in", mend)]) from why
    known = meta.find_undeclared_variables(made.parse(read_text(demo_template(name))))
    if used - known:
        accepts = f"names that are filled in here: {', '.join(sorted(known)) or 'none'}"
        wrong = ", ".join(sorted(used - known))
        raise BadInput(name, [Problem("a name in {{ }} or {% %}", wrong, accepts, "Nothing was changed.")])
