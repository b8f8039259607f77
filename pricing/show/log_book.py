"""The log as the pages open it: the owner's own, or the invented one to look at while there is none.

Why      a button must be on the disk before the next can be pressed, and a page may be closed at any time: the
         ledger is opened for each action and closed again.
Room     show. Imports basis, shop, show.desk; the ledger and its database where they are used.
"""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pricing.basis.errors import BadInput, Problem
from pricing.basis.facts import data_folder
from pricing.parts.job import Job
from pricing.show.desk import Desk

if TYPE_CHECKING:
    from pricing.ledger.review import Review
    from pricing.ledger.stopwatch import Watch
    from pricing.ledger.store import Ledger

URL_VARIABLE = "PRICING_LEDGER_URL"


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
        with open_ledger(self.desk.folder, os.environ.get(URL_VARIABLE)) as ledger:
            yield ledger

    def _writable(self) -> None:
        if self.desk.read_only:
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

    def watch(self, job: str) -> "Watch":
        """Read the stopwatch of a job."""
        from pricing.ledger import stopwatch

        with self.opened() as ledger:
            return stopwatch.read(ledger, job)

    def running(self) -> list[str]:
        """Give the jobs whose watch was started and not finished; none where nothing was ever logged."""
        if self.desk.read_only or not (self.desk.folder / "ledger.db").exists():
            return []
        from pricing.ledger import stopwatch

        with self.opened() as ledger:
            return stopwatch.running_jobs(ledger)

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

    def finish(self, job: str) -> int:
        """End the watch of a job and write its minutes; gives how many steps were written.

        Raises
        ------
        BadInput
            Nothing can be written here, or the watch was forgotten.
        """
        self._writable()
        from pricing.ledger import stopwatch

        with self.opened() as ledger:
            return len(stopwatch.finish(ledger, job, {}))

    def write_minutes(self, job: str, step: str, minutes: float) -> None:
        """Write minutes down by hand.

        Raises
        ------
        BadInput
            Nothing can be written here, or the job, the step or the minutes are not accepted.
        """
        self._writable()
        from pricing.ledger.kinds import read_entry

        fields = {"job": job, "on": date.today().isoformat(), "step": step, "minutes": minutes}  # noqa: DTZ011
        entry = read_entry("times", fields, "minutes by hand")
        with self.opened() as ledger:
            ledger.add("times", entry)

    def keep_quote(self, job: Job, price: float) -> None:
        """Keep a quote as it was given, with all that it was made of.

        Raises
        ------
        BadInput
            Nothing can be written here, or no price may be given for this job.
        """
        self._writable()
        from pricing import __version__
        from pricing.ledger.quotes import freeze

        today = date.today()  # noqa: DTZ011  the owner's own calendar day
        fact = freeze(self.desk.shop, job, price, on=today, version=__version__)
        with self.opened() as ledger:
            ledger.add("quotes", fact)

    def accept(self, proposal: Any) -> list[str]:
        """Take a proposed row into the rate book; what stood before stays in the history.

        Raises
        ------
        BadInput
            The log is the invented one, nothing can be written here, or the row was changed since.
        """
        self._writable()
        if self.invented:
            mend = "Log your own jobs first."
            raise BadInput("the log", [Problem("the log", "invented", "your own", mend)])
        from pricing.ledger.proposals import accept

        names = accept(self.desk.folder, [proposal])
        self.desk.read_again()
        return names
