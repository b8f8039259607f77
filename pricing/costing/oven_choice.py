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
from pricing.shop.shop import Book, Shop
from pricing.steps.route import Visit, redo_route, route
from pricing.steps.step import Equations, Setting, equations_of, use_of

_LAST_RESORT = 1e12  # money: an oven that may not be set so hot comes after all others
_BY_LOAD = ("outgas", "partial_cure", "full_cure", "cool")
"""Steps whose cost depends on the oven."""


@lru_cache(maxsize=16)
def equations(shop: Same[Shop]) -> Equations:
    """Sort the shop's rates by step, once."""
    return equations_of(shop.thing)


def choose_oven(work: Work, shop: Shop, finish: Finish, powders: Sequence[Powder]) -> Work:
    """Mark, for each job, the oven in which its visits cost least, at the shop's mean numbers.

    Parameters
    ----------
    work : Work
        Amounts; floats or arrays.
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
    used = tuple(Same(powder) for powder in powders)
    return work.in_oven(_marks(Same(work), Same(shop), Same(finish), used))


@lru_cache(maxsize=256)
def _marks(
    work: Same[Work], shop: Same[Shop], finish: Same[Finish], powders: tuple[Same[Powder], ...]
) -> Mapping[str, Floats]:  # fmt: skip
    asked, used = work.thing, [powder.thing for powder in powders]
    prices = oven_prices(asked, shop.thing, finish.thing, used, shop.thing.book).values()
    best = np.argmin(np.stack([np.broadcast_to(p, np.shape(asked.parts)) for p in prices]), axis=0)
    marks: dict[str, Floats] = {}
    for number, oven in enumerate(shop.thing.machines.oven):
        mark = np.where(best == number, 1.0, 0.0)
        if np.any(mark):
            marks[oven.name] = float(mark) if mark.ndim == 0 else mark
    return marks


def oven_prices(work: Work, shop: Shop, finish: Finish, powders: Sequence[Powder], book: Book) -> dict[str, Floats]:
    """Give what the choice of an oven goes by, for each oven: what the job's visits cost in it. [money].

    Parameters
    ----------
    work, shop, finish, powders
        As in `choose_oven`.
    book : mapping
        Numbers, or symbols.

    Returns
    -------
    dict
        inf where the parts do not fit.
    """
    used = [powders[coat.powder - 1] for coat in finish.coats]
    points = set_points(finish, list(powders), shop)
    prices: dict[str, Floats] = {}
    for oven in shop.machines.oven:
        fits = ~np.isnan(work.fill[oven.name])
        if not np.any(fits):
            prices[oven.name] = np.where(fits, 0.0, np.inf)
            continue
        at = work.in_oven({oven.name: 1.0})
        total = _of_visits(route(at, finish), at, shop, finish, used, book)
        again = redone_work(at, finish, shop, book).work
        total = total + _of_visits(redo_route(again, finish), again, shop, finish, used, book)
        hot = [float(too_hot(points, oven, baked=part.baked)) for part in work.hot.parts]
        total = total + _LAST_RESORT * work.hot.spread(np.array(hot))  # the sheet then says that it is refused
        prices[oven.name] = np.where(fits, total, np.inf)
    return prices


def _of_visits(
    visits: Sequence[Visit], work: Work, shop: Shop, finish: Finish, used: Sequence[Powder], book: Book
) -> Floats:  # fmt: skip
    rows = equations(Same(shop))
    total: Floats = 0.0
    for step, number in visits:
        if step.key in _BY_LOAD:
            at = max(number, 1) - 1
            setting = Setting(shop, book, finish, finish.coats[at], number, used[at])
            use = use_of(step, work, setting, rows.get(step.key, ()))
            total = total + line_of(step.key, number, (use,), shop, book).total
    return total
