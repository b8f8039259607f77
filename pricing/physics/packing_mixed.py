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

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import combinations, pairwise, permutations
from math import ceil
from typing import NamedTuple

from pricing.basis.errors import BadInput, Problem
from pricing.physics.packing import HangingSpace, HangingWay, Hung, hang, per_load_alike, places

_SLACK = 1e-9  # a part that fits exactly must not be lost to rounding
_MOST_GROUPED = 8  # kinds of which every grouping is tried


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
    """

    name: str
    count: int
    width_mm: float
    depth_mm: float
    height_mm: float
    mass_kg: float
    may_turn: bool = True
    cure: str = ""


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
    batches = tuple(batch for every in ready for batch in _LoadPlan(space, every).batches())
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


class _Alike(NamedTuple):
    """Kinds that differ in name only: their names, how many one load takes, and two ways to hang them."""

    name: str
    pieces: int
    room: int
    ways: tuple[HangingWay, ...]  # the one that most go in, and the shallowest

    @property
    def alone(self) -> int:
        """Loads when nothing else shares them."""
        return -(-self.pieces // self.room)


_Parts = tuple[tuple[int, int], ...]  # kinds by number, and pieces of each


class _Share(NamedTuple):
    """Loads of kinds that share them: so many hang alike, with these parts; what is left of a kind hangs alone."""

    loads: int
    alike: int
    parts: _Parts


class _LoadPlan:
    """Loads for kinds of one cure."""

    def __init__(self, space: HangingSpace, kinds: list[_Alike]) -> None:
        self.space, self.kinds = space, kinds
        self.hung = cache(self._hung)
        self.shared = cache(self._shared)
        self.split = cache(self._split)

    def batches(self) -> Iterator[Batch]:
        """Yield what hangs in the loads."""
        order = tuple(sorted(range(len(self.kinds)), key=lambda at: self.kinds[at].ways[0], reverse=True))
        for at in reversed(range(len(order))):
            self.split(order[at:])  # short ends first, so that many kinds do not stack up calls
        for group in self.split(order)[1]:
            share = self.shared(group)
            if not share.parts:
                for at in group:
                    yield from self._batch(self.kinds[at].alone - 1, ((at, self.kinds[at].room),))
                yield from self._batch(1, self._last(group))
            yield from self._filled(share)
            for at, each in share.parts:
                room, rest = self.kinds[at].room, self.kinds[at].pieces - share.alike * each
                if rest > 0:
                    yield from self._batch((rest - 1) // room, ((at, room),))
                    yield from self._batch(1, ((at, (rest - 1) % room + 1),))

    def _split(self, left: tuple[int, ...]) -> tuple[int, list[tuple[int, ...]]]:
        """Split kinds into groups that need the fewest loads in all."""
        if not left:
            return 0, []
        least = max(self.kinds[at].alone for at in left)
        best = (sum(self.kinds[at].alone for at in left) + 1, list[tuple[int, ...]]())
        for size in range(min(len(left), _MOST_GROUPED), 0, -1):
            few = len(self.kinds) <= _MOST_GROUPED
            for others in combinations(left[1:], size - 1) if few else [left[1:size]]:
                group = (left[0], *others)
                rest, groups = self.split(tuple(at for at in left if at not in group))
                loads = self.shared(group)[0] + rest
                if loads < best[0]:
                    best = loads, [group, *groups]
                if loads == least:
                    return best
        return best

    def _shared(self, group: tuple[int, ...]) -> _Share:
        """Find the fewest loads of kinds that share them.

        Only their last loads, after full loads of each kind; or all, evenly; or of two kinds one evenly, the
        other as far as there is room, and its rest by itself. Each way asks no less for a part more.
        """
        alone = [self.kinds[at].alone for at in group]
        last = self.hung(self._last(group)) is not None
        best = _Share(sum(alone) - (len(alone) - 1) if last else sum(alone) + 1, 0, ())
        fewer = range(max(alone), best.loads)
        found = bisect_left(fewer, True, key=lambda loads: self.hung(self._evenly(group, loads)) is not None)
        if found < len(fewer):
            best = _Share(fewer[found], fewer[found], self._evenly(group, fewer[found]))
        if len(group) == 2:
            for one, other in permutations(group):
                best = min([best, *self._with_rest(one, other, best.loads)], key=lambda share: share.loads)
        return best

    def _evenly(self, group: tuple[int, ...], loads: int) -> _Parts:
        return tuple((at, -(-self.kinds[at].pieces // loads)) for at in group)

    def _with_rest(self, one: int, other: int, most: int) -> Iterator[_Share]:
        """Yield loads with so many of one kind and what else they take of the other, whose rest hangs alone."""
        pieces, count, room = self.kinds[one].pieces, self.kinds[other].pieces, self.kinds[other].room
        loads = self.kinds[one].alone
        while loads < most:
            each = -(-pieces // loads)
            beside = range(min(room, count), 0, -1)
            found = bisect_left(beside, True, key=lambda n: self.hung(((one, each), (other, n))) is not None)
            if found < len(beside):
                rest = max(0, count - loads * beside[found])
                yield _Share(loads - -rest // room, loads, ((one, each), (other, beside[found])))
            loads = -(-pieces // (each - 1)) if each > 1 else most  # as many loads as make it one less in each

    def _filled(self, share: _Share) -> Iterator[Batch]:
        """Yield alike loads until each kind is used up."""
        whole = {at: min(self.kinds[at].pieces // each, share.alike) for at, each in share.parts}
        cuts = {0, share.alike} | {min(loads + more, share.alike) for loads in whole.values() for more in (0, 1)}
        for begin, end in pairwise(sorted(cuts)):
            left = ((at, self.kinds[at].pieces - begin * each, each) for at, each in share.parts)
            yield from self._batch(end - begin, tuple((at, min(rest, each)) for at, rest, each in left if rest > 0))

    def _last(self, group: tuple[int, ...]) -> _Parts:
        """What each kind has left after its full loads: one part to one full load."""
        kinds = ((at, self.kinds[at]) for at in group)
        return tuple((at, kind.pieces - (kind.alone - 1) * kind.room) for at, kind in kinds)

    def _batch(self, loads: int, parts: _Parts) -> Iterator[Batch]:
        rows = [
            RailRow(rail, tier, self.kinds[way.kind].name, way.turned, pieces)
            for rail, tier, way, pieces in self.hung(parts) or ()
        ]
        if loads:
            yield Batch(loads, tuple(rows))

    def _hung(self, parts: _Parts) -> Hung | None:
        """Hang parts in one load: each the shallowest way, else each the way most go in."""
        closest, shallowest = ([(self.kinds[at].ways[way], count) for at, count in parts] for way in (0, 1))
        return hang(self.space, shallowest) or hang(self.space, closest)


def _alike(space: HangingSpace, at: int, kinds: list[PartKind]) -> _Alike:
    kind, ways = kinds[0], []
    for turned in (False, True) if kind.may_turn else (False,):
        along, deep = (kind.depth_mm, kind.width_mm) if turned else (kind.width_mm, kind.depth_mm)
        room = per_load_alike(
            space, width_mm=along, depth_mm=deep, height_mm=kind.height_mm, mass_kg=kind.mass_kg, may_turn=False
        )
        lost, every = places(space, deep)
        drop, along = kind.height_mm + space.hook_mm, along + space.clearance_mm
        if room:
            ways.append((int(room), HangingWay(every, lost, drop, along, deep, kind.mass_kg, turned, at)))
    most = max((room for room, _ in ways), default=0)
    best = (min(way for room, way in ways if room == most), min(way for _, way in ways)) if ways else ()
    return _Alike(", ".join(k.name for k in kinds), sum(k.count for k in kinds), most, best)
