"""Won and lost against price: a plain logistic curve with its interval, when there are enough quotes.

Takes    price over full cost of each quote, and whether it was won.
Gives    a `Winning`, or the words why nothing can be said.
Room     ledger. Imports basis, intervals.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pricing.basis.errors import BadInput, Problem
from pricing.ledger.mixture import Array

LEAST_OF_EACH = 10
"""Won quotes, and lost ones, below which a curve is a guess: ten to a coefficient, common practice."""
_STEPS = 50


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
        Range of price over cost that was tried; the curve says nothing outside.
    """

    level: float
    slope: float
    covariance: Array
    won: int
    lost: int
    low: float
    high: float

    @property
    def words(self) -> str:
        """What the curve says, in a sentence."""
        error = float(np.sqrt(self.covariance[1, 1]))
        if self.slope + 1.96 * error < 0:
            return "Dearer quotes are lost more often."
        if self.slope - 1.96 * error > 0:
            return "Dearer quotes are won more often: something else than the price decides."
        return "The log does not show that the price decides."

    def chance(self, ratio: Array, confidence: float = 0.95) -> tuple[Array, Array, Array]:
        """Give the chance to win with its interval.

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


def winning(ratio: Array, won: npt.NDArray[np.bool_]) -> Winning | str:
    """Draw the curve, or say why not.

    Parameters
    ----------
    ratio : (n,) array
        Price over full cost of each quote.
    won : (n,) array of bool
        Whether it was won.

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
    'Too few quotes to say: 1 won and 1 lost; 10 of each are needed.'
    """
    ratio, won = np.asarray(ratio, dtype=np.float64), np.asarray(won, dtype=bool)
    if not (np.isfinite(ratio) & (ratio > 0)).all():
        raise BadInput("won and lost", [Problem("price over cost", float(ratio.min()), "above 0")])
    wins, losses = int(won.sum()), int((~won).sum())
    if min(wins, losses) < LEAST_OF_EACH:
        return f"Too few quotes to say: {wins} won and {losses} lost; {LEAST_OF_EACH} of each are needed."
    if np.ptp(ratio) < 1e-9:
        return "All quotes had the same price over cost: nothing to compare."
    x = np.stack([np.ones_like(ratio), np.log(ratio)])
    order = x[1][won], x[1][~won]
    if order[0].max() <= order[1].min() or order[1].max() <= order[0].min():
        return "Won and lost quotes do not overlap in price: where between them the limit lies, the log cannot say."
    beta = np.array([np.log(wins / losses), 0.0])
    for _ in range(_STEPS):
        chance = _chance(beta @ x)
        weight = chance * (1 - chance)
        covariance = np.linalg.inv((x * weight) @ x.T)
        step = covariance @ (x @ (won - chance))
        beta = beta + step
        if np.max(np.abs(step)) < 1e-10:
            break
    return Winning(float(beta[0]), float(beta[1]), covariance, wins, losses, float(ratio.min()), float(ratio.max()))
