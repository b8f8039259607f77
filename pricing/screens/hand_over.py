"""The summary written from a page: it asks before it overwrites, tells how far it is, and says where the files are."""

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from pricing.basis.errors import BadInput
from pricing.parts.job import Job
from pricing.screens.customer_paper import link_to
from pricing.screens.deferred import Later
from pricing.screens.form import Form, Plain
from pricing.show.desk import Desk

if TYPE_CHECKING:
    from pricing.papers.report_files import Written

PARTNERS_FOLDER = "hand-outs/partners"
"""Where in the shop's folder the files go; papers for customers lie in a folder of their own."""

_WRITE, _REPLACE, _BOTH, _NOTE = "summary.write", "summary.replace", "summary.both", "summary.said"


class HandOver:
    """The part of a form that writes the summary of a shop.

    Parameters
    ----------
    desk : Desk
        The shop, as it is; what sliders of a page try is not in the summary.
    job : callable
        Gives the job that is taken apart in it.
    """

    def __init__(self, desk: Desk, job: Callable[[], Job]) -> None:
        self._desk, self._job = desk, job
        self._form: Form | None = None
        self._replace = False
        self._later = Later(self._write, after_s=0.05)  # the page shows that work has begun before it begins

    @staticmethod
    def entries() -> list[Plain]:
        """What stands in the form."""
        return [
            Plain("heading", "Summary to hand over"),
            Plain("button", "Write it", _WRITE),
            Plain("button", "Replace", _REPLACE),
            Plain("button", "Keep both", _BOTH),
            Plain("note", "", _NOTE),
        ]

    def join(self, form: Form) -> None:
        """Listen to the buttons of a form.

        Parameters
        ----------
        form : Form
            With `entries` among its own.
        """
        self._form = form
        form.on_change(self._pressed)
        self._rest()

    @property
    def folder(self) -> Path:
        """Where files are written."""
        return self._desk.folder / PARTNERS_FOLDER

    def _rest(self, said: str = "A page for the browser that works offline, and a PDF to print.") -> None:
        """Wait for the first press."""
        self._show(said, write=not self._desk.read_only)

    def _show(self, said: str, *, write: bool = False, asked: bool = False) -> None:
        if self._form is not None:
            self._form.tell(_WRITE, off=not write)
            for key in (_REPLACE, _BOTH):
                self._form.tell(key, off=not asked)
            self._form.tell(_NOTE, text=said, link=None)

    def _pressed(self, key: str) -> None:
        if key not in {_WRITE, _REPLACE, _BOTH}:
            self._rest()  # a question about another job is void
        elif self._desk.read_only:
            self._rest("Only shown here: nothing is written.")
        elif key == _WRITE and (there := self._there()):
            self._show(f"{there[0].name} is there already, in {self.folder}. Replace it, or keep both?", asked=True)
        else:
            self._replace = key == _REPLACE
            self._show("Begun …")
            self._later.soon()

    def _there(self) -> list[Path]:
        from pricing.papers.report_files import files_there

        return files_there(self.folder, date.today())  # noqa: DTZ011  the owner's own day

    def _write(self) -> None:
        try:
            done = self._written()
        except BadInput as why:
            told = "; ".join(str(problem) for problem in why.problems)
            self._rest(f"Not written. {told}")
            return
        names = " and ".join(path.name for path in done.paths if path.suffix != ".json")
        missing = " No PDF: print the page from the browser." if done.missing else ""
        self._rest(f"Written: {names}, in {self.folder.resolve()}.{missing}")
        page = next((path for path in done.paths if path.suffix == ".html"), None)
        if page and self._form is not None:
            self._form.tell(_NOTE, link=link_to(page, self._desk.folder))

    def _written(self) -> "Written":
        from pricing.papers.report import Report
        from pricing.papers.report_files import WRITING_STEPS, figures_before, write_report

        pieces = iter(WRITING_STEPS[1:])

        def step(_: int) -> None:
            if (piece := next(pieces, "")) and self._form is not None:
                at = WRITING_STEPS.index(piece) + 1
                self._form.tell(_NOTE, text=f"{at} of {len(WRITING_STEPS)}: {piece} …")

        day = date.today()  # noqa: DTZ011  the owner's own day
        report = Report(self._desk.shop, self._desk.items, self._job(), day, figures_before(self.folder))
        self._show(f"1 of {len(WRITING_STEPS)}: {WRITING_STEPS[0]} …")
        return write_report(report, self.folder, replace=self._replace, step=step)
