"""Won and lost against price: a logistic curve with a weak prior, honest from five quotes on.

Takes    price over full cost of each quote, whether it was won, and its kinds: single- or two-tone, which work.
Gives    a `Winning`, or the words why nothing can be said.
Model    log odds = level + slope x log(price over cost) + what the kind differs by, all normal before the log has its
         say: most shops win about half at their usual price, dearer is won more seldom, kinds differ a little, and
         how much the log says too. Peak
         by Newton's method; the interval is that of the normal about it. A kind with few quotes stays near all others.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from pricing.basis.arrays import Array
from pricing.basis.errors import BadInput, Problem
from pricing.basis.facts import fact, facts
from pricing.shop.rates import Z95

LEAST_QUOTES = 5
"""Quotes that were won or lost below which nothing is said."""
_STEPS = 100
_SLICES = 8


@dataclass(frozen=True, slots=True)
class Winning:
    """Chance to win a quote at a price over cost.

    Parameters
    ----------
    level, slope : float
        Log odds at price = cost, and their change for each log unit of price.
    covariance : (2, 2) array
        Of the two.
    won, lost : int
        Quotes behind it.
    low, high : float
        Range of price over cost that was tried; outside, the curve is drawn on.
    kinds : mapping of str to float
        What the log odds of a kind differ by.
    """

    level: float
    slope: float
    covariance: Array
    won: int
    lost: int
    low: float
    high: float
    kinds: Mapping[str, float] = field(default_factory=dict)

    @property
    def words(self) -> str:
        """What the curve says, in a sentence."""
        error = float(np.sqrt(self.covariance[1, 1]))
        told = "The log does not show that the price decides."
        if self.slope + 1.96 * error < 0:
            told = "Dearer quotes are lost more often."
        elif self.slope - 1.96 * error > 0:
            told = "Dearer quotes are won more often: something else than the price decides."
        return f"{told} Page 5 says which prices earn most." if self.slope < 0 else told

    def chance(self, ratio: Array, confidence: float = 0.95) -> tuple[Array, Array, Array]:
        """Work out the chance to win with its interval.

        Parameters
        ----------
        ratio : (n,) array
            Price over full cost.
        confidence : float
            Of the interval.
        """
        from scipy.special import ndtri  # heavy: a quarter of a second

        x = np.log(np.asarray(ratio, dtype=np.float64))
        odds = self.level + self.slope * x
        both = np.stack([np.ones_like(x), x])
        half = float(ndtri(0.5 + confidence / 2)) * np.sqrt(np.einsum("in,ij,jn->n", both, self.covariance, both))
        return _chance(odds), _chance(odds - half), _chance(odds + half)


def _chance(odds: Array) -> Array:
    return np.asarray(1.0 / (1.0 + np.exp(-odds)))


def logistic(design: Array, won: Array, centre: Array, precision: Array) -> tuple[Array, Array]:
    """Fit log odds that are a sum of so much of each column.

    Parameters
    ----------
    design : (n, k) array
        Columns.
    won : (n,) array
        1 or 0; or how many of one try, as a share.
    centre, precision : (k,) array
        What is believed of each coefficient, and one over its variance; 0 where nothing is.

    Returns
    -------
    (k,) array, (k, k) array
        Coefficients and their covariance.
    """
    beta: Array = np.array(centre, dtype=np.float64)
    held = -np.inf
    step = np.zeros_like(beta)
    for _ in range(_STEPS):
        odds = design @ beta
        told = float(won @ odds - np.logaddexp(0.0, odds).sum() - 0.5 * precision @ (beta - centre) ** 2)
        if told < held - 1e-9:  # too far: half of it
            step = step / 2
            beta = beta - step
            continue
        held = told
        chance = _chance(odds)
        curve = (design.T * (chance * (1 - chance))) @ design + np.diag(precision)
        step = np.asarray(np.linalg.solve(curve, design.T @ (won - chance) - precision * (beta - centre)), np.float64)
        beta = beta + step
        if np.max(np.abs(step)) < 1e-10:
            break
    return beta, np.asarray(np.linalg.inv(curve), dtype=np.float64)


def winning(ratio: Array, won: npt.NDArray[np.bool_], kinds: Sequence[Sequence[str]] = ()) -> Winning | str:
    """Draw the curve, or say why not.

    Parameters
    ----------
    ratio : (n,) array
        Price over full cost of each quote.
    won : (n,) array of bool
        Whether it was won.
    kinds : sequence of sequence of str
        Kinds of each: ``("two-tone", "gate_single")``; none where all are alike.

    Returns
    -------
    Winning or str
        The curve, or the reason in words.

    Raises
    ------
    BadInput
        A price or cost is not above 0.

    Examples
    --------
    >>> winning(np.array([1.2, 1.4]), np.array([True, False]))
    'Too few quotes to say: 2 won or lost; 5 are needed.'
    """
    ratio, won = np.asarray(ratio, dtype=np.float64), np.asarray(won, dtype=bool)
    if not (np.isfinite(ratio) & (ratio > 0)).all():
        raise BadInput("won and lost", [Problem("price over cost", float(ratio.min()), "above 0")])
    if len(ratio) < LEAST_QUOTES:
        return f"Too few quotes to say: {len(ratio)} won or lost; {LEAST_QUOTES} are needed."
    found = Counter(kind for those in kinds for kind in set(those))
    names = sorted(kind for kind, count in found.items() if count < len(ratio))
    middle = float(np.median(np.log(ratio)))
    columns = [np.ones_like(ratio), np.log(ratio) - middle]
    columns += [np.array([name in those for those in kinds], dtype=np.float64) for name in names]
    keys = ["win.level", "win.slope", *["win.kind"] * len(names)]
    beta, covariance = _with_kinds(np.stack(columns, axis=1), won.astype(np.float64), *believed(keys))
    turn = np.array([[1.0, -middle], [0.0, 1.0]])  # from the middle of what was asked to price = cost
    level, slope = turn @ beta[:2]
    wins = int(won.sum())
    return Winning(
        float(level),
        float(slope),
        turn @ covariance[:2, :2] @ turn.T,
        wins,
        len(won) - wins,
        float(ratio.min()),
        float(ratio.max()),
        dict(zip(names, beta[2:].tolist(), strict=True)),
    )


def _with_kinds(design: Array, won: Array, centre: Array, precision: Array) -> tuple[Array, Array]:
    """Fit the curve when it is not sure either how far kinds lie apart: the mean over what that may be.

    Their spread is half-t at the scale of what is believed, so that a log may say that they lie far apart; each slice
    of it counts as its fit explains what was won. (A. Gelman, "Prior distributions for variance parameters in
    hierarchical models", Bayesian Analysis 1, 2006; from memory.)
    """
    from scipy.special import stdtrit  # heavy: a quarter of a second

    kinds = np.arange(len(centre)) >= 2
    if not kinds.any():
        return logistic(design, won, centre, precision)
    fits, told = [], []
    for spread in stdtrit(fact("win.kind_df"), 0.5 + (np.arange(_SLICES) + 0.5) / _SLICES / 2):
        held = np.where(kinds, precision / spread**2, precision)
        beta, covariance = logistic(design, won, centre, held)
        odds = design @ beta
        fit = won @ odds - np.logaddexp(0.0, odds).sum() - 0.5 * held @ (beta - centre) ** 2
        told.append(fit + 0.5 * (np.linalg.slogdet(covariance)[1] + np.log(held).sum()))  # Laplace
        fits.append((beta, covariance))
    weight = np.exp(np.array(told) - max(told))
    weight /= weight.sum()
    betas = np.array([beta for beta, _ in fits])
    mean = weight @ betas
    away = betas - mean
    within = np.einsum("s,sij->ij", weight, np.array([covariance for _, covariance in fits]))
    return mean, np.asarray(within + np.einsum("s,si,sj->ij", weight, away, away))


def believed(keys: Sequence[str]) -> tuple[Array, Array]:
    """Work out what is believed of coefficients before any quote: value, and one over its variance."""
    rows = [facts()[key] for key in keys]
    sd = np.array([(row.high - row.low) / (2 * Z95) for row in rows])
    return np.array([row.value for row in rows]), 1 / sd**2
