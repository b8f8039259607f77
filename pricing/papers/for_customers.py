"""What customers are handed, made in one place for commands and pages: the price list, and the quote of a job.

Takes    a shop, a job or the items, and the day.
Gives    `Handed`: the name and the contents of the files; `save_all` writes them.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any, NamedTuple

from pricing.basis.errors import BadInput
from pricing.papers.pages import Paper, paper_of
from pricing.parts.items import Item
from pricing.prices.quote import Quote
from pricing.shop.shop import Shop

_FORMATS = ("html", "pdf")
CUSTOMERS_FOLDER = "hand-outs/customers"
"""Where in a shop's folder they lie; papers that tell costs lie apart."""


class Handed(NamedTuple):
    """A hand-out before it is written: name without ending, content by ending, what it was filled with, what lacks."""

    stem: str
    contents: dict[str, str | bytes]
    fields: Mapping[str, Any]
    missing: str = ""


def pages_of(
    shop: Shop, html: str, template: str, fields: Mapping[str, Any], formats: Sequence[str], papers: Sequence[Paper]
) -> tuple[dict[str, str | bytes], str]:
    """Collect a paper in the formats wanted, and why there is no PDF where it cannot be had.

    Parameters
    ----------
    shop : Shop
        Whose.
    html, template, fields
        The page as filled, and what Typst fills from what.
    formats : sequence of str
        ``html``, ``pdf``.
    papers : sequence of str
        Sizes of the PDF; what the shop's units go with where none is named.

    Raises
    ------
    BadInput
        PDF alone was wanted, and cannot be had.
    """
    from pricing.papers.typeset import to_pdf

    contents: dict[str, str | bytes] = {".html": html} if "html" in formats else {}
    if "pdf" in formats:
        try:
            for paper in papers or [paper_of(shop)]:
                contents[f"-{paper}.pdf"] = to_pdf(shop, template, fields, paper)
        except BadInput as why:
            if why.where != "PDF" or tuple(formats) == ("pdf",):
                raise
            return contents, str(why)
    return contents, ""


def list_paper(
    shop: Shop,
    items: Mapping[str, Item],
    day: date,
    *,
    fresh: bool = False,
    formats: Sequence[str] = _FORMATS,
    papers: Sequence[Paper] = (),
) -> Handed:
    """Make the price list to hand out.

    Parameters
    ----------
    shop, items
        Whose, and what it sells.
    day : date
        On it.
    fresh : bool
        Prices as worked out today, even where the saved list has others.
    formats, papers
        As in `pages_of`; ``csv`` as well.
    """
    from pricing.papers.printed_list import list_csv, list_fields, list_html

    fields = list_fields(shop, items, day=day, fresh=fresh)
    contents, missing = pages_of(shop, list_html(shop, fields), "price_list.typ", fields, formats, papers)
    if "csv" in formats:
        contents[".csv"] = list_csv(fields)
    return Handed(
        f"price list {'for the trade ' if shop.for_trade else ''}{day.isoformat()}", contents, fields, missing
    )


def quote_paper(
    found: Quote,
    day: date,
    out: Path,
    *,
    replace: bool = False,
    formats: Sequence[str] = _FORMATS,
    papers: Sequence[Paper] = (),
) -> Handed:
    """Make the quote of a job for its customer: no cost, no margin.

    Parameters
    ----------
    found : Quote
        Of the job, at the price that is asked.
    day : date
        On it.
    out : Path
        Where earlier quotes lie: their numbers are counted on.
    replace : bool
        Whether one of the same job and day is replaced, and keeps its number.
    formats, papers
        As in `pages_of`.

    Raises
    ------
    BadInput
        No price may be given.
    """
    from pricing.papers.customer_quote import next_number, quote_fields, quote_html

    shop, job = found.shop, found.job
    number = next_number(shop, out, day, job.title, replace=replace)
    fields = quote_fields(shop, job, day=day, number=number, asked=found.net)
    contents, missing = pages_of(shop, quote_html(shop, fields), "quote.typ", fields, formats, papers)
    return Handed(f"quote {number or day.isoformat()} {job.title}", contents, fields, missing)
