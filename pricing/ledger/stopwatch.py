"""A stopwatch per person and step, kept as pressed buttons.

Takes    buttons: start a step of a job (which ends what ran before), pause, finish the job.
Gives    what runs now, minutes so far, and at the end one fact per step.
Safety   every button is in the ledger before the next can be pressed; minutes are counted from the
         buttons, never from the memory of a program, so a closed browser or a killed kernel loses
         nothing. A button pressed twice counts once, and finishing twice writes the same facts.
Room     ledger. Imports basis, entries, fields, store, tables.
"""

import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime

from sqlalchemy import case, func, or_, select

from pricing.basis.errors import BadInput, Problem, choices, nearest
from pricing.ledger.entries import Pressed, Took
from pricing.ledger.fields import problems_of_step
from pricing.ledger.store import Ledger, Row
from pricing.ledger.tables import TABLES, stands

FORGOTTEN_MIN = 600.0
"""A run longer than this was most likely forgotten: nobody wipes for ten hours."""
_LEAST_MIN = 1.0 / 60.0  # a step that was only tapped is not a fact


@dataclass(frozen=True, slots=True)
class Run:
    """Minutes from one start to the next button; ``end`` is None while it runs."""

    job: str
    step: str
    worker: str
    start: datetime
    end: datetime | None
    id: str

    def minutes(self, now: datetime) -> float:
        """Give its minutes so far; a clock that was set back gives none, never fewer than none.

        Parameters
        ----------
        now : datetime
            With its zone.
        """
        return max(((self.end or now) - self.start).total_seconds() / 60.0, 0.0)


@dataclass(frozen=True, slots=True)
class Watch:
    """What the buttons of one job say.

    Parameters
    ----------
    runs : tuple of Run
        In the order of their starts.
    minutes : dict
        By step, running ones up to now. [min]
    forgotten : tuple of str
        Steps with a run of more than `FORGOTTEN_MIN`.
    """

    runs: tuple[Run, ...]
    minutes: dict[str, float]
    forgotten: tuple[str, ...]

    @property
    def running(self) -> Run | None:
        """The run that has not ended, the newest if two people work."""
        return next((run for run in reversed(self.runs) if run.end is None), None)


def runs_of(buttons: Iterable[Mapping[str, str]]) -> list[Run]:
    """Turn buttons into runs.

    Parameters
    ----------
    buttons : iterable of mapping
        Rows of the table ``watch`` in the order of writing.

    Returns
    -------
    list of Run
        One person has one run at a time: a start ends the run before it, on whatever job. Runs of
        jobs that were finished are left out.

    Examples
    --------
    >>> press = {"job": "gate", "worker": "", "id": "1"}
    >>> at = "2026-11-25T10:{:02}:00+00:00".format
    >>> runs = runs_of([
    ...     press | {"step": "blast", "action": "start", "pressed": at(0)},
    ...     press | {"step": "coat", "action": "start", "pressed": at(12)},
    ...     press | {"step": "coat", "action": "pause", "pressed": at(20)},
    ... ])
    >>> [(run.step, run.minutes(datetime.now(UTC))) for run in runs]
    [('blast', 12.0), ('coat', 8.0)]
    """
    ended: dict[
        str, list[Run]
    ] = {}  # by job, since a finish takes a job out: logs grow to tens of thousands of buttons
    open_runs: dict[str, Run] = {}
    for button in buttons:
        at = datetime.fromisoformat(button["pressed"])
        worker, running = button["worker"], open_runs.get(button["worker"])
        same = running is not None and (running.job, running.step) == (button["job"], button["step"])
        if button["action"] == "start":
            if same:
                continue  # pressed twice
            if running:
                ended.setdefault(running.job, []).append(_closed(running, at))
            open_runs[worker] = Run(button["job"], button["step"], worker, at, None, button["id"])
        elif button["action"] == "pause":
            if running and running.job == button["job"]:
                ended.setdefault(running.job, []).append(_closed(open_runs.pop(worker), at))
        else:
            # a start pressed elsewhere in the same moment as the finish is a new run, and stays
            kept = {n: run for n, run in open_runs.items() if run.job != button["job"] or run.start > at}
            open_runs, job = kept, button["job"]
            ended[job] = [run for run in ended.get(job, ()) if run.start > at]
    return sorted([*(run for runs in ended.values() for run in runs), *open_runs.values()], key=lambda run: run.start)


def _closed(run: Run, at: datetime) -> Run:
    return Run(run.job, run.step, run.worker, run.start, max(at, run.start), run.id)


def start(ledger: Ledger, job: str, step: str, *, worker: str = "", button: str | None = None) -> Watch:
    """Start a step, or switch to it; what the same person did before ends with it.

    Parameters
    ----------
    ledger : Ledger
        Where the button is kept.
    job, step : str
        What is worked on.
    worker : str
        Who, when several have their own watch.
    button : str, optional
        Id of this press; a screen that does not know whether it was kept may send it again.

    Raises
    ------
    BadInput
        The step is not known, or the ledger cannot write.
    """
    return _press(ledger, job, step, "start", worker=worker, button=button)


def pause(ledger: Ledger, job: str, *, worker: str = "", button: str | None = None) -> Watch:
    """Stop the watch of a job until the next start.

    Parameters
    ----------
    ledger, job, worker, button
        As in `start`.

    Raises
    ------
    BadInput
        Nothing runs for this job, or the ledger cannot write.
    """
    running = [run for run in read(ledger, job).runs if run.end is None and run.worker == worker]
    if not running:
        raise BadInput("the stopwatch", [Problem("job", job, "a job whose watch runs", "Start a step first.")])
    return _press(ledger, job, running[0].step, "pause", worker=worker, button=button)


def _press(ledger: Ledger, job: str, step: str, action: str, *, worker: str, button: str | None) -> Watch:
    bad = problems_of_step(step, {})
    if bad:
        raise BadInput("the stopwatch", bad)
    pressed = Pressed(job=job, step=step, action=action, worker=worker, pressed=datetime.now(UTC))  # type: ignore[arg-type]
    if button is None or not ledger.known("watch", [button]):
        ledger.add("watch", pressed, ids=[button] if button else None)
    return read(ledger, job)


def read(ledger: Ledger, job: str, *, now: datetime | None = None) -> Watch:
    """Read the watch of a job as it stands.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    job : str
        Job.
    now : datetime, optional
        Instead of the clock.
    """
    at = now or datetime.now(UTC)
    return _watch(tuple(run for run in runs_of(_buttons(ledger)) if run.job == job), at)


def watches(ledger: Ledger, *, now: datetime | None = None) -> dict[str, Watch]:
    """Read every watch that was started and not finished, by job: those that run first, the newest before the older.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    now : datetime, optional
        Instead of the clock.
    """
    at = now or datetime.now(UTC)
    by_job: dict[str, list[Run]] = {}
    for run in runs_of(_buttons(ledger)):
        by_job.setdefault(run.job, []).append(run)
    order = sorted(by_job, key=lambda job: (by_job[job][-1].end is None, by_job[job][-1].start), reverse=True)
    return {job: _watch(tuple(by_job[job]), at) for job in order}


def _buttons(ledger: Ledger) -> list[Row]:
    """Give the buttons from the first on that belongs to a job which is not finished: what lies before is history."""
    watch = TABLES["watch"]
    ends = case((watch.c.action == "finish", watch.c.seq), else_=0)
    late = case((watch.c.action == "finish", watch.c.pressed), else_="")
    # a start pressed elsewhere in the moment of the finish is written before it, and stays
    unfinished = or_(func.max(ends) < func.max(watch.c.seq), func.max(late) < func.max(watch.c.pressed))
    jobs = select(func.min(watch.c.seq).label("first")).where(*stands(watch)).group_by(watch.c.job).having(unfinished)
    firsts = [row["first"] for row in ledger.ask(jobs)]
    if not firsts:
        return []
    return ledger.ask(select(watch).where(*stands(watch), watch.c.seq >= min(firsts)).order_by(watch.c.seq))


def _watch(runs: tuple[Run, ...], at: datetime) -> Watch:
    minutes: dict[str, float] = {}
    for run in runs:
        minutes[run.step] = minutes.get(run.step, 0.0) + run.minutes(at)
    forgotten = dict.fromkeys(run.step for run in runs if run.minutes(at) > FORGOTTEN_MIN)
    return Watch(runs, minutes, tuple(forgotten))


def finish(
    ledger: Ledger,
    job: str,
    amounts: Mapping[str, Mapping[str, float]],
    *,
    minutes: Mapping[str, float] | None = None,
    worker: str = "",
) -> list[str]:
    """End the watch of a job and write one fact per step, all or none.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    job : str
        Job.
    amounts : mapping of mapping
        Step to driver to amount.
    minutes : mapping, optional
        Step to minutes where the watch is known to be wrong: a forgotten one.
    worker : str
        Who writes it.

    Returns
    -------
    list of str
        Ids of the facts; none when the job was finished already.

    Raises
    ------
    BadInput
        Amounts of a step that was not timed, amounts that are not accepted, or a forgotten watch
        without minutes.
    """
    at = datetime.now(UTC)
    watch = read(ledger, job, now=at)
    if not watch.runs:
        return []
    told = dict(minutes or {})
    bad = [
        Problem(field, step, choices(watch.minutes), nearest(step, watch.minutes))
        for field, steps in (("amounts", amounts), ("minutes", told))
        for step in steps
        if step not in watch.minutes
    ]
    bad += [
        Problem(f"minutes of {step}", f"{watch.minutes[step]:.0f}", f"under {FORGOTTEN_MIN:.0f} without a break",
                "The watch was forgotten: say how many minutes it really took.")
        for step in watch.forgotten
        if step not in told
    ]  # fmt: skip
    for step in watch.minutes:
        bad += problems_of_step(step, amounts.get(step, {}))
    if bad:
        raise BadInput(f"finishing {job}", bad)
    first = {run.step: run for run in reversed(watch.runs)}
    day = at.astimezone().date()
    facts: list[tuple[str, Pressed | Took]] = []
    names = []
    for step, counted in watch.minutes.items():
        took = told.get(step, counted)
        if took < _LEAST_MIN:
            continue
        facts.append(
            ("times", Took(job=job, on=day, step=step, minutes=took, amounts=dict(amounts.get(step, {})),
                           worker=worker, how="stopwatch"))
        )  # fmt: skip
        names.append(_name("took", first[step].id))
    last = watch.runs[-1]
    facts.append(("watch", Pressed(job=job, step=last.step, action="finish", worker=worker, pressed=at)))
    names.append(_name("finish", watch.runs[0].id))
    try:
        ledger.add_all(facts, ids=names)
    except BadInput:
        if ledger.known("watch", names[-1:]):  # somebody else finished it in the same moment
            return []
        raise
    return names[:-1]


def _name(what: str, button: str) -> str:
    """Derive an id from the first button, so that finishing twice at once cannot write two facts."""
    return uuid.uuid5(uuid.NAMESPACE_URL, f"{what}:{button}").hex
