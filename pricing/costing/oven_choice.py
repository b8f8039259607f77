"""Which oven a job goes into: the one in which all its visits together cost least.

Room     costing. Imports basis, parts, shop, steps.
"""

from collections.abc import Mapping, Sequence
from functools import lru_cache

import numpy as np

from pricing.basis.checks import Floats
from pricing.basis.same import Same
from pricing.costing.limits import set_points, too_hot
from pricing.costing.lines import line_of
from pricing.costing.loops import redone_work
from pricing.parts.work import Work
from pricing.shop.finishes import Finish
from pricing.shop.powders import Powder
from pricing.shop.shop import Shop
from pricing.steps.route import Visit, oven_route
from pricing.steps.step import Equations, Setting, equations_of, use_of

_LAST_RESORT = 1e12  # money: an oven that may not be set so hot comes after all others
_LAST_RESORT = 1e12  # money: an oven that may not be set so hot comes after all others
_BY_LOAD = ("outgas", "partial_cure", "full_cure", "cool")
"""Steps whose cost depends on the oven."""


@lru_cache(maxsize=16)
def equations(shop: Same[Shop]) -> Equations:
    """Sort the shop's rates by step, once."""
    return equations_of(shop.thing)


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

    Parameters
    ----------
    work : Work
        Amounts; floats or arrays. An oven that it gives is taken.
    shop, finish, powders
        What is coated how.

    Returns
    -------
    Work
        With ``oven`` holding 1 for the oven used and 0 for the others.

    Notes
    -----
    Counted are all visits of the job, with the hands that load them and with those of rejects done again. Draws do
    not change the choice: an owner does not move to the other oven in the middle.
    """
    if work.given is not None:
        return work.in_oven(work.given.oven)
    return work.in_oven(_marks(Same(work), Same(shop), Same(finish), tuple(map(_Baked, powders))))


@lru_cache(maxsize=256)
def _marks(
    work: Same[Work], shop: Same[Shop], finish: Same[Finish], powders: tuple["_Baked", ...]
) -> Mapping[str, Floats]:  # fmt: skip
    asked, ovens = work.thing, shop.thing.machines.oven
    points = set_points(finish.thing, [powder.thing for powder in powders], shop.thing)
    prices: list[Floats] = []
    for oven in ovens:
        fits = ~np.isnan(asked.fill[oven.name])
        if not np.any(fits):
            prices.append(np.where(fits, 0.0, np.inf))
            continue
        at = asked.in_oven({oven.name: 1.0})
        total = _of_visits(oven_route(at, finish.thing), at, shop.thing, finish.thing, powders)
        again = redone_work(at, finish.thing, shop.thing, shop.thing.book).work
        total = total + _of_visits(oven_route(again, finish.thing, redo=True), again, shop.thing, finish.thing, powders)
        hot = [float(too_hot(points, oven, baked=part.baked)) for part in asked.hot.parts]
        total = total + _LAST_RESORT * asked.hot.spread(np.array(hot))  # the sheet then says that it is refused
        prices.append(np.where(fits, total, np.inf))
    best = np.argmin(np.stack([np.broadcast_to(p, np.shape(asked.parts)) for p in prices]), axis=0)
    marks: dict[str, Floats] = {}
    for number, oven in enumerate(ovens):
        mark = np.where(best == number, 1.0, 0.0)
        if np.any(mark):
            marks[oven.name] = float(mark) if mark.ndim == 0 else mark
    return marks


def _of_visits(
    visits: Sequence[Visit], work: Work, shop: Shop, finish: Finish, powders: Sequence["_Baked"]
) -> Floats:  # fmt: skip
    rows = equations(Same(shop))
    total: Floats = 0.0
    for step, number in visits:
        coat = finish.coats[max(number, 1) - 1]
        setting = Setting(shop, shop.book, finish, coat, number, powders[coat.powder - 1].thing)
        use = use_of(step, work, setting, rows.get(step.key, ()))
        total = total + line_of(step.key, number, (use,), shop, shop.book).total
    return total
