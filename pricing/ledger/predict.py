"""Minutes of a new job from the fit of its step: typical, mean, and the interval.

Takes    a `StepFit` and amounts.
Gives    `Predicted`. The interval is by Student's t, widened by the chance of an overrun, which a short log
         does not know: it is taken larger by a part of its standard error (`ledger.odd_doubt`).
"""

from dataclasses import dataclass

import numpy as np

from pricing.basis.arrays import Array
from pricing.ledger.fit import StepFit, assumptions
from pricing.ledger.intervals import t_quantile


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
    low, high = _quantile(fit, error, np.array([[tail], [1 - tail]]))
    return Predicted(typical, typical * fit.mean_factor, typical * np.exp(low), typical * np.exp(high))


def _quantile(fit: StepFit, error: Array, chance: Array) -> Array:
    """Quantiles of the log ratio, a row for each chance; the chance of an overrun widens them."""
    if len(error) > _NODES:  # a smooth function of the error, which differs little from job to job
        nodes = np.linspace(error.min(), error.max(), _NODES)
        return np.stack([np.interp(error, nodes, found) for found in _quantile(fit, nodes, chance)])
    from scipy.special import gammaln, ndtr, stdtr  # heavy: a quarter of a second

    state, take = fit.state, assumptions()
    # a short log has met too few overruns to know how many come
    known = np.sqrt(state.share * (1 - state.share) / (take.odd_rows + fit.rows))
    share = min(state.share + take.odd_doubt * known, 0.49)
    plain = error * np.array([[float(t_quantile(fit.df, float(c)))] for c in chance[:, 0]])
    reach = np.maximum(np.abs(plain), abs(state.over_centre)) + 8 * state.over_spread
    low, high, at, still = -reach, reach, plain, np.zeros(plain.shape, dtype=bool)
    top = float(np.exp(gammaln((fit.df + 1) / 2) - gammaln(fit.df / 2))) / np.sqrt(fit.df * np.pi)
    for _ in range(60):  # Newton's steps, halving where one would leave the bracket
        far, over = at / error, (at - state.over_centre) / state.over_spread
        off = (1 - share) * stdtr(fit.df, far) + share * ndtr(over) - chance
        low, high = np.where(off < 0, at, low), np.where(off < 0, high, at)
        slope = (1 - share) * top * (1 + far**2 / fit.df) ** (-(fit.df + 1) / 2) / error
        slope = slope + share * np.exp(-(over**2) / 2) / (state.over_spread * _ROOT_2PI)
        step = off / np.maximum(slope, 1e-300)
        new = np.where((at - step > low) & (at - step < high), at - step, (low + high) / 2)
        new = np.where(still, at, new)  # whoever has arrived stays, so that no job's range hangs on its neighbours
        still |= np.abs(new - at) < 1e-11  # log units: far below a printed digit
        at = new
        if still.all():
            break
    return np.asarray(at)


_ROOT_2PI = float(np.sqrt(2 * np.pi))
_NODES = 12
