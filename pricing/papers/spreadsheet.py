"""A workbook for a partner who lives in one: price list and cost sheets that recompute.

Takes    a shop, its items, a job, quantities.
Gives    an XLSX file whose formulas were written by the model itself: change a rate, and it says what
         the program would say.
Room     papers. Imports shop, parts, costing, prices, papers.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

import numpy as np

from pricing.costing.refusals import reasons
from pricing.papers.live_job import LiveSheet, PartCells, live_sheet, part_cells
from pricing.papers.live_shop import LiveShop, live_shop
from pricing.papers.pages import paper_of
from pricing.papers.workbook import Link, Sheet, Workbook
from pricing.papers.workbook_cost import put_cost, put_parts
from pricing.papers.workbook_inputs import put_heat_note, put_rates, put_shop
from pricing.papers.workbook_job import put_job
from pricing.parts.items import Item
from pricing.parts.job import Job, job_of_item
from pricing.prices.margins import price_at_margin
from pricing.prices.price_list import FINISHES, printed_each
from pricing.shop.shop import Shop

_HOW = (
    "Yellow cells can be changed: rates, the shop's own numbers, what a piece measures. Every price follows.",
    "Every formula was written by the costing program from its own sums, so the figures agree to the cent.",
    "Click a price and read its formula: names such as wipe_line_m_hands are cells of the sheet Rates.",
    "The heat of the oven is worked out by the program: bring-up times and kWh stand as numbers.",
    "After a change of the oven, of a part's size or metal, or of a rate marked *: change the folder and export again.",
    "Which steps a job takes, and which oven, was decided when this file was written.",
)
_SHEETS = {
    "Prices": "the price list, with cost, price and margin of every family",
    "Rates": "every rate and assumption with its source",
    "Shop": "the shop's own numbers, and what an hour costs",
    "Items": "what one piece of each family measures",
    "List workings": "the sums behind the price list",
}


def spreadsheet(
    shop: Shop, items: Mapping[str, Item], *, day: date, job: Job | None = None, quantities: Sequence[int] = (1, 10)
) -> bytes:  # fmt: skip
    """Write the workbook.

    Parameters
    ----------
    shop : Shop
        The owner's shop.
    items : mapping of Item
        Rows of the price list, by key.
    day : date
        On the front sheet.
    job : Job, optional
        A job whose cost sheets are added, in the finishes a customer may choose from.
    quantities : sequence of int
        How many are sold together; 1 is always among them.

    Raises
    ------
    BadInput
        Something cannot be costed.
    """
    live = live_shop(shop)
    book = Workbook(f"Prices of {shop.front.name}", shop.front.name, day, letter=paper_of(shop) == "letter")
    front, prices = book.sheet("Read me"), book.sheet("Prices")
    jobs = put_job(book, live, job) if job else []
    rates, own, families, workings = (book.sheet(name) for name in ("Rates", "Shop", "Items", "List workings"))
    _front(front, shop, day, job)
    # first the inputs, so that every formula finds its numbers in a cell
    put_rates(book, rates, live)
    put_shop(book, own, live)
    used: set[str] = set()
    for write in jobs:
        used |= write()
    used |= _list(live, items, sorted({1, *quantities}), (prices, families, workings))
    put_heat_note(rates, live, used)
    return book.written()


def _front(sheet: Sheet, shop: Shop, day: date, job: Job | None) -> None:
    lines = [(f"Prices of {shop.front.name}", "title"), (f"As of {day.isoformat()}, in {shop.currency}.", "soft")]
    lines += [("How to use it", "heading"), *[(text, "wrap") for text in _HOW], ("Sheets", "heading")]
    for row, (text, look) in enumerate(lines):
        sheet.put(row, 0, text, look)
        if look == "wrap":
            sheet.heights[row] = 16.0 * -(-len(text) // 105)
    leads = dict(_SHEETS)
    if job:
        leads["Job"] = f"{job.title}: finishes side by side"
    for row, (name, text) in enumerate(leads.items(), len(lines)):
        sheet.put(row, 0, Link(f"{name}: {text}", name, 0))
    sheet.widths = {0: 110}


def _list(
    live: LiveShop, items: Mapping[str, Item], quantities: Sequence[int], sheets: tuple[Sheet, Sheet, Sheet]
) -> set[str]:
    prices, families, workings = sheets
    shop, code = live.plain, live.plain.currency
    cells = {key: part_cells(live, item.part, item.pieces) for key, item in items.items()}
    _families(families, items, cells)
    machines = [machine.name for machine in shop.machines.all()]
    tax = "with" if shop.policy.prices_include_tax else "without"
    prices.put(0, 0, f"Price list of {shop.front.name}", "title")
    prices.put(1, 0, f"In {code}, {tax} sales tax; all figures for one. Red: below the margin that is wanted.", "soft")
    heads = ["Family", "sold by", "sold together"]
    for column in ("single-tone", "two-tone"):
        heads += [f"{column}: full cost", "lowest that leaves the margin", f"{column}: price", "margin", "workings"]
    prices.heads(3, [*heads, "extra for two-tone"], left=(0, 1, 7, 12), lines=4)
    workings.put(0, 0, "The sums behind the price list", "title")
    row, at, used = 4, 2, set[str]()
    for key, item in items.items():
        firsts: dict[str, Any] = {}
        for quantity in quantities:
            prices.row(row, [item.title, item.sold_by])
            prices.put(row, 2, quantity, "whole")
            printed: dict[str, Any] = {}
            for side, column in enumerate(FINISHES):
                refused = reasons(item.part, shop.finishes[getattr(item, column)], shop)
                left = 3 + 5 * side
                if refused:
                    prices.put(row, left + 2, f"on request: {refused[0]}", "low")
                    continue
                job = job_of_item(item, units=quantity, column=column)
                found = live_sheet(live, job, [cells[key]], job.finish, times=quantity)
                used |= _used(found)
                workings.put(at, 0, f"{item.title}, {found.sheet.finish.title}, {quantity} sold together", "heading")
                prices.put(row, left + 4, Link("sums", workings.name, at), "link")
                at = put_cost(workings, at + 1, found, machines) + 1
                printed[column] = _price(prices, row, left, live, found, quantity, firsts.setdefault(column, []))
            if len(printed) == len(FINISHES):
                prices.put(row, 13, printed["two_tone"] - printed["single"], "money")
            row += 1
    prices.frozen = (4, 1)
    prices.repeat = 3
    prices.widths = {0: 32, 2: 9} | dict.fromkeys(range(3, 14), 12.0) | {7: 9, 12: 9}
    workings.widths = {0: 44} | dict.fromkeys(range(1, 30), 11.0)
    workings.frozen = (1, 1)
    return used


def _price(
    sheet: Sheet, row: int, left: int, live: LiveShop, found: LiveSheet, quantity: int, firsts: list[Any]
) -> Any:
    policy = live.live.policy
    total: Any = found.sheet.total
    each = total / float(quantity)
    least: Any = np.maximum(price_at_margin(total, policy.target_margin), policy.minimum_charge) / float(quantity)
    firsts.append(least)
    printed: Any = printed_each(least, firsts[0], policy)
    taxed: Any = 1.0 + policy.sales_tax if policy.prices_include_tax else 1.0
    net = printed / taxed
    for column, figure, look in ((0, each, "money"), (1, least, "money"), (2, printed, "price")):
        sheet.put(row, left + column, figure, look)
    sheet.put(row, left + 3, (net - each) / net, "share")
    margin = next(cell for cell in sheet.cells if cell[:2] == (row, left + 3))[2].place.seen_from(sheet.name)
    sheet.flagged.append((row, left + 3, f"={margin}<target_margin-0.000001"))
    return printed


def _used(found: LiveSheet) -> set[str]:
    return {key for line in found.sheet.lines for key in line.used()}


def _families(sheet: Sheet, items: Mapping[str, Item], cells: Mapping[str, PartCells]) -> None:
    sheet.put(0, 0, "What one piece of each family measures", "title")
    sheet.put(1, 0, "Size, metal, old coating and oven loads stay as they are in the shop's folder.", "soft")
    put_parts(sheet, 3, list(cells.values()))
    for row, item in enumerate(items.values(), 4):
        sheet.row(row, [item.part.material, item.part.old_coating, item.note], "soft", at=9)
    sheet.row(3, ["metal", "old coating", "note"], "head", at=9)
    sheet.frozen = (4, 1)
    sheet.widths = {0: 32, 9: 14, 10: 12, 11: 44}
