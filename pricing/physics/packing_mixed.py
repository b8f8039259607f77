"""Mixed oven loads: what is hung where, a quick start by first fit, and a bound that no load plan beats.

Takes    an oven's ``HangingSpace`` and part kinds in whole pieces.
Gives    a ``Loading``: loads, rows of parts on rails and tiers, each job's share.
Assumes  as ``packing``: rails level and even, parts upright, turned only about the vertical. Parts on
         one rail and tier form a row; rows hang below each other; neighbouring rails keep their
         deepest parts apart. Sizes count in hundredths of a millimetre, rounded to the safe side.
Room     physics. Imports packing, basis. Imported by packing_exact and steps.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from math import ceil, floor
from typing import Literal, NamedTuple

from pricing.basis.errors import BadInput, Problem
from pricing.physics.packing import HangingSpace

Order = Literal["height", "length", "mass"]
_PER_MM = 100  # whole hundredths: an inch is 2540 of them
_SLACK = 1e-6  # of a count, lost to rounding of decimals


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """Parts of one kind that wait for the oven.

    Parameters
    ----------
    name : str
        What they are, once in a list.
    count : int
        How many.
    width_mm, depth_mm, height_mm : float
        Envelope as they hang: along the rail, across the rails, downwards [mm].
    mass_kg : float
        Of one [kg].
    may_turn : bool
        Whether it may hang turned by 90° about the vertical.
    job : str
        Whose they are.
    cure : str
        What they must go through; parts of different cures never share a load.

    Raises
    ------
    BadInput
        A measure is not above 0, or the count is negative or not whole.
    """

    name: str
    count: int
    width_mm: float
    depth_mm: float
    height_mm: float
    mass_kg: float
    may_turn: bool = True
    job: str = ""
    cure: str = ""

    def __post_init__(self) -> None:
        bad = [
            Problem(measure, value, "above 0")
            for measure in ("width_mm", "depth_mm", "height_mm", "mass_kg")
            if not (value := getattr(self, measure)) > 0
        ]
        if self.count < 0 or self.count != int(self.count):
            bad.append(Problem("count", self.count, "a whole number, 0 or more"))
        if bad:
            raise BadInput(f"part kind {self.name!r}", bad)


class Row(NamedTuple):
    """Parts of one kind side by side on one rail and tier of one load."""

    load: int
    rail: int
    tier: int
    name: str
    turned: bool
    pieces: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Loading:
    """A plan of loads and how good it is.

    Parameters
    ----------
    loads : int
        Loads of the plan.
    lower_bound : int
        Loads that no plan can do without.
    rows : tuple of Row
        What hangs where; loads count from 0.
    kinds : tuple of Kind
        What was to be hung.
    hook_mm, clearance_mm : float
        Of the space, for the shares.
    """

    loads: int
    lower_bound: int
    rows: tuple[Row, ...]
    kinds: tuple[Kind, ...]
    hook_mm: float
    clearance_mm: float

    @property
    def proven(self) -> bool:
        """Whether no plan with fewer loads exists."""
        return self.loads == self.lower_bound

    def loads_of(self) -> dict[str, float]:
        """Loads that each job fills: each load is shared by the room its parts take."""
        kinds = {kind.name: kind for kind in self.kinds}
        room: list[dict[str, float]] = [{} for _ in range(self.loads)]
        for row in self.rows:
            kind = kinds[row.name]
            wide = kind.depth_mm if row.turned else kind.width_mm
            taken = row.pieces * (wide + self.clearance_mm) * (kind.height_mm + self.hook_mm)
            room[row.load][kind.job] = room[row.load].get(kind.job, 0.0) + taken
        share = dict.fromkeys((kind.job for kind in self.kinds), 0.0)
        for load in room:
            whole = sum(load.values())
            for job, taken in load.items():
                share[job] += taken / whole
        return share


class Option(NamedTuple):
    """One way to hang a kind, in whole hundredths of a millimetre and grams."""

    kind: int
    turned: bool
    along: int  # with one clearance
    depth: int
    drop: int  # with the hook
    gram: int


_ORDERS: dict[Order, Callable[[Option], tuple[int, ...]]] = {
    "height": lambda o: (o.drop, o.along * o.depth, o.gram),
    "length": lambda o: (o.along, o.drop, o.gram),
    "mass": lambda o: (o.gram, o.drop, o.along),
}


class Grid(NamedTuple):
    """A hanging space in whole hundredths of a millimetre and grams."""

    rails: int
    tiers: int
    row: int  # with one clearance
    height: int
    gram: int
    clearance: int
    reach: tuple[int, ...]  # deepest part that each rail can carry
    apart: float  # of neighbouring rails


def _up(mm: float) -> int:
    return ceil(_PER_MM * mm - _SLACK)


def _down(mm: float) -> int:
    return floor(_PER_MM * mm + _SLACK)


def grid_of(space: HangingSpace) -> Grid:
    """Count a space in whole hundredths of a millimetre and grams, rounded down.

    Parameters
    ----------
    space : HangingSpace
        The oven's rails.

    Returns
    -------
    Grid
        Whole numbers for first fit and for the solver.
    """
    clearance = _up(space.clearance_mm)
    middle = (space.rails - 1) / 2.0
    reach = tuple(
        _down(space.depth_mm - 2.0 * abs(rail - middle) * space.rail_pitch_mm) - 2 * clearance
        for rail in range(space.rails)
    )
    return Grid(
        rails=space.rails,
        tiers=space.tiers,
        row=_down(space.rail_mm) + clearance,
        height=_down(space.height_mm),
        gram=floor(1e3 * space.mass_limit_kg + _SLACK),
        clearance=clearance,
        reach=reach,
        apart=_PER_MM * space.rail_pitch_mm,
    )


def options_of(space: HangingSpace, kinds: Sequence[Kind]) -> list[Option]:
    """List the ways to hang each kind that fit an empty oven.

    Parameters
    ----------
    space : HangingSpace
        The oven's rails.
    kinds : sequence of Kind
        What is to be hung.

    Returns
    -------
    list of Option
        At most two for each kind, in the order of the kinds.

    Raises
    ------
    BadInput
        A kind with parts to hang does not fit in any way; every such kind is named.
    """
    grid, found, bad = grid_of(space), [], []
    for index, kind in enumerate(kinds):
        gram = ceil(1e3 * kind.mass_kg - _SLACK)
        drop = _up(kind.height_mm + space.hook_mm)
        turns = {(kind.width_mm, kind.depth_mm): False}
        if kind.may_turn:
            turns.setdefault((kind.depth_mm, kind.width_mm), True)
        ways = [
            Option(index, turned, _up(along) + grid.clearance, _up(deep), drop, gram)
            for (along, deep), turned in turns.items()
        ]
        ways = [w for w in ways if w.along <= grid.row and w.depth <= max(grid.reach)]
        if kind.count and (not ways or drop > grid.height or gram > grid.gram):
            size = f"{kind.width_mm:g} x {kind.depth_mm:g} x {kind.height_mm:g} mm, {kind.mass_kg:g} kg"
            mend = "Take another oven, take it apart, or hang it another way."
            bad.append(Problem(kind.name, size, "small and light enough for the oven", mend))
        found.extend(ways)
    if bad:
        raise BadInput("oven load", bad)
    return found


def least_loads(space: HangingSpace, kinds: Sequence[Kind]) -> int:
    """Loads that no plan can do without: by mass, by rows, and by the oven's volume.

    Parameters
    ----------
    space : HangingSpace
        The oven's rails.
    kinds : sequence of Kind
        What is to be hung, all of one cure.

    Returns
    -------
    int
        A lower bound; 0 when there is nothing to hang.
    """
    grid, options = grid_of(space), options_of(space, kinds)
    if not any(kind.count for kind in kinds):
        return 0
    small: dict[int, int] = {}
    for option in options:
        small[option.kind] = min(small.get(option.kind, option.along), option.along)
    each = [(kinds[o.kind].count, o, small[o.kind]) for o in {o.kind: o for o in options}.values()]
    rails = sum(reach > 0 for reach in grid.reach)
    deep = _down(space.depth_mm) - grid.clearance
    needs = (
        (sum(n * o.gram for n, o, _ in each), grid.gram),
        (sum(n * along * o.drop for n, o, along in each), rails * grid.row * grid.height),
        (
            sum(n * o.along * (o.depth + grid.clearance) * o.drop for n, o, _ in each),
            grid.row * deep * grid.height,
        ),
        (sum(n * along for n, _o, along in each), rails * grid.tiers * grid.row),
    )
    return max(-(-need // room) for need, room in needs)


@dataclass(slots=True)
class _Open:
    """One load being filled."""

    grid: Grid
    gram: int = 0
    used: dict[tuple[int, int], int] = field(default_factory=dict)
    drop: dict[tuple[int, int], int] = field(default_factory=dict)
    depth: dict[int, int] = field(default_factory=dict)

    def room_for(self, rail: int, tier: int, option: Option, count: int) -> int:
        """How many of an option still go into a row."""
        grid, row = self.grid, (rail, tier)
        if option.depth > grid.reach[rail]:
            return 0
        for other, depth in self.depth.items():
            needed = max(option.depth, self.depth.get(rail, 0)) + depth + 2 * grid.clearance
            if other != rail and needed > 2 * abs(other - rail) * grid.apart + _SLACK:
                return 0
        others = sum(drop for (r, t), drop in self.drop.items() if r == rail and t != tier)
        if others + max(option.drop, self.drop.get(row, 0)) > grid.height:
            return 0
        by_mass = (grid.gram - self.gram) // option.gram if option.gram else count
        return min(count, (grid.row - self.used.get(row, 0)) // option.along, by_mass)

    def hang(self, rail: int, tier: int, option: Option, count: int) -> None:
        """Hang parts into a row."""
        row = (rail, tier)
        self.gram += count * option.gram
        self.used[row] = self.used.get(row, 0) + count * option.along
        self.drop[row] = max(self.drop.get(row, 0), option.drop)
        self.depth[rail] = max(self.depth.get(rail, 0), option.depth)


def first_fit(space: HangingSpace, kinds: Sequence[Kind], *, order: Order = "height") -> Loading:
    """Hang the largest first, each where it first fits: quick, and often a load too many.

    Parameters
    ----------
    space : HangingSpace
        The oven's rails.
    kinds : sequence of Kind
        What is to be hung, all of one cure.
    order : {'height', 'length', 'mass'}
        What is largest first.

    Returns
    -------
    Loading
        A plan that works, with the bound of `least_loads`.

    Raises
    ------
    BadInput
        A kind does not fit the oven at all.

    Notes
    -----
    First-fit-decreasing can need a load more in a larger oven; do not compare ovens by it.
    """
    grid, options = grid_of(space), options_of(space, kinds)
    ways = [[o for o in options if o.kind == index] for index in range(len(kinds))]
    big = sorted(
        (i for i, kind in enumerate(kinds) if kind.count),
        key=lambda i: _ORDERS[order](ways[i][0]),
        reverse=True,
    )
    loads: list[_Open] = []
    rows: dict[tuple[int, int, int, int, bool], int] = {}
    for index in big:
        left, number = int(kinds[index].count), 0
        while left:
            if number == len(loads):
                loads.append(_Open(grid))
            for rail in range(grid.rails):
                for tier in range(grid.tiers):
                    for option in ways[index]:
                        count = loads[number].room_for(rail, tier, option, left)
                        if count > 0:
                            loads[number].hang(rail, tier, option, count)
                            key = (number, rail, tier, index, option.turned)
                            rows[key] = rows.get(key, 0) + count
                            left -= count
            number += 1
    return Loading(
        loads=len(loads),
        lower_bound=least_loads(space, kinds),
        rows=tuple(Row(lo, r, t, kinds[i].name, turned, n) for (lo, r, t, i, turned), n in sorted(rows.items())),
        kinds=tuple(kinds),
        hook_mm=space.hook_mm,
        clearance_mm=space.clearance_mm,
    )
