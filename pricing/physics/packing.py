"""What hangs in one oven load: how many identical parts, in closed form, and where parts of several kinds hang.

Takes    an oven's hanging space, and the envelope and mass of a part or parts with one way to hang each.
Gives    parts per load; where each part hangs, or that they do not all fit. Which kinds share a load is the
         business of ``packing_mixed``.
Assumes  rails run the length of the oven, level and evenly spaced; parts hang upright, turn only
         about the vertical. Airflow is not modelled: the clearance is the owner's.
Method   unlike parts in one order, deepest and tallest first, fill row after row and rail after rail. Whatever
         hangs with a part also hangs without it: a row, a rail and a load only become shorter. So a
         part less never needs more room, which first fit cannot promise.
"""

from dataclasses import dataclass
from math import ceil
from typing import NamedTuple

from pricing.basis.errors import BadInput, Problem

_SLACK = 1e-9  # a part that fits exactly must not be lost to rounding


@dataclass(frozen=True, slots=True, kw_only=True)
class HangingSpace:
    """Rails of one oven and what they may carry.

    Parameters
    ----------
    rails : int
        Number of rails.
    rail_mm : float
        Usable length of each rail [mm].
    rail_pitch_mm : float
        Distance between neighbouring rails [mm].
    depth_mm : float
        Inside width of the oven across the rails [mm]; the rails stand centred in it.
    height_mm : float
        From the rail down to the lowest a part may hang [mm].
    clearance_mm : float
        Air left between parts, and between parts and walls [mm].
    hook_mm : float
        Drop of the hook above each part [mm].
    mass_limit_kg : float
        Most that may hang in one load, all rails together [kg].
    tiers : int
        Most parts hung one below the other.

    Raises
    ------
    BadInput
        Every measure that is not above 0 (clearance and hook may be 0), told at once.

    Examples
    --------
    >>> rack = HangingSpace(rails=3, rail_mm=2000, rail_pitch_mm=400, depth_mm=1200, height_mm=1500,
    ...                     clearance_mm=50, hook_mm=100, mass_limit_kg=200, tiers=2)
    >>> per_load_alike(rack, width_mm=350, depth_mm=100, height_mm=600, mass_kg=4.0)
    30.0
    """

    rails: int
    rail_mm: float
    rail_pitch_mm: float
    depth_mm: float
    height_mm: float
    clearance_mm: float
    hook_mm: float
    mass_limit_kg: float
    tiers: int = 1

    def __post_init__(self) -> None:
        above = ("rails", "rail_mm", "rail_pitch_mm", "depth_mm", "height_mm", "mass_limit_kg", "tiers")
        bad = [
            Problem(name, value, "above 0" if name in above else "0 or more")
            for name in self.__slots__
            if not (value := getattr(self, name)) >= 0 or (name in above and value == 0)
        ]
        if bad:
            raise BadInput("hanging space of an oven", bad)


def per_load_alike(
    space: HangingSpace, *, width_mm: float, depth_mm: float, height_mm: float, mass_kg: float, may_turn: bool = True
) -> float:
    """Most identical parts that one load takes, a whole number; 0 where the part does not fit at all.

    Source: counting of places on rails and tiers; clearances ``hanging.*`` in ``data/facts.csv`` (common_practice).

    Parameters
    ----------
    space : HangingSpace
        The oven's rails.
    width_mm, depth_mm, height_mm : float
        Envelope of the part as it hangs: along the rail, across the rails, downwards [mm].
    mass_kg : float
        Mass of one part [kg].
    may_turn : bool
        Whether it may hang turned by 90° about the vertical (width and depth swapped).

    Notes
    -----
    Along a rail n parts need ``n w + (n - 1) c``; downwards each tier needs hook and part. Across,
    a part deeper than the pitch allows uses every k-th rail, and rails too near the wall for half
    its depth and the clearance are left empty. The best of the allowed turns is taken.
    """
    turns = [(width_mm, depth_mm), (depth_mm, width_mm)] if may_turn else [(width_mm, depth_mm)]
    hung = 0.0
    for along_mm, deep_mm in turns:
        lost, every = places(space, deep_mm)
        rails = -(-max(0, space.rails - 2 * lost) // every)
        gap = space.clearance_mm
        hung = max(hung, (space.rail_mm + gap + _SLACK) // (along_mm + gap) * rails)
    tiers = min(space.tiers, (space.height_mm + _SLACK) // (height_mm + space.hook_mm))
    return float(min(hung * tiers, (space.mass_limit_kg + _SLACK) // mass_kg))


def places(space: HangingSpace, depth_mm: float) -> tuple[int, int]:
    """Where parts of a depth may hang across the rails, neighbours and walls kept clear.

    Rails too near the wall on either side, and rails from one part to the next: 1 for each rail, 2 for every second.
    Source: counting of rails; clearance ``hanging.*`` in ``data/facts.csv`` (common_practice).
    """
    pitch, gap = space.rail_pitch_mm, space.clearance_mm
    margin_mm = 0.5 * (space.depth_mm - (space.rails - 1) * pitch)  # wall to outermost rail
    lost = ceil(max(0.0, 0.5 * depth_mm + gap - margin_mm - _SLACK) / pitch)
    return lost, ceil((depth_mm + gap - _SLACK) / pitch)


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
