"""The whole log against the whole rate book: one fit per step.

Takes    the rows of ``times`` that stand, and the shop's rates as the belief before.
Gives    a `Calibration`: a fit per step, the rows that look wrong, and the log's own gaps in words.
Rules    all rows of one job and step are one observation: minutes and amounts are summed. A row
         without amounts takes those of the job's quote. Minutes are minutes at work; the rest
         allowance of the quote comes on top. A rate that came from this log is judged against the
         guess that stood before it, so that no job counts twice.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from pricing.basis.arrays import Array
from pricing.ledger.fit import Guess, StepFit, fit_step
from pricing.ledger.predict import predict
from pricing.shop.rates import Assumption

_LONG = 32  # jobs after which half as many more hardly move a fit
SOURCE = "shop_log"
"""Key of the source of rates that came from the ledger."""
_ONE_A_JOB = ("job", "enquiry")  # drivers of which a job has one unless it says otherwise


@dataclass(frozen=True, slots=True)
class Observed:
    """Jobs of one step, in the order of their days.

    Parameters
    ----------
    drivers : tuple of str
        In the order of the columns.
    jobs, days : tuple of str
        Job, and its last day.
    minutes : (n,) array
        What each took.
    amounts : (n, k) array
        Amounts by driver.
    confirmed : (n,) array of bool
        The owner said that it was so.
    unusable : tuple of str
        Jobs of which no amount is known.
    """

    drivers: tuple[str, ...]
    jobs: tuple[str, ...]
    days: tuple[str, ...]
    minutes: Array
    amounts: Array
    confirmed: np.ndarray[tuple[int], np.dtype[np.bool_]]
    unusable: tuple[str, ...]

    def first(self, count: int) -> "Observed":
        """Return the log as it was when it held ``count`` jobs of this step."""
        return replace(
            self,
            jobs=self.jobs[:count],
            days=self.days[:count],
            minutes=self.minutes[:count],
            amounts=self.amounts[:count],
            confirmed=self.confirmed[:count],
        )


@dataclass(frozen=True, slots=True)
class Doubtful:
    """A job whose minutes look wrong, and what was expected."""

    job: str
    step: str
    day: str
    minutes: float
    expected: float
    counted: bool


@dataclass(frozen=True, slots=True)
class StepResult:
    """One step: what was seen, what it says, and what it cannot say."""

    step: str
    seen: Observed
    fit: StepFit

    @property
    def doubtful(self) -> list[Doubtful]:
        """Jobs to ask the owner about, the wildest first."""
        odd = np.flatnonzero((self.fit.weight < 0.5) & ~self.seen.confirmed)
        expected = np.exp(np.log(self.seen.minutes) - self.fit.residual)
        order = odd[np.argsort(-np.abs(self.fit.residual[odd]))]
        return [
            Doubtful(
                self.seen.jobs[i],
                self.step,
                self.seen.days[i],
                float(self.seen.minutes[i]),
                float(expected[i]),
                bool(self.fit.counted[i]),
            )
            for i in order
        ]

    @property
    def words(self) -> list[str]:
        """What the owner should know before using it, in plain words."""
        said, n = [], self.fit.rows
        if n < 5:
            said.append(f"Only {n} job{'s' if n != 1 else ''} logged: mostly still the guess.")
        blind = [d for d, apart in zip(self.seen.drivers, self.fit.told_apart, strict=True) if not apart]
        if n >= 5 and blind:
            never = [d for i, d in enumerate(self.seen.drivers) if d in blind and not self.seen.amounts[:, i].any()]
            mixed = [d for d in blind if d not in never]
            if never:
                said.append(f"No logged job has {' or '.join(never)}: that rate is still the guess.")
            if mixed and len(self.seen.drivers) > 1:
                said.append(
                    f"The log does not tell {' and '.join(mixed)} apart from the rest: a whole job's time is known, "
                    "the split is a guess. Time a job with much of one and little of the other."
                )
        if without := len(self.seen.unusable):
            jobs = f"{without} job{'s teach' if without > 1 else ' teaches'} nothing"
            said.append(f"{jobs}: no amount of {' or '.join(self.seen.drivers)} was logged or quoted.")
        aside = int((~self.fit.counted).sum())
        if aside:
            said.append(f"{aside} row{'s' if aside > 1 else ''} set aside until you say whether it was so.")
        return said


@dataclass(frozen=True, slots=True)
class Calibration:
    """The log against the rate book, by step."""

    steps: Mapping[str, StepResult]

    @property
    def doubtful(self) -> list[Doubtful]:
        """All jobs to ask about."""
        return [row for result in self.steps.values() for row in result.doubtful]

    def known(self, step: str, rates: Mapping[str, Assumption]) -> StepFit | None:
        """Return what is known of a step, before any job of it what the rates say; None where it has no rate."""
        if step in self.steps:
            return self.steps[step].fit
        guesses = guesses_of(rates, step)
        return fit_step(np.empty(0), np.empty((0, len(guesses))), guesses) if guesses else None


def guesses_of(rates: Mapping[str, Assumption], step: str) -> list[Guess]:
    """Collect the attended rates of a step, as they were before the log had its say, as guesses."""
    found = []
    for key, row in rates.items():
        name, driver, gives = key.rsplit(".", 2)
        if name == step and gives == "hands" and row.high > 0:
            found.append(guess_at(row, driver))
    return found


def guess_at(row: Assumption, driver: str) -> Guess:
    """Return a row of the book, with a high end above 0, as a guess on a log scale of the rate of a driver."""
    low = max(row.low, row.high / 1000.0)  # a log scale has no zero
    likely = max(row.likely, low)
    if row.shape == "lognormal":  # three points whose mean is the row's own
        likely = likely_of(row.mean, low, row.high)
    return Guess(driver, low, likely, row.high)


def likely_of(mean: float, low: float, high: float) -> float:
    """Work out the middle of three points whose beta-PERT has a mean, as near as they allow."""
    return min(max((6 * mean - low - high) / 4, low), high)


def observe(
    times: Iterable[Mapping[str, object]],
    step: str,
    drivers: Sequence[str],
    quoted: Mapping[str, Mapping[str, Mapping[str, float]]] | None = None,
) -> Observed:
    """Gather the jobs of one step.

    Parameters
    ----------
    times : iterable of mapping
        Rows of the table ``times`` that stand.
    step : str
        Step.
    drivers : sequence of str
        Drivers of its rates.
    quoted : mapping, optional
        Job to step to driver to amount, from the quotes.
    """
    minutes: dict[str, float] = {}
    days: dict[str, str] = {}
    amounts: dict[str, dict[str, float]] = {}
    certain: dict[str, bool] = {}
    for row in times:
        if row["step"] != step:
            continue
        job = str(row["job"])
        minutes[job] = minutes.get(job, 0.0) + float(row["minutes"])  # type: ignore[arg-type]
        days[job] = max(days.get(job, ""), str(row["on"]))
        certain[job] = certain.get(job, True) and bool(row["confirmed"])
        mine = amounts.setdefault(job, {})
        for driver, amount in row["amounts"].items():  # type: ignore[attr-defined]
            mine[driver] = mine.get(driver, 0.0) + float(amount)
    table, kept, unusable = [], [], []
    for job in sorted(minutes, key=lambda name: (days[name], name)):
        mine = amounts[job] or dict((quoted or {}).get(job, {}).get(step, {}))
        row_amounts = [mine.get(d, 1.0 if d in _ONE_A_JOB and mine else 0.0) for d in drivers]
        if not any(row_amounts):
            unusable.append(job)
            continue
        kept.append(job)
        table.append(row_amounts)
    return Observed(
        tuple(drivers),
        tuple(kept),
        tuple(days[job] for job in kept),
        np.array([minutes[job] for job in kept]),
        np.array(table, dtype=np.float64).reshape(len(kept), len(drivers)),
        np.array([certain[job] for job in kept], dtype=bool),
        tuple(unusable),
    )


def calibrate(
    times: Sequence[Mapping[str, object]],
    rates: Mapping[str, Assumption],
    quoted: Mapping[str, Mapping[str, Mapping[str, float]]] | None = None,
) -> Calibration:
    """Fit every step that has a logged job: rows of ``times``, rates as they were before, amounts as in `observe`.

    Raises
    ------
    BadInput
        A rate is not above 0.
    """
    by_step: dict[str, list[Mapping[str, object]]] = {}
    for row in times:
        by_step.setdefault(str(row["step"]), []).append(row)
    results = {}
    for step in sorted(by_step):
        guesses = guesses_of(rates, step)
        if not guesses:
            continue
        seen = observe(by_step[step], step, [g.driver for g in guesses], quoted)
        fit = fit_step(seen.minutes, seen.amounts, guesses, confirmed=seen.confirmed)
        results[step] = StepResult(step, seen, fit)
    return Calibration(results)


def then_known(result: StepResult, level: float = 0.9) -> tuple[Array, Array, Array]:
    """Predict each job from the jobs before it, so that the coverage so far is an honest one.

    Parameters
    ----------
    result : StepResult
        One step.
    level : float
        Chance that a job lies inside.

    Returns
    -------
    mean, low, high : (n,) arrays
        Minutes. The fit is renewed each time the log has grown by a half, a long log by as much again, and serves
        until then.
    """
    seen, guesses = result.seen, result.fit.guesses
    n = len(seen.jobs)
    mean, low, high = np.empty(n), np.empty(n), np.empty(n)
    start = 0
    while start < n:
        stop = min(max(start + 1, start * 3 // 2 if start < _LONG else 2 * start), n)
        past = seen.first(start)
        fit = fit_step(past.minutes, past.amounts, guesses, confirmed=past.confirmed)
        told = predict(fit, seen.amounts[start:stop], level)
        mean[start:stop], low[start:stop], high[start:stop] = told.mean, told.low, told.high
        start = stop
    return mean, low, high
