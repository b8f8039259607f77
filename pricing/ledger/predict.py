"""Minutes of a new job from the fit of its step: typical, mean, and the interval.

Takes    a `StepFit` and amounts.
Gives    `Predicted`. The interval is by Student's t, widened by the chance of an overrun.
Room     ledger. Imports fit, intervals, mixture.
"""

from dataclasses import dataclass

import numpy as np

from pricing.ledger.fit import StepFit
from pricing.ledger.intervals import t_quantile
from pricing.ledger.mixture import Array


@dataclass(frozen=True, slots=True)
class Predicted:
    """Minutes of a new job: typical, mean, and the ends of the interval."""

    typical: Array
    mean: Array
    low: Array
    high: Array


def predict(fit: StepFit, amounts: Array, level: float = 0.9) -> Predicted:
    """Predict new jobs of one step.

    Parameters
    ----------
    fit : StepFit
        What the log says.
    amounts : (m, k) array
        Amount of each driver.
    level : float
        Chance that a new job lies inside the interval, overruns included.

    Examples
    --------
    >>> from pricing.ledger.fit import Guess, fit_step
    >>> none_yet = fit_step(np.empty(0), np.empty((0, 1)), [Guess("part", 2.0, 3.0, 6.0)])
    >>> round(float(predict(none_yet, np.array([[10.0]])).mean[0]), 1)
    33.3
    """
    parts = np.asarray(amounts, dtype=np.float64) * fit.typical
    typical = parts.sum(axis=1)
    share = parts / typical[:, None]
    error = np.sqrt(fit.state.scatter**2 + np.einsum("ij,jk,ik->i", share, fit.covariance, share))
    tail = (1 - level) / 2
    low, high = (_quantile(fit, error, chance) for chance in (tail, 1 - tail))
    return Predicted(typical, typical * fit.mean_factor, typical * np.exp(low), typical * np.exp(high))


def _quantile(fit: StepFit, error: Array, chance: float) -> Array:
    """Quantile of the log ratio; the chance of an overrun widens it."""
    if len(error) > _NODES:  # a smooth function of the error, which differs little from job to job
        nodes = np.linspace(error.min(), error.max(), _NODES)
        return np.interp(error, nodes, _quantile(fit, nodes, chance))
    from scipy.special import ndtr, stdtr  # heavy: a quarter of a second

    share, state = fit.state.share, fit.state
    plain = error * float(t_quantile(fit.df, chance))
    reach = np.maximum(np.abs(plain), abs(state.over_centre)) + 8 * state.over_spread
    low, high = -reach, reach
    for _ in range(44):  # halving to a billionth of a printed digit
        middle = (low + high) / 2
        below = (1 - share) * stdtr(fit.df, middle / error)
        below = below + share * ndtr((middle - state.over_centre) / state.over_spread)
        low, high = np.where(below < chance, middle, low), np.where(below < chance, high, middle)
    return np.asarray((low + high) / 2)


_NODES = 12
