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
from pricing.costing.draws import Known
from pricing.costing.job_cost import JobCost
from pricing.costing.plan import Plan
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


def map_plan(shop: Shop, job: Job, *, finish: str = "") -> Plan:
    """Make a job's cost ready for many maps: all its sums done, save those that wiping takes part in.

    Parameters
    ----------
    shop, job
        As in `pricing.costing.sheet.cost`.
    finish : str
        The wiped finish; without it, the job's own.

    Raises
    ------
    BadInput
        The finish is not wiped, or the job cannot be costed.
    """
    model = JobCost.of(shop, job, finish=finish)
    if model.finish.line != "wiped":
        accepts = "a finish whose line is wiped"
        raise BadInput("premium map", [Problem("finish", model.finish.title, accepts)])
    return Plan(model, Known({WIPE: shop.rates[WIPE]}, dict(shop.book)), luck=False)


def premium_map(plan: Plan, *, plain_price: float, extra: Array, wipe_min_per_m: Array) -> PremiumMap:
    """Work out the map.

    Parameters
    ----------
    plan : Plan
        From `map_plan`; a slider keeps it.
    plain_price : float
        Net price of the plain finish. [money]
    extra : (n,) array
        Two-tone extras. [money]
    wipe_min_per_m : (m,) array
        Wiping times. [min/m]

    Raises
    ------
    BadInput
        A value is negative, a price is not above zero, or the map is too large.
    """
    extra, wipe = np.asarray(extra, dtype=np.float64), np.asarray(wipe_min_per_m, dtype=np.float64)
    nonneg("premium map", wipe_min_per_m=wipe)
    price = plain_price + extra
    bad = []
    if not (price > 0).all():
        bad.append(Problem("price", float(price.min()), "above 0 with every extra"))
    if extra.size * wipe.size > MOST_CELLS:
        bad.append(Problem("map", f"{extra.size} x {wipe.size}", f"at most {MOST_CELLS:,} cells"))
    if bad:
        raise BadInput("premium map", bad)
    cost = plan.on({WIPE: wipe}, wipe.size)
    margin = np.multiply((-1 / price)[:, None], cost[None, :])
    margin += 1
    return PremiumMap(extra, wipe, margin, cost - plain_price)
