"""From loose curves to outlines: ends that meet are joined, small gaps closed and told.

Takes    curves in mm, in the order of the file.
Gives    outlines with a number that stays the same while single outlines are switched off.
Rules    ends closer than a hair are one point. What stays open is closed where two open ends lie
         within the gap tolerance, nearest first. Where outlines touch in a point they are kept apart.
         A line drawn twice counts once. Parts that share a line, cut once for both, have it each.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from pricing.basis.errors import BadInput, Problem
from pricing.parts.curves import Curve, Points, area_mm2, line
from pricing.parts.planar_graph import Chain, Net, around_places, around_shared, chain_of, labels_of


@dataclass(frozen=True, eq=False)
class Outline:
    """A closed outline, or a chain of curves that stays open.

    Parameters
    ----------
    id : int
        Its number in this drawing, from 1.
    curves : tuple of Curve
        In walking order.
    closed : bool
        Whether the last ends where the first begins.
    gaps_mm : tuple of float
        Gaps that were closed in it [mm].
    runs : tuple of int
        How many curves each of its stretches has, where they were marked.
    """

    id: int
    curves: tuple[Curve, ...]
    closed: bool
    gaps_mm: tuple[float, ...] = ()
    runs: tuple[int, ...] = ()

    @cached_property
    def points(self) -> Points:
        """Corners and points on curves, (n, 2) [mm]; a closed outline ends where it begins."""
        if self.closed and len(self.curves) == 1 and (self.curves[0].points[0] == self.curves[0].points[-1]).all():
            return self.curves[0].points
        ends = [self.curves[0].points[:1]] if self.closed else [self.curves[-1].points[-1:]]
        return np.concatenate([*(curve.points[:-1] for curve in self.curves), *ends])

    @cached_property
    def area_mm2(self) -> float:
        """Area inside, 0 when open [mm²]."""
        return abs(area_mm2(self.curves)) if self.closed else 0.0

    @cached_property
    def length_mm(self) -> float:
        """Length of its curves [mm]."""
        return sum(curve.length_mm for curve in self.curves)

    @cached_property
    def layers(self) -> frozenset[str]:
        """Layers it is drawn on."""
        return frozenset(curve.layer for curve in self.curves)


@dataclass(frozen=True, slots=True)
class Joined:
    """Outlines of a drawing, and what had to be done to get them; how many lines two outlines share."""

    outlines: tuple[Outline, ...]
    twice: int = 0
    points_dropped: int = 0
    shared: int = 0


def join(
    curves: Sequence[Curve], *, same_mm: float, gap_mm: float, most_meeting: int = 32, where: str = "the drawing"
) -> Joined:
    """Join curves, in the order of the file, to outlines.

    Parameters
    ----------
    same_mm : float
        Ends this close are one point [mm].
    gap_mm : float
        Open ends this close are joined by a short line [mm].
    most_meeting : int
        Curves that may meet in one point; more are no outline.

    Raises
    ------
    BadInput
        Too many curves meet in one point.

    Examples
    --------
    >>> square = np.array([[0, 0], [9, 0], [9, 9], [0, 9], [0, 0.1]])
    >>> [o.closed for o in join([line(square)], same_mm=0.001, gap_mm=0.2).outlines]
    [True]
    """
    real = [curve for curve in curves if curve.length_mm > same_mm]
    dropped = len(curves) - len(real)
    ready: list[Curve] = []
    loose: list[Curve] = []
    for curve in real:
        gap = float(np.hypot(*(curve.points[-1] - curve.points[0])))
        (ready if gap <= same_mm and len(curve.points) > 2 else loose).append(curve)
    net = _net(loose, same_mm)
    _refuse_crowds(net, most_meeting, where)
    once = _drop_twins(net, same_mm)
    _close_gaps(net, gap_mm)
    around, used = around_shared(net)
    shared = sum(len(curves) for curves, _, _ in around) - len(used)
    chains = [((curve,), True, ()) for curve in ready] + around + _walk(net, used)
    chains.sort(key=lambda chain: min(curve.order for curve in chain[0]))
    outlines = [Outline(i, c, closed, gaps) for i, (c, closed, gaps) in enumerate(chains, 1)]
    single = _drop_twin_outlines(outlines, same_mm)
    return Joined(tuple(single), once + len(outlines) - len(single), dropped, shared)


def _net(curves: list[Curve], same_mm: float) -> Net:
    if not curves:
        return Net([], [], [])
    from scipy.spatial import cKDTree  # heavy: only where a drawing is read

    ends = np.array([end for curve in curves for end in (curve.points[0], curve.points[-1])])
    cells, cell_of = np.unique(np.round(ends / same_mm), axis=0, return_inverse=True)
    pairs = cKDTree(cells).query_pairs(1.5, output_type="ndarray")  # one cell and its eight neighbours
    places = labels_of(pairs, len(cells))[cell_of.ravel()].reshape(-1, 2)
    return Net(list(curves), places[:, 0].tolist(), places[:, 1].tolist())


def _refuse_crowds(net: Net, most: int, where: str) -> None:
    if not net.curves:
        return
    degree = np.bincount([*net.start, *net.end])
    for place in np.flatnonzero(degree > most)[:3].tolist():
        k = net.start.index(place) if place in net.start else net.end.index(place)
        field = f"layer {net.curves[k].layer}"
        told = f"{degree[place]} lines that meet in one point"
        raise BadInput(where, [Problem(field, told, "outlines", "Leave its layer out: name the others with --layer.")])


def _drop_twins(net: Net, same_mm: float) -> int:
    """Take out lines that lie on another one, unless two parts share a border drawn once for each."""
    groups: dict[tuple[int, int], list[int]] = defaultdict(list)
    for k, (u, v) in enumerate(zip(net.start, net.end, strict=True)):
        groups[min(u, v), max(u, v)].append(k)
    twins: dict[int, int] = {}
    for group in groups.values():
        kept: list[int] = []
        for k in group:
            one = net.curves[k]
            other = next((other for other in kept if _alike(one, net.curves[other], same_mm)), None)
            if other is None:
                kept.append(k)
            else:
                twins[k] = other
    if not twins:
        return 0
    degree = np.bincount([*net.start, *net.end])
    for k in twins:
        degree[net.start[k]] -= 1
        degree[net.end[k]] -= 1
    out = {k for k in twins if degree[net.start[k]] % 2 == 0 and degree[net.end[k]] % 2 == 0}
    keep = [k for k in range(len(net.curves)) if k not in out]
    borders = {k for k in twins if k not in out} | {other for k, other in twins.items() if k not in out}
    net.doubled = {new for new, k in enumerate(keep) if k in borders}
    net.curves = [net.curves[k] for k in keep]
    net.start, net.end = [net.start[k] for k in keep], [net.end[k] for k in keep]
    return len(out)


def _alike(one: Curve, other: Curve, same_mm: float) -> bool:
    middle = one.points.mean(axis=0) - other.points.mean(axis=0)
    return abs(one.length_mm - other.length_mm) <= 2 * same_mm and bool(np.hypot(*middle) <= 2 * same_mm)


def _close_gaps(net: Net, gap_mm: float) -> None:
    """Put a short line between open ends, nearest first."""
    if not net.curves:
        return
    from scipy.spatial import cKDTree  # heavy: only where a drawing is read

    degree = np.bincount([*net.start, *net.end])
    ends = [
        (place, curve.points[index])
        for places, index in ((net.start, 0), (net.end, -1))
        for place, curve in zip(places, net.curves, strict=True)
        if degree[place] == 1
    ]
    if len(ends) < 2:
        return
    piece_of = labels_of(np.column_stack((net.start, net.end)), len(degree))
    length = np.bincount(piece_of[net.start], weights=[curve.length_mm for curve in net.curves])
    order = {}
    for u, v, curve in zip(net.start, net.end, net.curves, strict=True):
        order[u] = order[v] = curve
    spots = np.array([point for _, point in ends])
    most = min(8, len(ends))
    far, near = map(np.asarray, cKDTree(spots).query(spots, k=most, distance_upper_bound=gap_mm))
    rows = sorted((float(far[i, j]), int(i), int(near[i, j])) for i, j in np.argwhere(near < len(ends)))
    taken: set[int] = set()
    for gap, i, j in rows:
        u, v = ends[i][0], ends[j][0]
        if i == j or i in taken or j in taken:
            continue
        if piece_of[u] == piece_of[v] and length[piece_of[u]] < 8 * gap_mm:
            continue  # both ends of a scrap no longer than the gap itself
        taken |= {i, j}
        net.gap[len(net.curves)] = gap
        bridge = line(np.array([spots[i], spots[j]]))
        net.curves.append(replace(bridge, layer=order[u].layer, order=order[u].order))
        net.start.append(u)
        net.end.append(v)


def _walk(net: Net, gone: set[int]) -> list[Chain]:
    """Follow the curves; each return to a place already passed cuts off an outline."""
    at_place = around_places(net, range(len(net.curves)))
    used = [k in gone for k in range(len(net.curves))]
    odd = [net.start[k] for k in range(len(used)) if len(at_place[net.start[k]]) % 2]
    odd += [net.end[k] for k in range(len(used)) if len(at_place[net.end[k]]) % 2]
    found: list[Chain] = []
    for start in [*odd, *net.start]:
        found += _follow(net, start, at_place, used)
    return found


def _follow(net: Net, start: int, at_place: dict[int, list[int]], used: list[bool]) -> Iterable[Chain]:
    path: list[int] = []
    passed = [start]
    index = {start: 0}
    while (k := _next(net, at_place[passed[-1]], path[-1] if path else None, used)) is not None:
        used[k] = True
        path.append(k)
        place = net.end[k] if net.start[k] == passed[-1] else net.start[k]
        if place not in index:
            index[place] = len(path)
            passed.append(place)
            continue
        cut = index[place]
        yield chain_of(net, path[cut:], place, closed=True)
        for gone in passed[cut + 1 :]:
            del index[gone]
        del path[cut:], passed[cut + 1 :]
        if not path:
            return
    if path:
        yield chain_of(net, path, start, closed=False)


def _next(net: Net, around: list[int], came: int | None, used: list[bool]) -> int | None:
    """Take the next free curve anticlockwise from the one we came by, so that outlines never cross."""
    at = around.index(came) if came is not None else -1
    turn = [k for k in (*around[at + 1 :], *around[: at + 1]) if not used[k]]
    if came is not None and net.doubled and len(turn) > 1:  # a border drawn for each side: in by one, out by another
        turn.sort(key=lambda k: (k in net.doubled) == (came in net.doubled))
    return turn[0] if turn else None


def _drop_twin_outlines(outlines: list[Outline], same_mm: float) -> list[Outline]:
    """Keep the first of outlines that lie on each other."""
    from scipy.spatial import cKDTree  # heavy: only where a drawing is read

    closed = [outline for outline in outlines if outline.closed]
    if len(closed) < 2:
        return outlines
    marks = np.array([(*o.points.min(axis=0), *o.points.max(axis=0), o.length_mm, o.area_mm2**0.5) for o in closed])
    _, near = cKDTree(marks).query(marks, k=min(4, len(closed)), distance_upper_bound=4 * same_mm)
    out = {closed[i].id for i in np.flatnonzero((np.asarray(near) < np.arange(len(closed))[:, None]).any(axis=1))}
    return [outline for outline in outlines if outline.id not in out]
