"""Who does which step, and how fast: from the names beside logged minutes.

Takes    rows of ``times`` that stand, and the fits.
Gives    a `Pace` for each person and step, and the helper's part of the minutes that a helper may work
         (``helper.share``), learned like a rate.
Model    a person's pace is the geometric mean of actual over typical minutes, over jobs that one person
         did alone, pulled towards 1 as if three more jobs had been typical; its interval is Student's.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pricing.basis.facts import fact
from pricing.ledger.calibrate import Calibration
from pricing.ledger.expected import LoggedFact
from pricing.ledger.intervals import Beta, t_quantile
from pricing.ledger.numbers import Learned
from pricing.shop.shop import Shop

HELPER = "helper"


@dataclass(frozen=True, slots=True)
class Pace:
    """One person at one step.

    Parameters
    ----------
    step, worker : str
        Which.
    jobs : int
        Jobs in which the person had a hand.
    part : float
        Share of the step's minutes that have a name.
    pace, low, high : float
        Minutes over typical, with an interval of 95 %; NaN before two jobs were done alone.
    """

    step: str
    worker: str
    jobs: int
    part: float
    pace: float
    low: float
    high: float


def paces(times: Sequence[LoggedFact], calibration: Calibration) -> list[Pace]:
    """Collect who does what, and how fast, of rows of ``times`` and the fits of the same log."""
    spent: dict[str, dict[str, dict[str, float]]] = {}
    for row in times:
        if row["worker"]:
            jobs = spent.setdefault(row["step"], {}).setdefault(row["worker"], {})
            jobs[row["job"]] = jobs.get(row["job"], 0.0) + float(row["minutes"])
    others = {(row["step"], row["job"]) for row in times if not row["worker"]}
    found = []
    for step, by_worker in sorted(spent.items()):
        whole = sum(sum(jobs.values()) for jobs in by_worker.values())
        result = calibration.steps.get(step)
        rest = dict(zip(result.seen.jobs, result.fit.residual, strict=True)) if result else {}
        good = dict(zip(result.seen.jobs, result.fit.weight > 0.5, strict=True)) if result else {}
        hands = {job: sum(job in jobs for jobs in by_worker.values()) for jobs in by_worker.values() for job in jobs}
        for worker, jobs in sorted(by_worker.items()):
            alone = [
                float(rest[job]) for job in jobs if hands[job] == 1 and (step, job) not in others and good.get(job)
            ]
            ends = _interval(np.array(alone))
            found.append(Pace(step, worker, len(jobs), sum(jobs.values()) / whole, *ends))
    return found


def _interval(rest: "np.ndarray[tuple[int], np.dtype[np.float64]]") -> tuple[float, float, float]:
    n = len(rest)
    if n < 2:
        return float("nan"), float("nan"), float("nan")
    believed = fact("ledger.scatter_jobs")
    middle = float(rest.sum()) / (n + believed)
    half = float(t_quantile(n - 1.0, 0.975)) * float(rest.std(ddof=1)) / float(np.sqrt(n + believed))
    return float(np.exp(middle)), float(np.exp(middle - half)), float(np.exp(middle + half))


def learn_helper(times: Sequence[LoggedFact], shop: Shop, share_before: float) -> Learned | None:
    """Learn the helper's part of the minutes of those steps that the helper may do; None without a helper or names."""
    if shop.helper is None:
        return None
    by_job: dict[str, list[float]] = {}
    days: list[str] = []
    for row in times:
        if row["worker"] and row["step"] in shop.helper.steps:
            mine = by_job.setdefault(row["job"], [0.0, 0.0])
            mine[0] += float(row["minutes"])
            mine[1] += float(row["minutes"]) * (row["worker"] == HELPER)
            days.append(str(row["on"]))
    if not by_job:
        return None
    minutes, helped = np.array(list(by_job.values())).T
    part = float(helped.sum() / minutes.sum())
    weight = float(minutes.sum() ** 2 / (minutes**2).sum())  # jobs of even size that would say as much
    believed = fact("ledger.scatter_jobs")
    a, b = share_before * believed + part * weight, (1 - share_before) * believed + (1 - part) * weight
    share = Beta(max(a, 1e-3), max(b, 1e-3))
    learned = weight / (weight + believed)
    return Learned.told("helper.share", len(by_job), share.mean, share.quantile, learned, days)
