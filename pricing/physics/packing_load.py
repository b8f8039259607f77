"""What hangs together in one oven load.

Takes    an oven's ``HangingSpace`` and parts, each kind with one way to hang it.
Gives    where each part hangs, or that they do not all fit.
Method   parts in one order, deepest and tallest first, fill row after row and rail after rail. Whatever
         hangs with a part also hangs without it: a row, a rail and a load only become shorter. So a
         part less never needs more room, which first fit cannot promise.
"""

from math import ceil
from typing import NamedTuple

from pricing.physics.packing import HangingSpace

_SLACK = 1e-9  # a part that fits exactly must not be lost to rounding


class HangingWay(NamedTuple):
    """How a kind hangs. Sorted backwards, the deepest come first, then the tallest."""

    every: int  # rails from one to the next
    lost: int  # rails too near a wall, on either side
    drop: float  # with the hook
    along: float  # with one clearance
    deep: float
    mass_kg: float
    turned: bool
    kind: int


class RailRow(NamedTuple):
    """Parts of one kind side by side on one rail and tier, both counted from 0."""

    rail: int
    tier: int
    name: str
    turned: bool
    pieces: int


class Batch(NamedTuple):
    """So many loads that hang alike."""

    loads: int
    rows: tuple[RailRow, ...]


Runs = list[tuple[HangingWay, int]]  # ways to hang, and pieces hung so, one after the other
Hung = list[tuple[int, int, HangingWay, int]]  # rail, tier, way, pieces
_Place = tuple[int, int]  # how many kinds are hung, and how many of the next


def hang(space: HangingSpace, parts: Runs) -> Hung | None:
    """Hang parts in one load, the deepest first, then the tallest.

    Source: first fit decreasing over rails (D. S. Johnson 1973).

    The first rail may be any up to the middle one; the next are to the right of it, then to the left. All of
    them are tried: a shallower first part could start nearer the wall, but what hung before must still hang.
    """
    parts = sorted(parts, reverse=True)
    if sum(way.mass_kg * count for way, count in parts) > space.mass_limit_kg + _SLACK:
        return None
    first = parts[0][0]
    plain = first.every == 1 and not first.lost  # every rail is of use, wherever one starts
    for start in range(first.lost, 1 if plain else space.rails // 2 + 1):
        hung = _from_rail(space, parts, start)
        if hung is not None:
            return hung
    return None


def _from_rail(space: HangingSpace, parts: Runs, start: int) -> Hung | None:
    """Hang parts from one rail on; None where they do not all fit."""
    deepest = [way.deep for way, _ in parts]
    for number in reversed(range(len(parts) - 1)):
        deepest[number] = max(deepest[number], deepest[number + 1])

    def apart(one: int, other: int) -> int:
        need = 0.5 * (deepest[one] + deepest[other]) + space.clearance_mm
        return max(1, ceil((need - _SLACK) / space.rail_pitch_mm))

    at: _Place = (0, 0)
    hung: Hung = []
    rail, step = start, 1
    while True:
        begins = at[0]
        at, rows = _rail(space, parts, at, space.tiers, space.height_mm)
        hung += [(rail, tier, way, pieces) for tier, row in enumerate(rows) for way, pieces in row]
        if at[0] == len(parts):
            return hung
        lost = parts[at[0]][0].lost
        rail += step * apart(begins, at[0])
        if step > 0 and rail + lost >= space.rails:
            step, rail = -1, start - apart(0, at[0])
        if step < 0 and rail < lost:
            return None


def _rail(space: HangingSpace, parts: Runs, at: _Place, tiers: int, height_mm: float) -> tuple[_Place, list[Runs]]:
    """Hang as many parts, in their order, as rows below each other on one rail take.

    A row may end before a taller part: whichever brings more parts on the rail is done.
    """
    best: tuple[_Place, list[Runs]] = (at, [])
    row: Runs = []
    room, drop = space.rail_mm + space.clearance_mm, 0.0
    while tiers and at[0] < len(parts):
        way, count = parts[at[0]]
        pieces = min(count - at[1], int((room + _SLACK) // way.along))
        if pieces and way.drop > drop:
            if row:
                end, below = _rail(space, parts, at, tiers - 1, height_mm - drop)
                best = max(best, (end, [row.copy(), *below]), key=lambda one: one[0])
            if way.drop > height_mm + _SLACK:
                return best
            drop = way.drop
        if pieces:
            row.append((way, pieces))
            room -= pieces * way.along
        at = (at[0] + 1, 0) if at[1] + pieces == count else (at[0], at[1] + pieces)
        if at[1] or not pieces:
            break
    if row:
        end, below = _rail(space, parts, at, tiers - 1, height_mm - drop)
        best = max(best, (end, [row, *below]), key=lambda one: one[0])
    return best
