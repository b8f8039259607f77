"""The stopwatch of page 7: a clock for each person, and what is asked before a job is done.

Takes    the form's fields and buttons, and the log.
Gives    `Stopwatch.heard`: takes a key of the form, says whether it was one of the stopwatch's.
Asked    who works here, once on a device; minutes of a watch that was forgotten, that a clock set back has spoiled,
         or that are ten times off what was expected; and how much it was, where a job has no quote.
"""

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from pricing.basis.errors import BadInput
from pricing.basis.units import sig
from pricing.screens import log_form
from pricing.screens.form import Form, first_words
from pricing.screens.log_book import LogBook
from pricing.show.log_view import title_of

if TYPE_CHECKING:
    from pricing.ledger.stopwatch import Run, Watch

BUTTONS = ("start", "pause", "finish")
NO_NAME = "Say first who works here. It is asked once on each tablet."
_ONLY_SHOWN = "Only shown here. To log on this screen, start it with app --log, or with lab."


class Stopwatch:
    """The stopwatch on a form.

    Parameters
    ----------
    form : Form
        With the entries of `log_form`.
    book : LogBook
        The log.
    quotes : callable
        Gives minutes by step of the quotes, by job.
    written : callable
        Called when facts were written.
    """

    def __init__(
        self,
        form: Form,
        book: LogBook,
        quotes: Callable[[], Mapping[str, Mapping[str, float]]],
        written: Callable[[], None],
    ) -> None:
        self.form, self.book, self._quotes, self._written = form, book, quotes, written
        self.said = ""
        self._asking = ""  # the step whose minutes are asked for, or "much"
        self._told: dict[str, float] = {}
        self._show_question()

    def heard(self, key: str) -> bool:
        """Take a key of the form; False when it is none of the stopwatch's."""
        before = self.form["job"].value
        if key == "known" or key.startswith("tap:known:"):
            name = self.form["known"].value if key == "known" else key.removeprefix("tap:known:")
            self.form["known"].give(name)
            self.form["job"].value = name
            self._stop_asking()
            self.show_step()
            self.tell()
        elif key == "job":
            self._stop_asking()
            self.tell()
        elif key in {"who", "look"} or key.startswith("tap:who:"):
            if key.startswith("tap:who:"):
                self.form["who"].give(key.removeprefix("tap:who:"))
            self.tell(self.said if self._asking or key == "look" else "")
        elif key == "step" or key.startswith("tap:step:"):
            self._tapped(key.removeprefix("tap:step:") if key != "step" else "")
        elif key in BUTTONS:
            self._press(key)
        elif key in {"ask.right", "much.right", "much.skip"}:
            self._answered(key, before)
        else:
            return False
        self.form.refresh()
        return True

    def _tapped(self, step: str) -> None:
        """Switch at once where this person's clock runs; a tap on a large button starts it as well."""
        if step:
            self.form["step"].give(step)
        mine = self._mine()
        if step or (mine and mine.job == self.form["job"].value and mine.step != self.form["step"].value):
            self._press("start")

    @property
    def who(self) -> str:
        """Who works at this screen; '' before it was said."""
        return str(self.form["who"].value)

    def _mine(self) -> "Run | None":
        return next((run for watch in self.book.watches().values() if (run := watch.of(self.who))), None)

    def show_step(self) -> None:
        """Stand on the step that was timed last when a job is taken up again; steps of its quote come first."""
        job = self.form["job"].value
        watch, field = self.book.watches().get(job), self.form["step"]
        field.options = log_form.timed_steps(self._quotes().get(job))  # type: ignore[attr-defined]
        if watch:
            field.give(watch.runs[-1].step)

    def _press(self, key: str) -> None:
        job, step = self.form["job"].value, self.form["step"].value
        if not self.who and self.book.writes:
            self.form["who"].message = NO_NAME
            self.tell(NO_NAME)
            return
        try:
            if key == "start":
                before = self._mine()
                self.book.start(job, step, self.who)
                moved = before and before.job != job
                self.tell(f"{title_of(before.step)}, {before.job}, has ended." if before and moved else "")
            elif key == "pause":
                self.book.pause(job, self.who)
                self.tell()
            else:
                self._told.clear()
                self._finish(job)
        except BadInput as why:
            self.tell(first_words(why))

    def _finish(self, job: str, amounts: "Mapping[str, Mapping[str, float]] | None" = None) -> None:
        watch = self.book.watches().get(job)
        if watch:
            for step, counted in watch.minutes.items():
                if step in self._told:
                    continue
                why = self._doubt(job, step, counted, watch)
                if why:
                    self._ask(step, why, counted)
                    return
            if amounts is None and job not in self._quotes():
                self._asking = "much"
                self.form.tell("much.what", text="Its minutes teach once it is known how much it was.")
                self._show_question(list(watch.minutes))
                self.tell("How much was it?")
                return
        told = self.book.finish(job, self.who, self._told, amounts or {})
        self._stop_asking()
        self.tell(told)
        self._written()

    def _doubt(self, job: str, step: str, counted: float, watch: "Watch") -> str:
        title = title_of(step)
        if step in watch.backwards:
            return f"{title}: a clock was set back while it ran. How many minutes did it take?"
        if step in watch.forgotten:
            return f"{title} ran {_min(counted)} min, some of it without a break for ten hours. How many were they?"
        expected = self.book.far_off(job, step, counted)
        if expected:
            return f"{title} took {_min(counted)} min; about {sig(expected, 2)} were expected. Was it so?"
        return ""

    def _ask(self, step: str, why: str, counted: float) -> None:
        self._asking = step
        self.form["ask.minutes"].value = max(counted, 0.02)
        self.form.tell("ask.what", text=why)
        self._show_question()
        self.tell("One question before it is done.")

    def _answered(self, key: str, job: str) -> None:
        if key == "ask.right" and self._asking:
            self._told[self._asking] = float(self.form["ask.minutes"].value)
        try:
            if key == "much.right":
                steps = list(self.book.watches()[job].minutes)
                self._finish(job, self.book.amounts(log_form.much_of(self.form), steps))
            else:
                self._finish(job, {} if key == "much.skip" else None)
        except BadInput as why:
            self.tell(first_words(why))

    def _stop_asking(self) -> None:
        self._asking = ""
        self._told.clear()
        self._show_question()

    def _show_question(self, steps: "list[str] | None" = None) -> None:
        """Show the fields of what is asked, and hide the others."""
        minutes, much = bool(self._asking) and self._asking != "much", self._asking == "much"
        for key in ("ask.what", "ask.minutes", "ask.right"):
            self.form.tell(key, hidden=not minutes)
        wanted = log_form.measures_of(steps or ())
        for key in ("much.what", "much.like", "much.pieces", "much.right", "much.skip"):
            self.form.tell(key, hidden=not much)
        for driver in log_form.WORK_MEASURES:
            self.form.tell(f"much.{driver}", hidden=not (much and driver in wanted))

    def tell(self, said: str = "") -> None:
        """Say what runs: this person's own clock first, then what others do on the same job."""
        self.said = said
        watches, job = self.book.watches(), self.form["job"].value
        watch = watches.get(job)
        if watch is None:
            said = said or ("" if self.book.writes else _ONLY_SHOWN)
            self.form.tell("watch", text=said, on=False, since_ms=0, before_s=0)
            return
        running = watch.of(self.who) or watch.running
        at = running or watch.runs[-1]
        from pricing.ledger.clocks import Moment

        now = Moment.now()
        spent_min = sum(max(r.minutes(now), 0.0) for r in watch.runs if r.step == at.step and r is not running)
        since_ms = round(1000 * now.at.timestamp() - 60_000 * max(running.minutes(now), 0.0)) if running else 0
        others = [f"{title_of(s).lower()} {_min(m)} min" for s, m in watch.minutes.items() if s != at.step]
        runs = f"{job}. {'Running' if running else 'Paused'}: {title_of(at.step).lower()}{_by(at.worker)}."
        beside = [run for run in watch.runs if run.end is None and run is not running]
        also = [f"Running too: {title_of(run.step).lower()}{_by(run.worker)}." for run in beside]
        told = " ".join([said, runs, *also, *([f"Before: {', '.join(others)}."] if others else [])]).strip()
        self.form.tell("watch", text=told, on=True, since_ms=since_ms, before_s=round(60 * spent_min, 1))


def _min(minutes: float) -> str:
    return sig(minutes, 3) if minutes >= 1 else f"{minutes:.1f}"


def _by(worker: str) -> str:
    return f", {worker}" if worker else ""
