"""A quote a customer takes home: what is done in which order, what it costs, what is excluded.

Only what a customer may know is put into the fields a template can print: no cost, no minutes, no
margin; so no template can give them away.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any, NamedTuple

from pricing.basis.ranges import ends_of
from pricing.costing.sheet import CostSheet
from pricing.papers.outfiles import file_stem
from pricing.papers.pages import common_fields, fill_text
from pricing.papers.told import PaperWords
from pricing.parts.job import Job, Lot
from pricing.prices.colours import clear_powders, colours_of
from pricing.prices.marks import walk_away
from pricing.prices.order_lines import QuoteLine
from pricing.prices.price_rule import Price
from pricing.prices.quote import Quote, quote
from pricing.shop.folder import known_steps
from pricing.shop.shop import Shop
from pricing.show.words import LOOP_WORDS, Words, counted, open_words

NO_SCRIPT = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
"""What a page without scripts may do: nothing but show itself."""

_UNTOLD = {"enquiry", "colour_change", *LOOP_WORDS}
_COATED = {"coat", "partial_cure", "full_cure", "wipe", "tape"}


def quote_fields(shop: Shop, job: Job, *, day: date, number: str = "", asked: float | None = None) -> dict[str, Any]:
    """Describe all that a quote may print: ``price``, ``deposit`` and ``options`` hold amounts, all else texts.

    Parameters
    ----------
    number : str
        Under which it is kept; none is printed without one.
    asked : float, optional
        Price that the owner asks, without tax; what the list comes to without it. Other finishes move along. [money]

    Raises
    ------
    BadInput
        No price may be given for the job.
    """
    found, customer, words = quote(shop, job), job.customer, PaperWords(shop)
    if asked is not None:
        found = found.asking(asked)
    price, sheet = found.must_price(), found.sheet
    fields = common_fields(shop, day) | {
        "allow": NO_SCRIPT,
        "job": job.title,
        "customer": customer,
        "number": number,
        "finish": sheet.finish.title,
        "lots": [_lot(lot, words) for lot in job.lots],
        "colours": list(job.powders[: sheet.finish.colours]),
        "fixed_at_intake": found.between is not None,
        "price": _price(price),
        "deposit": found.deposit,
        "options": [_option(found, choice) for choice in choices_of(shop, job)],
        "steps": _steps(sheet, job, words),
    }
    fields |= {"facts": _facts(fields, open_words(words, job)), "price_rows": _price_rows(found, words)}
    fields["cautions"] = fill_text(shop, "quote_cautions.txt", _concerns(job, sheet))
    about_terms = {**fields, "deposit": words.short(fields["deposit"])}
    fields["terms"] = sections(fill_text(shop, "quote_terms.txt", about_terms))
    named = f"{shop.front.name} · quote {number or 'of ' + fields['today']}"
    fields |= {
        "title": f"Quote {number}: {job.title}" if number else f"Quote: {job.title}",
        "head": f"Quote {number}".rstrip() + (f" for {customer}" if customer else ""),
        "foot": f"{named} · valid until {fields['valid_until']}",
    }
    return fields


def next_number(shop: Shop, out: Path, day: date, title: str, *, replace: bool = False) -> str:
    """Write the number of a new quote: the first of the day that no file of the folder bears; '' without a prefix.

    With ``replace`` the number that the quote of this job has is taken again, where there is one.
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
    return {"net": float(price.net), "tax": float(price.tax), "total": float(price.gross)}


def _facts(fields: Mapping[str, Any], left_open: Sequence[str]) -> list[tuple[str, str]]:
    """The rows at the head of a quote: number, day, parts, finish; what the shop has not set is left out."""
    parts = "; ".join(
        f"{lot['quantity']} × {lot['name']} ({lot['material']}, about {lot['size']})" for lot in fields["lots"]
    )
    rows = [
        ("Date", f"{fields['today']}; valid until {fields['valid_until']}"),
        ("Parts", parts),
        ("Finish", f"{fields['finish']}: {', '.join(fields['colours'])}"),
        ("Open until intake", "; ".join(left_open)),
        ("Our tax number", fields["tax_number"]),
    ]
    return [(label, text) for label, text in rows if text]


def _price_rows(found: Quote, words: PaperWords) -> list[tuple[str, str, str]]:
    """The sum a customer pays, line by line as the list adds up: what, how much, and what kind of line it is."""
    price, policy = found.must_price(), found.shop.policy
    about, likely = ("About ", ", at the likely amounts") if found.between else ("", "")
    if price.apart:  # the lines of the list do not add up to it
        rows = [(f"{about}{counted(found.job.pieces)} as described above", words.money(float(price.printed)), "")]
    else:
        rows = [(about + quoted_words(line, words), words.money(line.amount), "") for line in found.lines]
        further = {
            "All kinds of parts share one set-up": -float(price.shared),
            "Test panel of the new pair of colours": price.panel,
            "Up to the minimum charge": float(price.to_minimum),
            "Rush, ahead of the queue": float(price.rush),
        }
        rows += [(what, words.money(amount), "") for what, amount in further.items() if abs(amount) > _NOTHING]
    tax = f"Sales tax {words.share(policy.sales_tax)}"
    if policy.prices_include_tax:
        rows.append(("Without sales tax", words.money(float(price.net)), "price"))
    else:
        rows.append((f"Together{likely}", words.money(float(price.net)), "price"))
    rows.append((tax, words.money(float(price.tax)), ""))
    rows.append((f"Total to pay{likely}", words.money(float(price.gross)), "total"))
    if found.between:
        low, high = (words.money(float(end.gross)) for end in found.between)
        rows.append(("Total as it may come, fixed at intake", f"{low} to {high}", "total"))
    if found.deposit:
        share = f"{policy.deposit:.0%} of the price without tax, rounded up"
        if walk_away(found.sheet) > policy.deposit * found.net:  # then the policy's share would not cover it
            share = "powder bought for this job and the work before the first coat"
        rows.append((f"Of it with the order, as a deposit: {share}", words.money(found.deposit), ""))
    return rows


_NOTHING = 5e-3


def quoted_words(line: QuoteLine, words: PaperWords) -> str:
    """Say one line of an order as the list counts it: what is sold, the first, each further."""
    unit = "" if line.sold_by == "each" else f" {line.sold_by if line.count == 1 else line.sold_by + 's'}"
    pieces = f" ({counted(line.pieces)})" if line.pieces != line.count else ""
    told = f"{line.count}{unit} × {line.title}{pieces}"
    if line.adders:
        told += f", with {' and '.join(line.adders)}"
    if line.count == 1:
        return told
    near = min(line.count, line.tariff.up_to) - 1
    told += f": the first {words.short(line.tariff.first)}, {near} further at {words.short(line.tariff.each)}"
    beyond = line.count - line.tariff.up_to
    return told + (f", {beyond} more at {words.short(line.tariff.beyond)}" if beyond > 0 else "")


def _option(chosen: Quote, choice: "FinishChoice") -> dict[str, Any]:
    """One finish among the choices: the chosen one at its price, the others at as many times the list."""
    job, words, found = chosen.job, PaperWords(chosen.shop), chosen
    if choice.key != job.finish:
        found = quote(chosen.shop, job.model_copy(update={"powders": choice.powders}), finish=choice.key)
        found = found.at_times(chosen.must_price().times_listed)
    told = {"title": found.sheet.finish.title, "colours": ", ".join(choice.powders), "chosen": choice.key == job.finish}
    if found.price is None:
        return told | {"net": None, "total": None, "cells": None}
    price = _price(found.price)
    cells = [words.money(price["net"]), words.money(price["total"])]
    return told | {"net": price["net"], "total": price["total"], "cells": cells}


def _lot(lot: Lot, words: Words) -> dict[str, Any]:
    part = lot.part
    size = f"{words.measure(part.width_mm, 'mm')} × {words.measure(part.height_mm, 'mm')}"
    pieces = " to ".join(f"{count * lot.per_unit}" for count in (ends_of(lot.quantity) or (lot.quantity,))[::2])
    return {"quantity": pieces, "name": part.name, "material": part.material, "size": size}


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
    """Describe what the text of the cautions may ask about: names of the parts concerned, or ''."""

    def named(test: Any) -> str:
        return ", ".join(dict.fromkeys(lot.part.name for lot in job.lots if test(lot.part)))

    return {
        "safety_critical": named(lambda part: part.safety_critical),
        "heat_treated": named(lambda part: part.heat_treated and part.material == "aluminium"),
        "old_coating": named(lambda part: part.old_coating != "none"),
        "castings": named(lambda part: part.casting),
        "apart": named(lambda part: part.apart),
        "two_colours": sheet.finish.line != "none",
        "new_pair": job.new_pair,
        "oven_visits": f"{float(sheet.cycles):.0f}",
    }


class FinishChoice(NamedTuple):
    """One finish with its powders, in the order of the finish's colours."""

    key: str
    powders: tuple[str, ...]


def choices_of(shop: Shop, job: Job) -> list[FinishChoice]:
    """Collect the finishes a customer may choose from, in the order of ``finishes.toml``, the job's own among them.

    Two-tone is offered where the job names two colours; a line in one way only: the job's own, else the first way the
    shop has.
    """
    colours = [name for name in job.powders if shop.powder(name).kind != "clear"]
    kept = [powder.name for powder in clear_powders(shop)]
    clear = next((name for name in (*job.powders, *kept) if name in kept), None)  # named, else the shop's first
    own = shop.finish(job.finish)
    way = own.line if own.line != "none" else next((f.line for f in shop.finishes.values() if f.line != "none"), "none")
    found = []
    for key, finish in shop.finishes.items():
        tones = colours_of(finish)
        more = finish.colours - tones
        if key == job.finish:
            found.append(FinishChoice(key, job.powders[: finish.colours]))
        elif finish.line in {"none", way} and len(colours) >= tones and (more == 0 or (more == 1 and clear)):
            on_top = (clear,) if more and clear else ()
            found.append(FinishChoice(key, (*colours[:tones], *on_top)))
    return found
