"""A customer's paper written from a page, with a link that opens it."""

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import quote

from pricing.basis.errors import BadInput
from pricing.screens.deferred import Later
from pricing.screens.form import Form, Plain
from pricing.show.desk import Desk

if TYPE_CHECKING:
    from pricing.papers.for_customers import Handed

_WRITE, _NOTE = "paper", "paper.said"


def link_to(path: Path, folder: Path) -> dict[str, str]:
    """Collect the link that opens a file of the shop's folder in the browser, as a note of a form shows it.

    Parameters
    ----------
    path : Path
        The file.
    folder : Path
        The shop's, which the notebook server serves.
    """
    at = path.resolve().relative_to(folder.resolve()).as_posix()
    return {"href": f"/files/{quote(at)}", "text": f"Open {path.name}"}


class CustomerPaper:
    """The part of a form that writes a paper for customers.

    Parameters
    ----------
    desk : Desk
        The shop, as it is; what sliders of a page try is not in it.
    make : callable
        Makes the paper for a day, among those that lie in a folder.
    """

    def __init__(self, desk: Desk, make: "Callable[[date, Path], Handed]") -> None:
        self._desk, self._make = desk, make
        self._form: Form | None = None
        self._later = Later(self._write, after_s=0.05)  # the page shows that work has begun before it begins

    @staticmethod
    def entries(label: str) -> list[Plain]:
        """What stands in the form."""
        return [Plain("button", label, _WRITE), Plain("note", "", _NOTE)]

    def join(self, form: Form) -> None:
        """Listen to the button of a form, with `entries` among its own."""
        self._form = form
        form.on_change(self._pressed)

    def _tell(self, text: str, link: dict[str, str] | None = None) -> None:
        if self._form is not None:
            self._form.tell(_NOTE, text=text, link=link)

    def _pressed(self, key: str) -> None:
        if key != _WRITE:
            self._tell("")
        elif self._desk.read_only:
            self._tell("Only shown here: nothing is written.")
        else:
            self._tell("Begun …")
            self._later.soon()

    def _write(self) -> None:
        from pricing.papers.for_customers import CUSTOMERS_FOLDER
        from pricing.papers.outfiles import file_stem, save_all

        out = self._desk.folder / CUSTOMERS_FOLDER
        try:
            made = self._make(date.today(), out)  # noqa: DTZ011  the owner's own day
            paths = save_all(out, file_stem(made.stem), made.contents)
        except BadInput as why:
            self._tell(f"Not written. {'; '.join(str(problem) for problem in why.problems)}")
            return
        lacks = " No PDF: print the page from the browser." if made.missing else ""
        self._tell(f"Written into {CUSTOMERS_FOLDER}.{lacks}", link_to(paths[0], self._desk.folder))
