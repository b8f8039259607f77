"""Page 7, what it took: a stopwatch, what jobs really took, and rates that learn from it."""

from collections.abc import Mapping
from typing import TYPE_CHECKING

from ipywidgets import Widget

from pricing.basis.errors import BadInput
from pricing.basis.tongue import Range, Wrong
from pricing.basis.typed import read
from pricing.basis.units import sig
from pricing.screens import log_form, log_last, log_sheets
from pricing.screens.deferred import Later
from pricing.screens.form import Plain, first_words
from pricing.screens.layout import stacked
from pricing.screens.log_book import NOT_QUOTED, LogBook
from pricing.screens.log_clock import BUTTONS, Stopwatch
from pricing.screens.panel import Page
from pricing.show import charts_shop, log_view
from pricing.show.blocks import Answer, Block
from pricing.show.cells import Measure
from pricing.show.fields import Field
from pricing.show.labels import short
from pricing.show.table import EditTable
from pricing.show.tiles import stopped

if TYPE_CHECKING:
    from pricing.ledger.review import Review

_RECENT = 40
NOTHING_YET = (
    '<div class="pp-instead">No job yet that was both quoted and timed.<ol>'
    "<li>Page 2: press “Quote given: log it”.</li>"
    "<li>Here: choose the job and its step, press Start, and tap the next step when you go on.</li>"
    "<li>Press Job done. Its dot stands here then.</li></ol></div>"
)
"""What to do, in place of axes without a dot."""


class LogPanel(Page):
    """The page of the log."""

    here, name, about = "7_what_it_took", "log", "The stopwatch, and what is shown"
    widths = "300px minmax(0, 1fr)"
    areas = ("answers answers answers", "jobs steps won")
    columns = "1.05fr 1.15fr 0.9fr"
    lines = "88px minmax(0, 1fr)"

    review: "Review | None" = None

    def _begin(self) -> None:
        self.book = LogBook(self.desk)
        self.table = EditTable(log_sheets.log_tables(), self._edit, about="What the log says")
        self.trouble = self._read()
        self._read_soon = Later(self._read_again, after_s=0.05)
        self._read_at_rest = Later(self._read_again, after_s=1.0)  # not at each move of a number on page 1

    def _join(self) -> None:
        self.watch = Stopwatch(self.form, self.book, lambda: self._quotes, self._read_soon.soon)
        self.watch.show_step()
        self.form.tell("sure", hidden=True)

    def _blocks(self) -> list[Block]:
        return [
            Block("answers"),
            Block("jobs", "What it took against what was quoted", charts_shop.actual_against_quoted()),
            Block("steps", "Step by step", charts_shop.step_by_step()),
            Block("won", "Won and lost", charts_shop.win_chart()),
        ]

    def _parts(self) -> list[Widget]:
        return [self.form, stacked([self.board, self.table], "minmax(0, 1.3fr) minmax(0, 1fr)")]

    def _read_again(self) -> None:
        self.trouble = self._read()
        self.show()

    def _read(self) -> str:
        try:
            self.review = self.book.review()
        except BadInput as why:
            self.review = None
            return "; ".join(str(problem) for problem in why.problems)
        return ""

    @property
    def _quotes(self) -> dict[str, Mapping[str, float]]:
        """Minutes by step of the quotes in the owner's own log, the newest first."""
        if self.review is None or self.book.invented:
            return {}
        return {row["job"]: row["minutes"] for row in reversed(self.review.quotes)}

    def _known(self) -> list[str]:
        return list(dict.fromkeys([*self.book.watches(), *self._open(), *self._quotes]))[:_RECENT]

    def _entries(self) -> list[Field | Plain]:
        known = self._known()
        shown = {log_view.ALL: "whole jobs"}
        if self.review is not None:
            shown |= {step: log_view.title_of(step) for step in self.review.calibration.steps}
        steps = log_form.timed_steps(self._quotes.get(known[0]) if known else None)
        entries = log_form.entries(self.desk, known, steps, shown, self.book.people())
        if self.on_bench.named and not self.book.watches():
            next(one for one in entries if isinstance(one, Field) and one.key == "job").value = self.on_bench.named
        return entries

    def _bench_changed(self) -> None:
        """Go on with the job on the bench, where nobody's clock runs."""
        if not self.book.watches():
            self.form["job"].value = self.on_bench.named
            self.watch.heard("job")

    def _open(self) -> list[str]:
        """Quoted jobs that were neither lost nor done: those that may be worked on."""
        if self.review is None:
            return []
        over = {row["job"] for row in self.review.outcomes if row["result"] == "lost"}
        over |= {row["job"] for row in self.review.jobs}
        return [name for name in self._quotes if name not in over]

    def _take(self, key: str) -> None:
        if key != "write":
            self.form.tell("sure", hidden=True)
        if self.watch.heard(key):
            if key == "look":
                self._look()
        elif key == "shown":
            self._show_jobs()
        elif key == "sure":
            self._write("write", confirmed=True)
        elif key in log_form.WRITES:
            self._write(key)

    def _look(self) -> None:
        """Take in what another tablet has started since."""
        known = self._known()
        if known and "known" not in self.form:
            kept = {field.key: field.value for field in self.form}
            self.form.lay(self._entries())
            for key, value in kept.items():
                self.form[key].value = value
            self.watch.show_step()
            self.form.refresh()
        elif known and set(known) - set(self.form["known"].options):  # type: ignore[attr-defined]
            self.form["known"].options = {name: name for name in known}  # type: ignore[attr-defined]
            self.form.refresh()

    def _write(self, key: str, *, confirmed: bool = False) -> None:
        note = "said" if key == "write" else f"{key}.said"
        fields = log_form.facts_of(self.form, key)
        if key == "write":
            expected = 0.0 if confirmed else self.book.far_off(fields["job"], fields["step"], fields["minutes"])
            if expected:
                title, took = log_view.title_of(fields["step"]), self.form["minutes"].text
                self.form.tell("sure", hidden=False)
                about = f"about {sig(expected, 2)} min were expected"
                self.form.tell(note, text=f"{title}: {took}, and {about}. Was it so?")
                return
            fields |= {"worker": self.watch.who} | ({"confirmed": True} if confirmed else {})
        try:
            self.book.write(log_form.WRITES[key], **fields)
        except BadInput as why:
            self.form.tell(note, text=first_words(why))
            return
        self._read_soon.soon()  # the word that it is written comes first, what it means for the rates a second later
        if key != "write":
            named = fields.get("job") or fields.get("meter") or fields.get("powder")
            self.form.tell(note, text=f"Written: {named}.")
            return
        job, title = fields["job"], log_view.title_of(fields["step"]).lower()
        lacks = "" if job in self._quotes else f" {NOT_QUOTED}"
        self.form.tell(note, text=f"Written: {job}, {title}, {self.form['minutes'].text}.{lacks}")

    def _edit(self, sheet: str, row: str, column: str, given: str) -> None:
        try:
            if sheet == "rates" and column == "take" and self.review is not None:
                proposal = next(one for one in self.review.proposals if one.key == row)
                of_list = self.book.accept(proposal)
                self.bar.say(f"{log_view.change_words(self.desk.shop, proposal)}, saved{of_list and f'. {of_list}'}")
            elif sheet == "rates" and column == "take_back":
                self.bar.say(f"{short(self.desk.shop, self.book.take_back())}: as it stood before, saved")
            elif sheet == "last":
                struck = self.table.text("last", row, "state") == "struck"
                log_last.edit_last(self.book, row, column, given, self.desk.tongue, struck=struck)
            elif sheet == "odd":
                step, _, job = row.partition("|")
                self.book.settle(
                    job, step, None if column == "so" else read(given, "min", self.desk.tongue, within=Range(above=0.0))
                )
            elif sheet == "quotes" and column == "show":
                self.board.tell(log_view.old_quote(self.desk.shop, self.book.old_quote(row)))
                return
            elif sheet == "quotes":
                self._decide(row, column, given)
        except BadInput as why:
            if not row:  # a button under the table: there is no cell to say it in
                self.bar.say(first_words(why))
                return
            raise Wrong(first_words(why)) from None
        self._read_soon.soon()

    def _decide(self, job: str, column: str, given: str) -> None:
        if column == "lost":
            self.book.decide(job, "lost", None)
            return
        text = given if column == "paid" else self.table.text("quotes", job, "paid")
        measure = Measure("money", self.desk.tongue)
        asked = next(quote["price"] for quote in self.review.quotes if quote["job"] == job) if self.review else 0.0
        self.book.decide(job, "won", measure.read(text) if text.strip() else float(asked))

    def _shop_changed(self) -> None:
        """Ask for what the shop has now, and read the log against its rates."""
        self.form.lay_anew(self._entries())
        self.watch.show_step()
        self._read_at_rest.soon()

    def show(self) -> None:
        """Send what the log says."""
        with self.form.hold_sync():
            if self.form["job"].value in self.book.watches() or not self.watch.said:
                self.watch.tell()
            for key in (*BUTTONS, *log_form.WRITES):
                self.form.tell(key, off=not self.book.writes)
        if self.review is None:
            self.board.show(words={"answers": stopped([self.trouble], title="The log cannot be read")})
            return
        (wins, told), steps = log_view.win_rows(self.review), log_view.logged_step_rows(self.review)
        self.board.show(
            {"steps": steps, "won": wins},
            {
                "answers": log_view.log_tiles(self.review, invented=self.book.invented),
                "won": told,
                "steps": "The steps that are off most. Click a bar for more." if steps["steps"] else NOTHING_YET,
            },
        )
        mine = not self.book.invented
        takes, writes = mine and not self.desk.read_only, mine and self.book.writes
        said = "" if self.review.proposals else "From 5 jobs of a step on, the log proposes its rate."
        said = said if mine else "Invented jobs, to look at."
        rows = log_sheets.table_rows(self.review, takes=takes, writes=writes)
        recent = self.book.recent() if mine else []
        self.table.fill(rows | {"last": log_last.rows_of(recent, self.desk.tongue, writes=writes)}, said)
        self._show_jobs()

    def _show_jobs(self) -> None:
        if self.review is None:
            return
        step = self.form["shown"].value
        told = "Whole jobs. Dashed: as quoted."
        if step != log_view.ALL:
            told = "Dashed: as quoted. Upright: range of 9 in 10."
        rows = log_view.job_rows(self.review, step)
        self.board.show({"jobs": rows}, {"jobs": told if rows["jobs"] else NOTHING_YET})

    def _why(self, key: str) -> Answer | None:
        return log_view.log_answer(self.review, key) if self.review is not None else None
