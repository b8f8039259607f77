"""Curves of a drawing as edges between places, and the fields between lines that parts share."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from math import atan2, tau

import numpy as np
import numpy.typing as npt

from pricing.parts.curves import Curve, area_mm2


@dataclass(slots=True)
class Net:
    """Curves as edges between numbered places."""

    curves: list[Curve]
    start: list[int]
    end: list[int]
    gap: dict[int, float] = field(default_factory=dict)  # of the curves that were put in to close one
    doubled: set[int] = field(default_factory=set)  # curves of a border that is drawn once for each side


Chain = tuple[tuple[Curve, ...], bool, tuple[float, ...]]


def labels_of(pairs: npt.NDArray[np.int64], count: int) -> npt.NDArray[np.int64]:
    """Number the connected groups of so many things, (count,), by the pairs of them that hang together, (n, 2)."""
    from scipy.sparse import coo_array  # heavy: only where a file is read
    from scipy.sparse.csgraph import connected_components

    links = coo_array((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(count, count))
    return np.asarray(connected_components(links, directed=False)[1])


def around_places(net: Net, curves: Iterable[int]) -> dict[int, list[int]]:
    """Collect the curves at each place, anticlockwise."""
    at_place: dict[int, list[int]] = defaultdict(list)
    for k in curves:
        at_place[net.start[k]].append(k)
        at_place[net.end[k]].append(k)
    for place, around in at_place.items():
        if len(around) > 2:
            around.sort(key=lambda k, place=place: _leaving(net, k, place))  # type: ignore[misc]
    return at_place


def _leaving(net: Net, k: int, place: int) -> float:
    points = net.curves[k].points if net.start[k] == place else net.curves[k].points[::-1]
    dx, dy = points[1] - points[0]
    return atan2(dy, dx) % tau


def chain_of(net: Net, path: list[int], start: int, *, closed: bool) -> Chain:
    """Turn the curves of a walk its way round, and give the gaps that were closed in it."""
    curves = []
    place = start
    for k in path:
        forward = net.start[k] == place
        curves.append(net.curves[k] if forward else net.curves[k].reversed())
        place = net.end[k] if forward else net.start[k]
    return tuple(curves), closed, tuple(net.gap[k] for k in path if k in net.gap)


def around_shared(net: Net) -> tuple[list[Chain], set[int]]:
    """Go round each field of a net in which parts share lines: an odd number of curves meets in a place.

    Gives the outlines, and the curves they are made of. Lines with a loose end are left aside, and so is a
    net with a line that has the same field on both sides.
    """
    at_place = around_places(net, (k for k in range(len(net.curves)) if net.start[k] != net.end[k]))
    loose = [place for place, around in at_place.items() if len(around) == 1]
    while loose:
        for k in at_place.pop(place := loose.pop(), ()):
            other = net.start[k] + net.end[k] - place
            at_place[other].remove(k)
            if len(at_place[other]) == 1:
                loose.append(other)
    found: list[Chain] = []
    used: set[int] = set()
    for places in _nets(net, at_place):
        if not any(len(at_place[place]) % 2 for place in places):
            continue
        fields = _fields(net, at_place, places)
        if all(len(set(path)) == len(path) for path, _ in fields):
            chains = [chain_of(net, path, start, closed=True) for path, start in fields]
            found += [chain for chain in chains if area_mm2(chain[0]) > 0]  # the one round all of them is under 0
            used |= {k for path, _ in fields for k in path}
    return found, used


def _nets(net: Net, at_place: dict[int, list[int]]) -> Iterable[list[int]]:
    """Yield the places of each connected net."""
    seen: set[int] = set()
    for first in at_place:
        places, waiting = [], [first]
        while waiting:
            if (place := waiting.pop()) not in seen:
                seen.add(place)
                places.append(place)
                waiting += [net.start[k] + net.end[k] - place for k in at_place[place]]
        if places:
            yield places


def _fields(net: Net, at_place: dict[int, list[int]], places: list[int]) -> list[tuple[list[int], int]]:
    """Walk round each field of a net, the field to the left: its curves and the place where it starts."""
    gone: set[tuple[int, int]] = set()
    fields = []
    for start in places:
        for first in at_place[start]:
            path, place, k = [], start, first
            while (k, place) not in gone:
                gone.add((k, place))
                path.append(k)
                place = net.start[k] + net.end[k] - place
                around = at_place[place]
                k = around[around.index(k) - 1]  # the next one clockwise
            if path:
                fields.append((path, start))
    return fields
