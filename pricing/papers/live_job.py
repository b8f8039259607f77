"""A job whose amounts stand in the cells of a workbook, costed by the very functions of the quote."""

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields, replace
from typing import Any, NamedTuple

import numpy as np

from pricing.basis.units import shown
from pricing.costing.graph import Symbol, Value
from pricing.costing.oven_choice import oven_prices
from pricing.costing.sheet import CostSheet, cost_of_work
from pricing.papers.live_shop import LiveShop, Noted
from pricing.parts.job import Job, Lot
from pricing.parts.part import Part
from pricing.parts.work import NOT_SCALED, Work, work_of_job
from pricing.steps.oven_visit import VisitAsked

_FIELD = {"area": "area_m2", "mass": "mass_kg", "edge": "edge_m", "line": "line_m", "spots": "spots", "plugs": "plugs"}
_UNITS = {"area": "m**2", "mass": "kg", "edge": "m", "line": "m", "spots": "", "plugs": ""}
_BASE = (
    ("edge_m$", "edge"),
    ("line_m$", "line"),
    ("m2$", "area"),
    ("kg$", "mass"),
    ("^spots$", "spots"),
    ("^plugs$", "plugs"),
)
_SLACK = 1e-9  # full loads are not rounded up by the last bit of a division

PART_MEASURES = ("pieces", *_FIELD)
"""What of a part can be changed in the workbook."""


class PartCells(NamedTuple):
    """A part with its measures in cells, in the shop's units; a measure it does not have is None.

    ``model`` holds the same in the units of the model.
    """

    part: Part
    cells: Mapping[str, Symbol | None]
    units: Mapping[str, str]
    model: Mapping[str, Any]


class LiveSheet(NamedTuple):
    """A cost sheet of formulas, the oven visits as they were worked out, and when it must be made anew.

    ``ovens`` holds, for each oven that takes the parts, what its choice goes by; ``doubts``, by their words, what is 1
    as soon as a change of the cells made the sheet doubtful.
    """

    sheet: CostSheet
    visits: Mapping[tuple[Any, ...], VisitAsked]
    ovens: Mapping[str, Symbol]
    doubts: Mapping[str, Value]


OTHER_OVEN = "another oven would be cheaper: ask again"
OTHER_HEAT = "the oven's heat is that of other numbers: ask again"


def part_cells(live: LiveShop, part: Part, pieces: float) -> PartCells:
    """Put a part's measures into cells."""
    count = live.graph.number(pieces)
    cells: dict[str, Symbol | None] = {"pieces": count}
    units: dict[str, str] = {"pieces": ""}
    model: dict[str, Value] = {"pieces": count}
    for name, field in _FIELD.items():
        value, unit = float(getattr(part, field)), _UNITS[name]
        units[name] = ""
        if unit:
            value, units[name] = shown(value, unit, live.plain.front.units)
        cells[name] = cell = live.graph.number(value) if value else None
        model[name] = 0.0 if cell is None else cell * (live.factor(unit) if unit else 1.0)
    return PartCells(part, cells, units, model)


def live_sheet(live: LiveShop, job: Job, parts: Sequence[PartCells], finish: str, *, times: float = 1.0) -> LiveSheet:
    """Cost a job on cells.

    Parameters
    ----------
    parts : sequence of PartCells
        One for each lot of the job.
    times : float
        How many times the pieces of the cells are in the job.

    Raises
    ------
    BadInput
        As `cost_of_work`.
    """
    live.graph.afresh()
    shop = live.plain
    recipe = shop.finish(finish, job.title)
    powders = [shop.powder(name, job.title) for name in job.powders]
    oven = cost_of_work(shop, work_of_job(job, shop), recipe, powders, title=job.title).work.oven
    means, seen = Noted(shop.book), replace(shop)
    vars(seen)["book"] = means  # what is read there was decided before, and no cell of the book moves it
    book, work = _SheetBook(live), _work(live, job, parts, times).in_oven(oven)
    ovens = oven_prices(work, seen, recipe, powders, book)  # type: ignore[arg-type]  # symbols
    sheet = cost_of_work(seen, work, recipe, powders, title=job.title, book=book, in_oven=True)  # type: ignore[arg-type]
    live.deaf.update(means.read - book.read)
    taken: dict[str, Any] = {name: price for name, price in ovens.items() if isinstance(price, Symbol)}
    others = [name for name in taken if name not in oven]
    frozen: list[Any] = [book[key] for key in sorted(means.read & book.read)]
    frozen += [cells.cells[name] for cells in parts for name in ("area", "mass")]
    if job.alone or len(parts) > 1:  # how many there are was packed, and heated together
        frozen += [cells.cells["pieces"] for cells in parts]
    doubts = {
        OTHER_OVEN: _any(taken[name] < taken[own] - _SLACK for own in oven for name in others),
        OTHER_HEAT: _any(abs(cell - cell.value) > _SLACK * cell.value for cell in frozen if isinstance(cell, Symbol)),
    }
    return LiveSheet(replace(sheet, shop=live.live), book.visits, taken, doubts)


class _SheetBook(Noted):
    """The book of one sheet: it puts the figures of oven visits into cells, each visit once."""

    def __init__(self, live: LiveShop) -> None:
        super().__init__(live.book)
        self._graph, self.visits = live.graph, dict[tuple[Any, ...], VisitAsked]()

    def lift(self, key: tuple[Any, ...], visit: VisitAsked) -> VisitAsked:
        """Return a visit on cells."""
        if key not in self.visits:
            self.visits[key] = visit.shown_as(lambda figure, _: self._graph.number(figure))
        return self.visits[key]


def _any(conditions: Iterable[Any]) -> Any:
    """Return 1 where any condition holds."""
    found: Any = 0.0
    for condition in conditions:
        holds = np.where(condition, 1.0, 0.0)
        found = np.maximum(found, holds) if isinstance(found, Symbol) else holds
    return found


def _work(live: LiveShop, job: Job, parts: Sequence[PartCells], times: float) -> Work:
    """Amounts as formulas: pieces x measure x what one piece of the model has for one of the measure."""
    total: dict[str, Any] = {}
    for lot, cells in zip(job.lots, parts, strict=True):
        one = work_of_job(job.model_copy(update={"lots": (Lot(part=lot.part, quantity=1),)}), live.plain)
        count = cells.model["pieces"] * times
        for name in (field.name for field in fields(Work) if field.name not in NOT_SCALED):
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
    asked = work_of_job(job, live.plain)
    fates = []
    for sort in asked.fates:
        its = job.model_copy(update={"lots": tuple(job.lots[at] for at in sort.lots)})
        fates.append(replace(_work(live, its, [parts[at] for at in sort.lots], times), hot=sort.hot, lots=sort.lots))
    return replace(asked, fates=tuple(fates), **total)


def _whole_loads(full: Any) -> Any:
    """Loads that so many full ones need; a part that does not fit the oven, or is no casting, needs none."""
    if isinstance(full, float):
        return math.ceil(full - _SLACK) if full > 0 else 0.0
    return np.ceil(full - _SLACK)


def _amount(name: str, amount: float, count: Value, cells: PartCells) -> Any:
    if not amount or amount != amount:  # noqa: PLR0124  NaN: the part does not fit this oven
        return amount
    base = next((measure for end, measure in _BASE if re.search(end, name)), None)
    if base is None:
        return count * amount
    whole = float(getattr(cells.part, _FIELD[base]))
    return count * cells.model[base] * (amount / whole)
