"""Page 4, two-tone: what to charge extra, and what if one is slower than one thinks."""

from collections.abc import Mapping

from pricing.basis.errors import BadInput
from pricing.parts.job import Job
from pricing.parts.part import Part
from pricing.prices.colours import plain_finish
from pricing.prices.compare import two_tone_finishes
from pricing.screens import job_form
from pricing.screens.form import Plain
from pricing.screens.panel import JobPage
from pricing.show import charts_job
from pricing.show.blocks import Answer, Block
from pricing.show.fields import ChoiceField, Field, Slider
from pricing.show.open_fields import Amount, CountField
from pricing.show.record_fields import named_field
from pricing.show.sides import SPEED, Sides
from pricing.show.sides_view import side_rows, words_of
from pricing.show.sides_why import two_tone_answer
from pricing.show.what_if import WhatIf

_OF_PART = ("quantity", "line_m", "spots", "edge_quality")


class TwoTonePanel(JobPage):
    """The two-tone page."""

    here, name, about = "4_two_tone", "two-tone", "The job, its speed and your extra"
    widths = "296px minmax(0, 1fr)"
    areas = ("answers " * 3 + "sure " * 3, "build " * 3 + "margin " * 3, "map map loss loss line line")
    columns = "repeat(6, minmax(0, 1fr))"
    lines = "116px minmax(0, 1.08fr) minmax(0, 1fr)"

    sides: Sides | None = None

    def _renew(self) -> None:
        self.bench = WhatIf(self.desk.shop)

    def _follow(self) -> None:
        super()._follow()
        self.way = ""

    def _blocks(self) -> list[Block]:
        code, units = self.desk.shop.currency, self.desk.tongue
        length, speed = units.show(1, "m").split(" ")[1], units.show(1, "min/m").split(" ")[1]
        return [
            Block("answers"),
            Block("sure"),
            Block("build", "What it costs", charts_job.cost_of_two_sides(code)),
            Block("margin", "Margin against price", charts_job.margin_against_price(code, sides=True), drag=("x",)),
            Block("loss", "Chance of loss", charts_job.loss_against_price(code, sides=True), drag=("x",)),
            Block("line", "Extra by length of line", charts_job.extra_against_line(code, length)),
            Block("map", "If you are slower than you think", charts_job.extra_map(code, speed), drag=("x", "y")),
        ]

    def _entries(self) -> list[Field | Plain]:
        desk, job = self.desk, self.job
        shop, lot, tongue = desk.shop, job.lots[self.kind], desk.tongue
        part, pair = lot.part, job_form.finish_ticked(desk, job, self.way)
        powders = {name: name for name in shop.powders}
        first, second = pair.powders[:2]
        kinds = (
            [ChoiceField("kind", "Kind of part", f"{self.kind}", job_form.kinds_of(job))] if len(job.lots) > 1 else []
        )
        ways = {
            key: shop.finishes[key].title.removeprefix("Two-tone, ").removeprefix("line ")
            for key in two_tone_finishes(shop)
        }
        ways = {key: title for key, title in ways.items() if shop.finishes[key].colours <= 2} or ways
        self.way = pair.finish if pair.finish in ways else next(iter(ways))
        line = shop.finishes[self.way].line
        verb = "Wiping" if line == "wiped" else "Taping"
        sliders = [Slider.of(f"{verb} the line", shop.uncertain[SPEED[line]], tongue)]
        if line == "wiped":
            sliders.append(Slider.of("Lines spoiled before cure", shop.uncertain["spoil.wiped"], tongue))
        return [
            self._start("Start from"),
            *kinds,
            self._how_many(),
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

    def two_toned(self) -> Job:
        """Return the job on the bench in two colours."""
        return job_form.finish_ticked(self.desk, self.job, self.way)

    def _take(self, key: str) -> None:
        form = self.form
        if key == "begun":
            self._begin_anew()
            self.way = ""
        elif key in {"way", "first", "second"}:
            self.way = form["way"].value
            powders = (form["first"].value, form["second"].value, *self.two_toned().powders[2:])
            self.job = self.job.model_copy(update={"finish": self.way, "powders": powders})
        elif key in _OF_PART:
            changes = {name: form[name].value for name in _OF_PART if name != "quantity"}
            self.job = job_form.with_kind(self.job, self.kind, form["quantity"].value, changes)
        elif key == "kind":
            self.kind = int(form["kind"].value)
        self.price_is_mine = key == "extra" or (self.price_is_mine and key in self.desk.shop.uncertain)
        if key in {"begun", "kind", "way"}:
            self._lay()
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
        self.price_is_mine = True
        self.show()

    def show(self) -> None:
        """Work out what is quick and send it; what rests on draws follows when the slider rests."""
        try:
            self.sides = Sides.of(self.bench, self.two_toned(), plain_finish(self.desk.shop), self.way, self.numbers())
            _ = self.sides.advised_between  # what cannot be done at an end of its amounts is told here
        except BadInput as why:
            self.sides = None
            self._cannot(why)
            self.board.show(words={"sure": ""})
            return
        self._put()
        if self.sides.refused:  # what it costs is shown, no price is
            self.board.show(side_rows(self.sides, drawn=False), words_of(self.sides, drawn=False))
            self.later.soon()
            return
        sides, top = self.sides, self.sides.most_extra
        even = max(0.0, sides.fancy.total - sides.plain_price)
        marks = [(even, "low"), (sides.advised, "likely")] if even < sides.advised else [(even, "low")]
        asked = self._charge("extra", max(0.0, sides.advised), top, marks, top / 200)
        self.sides = sides = sides.charging(asked)
        if 0 < sides.slowest < float("inf"):  # the page says from where it loses money: that can be tried
            self.form[sides.speed_key].reach(1.1 * sides.slowest)  # type: ignore[attr-defined]  # a slider
            self.form.refresh()
        self.board.show(side_rows(sides, drawn=False), words_of(sides, drawn=False))
        self.later.soon()

    def _show_later(self) -> None:
        if self.sides is not None:
            self.board.show(side_rows(self.sides, drawn=True), words_of(self.sides, drawn=True))

    def _why(self, key: str) -> Answer | None:
        return two_tone_answer(self.sides, key) if self.sides else None
