"""Page 7, what it took: a stopwatch, what jobs really took, and rates that learn from it.

Room     show. Imports basis, shop, and the widgets of show; the ledger where it is used.
"""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipywidgets as widgets

from pricing.basis.errors import BadInput
from pricing.shop.folder import known_steps
from pricing.show import charts_log, log_view
from pricing.show.bar import Bar
from pricing.show.desk import Desk
from pricing.show.edit_table import EditTable
from pricing.show.fields import Choice, Field, Quantity, Words, Wrong
from pricing.show.form import Form, Plain
from pricing.show.live_chart import Answer, Block, Board
from pricing.show.log_book import LogBook
from pricing.show.page import page_of, stacked
from pricing.show.tiles import stopped

if TYPE_CHECKING:
    from pricing.ledger.review import Review
    from pricing.ledger.stopwatch import Watch

_RECENT = 40


class LogPanel:
    """The page of the log.

    Parameters
    ----------
    desk : Desk
        The shop.
    """

    def __init__(self, desk: Desk) -> None:
        self.desk, self.book = desk, LogBook(desk)
        self.review: Review | None = None
        trouble = self._read()
        self.form = Form(self._entries(), about="The stopwatch, and what is shown")
        self.form.on_change(self._changed)
        self.board = Board(
            [
                Block("answers"),
                Block("jobs", "What it took against what was quoted", charts_log.actual_against_quoted()),
                Block("steps", "Step by step", charts_log.step_by_step()),
                Block("won", "Won and lost", charts_log.won_and_lost()),
            ],
            ["answers answers answers", "jobs steps won"],
            columns="1.05fr 1.15fr 0.9fr", lines="88px minmax(0, 1fr)",
        )  # fmt: skip
        self.board.on_asked(self._why)
        self.table = EditTable(log_view.sheets(), self._edit, about="What the log says")
        self.bar = Bar(desk, "7_what_it_took")
        self.show(trouble)
        right = stacked([self.board, self.table], "minmax(0, 1.45fr) minmax(0, 1fr)")
        self.widget: widgets.Box = page_of(self.bar, [self.form, right], "262px minmax(0, 1fr)", name="log")

    def _read(self) -> str:
        try:
            self.review = self.book.review()
        except BadInput as why:
            self.review = None
            return "; ".join(str(problem) for problem in why.problems)
        return ""

    def _entries(self) -> list[Field | Plain]:
        steps = {key: words.title for key, words in known_steps().items() if not key.endswith(("cure", "cool"))}
        running = [] if self.book.desk.read_only else self._running()
        quoted = [] if self.review is None or self.book.invented else [row["job"] for row in self.review.quotes]
        known = list(dict.fromkeys([*running, *reversed(quoted)]))[:_RECENT]
        shown = {log_view.ALL: "whole jobs"}
        if self.review is not None:
            shown |= {step: log_view.title_of(step) for step in self.review.calibration.steps}
        pick: list[Field | Plain] = []
        if known:
            pick = [Choice("known", "Quoted or running", known[0], {name: name for name in known})]
        return [
            Plain("heading", "Stopwatch"),
            *pick,
            Words("job", "Job", known[0] if known else "my first job"),
            Choice("step", "Step", "wipe", steps),
            Plain("button", "Start", "start"),
            Plain("button", "Pause", "pause"),
            Plain("button", "Job is done", "finish"),
            Plain("note", "", "watch"),
            Plain("heading", "Or write minutes down"),
            Quantity("minutes", "It took", 10.0, "min", self.desk.tongue, least=0.02, most=6000),
            Plain("button", "Write it down", "write"),
            Plain("note", "", "said"),
            Plain("heading", "What is shown"),
            Choice("shown", "Step", "wipe" if "wipe" in shown else log_view.ALL, shown),
        ]

    def _running(self) -> list[str]:
        try:
            return self.book.running()
        except BadInput:
            return []

    def _changed(self, key: str) -> None:
        if key == "known":
            self.form["job"].value = self.form["known"].value
            self.form.refresh()
            self._tell_watch()
            return
        if key == "shown":
            self._show_jobs()
            return
        if key not in {"start", "pause", "finish", "write"}:
            return
        job, step = self.form["job"].value, self.form["step"].value
        try:
            said = self._press(key, job, step)
        except BadInput as why:
            first = why.problems[0]
            said = f"{first.field} is {first.value}; it must be {first.accepts}. {first.mend}".rstrip()
        self.form.tell("said" if key == "write" else "watch", text=said)

    def _press(self, key: str, job: str, step: str) -> str:
        if key == "start":
            return _told(self.book.start(job, step), job)
        if key == "pause":
            return _told(self.book.pause(job), job)
        if key == "finish":
            count = self.book.finish(job)
            self.show(self._read())
            return f"{job}: {count} steps written." if count else f"{job}: nothing was timed."
        self.book.write_minutes(job, step, float(self.form["minutes"].value))
        self.show(self._read())
        return f"Written: {job}, {log_view.title_of(step).lower()}, {self.form['minutes'].text}."

    def _tell_watch(self) -> None:
        if self.desk.read_only or self.form["job"].value not in self._running():
            self.form.tell("watch", text="")
            return
        self.form.tell("watch", text=_told(self.book.watch(self.form["job"].value), self.form["job"].value))

    def _edit(self, sheet: str, row: str, column: str, _given: str) -> None:
        if sheet != "rates" or column != "take" or self.review is None:
            return
        proposal = next(one for one in self.review.proposals if one.key == row)
        try:
            names = self.book.accept(proposal)
        except BadInput as why:
            raise Wrong(f"{why.problems[0].field} is {why.problems[0].value}. {why.problems[0].mend}") from None
        self.show(self._read())
        self.bar.say(f"Taken: {row}; changed {', '.join(names)}")

    def show(self, trouble: str = "") -> None:
        """Send what the log says."""
        self._tell_watch()
        if self.review is None:
            self.board.show(words={"answers": stopped([trouble])})
            return
        wins, told = log_view.win_rows(self.review)
        self.board.show(
            {"steps": log_view.step_rows(self.review), "won": wins},
            {"answers": log_view.log_tiles(self.review, invented=self.book.invented), "won": told,
             "steps": "The steps that are off most. Click a bar for more."},
        )  # fmt: skip
        takes = not (self.book.invented or self.desk.read_only)
        said = "Invented jobs, to look at." if self.book.invented else ""
        self.table.fill(log_view.table_rows(self.review, takes=takes), said)
        self._show_jobs()

    def _show_jobs(self) -> None:
        if self.review is None:
            return
        step = self.form["shown"].value
        name = "Whole jobs" if step == log_view.ALL else log_view.title_of(step)
        self.board.show({"jobs": log_view.job_rows(self.review, step)}, {"jobs": f"{name}. Dashed: as quoted."})

    def _why(self, key: str) -> Answer | None:
        return log_view.answer(self.review, key) if self.review is not None else None


def _told(watch: "Watch", job: str) -> str:
    running: Any = watch.running
    minutes = ", ".join(f"{log_view.title_of(step).lower()} {value:.1f} min" for step, value in watch.minutes.items())
    since = f" Running: {log_view.title_of(running.step).lower()}." if running else " Paused."
    return f"{job}: {minutes or 'no time yet'}.{since}"


def page(folder: Path | str | None = None) -> widgets.Box:
    """Open the page.

    Parameters
    ----------
    folder : path, optional
        As in `pricing.show.desk.Desk`.
    """
    return LogPanel(Desk(folder)).widget
