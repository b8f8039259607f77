"""Two kinds of logged times: those of the work itself, and those that something overran or mistyped.

Takes    log minutes, amounts of each driver, and what was believed before (`Belief`).
Gives    the most plausible `MixtureState`, and the covariance of the log rates.
Model    minutes = (sum of rate x amount) x exp(e); e is normal with spread ``scatter`` for the work,
         or, for a small share of rows, normal about ``over_centre`` with a wide ``over_spread``.
Why      on the log scale the noise of hand work is even, so the centre of the fit is the typical
         time; a soft second kind takes gross rows out without cutting the tail of honest ones,
         and its share and size say what overruns cost. M-estimators on the same data cover the
         true rate too seldom, since uneven outliers drag their centre.
"""

from typing import NamedTuple

import numpy as np

from pricing.basis.arrays import Array

_CLOSE = 0.02  # a step below this share of a standard error changes no printed digit
_MOST_PASSES = 300
_STEP = 1.0  # a log rate moves at most by this in one pass, so that a bad start cannot overflow


class Belief(NamedTuple):
    """What is believed before the log is read; rates on the log scale.

    Parameters
    ----------
    centre, spread : (k,) array
        Log of the typical rate of each driver, and its standard deviation.
    spread_df : float
        Degrees of freedom of the belief: low ones give way to a log that says otherwise.
    scatter, scatter_jobs : float
        Spread of log times from job to job, and how many jobs that belief counts as.
    share, share_jobs : float
        Share of rows that overran or were mistyped, and how many rows that belief counts as.
    over_spread : float
        Spread of the log factors of such rows.
    over_centre_rows, over_spread_rows : float
        How many odd rows the belief about their centre (no factor) and their spread counts as.
    """

    centre: Array
    spread: Array
    spread_df: float
    scatter: float
    scatter_jobs: float
    share: float
    share_jobs: float
    over_spread: float
    over_centre_rows: float
    over_spread_rows: float

    def weakened(self, times: float) -> "Belief":
        """Return the belief that weighs so many times less, for a part of the rows to end where all would."""
        return self._replace(
            spread=self.spread * np.sqrt(times),
            scatter_jobs=self.scatter_jobs / times,
            share_jobs=self.share_jobs / times,
            over_centre_rows=self.over_centre_rows / times,
            over_spread_rows=self.over_spread_rows / times,
        )


class MixtureState(NamedTuple):
    """Parameters of the model: log rates (k,), scatter, share, centre and spread of odd rows."""

    beta: Array
    scatter: float
    share: float
    over_centre: float
    over_spread: float


class MixtureRows(NamedTuple):
    """Log minutes (n,) and amounts (k, n)."""

    log_min: Array
    amounts: Array


class Read(NamedTuple):
    """One reading of the rows with a state, (n,) each: residuals, and how far off they are for either kind.

    ``parts`` (k, n) are the shares of the rates, ``weight`` is the chance that a row is of the work itself, ``t`` the
    residual in spreads of the work, ``u`` that about the centre of the odd rows in theirs.
    """

    residual: Array
    parts: Array
    weight: Array
    t: Array
    u: Array


def read_mixture(rows: MixtureRows, state: MixtureState) -> Read:
    """Compare the rows with the rates."""
    parts = rows.amounts * np.exp(state.beta)[:, None]
    total = parts.sum(axis=0)
    parts *= 1 / total
    residual = rows.log_min - np.log(total)
    t, u = residual * (1 / state.scatter), (residual - state.over_centre) * (1 / state.over_spread)
    odds = state.share * state.scatter / ((1 - state.share) * state.over_spread)
    weight = np.minimum(0.5 * (t * t - u * u), 700.0)  # exp(709) is the end of a float
    np.exp(weight, out=weight)
    weight *= odds
    weight += 1.0
    return Read(residual, parts, np.reciprocal(weight, out=weight), t, u)


def log_plausibility(rows: MixtureRows, state: MixtureState, belief: Belief) -> float:
    """Work out the log posterior up to a constant, to choose between two starting points."""
    residual = read_mixture(rows, state).residual
    work = (1 - state.share) / state.scatter * np.exp(-0.5 * (residual / state.scatter) ** 2)
    odd = state.share / state.over_spread * np.exp(-0.5 * ((residual - state.over_centre) / state.over_spread) ** 2)
    pull = ((state.beta - belief.centre) / belief.spread) ** 2
    told = float(np.log(work + odd + 1e-300).sum())  # the last keeps a row beyond all reach finite
    told -= (belief.spread_df + 1) / 2 * float(np.log1p(pull / belief.spread_df).sum())
    told -= belief.scatter_jobs * float(np.log(state.scatter) + 0.5 * (belief.scatter / state.scatter) ** 2)
    odd_rows = belief.share * belief.share_jobs
    told += odd_rows * float(np.log(state.share))
    return told + (belief.share_jobs - odd_rows) * float(np.log1p(-state.share))


def settle(rows: MixtureRows, belief: Belief, start: MixtureState, close: float = _CLOSE) -> tuple[MixtureState, float]:
    """Improve a state by expectation and maximisation until no log rate moves by ``close`` of its standard error.

    Given with it: the number of parameters that the rows (not the belief) decided.
    """
    state, decided = start, float(len(start.beta))
    for _ in range(_MOST_PASSES):
        state, decided, moved = _once(rows, belief, state)
        if moved < close:
            break
    return state, decided


def _once(rows: MixtureRows, belief: Belief, state: MixtureState) -> tuple[MixtureState, float, float]:
    seen = read_mixture(rows, state)
    weighted = seen.parts * seen.weight
    evidence = weighted @ seen.parts.T / state.scatter**2
    precision = prior_precision(state, belief)
    covariance = np.linalg.inv(evidence + np.diag(precision))
    pull = weighted @ seen.residual / state.scatter**2 - precision * (state.beta - belief.centre)
    step = np.clip(covariance @ pull, -_STEP, _STEP)
    beta = state.beta + step
    decided = float(np.sum(evidence * covariance))
    residual = seen.residual - step @ seen.parts
    good = float(seen.weight.sum())
    squares = float((seen.weight * residual) @ residual)
    jobs = max(belief.scatter_jobs + good - decided, 0.5)
    scatter = float(np.sqrt((belief.scatter_jobs * belief.scatter**2 + squares) / jobs))
    odd = 1.0 - seen.weight
    count = float(odd.sum())
    share = (belief.share * belief.share_jobs + count) / (belief.share_jobs + len(odd))
    centre = float(odd @ residual) / (count + belief.over_centre_rows)
    spread2 = belief.over_spread_rows * belief.over_spread**2 + float(odd @ (residual - centre) ** 2)
    over = max(float(np.sqrt(spread2 / (count + belief.over_spread_rows))), _apart(len(odd)) * scatter)
    moved = float(np.max(np.abs(step) / np.sqrt(np.diag(covariance))))
    moved = max(moved, abs(scatter / state.scatter - 1) * float(np.sqrt(2 * jobs)))
    return MixtureState(beta, scatter, min(share, 0.49), centre, over), decided, moved


def _apart(rows: int) -> float:
    """Keep the second kind wide in a short log, where it would else split honest rows in two."""
    return 1.0 + 2.0 * float(np.exp(-rows / 300.0))


def restart(rows: MixtureRows, state: MixtureState) -> MixtureState:
    """Take share, centre and spread of the odd rows from the residuals of a fair state of a long log."""
    residual = read_mixture(rows, state).residual
    far = residual[np.abs(residual) > _FAR * state.scatter]
    if len(far) < _FAR_ROWS:
        return state
    spread = max(float(far.std()), state.scatter)
    return state._replace(share=min(len(far) / len(residual), 0.4), over_centre=float(far.mean()), over_spread=spread)


_FAR, _FAR_ROWS = 3.0, 20  # standard deviations beyond which a row is odd, to begin with


def prior_precision(state: MixtureState, belief: Belief) -> Array:
    """Work out the precision of each log rate's belief; it yields where the log lies far from it."""
    pull2 = ((state.beta - belief.centre) / belief.spread) ** 2
    return (belief.spread_df + 1) / (belief.spread_df + pull2) / belief.spread**2
