"""Time these: three open jobs that part the rates of steps best, and what timing each step of them is worth.

Takes    amounts of open quoted jobs, what the log knows, and the worth of steps.
Gives    `ToTime` rows, the dearest ignorance first.
Model    a step of a job tells of its rates what its amounts weigh in its time; the three jobs are the
         D-optimal ones over all steps (`pricing.ledger.design`). Money is that of
         `pricing.ledger.value_of_information`, for this one job in place of several.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from pricing.basis.arrays import Array
from pricing.ledger.calibrate import Calibration
from pricing.ledger.design import best_rows
from pricing.ledger.fit import StepFit
from pricing.ledger.value_of_information import TimingWorth
from pricing.shop.rates import Assumption

THREE = 3
_MOST_JOBS = 40  # the newest; older ones are hardly open


@dataclass(frozen=True, slots=True)
class ToTime:
    """One step of one job that is worth timing.

    Parameters
    ----------
    job, step : str
        Which.
    parts : float
        Factor by which the range of the step's rates together shrinks; 1 says nothing new.
    worth : float
        What it is worth on a year's quotes. [money]
    """

    job: str
    step: str
    parts: float
    worth: float


def to_time(
    jobs: Mapping[str, Mapping[str, Mapping[str, float]]],
    timed: "set[tuple[str, str]]",
    calibration: Calibration,
    beliefs: Mapping[str, Assumption],
    worths: Sequence[TimingWorth],
) -> list[ToTime]:
    """Choose three jobs to time, and say of each of their steps what it is worth.

    Parameters
    ----------
    jobs : mapping
        Open job to step to driver to amount, the newest last.
    timed : set of (job, step)
        What has been timed already.
    calibration : Calibration
        What the log says so far.
    beliefs : mapping
        The rates before the log.
    worths : sequence of TimingWorth
        What steps are worth, on the quotes of a year.

    Returns
    -------
    list of ToTime
        Of at most three jobs, what is worth most first.
    """
    names = list(jobs)[-_MOST_JOBS:]
    steps = sorted({step for name in names for step in jobs[name]})
    fits = {step: fit for step in steps if (fit := calibration.known(step, beliefs))}
    if not fits:
        return []
    sizes = np.cumsum([0, *(len(fit.guesses) for fit in fits.values())])
    known = np.zeros((sizes[-1], sizes[-1]))
    for (first, last), fit in zip(pairwise(sizes), fits.values(), strict=True):
        known[first:last, first:last] = np.linalg.inv(fit.covariance)
    rows: dict[str, dict[str, Array]] = {}
    candidates = []
    for name in names:
        whole = []
        for first, (step, fit) in zip(sizes[:-1], fits.items(), strict=True):
            slope = _slope(fit, jobs[name].get(step, {})) if (name, step) not in timed else None
            if slope is not None:
                rows.setdefault(name, {})[step] = slope
                row = np.zeros(sizes[-1])
                row[first : first + len(slope)] = slope
                whole.append(row)
        candidates.append(np.array(whole).reshape(len(whole), sizes[-1]))
    money = {one.step: one for one in worths}
    found = []
    for at in best_rows(candidates, known, THREE):
        for step, slope in rows.get(names[at], {}).items():
            fit = fits[step]
            gain = float(np.log1p(slope @ fit.covariance @ slope))
            found.append(ToTime(names[at], step, float(np.exp(gain / 2)), _worth(money.get(step), fit, slope)))
    return sorted(found, key=lambda one: -one.worth)


def _slope(fit: StepFit, amounts: Mapping[str, float]) -> Array | None:
    """Slopes of a job's log time in the log rates, in units of its scatter; None where it has none of the step."""
    parts = np.array([amounts.get(guess.driver, 0.0) for guess in fit.guesses]) * fit.typical
    return np.asarray(parts / parts.sum() / fit.state.scatter) if parts.sum() > 0 else None


def _worth(worth: TimingWorth | None, fit: StepFit, slope: Array) -> float:
    """Money of knowing the rates as well as after this job: the shortfall falls with the range of the mean time."""
    if worth is None or not worth.unsure:
        return 0.0
    information = np.linalg.inv(fit.covariance)
    share = np.full(len(fit.guesses), 1.0 / len(fit.guesses))
    before = float(share @ fit.covariance @ share)
    after = float(share @ np.linalg.inv(information + np.outer(slope, slope)) @ share)
    return worth.knowing * float(np.sqrt(max(before - after, 0.0))) / worth.unsure
