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
from pricing.screens.job_file import job_like
from pricing.shop.folder import known_steps
from pricing.show.desk import LOG_VARIABLE, Desk
from pricing.show.own_log import has_log, opened_log
from pricing.show.words import counted

if TYPE_CHECKING:
    from pricing.costing.sheet import CostSheet
    from pricing.ledger.quotes import OldQuote
    from pricing.ledger.review import Review
    from pricing.ledger.stopwatch import Watch
    from pricing.ledger.store import Ledger, LedgerRow
    from pricing.prices.next_trial import NextTrial

NOT_QUOTED = "It has no quote in the log: press “Quote given” on page 2 under the same name, and its minutes count."
"""Said of minutes from which no rate can be learned yet."""


KINDS_SHOWN = ("times", "jobs", "outcomes", "quotes", "powder", "packs", "loads", "meters", "rework")
"""Kinds of entries that can be mended on the page; the watch's buttons are mended by the minutes they gave."""
_LAST = 10


def _today() -> date:
    return date.today()  # noqa: DTZ011  the owner's own calendar day


class LogBook:
    """What jobs really took.

    Whatever opens the log raises `BadInput` where its library is not installed or it cannot be read; what writes,
    also where nothing can be written here, or what is written is not accepted.

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
    def writing(self) -> "Iterator[Ledger]":
        """Open the owner's ledger to write in it."""
        self._allow(writes=self.writes)
        with opened_log(self.desk.folder) as ledger:
            yield ledger

    @staticmethod
    def _allow(*, writes: bool) -> None:
        if not writes:
            raise BadInput("the log", [Problem("the shop", "only shown", "your own folder", "Nothing was written.")])

    @contextmanager
    def _reading(self) -> "Iterator[Ledger | None]":
        """Open the owner's ledger to look at it; None where nothing was ever logged."""
        if self.desk.demo or not has_log(self.desk.folder):
            yield None
            return
        with opened_log(self.desk.folder, to_look=not self.writes) as ledger:
            yield ledger

    def review(self) -> "Review":
        """Read what the log says; an invented log while the owner's is empty."""
        found = None
        with self._reading() as ledger:
            if ledger:
                from pricing.ledger.review import review

                found = review(ledger, self.desk.shop)
        self.invented = found is None or not (found.times or found.quotes)
        self._seen = self._invented() if found is None or self.invented else found
        return self._seen

    def _invented(self) -> "Review":
        try:
            from pricing.ledger.review import invented_review
        except ModuleNotFoundError as why:
            mend = "Install the extra: pip install 'powder-shop-pricing[ledger]'."
            raise BadInput("the log", [Problem("the ledger", f"{why.name} missing", "installed", mend)]) from why
        return invented_review(self.desk.shop)

    def watches(self) -> "dict[str, Watch]":
        """Collect every watch that was started and not finished, by job; none where the log cannot be read."""
        if not self.writes:
            return {}
        try:
            with self._reading() as ledger:
                if ledger:
                    from pricing.ledger import stopwatch

                    return stopwatch.watches(ledger)
        except BadInput:
            pass
        return {}

    def start(self, job: str, step: str, who: str) -> None:
        """Start a step of a job, or switch to it; a clock belongs to a person."""
        with self.writing() as ledger:
            from pricing.ledger import stopwatch

            stopwatch.start(ledger, job, step, worker=who)

    def pause(self, job: str, who: str) -> None:
        """Stop a person's clock until the next start."""
        with self.writing() as ledger:
            from pricing.ledger import stopwatch

            stopwatch.pause(ledger, job, worker=who)

    def finish(
        self, job: str, who: str, minutes: Mapping[str, float], amounts: Mapping[str, Mapping[str, float]]
    ) -> str:
        """End the watch of a job, write its minutes and that it is done; gives it in words."""
        with self.writing() as ledger:
            from pricing.ledger import stopwatch
            from pricing.ledger.outcomes import done

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

    def people(self) -> list[str]:
        """Write who may work here: the owner, the helper, and whoever has a name in the log."""
        seen = [str(row["worker"]) for row in self._seen.times] if self._seen and not self.invented else []
        return list(dict.fromkeys(["owner", "helper", *(name for name in seen if name)]))

    def recent(self) -> "list[tuple[str, LedgerRow]]":
        """Collect the last ten entries with their kinds, the newest first; none where nothing was ever logged."""
        with self._reading() as ledger:
            if not ledger:
                return []
            from pricing.ledger.outcomes import last_entries

            return last_entries(ledger, _LAST, KINDS_SHOWN)

    def take_back(self) -> str:
        """Put back what stood before the last row that was taken from the log; gives its key."""
        self._allow(writes=not self.desk.read_only)
        from pricing.ledger.proposals import take_back

        key = take_back(self.desk.folder)
        self.desk.read_again()
        return key

    def write(self, kind: str, **fields: object) -> None:
        """Write a fact of today."""
        with self.writing() as ledger:
            from pricing.ledger.kinds import read_entry

            ledger.add(kind, read_entry(kind, {"on": _today().isoformat(), **fields}, "the log"))

    def decide(self, job: str, result: Literal["won", "lost"], paid: float | None) -> None:
        """Say what became of a quote."""
        with self.writing() as ledger:
            from pricing.ledger.outcomes import decide

            decide(ledger, job, result, on=_today(), paid=paid)

    def settle(self, job: str, step: str, minutes: float | None = None) -> None:
        """Say of minutes that look wrong that they were so, or how many it were."""
        with self.writing() as ledger:
            from pricing.ledger.outcomes import confirm_minutes, correct_minutes

            if minutes is None:
                confirm_minutes(ledger, job, step)
            else:
                correct_minutes(ledger, job, step, minutes)

    def old_quote(self, job: str) -> "OldQuote":
        """Return a quote as it was given, whatever became of the rates; `BadInput` where it has no cost sheet."""
        rows = []
        with self._reading() as ledger:
            if ledger:
                rows = ledger.rows("quotes", job=job)
        if not rows:
            raise BadInput("the log", [Problem("job", job, "a job whose quote is in the log")])
        from pricing.ledger.quotes import thaw

        return thaw(rows[-1])

    def keep_quote(self, sheet: "CostSheet", job: Job, price: float, listed: float = 0.0) -> str:
        """Keep a quote as it was given, with all that it was made of; gives the name it has in the log."""
        with self.writing() as ledger:
            from pricing import __version__
            from pricing.ledger.quotes import free_name, freeze

            name = free_name(ledger.rows("quotes", brief=True), job.title)
            fact = freeze(sheet, job, price, on=_today(), name=name, version=__version__, listed=listed)
            ledger.add("quotes", fact)
        return name

    def try_prices(self, tried: "NextTrial | None") -> str:
        """Begin a trial of two prices in turn; tells what comes."""
        with self.writing() as ledger:
            from pricing.show.price_trial_view import start_trial

            return start_trial(self.desk.folder, ledger, tried, _today())

    def stop_trial(self) -> str:
        """End the trial of prices; says so."""
        self._allow(writes=self.writes)
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
        self._allow(writes=not self.desk.read_only)
        if self.invented:
            raise BadInput("the log", [Problem("the log", "invented", "your own", "Log your own jobs first.")])
        from pricing.show.log_view import take

        _, of_list = take(self.desk.folder, [proposal])
        self.desk.read_again()
        return of_list
