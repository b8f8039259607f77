"""An outline's stretches, from corner to corner, and what an owner marks on them: edges not seen, corners dragged.

Takes    an outline of a drawing or a picture.
Gives    the same outline, its stretches walked one after the other, each seen or not.
Rules    a stretch begins where the outline turns sharply, and where a long straight side begins or ends.
         Length and area stay those of the curves: a curve that is cut is shared out by its chords.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from pricing.basis.facts import fact
from pricing.parts.curves import Curve, Points, turn_deg
from pricing.parts.outlines import Outline

Spot = tuple[float, float]
EdgeAt = tuple[int, int]


@dataclass(frozen=True, slots=True)
class StretchMarks:
    """What an owner marked on the outlines of a file.

    Parameters
    ----------
    unseen : frozenset of (int, int)
        Stretches that are neither sanded nor wiped: number of the outline, of the stretch from 0.
    corners : tuple of ((int, int), (float, float))
        Where stretches begin instead: the stretch, the place [mm].
    spots : tuple of (float, float)
        Nooks added [mm].
    """

    unseen: frozenset[EdgeAt] = frozenset()
    corners: tuple[tuple[EdgeAt, Spot], ...] = ()
    spots: tuple[Spot, ...] = ()


def stretches(outline: Outline) -> list[tuple[Curve, ...]]:
    """Cut an outline into its stretches, in walking order.

    One that stays open, or has fewer than two ends of stretches, is a single stretch.
    """
    if outline.runs:
        ends = np.cumsum(outline.runs).tolist()
        return [outline.curves[end - count : end] for end, count in zip(ends, outline.runs, strict=True)]
    begins = _begins(outline) if outline.closed else []
    if len(begins) < 2:
        return [outline.curves]
    pieces, first = [], 0
    for curve in outline.curves:
        last = first + len(curve.points) - 1
        cuts = [first, *(at for at in begins if first < at < last), last]
        pieces += [(a, _piece(curve, a - first, b - first)) for a, b in pairwise(cuts)]
        first = last
    start = next(k for k, (at, _) in enumerate(pieces) if at in begins)
    runs: list[list[Curve]] = []
    for at, piece in (*pieces[start:], *pieces[:start]):
        if at in begins:
            runs.append([])
        runs[-1].append(piece)
    return [tuple(run) for run in runs]


def _begins(outline: Outline) -> list[int]:
    """Work out the points where stretches begin."""
    points = outline.points[:-1]
    ways = np.roll(points, -1, axis=0) - points
    real = np.flatnonzero((ways != 0).any(axis=1))  # a point may be drawn twice
    if len(real) < 3:
        return []
    ways = ways[real]
    turn = turn_deg(np.roll(ways, 1, axis=0), ways)
    long = np.hypot(*ways.T) > fact("outline.long_side") * outline.length_mm
    ends = (long | np.roll(long, 1)) & (turn > fact("outline.bend", "degree"))
    return [int(k) for k in real[ends | (turn > fact("outline.corner", "degree"))]]


def _piece(curve: Curve, first: int, last: int) -> Curve:
    if first == 0 and last == len(curve.points) - 1:
        return curve
    steps = np.hypot(*np.diff(curve.points, axis=0).T)
    share = float(steps[first:last].sum() / steps.sum())
    length_mm, swell_mm2 = curve.length_mm * share, curve.swell_mm2 * share
    return replace(curve, points=curve.points[first : last + 1], length_mm=length_mm, swell_mm2=swell_mm2)


def marked(outline: Outline, marks: StretchMarks) -> Outline:
    """Return an outline as the marks of its file have it; the same one where nothing was marked."""
    hidden = {at for number, at in marks.unseen if number == outline.id}
    moved = {at: np.array(place) for (number, at), place in marks.corners if number == outline.id}
    if not hidden and not moved:
        return outline
    runs = [[replace(curve, seen=at not in hidden) for curve in run] for at, run in enumerate(stretches(outline))]
    for at, place in moved.items():
        if 0 <= at < len(runs) > 1:
            runs[at][0] = _led(runs[at][0], place, 0)
            runs[at - 1][-1] = _led(runs[at - 1][-1], place, -1)
    return replace(outline, curves=tuple(c for run in runs for c in run), runs=tuple(len(run) for run in runs))


def _led(curve: Curve, place: Points, end: int) -> Curve:
    """Lead a curve's first or last chord to another place."""
    points = curve.points.copy()
    points[end] = place
    beside = curve.points[1 if end == 0 else -2]
    longer = float(np.hypot(*(place - beside)) - np.hypot(*(curve.points[end] - beside)))
    return replace(curve, points=points, length_mm=curve.length_mm + longer)


def drawn(outline: Outline) -> Sequence[tuple[Points, bool]]:
    """Collect each stretch's points (n, 2) [mm], and whether it is seen."""
    return [
        (np.concatenate([run[0].points[:1], *(curve.points[1:] for curve in run)]), run[0].seen)
        for run in stretches(outline)
    ]
