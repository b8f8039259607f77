"""Which oven a job goes into: the cheaper of those that take its parts.

Room     costing. Imports basis, parts, shop, steps.
"""

from collections.abc import Sequence

import numpy as np

from pricing.basis.checks import Floats
from pricing.costing.lines import line_of
from pricing.parts.work import Work
from pricing.shop.finishes import Finish
from pricing.shop.powders import Powder
from pricing.shop.shop import Book, Shop
from pricing.steps.bake import FULL_CURE
from pricing.steps.step import Setting, use_of


def choose_oven(work: Work, shop: Shop, finish: Finish, powders: Sequence[Powder]) -> Work:
    """Mark, for each job, the oven whose full cure costs least, at the shop's mean numbers.

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
    Draws do not change the choice: an owner does not move to the other oven in the middle.
    """
    last = finish.coats[-1]
    powder = powders[last.powder - 1]
    key = ("oven", powder.cure_degC, powder.dwell_min)
    if key in work.hot.memo:
        return work.in_oven(work.hot.memo[key])
    prices = list(oven_prices(work, shop, finish, powders, shop.book).values())
    best = np.argmin(np.stack([np.broadcast_to(p, np.shape(work.parts)) for p in prices]), axis=0)
    marks: dict[str, Floats] = {}
    for number, oven in enumerate(shop.machines.oven):
        mark = np.where(best == number, 1.0, 0.0)
        if np.any(mark):
            marks[oven.name] = float(mark) if mark.ndim == 0 else mark
    work.hot.memo[key] = marks
    return work.in_oven(marks)


def oven_prices(work: Work, shop: Shop, finish: Finish, powders: Sequence[Powder], book: Book) -> dict[str, Floats]:
    """Give what the choice of an oven goes by, for each oven: what the full cure costs in it. [money].

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
    last = finish.coats[-1]
    setting = Setting(shop, book, finish, last, len(finish.coats), powders[last.powder - 1])
    prices: dict[str, Floats] = {}
    for oven in shop.machines.oven:
        fits = ~np.isnan(work.fill[oven.name])
        if not np.any(fits):
            prices[oven.name] = np.where(fits, 0.0, np.inf)
            continue
        use = use_of(FULL_CURE, work.in_oven({oven.name: 1.0}), setting, ())
        prices[oven.name] = np.where(fits, line_of("full_cure", 0, (use,), shop, book).total, np.inf)
    return prices
