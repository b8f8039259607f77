"""Papers written from a page, with a link that opens each: those for customers, and the summary of the shop.

The summary asks before it overwrites, tells how far it is, and says where the files are.
"""

from abc import ABC, abstractmethod
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar
from urllib.parse import quote

from pricing.basis.errors import BadInput
from pricing.parts.job import Job
from pricing.screens.deferred import Later
from pricing.screens.form import Form, Plain
from pricing.show.desk import Desk

if TYPE_CHECKING:
    from pricing.papers.for_customers import Handed

PARTNERS_FOLDER = "hand-outs/partners"
"""Where in the shop's folder the summary goes; papers for customers lie in a folder of their own."""

_WRITE, _NOTE = "paper", "paper.said"
_SUMMARY, _REPLACE, _BOTH, _SAID = "summary.write", "summary.replace", "summary.both", "summary.said"


class _Paper(ABC):
    """The part of a form that writes a paper of the shop as it is; what sliders of a page try is not in it."""

    note: ClassVar[str]

    def __init__(self, desk: Desk, form: Form) -> None:
        self._desk, self._form = desk, form
        self._later = Later(self._try, after_s=0.05)  # the page shows that work has begun before it begins
        form.on_change(self._pressed)

    @abstractmethod
    def _pressed(self, key: str) -> None:
        """Hear of every field and button of the form."""

    @abstractmethod
    def _write(self) -> None:
        """Write the paper, or raise `BadInput`."""

    def _try(self) -> None:
        try:
            self._write()
        except BadInput as why:
            self._say(f"Not written. {'; '.join(map(str, why.problems))}")

    def _say(self, text: str) -> None:
        self._form.tell(self.note, text=text, link=None)

    def _link(self, path: Path) -> None:
        """Show the link that opens a file of the shop's folder, which the notebook server serves."""
        at = path.resolve().relative_to(self._desk.folder.resolve()).as_posix()
        self._form.tell(self.note, link={"href": f"/files/{quote(at)}", "text": f"Open {path.name}"})


def _lacks(missing: object) -> str:
    return " No PDF: print the page from the browser." if missing else ""


class CustomerPaper(_Paper):
    """The part of a form that writes a paper for customers.

    Parameters
    ----------
    desk, form
        The shop, and the form with `entries` among its own.
    make : callable
        Makes the paper for a day, among those that lie in a folder.
    """

    note = _NOTE

    def __init__(self, desk: Desk, form: Form, make: "Callable[[date, Path], Handed]") -> None:
        super().__init__(desk, form)
        self._make = make

    @staticmethod
    def entries(label: str) -> list[Plain]:
        """What stands in the form."""
        return [Plain("button", label, _WRITE), Plain("note", "", _NOTE)]

    def _pressed(self, key: str) -> None:
        if key != _WRITE:
            self._say("")
        elif self._desk.read_only:
            self._say("Only shown here: nothing is written.")
        else:
            self._say("Begun …")
            self._later.soon()

    def _write(self) -> None:
        from pricing.papers.for_customers import CUSTOMERS_FOLDER
        from pricing.papers.outfiles import file_stem, save_all

        out = self._desk.folder / CUSTOMERS_FOLDER
        made = self._make(date.today(), out)  # noqa: DTZ011  the owner's own day
        paths = save_all(out, file_stem(made.stem), made.contents)
        self._say(f"Written into {CUSTOMERS_FOLDER}.{_lacks(made.missing)}")
        self._link(paths[0])


class HandOver(_Paper):
    """The part of a form that writes the summary of a shop.

    Parameters
    ----------
    desk, form
        The shop, and the form with `entries` among its own.
    job : callable
        Gives the job that is taken apart in it.
    """

    note = _SAID

    def __init__(self, desk: Desk, form: Form, job: Callable[[], Job]) -> None:
        super().__init__(desk, form)
        self._job, self._replace = job, False
        self._folder = desk.folder / PARTNERS_FOLDER
        self._say()

    @staticmethod
    def entries() -> list[Plain]:
        """What stands in the form."""
        return [
            Plain("heading", "Summary to hand over"),
            Plain("button", "Write it", _SUMMARY),
            Plain("button", "Replace", _REPLACE),
            Plain("button", "Keep both", _BOTH),
            Plain("note", "", _SAID),
        ]

    def _say(self, text: str = "A page for the browser that works offline, and a PDF to print.") -> None:
        """Say something, and wait for the first press."""
        self._show(text, write=not self._desk.read_only)

    def _show(self, text: str, *, write: bool = False, asked: bool = False) -> None:
        self._form.tell(_SUMMARY, off=not write)
        for key in (_REPLACE, _BOTH):
            self._form.tell(key, off=not asked)
        super()._say(text)

    def _pressed(self, key: str) -> None:
        if key not in {_SUMMARY, _REPLACE, _BOTH}:
            self._say()  # a question about another job is void
        elif self._desk.read_only:
            self._say("Only shown here: nothing is written.")
        elif key == _SUMMARY and (there := self._there()):
            self._show(f"{there[0].name} is there already, in {self._folder}. Replace it, or keep both?", asked=True)
        else:
            self._replace = key == _REPLACE
            self._show("Begun …")
            self._later.soon()

    def _there(self) -> list[Path]:
        from pricing.papers.report_files import files_there

        return files_there(self._folder, date.today())  # noqa: DTZ011  the owner's own day

    def _write(self) -> None:
        from pricing.papers.report import Report
        from pricing.papers.report_files import WRITING_STEPS, figures_before, write_report

        told = iter([f"{at} of {len(WRITING_STEPS)}: {piece} …" for at, piece in enumerate(WRITING_STEPS, 1)])

        def step(_: int = 0) -> None:
            if text := next(told, ""):
                self._show(text)

        day = date.today()  # noqa: DTZ011  the owner's own day
        report = Report(self._desk.shop, self._desk.items, self._job(), day, figures_before(self._folder))
        step()
        done = write_report(report, self._folder, replace=self._replace, step=step)
        names = " and ".join(path.name for path in done.paths if path.suffix != ".json")
        self._say(f"Written: {names}, in {self._folder.resolve()}.{_lacks(done.missing)}")
        page = next((path for path in done.paths if path.suffix == ".html"), None)
        if page:
            self._link(page)
