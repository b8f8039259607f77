"""The log as the pages open it: the owner's own, or the invented one to look at while there is none.

Why      a button must be on the disk before the next can be pressed, and a page may be closed at any time: the
         ledger is opened for each action and closed again.
Room     screens. Imports basis, costing, parts, show; the ledger and its database where they are used.
"""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from pricing.basis.errors import BadInput, Problem
from pricing.basis.facts import data_folder
from pricing.parts.job import Job
from pricing.show.desk import LOG_VARIABLE, Desk
from pricing.show.words import counted

if TYPE_CHECKING:
    from pricing.costing.sheet import CostSheet
    from pricing.ledger.quotes import OldQuote
    from pricing.ledger.review import Review
    from pricing.ledger.stopwatch import Watch
    from pricing.ledger.store import Ledger

URL_VARIABLE = "PRICING_LEDGER_URL"


NOT_QUOTED = "It has no quote in the log: press “Quote given” on page 2 under the same name, and its minutes count."
"""Said of minutes from which no rate can be learned yet."""


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
        self.writes = not desk.read_only or (bool(os.environ.get(LOG_VARIABLE)) and not desk.demo)

    @contextmanager
    def opened(self) -> "Iterator[Ledger]":
        """Open the owner's ledger.

        Raises
        ------
        BadInput
            The database's library is not installed, or the ledger cannot be opened.
        """
        try:
            from pricing.ledger.store import open_ledger
        except ModuleNotFoundError as why:
            mend = "Install the extra: pip install 'powder-shop-pricing[ledger]'."
            raise BadInput("the log", [Problem("the ledger", f"{why.name} missing", "installed", mend)]) from why
        with open_ledger(self.desk.folder, os.environ.get(URL_VARIABLE), to_look=not self.writes) as ledger:
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
        if not self.desk.demo and (os.environ.get(URL_VARIABLE) or (self.desk.folder / "ledger.db").exists()):
            from pricing.ledger.review import review

            with self.opened() as ledger:
                found = review(ledger, self.desk.shop)
        self.invented = found is None or not (found.times or found.quotes)
        return self._invented() if found is None or self.invented else found

    def _invented(self) -> "Review":
        try:
            from pricing.ledger.exchange import import_folder
            from pricing.ledger.review import review
            from pricing.ledger.store import open_ledger
        except ModuleNotFoundError as why:
            mend = "Install the extra: pip install 'powder-shop-pricing[ledger]'."
            raise BadInput("the log", [Problem("the ledger", f"{why.name} missing", "installed", mend)]) from why
        with tempfile.TemporaryDirectory() as name, open_ledger(Path(name)) as ledger:
            import_folder(ledger, data_folder() / "ledger")
            return review(ledger, self.desk.shop)

    def watches(self) -> "dict[str, Watch]":
        """Give every watch that was started and not finished, by job; none where nothing was ever logged."""
        if not self.writes or not (os.environ.get(URL_VARIABLE) or (self.desk.folder / "ledger.db").exists()):
            return {}
        from pricing.ledger import stopwatch

        with self.opened() as ledger:
            return stopwatch.watches(ledger)

    def start(self, job: str, step: str) -> "Watch":
        """Start a step of a job, or switch to it.

        Raises
        ------
        BadInput
            Nothing can be written here, or the job or step is not accepted.
        """
        self._writable()
        from pricing.ledger import stopwatch

        with self.opened() as ledger:
            return stopwatch.start(ledger, job, step)

    def pause(self, job: str) -> "Watch":
        """Stop the watch of a job until the next start.

        Raises
        ------
        BadInput
            Nothing can be written here, or the job is not accepted.
        """
        self._writable()
        from pricing.ledger import stopwatch

        with self.opened() as ledger:
            return stopwatch.pause(ledger, job)

    def finish(self, job: str) -> str:
        """End the watch of a job, write its minutes and that it is done; gives it in words.

        Raises
        ------
        BadInput
            Nothing can be written here, or the watch was forgotten.
        """
        self._writable()
        from pricing.ledger import stopwatch
        from pricing.ledger.verdicts import done

        with self.opened() as ledger:
            steps = len(stopwatch.finish(ledger, job, {}))
            gone = done(ledger, job, self.desk.shop.finishes, on=_today())
            quoted = bool(ledger.rows("quotes", job=job, brief=True))
        told = f"{counted(steps, 'step', 'steps')} written." if steps else "nothing was timed."
        if gone:
            return f"{job}: done, {told}"
        return f"{job}: {told}" if quoted else f"{job}: {told} {NOT_QUOTED}"

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
        from pricing.ledger.verdicts import decide

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
        from pricing.ledger.verdicts import confirm_minutes, correct_minutes

        with self.opened() as ledger:
            if minutes is None:
                confirm_minutes(ledger, job, step)
            else:
                correct_minutes(ledger, job, step, minutes)

    def old_quote(self, job: str) -> "OldQuote":
        """Give a quote as it was given, whatever became of the rates.

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

    def keep_quote(self, sheet: "CostSheet", job: Job, price: float) -> str:
        """Keep a quote as it was given, with all that it was made of; gives the name it has in the log.

        Raises
        ------
        BadInput
            Nothing can be written here, or no price may be given for this job.
        """
        self._writable()
        from pricing import __version__
        from pricing.ledger.quotes import free_name, freeze_sheet

        with self.opened() as ledger:
            name = free_name(ledger.rows("quotes", brief=True), job.title)
            ledger.add("quotes", freeze_sheet(sheet, job, price, on=_today(), name=name, version=__version__))
        return name

    def accept(self, proposal: Any) -> list[str]:
        """Take a proposed row into the rate book; what stood before stays in the history.

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
        from pricing.ledger.proposals import accept

        names = accept(self.desk.folder, [proposal])
        self.desk.read_again()
        return names
