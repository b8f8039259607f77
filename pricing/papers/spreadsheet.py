"""A workbook for a partner who lives in one: price list and cost sheets that recompute.

Takes    a shop, its items, a job, quantities.
Gives    an XLSX file whose formulas were written by the model itself: change a rate, and it says what
         the program would say.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

import numpy as np

from pricing.basis.money import minor_digits
from pricing.papers.live_job import LiveSheet, PartCells, live_sheet, part_cells
from pricing.papers.live_shop import LiveShop, live_shop
from pricing.papers.pages import paper_of
from pricing.papers.workbook import Link, Workbook, WorkbookSheet
from pricing.papers.workbook_cost import PRICES_ARE, put_cost, put_parts, put_told
from pricing.papers.workbook_inputs import lock_deaf, put_rates, put_shop
from pricing.papers.workbook_job import put_job
from pricing.parts.items import Item
from pricing.parts.job import Job, job_of_item
from pricing.prices.marks import price_at_margin
from pricing.prices.price_rule import OrderLine, printed_minimum
from pricing.prices.quote import quote
from pricing.shop.own_prices import COLUMNS
from pricing.shop.shop import Shop

_HOW = (
    "Yellow cells can be changed: rates, the shop's own numbers, what a piece measures; all others are locked.",
    "Every cost follows, with what the costs ask for, and the margin that the printed price leaves.",
    "Prices are those of the list: the first, and each further one. They stay until the program makes a new list.",
    "Every formula was written by the costing program from its own sums, so the figures agree to the cent.",
    "Click a cost and read its formula: names such as wipe_line_m_hands are cells of the sheet Rates.",
    "Which oven a job goes into, and the oven's heat, was worked out when this file was written.",
    "Where a change would make another oven cheaper, or the heat another, the row says so: ask the program again.",
    "Rates marked * act through the oven's heat alone and are locked: change them in the shop's folder.",
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
) -> bytes:
    """Write the workbook.

    Parameters
    ----------
    items : mapping of Item
        Rows of the price list, by key.
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
    digits = minor_digits(shop.currency)
    book = Workbook(
        f"Prices of {shop.front.name}", shop.front.name, day, letter=paper_of(shop) == "letter", digits=digits
    )
    front, prices = book.sheet("Read me"), book.sheet("Prices")
    write_job = put_job(book, live, job) if job else None
    rates, own, families, workings = (book.sheet(name) for name in ("Rates", "Shop", "Items", "List workings"))
    _front(front, shop, day, job)
    # first the inputs, so that every formula finds its numbers in a cell
    put_rates(book, rates, live)
    put_shop(book, own, live)
    if write_job:
        write_job()
    _list(live, items, sorted({1, *quantities}), (prices, families, workings))
    lock_deaf(rates, live)
    return book.written()


def _front(sheet: WorkbookSheet, shop: Shop, day: date, job: Job | None) -> None:
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


_HEADS = ("first", "each further", "price in all", "full cost", "the costs ask for", "margin", "workings")
_TONES = ("single-tone", "two-tone")
_EXTRA = 3 + len(_TONES) * len(_HEADS)


def _list(
    live: LiveShop,
    items: Mapping[str, Item],
    quantities: Sequence[int],
    sheets: tuple[WorkbookSheet, WorkbookSheet, WorkbookSheet],
) -> None:
    prices, families, workings = sheets
    shop, code = live.plain, live.plain.currency
    cells = {key: part_cells(live, item.part, item.pieces) for key, item in items.items()}
    _families(families, items, cells)
    machines = [machine.name for machine in shop.machines.all()]
    tax = "with" if shop.policy.prices_include_tax else "without"
    prices.put(0, 0, f"Price list of {shop.front.name}", "title")
    about = f"In {code}; prices {tax} sales tax, for all that are sold together, in each family's own colours."
    prices.put(1, 0, f"{about} {PRICES_ARE}", "soft")
    heads = [f"{tone}: {head}" for tone in _TONES for head in _HEADS]
    heads += ["extra for two-tone", *(f"{tone}: ask again?" for tone in _TONES)]
    left = [at for at, head in enumerate(heads, 3) if head.endswith(("workings", "?"))]
    prices.heads(3, ["Family", "sold by", "sold together", *heads], left=(0, 1, *left), lines=4)
    workings.put(0, 0, "The sums behind the price list", "title")
    row, at = 4, 2
    for key, item in items.items():
        for quantity in quantities:
            prices.row(row, [item.title, item.sold_by])
            prices.put(row, 2, quantity, "whole")
            printed: dict[str, Any] = {}
            for side, column in enumerate(COLUMNS):
                job = job_of_item(item, units=quantity, column=column)
                refused = quote(shop, job).refused
                left_of = 3 + len(_HEADS) * side
                if refused:
                    prices.put(row, left_of + 2, f"on request: {refused[0]}", "low")
                    continue
                found = live_sheet(live, job, [cells[key]], job.finish, times=quantity)
                workings.put(at, 0, f"{item.title}, {found.sheet.finish.title}, {quantity} sold together", "heading")
                prices.put(row, left_of + 6, Link("sums", workings.name, at), "link")
                at = put_cost(workings, at + 1, found, machines) + 1
                tariff = quote(shop, job).lines[0].tariff
                printed[column] = _price(prices, (row, left_of), live, found, OrderLine(tariff, quantity))
                costs = [(row, left_of + at) for at in (3, 4, 5)]
                put_told(prices, (row, left_of + 5), costs, (row, _EXTRA + 1 + side), found)
            if len(printed) == len(COLUMNS):
                prices.put(row, _EXTRA, printed["two_tone"] - printed["single"], "money")
            row += 1
    prices.frozen, prices.locked = (4, 1), True
    prices.repeat = 3
    prices.widths = {0: 32, 2: 9} | dict.fromkeys(range(3, _EXTRA + 1), 12.0) | {_EXTRA + 1: 42, _EXTRA + 2: 42}
    workings.widths = {0: 44} | dict.fromkeys(range(1, 30), 11.0)
    workings.frozen = (1, 1)


def _price(sheet: WorkbookSheet, at: tuple[int, int], live: LiveShop, found: LiveSheet, order: OrderLine) -> Any:
    """Put a row of the list: its tariff and the price by it as they were printed, then what the costs say now."""
    policy: Any = live.live.policy
    row, left = at
    tariff, count = order.tariff, int(order.units)
    first, each = (live.graph.number(amount) for amount in (tariff.first, tariff.each))
    near, more = min(count, tariff.up_to) - 1.0, max(count - tariff.up_to, 0)
    printed: Any = np.maximum(first + near * each + more * tariff.beyond, printed_minimum(live.plain.policy))
    taxed = 1.0 + policy.sales_tax if policy.prices_include_tax else 1.0
    cost: Any = found.sheet.total
    net = printed / taxed
    asked = price_at_margin(cost, policy.target_margin) * taxed
    looks = ("money", "money", "price", "money", "money", "share")
    figures = (first, each, printed, cost, asked, (net - cost) / net)
    for column, (figure, look) in enumerate(zip(figures, looks, strict=True)):
        sheet.put(row, left + column, figure, look)
    return printed


def _families(sheet: WorkbookSheet, items: Mapping[str, Item], cells: Mapping[str, PartCells]) -> None:
    sheet.put(0, 0, "What one piece of each family measures", "title")
    sheet.put(1, 0, "Size, metal, old coating and oven loads stay as they are in the shop's folder.", "soft")
    put_parts(sheet, 3, list(cells.values()))
    for row, item in enumerate(items.values(), 4):
        sheet.row(row, [item.part.material, item.part.old_coating, item.note], "soft", at=9)
    sheet.row(3, ["metal", "old coating", "note"], "head", at=9)
    sheet.frozen, sheet.locked = (4, 1), True
    sheet.widths = {0: 32, 9: 14, 10: 12, 11: 44}
