"""Page 2, one job: what it costs step by step, what to charge, how sure that is.

Room     screens. Imports basis, parts, show, screens.
"""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from pricing.basis.errors import BadInput
from pricing.parts.job import Job, job_of_item
from pricing.screens import job_form
from pricing.screens.bar import Bar
from pricing.screens.drawn import Drawn, field_of, saved_drawings
from pricing.screens.form import Form, Plain
from pricing.screens.later import Later
from pricing.screens.log_book import LogBook
from pricing.screens.page import page_of, stacked
from pricing.screens.shot import Shot, saved_photos
from pricing.screens.sketch import Sketch
from pricing.screens.taped import Taped
from pricing.show import charts_job, job_view
from pricing.show.desk import Desk
from pricing.show.fields import Field, Slider
from pricing.show.labels import short
from pricing.show.live_chart import Answer, Block, Board
from pricing.show.tiles import stopped
from pricing.show.trial import Bench, Trial
from pricing.show.words import counted

_SLIDERS = 3
_SAVES = {"save": "", "replace": "replace", "beside": "beside"}
_NONE: tuple[Any, ...] = ()


class JobPanel:
    """The page of one job.

    Parameters
    ----------
    desk : Desk
        The shop.
    """

    def __init__(self, desk: Desk) -> None:
        self.desk, self.bench = desk, Bench(desk.shop)
        self.trial: Trial | None = None
        self.price_is_mine = False
        jobs = job_form.saved_jobs(desk)
        self.begun = f"job:{'sign_letters' if 'sign_letters' in jobs else next(iter(jobs))}" if jobs else ""
        self.begun = self.begun or f"item:{next(iter(desk.items))}"
        self.drawn: Drawn | Shot | Taped | None = None
        self.picture = Sketch()
        self.picture.on_mark(self._marked)
        self.job = self._begin()
        self.moves: tuple[str, ...] = self._keys()
        self.form = Form(self._entries(), about="The job")
        self.form.on_change(self._changed)
        self._ask_name(ask=False)
        code = desk.shop.currency
        margin = charts_job.margin_against_price(code, sides=False)
        self.board = Board(
            [
                Block("answers"),
                Block("steps", "What each step costs", charts_job.cost_by_step(code), style="tall"),
                Block("margin", "Margin against price", margin, drag=("x",)),
                Block("loss", "Chance of loss", charts_job.loss_against_price(code, sides=False), drag=("x",)),
                Block("matters", "What matters most", charts_job.what_matters(code)),
                Block("mind", "Usual cautions", style="card rolls"),
            ],
            ["answers " * 12, "steps " * 5 + "margin " * 4 + "loss " * 3, "steps " * 5 + "matters " * 7,
             "mind " * 12],
            columns="repeat(12, minmax(0, 1fr))", lines="108px minmax(0, 1.05fr) minmax(0, 1fr) 92px",
        )  # fmt: skip
        self.board.on_asked(self._why)
        self.board.on_picked(self._picked)
        self.bar = Bar(desk, "2_one_job")
        self.later = Later(self._show_drawn)
        desk.on_change(self._shop_changed)
        self.show()
        left = stacked([self.form, self.picture], "minmax(0, 1fr) auto")
        self.widget: widgets.Box = page_of(self.bar, [left, self.board], "300px minmax(0, 1fr)", name="job")

    def _begin(self) -> Job:
        kind, _, name = self.begun.partition(":")
        file = job_form.saved_jobs(self.desk).get(name) if kind == "job" else None
        self._mine = file.read_bytes() if file else b""
        self.drawn = Drawn(saved_drawings(self.desk)[name]) if kind == "drawing" else None
        if kind == "photo":
            self.drawn = Shot(saved_photos(self.desk)[name])
        if kind == "shape":
            self.drawn = Taped(name, self.desk.tongue)
        self._draw()
        if self.drawn:
            return self.drawn.job(self.desk)
        if kind == "job":
            return job_form.open_job(self.desk, name)
        return job_of_item(self.desk.items[name])

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

    def _redrawn(self, key: str) -> bool:
        """Read the drawing again after a choice."""
        if self.drawn is None:
            return False
        self.drawn = self.drawn.after(key, self.form[key].value)
        return self._reread(key)

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
            self._beside(why, key)
            return False
        self._lay()
        return True

    def _beside(self, why: BadInput, key: str) -> None:
        found = next(name for name in (field_of(why), key, "begun") if name in self.form)
        self.form[found].message = " ".join(str(problem) for problem in why.problems)
        self.form.refresh()

    def _keys(self) -> tuple[str, ...]:
        """Numbers that matter most for this job, which get a slider each."""
        try:
            swings = self.bench.trial(self.job, self.job.finish, {}).swings()
            return tuple(key for key, *_ in swings if key in self.desk.shop.uncertain)[:_SLIDERS]
        except BadInput:
            return ()

    def _entries(self) -> list[Field | Plain]:
        desk = self.desk
        sliders = [Slider.of(short(desk.shop, key), desk.shop.uncertain[key], desk.tongue) for key in self.moves]
        return [
            *job_form.job_entries(desk, self.job, self.begun, self.drawn),
            Plain("heading", "What matters most here"),
            *sliders,
            Plain("heading", "Your price"),
            Slider("asked", "You ask, without tax", 0.0, "money", desk.tongue, least=0.0, most=1.0),
            Plain("button", "Take the advised price", "advised"),
            Plain("button", "Save the job", "save"),
            Plain("button", "Quote given: log it", "quote"),
            Plain("note", "", "said"),
            Plain("button", "Replace that file", "replace"),
            Plain("button", "Keep both", "beside"),
        ]

    def numbers(self) -> Mapping[str, float]:
        """Give the numbers that sliders have moved."""
        rows = self.desk.shop.uncertain
        return {k: self.form[k].value for k in self.moves if abs(self.form[k].value - rows[k].mean) > 1e-9}

    def _changed(self, key: str) -> None:
        self.form.tell("said", text="")
        self._ask_name(ask=False)
        if key == "quote":
            self._log()
            return
        if key in _SAVES:
            self._save(_SAVES[key])
            return
        if key == "asked":
            self.price_is_mine = True
        elif key not in self.moves:
            self.price_is_mine = False
        if key == "begun":
            self.begun = self.form["begun"].value
            try:
                self.job = self._begin()
            except BadInput as why:
                if self.drawn:
                    self._lay()
                    self._beside(why, "begun")
                self._cannot(why)
                return
            self._lay()
        elif key.startswith("drawn."):
            if not self._redrawn(key):
                return
        elif key not in {"asked", "advised", *self.moves} and not self._take(key):
            return
        self.show()

    def _take(self, key: str) -> bool:
        values = {field.key: field.value for field in self.form}
        if key == "finish":
            values |= self._powders(values)
        try:
            self.job = job_form.job_of_fields(self.job, values)
        except BadInput as why:
            self.form[key].message = f"Must be {why.problems[0].accepts}. {why.problems[0].mend}".rstrip()
            self.form.refresh()
            return False
        keys = self._keys()
        if key == "finish" or set(keys) != set(self.moves):
            self._lay()
        return True

    def _powders(self, values: Mapping[str, Any]) -> dict[str, str]:
        wanted = self.desk.shop.finishes[values["finish"]].colours
        spare = dict.fromkeys([*self.job.powders, *self.desk.shop.powders])
        return {f"powder.{at}": name for at, name in enumerate(list(spare)[:wanted])}

    def _lay(self) -> None:
        kept = {key: self.form[key].value for key in self.moves}
        self.moves = self._keys()
        self.form.lay(self._entries())
        if self.drawn:
            self.form.tell("drawn.said", text=self.drawn.said(self.desk.tongue))
        for key in set(kept) & set(self.moves):
            self.form[key].value = kept[key]
        self.form.refresh()

    def _save(self, anyway: str) -> None:
        kind, _, name = self.begun.partition(":")
        try:
            path = job_form.save_job(
                self.desk, self.job, [name] if kind == "item" else (), mine=self._mine, anyway=anyway
            )
        except BadInput as why:
            first = why.problems[0]
            self.form.tell("said", text=f"Not saved: {first.field} is {first.value}. {first.mend}".strip())
            self._ask_name(ask=isinstance(why, job_form.NameTaken))
            return
        self._mine = path.read_bytes()
        self.form.tell("said", text=f"Saved as jobs/{path.name}")

    def _ask_name(self, *, ask: bool) -> None:
        for key in ("replace", "beside"):
            self.form.tell(key, off=not ask, hidden=not ask)

    def _log(self) -> None:
        if self.trial is None:
            return
        try:
            named = LogBook(self.desk).keep_quote(self.trial.sheet, self.job, float(self.form["asked"].value))
        except BadInput as why:
            first = why.problems[0]
            self.form.tell("said", text=f"Not logged: {first.field} is {first.value}. {first.mend}".strip())
            return
        self.form.tell("said", text=f"In the log: {named} at {self.form['asked'].text}")

    def _picked(self, chart: str, at: Mapping[str, float]) -> None:
        if chart in {"margin", "loss"} and self.trial and not self.trial.sheet.refused:
            self.form["asked"].give(at["x"])
            self.price_is_mine = True
            self.show()

    def _cannot(self, why: BadInput) -> None:
        self.trial = None
        self.board.show(words={"answers": stopped([str(problem) for problem in why.problems])})

    def _shop_changed(self) -> None:
        self.bench = Bench(self.desk.shop)
        self.moves = self._keys()
        self.form.lay_anew(self._entries())
        self.show()

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
        field: Any = self.form["asked"]
        marks = job_view.marks_by_name(trial)
        price = trial.quote.net if trial.quote.price else 0.0
        field.least, field.most, field.step = 0.0, 10.0 * round(0.2 * max(price, marks["scarce"])), 1.0
        field.marks = [(marks["even"], "low"), (price, "likely")]
        if not self.price_is_mine:
            field.value = price
        if len(self.job.lots) > 1:
            lots = "; ".join(f"{lot.quantity} × {lot.part.name}" for lot in self.job.lots)
            self.form.tell("lots", text=f"{lots}. Several kinds of parts: change them in the job's file.")
        self.form.refresh()
        asked = float(field.value)
        rows = {"steps": {"steps": job_view.step_rows(trial)}}
        words = {
            "answers": job_view.job_tiles(trial, asked), "mind": job_view.caution_words(trial),
            "steps": f"{counted(self.job.pieces)}. Click a bar for its sum and its caution.",
        }  # fmt: skip
        if refused:
            rows |= {"margin": dict.fromkeys(("line", "marks", "now", "want", "zero"), _NONE)}
            rows |= {"loss": dict.fromkeys(("curve", "now"), _NONE)}
            words |= dict.fromkeys(("margin", "loss"), "No price, no chart.")
        else:
            rows |= {"margin": job_view.margin_rows(trial, asked)}
            words |= {"margin": "Drag the line to ask another price."}
        self.board.show(rows, words)
        self.later.soon()

    def _show_drawn(self) -> None:
        if self.trial is None:
            return
        told = "Cost with each number at its low and at its high."
        self.board.show({"matters": job_view.matter_rows(self.trial)}, {"matters": told})
        if not self.trial.sheet.refused:
            told = f"{len(self.trial.risk.costs):,} draws of all that is not sure."
            self.board.show({"loss": job_view.loss_rows(self.trial, float(self.form["asked"].value))}, {"loss": told})

    def _why(self, key: str) -> Answer | None:
        if not self.trial:
            return None
        return job_view.answer(self.trial, key, float(self.form["asked"].value))


def page(folder: Path | str | None = None) -> widgets.Box:
    """Open the page.

    Parameters
    ----------
    folder : path, optional
        As in `pricing.show.desk.Desk`.
    """
    return JobPanel(Desk(folder)).widget
