"""A job whose amounts stand in the cells of a workbook, costed by the very functions of the quote.

Room     papers. Imports basis, parts, steps, costing, papers.
"""

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import fields, replace
from typing import Any, NamedTuple

import numpy as np

from pricing.basis.units import shown
from pricing.costing.sheet import CostSheet, cost_of_work
from pricing.papers.formulas import Formula, Input, Pool
from pricing.papers.live_shop import LiveShop
from pricing.parts.job import Job, Lot
from pricing.parts.part import Part
from pricing.parts.work import Given, Work, work_of_job
from pricing.steps.oven_visit import Visit

_FIELD = {"area": "area_m2", "mass": "mass_kg", "edge": "edge_m", "line": "line_m", "spots": "spots", "plugs": "plugs"}
_UNITS = {"area": "m**2", "mass": "kg", "edge": "m", "line": "m", "spots": "", "plugs": ""}
_BASE = (
    ("edge_m$", "edge"), ("line_m$", "line"), ("m2$", "area"), ("kg$", "mass"), ("^spots$", "spots"),
    ("^plugs$", "plugs"),
)  # fmt: skip
_ONCE = {"jobs", "panels", "whole", "cast_whole", "hot", "oven", "alone", "again", "given", "asked", "own"}
_SLACK = 1e-9  # full loads are not rounded up by the last bit of a division

MEASURES = ("pieces", *_FIELD)
"""What of a part can be changed in the workbook."""


class PartCells(NamedTuple):
    """A part with its measures in cells, in the shop's units; a measure it does not have is None.

    ``model`` holds the same in the units of the model.
    """

    part: Part
    cells: Mapping[str, Formula | None]
    units: Mapping[str, str]
    model: Mapping[str, Any]


class LiveSheet(NamedTuple):
    """A cost sheet of formulas, and the oven visits it takes as they were worked out."""

    sheet: CostSheet
    visits: Mapping[tuple[Any, ...], Visit]


def part_cells(live: LiveShop, part: Part, pieces: float) -> PartCells:
    """Put a part's measures into cells.

    Parameters
    ----------
    live : LiveShop
        Where they are recomputed.
    part : Part
        One piece.
    pieces : float
        How many there are.
    """
    count = live.pool.number(pieces)
    cells: dict[str, Formula | None] = {"pieces": count}
    units: dict[str, str] = {"pieces": ""}
    model: dict[str, Input] = {"pieces": count}
    for name, field in _FIELD.items():
        value, unit = float(getattr(part, field)), _UNITS[name]
        units[name] = ""
        if unit:
            value, units[name] = shown(value, unit, live.plain.front.units)
        cells[name] = cell = live.pool.number(value) if value else None
        model[name] = 0.0 if cell is None else cell * (live.factor(unit) if unit else 1.0)
    return PartCells(part, cells, units, model)


def live_sheet(
    live: LiveShop, job: Job, parts: Sequence[PartCells], finish: str, *, times: float = 1.0
) -> LiveSheet:  # fmt: skip
    """Cost a job on cells.

    Parameters
    ----------
    live : LiveShop
        With its book.
    job : Job
        As it would be costed.
    parts : sequence of PartCells
        One for each lot of the job.
    finish : str
        Key of the finish.
    times : float
        How many times the pieces of the cells are in the job.

    Raises
    ------
    BadInput
        As `cost_of_work`.
    """
    live.pool.afresh()
    shop = live.plain
    recipe = shop.finish(finish, job.title)
    powders = [shop.powder(name, job.title) for name in job.powders]
    plain = work_of_job(job, shop)
    # this chooses the oven and works out its visits, which the formulas take as they are
    found = cost_of_work(shop, plain, recipe, powders, title=job.title)
    taken = {key: visit for line in found.lines for use in line.uses for key, visit in use.visits}
    visits = {key: _visit(live.pool, visit) for key, visit in taken.items()}
    work = replace(_work(live, job, parts, times), given=Given(found.work.oven, visits))
    sheet = cost_of_work(shop, work, recipe, powders, title=job.title, book=live.book)  # type: ignore[arg-type]  # symbols
    return LiveSheet(replace(sheet, shop=live.live), visits)


def _visit(pool: Pool, visit: Visit) -> Visit:
    def cell(value: Any) -> Any:
        return pool.number(float(value))

    return replace(
        visit, bring_up_min=cell(visit.bring_up_min), more_min=cell(visit.more_min),
        load_kwh_per_kg=cell(visit.load_kwh_per_kg), hold_kw=cell(visit.hold_kw),
        kwh=(kwh := {name: cell(kwh) for name, kwh in visit.kwh.items()}), kwh_in_all=sum(kwh.values(), 0.0),
        more_kwh=(more := {name: cell(kwh) for name, kwh in visit.more_kwh.items()}),
        more_in_all=sum(more.values(), 0.0),
    )  # fmt: skip


def _work(live: LiveShop, job: Job, parts: Sequence[PartCells], times: float) -> Work:
    """Amounts as formulas: pieces x measure x what one piece of the model has for one of the measure."""
    total: dict[str, Any] = {}
    for lot, cells in zip(job.lots, parts, strict=True):
        one = work_of_job(job.model_copy(update={"lots": (Lot(part=lot.part, quantity=1),)}), live.plain)
        count = cells.model["pieces"] * times
        for name in (field.name for field in fields(Work) if field.name not in _ONCE):
            value = getattr(one, name)
            if isinstance(value, dict):
                sums = total.setdefault(name, {})
                for key, amount in value.items():
                    sums[key] = sums.get(key, 0.0) + _amount(name, amount, count, cells)
            else:
                total[name] = total.get(name, 0.0) + _amount(name, value, count, cells)
    if len(job.lots) == 1:  # several kinds were packed together when the file was written
        for name, filled in (("whole", total["fill"]), ("cast_whole", total["cast_fill"])):
            total[name] = {oven: _whole_loads(full) for oven, full in filled.items()}
    return replace(work_of_job(job, live.plain), **total)


def _whole_loads(full: Any) -> Any:
    """Loads that so many full ones need; a part that does not fit the oven, or is no casting, needs none."""
    if isinstance(full, float):
        return math.ceil(full - _SLACK) if full > 0 else 0.0
    return np.ceil(full - _SLACK)


def _amount(name: str, amount: float, count: Input, cells: PartCells) -> Any:
    if not amount or amount != amount:  # noqa: PLR0124  NaN: the part does not fit this oven
        return amount
    base = next((measure for end, measure in _BASE if re.search(end, name)), None)
    if base is None:
        return count * amount
    whole = float(getattr(cells.part, _FIELD[base]))
    return count * cells.model[base] * (amount / whole)
