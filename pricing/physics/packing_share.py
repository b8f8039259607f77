"""Loads that kinds of parts share: which kinds go together, and how.

Takes    kinds with the ways they hang, an oven's ``HangingSpace``.
Gives    batches of loads that hang alike; never more than each kind takes by itself.
"""

from bisect import bisect_left
from collections.abc import Iterator
from functools import cache
from itertools import combinations, pairwise, permutations
from typing import NamedTuple

from pricing.physics.packing import HangingSpace
from pricing.physics.packing_load import Batch, HangingWay, Hung, RailRow, hang

_MOST_GROUPED = 8  # kinds of which every grouping is tried


class Alike(NamedTuple):
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


class LoadPlan:
    """Loads for kinds of one cure."""

    def __init__(self, space: HangingSpace, kinds: list[Alike]) -> None:
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
