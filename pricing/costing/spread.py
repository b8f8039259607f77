"""How unlike jobs and hands are: the factors that draws put on attended minutes, and the shop's numbers for them.

Takes    a shop, and its three-point numbers as they stand or as a slider has moved them.
Gives    what is drawn: the doubt about each mean, how each step differs from job to job, one factor for a whole job and
         one for the owner's speed. Each factor is log-normal with a mean of 1, so that no mean cost moves.
From     a rate that the log taught says how jobs differ by its points, and how well its mean is known by its
         ``doubt``; the rates of such a step are not drawn beside that, for the log knows their sum better than each.
         For all others the facts say what is usual (``ledger.scatter_gsd``, ``spread.job``, ``spread.owner``).
"""

from collections.abc import Mapping
from math import exp, log, sqrt
from typing import Final

from pricing.basis.facts import fact, facts
from pricing.costing.draws import Known
from pricing.costing.strata import ThreePoints
from pricing.shop.rates import Z95, Assumption
from pricing.shop.shop import Shop
from pricing.steps.uneven import DOUBT, SHARED_JOB, SHARED_OWNER, VARY

SPREADS = {"spread.job": SHARED_JOB, "spread.owner": SHARED_OWNER}
"""Numbers of the shop that say how wide a shared factor is, as geometric standard deviations."""
_LEAST = 0.02  # a step that never differs at all is not believed


class Factor:
    """A log-normal factor with a mean of 1, as three points.

    Parameters
    ----------
    log_sd : float
        Standard deviation of its logarithm.
    """

    shape: Final = "lognormal"

    def __init__(self, log_sd: float) -> None:
        self.likely = exp(-(log_sd**2) / 2)
        self.low, self.high = self.likely * exp(-Z95 * log_sd), self.likely * exp(Z95 * log_sd)


def spread_row(shop: Shop, key: str) -> Assumption:
    """Return the number of one of `SPREADS`: the shop's own, else the usual one of the facts."""
    if key in shop.assumptions:
        return shop.assumptions[key]
    row = facts()[key]
    likely = (6 * row.value - row.low - row.high) / 4  # three points whose mean is the value
    return Assumption(key, row.low, likely, row.high, "number", row.source, row.where, row.read_on, row.note)


def spread_of(shop: Shop, rows: Mapping[str, Assumption]) -> Known:
    """Return what is drawn of a shop's three-point numbers, as they stand or moved, and the factors on its minutes."""
    wide = {key: log(max(spread_row(shop, key).mean, 1.0)) for key in SPREADS}
    shared = wide["spread.job"]
    hands: dict[str, list[Assumption]] = {}
    for key in shop.rates:
        step, _, gives = key.rsplit(".", 2)
        if gives == "hands":
            hands.setdefault(step, []).append(rows[key])
    drawn: dict[str, ThreePoints] = {SPREADS[key]: Factor(sd) for key, sd in wide.items()}
    taught: dict[str, float] = {}
    for step, mine in hands.items():
        logged = [row for row in mine if row.doubt > 1]
        whole = max((row.log_sd for row in logged), default=log(fact("ledger.scatter_gsd")))
        drawn[VARY + step] = Factor(sqrt(max(whole**2 - shared**2, _LEAST**2)))
        if logged:
            drawn[DOUBT + step] = Factor(log(max(row.doubt for row in logged)))
            taught |= {row.key: row.mean for row in logged}
    points: dict[str, ThreePoints] = {key: row for key, row in rows.items() if key not in taught}
    return Known(points | drawn, {**shop.book, **taught})
