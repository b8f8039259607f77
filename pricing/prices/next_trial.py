"""Which two prices to try next, and whether that pays.

Takes    what a week leaves and wins at multiples of the list, for each of many curves that may be true.
Gives    a `NextTrial`: the two ends of what is advised, asked in turn; None where it is not worth it.
Why      the range of the advice says where the best may lie, and how far to either side: quotes at its ends tell which
         end is nearer, and it narrows as the log grows, or moves beyond what was tried before.
Worth    of the trial: for every number of quotes that may be won at either end, the multiple that would be advised
         then, against the one advised now (expected value of sample information; H. Raiffa, R. Schlaifer, "Applied
         statistical decision theory", 1961; from memory), less what its quotes leave less than the advised price.
"""

from typing import NamedTuple

import numpy as np

from pricing.basis.arrays import Array
from pricing.basis.facts import fact


class NextTrial(NamedTuple):
    """Two prices to ask in turn, times the list; what a week leaves more for knowing, and what trying costs. [money]"""

    low: float
    high: float
    more_per_week: float
    costs: float


def best_for_all(left: Array) -> int:
    """Find the multiple that brings the largest share of what could be had, in the mean over the curves (k, m)."""
    return int(np.argmax(_shares_of_best(left).mean(axis=0)))


def next_trial(
    left: Array, won: Array, grid: Array, ends: tuple[float, float], come_per_week: float
) -> NextTrial | None:
    """Work out which two prices to try next, and whether it is worth it.

    By what a week leaves [money/week] and the share of the enquiries that is won, both by curve and multiple (k, m);
    the multiples (m,), the ends of the range that is advised, and how many enquiries come.
    """
    low, high = (int(np.argmin(np.abs(grid - end))) for end in ends)
    if grid[high] / grid[low] < 1 + fact("advise.least_step"):
        return None
    shares, best = _shares_of_best(left), best_for_all(left)
    quotes = fact("advise.trial_quotes")
    each = round(quotes / 2)
    at_low, at_high = _chances(won[:, low], each), _chances(won[:, high], each)
    told = (at_low[:, :, None] * at_high[:, None, :]).reshape(len(left), -1)
    knowing = (told.T @ shares).max(axis=1).sum() / len(left) - shares[:, best].mean()
    week = float(left.max(axis=1).mean())
    less = left[:, best].mean() - left[:, [low, high]].mean()
    found = NextTrial(float(grid[low]), float(grid[high]), week * knowing, float(less * quotes / come_per_week))
    pays = found.more_per_week - found.costs / fact("advise.list_weeks")
    return found if pays > week * fact("advise.least_gain") else None


def _shares_of_best(left: Array) -> Array:
    return np.asarray(left / np.maximum(left.max(axis=1, keepdims=True), 1e-9))


def _chances(chance: Array, tries: int) -> Array:
    """Work out the chance of each number won (k, tries + 1)."""
    from scipy.stats import binom  # heavy: only where advice is asked

    return np.asarray(binom.pmf(np.arange(tries + 1), tries, chance[:, None]))
