"""Then and now: what was expected of each job, what it took, and whether the intervals keep their promise.

Takes    results by step, and the quotes.
Gives    a row per job and step with the interval that was known before the job, and the coverage so far.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from pricing.ledger.calibrate import StepResult, then_known
from pricing.ledger.intervals import Beta

LEVEL = 0.9
"""Chance that a job lies inside its interval, as promised."""
_CONFIDENCE = 0.95

LEAST_COMPARED = 20
"""Steps from which on it is said whether the intervals keep their promise; one odd row would decide it before."""


@dataclass(frozen=True, slots=True)
class Compared:
    """One step of one job.

    Parameters
    ----------
    job, step, day : str
        Which, and when.
    quoted : float or None
        Minutes in the quote, without rest; None without a quote. [min]
    expected, low, high : float
        Mean and interval from the jobs before this one. [min]
    actual : float
        What it took. [min]
    """

    job: str
    step: str
    day: str
    quoted: float | None
    expected: float
    low: float
    high: float
    actual: float

    @property
    def inside(self) -> bool:
        """Whether the job kept to its interval."""
        return self.low <= self.actual <= self.high


@dataclass(frozen=True, slots=True)
class Coverage:
    """How many jobs kept to their intervals, with an interval of that share itself."""

    inside: int
    jobs: int
    low: float
    high: float

    @property
    def share(self) -> float:
        """Share inside; NaN without jobs."""
        return self.inside / self.jobs if self.jobs else float("nan")

    @property
    def words(self) -> str:
        """What to make of it."""
        if not self.jobs:
            return "No job logged yet."
        told = f"{self.inside} of {self.jobs} ({self.share:.0%}) inside; promised {LEVEL:.0%}."
        if self.jobs < LEAST_COMPARED:
            return f"{told} Too few to judge."
        if self.high < LEVEL:
            return f"{told} The intervals are too narrow: the work is less steady than the log of its start."
        if self.low > LEVEL:
            return f"{told} The intervals are wider than need be."
        return f"{told} They keep their promise."


@dataclass(frozen=True, slots=True)
class JobTotal:
    """Minutes of a job over the steps that were both quoted and logged."""

    job: str
    day: str
    quoted: float
    actual: float
    steps: int


def expected_and_actual(results: Iterable[StepResult], quotes: Sequence[Mapping[str, object]]) -> list[Compared]:
    """Hold every logged job against what was known before it and in its quote, by day."""
    quoted = {str(row["job"]): row["minutes"] for row in quotes}
    rows = []
    for result in results:
        mean, low, high = then_known(result, LEVEL)
        for i, job in enumerate(result.seen.jobs):
            minutes = quoted.get(job)
            rows.append(
                Compared(
                    job,
                    result.step,
                    result.seen.days[i],
                    minutes.get(result.step) if isinstance(minutes, dict) else None,
                    float(mean[i]),
                    float(low[i]),
                    float(high[i]),
                    float(result.seen.minutes[i]),
                )
            )
    return sorted(rows, key=lambda row: (row.day, row.job, row.step))


def coverage(rows: Sequence[Compared]) -> Coverage:
    """Count how many kept to their intervals, with Jeffreys' interval of that share."""
    n, k = len(rows), sum(row.inside for row in rows)
    tail = (1 - _CONFIDENCE) / 2
    share = Beta(k + 0.5, n - k + 0.5)
    return Coverage(k, n, share.quantile(tail) if k else 0.0, share.quantile(1 - tail) if k < n else 1.0)


def job_totals(rows: Sequence[Compared]) -> list[JobTotal]:
    """Add up the steps of each job that were both quoted and logged."""
    found: dict[str, list[Compared]] = {}
    for row in rows:
        if row.quoted is not None:
            found.setdefault(row.job, []).append(row)
    return [
        JobTotal(
            job, max(r.day for r in mine), sum(r.quoted or 0.0 for r in mine), sum(r.actual for r in mine), len(mine)
        )
        for job, mine in found.items()
    ]
