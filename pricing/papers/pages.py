"""From an owner's own templates to pages: HTML that stands alone, and PDF.

Takes    templates of the shop's folder (the demo shop's where one is missing) and what to fill in.
Gives    HTML with every field escaped and nothing fetched from anywhere; PDF in A4 or US Letter, tagged
         for screen readers, in the archive form PDF/A.
Safe     templates run in a sandbox: they can fill in what they are given, and nothing else.
Room     papers. Imports basis, shop, show.
"""

import logging
import traceback
import warnings
from collections.abc import Mapping
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from pricing.basis.errors import BadInput, Problem
from pricing.shop.folder import demo_folder
from pricing.shop.shop import Shop
from pricing.show.words import Words

if TYPE_CHECKING:
    from jinja2 import Environment

Paper = Literal["a4", "letter"]
PAPERS: Mapping[Paper, str] = {"a4": "A4", "letter": "Letter"}
"""Papers, and what a style sheet calls them."""

PDF_FORM = "pdf/a-3a"
"""Archive form, level A: tagged, fonts embedded, colours defined."""

_BAD_TEMPLATE = (TypeError, ValueError, ArithmeticError, LookupError, AttributeError)


class Block(NamedTuple):
    """One block of an owner's text: a heading, a paragraph or a list."""

    kind: Literal["heading", "paragraph", "list"]
    lines: tuple[str, ...]


def paper_of(shop: Shop) -> Paper:
    """Give the paper a shop prints on: US Letter where it thinks in US units, else A4."""
    return "letter" if shop.front.units == "us" else "a4"


def fill(shop: Shop, template: str, fields: Mapping[str, Any]) -> str:
    """Fill in one of the shop's templates.

    Parameters
    ----------
    shop : Shop
        Whose templates, money and locale.
    template : str
        File name in the folder ``templates``.
    fields : mapping
        What the template may print.

    Returns
    -------
    str
        In ``.html`` templates every field is escaped.

    Raises
    ------
    BadInput
        The template is missing or has a mistake; the message names file and line.
    """
    from jinja2 import TemplateError, TemplateNotFound, TemplateSyntaxError

    where = f"templates/{template}"
    try:
        return _environment(_folders(shop), shop.currency, shop.front.locale, shop.front.units).overlay().get_template(
            template
        ).render(fields)  # fmt: skip
    except TemplateNotFound as why:
        mend = f"Copy it from the demo shop: {demo_folder() / 'templates'}."
        raise BadInput(where, [Problem("the template", f"{why.name} is not there", "there", mend)]) from why
    except TemplateSyntaxError as why:
        mend = "Each {{ has its }}, each {% if … %} its {% endif %}."
        raise BadInput(f"templates/{why.name or template}", [_at(why.lineno, why.message or "", mend)]) from why
    except (TemplateError, *_BAD_TEMPLATE) as why:
        mend = f"Names that can be filled in: {', '.join(sorted(fields))}."
        raise BadInput(where, [_at(_line_of(why, template), str(why), mend)]) from why


def fill_text(shop: Shop, template: str, fields: Mapping[str, Any]) -> list[Block]:
    """Fill in a text of the shop and cut it into blocks.

    Parameters
    ----------
    shop, template, fields
        As in `fill`. An empty line ends a block; ``# `` begins a heading, ``- `` an entry of a list.

    Raises
    ------
    BadInput
        As `fill`.
    """
    return blocks_of(fill(shop, template, fields))


def blocks_of(text: str) -> list[Block]:
    r"""Cut a plain text into blocks.

    >>> [block.kind for block in blocks_of("# Terms\n\nPay in time.\n- cash\n- card\n")]
    ['heading', 'paragraph', 'list']
    """
    found: list[Block] = []
    lines: list[str] = []

    def close() -> None:
        if lines:
            found.append(Block("paragraph", (" ".join(lines),)))
            lines.clear()

    for line in map(str.strip, text.splitlines()):
        if line.startswith("# "):
            close()
            found.append(Block("heading", (line[2:].strip(),)))
        elif line.startswith("- "):
            close()
            entries = found.pop().lines if found and found[-1].kind == "list" else ()
            found.append(Block("list", (*entries, line[2:].strip())))
        elif line:
            lines.append(line)
        else:
            close()
    close()
    return found


def to_pdf(html: str, paper: Paper) -> bytes:
    """Print a page as PDF.

    Parameters
    ----------
    html : str
        From `fill`; what it shows must be inside it.
    paper : {'a4', 'letter'}
        Size of the page.

    Raises
    ------
    BadInput
        The library that prints, or what it needs from the system, is not there.
    """
    weasyprint = _printer()
    size = weasyprint.CSS(string=f"@page {{ size: {PAPERS[paper]} }}")
    inside_only = weasyprint.urls.URLFetcher(allowed_protocols=("data",))  # nothing leaves, nothing is fetched
    page = weasyprint.HTML(string=html, url_fetcher=inside_only)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ResourceWarning)  # the library leaves its colour profile open
        made: bytes = page.write_pdf(stylesheets=[size], pdf_variant=PDF_FORM, pdf_tags=True)
    return made


def _printer() -> Any:
    try:
        import weasyprint  # heavy, and needs Pango
        import weasyprint.urls
    except (ImportError, OSError) as why:
        mend = (
            "Take the HTML file and print it from the browser (Print, Save as PDF). For PDF directly, install"
            " WeasyPrint with Pango: Debian 'apt install libpango-1.0-0 libpangoft2-1.0-0',"
            " macOS 'brew install pango', Windows: Pango from MSYS2."
        )
        reason = str(why).splitlines()[0]
        raise BadInput("PDF", [Problem("the PDF printer", reason, "installed with Pango", mend)]) from why
    logging.getLogger("weasyprint").setLevel(logging.ERROR)  # rules for screens are no news to an owner
    return weasyprint


def _folders(shop: Shop) -> tuple[Path, ...]:
    own = [shop.folder / "templates"] if shop.folder else []
    return (*own, demo_folder() / "templates")


@lru_cache(maxsize=8)
def _environment(folders: tuple[Path, ...], currency: str, locale: str, units: str) -> "Environment":
    from babel.dates import format_date
    from jinja2 import FileSystemLoader, StrictUndefined, select_autoescape
    from jinja2.sandbox import SandboxedEnvironment

    from pricing.basis.money import show_money

    made = SandboxedEnvironment(
        loader=FileSystemLoader(folders), autoescape=select_autoescape(["html"]), undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True, auto_reload=True,
    )  # fmt: skip

    def money(value: float) -> str:
        return show_money(value, currency, locale, cents=abs(value - round(value)) > 1e-9)

    made.filters |= {
        "money": money,
        "cents": lambda value: show_money(value, currency, locale),
        "percent": lambda share: f"{share:.0%}",
        "day": lambda day: format_date(day, format="long", locale=locale) if isinstance(day, date) else str(day),
    }
    made.globals |= {"units": units}
    return made


def _at(line: int, message: str, mend: str) -> Problem:
    return Problem(f"line {line}" if line else "the template", message, "something that can be filled in", mend)


def _line_of(why: BaseException, template: str) -> int:
    frames = [frame for frame in traceback.extract_tb(why.__traceback__) if Path(frame.filename).name == template]
    return (frames[-1].lineno or 0) if frames else 0


def common_fields(shop: Shop, day: date) -> dict[str, Any]:
    """Give what every page may print: the shop's name, the day, its policy in words.

    Parameters
    ----------
    shop : Shop
        Whose page it is.
    day : date
        Of the page.
    """
    from datetime import timedelta

    words, policy = Words(shop), shop.policy
    return {
        "shop": shop.front.name, "currency": shop.currency, "today": day,
        "valid_until": day + timedelta(days=policy.valid_days), "valid_days": policy.valid_days,
        "minimum_charge": words.money(policy.minimum_charge, cents=policy.minimum_charge % 1 > 0),
        "rush": f"{policy.rush_surcharge:.0%}", "deposit_share": f"{policy.deposit:.0%}",
        "sales_tax": f"{policy.sales_tax:.0%}", "with_tax": policy.prices_include_tax,
    }  # fmt: skip
