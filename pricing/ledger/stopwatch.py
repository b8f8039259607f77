"""A stopwatch per person and step, kept as pressed buttons.

Takes    buttons: start a step of a job (which ends what the same person did before), pause, finish the job.
Gives    what runs now, minutes so far, and at the end one fact per step and person.
Safety   every button is in the ledger before the next can be pressed; minutes are counted from the
         buttons, never from the memory of a program, so a closed browser or a killed kernel loses
         nothing. A button pressed twice counts once, and finishing twice writes the same facts.
Clocks   a button keeps the time of day and, where the machine has one, a clock that nobody can set
         back. Minutes between two buttons of one machine come from that; others from the time of
         day, and a run that would end before it began is asked about.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from sqlalchemy import case, func, select

from pricing.basis.errors import BadInput, Problem, not_known
from pricing.basis.facts import fact
from pricing.ledger.clocks import Moment
from pricing.ledger.fields import problems_of_step
from pricing.ledger.kinds import read_entry
from pricing.ledger.store import Ledger, LedgerRow
from pricing.ledger.tables import TABLES, stands

LEAST_MIN = 1.0 / 60.0
"""A step that was only tapped is not a fact."""


@dataclass(frozen=True, slots=True)
class Run:
    """Minutes of one person from one start to the next button; ``end`` is None while it runs."""

    job: str
    step: str
    worker: str
    start: Moment
    end: Moment | None
    id: str

    def minutes(self, now: Moment) -> float:
        """Work out its minutes so far; below 0 where a clock was set back and no other can tell."""
        return (self.end or now).minutes_from(self.start)


@dataclass(frozen=True, slots=True)
class Watch:
    """What the buttons of one job say: its runs in the order of their starts, read at a moment."""

    runs: tuple[Run, ...]
    at: Moment

    @property
    def minutes(self) -> dict[str, float]:
        """Minutes by step, running ones up to now. [min]"""
        found: dict[str, float] = {}
        for run in self.runs:
            found[run.step] = found.get(run.step, 0.0) + max(run.minutes(self.at), 0.0)
        return found

    @property
    def forgotten(self) -> tuple[str, ...]:
        """Steps with a run so long that most likely its end was forgotten."""
        most_min = _forgotten_min()
        return tuple(dict.fromkeys(run.step for run in self.runs if run.minutes(self.at) > most_min))

    @property
    def backwards(self) -> tuple[str, ...]:
        """Steps with a run that ends before it began, by a clock that was set back."""
        return tuple(dict.fromkeys(run.step for run in self.runs if run.minutes(self.at) < 0))

    @property
    def running(self) -> Run | None:
        """The run that has not ended, the newest if two people work."""
        return next((run for run in reversed(self.runs) if run.end is None), None)

    def of(self, worker: str) -> Run | None:
        """Return the run of a person that has not ended."""
        return next((run for run in reversed(self.runs) if run.end is None and run.worker == worker), None)


def runs_of(buttons: Iterable[Mapping[str, Any]]) -> list[Run]:
    """Turn buttons into runs.

    Parameters
    ----------
    buttons : iterable of mapping
        Rows of the table ``watch`` in the order of writing, which is the order in which they were pressed: whatever
        a clock says, a button is kept before the next one.

    Returns
    -------
    list of Run
        One person has one run at a time: a start ends the run before it, on whatever job. Runs of
        jobs that were finished are left out.

    Examples
    --------
    >>> press = {"job": "gate", "worker": "", "id": "1", "steady_s": None, "clock": ""}
    >>> at = "2026-11-25T10:{:02}:00+00:00".format
    >>> runs = runs_of([
    ...     press | {"step": "blast", "action": "start", "pressed": at(0)},
    ...     press | {"step": "coat", "action": "start", "pressed": at(12)},
    ...     press | {"step": "coat", "action": "pause", "pressed": at(20)},
    ... ])
    >>> [(run.step, run.minutes(Moment.now())) for run in runs]
    [('blast', 12.0), ('coat', 8.0)]
    """
    by_job: dict[str, list[Run]] = {}  # since a finish takes a job out: logs grow to tens of thousands of buttons
    place: dict[str, tuple[str, int]] = {}  # where a person's open run stands

    def end(worker: str, at: Moment) -> None:
        job, number = place.pop(worker)
        by_job[job][number] = replace(by_job[job][number], end=at)

    for button in buttons:
        at = _moment_of(button)
        worker, job = button["worker"], button["job"]
        running = by_job[place[worker][0]][place[worker][1]] if worker in place else None
        if button["action"] == "start":
            if running and (running.job, running.step) == (job, button["step"]):
                continue  # pressed twice
            if running:
                end(worker, at)
            mine = by_job.setdefault(job, [])
            place[worker] = job, len(mine)
            mine.append(Run(job, button["step"], worker, at, None, button["id"]))
        elif button["action"] == "pause":
            if running and running.job == job:
                end(worker, at)
        else:
            by_job.pop(job, None)
            place = {name: where for name, where in place.items() if where[0] != job}
    return [run for runs in by_job.values() for run in runs]


def _forgotten_min() -> float:
    return fact("ledger.forgotten", "min")


def _moment_of(button: Mapping[str, Any]) -> Moment:
    try:
        return Moment(datetime.fromisoformat(button["pressed"]), button["steady_s"], button["clock"])
    except (ValueError, TypeError) as why:
        mend = "Strike that row: log list watch."
        raise BadInput("the stopwatch", [Problem("the ledger", f"damaged ({why})", "whole", mend)]) from why


def start(ledger: Ledger, job: str, step: str, *, worker: str = "") -> Watch:
    """Start a step, or switch to it; what the same person did before ends with it, since a clock belongs to a person.

    Raises
    ------
    BadInput
        The step is not known, or the ledger cannot write.
    """
    _press(ledger, job, step, "start", worker, Moment.now())
    return read_watch(ledger, job)


def pause(ledger: Ledger, job: str, *, worker: str = "") -> Watch:
    """Stop a person's clock until the next start.

    Raises
    ------
    BadInput
        Nothing runs for this person and job, or the ledger cannot write.
    """
    with ledger.at_once():
        running = read_watch(ledger, job).of(worker)
        if running is None:
            raise BadInput("the stopwatch", [Problem("job", job, "a job whose watch runs", "Start a step first.")])
        _press(ledger, job, running.step, "pause", worker, Moment.now())
    return read_watch(ledger, job)


def _press(ledger: Ledger, job: str, step: str, action: str, worker: str, now: Moment) -> None:
    fields = {
        "job": job,
        "step": step,
        "action": action,
        "worker": worker,
        "pressed": now.at,
        "steady_s": now.steady_s,
        "clock": now.clock,
    }
    ledger.add("watch", read_entry("watch", fields, "the stopwatch"))


def read_watch(ledger: Ledger, job: str, *, now: Moment | None = None) -> Watch:
    """Read the watch of a job as it stands, now or at another moment."""
    at = now or Moment.now()
    return Watch(tuple(run for run in runs_of(_buttons(ledger)) if run.job == job), at)


def watches(ledger: Ledger, *, now: Moment | None = None) -> dict[str, Watch]:
    """Read every watch that was started and not finished, by job: those that run first, the newest before the older."""
    at, by_job = now or Moment.now(), dict[str, list[Run]]()
    for run in runs_of(_buttons(ledger)):
        by_job.setdefault(run.job, []).append(run)
    found = [Watch(tuple(runs), at) for runs in by_job.values()]
    found.sort(key=lambda watch: (watch.running is not None, watch.runs[-1].start.at), reverse=True)
    return {watch.runs[0].job: watch for watch in found}


def _buttons(ledger: Ledger) -> list[LedgerRow]:
    """List the buttons from the first on that belongs to a job which is not finished: what lies before is history."""
    watch = TABLES["watch"]
    ends = case((watch.c.action == "finish", watch.c.seq), else_=0)
    jobs = (
        select(func.min(watch.c.seq).label("first"))
        .where(*stands(watch))
        .group_by(watch.c.job)
        .having(func.max(ends) < func.max(watch.c.seq))
    )
    firsts = [row["first"] for row in ledger.ask(jobs)]
    if not firsts:
        return []
    return ledger.ask(select(watch).where(*stands(watch), watch.c.seq >= min(firsts)).order_by(watch.c.seq))


def finish(
    ledger: Ledger,
    job: str,
    amounts: Mapping[str, Mapping[str, float]],
    *,
    minutes: Mapping[str, float] | None = None,
    worker: str = "",
) -> list[str]:
    """End the watch of a job and write one fact per step and person, all or none.

    Parameters
    ----------
    amounts : mapping of mapping
        Step to driver to amount.
    minutes : mapping, optional
        Step to minutes in all where the watch is known to be wrong: a forgotten one, a clock that was set back. They
        are taken as confirmed.

    Returns
    -------
    list of str
        Ids of the facts; none when the job was finished already.

    Raises
    ------
    BadInput
        Amounts of a step that was not timed, amounts that are not accepted, or a watch that was forgotten, or set
        back, without minutes.
    """
    with ledger.at_once():
        now = Moment.now()
        watch = read_watch(ledger, job, now=now)
        if not watch.runs:
            return []
        told = dict(minutes or {})
        _refuse_unsure(job, watch, amounts, told)
        facts = [
            read_entry("times", {"job": job, "on": now.at.astimezone().date(), "how": "stopwatch", **fields}, "the log")
            for fields in _shares(watch, amounts, told)
        ]
        names = ledger.add("times", *facts)
        _press(ledger, job, watch.runs[-1].step, "finish", worker, now)
    return names


def _refuse_unsure(
    job: str, watch: Watch, amounts: Mapping[str, Mapping[str, float]], told: Mapping[str, float]
) -> None:
    bad = [
        not_known(field, step, watch.minutes)
        for field, steps in (("amounts", amounts), ("minutes", told))
        for step in steps
        if step not in watch.minutes
    ]
    for step, counted in watch.minutes.items():
        mend = "{}: say how many minutes it really took."
        if step in watch.forgotten and step not in told:
            accepts = f"under {_forgotten_min():.0f} without a break"
            bad.append(Problem(f"minutes of {step}", f"{counted:.0f}", accepts, mend.format("The watch was forgotten")))
        elif step in watch.backwards and step not in told:
            why = mend.format("The clock was set back while it ran")
            bad.append(Problem(f"minutes of {step}", "below 0", "0 or more", why))
        bad += problems_of_step(step, amounts.get(step, {}))
    if bad:
        raise BadInput(f"finishing {job}", bad)


def _shares(
    watch: Watch, amounts: Mapping[str, Mapping[str, float]], told: Mapping[str, float]
) -> Iterable[dict[str, Any]]:
    """Yield step, minutes, who and amounts of each fact; amounts of a step go to whoever worked longest on it."""
    spent: dict[str, dict[str, float]] = {}
    for run in watch.runs:
        mine = spent.setdefault(run.step, {})
        mine[run.worker] = mine.get(run.worker, 0.0) + max(run.minutes(watch.at), 0.0)
    for step, by_worker in spent.items():
        whole = sum(by_worker.values())
        chief = max(by_worker, key=lambda name: by_worker[name])
        for worker, counted in by_worker.items():
            share = counted / whole if whole > 0 else float(worker == chief)  # of one alone it is 1, to the last digit
            took = told[step] * share if step in told else counted
            if took < LEAST_MIN:
                continue
            yield {
                "step": step,
                "minutes": took,
                "worker": worker,
                "confirmed": step in told,
                "amounts": dict(amounts.get(step, {})) if worker == chief else {},
            }
