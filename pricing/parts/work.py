"""The amounts that drive the cost of a job, as floats for one job or arrays for a whole list.

Takes    a job's lots, or items and quantities.
Gives    totals by driver: pieces, m², edge and line metres, kilograms by metal, oven loads filled.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from functools import reduce
from typing import Any

import numpy as np
import numpy.typing as npt

from pricing.basis.checks import Floats
from pricing.basis.errors import BadInput, Problem
from pricing.parts.items import Item
from pricing.parts.job import Job
from pricing.parts.loads import parts_per_load, whole_loads
from pricing.parts.part import Part
from pricing.shop.policy import Policy
from pricing.shop.shop import Shop

_SLACK = 1e-9  # full loads are not rounded up by the last bit of a division
EDGES = ("sound", "cut", "rough")


@dataclass(frozen=True, slots=True)
class Hot:
    """The parts as the oven sees them: every kind once, however many pieces or rows there are.

    ``pieces`` are how many of each a job has; for a list, how many a unit sold has. ``rows``, (n,), tell for a list
    which kind each row is; a job has none, for its slowest kind decides.
    """

    parts: tuple[Part, ...]
    pieces: tuple[float, ...]
    rows: npt.NDArray[np.int64] | None

    def spread(self, values: npt.NDArray[np.float64]) -> Floats:
        """Work out one value a row of the list, or the job's largest."""
        return float(values.max()) if self.rows is None else values[self.rows]

    def mean_by_mass(self, values: npt.NDArray[np.float64], counts: npt.NDArray[np.float64]) -> Floats:
        """Find one value a row of the list, or the job's mean over the kinds that count: for what a kilogram takes."""
        if self.rows is not None:
            return (values * counts)[self.rows]
        weights = counts * np.array([n * part.mass_kg for n, part in zip(self.pieces, self.parts, strict=True)])
        whole = float(weights.sum())
        return float((values * weights).sum()) / whole if whole else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """Amounts of one job (floats) or of many jobs at once (arrays of shape (n,)).

    ``fill`` says, by oven, how many full loads the parts make, ``whole`` how many loads they need when
    nothing else shares them; ``oven`` marks with 1 the oven that is
    used. ``cast_m2``, ``cast_kg``, ``cast_fill`` and ``cast_whole`` are of all that is baked out, castings and other.
    ``again`` is 1 for the work as ordered, and the chance that it is done at all for rework.
    ``asked`` is 0 where no enquiry was needed, as with the trade, ``own`` names the powders that the customer brings.
    Where rejects do not fare alike in all kinds of a job, ``fates`` are the kinds sorted by that, and ``lots`` the
    places of their lots in the job.
    """

    jobs: Floats
    panels: Floats
    parts: Floats
    kg: Floats
    m2: Floats
    second_m2: Floats
    line_m: Floats
    spots: Floats
    plugs: Floats
    apart: Floats
    blast_m2: Floats
    blast_parts: Floats
    scale_m2: Floats
    scars: Floats
    repair_m: Floats
    repaired: Floats
    edged_parts: Floats
    edge_m: Mapping[str, Floats]
    strip_paint_m2: Mapping[str, Floats]
    strip_powder_m2: Mapping[str, Floats]
    strip_kg: Mapping[str, Floats]
    strip_parts: Mapping[str, Floats]
    redo_m2: Mapping[str, Floats]
    redo_kg: Mapping[str, Floats]
    redo_parts: Mapping[str, Floats]
    cast_parts: Floats
    baked_parts: Floats
    cast_m2: Floats
    cast_kg: Floats
    hot: Hot
    fill: Mapping[str, Floats]
    cast_fill: Mapping[str, Floats]
    whole: Mapping[str, Floats]
    cast_whole: Mapping[str, Floats]
    oven: Mapping[str, Floats]
    alone: bool = False
    again: Floats = 1.0
    asked: float = 1.0
    own: frozenset[str] = frozenset()
    fates: tuple["Work", ...] = ()
    lots: tuple[int, ...] = ()

    def times(self, share: Floats, *, again: Floats, jobs: Floats = 0.0) -> "Work":
        """Return the same work for a share of the parts (done again over ordered), without what is done once a job.

        ``again`` is the chance that it is done at all, ``jobs`` the set-ups that come with it.
        """
        changed: dict[str, Any] = {"jobs": jobs, "panels": 0.0, "again": again, "fates": ()}
        for name in _SCALED:
            value = getattr(self, name)
            changed[name] = {k: v * share for k, v in value.items()} if isinstance(value, dict) else value * share
        return replace(self, **changed)

    def with_parts(self, others: Sequence["Work"]) -> "Work":
        """Return the same work with the parts of others in place of its own."""
        own = ({name: getattr(other, name) for name in _SCALED} for other in others)
        return replace(self, fates=(), **reduce(_add, own))

    def in_oven(self, marks: Mapping[str, Floats]) -> "Work":
        """Return the same work with its oven chosen."""
        return replace(self, oven=marks)

    def stripped_again(self) -> "Work":
        """Return the work of a reject: every part carries cured powder and is stripped first."""
        return replace(
            self,
            strip_powder_m2=self.redo_m2,
            strip_kg=self.redo_kg,
            strip_parts=self.redo_parts,
            strip_paint_m2={},
            scale_m2=0.0,
            scars=0.0,
            repair_m=0.0,
            repaired=0.0,
            blast_m2=self.m2,
            blast_parts=self.parts,
        )


NOT_SCALED = {"jobs", "panels", "whole", "cast_whole", "hot", "oven", "alone", "again", "asked", "own", "fates", "lots"}
"""What of a work does not grow with its parts."""
_SCALED = tuple(f.name for f in fields(Work) if f.name not in NOT_SCALED)


def strip_way(part: Part, policy: Policy) -> str:
    """How a part's coating comes off: the part's own way, else the shop's for its metal."""
    return part.strip_by or (policy.strip_aluminium_by if part.material == "aluminium" else policy.strip_by)


def _one(part: Part, n: Floats, shop: Shop, **other: Floats) -> dict[str, Any]:
    """Amounts of n pieces of one part; ``other`` are amounts of a piece in place of the part's own."""
    each = dict(part) | other
    m2, kg, cast, blast = n * each["area_m2"], n * each["mass_kg"], float(part.baked), float(part.blasted)
    way = strip_way(part, shop.policy)
    old = part.old_coating
    fill = {oven.name: n / (parts_per_load(part, oven) or np.nan) for oven in shop.machines.oven}
    return {
        "parts": n,
        "kg": kg,
        "m2": m2,
        "second_m2": m2 * part.second_share,
        "line_m": n * each["line_m"],
        "spots": n * each["spots"],
        "plugs": n * each["plugs"],
        "apart": n * float(part.apart),
        "blast_m2": m2 * blast,
        "blast_parts": n * blast,
        "scale_m2": m2 * (part.surface == "scale"),
        "scars": n * each["scars"],
        "repair_m": n * each["repair_m"],
        "repaired": n * float(part.scars > 0 or part.repair_m > 0),
        "edge_m": {part.edge_quality: n * each["edge_m"]},
        "edged_parts": n * float(part.edge_m > 0),
        "strip_paint_m2": {way: m2} if old == "paint" else {},
        "strip_powder_m2": {way: m2} if old in {"powder", "plating"} else {},
        "strip_kg": {way: kg} if old != "none" else {},
        "strip_parts": {way: n} if old != "none" else {},
        "redo_m2": {way: m2},
        "redo_kg": {way: kg},
        "redo_parts": {way: n},
        "cast_parts": n * float(part.casting),
        "baked_parts": n * cast,
        "cast_m2": m2 * cast,
        "cast_kg": kg * cast,
        "fill": fill,
        "cast_fill": {name: full * cast for name, full in fill.items()},
    }


def work_of_job(job: Job, shop: Shop) -> Work:
    """Add up a job's lots, for the shop's ovens and its ways to strip.

    Raises
    ------
    BadInput
        A part is larger than every oven; each such part is named.
    """
    ones = [_one(lot.part, float(lot.pieces), shop) for lot in job.lots]
    _check_size([lot.part for lot in job.lots], ones, shop, job.title)
    total = reduce(_add, ones)
    panels = float(job.new_pair)
    fits = [name for name, full in total["fill"].items() if not np.isnan(full)]
    if not fits:
        accepts = "parts that one oven takes together"
        raise BadInput(job.title, [Problem("parts", "no oven takes them all", accepts, "Split the job in two.")])
    for name, castings in (("whole", False), ("cast_whole", True)):
        total[name] = {oven.name: whole_loads(job, oven, castings=castings) for oven in shop.machines.oven}
    sorts: dict[tuple[object, ...], list[int]] = {}
    for at, lot in enumerate(job.lots):
        sorts.setdefault(_fate(lot.part), []).append(at)
    whole = Work(
        jobs=1.0,
        panels=panels,
        hot=_hot(job, range(len(job.lots))),
        oven={fits[0]: 1.0},
        alone=job.alone,
        asked=0.0 if job.repeat or job.trade else 1.0,
        own=frozenset(job.own_powders),
        **total,
    )
    if len(sorts) == 1:
        return whole
    fates = [
        replace(whole, hot=_hot(job, lots), lots=tuple(lots), **reduce(_add, [ones[at] for at in lots]))
        for lots in sorts.values()
    ]
    return replace(whole, fates=tuple(fates))


def _fate(part: Part) -> tuple[object, ...]:
    """What decides how often a part is rejected, and how often it may be done again."""
    return part.casting, part.guarded and (part.earlier_visits, part.baked)


def _hot(job: Job, lots: Iterable[int]) -> Hot:
    its = [job.lots[at] for at in lots]
    return Hot(tuple(lot.part for lot in its), tuple(float(lot.pieces) for lot in its), None)


def work_at(likely: Work, job: Job, shop: Shop, amounts: Mapping[tuple[int, str], Floats]) -> Work:
    """Return a job's work with other amounts than the ``likely`` ones of `work_of_job`: numbers, draws or symbols.

    They stand by the place of a lot, from 0, and the field of its part, or ``quantity``. Which kinds there are, and how
    they heat up, stays as it is; so does how several kinds hang together: their whole loads follow what they fill.
    """
    ones = []
    for at, lot in enumerate(job.lots):
        other = {field: value for (place, field), value in amounts.items() if place == at}
        pieces = other.pop("quantity", float(lot.quantity)) * float(lot.per_unit)
        ones.append(_one(lot.part, pieces, shop, **other))
    total = reduce(_add, ones)
    for name, filled in (("whole", "fill"), ("cast_whole", "cast_fill")):
        was, now = getattr(likely, filled), total[filled]
        if any(field == "quantity" for _, field in amounts):
            total[name] = {
                oven: np.ceil(now[oven] * (loads / was[oven] if len(job.lots) > 1 else 1.0) - _SLACK) if loads else 0.0
                for oven, loads in getattr(likely, name).items()
            }
    fates = tuple(replace(sort, **reduce(_add, [ones[at] for at in sort.lots])) for sort in likely.fates)
    return replace(likely, fates=fates, **total)


def work_of_rows(items: Sequence[Item], quantities: npt.NDArray[np.float64], shop: Shop) -> Work:
    """Lay the rows of a price list side by side as arrays, for the shop's ovens and its ways to strip.

    Parameters
    ----------
    items : sequence of Item, length n
        One per row; the same item may come many times.
    quantities : (n,) array
        How many are sold of each, in units of its ``sold_by``.

    Raises
    ------
    BadInput
        A part is larger than every oven; each such part is named.
    """
    kinds = list({id(item): item for item in items}.values())
    place = {id(item): at for at, item in enumerate(kinds)}
    rows = np.array([place[id(item)] for item in items])
    ones = [_one(item.part, float(item.pieces), shop) for item in kinds]
    _check_size([item.part for item in kinds], ones, shop, "items.csv")
    columns: dict[str, Any] = {}
    for name, first in ones[0].items():
        if isinstance(first, dict):
            keys = sorted({key for one in ones for key in one[name]})
            spread = {key: np.array([one[name].get(key, 0.0) for one in ones])[rows] for key in keys}
            columns[name] = {key: values * quantities for key, values in spread.items()}
        else:
            columns[name] = np.array([one[name] for one in ones], dtype=np.float64)[rows] * quantities
    for name, filled in (("whole", columns["fill"]), ("cast_whole", columns["cast_fill"])):
        columns[name] = {oven: np.where(full > 0, np.ceil(full - _SLACK), 0.0) for oven, full in filled.items()}
    still = np.ones(len(rows))
    hot = Hot(tuple(item.part for item in kinds), tuple(float(item.pieces) for item in kinds), rows)
    asked = 0.0 if shop.for_trade else 1.0
    return Work(jobs=still, panels=0.0, hot=hot, oven={shop.machines.oven[0].name: still}, asked=asked, **columns)


def _add(one: dict[str, Any], other: dict[str, Any]) -> dict[str, Any]:
    total: dict[str, Any] = {}
    for name, value in one.items():
        more = other[name]
        if isinstance(value, dict):
            total[name] = {key: value.get(key, 0.0) + more.get(key, 0.0) for key in {**value, **more}}
        else:
            total[name] = value + more
    return total


def _check_size(parts: Sequence[Part], ones: Sequence[dict[str, Any]], shop: Shop, where: str) -> None:
    large = [p for p, one in zip(parts, ones, strict=True) if all(np.isnan(full) for full in one["fill"].values())]
    if large:
        raise BadInput(where, [_too_large(part, shop) for part in large])


def _too_large(part: Part, shop: Shop) -> Problem:
    size = f"{part.width_mm:.0f} x {part.height_mm:.0f} x {part.depth_mm:.0f} mm, {part.mass_kg:.1f} kg"
    ovens = "; ".join(
        f"{o.name} takes {o.inside_width_mm:.0f} x {o.inside_height_mm:.0f} x {o.inside_depth_mm:.0f} mm, "
        f"{o.most_load_kg:.0f} kg"
        for o in shop.machines.oven
    )
    return Problem(part.name, size, f"small enough for an oven ({ovens})", "Turn it, split it, or send it out.")
