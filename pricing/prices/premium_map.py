"""A map of what is left of the price: two-tone extra by wiping time, 400 by 400 if wanted.

Takes    a job, the price of its plain finish, extras and wiping times.
Gives    the margin at each pair, and the break-even extra for each wiping time.
Why      the cost does not depend on the extra: it is worked out once for each wiping time and spread over
         the extras, so the map costs little more than one column of it.
Room     prices. Imports basis, costing, parts, shop, questions.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pricing.basis.checks import nonneg
from pricing.basis.errors import BadInput, Problem
from pricing.costing.job_cost import JobCost
from pricing.parts.job import Job
from pricing.prices.questions import WIPE
from pricing.shop.shop import Shop

Array = npt.NDArray[np.float64]

MOST_CELLS = 4_000_000


@dataclass(frozen=True)
class PremiumMap:
    """Margin by extra (rows) and wiping time (columns).

    Parameters
    ----------
    extra : (n,) array
        Two-tone extras. [money]
    wipe_min_per_m : (m,) array
        Wiping times. [min/m]
    margin_share : (n, m) array
        Share of the price that is left.
    break_even_extra : (m,) array
        Extra at which nothing is left over. [money]
    """

    extra: Array
    wipe_min_per_m: Array
    margin_share: Array
    break_even_extra: Array


def premium_map(
    shop: Shop, job: Job, *, plain_price: float, extra: Array, wipe_min_per_m: Array, finish: str = ""
) -> PremiumMap:
    """Work out the map.

    Parameters
    ----------
    shop, job
        As in `pricing.costing.sheet.cost`.
    plain_price : float
        Net price of the plain finish. [money]
    extra : (n,) array
        Two-tone extras. [money]
    wipe_min_per_m : (m,) array
        Wiping times. [min/m]
    finish : str
        The wiped finish; without it, the job's own.

    Raises
    ------
    BadInput
        The finish is not wiped, a value is negative, a price is not above zero, or the map is too large.
    """
    extra, wipe = np.asarray(extra, dtype=np.float64), np.asarray(wipe_min_per_m, dtype=np.float64)
    nonneg("premium map", wipe_min_per_m=wipe)
    model = JobCost.of(shop, job, finish=finish)
    price = plain_price + extra
    bad = []
    if model.finish.line != "wiped":
        bad.append(Problem("finish", model.finish.title, "a finish whose line is wiped"))
    if not (price > 0).all():
        bad.append(Problem("price", float(price.min()), "above 0 with every extra"))
    if extra.size * wipe.size > MOST_CELLS:
        bad.append(Problem("map", f"{extra.size} x {wipe.size}", f"at most {MOST_CELLS:,} cells"))
    if bad:
        raise BadInput("premium map", bad)
    cost = np.broadcast_to(np.asarray(model({**shop.book, WIPE: wipe}), dtype=np.float64), wipe.shape)
    margin = np.multiply((-1 / price)[:, None], cost[None, :])
    margin += 1
    return PremiumMap(extra, wipe, margin, cost - plain_price)
