"""The block of a workbook that costs one job in one finish, a row a step."""

from collections import Counter
from collections.abc import Sequence
from typing import Any

import numpy as np
from xlsxwriter.utility import xl_rowcol_to_cell

from pricing.basis.units import readable, shown
from pricing.costing.graph import Symbol, brief, inside
from pricing.costing.lines import MONEY, Line
from pricing.costing.loops import reject_chance
from pricing.costing.sheet import CostSheet
from pricing.papers.live_job import PART_MEASURES, LiveSheet, PartCells
from pricing.papers.workbook import CellCheck, Sum, WorkbookSheet
from pricing.show.words import LOOP_WORDS, Words
from pricing.steps.oven_visit import KWH_TERMS
from pricing.steps.step import Use

WHAT_OVENS_COST = "full cure"
UNDER = "under the margin wanted"
_LEAST = 0.001  # with none of a thing the steps would be others
_LOOK = {True: "sub", False: "number"}


def put_parts(sheet: WorkbookSheet, row: int, parts: Sequence[PartCells]) -> int:
    """Put the parts of a job, a row each, yellow where a measure can be changed; give the next row."""
    units = parts[0].units
    heads = []
    for measure in PART_MEASURES:
        name, unit = ("nooks" if measure == "spots" else measure), units[measure]
        told = f"{name}, {readable(unit)}" if unit else name
        heads.append(told if measure == "pieces" else f"{told} of one")
    sheet.heads(row, ["Part", *heads])
    for part in parts:
        row += 1
        sheet.put(row, 0, part.part.name)
        for column, measure in enumerate(PART_MEASURES, 1):
            cell = part.cells[measure]
            if cell is None:
                sheet.put(row, column, "–", "soft")
            else:
                sheet.ask((row, column), cell, (_LEAST, None))
    return row + 2


def put_cost(sheet: WorkbookSheet, row: int, found: LiveSheet, machines: Sequence[str]) -> int:
    """Put a cost sheet: oven visits, chances, the steps, then when to ask again; give the next free row."""
    row = _put_visits(sheet, row, found)
    row = _put_chances(sheet, row, found.sheet)
    row = _put_steps(sheet, row, found.sheet, machines)
    return _put_doubts(sheet, row, found)


def _put_visits(sheet: WorkbookSheet, row: int, found: LiveSheet) -> int:
    units = found.sheet.shop.front.units
    degree = readable(shown(0.0, "degC", units).unit)
    heads = ["Oven visit, as worked out", f"metal, {degree}", "dwell, min", "bring-up, min", "parts, kWh/kg"]
    sheet.heads(row, [*heads, *[f"{term}, kWh" for term in KWH_TERMS], "holding, kW"])
    for (oven, metal_degC, dwell_min, *_), visit in found.visits.items():
        row += 1
        sheet.put(row, 0, f"{oven}, next to empty")
        sheet.row(row, [shown(metal_degC, "degC", units).value, dwell_min, visit.bring_up_min], "number", at=1)
        sheet.row(row, [visit.load_kwh_per_kg, *[visit.kwh[t] for t in KWH_TERMS], visit.hold_kw], "fine", at=4)
        row += 1
        sheet.put(
            row, 0, f"{oven}, what its heaviest load of {Words(found.sheet.shop).measure(visit.most_kg, 'kg')} adds"
        )
        sheet.put(row, 3, visit.more_min, "number")
        sheet.row(row, [visit.more_kwh[t] for t in KWH_TERMS], "fine", at=5)
    return row + 2


def _put_doubts(sheet: WorkbookSheet, row: int, found: LiveSheet) -> int:
    for oven, price in found.ovens.items():
        chosen = " (chosen)" if oven in found.sheet.work.oven else ""
        sheet.put(row, 0, f"{WHAT_OVENS_COST} in the {oven}{chosen}, {found.sheet.shop.currency}")
        parts = inside(price)
        uses = Counter(one.at for part in (*parts, price) for one in part.inputs if isinstance(one, Symbol))
        # what comes twice stands beside it, or the formula would be longer than a spreadsheet takes
        for column, part in enumerate((part for part in parts if uses[part.at] > 1 and not brief(part)), 2):
            sheet.put(row, column, part, "sub")
        sheet.put(row, 1, price, "number")
        row += 1
    for words, doubt in found.doubts.items():
        if isinstance(doubt, Symbol):
            sheet.put(row, 0, f"1 where {words}")
            sheet.put(row, 1, doubt, "whole")
            row += 1
    return row + 1


PRICES_ARE = "Prices are those of the price list as it was printed: after changing a rate, ask the program again."


def put_told(
    sheet: WorkbookSheet,
    margin: tuple[int, int],
    costs: Sequence[tuple[int, int]],
    at: tuple[int, int],
    found: LiveSheet,
    look: str = "low",
) -> None:
    """Put the text that shows up as soon as a cost is doubtful, or a margin under what is wanted.

    Parameters
    ----------
    margin : (int, int)
        Row and column of the margin, which turns red where it is low.
    costs : sequence of (int, int)
        Cells that turn red with it where they are doubtful.
    """
    low = f"{xl_rowcol_to_cell(*margin)}<target_margin-0.000001"
    doubts = [
        (text, doubt.place.seen_from(sheet.name)) for text, doubt in found.doubts.items() if isinstance(doubt, Symbol)
    ]
    words = f'IF({low},"{UNDER}","")'
    for text, place in reversed(doubts):
        words = f'IF({place}>0,"{text}",{words})'
    sheet.put(*at, CellCheck(words), look)
    told = xl_rowcol_to_cell(*at, row_abs=True, col_abs=True)
    sheet.flagged += [(*margin, f"={low}"), *((*cell, f'=ISNUMBER(SEARCH("ask again",{told}))') for cell in costs)]


def _put_chances(sheet: WorkbookSheet, row: int, cost: CostSheet) -> int:
    # the same sums as the cost sheet makes; the graph knows them again, so its formulas point here
    chance = reject_chance(cost.work, cost.finish, cost.book)
    rows = [
        ("chance that a part is rejected after cure", chance),
        ("parts done again per part", chance / (1.0 - chance)),
        ("chance that any part is", 1.0 - (1.0 - chance) ** cost.work.parts),
    ]
    if cost.finish.line == "wiped":
        spoiled = cost.book["spoil.wiped"]
        rows.append(("lines made again before cure, per part", spoiled / (1.0 - spoiled)))
    for text, value in rows:
        sheet.put(row, 0, text)
        sheet.put(row, 1, value, "fine")
        row += 1
    return row + 1


def _put_steps(sheet: WorkbookSheet, row: int, cost: CostSheet, machines: Sequence[str]) -> int:
    words = Words(cost.shop)
    code = cost.shop.currency
    heads = ["Step", f"total, {code}", *MONEY, "  known as", "attended, min", "owner, min", "helper, min", "oven loads"]
    heads += [f"{machine}, min" for machine in machines]
    heads += ["powder and media, kg", f"supplies, {code}", f"bought in, {code}", "electricity, kWh", "gas, kWh"]
    sheet.heads(row, heads, left=(0, 6))
    first = row + 1
    for line in cost.lines:
        row += 1
        several = len(line.uses) > 1
        own = row
        if several:
            for use in line.uses:
                row += 1
                sheet.put(
                    row,
                    0,
                    words.step_title(use.step, use.coat) if use.step not in LOOP_WORDS else LOOP_WORDS[use.step],
                    "subtext",
                )
                _put_amounts(sheet, row, _amounts(use, None, None, use.detail.get("loads"), machines), sub=True)
                sheet.levels[row] = 1
        sheet.put(own, 0, words.title(line))
        loads = None if several else line.uses[0].detail.get("loads")
        amounts = _amounts(line, line.owner_min, line.helper_min, loads, machines)
        _put_amounts(sheet, own, amounts, sub=False)
        sheet.put(own, 6, cost.kind(line), "known")
        sheet.row(own, [getattr(line, kind) for kind in MONEY], "money", at=2)
        sheet.put(own, 1, line.total, "money")
    row += 1
    sheet.put(row, 0, "Full cost", "bold")
    for column, kind in enumerate(MONEY, 2):
        figure: Any = getattr(cost, kind)
        cells = f"{xl_rowcol_to_cell(first, column)}:{xl_rowcol_to_cell(row - 1, column)}"
        sheet.put(row, column, Sum(f"SUM({cells})", figure), "total")
    sheet.put(row, 1, cost.total, "total")
    sheet.put(row, 7, cost.minutes, "total")
    for column, field in ((8, "owner_min"), (9, "helper_min")):
        sheet.put(row, column, sum((getattr(line, field) for line in cost.lines), 0.0), "total")
    return row + 2


def _amounts(one: Use | Line, owner_min: Any, helper_min: Any, loads: Any, machines: Sequence[str]) -> list[Any]:
    kg: Any = sum((material.kg for material in one.materials), 0.0)
    held = [one.machine_min.get(machine) for machine in machines]
    used = [kg, one.supplies, one.bought_in, one.electricity_kwh, one.gas_kwh]
    return [one.minutes, owner_min, helper_min, loads, *held, *used]


def _put_amounts(sheet: WorkbookSheet, row: int, amounts: Sequence[Any], *, sub: bool) -> None:
    for column, amount in enumerate(amounts, 7):
        if isinstance(amount, Symbol) or (amount is not None and not np.isclose(float(amount), 0.0)):
            sheet.put(row, column, amount, _LOOK[sub])
