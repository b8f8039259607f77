"""Rates of one step from what its jobs really took, with the three-point guess as the start.

Takes    minutes and amounts of logged jobs, a `Guess` for each driver, the `Assumptions`.
Gives    a `StepFit`: typical and mean rates, intervals, rows that look wrong, what cannot be told apart.
Model    see `pricing.ledger.mixture`. Short and long logs run the same code; only the last polish of a
         long log is by Newton's method.
Mean     prices rest on the mean: the typical time, times what scatter adds, with overruns counted.
         A single row that looks wrong is set aside until the owner says that it was so; from the
         second overrun on they count, for they come again.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from pricing.basis.arrays import Array
from pricing.basis.errors import BadInput, Problem
from pricing.basis.facts import fact
from pricing.ledger import mixture, newton
from pricing.ledger.intervals import LogNormal, t_quantile
from pricing.ledger.mixture import Belief, MixtureRows, MixtureState


@dataclass(frozen=True, kw_only=True, slots=True)
class Assumptions:
    """What the calibration takes for granted; the rows ``ledger.*`` of the facts table."""

    scatter_gsd: float
    scatter_jobs: float
    scatter_fade: float
    guess_width_sd: float
    guess_df: float
    odd_share: float
    odd_rows: float
    odd_gsd: float
    odd_doubt: float
    odd_centre_rows: float
    odd_spread_rows: float
    absurd_factor: float


@cache
def assumptions() -> Assumptions:
    """Read the assumptions from ``data/facts.csv``."""
    names = Assumptions.__dataclass_fields__
    return Assumptions(**{name: fact(f"ledger.{name}") for name in names})


@dataclass(frozen=True, slots=True)
class Guess:
    """What the owner believes of one rate: minutes per unit of its driver.

    Parameters
    ----------
    driver : str
        What the amount counts: ``m2``, ``line_m``, ``part``.
    low, likely, high : float
        Three points, in minutes per unit.
    """

    driver: str
    low: float
    likely: float
    high: float

    @property
    def mean(self) -> float:
        """Mean of the beta-PERT through the three points, as prices use it."""
        return (self.low + 4 * self.likely + self.high) / 6


@dataclass(frozen=True, kw_only=True, slots=True)
class StepFit:
    """What a log says about one step.

    Parameters
    ----------
    guesses : tuple of Guess
        The belief before, in the order of the rates.
    state : MixtureState
        Log rates, scatter, and the odd rows.
    covariance : (k, k) array
        Of the log rates.
    df : float
        Degrees of freedom of the scatter.
    rows : int
        Jobs that were used.
    weight, residual : (n,) array
        Chance that a row is of the work itself; log of actual over typical.
    counted : (n,) array of bool
        False for rows that are set aside from the mean.
    learned : (k,) array
        Share of each belief's variance that the log took away; near 0 when the log says nothing.
    """

    guesses: tuple[Guess, ...]
    state: MixtureState
    covariance: Array
    df: float
    rows: int
    weight: Array
    residual: Array
    counted: npt.NDArray[np.bool_]
    learned: Array

    @property
    def typical(self) -> Array:
        """Typical (median) rates (k,), minutes per unit."""
        return np.exp(self.state.beta)

    @property
    def mean_factor(self) -> float:
        """What a mean job takes more than a typical one, overruns counted."""
        steady = float(LogNormal(1.0, self.state.scatter).mean)
        if not self.counted.any():
            return steady
        weight, odd = self.weight[self.counted], 1 - self.weight[self.counted]
        return float(weight.sum() * steady + odd @ np.exp(self.residual[self.counted])) / len(weight)

    @property
    def mean(self) -> Array:
        """Mean rates (k,), minutes per unit; prices rest on these."""
        return self.typical * self.mean_factor

    @property
    def told_apart(self) -> npt.NDArray[np.bool_]:
        """Which rates (k,) the log tells apart from the others: it moved their belief, and not only their sum."""
        error = np.sqrt(np.diag(self.covariance))
        tied = (self.covariance / np.outer(error, error) < _TIED).any(axis=1)
        return np.asarray((self.learned >= _LEARNED) & ~tied)

    def usual_mix(self, amounts: Array) -> Array:
        """Work out the part (k,) of each rate in the time of some jobs (n, k); even parts where there are none."""
        if not len(amounts):
            return np.full(len(self.guesses), 1.0 / len(self.guesses))
        parts = amounts * self.typical
        return np.asarray((parts / parts.sum(axis=1, keepdims=True)).mean(axis=0))

    def unsure(self, share: Array, more: int = 0) -> float:
        """Work out the standard deviation of the log mean time of parts (k,), after so many more such jobs."""
        scatter2 = self.state.scatter**2
        information = np.linalg.inv(self.covariance) + more * np.outer(share, share) / scatter2
        typical2 = float(share @ np.linalg.inv(information) @ share)
        return float(np.sqrt(typical2 + scatter2**2 / (2 * (self.df + more))))

    def rate_interval(self, level: float) -> tuple[Array, Array]:
        """Work out the ends (k,) of the interval of each typical rate that holds it with a chance of ``level``."""
        half = float(t_quantile(self.df, 0.5 + level / 2)) * np.sqrt(np.diag(self.covariance))
        return np.exp(self.state.beta - half), np.exp(self.state.beta + half)


def belief_of(guesses: Sequence[Guess], take: Assumptions, jobs: int) -> Belief:
    """Turn three-point guesses into a belief on the log scale; that about scatter fades as jobs come.

    Raises
    ------
    BadInput
        A guess is not above 0, or not in order.
    """
    bad = [
        Problem(f"guess of {g.driver}", (g.low, g.likely, g.high), "above 0 with low <= likely <= high")
        for g in guesses
        if not 0 < g.low <= g.likely <= g.high < np.inf
    ]
    if bad:
        raise BadInput("a calibration", bad)
    scatter = float(np.log(take.scatter_gsd))
    centre = np.log([g.mean for g in guesses]) - scatter**2 / 2
    spread = np.log([g.high / g.low for g in guesses]) / take.guess_width_sd
    return Belief(
        centre,
        np.maximum(spread, _LEAST_SPREAD),
        take.guess_df,
        scatter,
        take.scatter_jobs * float(np.exp(-jobs / take.scatter_fade)),
        take.odd_share,
        take.odd_rows,
        float(np.log(take.odd_gsd)),
        take.odd_centre_rows,
        take.odd_spread_rows,
    )


_LEAST_SPREAD = 0.02  # a guess with low = high still yields to a log
_LEARNED = 0.3  # a rate whose belief lost less of its variance than this is still the guess
_TIED = -0.9  # correlation of two log rates below which only their sum is known
_START_ROWS = 6000  # find the starting point of a large log; more would only cost time
_FEW = 30  # jobs up to which the guess may be the better starting point


def fit_step(
    minutes: Array,
    amounts: Array,
    guesses: Sequence[Guess],
    *,
    confirmed: npt.NDArray[np.bool_] | None = None,
    take: Assumptions | None = None,
) -> StepFit:
    """Fit the rates of one step.

    Parameters
    ----------
    minutes : (n,) array
        What each job took; n may be 0.
    amounts : (n, k) array
        Amount of each driver.
    guesses : sequence of k Guess
        What was believed before.
    confirmed : (n,) array of bool, optional
        Rows of which the owner said: yes, it took that long.
    take : Assumptions, optional
        Instead of those in the facts table.

    Raises
    ------
    BadInput
        Minutes not above 0, amounts negative, a row without any amount, or a bad guess.

    Examples
    --------
    >>> minutes = np.array([21.0, 30.0, 48.0, 43.0, 25.0])
    >>> metres = np.array([[4.0], [6.0], [9.0], [9.0], [5.0]])
    >>> fit = fit_step(minutes, metres, [Guess("line_m", 2.0, 3.0, 6.0)])
    >>> round(float(fit.typical[0]), 1)
    5.0
    """
    take = take or assumptions()
    columns = np.ascontiguousarray(np.asarray(amounts, dtype=np.float64).T)
    _check(minutes, columns, guesses)
    n = len(minutes)
    belief = belief_of(guesses, take, n)
    rows = MixtureRows(np.log(np.asarray(minutes, dtype=np.float64)), columns)
    state, decided, covariance = _find(rows, belief)
    seen = mixture.read_mixture(rows, state)
    told = np.zeros(n, dtype=bool) if confirmed is None else np.asarray(confirmed, dtype=bool)
    aside = _aside(seen, state, told, take)
    return StepFit(
        guesses=tuple(guesses),
        state=state,
        covariance=covariance,
        df=max(belief.scatter_jobs + float(seen.weight.sum()) - decided, 1.0),
        rows=n,
        weight=seen.weight,
        residual=seen.residual,
        counted=~aside,
        learned=np.clip(1 - np.diag(covariance) * mixture.prior_precision(state, belief), 0.0, 1.0),
    )


def _aside(
    seen: mixture.Read, state: MixtureState, told: npt.NDArray[np.bool_], take: Assumptions
) -> npt.NDArray[np.bool_]:
    """Tell which rows are not counted before the owner says that they were so.

    Short ones never are: time was forgotten. A long one is, once there are others: overruns come
    again. One beyond all measure is only where many overruns show that their measure is large.
    """
    odd = (seen.weight < 0.5) & ~told
    over = odd & (seen.residual > 0)
    measure = np.log(take.absurd_factor)
    if over.sum() >= _MANY:
        measure = max(measure, state.over_centre + 2.5 * state.over_spread)
    over &= seen.residual < measure
    return odd if over.sum() == 1 else odd & ~over


_MANY = 5  # overruns that show how far overruns go


def _find(rows: MixtureRows, belief: Belief) -> tuple[MixtureState, float, Array]:
    n = len(rows.log_min)
    if n >= 2 * _START_ROWS:
        return _find_long(rows, belief)
    begin = MixtureState(belief.centre, belief.scatter, belief.share, 0.0, belief.over_spread)
    if n == 0:
        return begin, 0.0, np.diag(1 / mixture.prior_precision(begin, belief))
    starts = [_begin(rows, belief)] if n > _FEW else [begin, _begin(rows, belief)]
    ends = [mixture.settle(rows, belief, start) for start in starts]
    state, decided = max(ends, key=lambda end: mixture.log_plausibility(rows, end[0], belief))
    return state, decided, newton.covariance(rows, belief, state)


def _begin(rows: MixtureRows, belief: Belief) -> MixtureState:
    """Begin where the log is: the guess moved to the middle of it, with the scatter about that."""
    rest = rows.log_min - np.log(np.exp(belief.centre) @ rows.amounts)
    middle = float(np.median(rest))
    spread = 1.4826 * float(np.median(np.abs(rest - middle)))  # median deviation to standard deviation
    scatter = float(np.sqrt((belief.scatter**2 + len(rest) * spread**2) / (1 + len(rest))))
    return MixtureState(belief.centre + middle, max(scatter, 0.05), belief.share, 0.0, belief.over_spread)


def _find_long(rows: MixtureRows, belief: Belief) -> tuple[MixtureState, float, Array]:
    """Find the peak of some thousand rows, then that of all, which is near."""
    n = len(rows.log_min)
    part = _every(rows, n // _START_ROWS)
    few = _every(part, 2)
    state, decided = mixture.settle(few, belief.weakened(n / len(few.log_min)), _begin(few, belief), 0.5)
    times = n / len(part.log_min)
    begin = mixture.restart(part, state)
    state, curve = newton.polish(part, belief.weakened(times), begin, decided / times, close=0.2)
    curve *= times
    end = newton.ascend(rows, belief, state, curve, decided)
    if end is None:
        end, curve = newton.polish(rows, belief, state, decided)
    return end, decided, newton.sandwich(part, end, curve, n)


def _every(rows: MixtureRows, step: int) -> MixtureRows:
    return MixtureRows(np.ascontiguousarray(rows.log_min[::step]), np.ascontiguousarray(rows.amounts[:, ::step]))


def _check(minutes: Array, columns: Array, guesses: Sequence[Guess]) -> None:
    bad = []
    minutes = np.asarray(minutes)
    if columns.shape != (len(guesses), len(minutes)):
        shape = f"{columns.shape[1]} x {columns.shape[0]}"
        raise BadInput("a calibration", [Problem("amounts", shape, f"{len(minutes)} x {len(guesses)} numbers")])
    wrong = ~(np.isfinite(minutes) & (minutes > 0))
    if wrong.any():
        bad.append(Problem("minutes", float(minutes[wrong][0]), "above 0", "Strike the row or correct it."))
    fine = np.isfinite(columns) & (columns >= 0)
    if not fine.all():
        bad.append(Problem("amounts", float(columns[~fine][0]), "0 or more"))
    elif len(minutes) and not (columns.sum(axis=0) > 0).all():
        bad.append(Problem("amounts", 0, "above 0 for at least one driver", "Say how much was worked on."))
    if bad:
        raise BadInput("a calibration", bad)
