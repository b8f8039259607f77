"""Intervals and log-normal times of the ledger, held to cases printed outside the project.

Each row of ``ledger.csv`` names its source; ``source_kind`` says whether it was published, comes from a
library, or is from memory.
"""

import csv
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from pricing.ledger.fit import Assumptions, Guess, StepFit, fit_step
from pricing.ledger.intervals import LogNormal, mean_factor, t_quantile, trend_line
from pricing.ledger.predict import predict

ROWS = {
    row["id"]: row for row in csv.DictReader(Path(__file__).with_name("ledger.csv").read_text("utf-8").splitlines())
}
BLANK = Assumptions(
    scatter_gsd=1.4,
    scatter_jobs=1e-9,
    scatter_fade=1.5,
    guess_width_sd=1e-3,
    guess_df=1e9,
    odd_share=1e-12,
    odd_rows=1e12,
    odd_gsd=5.0,
    odd_doubt=1e-12,
    odd_centre_rows=2.0,
    odd_spread_rows=4.0,
    absurd_factor=1e9,
)
"""A calibration that believes nothing before it reads the log, and takes no row for odd: the textbook's case."""
AREA = np.array([0.4, 0.6, 0.8, 1.0, 1.5, 2.0, 2.5, 3.2])
TIME = np.array([9.0, 12.0, 15.0, 17.0, 26.0, 31.0, 41.0, 50.0])


def _blank_fit(spread: float, jobs: int = 10, seed: int = 1) -> tuple[StepFit, np.ndarray]:
    logs = spread * np.random.default_rng(seed).standard_normal(jobs)
    return fit_step(np.exp(logs), np.ones((jobs, 1)), [Guess("job", 0.5, 1.0, 2.0)], take=BLANK), logs


def _next_job() -> float:
    """Half the interval of the next job, in standard deviations of the ten jobs before."""
    fit, logs = _blank_fit(0.3)
    told = predict(fit, np.array([[1.0]]), 0.9)
    return float(np.log(told.high[0] / told.low[0]) / 2 / logs.std(ddof=1))


def _rate_half() -> float:
    fit, logs = _blank_fit(0.3)
    low, high = fit.rate_interval(0.95)
    return float(np.log(high[0] / low[0]) / 2 / logs.std(ddof=1))


def _covered(naive: bool) -> float:
    """Chance that the interval of ten jobs with GSD 1.5 holds the next one, over 4,000 logs."""
    logs = np.log(1.5) * np.random.default_rng(33).standard_normal((4000, 11))
    mean, spread = logs[:, :10].mean(axis=1), logs[:, :10].std(axis=1, ddof=1)
    half = 1.645 * spread if naive else _next_job() * spread
    from scipy.stats import norm

    ends = (mean + half) / np.log(1.5), (mean - half) / np.log(1.5)
    return float((norm.cdf(ends[0]) - norm.cdf(ends[1])).mean())


def _at(end: int) -> float:
    """The line at 1.8, and the ends between which nine of ten further points lie there."""
    drawn = trend_line(AREA, TIME)
    assert drawn is not None
    off = 1.8 - drawn.middle
    error = np.sqrt(drawn.spread**2 * (1 + 1 / drawn.points) + (drawn.slope_error * off) ** 2)
    half = float(t_quantile(drawn.points - 2.0, 0.95)) * error
    return float(drawn.level + drawn.slope * off + (0.0, -half, half)[end])


def _sigma_of_cv(cv: float) -> float:
    """Spread of the log-normal whose coefficient of variation it is, by its own sd over mean."""
    from scipy.optimize import brentq

    return float(brentq(lambda spread: np.sqrt(np.expm1(spread**2)) - cv, 0.01, 2.0))


CASES: dict[str, Callable[[], float]] = {
    "PI-02e": lambda: mean_factor(10, 0.95),
    "PI-03a": _next_job,
    "PI-03b": lambda: _covered(naive=False),
    "PI-03c": lambda: _covered(naive=True),
    "PI-04a": lambda: _at(0),
    "PI-04b": lambda: _at(1),
    "PI-04c": lambda: _at(2),
    "LN-01a": lambda: float(LogNormal(40.0, np.log(1.5)).mean),
    "LN-01b": lambda: float(LogNormal(40.0, np.log(1.5)).quantile(0.95)),
    "LN-02": lambda: float(LogNormal(np.exp(1.0), 2.0).mean),
    "LN-03a": lambda: _sigma_of_cv(0.4),
    "LN-03b": lambda: 50.0 / float(LogNormal(1.0, _sigma_of_cv(0.4)).mean),
}


@pytest.mark.parametrize("name", list(ROWS))
def test_the_printed_value_is_met(name: str) -> None:
    row = ROWS[name]
    assert CASES[name]() == pytest.approx(float(row["expected"]), abs=float(row["tolerance"])), row["source"]


def test_the_interval_of_a_rate_is_the_textbook_one_where_nothing_was_believed_before() -> None:
    assert _rate_half() == pytest.approx(mean_factor(10, 0.95), abs=1e-3)
    assert t_quantile(9.0, 0.975) / np.sqrt(10) == pytest.approx(mean_factor(10, 0.95))
