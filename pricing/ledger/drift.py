"""Whether a step gets slower or faster over the months, and with the season; shown, never modelled away.

Takes    a step's result.
Gives    the drift a year with its interval, and actual over typical by month of the year.
"""

from dataclasses import dataclass
from datetime import date

import numpy as np

from pricing.ledger.calibrate import StepResult
from pricing.ledger.intervals import mean_factor, t_quantile, trend_line

SURE_OF_DRIFT = 0.995
"""Confidence for a table of all steps and months: three hundred cells at 95 % would let fifteen shine by chance."""

_LEAST_DAYS = 90  # of log, before a drift a year means anything
_LEAST_JOBS = 3  # in a month, before it is shown


@dataclass(frozen=True, slots=True)
class Drift:
    """Change of the typical time in a year, as a share: 0.1 is 10 % slower."""

    per_year: float
    low: float
    high: float

    @property
    def sure(self) -> bool:
        """Whether the interval leaves out no change."""
        return self.low > 0 or self.high < 0


@dataclass(frozen=True, slots=True)
class MonthDrift:
    """One month of the year: jobs, and actual over typical with its interval (NaN for fewer than two)."""

    month: int
    jobs: int
    ratio: float
    low: float
    high: float


def drift(result: StepResult, level: float = 0.95) -> Drift | None:
    """Return the drift of a step with its interval; None when the log is too short to say."""
    good = result.fit.weight > 0.5
    days = np.array([date.fromisoformat(day).toordinal() for day in result.seen.days], dtype=np.float64)[good]
    if len(days) < 8 or np.ptp(days) < _LEAST_DAYS:
        return None
    drawn = trend_line(days / 365.25, result.fit.residual[good])
    if drawn is None:
        return None
    half = float(t_quantile(drawn.points - 2.0, 0.5 + level / 2)) * drawn.slope_error
    return Drift(*(float(np.expm1(drawn.slope + step)) for step in (0.0, -half, half)))


def months(result: StepResult, level: float = 0.95) -> list[MonthDrift]:
    """Collect actual over typical by month of the year with its interval, as far as the log has jobs."""
    good = result.fit.weight > 0.5
    number = np.array([int(day[5:7]) for day in result.seen.days], dtype=np.int64)
    found = []
    for month in range(1, 13):
        rest = result.fit.residual[(number == month) & good]
        if len(rest) < _LEAST_JOBS:
            continue
        middle, half = float(rest.mean()), mean_factor(len(rest), level) * float(rest.std(ddof=1))
        found.append(MonthDrift(month, len(rest), *(float(np.exp(middle + step)) for step in (0.0, -half, half))))
    return found
