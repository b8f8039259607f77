"""The sheets of a workbook that cost one job: finishes side by side, then each finish step by step."""

from collections.abc import Callable
from typing import Any, NamedTuple

from pricing.papers.customer_quote import FinishChoice, choices_of
from pricing.papers.live_job import LiveSheet, live_sheet, part_cells
from pricing.papers.live_shop import LiveShop
from pricing.papers.workbook import Workbook, WorkbookSheet
from pricing.papers.workbook_cost import PRICES_ARE, put_cost, put_parts, put_told
from pricing.parts.job import Job
from pricing.prices.marks import marks_of
from pricing.prices.quote import quote
from pricing.show.words import Words, place

_MARKS = (
    "Full cost: the break-even price",
    "of it cash",
    "attended minutes",
    "cash and what the {scarce}'s hours bring elsewhere",
    "what the costs ask for: leaves the margin wanted",
    "price as it was quoted",
    "sales tax on it",
    "margin left, share of the net price",
    "extra over the first finish",
    "ask again",
)


def put_job(book: Workbook, live: LiveShop, job: Job) -> Callable[[], None]:
    """Add the sheets of a job, in the finishes a customer may choose from; what is given fills them later."""
    front = book.sheet("Job")
    choices = choices_of(live.plain, job)
    pages = [book.sheet(live.plain.finishes[choice.key].title) for choice in choices]

    def write() -> None:
        parts = [part_cells(live, lot.part, lot.pieces) for lot in job.lots]
        front.put(0, 0, job.title, "title")
        front.put(1, 0, f"What each step costs in each finish, in {live.plain.currency}.", "soft")
        row = put_parts(front, 3, parts)
        machines = [machine.name for machine in live.plain.machines.all()]
        sides = []
        for choice, page in zip(choices, pages, strict=True):
            found = live_sheet(live, job.model_copy(update={"powders": choice.powders}), parts, choice.key)
            page.put(0, 0, f"{job.title}: {found.sheet.finish.title}", "title")
            page.put(1, 0, f"In {', '.join(choice.powders)}. Pieces and measures stand on the sheet Job.", "soft")
            put_cost(page, 3, found, machines)
            page.frozen = (2, 1)
            page.widths = {0: 44} | dict.fromkeys(range(1, 30), 11.0)
            sides.append(_side(live, job, choice, found))
        _side_by_side(front, row, live, sides)

    return write


class _Side(NamedTuple):
    """One finish: its sheet, its marks, and its price, or nothing where none may be given."""

    found: LiveSheet
    marks: list[Any]
    price: list[Any]


def _side(live: LiveShop, job: Job, choice: FinishChoice, found: LiveSheet) -> _Side:
    marks = marks_of(found.sheet, margin_share=live.live.policy.target_margin)
    told = [found.sheet.total, marks.cash_floor, found.sheet.minutes, marks.scarce, marks.target]
    if found.sheet.refused:
        return _Side(found, told[:3], [])
    asked = quote(live.plain, job.model_copy(update={"powders": choice.powders}), finish=choice.key)
    policy: Any = live.live.policy
    printed: Any = live.graph.number(float(asked.must_price().printed))
    net = printed / (1.0 + policy.sales_tax) if policy.prices_include_tax else printed
    return _Side(found, told, [printed, net * policy.sales_tax, (net - found.sheet.total) / net])


def _side_by_side(sheet: WorkbookSheet, row: int, live: LiveShop, sides: list[_Side]) -> None:
    words = Words(live.plain)
    sheet.heads(row, ["Step", *[side.found.sheet.finish.title for side in sides]])
    lines = sorted((line for side in sides for line in side.found.sheet.lines), key=place)
    rows = {title: row + 1 + at for at, title in enumerate(dict.fromkeys(words.title(line) for line in lines))}
    for title, at in rows.items():
        sheet.put(at, 0, title)
    row += len(rows) + 1
    scarce = live.plain.policy.scarce.resource
    told = [text.format(scarce=scarce) for text in _MARKS]
    for at, text in enumerate(told):
        sheet.put(row + at, 0, text, "bold" if at == 0 else "text")
    first: Any = None
    for column, side in enumerate(sides, 1):
        for line in side.found.sheet.lines:
            sheet.put(rows[words.title(line)], column, line.total, "money")
        for at, figure in enumerate(side.marks):
            sheet.put(row + at, column, figure, "total" if at == 0 else "money")
        if not side.price:
            sheet.put(row + 5, column, f"do not quote: {side.found.sheet.refused[0]}", "low")
            continue
        first = side.price[0] if first is None else first
        for at, (figure, look) in enumerate(zip(side.price, ("price", "money", "share"), strict=True), 5):
            sheet.put(row + at, column, figure, look)
        sheet.put(row + 8, column, side.price[0] - first, "money")
        costs = [(row + at, column) for at in (0, 1, 2, 3, 4, 7)]
        put_told(sheet, (row + 7, column), costs, (row + 9, column), side.found, "lowwrap")
    sheet.heights[row + 9] = 60.0
    sheet.put(row + len(told), 0, PRICES_ARE, "soft")
    sheet.widths = {0: 50} | dict.fromkeys(range(1, 9), 16.0)
    sheet.frozen, sheet.locked = (0, 1), True
