"""A quote a customer takes home: what is done in which order, what it costs, what is excluded.

Only what a customer may know is put into the fields a template can print: no cost, no minutes, no
margin; so no template can give them away.

Room     papers. Imports basis, shop, parts, costing, prices, show, papers.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from pricing.basis.errors import BadInput, Problem
from pricing.costing.sheet import CostSheet, cost
from pricing.papers.finish_choice import Choice, choices_of
from pricing.papers.outfiles import file_stem
from pricing.papers.pages import common_fields, fill, fill_text
from pricing.papers.told import PaperWords
from pricing.parts.job import Job, Lot
from pricing.prices.marks import Price, deposit, list_price, round_up, walk_away
from pricing.shop.folder import known_steps
from pricing.shop.shop import Shop
from pricing.show.words import LOOPS, Words, counted

NO_SCRIPT = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
"""What a page without scripts may do: nothing but show itself."""

_UNTOLD = {"enquiry", "colour_change", *LOOPS}
_COATED = {"coat", "partial_cure", "full_cure", "wipe", "tape"}


def quote_fields(shop: Shop, job: Job, *, day: date, number: str = "") -> dict[str, Any]:
    """Give all that a quote may print.

    Parameters
    ----------
    shop : Shop
        Who quotes.
    job : Job
        What for.
    day : date
        Of the quote.
    number : str
        Under which it is kept; none is printed without one.

    Returns
    -------
    dict
        ``price``, ``deposit`` and ``options`` hold amounts, all else texts as they are printed.

    Raises
    ------
    BadInput
        No price may be given for the job.
    """
    sheet, customer = cost(shop, job), job.customer
    if sheet.refused:
        accepts = "one that may be priced"
        raise BadInput(job.title, [Problem("the job", "not to be quoted", accepts, reason) for reason in sheet.refused])
    price = list_price(sheet.total, shop.policy, rush=job.rush)
    words = PaperWords(shop)
    fields = common_fields(shop, day) | {
        "allow": NO_SCRIPT, "job": job.title, "customer": customer, "number": number, "finish": sheet.finish.title,
        "lots": [_lot(lot, words) for lot in job.lots], "colours": list(job.powders[: sheet.finish.colours]),
        "price": _price(price), "deposit": _deposit(price, sheet),
        "options": [_option(shop, job, choice) for choice in choices_of(shop, job)], "steps": _steps(sheet, job, words),
    }  # fmt: skip
    fields |= {"facts": _facts(fields), "price_rows": _price_rows(fields, sheet, job, words)}
    fields["cautions"] = fill_text(shop, "quote_cautions.txt", _concerns(job, sheet))
    about_terms = {**fields, "deposit": words.amount(fields["deposit"])}
    fields["terms"] = sections(fill_text(shop, "quote_terms.txt", about_terms))
    named = f"{shop.front.name} · quote {number or 'of ' + fields['today']}"
    fields |= {
        "title": f"Quote {number}: {job.title}" if number else f"Quote: {job.title}",
        "head": f"Quote {number}".rstrip() + (f" for {customer}" if customer else ""),
        "foot": f"{named} · valid until {fields['valid_until']}",
    }  # fmt: skip
    return fields


def quote_html(shop: Shop, fields: Mapping[str, Any]) -> str:
    """Give a quote as a page.

    Parameters
    ----------
    shop : Shop
        For its templates.
    fields : mapping
        From `quote_fields`.

    Raises
    ------
    BadInput
        A template is missing or has a mistake.
    """
    return fill(shop, "quote.html", fields)


def next_number(shop: Shop, out: Path, day: date, title: str, *, replace: bool = False) -> str:
    """Give the number of a new quote: the first of the day that no file of the folder bears.

    Parameters
    ----------
    shop : Shop
        For its prefix; '' is given where it has none.
    out : Path
        Folder that quotes are written into.
    day : date
        Of the quote.
    title : str
        Of the job.
    replace : bool
        Take the number again that the quote of this job has, where there is one.
    """
    place = 1
    while number := shop.letterhead.quote_number(day, place):
        there = {path.stem.removesuffix("-a4").removesuffix("-letter") for path in out.glob(f"quote {number} *")}
        if not there or (replace and there == {file_stem(f"quote {number} {title}")}):
            break
        place += 1
    return number


def sections(blocks: Sequence[Any]) -> list[list[Any]]:
    """Cut blocks at their headings, so that a section can be kept together on a page."""
    found: list[list[Any]] = []
    for block in blocks:
        if block.kind == "heading" or not found:
            found.append([])
        found[-1].append(block)
    return found


def _price(price: Price) -> dict[str, float]:
    net, tax = float(price.net), round(float(price.tax), 2)
    return {"net": net, "tax": tax, "total": round(net + tax, 2)}


def _deposit(price: Price, sheet: CostSheet) -> float:
    # rounded up, since the exact sum would tell what was spent before the first coat
    return min(float(price.net), float(round_up(deposit(float(price.net), sheet), sheet.shop.policy)))


def _facts(fields: Mapping[str, Any]) -> list[tuple[str, str]]:
    """The rows at the head of a quote: number, day, parts, finish; what the shop has not set is left out."""
    parts = "; ".join(f"{lot['quantity']} × {lot['name']} ({lot['material']}, about {lot['size']})"
                      for lot in fields["lots"])  # fmt: skip
    rows = [
        ("Date", f"{fields['today']}; valid until {fields['valid_until']}"),
        ("Parts", parts), ("Finish", f"{fields['finish']}: {', '.join(fields['colours'])}"),
        ("Our tax number", fields["tax_number"]),
    ]  # fmt: skip
    return [(label, text) for label, text in rows if text]


def _price_rows(fields: Mapping[str, Any], sheet: CostSheet, job: Job, words: PaperWords) -> list[tuple[str, str, str]]:
    """The sum a customer pays, line by line: what, how much, and what kind of line it is."""
    price, policy = fields["price"], sheet.shop.policy
    what = f"{fields['finish']}, {counted(job.pieces, 'part', 'parts')}{', rush' if job.rush else ''}"
    rows = [
        (what, words.money(price["net"]), "price"),
        (f"Sales tax {fields['sales_tax']}", words.money(price["tax"]), ""),
        ("Total to pay", words.money(price["total"]), "total"),
    ]
    if fields["deposit"]:
        share = f"{policy.deposit:.0%} of the price without tax, rounded up"
        if walk_away(sheet) > policy.deposit * price["net"]:  # then the policy's share would not cover it
            share = "powder bought for this job and the work before the first coat"
        rows.append((f"Of it with the order, as a deposit: {share}", words.money(fields["deposit"]), ""))
    return rows


def _option(shop: Shop, job: Job, choice: Choice) -> dict[str, Any]:
    sheet, words = cost(shop, job.model_copy(update={"powders": choice.powders}), finish=choice.key), PaperWords(shop)
    told = {"title": sheet.finish.title, "colours": ", ".join(choice.powders), "chosen": choice.key == job.finish}
    if sheet.refused:
        return told | {"net": None, "total": None, "cells": None}
    price = _price(list_price(sheet.total, shop.policy, rush=job.rush))
    cells = [words.money(price["net"]), words.money(price["total"])]
    return told | {"net": price["net"], "total": price["total"], "cells": cells}


def _lot(lot: Lot, words: Words) -> dict[str, Any]:
    part = lot.part
    size = f"{words.measure(part.width_mm, 'mm')} × {words.measure(part.height_mm, 'mm')}"
    return {"quantity": lot.quantity, "name": part.name, "material": part.material, "size": size}


def _steps(sheet: CostSheet, job: Job, words: Words) -> list[str]:
    steps = []
    several = len(sheet.finish.coats) > 1
    for line in sheet.lines:
        if line.step in _UNTOLD:
            continue
        title = known_steps()[line.step].title
        if line.step == "coat":
            powder = job.powders[sheet.finish.coats[line.coat - 1].powder - 1]
            title = f"{words.step_title(line.step, line.coat if several else 0)}: {powder}"
        elif line.step in _COATED and several:
            title = words.step_title(line.step, line.coat)
        steps.append(title)
    return steps


def _concerns(job: Job, sheet: CostSheet) -> dict[str, Any]:
    """Give what the text of the cautions may ask about: names of the parts concerned, or ''."""

    def named(test: Any) -> str:
        return ", ".join(dict.fromkeys(lot.part.name for lot in job.lots if test(lot.part)))

    return {
        "safety_critical": named(lambda part: part.safety_critical),
        "heat_treated": named(lambda part: part.heat_treated and part.material == "aluminium"),
        "old_coating": named(lambda part: part.old_coating != "none"), "castings": named(lambda part: part.casting),
        "apart": named(lambda part: part.apart), "two_colours": sheet.finish.line != "none", "new_pair": job.new_pair,
        "oven_visits": f"{float(sheet.cycles):.0f}",
    }  # fmt: skip
