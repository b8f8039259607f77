"""How unlike jobs are, from the residuals of all steps: what a whole job shares, and what each step has for itself.

Takes    the fits of all steps, and what was believed of the two shared factors.
Gives    the spread of the factor that all minutes of a job share, and how well the owner's speed over all steps is
         known by now; both are learned like a rate.
Model    log of actual over typical minutes of step s in job j = b(j) + e(s, j), normal, with a spread of its own for
         each step: variance components. Restricted to what fits leave over, by expectation and maximisation, with the
         belief about the shared spread counted as some jobs.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import exp, log, sqrt

import numpy as np
import numpy.typing as npt

from pricing.basis.arrays import Array
from pricing.basis.facts import fact
from pricing.ledger.calibrate import Calibration
from pricing.ledger.numbers import Learned
from pricing.shop.rates import Assumption

_PASSES, _CLOSE = 2000, 1e-7
_LEAST = 0.02  # spread of a step below which it is taken for this, so that no variance runs to nothing
_MEMBERS = 2  # steps of a job that are needed to part what they share from what each has


@dataclass(frozen=True, slots=True)
class Parts:
    """Variance components of log minutes.

    Parameters
    ----------
    shared : float
        Standard deviation of the factor of a job.
    error : float
        Standard error of it.
    steps : (m,) array
        Standard deviation of each step beyond it.
    weight : (j,) array
        What each job says of a level that all share: one over the variance of its mean.
    """

    shared: float
    error: float
    steps: Array
    weight: Array


def components(
    rest: Array, job: npt.NDArray[np.intp], step: npt.NDArray[np.intp], *, believed: float = 0.0, jobs: float = 0.0
) -> Parts:
    """Part residuals into what a job shares and what each step has for itself.

    Parameters
    ----------
    rest : (n,) array
        Log of actual over typical minutes.
    job, step : (n,) array of int
        Numbers of job and step, from 0.
    believed : float
        Spread that is believed of a job's factor.
    jobs : float
        How many jobs that belief counts as.

    Examples
    --------
    >>> draw = np.random.default_rng(1)
    >>> job, step = np.repeat(np.arange(400), 5), np.tile(np.arange(5), 400)
    >>> found = components(draw.normal(0, 0.2, 400)[job] + draw.normal(0, 0.3, 2000), job, step)
    >>> round(found.shared, 1), round(float(found.steps.mean()), 1)
    (0.2, 0.3)
    """
    count, kinds = int(job.max()) + 1, int(step.max()) + 1
    shared2, own2 = 0.5 * float(np.var(rest)), np.full(kinds, 0.5 * float(np.var(rest)))
    rows = np.maximum(np.bincount(step, minlength=kinds), 1)
    for _ in range(_PASSES):
        own2 = np.maximum(own2, _LEAST**2)
        says = np.bincount(job, 1 / own2[step], minlength=count)
        doubt = 1 / (1 / max(shared2, 1e-12) + says)
        middle = doubt * np.bincount(job, rest / own2[step], minlength=count)
        new = (jobs * believed**2 + float((middle**2 + doubt).sum())) / (jobs + count)
        own2 = np.bincount(step, (rest - middle[job]) ** 2 + doubt[job], minlength=kinds) / rows
        moved, shared2 = abs(new - shared2), new
        if moved < _CLOSE * shared2:
            break
    own2 = np.maximum(own2, _LEAST**2)
    says = np.bincount(job, 1 / own2[step], minlength=count)
    weight = says / (1 + shared2 * says)
    curve = 0.5 * (float((weight**2).sum()) + jobs / max(shared2, 1e-12) ** 2)
    shared = sqrt(shared2)
    return Parts(shared, sqrt(1 / curve) / (2 * max(shared, 1e-6)), np.sqrt(own2), weight)


def learn_spreads(calibration: Calibration, beliefs: Mapping[str, Assumption]) -> list[Learned]:
    """Learn ``spread.job`` and ``spread.owner`` from both beliefs; nothing where too few jobs have two steps logged."""
    rest, job, step, days = _gathered(calibration)
    if not len(rest):
        return []
    believed = {key: log(beliefs[key].mean) for key in ("spread.job", "spread.owner")}
    found = components(rest, job, step, believed=believed["spread.job"], jobs=fact("ledger.scatter_jobs"))
    count, first, last = len(found.weight), min(days), max(days)
    known = count / (count + fact("ledger.scatter_jobs"))
    ends = [exp(max(found.shared + times * found.error, 0.0)) for times in (-1.96, -1.645, 1.645, 1.96)]
    before = believed["spread.owner"]
    left = 1 / sqrt(1 / max(before, 1e-6) ** 2 + float(found.weight.sum()))
    now = exp(left)
    return [
        Learned("spread.job", count, exp(found.shared), ends[1], ends[2], (ends[0], ends[3]), known, first, last),
        Learned(
            "spread.owner", count, now, now, now, (now, now), 1 - (left / before) ** 2 if before else 0.0, first, last
        ),
    ]


def _gathered(calibration: Calibration) -> tuple[Array, npt.NDArray[np.intp], npt.NDArray[np.intp], Sequence[str]]:
    """Residuals of jobs with some steps logged, odd rows left out, with the places of job and step."""
    rows = [
        (name, place, float(result.fit.residual[at]), day)
        for place, result in enumerate(calibration.steps.values())
        for at, (name, day) in enumerate(zip(result.seen.jobs, result.seen.days, strict=True))
        if result.fit.weight[at] > 0.5
    ]
    named: dict[str, int] = {}
    for name, *_ in rows:
        named[name] = named.get(name, 0) + 1
    rows = [row for row in rows if named[row[0]] >= _MEMBERS]
    places = {name: at for at, name in enumerate(dict.fromkeys(row[0] for row in rows))}
    steps = {place: at for at, place in enumerate(dict.fromkeys(row[1] for row in rows))}
    return (
        np.array([row[2] for row in rows]),
        np.array([places[row[0]] for row in rows], dtype=np.intp),
        np.array([steps[row[1]] for row in rows], dtype=np.intp),
        [row[3] for row in rows],
    )
