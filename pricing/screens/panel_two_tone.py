"""Page 4, two-tone: what to charge extra, and what if one is slower than one thinks."""

from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from pricing.basis.errors import BadInput
from pricing.parts.job import Job
from pricing.parts.part import Part
from pricing.prices.colours import plain_finish
from pricing.prices.compare import two_tone_finishes
from pricing.screens import job_file, job_form
from pricing.screens.bar import Bar
from pricing.screens.deferred import Later
from pricing.screens.form import Form, Plain
from pricing.screens.on_bench import OnBench
from pricing.screens.page import page_of
from pricing.show import charts_job, charts_sides
from pricing.show.desk import Desk
from pricing.show.fields import ChoiceField, Field, Slider
from pricing.show.live_chart import Answer, Block, Board
from pricing.show.ranged_fields import Amount, CountField
from pricing.show.record_fields import named_field
from pricing.show.sides import SPEED, Sides
from pricing.show.sides_view import side_rows, words_of
from pricing.show.sides_why import two_tone_answer
from pricing.show.what_if import WhatIf

_OF_PART = ("quantity", "line_m", "spots", "edge_quality")


class TwoTonePanel:
    """The two-tone page.

    Parameters
    ----------
    desk : Desk
        The shop.
    """

    def __init__(self, desk: Desk) -> None:
        self.desk, self.bench = desk, WhatIf(desk.shop)
        self.sides: Sides | None = None
        self.extra_is_mine = False
        self.on_bench, self.kind = OnBench(desk), 0
        self.base, self.way = self.on_bench.job, ""
        self.form = Form(self._entries(), about="The job, its speed and your extra")
        self.form.on_change(self._changed)
        code, units = desk.shop.currency, desk.tongue
        length, speed = units.show(1, "m").split(" ")[1], units.show(1, "min/m").split(" ")[1]
        self.board = Board(
            [
                Block("answers"),
                Block("sure"),
                Block("build", "What it costs", charts_sides.cost_of_two_sides(code)),
                Block("margin", "Margin against price", charts_job.margin_against_price(code, sides=True), drag=("x",)),
                Block("loss", "Chance of loss", charts_job.loss_against_price(code, sides=True), drag=("x",)),
                Block("line", "Extra by length of line", charts_sides.extra_against_line(code, length)),
                Block("map", "If you are slower than you think", charts_sides.extra_map(code, speed), drag=("x", "y")),
            ],
            ["answers " * 3 + "sure " * 3, "build " * 3 + "margin " * 3, "map map loss loss line line"],
            columns="repeat(6, minmax(0, 1fr))",
            lines="116px minmax(0, 1.08fr) minmax(0, 1fr)",
        )
        self.board.on_asked(self._why)
        self.board.on_picked(self._picked)
        self.bar = Bar(desk, "4_two_tone", self.on_bench)
        self.later = Later(self.show_drawn, self.board)
        desk.on_change(self._shop_changed)
        self.on_bench.on_change(self._bench_changed)
        self.show()
        self.widget: widgets.Box = page_of(self.bar, [self.form, self.board], "296px minmax(0, 1fr)", name="two-tone")

    def _entries(self) -> list[Field | Plain]:
        desk, base = self.desk, self.base
        shop, lot, tongue = desk.shop, base.lots[self.kind], desk.tongue
        part, pair = lot.part, job_form.finish_ticked(desk, base, self.way)
        powders = {name: name for name in shop.powders}
        first, second = pair.powders[:2]
        kinds = (
            [ChoiceField("kind", "Kind of part", f"{self.kind}", job_form.kinds_of(base))] if len(base.lots) > 1 else []
        )
        ways = {
            key: shop.finishes[key].title.removeprefix("Two-tone, ").removeprefix("line ")
            for key in two_tone_finishes(shop)
        }
        ways = {key: title for key, title in ways.items() if shop.finishes[key].colours <= 2} or ways
        self.way = pair.finish if pair.finish in ways else next(iter(ways))
        speed = shop.uncertain[SPEED[shop.finishes[self.way].line]]
        verb = "Wiping" if shop.finishes[self.way].line == "wiped" else "Taping"
        sliders: list[Field | Plain] = [Slider.of(f"{verb} the line", speed, tongue)]
        if shop.finishes[self.way].line == "wiped":
            sliders.append(Slider.of("Lines spoiled before cure", shop.uncertain["spoil.wiped"], tongue))
        self.extra_is_mine = False
        return [
            ChoiceField("begun", "Start from", self.on_bench.begun, job_file.begin_options(desk, self.on_bench.begun)),
            *kinds,
            CountField("quantity", job_form.sold_words(lot), lot.quantity, tongue, least=1, most=5000),
            Amount("line_m", "Line, each piece", part.line_m, "m", tongue, most=500),
            CountField("spots", "Nooks to swab, each", part.spots, tongue, most=2000),
            ChoiceField("edge_quality", "Edges", part.edge_quality, named_field(Part, "edge_quality").choices),
            ChoiceField("first", "First powder", first, powders),
            ChoiceField("second", "Second powder", second, powders),
            ChoiceField("way", "The line is", self.way, ways),
            Plain("heading", "How fast, how lucky"),
            *sliders,
            Plain("heading", "Your price"),
            Slider.price("extra", "Extra you charge", tongue),
            Plain("button", "Take the advised extra", "advised"),
        ]

    def job(self) -> Job:
        """Return the job on the bench in two colours."""
        return job_form.finish_ticked(self.desk, self.base, self.way)

    def numbers(self) -> Mapping[str, float]:
        """Collect the numbers that sliders have moved."""
        moved = {}
        for field in self.form:
            row = self.desk.shop.uncertain.get(field.key)
            if row is not None and abs(field.value - row.mean) > 1e-9:
                moved[field.key] = float(field.value)
        return moved

    def _changed(self, key: str) -> None:
        form = self.form
        try:
            if key == "begun":
                self.base, self.way, self.kind = job_file.begin(self.desk, form["begun"].value), "", 0
                self.on_bench.put(self.base, form["begun"].value)
            elif key in {"way", "first", "second"}:
                self.way = form["way"].value
                powders = (form["first"].value, form["second"].value, *self.job().powders[2:])
                self.base = self.base.model_copy(update={"finish": self.way, "powders": powders})
            elif key in _OF_PART:
                changes = {name: form[name].value for name in _OF_PART if name != "quantity"}
                self.base = job_form.with_kind(self.base, self.kind, form["quantity"].value, changes)
        except BadInput as why:
            form[key].message = " ".join(str(problem) for problem in why.problems)
            form.refresh()
            return
        if key == "kind":
            self.kind = int(form["kind"].value)
        if key in {"begun", "kind", "way"}:
            kept = {} if key == "begun" else {k: form[k].value for k in self.desk.shop.uncertain if k in form}
            self._lay(kept)
        elif key == "extra":
            self.extra_is_mine = True
        elif key == "advised" or key not in self.desk.shop.uncertain:
            self.extra_is_mine = False
        self.show()

    def _lay(self, kept: Mapping[str, float]) -> None:
        self.form.lay(self._entries())
        for name, value in kept.items():
            if name in self.form:
                self.form[name].value = value

    def _bench_changed(self) -> None:
        self.base, self.way, self.kind = self.on_bench.job, "", 0
        self._lay(self.numbers())
        self.show()

    def _picked(self, chart: str, at: Mapping[str, float]) -> None:
        sides = self.sides
        if sides is None or sides.refused:
            return
        if chart in {"margin", "loss"}:
            self.form["extra"].give(at["x"] - sides.plain_price)
        elif chart == "map":
            self.form["extra"].give(at["y"])
            self.form[sides.speed_key].give(sides.speed_of_shown(at["x"]))
        self.extra_is_mine = True
        self.show()

    def _shop_changed(self) -> None:
        self.bench, mine = WhatIf(self.desk.shop), self.extra_is_mine
        self.base, self.kind = self.on_bench.job, min(self.kind, len(self.on_bench.job.lots) - 1)
        self.form.lay_anew(self._entries())
        self.extra_is_mine = mine
        self.show()

    def show(self) -> None:
        """Work out what is quick and send it; what rests on draws follows when the slider rests."""
        try:
            self.sides = Sides.of(self.bench, self.job(), plain_finish(self.desk.shop), self.way, self.numbers())
            _ = self.sides.advised_between  # what cannot be done at an end of its amounts is told here
        except BadInput as why:
            self.sides = None
            self.board.show(words={"answers": _not_costed(why), "sure": ""})
            return
        with suppress(BadInput):  # a folder that cannot be written is told where something is saved
            self.on_bench.put(self.base, self.form["begun"].value)
        if self.sides.refused:  # what it costs is shown, no price is
            self.board.show(side_rows(self.sides, drawn=False), words_of(self.sides, drawn=False))
            self.later.soon()
            return
        field: Any = self.form["extra"]
        top = self.sides.most_extra
        if field.most != top:
            field.most, field.step = top, top / 200
        if not self.extra_is_mine:
            field.value = max(0.0, self.sides.advised)
        sides = self.sides.charging(float(field.value))
        self.sides = sides
        if 0 < sides.slowest < float("inf"):  # the page says from where it loses money: that can be tried
            self.form[sides.speed_key].reach(1.1 * sides.slowest)  # type: ignore[attr-defined]  # a slider
        even = max(0.0, sides.fancy.total - sides.plain_price)
        field.marks = [(even, "low"), (sides.advised, "likely")] if even < sides.advised else [(even, "low")]
        self.form.refresh()
        self.board.show(side_rows(sides, drawn=False), words_of(sides, drawn=False))
        self.later.soon()

    def show_drawn(self) -> None:
        """Work out what rests on draws and send it."""
        if self.sides is not None:
            self.board.show(side_rows(self.sides, drawn=True), words_of(self.sides, drawn=True))

    def _why(self, key: str) -> Answer | None:
        return two_tone_answer(self.sides, key) if self.sides else None


def _not_costed(why: BadInput) -> str:
    from pricing.show.tiles import stopped

    return stopped([str(problem) for problem in why.problems])


def page(folder: Path | str | None = None) -> widgets.Box:
    """Open the page.

    Parameters
    ----------
    folder : path, optional
        As in `pricing.show.desk.Desk`.
    """
    return TwoTonePanel(Desk(folder)).widget
