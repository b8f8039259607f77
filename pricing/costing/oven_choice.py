"""Which oven a job goes into: the one in which all its visits together cost least."""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from pricing.basis.checks import Floats
from pricing.basis.identity import Same
from pricing.costing.limits import set_points
from pricing.costing.lines import line_of
from pricing.costing.loops import redone_work
from pricing.parts.work import Work
from pricing.shop.finishes import Finish
from pricing.shop.powders import Powder
from pricing.shop.shop import Book, Shop
from pricing.steps.route import Visit, oven_route, uses_of

_LAST_RESORT = 1e12  # money: an oven that may not be set so hot comes after all others


class _Baked:
    """A powder as the ovens see it: equal to every powder of the same schedule."""

    __slots__ = ("key", "thing")

    def __init__(self, powder: Powder) -> None:
        self.thing, self.key = powder, (powder.cure_degC, powder.dwell_min)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Baked) and other.key == self.key

    def __hash__(self) -> int:
        return hash(self.key)


def choose_oven(work: Work, shop: Shop, finish: Finish, powders: Sequence[Powder]) -> Work:
    """Mark, for each job, the oven in which its visits cost least, at the shop's mean numbers.

    ``oven`` holds 1 for the oven used and 0 for the others.

    Notes
    -----
    Counted are all visits of the job, with the hands that load them and with those of rejects done again. Draws do
    not change the choice: an owner does not move to the other oven in the middle.
    """
    return _chosen(Same(work), Same(shop), Same(finish), tuple(map(_Baked, powders)))


@lru_cache(maxsize=256)
def _chosen(work: Same[Work], shop: Same[Shop], finish: Same[Finish], powders: tuple["_Baked", ...]) -> Work:
    asked, used = work.thing, [powder.thing for powder in powders]
    prices = oven_prices(asked, shop.thing, finish.thing, used, shop.thing.book).values()
    best = np.argmin(np.stack([np.broadcast_to(p, np.shape(asked.parts)) for p in prices]), axis=0)
    marks: dict[str, Floats] = {}
    for number, oven in enumerate(shop.thing.machines.oven):
        mark = np.where(best == number, 1.0, 0.0)
        if np.any(mark):
            marks[oven.name] = float(mark) if mark.ndim == 0 else mark
    return asked.in_oven(marks)


def oven_prices(work: Work, shop: Shop, finish: Finish, powders: Sequence[Powder], book: Book) -> dict[str, Floats]:
    """Collect what the choice goes by: what the job's visits cost in each oven, inf where it does not fit. [money]."""
    points = set_points(finish, list(powders), shop)
    prices: dict[str, Floats] = {}
    visits = oven_route(work, finish), oven_route(work, finish, redo=True)
    redone = redone_work(work, finish, shop, book).work
    for oven in shop.machines.oven:
        fits = ~np.isnan(work.fill[oven.name])
        if not np.any(fits):
            prices[oven.name] = np.where(fits, 0.0, np.inf)
            continue
        here = {oven.name: 1.0}
        total = _of_visits(visits[0], work.in_oven(here), shop, finish, powders, book)
        total = total + _of_visits(visits[1], redone.in_oven(here), shop, finish, powders, book)
        hot = [float(points.hottest_degC(baked=part.baked) > oven.hottest_degC) for part in work.hot.parts]
        total = total + _LAST_RESORT * work.hot.spread(np.array(hot))  # the sheet then says that it is refused
        prices[oven.name] = np.where(fits, total, np.inf)
    return prices


def _of_visits(
    visits: Sequence[Visit], work: Work, shop: Shop, finish: Finish, powders: Sequence[Powder], book: Book
) -> Floats:
    total: Floats = 0.0
    for use in uses_of(visits, work, shop, finish, powders, book):
        total = total + line_of(use.step, use.coat, (use,), shop, book).total
    return total
