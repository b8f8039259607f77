"""Intervals for what people do by hand: log-normal times and Student's t.

Takes    numbers of past jobs, medians, spreads.
Gives    factors and minutes; arrays follow numpy's rules.
"""

from typing import NamedTuple

import numpy as np

from pricing.basis.checks import Floats, positive
from pricing.basis.errors import BadInput, Problem


def t_quantile(df: Floats, chance: float) -> Floats:
    """Work out what Student's t does not exceed with a chance.

    Raises
    ------
    BadInput
        ``df`` is not above 0.

    Examples
    --------
    >>> round(float(t_quantile(9.0, 0.95)), 5)
    1.83311
    """
    from scipy.special import stdtrit  # heavy: a quarter of a second

    positive("Student's t", df=df)
    return np.asarray(stdtrit(df, chance), dtype=np.float64)[()]


def mean_factor(jobs: float, level: float) -> float:
    """Work out how many standard deviations about the mean of past jobs hold the true mean with a chance.

    Raises
    ------
    BadInput
        Fewer than two jobs.

    Examples
    --------
    >>> round(mean_factor(10, 0.95), 2)
    0.72
    """
    if not jobs >= 2:
        raise BadInput("an interval", [Problem("jobs", jobs, "2 or more", "Log another job.")])
    return float(t_quantile(jobs - 1, 0.5 + level / 2)) / float(np.sqrt(jobs))


class LogNormal(NamedTuple):
    """A time whose logarithm is normal: ``median`` in any unit, ``spread`` of its logarithm."""

    median: Floats
    spread: Floats

    @property
    def mean(self) -> Floats:
        """Mean, which is what a month of such jobs costs.

        >>> round(float(LogNormal(40.0, np.log(1.5)).mean), 3)
        43.427
        """
        return self.median * np.exp(np.square(self.spread) / 2)

    def quantile(self, chance: Floats) -> Floats:
        """Work out the time that is not exceeded with a chance.

        >>> round(float(LogNormal(40.0, np.log(1.5)).quantile(0.95)), 2)
        77.93
        """
        from scipy.special import ndtri  # heavy: a quarter of a second

        return self.median * np.exp(self.spread * ndtri(chance))

    @classmethod
    def through(cls, median: float, mean_over_median: float) -> "LogNormal":
        """Make the one with this median, and a mean so many times as large, 1 or more.

        >>> round(float(LogNormal.through(40.0, 1.0856755).spread), 4)
        0.4055
        """
        return cls(median, np.sqrt(2 * np.log(max(mean_over_median, 1.0))))


class Beta(NamedTuple):
    """A share that is known as well as from so many tries: ``a`` for it, ``b`` against it."""

    a: float
    b: float

    @property
    def mean(self) -> float:
        """Mean of the share."""
        return self.a / (self.a + self.b)

    @property
    def variance(self) -> float:
        """Its variance."""
        return self.mean * (1 - self.mean) / (self.a + self.b + 1)

    def quantile(self, chance: float) -> float:
        """Work out the share that is not exceeded with a chance.

        >>> round(Beta(2.0, 5.0).quantile(0.5), 4)
        0.2644
        """
        from scipy.special import betaincinv  # heavy: a quarter of a second

        return float(betaincinv(self.a, self.b, chance))

    def after(self, held: float, not_held: float) -> "Beta":
        """Return it after so many more tries for it and against it."""
        return Beta(self.a + held, self.b + not_held)


class TrendLine(NamedTuple):
    """A straight line through points: its level in the middle of them, and what is needed for its intervals."""

    level: float
    slope: float
    spread: float
    middle: float
    width2: float
    points: int

    @property
    def slope_error(self) -> float:
        """Standard error of the slope."""
        return self.spread / float(np.sqrt(self.width2))


def trend_line(x: Floats, y: Floats) -> TrendLine | None:
    """Draw the straight line of least squares; None when fewer than 3 points or all at one place.

    >>> fitted = trend_line(np.array([0.0, 1.0, 2.0, 3.0]), np.array([1.0, 3.0, 5.0, 7.1]))
    >>> round(fitted.slope, 2)
    2.03
    """
    x, y = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    if len(x) < 3 or np.ptp(x) == 0:
        return None
    middle, level = float(x.mean()), float(y.mean())
    width2 = float(np.square(x - middle).sum())
    slope = float((x - middle) @ (y - level)) / width2
    rest = y - level - slope * (x - middle)
    return TrendLine(level, slope, float(np.sqrt(rest @ rest / (len(x) - 2))), middle, width2, len(x))
