"""Page 2, one job: what it costs step by step, what to charge, how sure that is."""

from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ipywidgets import Widget

from pricing.basis.errors import BadInput
from pricing.parts.job import job_of_item
from pricing.screens import job_file, job_form
from pricing.screens.drawing_form import tell_beside
from pricing.screens.form import Plain, first_words
from pricing.screens.hand_over import CustomerPaper
from pricing.screens.layout import stacked
from pricing.screens.log_book import LogBook
from pricing.screens.panel import JobPage
from pricing.screens.sketch import Sketch
from pricing.show import charts_job, job_view
from pricing.show.blocks import Answer, Block
from pricing.show.fields import Field, Slider
from pricing.show.price_trial_view import trial_of
from pricing.show.what_if import Trial, WhatIf
from pricing.show.words import counted

if TYPE_CHECKING:
    from pricing.papers.for_customers import Handed

_SLIDERS = 3
_SAVES = {"save": "", "replace": "replace", "beside": "beside"}
_NONE: tuple[Any, ...] = ()


class JobPanel(JobPage):
    """The page of one job."""

    here, name, about, widths = "2_one_job", "job", "The job", "300px minmax(0, 1fr)"
    areas = (
        "answers " * 12,
        "steps " * 5 + "margin " * 4 + "loss " * 3,
        "steps " * 5 + "matters " * 7,
        "mind " * 12,
    )
    columns = "repeat(12, minmax(0, 1fr))"
    lines = "108px minmax(0, 1.05fr) minmax(0, 1fr) 92px"

    trial: Trial | None = None

    def _begin(self) -> None:
        self.picture = Sketch()
        self.picture.on_mark(self._marked)
        super()._begin()

    def _renew(self) -> None:
        self.bench = WhatIf(self.desk.shop)

    def _follow(self) -> None:
        """Take the job that lies on the bench, with the drawing or picture it began from."""
        super()._follow()
        self._open_file()

    def _open_file(self) -> None:
        kind, _, name = self.begun.partition(":")
        file = job_file.saved_jobs(self.desk).get(name) if kind == "job" else None
        self._mine = file.read_bytes() if file else b""
        self.drawn = job_file.drawn_of(self.desk, self.begun)
        self._draw()

    def _join(self) -> None:
        self.paper = CustomerPaper(self.desk, self.form, self._paper)
        self._ask_name(ask=False)

    def _blocks(self) -> list[Block]:
        code = self.desk.shop.currency
        margin = charts_job.margin_against_price(code, sides=False)
        return [
            Block("answers"),
            Block("steps", "What each step costs", charts_job.cost_by_step(code), style="tall"),
            Block("margin", "Margin against price", margin, drag=("x",)),
            Block("loss", "Chance of loss", charts_job.loss_against_price(code, sides=False), drag=("x",)),
            Block("matters", "What matters most", charts_job.what_matters(code)),
            Block("mind", "Usual cautions", style="card rolls"),
        ]

    def _parts(self) -> list[Widget]:
        return [stacked([self.form, self.picture], "minmax(0, 1fr) auto"), self.board]

    def _draw(self) -> None:
        if self.drawn:
            self.drawn.sketch(self.picture)
        else:
            self.picture.clear()

    def _marked(self, done: Mapping[str, Any]) -> None:
        """Take a click or a drag in the sketch."""
        if self.drawn:
            self.drawn = self.drawn.marked(done)
            if self._reread("begun"):
                self.show()

    def _reread(self, key: str) -> bool:
        """Read drawing or picture as chosen now; what is wrong is told beside the field it belongs to."""
        if self.drawn is None:
            return False
        self._draw()
        try:
            self.job = self.drawn.job(self.desk, self.job)
        except BadInput as why:
            self._lay()
            self._cannot(why)
            tell_beside(self.form, why, key)
            return False
        self._lay()
        return True

    def _keys(self) -> tuple[str, ...]:
        """Numbers that matter most for this job, which get a slider each."""
        try:
            swings = self.bench.trial(self.job, self.job.finish, {}).swings()
            return tuple(key for key, *_ in swings if key in self.desk.shop.uncertain)[:_SLIDERS]
        except BadInput:
            return ()

    def _entries(self) -> list[Field | Plain]:
        desk, self.moves = self.desk, self._keys()
        return [
            *job_form.job_entries(desk, self.job, self.begun, self.drawn, at=self.kind),
            Plain("heading", "What matters most here"),
            *self._sliders(self.moves),
            Plain("heading", "Your price"),
            Slider.price("asked", "You ask, without tax", desk.tongue),
            Plain("button", "Take the advised price", "advised"),
            Plain("note", "", "trial"),
            Plain("button", "Take the trial's price", "tried"),
            Plain("button", "Save the job", "save"),
            Plain("button", "Quote given: log it", "quote"),
            *CustomerPaper.entries("Write the customer's quote"),
            Plain("note", "", "said"),
            Plain("button", "Replace that file", "replace"),
            Plain("button", "Keep both", "beside"),
        ]

    def _take(self, key: str) -> None:
        self._say("")
        self._ask_name(ask=False)
        if self._pressed(key):
            return
        if key == "asked":
            self.price_is_mine = True
        elif key not in self.moves:
            self.price_is_mine = False
        if key == "begun":
            self.begun = self.form["begun"].value
            self.kind = 0
            self._open_file()
            try:
                self.job = job_file.begin(self.desk, self.begun)
            except BadInput as why:
                if self.drawn:
                    self._lay()
                    tell_beside(self.form, why, "begun")
                self._cannot(why)
                return
            self._lay()
        elif key in {"kind", "another", "off"}:
            self._turn(key)
        elif key.startswith("drawn."):
            self.drawn = self.drawn and self.drawn.after(key, self.form[key].value)
            if not self._reread(key):
                return
        elif key not in {"asked", "advised", *self.moves} and not self._take_field(key):
            return
        self.show()

    def _pressed(self, key: str) -> bool:
        """Do what a button asks; tells whether the key was one that leaves the job as it is."""
        if key == "quote":
            self._log()
        elif key in _SAVES:
            self._save(_SAVES[key])
        elif key == "tried" and self.trial and (found := trial_of(self.desk.shop.folder)):
            self.form["asked"].give(found.asks(self.trial.quote))
            self.price_is_mine = True
            self.show()
        return key in {"paper", "quote", "tried", *_SAVES}

    def _turn(self, key: str) -> None:
        """Show another kind of part, add one, or take the one that is shown away."""
        lots = self.job.lots
        if key == "kind":
            self.kind = int(self.form["kind"].value)
        elif key == "another" and self.form["another"].value:
            item = self.desk.items[self.form["another"].value]
            lots, self.kind = (*lots, *job_of_item(item).lots), len(lots)
        elif key == "off" and len(lots) > 1:
            lots, self.kind = (*lots[: self.kind], *lots[self.kind + 1 :]), 0
        self.job = self.job.model_copy(update={"lots": lots})
        self._lay()

    def _take_field(self, key: str) -> bool:
        values = {field.key: field.value for field in self.form}
        if key == "finish":
            values |= self._powders(values)
        try:
            self.job = job_form.job_of_fields(self.job, values, self.kind)
        except BadInput as why:
            self.form.wrong(key, f"Must be {why.problems[0].accepts}. {why.problems[0].mend}".rstrip())
            return False
        keys = self._keys()
        if (key == "quantity" and len(self.job.lots) > 1) or key == "finish" or set(keys) != set(self.moves):
            self._lay()
        return True

    def _powders(self, values: Mapping[str, Any]) -> dict[str, str]:
        wanted = self.desk.shop.finishes[values["finish"]].colours
        spare = dict.fromkeys([*self.job.powders, *self.desk.shop.powders])
        return {f"powder.{at}": name for at, name in enumerate(list(spare)[:wanted])}

    def _lay(self) -> None:
        super()._lay()
        if self.drawn:
            self.form.tell("drawn.said", text=self.drawn.said(self.desk.tongue))

    def _save(self, anyway: str) -> None:
        kind, _, name = self.begun.partition(":")
        try:
            began = [name] if kind == "item" else ()
            path = job_file.save_job(self.desk, self.job, began, mine=self._mine, anyway=anyway)
        except BadInput as why:
            self._say(f"Not saved: {first_words(why, accepts=False)}")
            self._ask_name(ask=isinstance(why, job_file.NameTaken))
            return
        self._mine = path.read_bytes()
        self._say(f"Saved as jobs/{path.name}")

    def _ask_name(self, *, ask: bool) -> None:
        for key in ("replace", "beside"):
            self.form.tell(key, off=not ask, hidden=not ask)

    def _paper(self, day: date, out: Path) -> "Handed":
        from pricing.papers.for_customers import quote_paper
        from pricing.prices.quote import quote

        found = quote(self.desk.shop, self.job)
        return quote_paper(found.asking(float(self.form["asked"].value)), day, out)

    def _log(self) -> None:
        if self.trial is None:
            return
        try:
            asked = float(self.form["asked"].value)
            named = LogBook(self.desk).keep_quote(self.trial.sheet, self.job, asked, self.trial.quote.net)
        except BadInput as why:
            self._say(f"Not logged: {first_words(why, accepts=False)}")
            return
        self._put(named)
        self._tell_trial()
        self._say(f"In the log: {named} at {self.form['asked'].text}")

    def _picked(self, chart: str, at: Mapping[str, float]) -> None:
        if chart in {"margin", "loss"} and self.trial and not self.trial.sheet.refused:
            self.form["asked"].give(at["x"])
            self.price_is_mine = True
            self.show()

    def _cannot(self, why: BadInput) -> None:
        self.trial = None
        super()._cannot(why)

    def show(self) -> None:
        """Work out what is quick and send it; what rests on draws follows when the slider rests."""
        try:
            trial = self.bench.trial(self.job, self.job.finish, self.numbers())
            refused = trial.sheet.refused
            _ = trial.quote.ends  # what cannot be done at an end of its amounts is told here
        except BadInput as why:
            self._cannot(why)
            return
        self.trial = trial
        self._put()
        price, marks = trial.quote.net if trial.quote.price else 0.0, job_view.marks_by_name(trial)
        most = 10.0 * round(0.2 * max(price, marks["scarce"]))
        asked = self._charge("asked", price, most, [(marks["even"], "low"), (price, "likely")])
        self._tell_trial()
        rows = {"steps": {"steps": job_view.step_rows(trial)}}
        words = {
            "answers": job_view.job_tiles(trial, asked),
            "mind": job_view.caution_words(trial),
            "steps": f"{counted(self.job.pieces)}. Click a bar for its sum and its caution.",
        }
        if refused:
            rows |= {"margin": dict.fromkeys(("line", "marks", "now", "want", "zero"), _NONE)}
            rows |= {"loss": dict.fromkeys(("curve", "now"), _NONE)}
            words |= dict.fromkeys(("margin", "loss"), "No price, no chart.")
        else:
            rows |= {"margin": job_view.margin_rows(trial, asked)}
            words |= {"margin": "Drag the line to ask another price."}
        self.board.show(rows, words)
        self.later.soon()

    def _tell_trial(self) -> None:
        """Say what a trial of prices asks, where one runs and the job has a price."""
        made = self.trial.quote if self.trial and self.trial.quote.price else None
        found = trial_of(self.desk.shop.folder) if made else None
        self.form.tell("trial", text=found.words(made) if found and made else "")
        over = found is None or found.over
        self.form.tell("tried", off=over, hidden=over)

    def _show_later(self) -> None:
        if self.trial is None:
            return
        told = "Cost with each number at its low and at its high."
        self.board.show({"matters": job_view.matter_rows(self.trial)}, {"matters": told})
        if not self.trial.sheet.refused:
            told = f"The job played through {len(self.trial.risk.costs):,} times with all that is not sure."
            self.board.show({"loss": job_view.loss_rows(self.trial, float(self.form["asked"].value))}, {"loss": told})

    def _why(self, key: str) -> Answer | None:
        if not self.trial:
            return None
        return job_view.job_answer(self.trial, key, float(self.form["asked"].value))
