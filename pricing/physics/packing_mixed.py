"""Mixed oven loads: full loads of each kind, and loads that kinds share.

Takes    an oven's ``HangingSpace`` and part kinds in whole pieces.
Gives    a ``Loading``: loads, what hangs where, and a bound that no plan beats.
Assumes  as ``packing``: rails level and even, parts upright, turned only about the vertical. Parts on
         one rail and tier form a row; rows hang below each other; neighbouring rails keep their
         deepest parts apart.
Method   kinds are split into groups, each way there is. A group shares its last loads, after full loads
         of each kind, or spreads all its parts evenly over alike loads. Parts hang together when they,
         deepest and tallest first, fill row after row and rail after rail of one load. Nothing is
         searched by the clock or by chance: the same plan on any machine. Whatever hangs with a part
         also hangs without it, so that a part less never needs more loads.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from pricing.basis.errors import BadInput, Problem
from pricing.physics.packing import HangingSpace, per_load_alike, places
from pricing.physics.packing_load import Batch, HangingWay
from pricing.physics.packing_share import Alike, LoadPlan

_SLACK = 1e-9  # a part that fits exactly must not be lost to rounding


@dataclass(frozen=True, slots=True, kw_only=True)
class PartKind:
    """Parts of one kind that wait for the oven.

    Parameters
    ----------
    name : str
        What they are.
    count : int
        How many.
    width_mm, depth_mm, height_mm : float
        Envelope as they hang: along the rail, across the rails, downwards [mm].
    mass_kg : float
        Of one [kg].
    may_turn : bool
        Whether it may hang turned by 90° about the vertical.
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Loading:
    """A plan of loads and how good it is.

    Parameters
    ----------
    batches : tuple of Batch
        What hangs where.
    lower_bound : int
        Loads that no plan can do without.
    """

    batches: tuple[Batch, ...]
    lower_bound: int

    @property
    def loads(self) -> int:
        """Loads of the plan."""
        return sum(batch.loads for batch in self.batches)

    @property
    def proven(self) -> bool:
        """Whether no plan with fewer loads exists."""
        return self.loads == self.lower_bound


def load_oven(space: HangingSpace, kinds: Sequence[PartKind]) -> Loading:
    """Plan the loads for parts of several kinds and jobs.

    Source: first fit decreasing over rails (D. S. Johnson 1973), never worse than each kind alone.

    Parameters
    ----------
    space : HangingSpace
        The oven's rails, tiers, envelope and mass limit.
    kinds : sequence of PartKind
        What is to be hung. Kinds of one ``cure`` may share a load, whatever their job.

    Returns
    -------
    Loading
        Loads, a lower bound, and what hangs where. Never more loads than each kind takes by itself, or
        than the kinds take in two plans; never fewer for a piece more. Kinds that differ in name only count
        as one.

    Raises
    ------
    BadInput
        A kind does not fit the oven at all; every such kind is named.

    Notes
    -----
    Up to eight kinds every grouping is tried. Of more kinds only neighbours in size share a load, and two
    plans of fewer kinds may then need a load less than one; so may, seldom, two plans that both hold some of
    a kind. The plan is no proof: now and then a better
    one exists.

    Examples
    --------
    >>> rack = HangingSpace(rails=1, rail_mm=1200, rail_pitch_mm=500, depth_mm=500, height_mm=1200,
    ...                     clearance_mm=0, hook_mm=0, mass_limit_kg=100, tiers=3)
    >>> panels = PartKind(name="panel", count=7, width_mm=600, depth_mm=20, height_mm=400, mass_kg=2, may_turn=False)
    >>> plan = load_oven(rack, [panels])
    >>> plan.loads, plan.proven
    (2, True)
    """
    by_cure: dict[str, dict[tuple[float, ...], list[PartKind]]] = {}
    for kind in kinds:
        if kind.count:
            size = (kind.width_mm, kind.depth_mm, kind.height_mm, kind.mass_kg, kind.may_turn)
            by_cure.setdefault(kind.cure, {}).setdefault(size, []).append(kind)
    ready = [[_alike(space, at, same) for at, same in enumerate(sizes.values())] for sizes in by_cure.values()]
    too_large = [kind for kind in kinds if kind.count and not _alike(space, 0, [kind]).room]
    if too_large:
        raise BadInput("oven load", [_too_large(kind) for kind in too_large])
    batches = tuple(batch for every in ready for batch in LoadPlan(space, every).batches())
    bound = sum(least_loads(space, [kind for same in sizes.values() for kind in same]) for sizes in by_cure.values())
    return Loading(batches=batches, lower_bound=bound)


def least_loads(space: HangingSpace, kinds: Sequence[PartKind]) -> int:
    """Loads that no plan can do without: by mass, by rows, and by the oven's volume.

    Source: area bound of bin packing (S. Martello and P. Toth 1990).

    Parameters
    ----------
    space : HangingSpace
        The oven's rails.
    kinds : sequence of PartKind
        What is to be hung, all of one cure.

    Returns
    -------
    int
        A lower bound; 0 when there is nothing to hang.
    """
    gap = space.clearance_mm
    row_mm, across_mm = space.rail_mm + gap, space.depth_mm - gap
    needs = [0.0] * 4
    for kind in kinds:
        along = gap + (min(kind.width_mm, kind.depth_mm) if kind.may_turn else kind.width_mm)
        drop = kind.height_mm + space.hook_mm
        each = (
            kind.mass_kg / space.mass_limit_kg,
            along / (space.rails * space.tiers * row_mm),
            along * drop / (space.rails * row_mm * space.height_mm),
            (kind.width_mm + gap) * (kind.depth_mm + gap) * drop / (row_mm * across_mm * space.height_mm),
        )
        needs = [need + kind.count * one for need, one in zip(needs, each, strict=True)]
    return max(ceil(need - _SLACK) for need in needs)


def _too_large(kind: PartKind) -> Problem:
    size = f"{kind.width_mm:g} x {kind.depth_mm:g} x {kind.height_mm:g} mm, {kind.mass_kg:g} kg"
    mend = "Take another oven, take it apart, or hang it another way."
    return Problem(kind.name, size, "small and light enough for the oven", mend)


def _alike(space: HangingSpace, at: int, kinds: list[PartKind]) -> Alike:
    kind, ways = kinds[0], []
    for turned in (False, True) if kind.may_turn else (False,):
        along, deep = (kind.depth_mm, kind.width_mm) if turned else (kind.width_mm, kind.depth_mm)
        room = per_load_alike(
            space, width_mm=along, depth_mm=deep, height_mm=kind.height_mm, mass_kg=kind.mass_kg, may_turn=False
        )
        lost, every = places(space, deep)
        drop, along = kind.height_mm + space.hook_mm, along + space.clearance_mm
        if room:
            ways.append((int(room), HangingWay(int(every), int(lost), drop, along, deep, kind.mass_kg, turned, at)))
    most = max((room for room, _ in ways), default=0)
    best = (min(way for room, way in ways if room == most), min(way for _, way in ways)) if ways else ()
    return Alike(", ".join(k.name for k in kinds), sum(int(k.count) for k in kinds), most, best)
