"""What customers are handed, made in one place for commands and pages: the price list, and the quote of a job.

Takes    a shop, a job or the items, and the day.
Gives    `Handed`: the name and the contents of the files; `save_all` writes them.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any, NamedTuple

from pricing.basis.errors import BadInput
from pricing.papers.pages import Paper, fill, paper_of
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
    shop: Shop, name: str, fields: Mapping[str, Any], formats: Sequence[str], papers: Sequence[Paper], html: str = ""
) -> tuple[dict[str, str | bytes], str]:
    """Collect a paper in the formats wanted, and why there is no PDF where it cannot be had.

    Parameters
    ----------
    name : str
        Of its templates, such as ``quote``.
    formats : sequence of str
        ``html``, ``pdf``.
    papers : sequence of str
        Sizes of the PDF; what the shop's units go with where none is named.
    html : str
        The page, where it is filled already.

    Raises
    ------
    BadInput
        PDF alone was wanted, and cannot be had; or a template is missing or has a mistake.
    """
    from pricing.papers.typeset import to_pdf

    contents: dict[str, str | bytes] = {}
    if "html" in formats:
        contents[".html"] = html or fill(shop, f"{name}.html", fields)
    if "pdf" in formats:
        try:
            for paper in papers or [paper_of(shop)]:
                contents[f"-{paper}.pdf"] = to_pdf(shop, f"{name}.typ", fields, paper)
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
    """Make the price list to hand out, as saved or ``fresh``; formats as in `pages_of`, ``csv`` as well."""
    from pricing.papers.printed_list import list_csv, list_fields

    fields = list_fields(shop, items, day=day, fresh=fresh)
    contents, missing = pages_of(shop, "price_list", fields, formats, papers)
    if "csv" in formats:
        contents[".csv"] = list_csv(fields)
    trade = "for the trade " if shop.for_trade else ""
    return Handed(f"price list {trade}{day.isoformat()}", contents, fields, missing)


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
    out : Path
        Where earlier quotes lie: their numbers are counted on.
    replace : bool
        Whether one of the same job and day is replaced, and keeps its number.

    Raises
    ------
    BadInput
        No price may be given.
    """
    from pricing.papers.customer_quote import next_number, quote_fields

    shop, job = found.shop, found.job
    number = next_number(shop, out, day, job.title, replace=replace)
    fields = quote_fields(shop, job, day=day, number=number, asked=found.net)
    contents, missing = pages_of(shop, "quote", fields, formats, papers)
    return Handed(f"quote {number or day.isoformat()} {job.title}", contents, fields, missing)
