"""Which outline lies in which: outer ones, their holes, and faults told with their place.

Takes    outlines in mm.
Gives    flat plates: an outer outline and its holes; an outline inside a hole is a plate of its own.
"""

import shlex
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import hypot, isclose, pi
from typing import Any

import numpy as np
import numpy.typing as npt

from pricing.basis.errors import Problem
from pricing.basis.facts import fact
from pricing.parts.bounds import Bounds
from pricing.parts.outlines import Outline

_Place = Callable[[float, float], str]
_BATCH, _BATCH_POINTS = 512, 50_000
_WHOLE = 32  # segments up to which an outline has one box in the search for crossings
_PIECE = 8  # segments that share a box in longer ones: boxes of curves that run side by side stay apart
_SHOWN = 5  # faults of one kind that are told


@dataclass(frozen=True, slots=True, eq=False)
class Plate:
    """A flat part: its outer outline, its holes, whether it lies in a hole of another one, and what lies in its own."""

    outer: Outline
    holes: tuple[Outline, ...]
    inside: bool = False
    within: tuple[Outline, ...] = ()

    @property
    def area_mm2(self) -> float:
        """One face [mm²]."""
        return self.outer.area_mm2 - sum(hole.area_mm2 for hole in self.holes)

    @property
    def length_mm(self) -> float:
        """Outline and holes [mm]."""
        return self.outer.length_mm + sum(hole.length_mm for hole in self.holes)


def diameter_mm(outline: Outline) -> float:
    """Work out the diameter of a round outline; 0 when it is not round [mm]."""
    round_share = 4 * pi * outline.area_mm2 / outline.length_mm**2
    return 2 * float(np.sqrt(outline.area_mm2 / pi)) if round_share >= fact("drawing.roundness") else 0.0


def faults(outlines: Sequence[Outline], bounds: Bounds, place: _Place) -> dict[int, Problem]:
    """Find outlines that cannot be measured: by number of the outline, the problem to tell.

    ``bounds`` are told of the work, ``place`` writes a point as the drawing has it.

    Raises
    ------
    BadInput
        It would take too much work.
    """
    import shapely  # heavy: only where a drawing is read

    found: dict[int, Problem] = {}
    whole = [outline for outline in outlines if outline.closed]
    for outline in outlines:
        if not outline.closed:
            (x0, y0), (x1, y1) = outline.points[0].tolist(), outline.points[-1].tolist()
            told, ends = f"open by {hypot(x1 - x0, y1 - y0):.3g} mm", f"It ends at {place(x0, y0)} and {place(x1, y1)}"
            found[outline.id] = _fault(outline, told, "closed", ends + _why_open(outline, whole))
        elif len(outline.points) < 4 or _spread_mm2(outline) < fact("drawing.least_area"):
            x, y = outline.points[0].tolist()
            told = f"without area, at {place(x, y)}"
            found[outline.id] = _fault(outline, told, "an outline with area", "Delete it, or leave it out")
    sound = [outline for outline in outlines if outline.id not in found]
    for batch in batches(sound):
        areas = polygons(batch)
        for i in np.flatnonzero(~shapely.is_valid(areas)).tolist():
            reason = shapely.is_valid_reason(areas[i])
            numbers = reason[reason.find("[") + 1 : -1].split()
            told = f"crossing itself at {place(float(numbers[0]), float(numbers[1]))}"
            mend = "Mend it in the drawing, or leave it out"
            found[batch[i].id] = _fault(batch[i], told, "free of crossings", mend)
    return found | _crossings([o for o in sound if o.id not in found], bounds, place)


def _why_open(outline: Outline, whole: Sequence[Outline]) -> str:
    """Say what an open outline probably is, and what to do."""
    import shapely  # heavy: only where a drawing is read

    cut = sorted({layer for other in whole for layer in other.layers})
    ends = outline.points[[0, -1]]
    if cut and np.hypot(*(ends[1] - ends[0])) > outline.length_mm / 2 and not outline.layers & set(cut):
        layers = " ".join(f"--layer {shlex.quote(layer)}" for layer in cut)
        return f". Nothing on its layer closes: if it is a centre or a bend, read {layers} only, or leave it out"
    near = fact("drawing.same_point", "millimeter")
    for other in whole:
        if shapely.dwithin(shapely.linestrings(other.points), shapely.points(ends), near).all():
            drawn = f". Both ends lie on outline {other.id}: where two parts share that line, draw it for each of them"
            return f"{drawn}; a centre or a bend is left out with all that is open: --closed; only it"
    return ": close it in the drawing, allow larger gaps (--gap), or leave out all that is open: --closed; only it"


def _spread_mm2(outline: Outline) -> float:
    """Work out an outline's area, or its hull's where its own is next to nothing: a crossed one cancels out."""
    import shapely  # heavy: only where a drawing is read

    if outline.area_mm2 >= fact("drawing.least_area"):
        return outline.area_mm2
    return float(shapely.convex_hull(shapely.multipoints(outline.points)).area)


def _fault(outline: Outline, told: str, accepts: str, mend: str) -> Problem:
    layer = min(outline.layers)
    return Problem(f"outline {outline.id} (layer {layer})", told, accepts, f"{mend}: --without {outline.id}.")


def batches(outlines: Sequence[Outline]) -> Iterator[Sequence[Outline]]:
    """Cut outlines into runs of so many points that little memory is taken at once."""
    start = points = 0
    for k, outline in enumerate(outlines):
        points += len(outline.points)
        if points > _BATCH_POINTS or k - start >= _BATCH:
            yield outlines[start : k + 1]
            start, points = k + 1, 0
    if start < len(outlines):
        yield outlines[start:]


def polygons(outlines: Iterable[Outline]) -> "npt.NDArray[Any]":
    """Make a polygon of each closed outline."""
    import shapely  # heavy: only where a drawing is read

    points = [outline.points for outline in outlines]
    if not points:
        return np.array([], dtype=object)
    index = np.repeat(np.arange(len(points)), [len(p) for p in points])
    return np.asarray(shapely.polygons(shapely.linearrings(np.concatenate(points), indices=index)))


def _crossings(outlines: list[Outline], bounds: Bounds, place: _Place) -> dict[int, Problem]:
    """Find outlines that cross another one; they may touch, or lie inside."""
    import shapely  # heavy: only where a drawing is read

    owners, pieces = [], []
    for k, outline in enumerate(outlines):
        segments = len(outline.points) - 1
        step = segments if segments <= _WHOLE else _PIECE
        for start in range(0, segments, step):
            owners.append(k)
            pieces.append(outline.points[start : start + step + 1])
    if len(outlines) < 2:
        return {}
    index = np.repeat(np.arange(len(pieces)), [len(p) for p in pieces])
    strings = shapely.linestrings(np.concatenate(pieces), indices=index)
    owner = np.array(owners)
    tree = shapely.STRtree(strings)
    found: dict[int, Problem] = {}
    for start in range(0, len(strings), _BATCH):
        ours, theirs = tree.query(strings[start : start + _BATCH], predicate="intersects")
        bounds.work(len(ours))
        pairs = np.column_stack((owner[ours + start], owner[theirs]))
        for i, j in np.unique(pairs[pairs[:, 0] < pairs[:, 1]], axis=0).tolist():
            one, other = outlines[i], outlines[j]
            bounds.work(len(one.points) + len(other.points))
            point = _crossing(one, other)
            if point:
                told = f"crossing outline {one.id} at {place(*point)}"
                mend = f"Mend it in the drawing, or leave one out: --without {one.id}, or"
                found[other.id] = _fault(other, told, "free of crossings", mend)
            if len(found) >= _SHOWN:
                return found
    return found


def _crossing(one: Outline, other: Outline) -> tuple[float, float] | None:
    import shapely  # heavy: only where a drawing is read

    first, second = polygons([one, other])
    shared = shapely.intersection(first, second)
    inside = min(one.area_mm2, other.area_mm2)
    slack = fact("drawing.flatten", "millimeter") * min(one.length_mm, other.length_mm)
    if shared.area <= slack or shared.area >= inside - slack:
        return None  # they touch, or one lies inside the other, up to the flattening of their curves
    meets = shapely.get_coordinates(shapely.intersection(first.exterior, second.exterior))
    return (float(meets[0, 0]), float(meets[0, 1]))


def nest(outlines: Sequence[Outline], bounds: Bounds) -> list[Plate]:
    """Sort outlines, closed and free of faults, into plates with holes, the largest outer outline first.

    Raises
    ------
    BadInput
        It would take too much work.
    """
    import shapely  # heavy: only where a drawing is read

    if not outlines:
        return []
    ranked = sorted(outlines, key=lambda outline: (-outline.area_mm2, outline.id))
    areas = polygons(ranked)
    tree = shapely.STRtree(shapely.point_on_surface(areas))
    depth = np.zeros(len(ranked), dtype=np.int64)
    parent = np.full(len(ranked), -1)
    start = 0
    for batch in batches(ranked):
        around, inside = tree.query(areas[start : start + len(batch)], predicate="contains")
        bounds.work(len(around))
        around = around + start
        start += len(batch)
        real = around < inside  # a smaller outline may hold the inner point of a larger one
        np.add.at(depth, inside[real], 1)
        np.maximum.at(parent, inside[real], around[real])  # the smallest of those around it
    holes: dict[int, list[Outline]] = {}
    within: dict[int, list[Outline]] = {}
    for k in np.flatnonzero(depth).tolist():
        plate, known = (int(parent[k]), holes) if depth[k] % 2 else (int(parent[parent[k]]), within)
        known.setdefault(plate, []).append(ranked[k])
    outer = np.flatnonzero(depth % 2 == 0).tolist()
    return [Plate(ranked[k], tuple(holes.get(k, ())), bool(depth[k]), tuple(within.get(k, ()))) for k in outer]


def sheet_edges(plates: Sequence[Plate]) -> list[int]:
    """Find outlines that are only the edge of a sheet, by number: a rectangle round several parts with drilled holes.

    A rectangle round windows without anything in them is a part itself.
    """
    empty = {plate.outer.id for plate in plates if not plate.holes}
    return [
        plate.outer.id
        for plate in plates
        if not plate.inside
        and len(plate.holes) > 1
        and plate.within
        and all(inner.id in empty and diameter_mm(inner) for inner in plate.within)
        and _is_rectangle(plate.outer)
    ]


def _is_rectangle(outline: Outline) -> bool:
    import shapely  # heavy: only where a drawing is read

    box = shapely.minimum_rotated_rectangle(shapely.multipoints(outline.points))
    return isclose(float(box.area), outline.area_mm2, rel_tol=1e-6)
