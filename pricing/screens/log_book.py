"""The log as the pages open it: the owner's own, or the invented one to look at while there is none.

Why      a button must be on the disk before the next can be pressed, and a page may be closed at any time: the
         ledger is opened for each action and closed again.
"""

import os
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date
from typing import TYPE_CHECKING, Any, Literal

from pricing.basis.errors import BadInput, Problem
from pricing.parts.job import Job
from pricing.shop.folder import known_steps
from pricing.show.desk import LOG_VARIABLE, Desk
from pricing.show.own_log import has_log, opened_log
from pricing.show.words import counted

if TYPE_CHECKING:
    from pricing.costing.sheet import CostSheet
    from pricing.ledger.quotes import OldQuote
    from pricing.ledger.review import Review
    from pricing.ledger.stopwatch import Run, Watch
    from pricing.ledger.store import Ledger, LedgerRow
    from pricing.prices.next_trial import NextTrial

NOT_QUOTED = "It has no quote in the log: press “Quote given” on page 2 under the same name, and its minutes count."
"""Said of minutes from which no rate can be learned yet."""


KINDS_SHOWN = ("times", "jobs", "outcomes", "quotes", "powder", "packs", "loads", "meters", "rework")
"""Kinds of entries that can be mended on the page; the watch's buttons are mended by the minutes they gave."""
_LAST = 10


def first_words(why: BadInput) -> str:
    """Write the first problem in one sentence or two."""
    first = why.problems[0]
    return f"{first.field} is {first.value}; it must be {first.accepts}. {first.mend}".rstrip()


def _today() -> date:
    return date.today()  # noqa: DTZ011  the owner's own calendar day


class LogBook:
    """What jobs really took.

    Parameters
    ----------
    desk : Desk
        The shop it belongs to.
    """

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.invented = False
        self._seen: Review | None = None
        self.writes = not desk.read_only or (bool(os.environ.get(LOG_VARIABLE)) and not desk.demo)

    @contextmanager
    def opened(self) -> "Iterator[Ledger]":
        """Open the owner's ledger.

        Raises
        ------
        BadInput
            The database's library is not installed, or the ledger cannot be opened.
        """
        with opened_log(self.desk.folder, to_look=not self.writes) as ledger:
            yield ledger

    def _writable(self) -> None:
        if not self.writes:
            raise BadInput("the log", [Problem("the shop", "only shown", "your own folder", "Nothing was written.")])

    def review(self) -> "Review":
        """Read what the log says; an invented log while the owner's is empty.

        Raises
        ------
        BadInput
            The ledger cannot be read.
        """
        found = None
        if self._there():
            from pricing.ledger.review import review

            with self.opened() as ledger:
                found = review(ledger, self.desk.shop)
        self.invented = found is None or not (found.times or found.quotes)
        self._seen = self._invented() if found is None or self.invented else found
        return self._seen

    def _there(self) -> bool:
        return not self.desk.demo and has_log(self.desk.folder)

    def _invented(self) -> "Review":
        try:
            from pricing.ledger.review import invented_review
        except ModuleNotFoundError as why:
            mend = "Install the extra: pip install 'powder-shop-pricing[ledger]'."
            raise BadInput("the log", [Problem("the ledger", f"{why.name} missing", "installed", mend)]) from why
        return invented_review(self.desk.shop)

    def watches(self) -> "dict[str, Watch]":
        """Collect every watch that was started and not finished, by job; none where nothing was ever logged."""
        if not self.writes or not self._there():
            return {}
        from pricing.ledger import stopwatch

        with self.opened() as ledger:
            return stopwatch.watches(ledger)

    def start(self, job: str, step: str, who: str) -> None:
        """Start a step of a job, or switch to it; a clock belongs to a person.

        Raises
        ------
        BadInput
            Nothing can be written here, or the job or step is not accepted.
        """
        self._writable()
        from pricing.ledger import stopwatch

        with self.opened() as ledger:
            stopwatch.start(ledger, job, step, worker=who)

    def pause(self, job: str, who: str) -> None:
        """Stop a person's clock until the next start.

        Raises
        ------
        BadInput
            Nothing can be written here, or the job is not accepted.
        """
        self._writable()
        from pricing.ledger import stopwatch

        with self.opened() as ledger:
            stopwatch.pause(ledger, job, worker=who)

    def finish(
        self, job: str, who: str, minutes: Mapping[str, float], amounts: Mapping[str, Mapping[str, float]]
    ) -> str:
        """End the watch of a job, write its minutes and that it is done; gives it in words.

        Raises
        ------
        BadInput
            Nothing can be written here, or the watch was forgotten and its minutes are not told.
        """
        self._writable()
        from pricing.ledger import stopwatch
        from pricing.ledger.outcomes import done

        with self.opened() as ledger:
            steps = len(stopwatch.finish(ledger, job, amounts, minutes=minutes, worker=who))
            gone = done(ledger, job, self.desk.shop.finishes, on=_today())
            known = bool(amounts) or bool(ledger.rows("quotes", job=job, brief=True))
        told = f"{counted(steps, 'entry', 'entries')} written." if steps else "nothing was timed."
        if gone:
            return f"{job}: done, {told}"
        return f"{job}: {told}" if known else f"{job}: {told} {NOT_QUOTED}"

    def amounts(self, much: Mapping[str, Any], steps: Sequence[str]) -> dict[str, dict[str, float]]:
        """Collect how much there was to do of each step: as it was told, or as an item of the list or a drawing says.

        Parameters
        ----------
        much : mapping
            ``like`` (item or drawing, or ''), ``pieces``, and amounts by driver.
        steps : sequence of str
            Steps that were timed.

        Raises
        ------
        BadInput
            The item or drawing cannot be costed.
        """
        from pricing.costing.sheet import cost
        from pricing.ledger.quotes import amounts_of
        from pricing.screens.drawing_form import job_like

        if much["like"]:
            found = amounts_of(cost(self.desk.shop, job_like(self.desk, much["like"], much["pieces"])))
            return {step: found[step] for step in steps if step in found}
        told = {driver: float(amount) for driver, amount in much.items() if driver != "like" and amount}
        told = {"part": told.pop("pieces"), "job": 1.0} | told
        return {step: {d: told[d] for d in known_steps()[step].drivers if d in told} for step in steps}

    def far_off(self, job: str, step: str, minutes: float) -> float:
        """Work out the minutes that were expected where those counted are ten times off; else 0."""
        from pricing.ledger.stopwatch import LEAST_MIN

        if not self._seen or self.invented or minutes < LEAST_MIN:  # a step that was only tapped is no entry
            return 0.0
        return self._seen.far_off(job, step, minutes)

    @staticmethod
    def minutes_of(watch: "Watch", step: str, running: "Run | None") -> float:
        """Work out the minutes of a step that are over, without the run that goes on. [min]"""
        from pricing.ledger.clocks import Moment

        now = Moment.now()
        return sum(max(run.minutes(now), 0.0) for run in watch.runs if run.step == step and run is not running)

    @staticmethod
    def since_ms(run: "Run") -> int:
        """Work out when a run began, by the clock of the day as it is set now. [ms since 1970]"""
        from pricing.ledger.clocks import Moment

        now = Moment.now()
        return round(1000 * now.at.timestamp() - 60_000 * max(run.minutes(now), 0.0))

    def people(self) -> list[str]:
        """Write who may work here: the owner, the helper, and whoever has a name in the log."""
        seen = [str(row["worker"]) for row in self._seen.times] if self._seen and not self.invented else []
        return list(dict.fromkeys(["owner", "helper", *(name for name in seen if name)]))

    def recent(self) -> "list[tuple[str, LedgerRow]]":
        """Collect the last ten entries with their kinds, the newest first; none where nothing was ever logged."""
        if not self._there():
            return []
        from pricing.ledger.outcomes import last_entries

        with self.opened() as ledger:
            return last_entries(ledger, _LAST, KINDS_SHOWN)

    def mend(self, kind: str, row: str, **changes: object) -> None:
        """Correct an entry; what stood before is kept.

        Raises
        ------
        BadInput
            Nothing can be written here, it was corrected meanwhile, or a value is not accepted.
        """
        self._writable()
        with self.opened() as ledger:
            ledger.correct(kind, row, **changes)

    def strike(self, kind: str, row: str) -> None:
        """Take an entry out; it can be brought back by `mend` without a change.

        Raises
        ------
        BadInput
            Nothing can be written here, or it was corrected meanwhile.
        """
        self._writable()
        with self.opened() as ledger:
            ledger.strike(kind, row)

    def take_back(self) -> str:
        """Put back what stood before the last row that was taken from the log; gives its key.

        Raises
        ------
        BadInput
            Nothing can be written here, or no such row stands.
        """
        if self.desk.read_only:
            raise BadInput("the log", [Problem("the shop", "only shown", "your own folder", "Nothing was written.")])
        from pricing.ledger.proposals import take_back

        key = take_back(self.desk.folder)
        self.desk.read_again()
        return key

    def write(self, kind: str, **fields: object) -> None:
        """Write a fact of today.

        Raises
        ------
        BadInput
            Nothing can be written here, or a field is not accepted.
        """
        self._writable()
        from pricing.ledger.kinds import read_entry

        entry = read_entry(kind, {"on": _today().isoformat(), **fields}, "the log")
        with self.opened() as ledger:
            ledger.add(kind, entry)

    def decide(self, job: str, result: Literal["won", "lost"], paid: float | None) -> None:
        """Say what became of a quote.

        Raises
        ------
        BadInput
            Nothing can be written here, or the job has no quote.
        """
        self._writable()
        from pricing.ledger.outcomes import decide

        with self.opened() as ledger:
            decide(ledger, job, result, on=_today(), paid=paid)

    def settle(self, job: str, step: str, minutes: float | None = None) -> None:
        """Say of minutes that look wrong that they were so, or how many it were.

        Raises
        ------
        BadInput
            Nothing can be written here, or they stand in several rows.
        """
        self._writable()
        from pricing.ledger.outcomes import confirm_minutes, correct_minutes

        with self.opened() as ledger:
            if minutes is None:
                confirm_minutes(ledger, job, step)
            else:
                correct_minutes(ledger, job, step, minutes)

    def old_quote(self, job: str) -> "OldQuote":
        """Return a quote as it was given, whatever became of the rates.

        Raises
        ------
        BadInput
            It was written by hand, without a cost sheet.
        """
        from pricing.ledger.quotes import thaw

        with self.opened() as ledger:
            rows = ledger.rows("quotes", job=job)
        if not rows:
            raise BadInput("the log", [Problem("job", job, "a job whose quote is in the log")])
        return thaw(rows[-1])

    def keep_quote(self, sheet: "CostSheet", job: Job, price: float, listed: float = 0.0) -> str:
        """Keep a quote as it was given, with all that it was made of; gives the name it has in the log.

        Raises
        ------
        BadInput
            Nothing can be written here, or no price may be given for this job.
        """
        self._writable()
        from pricing import __version__
        from pricing.ledger.quotes import free_name, freeze

        with self.opened() as ledger:
            name = free_name(ledger.rows("quotes", brief=True), job.title)
            fact = freeze(sheet, job, price, on=_today(), name=name, version=__version__, listed=listed)
            ledger.add("quotes", fact)
        return name

    def try_prices(self, tried: "NextTrial | None") -> str:
        """Begin a trial of two prices in turn; tells what comes.

        Raises
        ------
        BadInput
            Nothing can be written here, or nothing is to be tried.
        """
        self._writable()
        from pricing.show.price_trial_view import start_trial

        with self.opened() as ledger:
            return start_trial(self.desk.folder, ledger, tried, _today())

    def stop_trial(self) -> str:
        """End the trial of prices; says so.

        Raises
        ------
        BadInput
            Nothing can be written here.
        """
        self._writable()
        from pricing.show.price_trial_view import stop_trial

        return stop_trial(self.desk.folder)

    def accept(self, proposal: Any) -> str:
        """Take a proposed row into the rate book; what stood before stays in the history, and no price falls by itself.

        Returns
        -------
        str
            What became of the list, '' where nothing would fall.

        Raises
        ------
        BadInput
            The log is the invented one, nothing can be written here, or the row was changed since.
        """
        if self.desk.read_only:
            raise BadInput("the log", [Problem("the shop", "only shown", "your own folder", "Nothing was written.")])
        if self.invented:
            mend = "Log your own jobs first."
            raise BadInput("the log", [Problem("the log", "invented", "your own", mend)])
        from pricing.show.log_view import take

        _, of_list = take(self.desk.folder, [proposal])
        self.desk.read_again()
        return of_list
