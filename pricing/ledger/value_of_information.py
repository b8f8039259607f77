"""Which step to time next: the one whose uncertainty costs most.

Takes    last year's quotes (minutes by step) and what is known of each step.
Gives    `TimingWorth` rows in money: the value of knowing a step for certain, and of timing a few more jobs.
Model    a price rests on the cost that is believed. Where a step truly takes longer, knowing it would have put the
         shortfall into the price; where it takes less, knowing it would have won orders or been seen as margin: both
         directions count. For a normal uncertainty s of the cost that is s times twice the unit normal loss integral
         at zero (decision analysis; from memory). Timing is worth the part of s that a few more jobs take away.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import pi, sqrt

import numpy as np

from pricing.basis.facts import fact
from pricing.costing.sheet import cost
from pricing.ledger.calibrate import Calibration
from pricing.ledger.quotes import hand_minutes
from pricing.parts.items import read_items
from pricing.parts.job import Job, Lot
from pricing.shop.rates import Assumption
from pricing.shop.shop import Shop


@dataclass(frozen=True, slots=True)
class TimingWorth:
    """What it is worth to know one step better.

    Parameters
    ----------
    step : str
        Step.
    minutes : float
        Attended minutes of it in the quotes. [min]
    jobs : int
        Logged so far.
    unsure : float
        Standard deviation of its mean time, as a share.
    knowing : float
        Value of knowing it for certain, on these quotes. [money]
    timing : float
        Value of timing ``ledger.more_jobs`` more. [money]
    """

    step: str
    minutes: float
    jobs: int
    unsure: float
    knowing: float
    timing: float


_MISS = 2 / sqrt(2 * pi)
"""Twice the unit normal loss integral at zero: mean distance of a standard normal from its middle."""


def worth(
    quotes: Sequence[Mapping[str, object]],
    shop: Shop,
    calibration: Calibration,
    beliefs: Mapping[str, Assumption],
) -> list[TimingWorth]:
    """Rank the steps by what better knowledge of them is worth.

    Parameters
    ----------
    quotes : sequence of mapping
        Rows of the table ``quotes``, of a year.
    shop : Shop
        For what a minute costs.
    calibration : Calibration
        What the log says so far.
    beliefs : mapping
        The rates before the log, for steps that were never timed.

    Returns
    -------
    list of TimingWorth
        The dearest ignorance first.
    """
    steps: dict[str, float] = {}
    for row in quotes:
        for step, minutes in row["minutes"].items():  # type: ignore[attr-defined]
            steps[step] = steps.get(step, 0.0) + float(minutes)
    found = []
    for step, minutes in steps.items():
        fit = calibration.known(step, beliefs)
        if fit is None:
            continue
        seen = calibration.steps[step].seen.amounts if step in calibration.steps else np.empty((0, len(fit.guesses)))
        share = fit.usual_mix(seen)
        now, then = fit.unsure(share), fit.unsure(share, round(fact("ledger.more_jobs")))
        at_stake = minutes * _money_per_min(shop, step) * _MISS
        timing = at_stake * sqrt(max(now**2 - then**2, 0.0))
        found.append(TimingWorth(step, minutes, fit.rows, now, at_stake * now, timing))
    return sorted(found, key=lambda row: -row.timing)


def one_of_each(shop: Shop) -> list[dict[str, dict[str, float]]]:
    """Collect minutes by step of every item of the price list, in both its finishes, in place of quotes.

    Raises
    ------
    BadInput
        With every problem of its items.
    """
    found = []
    for item in read_items(shop).values():
        for finish in (item.single, item.two_tone):
            lots = (Lot(part=item.part, quantity=item.pieces),)
            job = Job(title=item.title, finish=finish, powders=item.powders, lots=lots)
            found.append({"minutes": hand_minutes(cost(shop, job))})
    return found


def _money_per_min(shop: Shop, step: str) -> float:
    """Money of one rate minute: who works, overhead, and the rest that comes on top."""
    book = shop.book
    helped = book["helper.share"] if shop.helper and step in shop.helper.steps else 0.0
    hour = helped * book["hour.helper"] + (1 - helped) * book["hour.owner"] + book["hour.overhead"]
    return hour / 60.0 * (1.0 + book["rest.allowance"])
