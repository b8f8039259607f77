"""Page 6, for a partner: the whole shop on one screen."""

from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

import ipywidgets as widgets

from pricing.basis.errors import BadInput
from pricing.parts.job import Job
from pricing.prices.colours import plain_finish
from pricing.prices.week import Wanted, read_week
from pricing.screens import job_file, job_form
from pricing.screens.bar import Bar
from pricing.screens.deferred import Later
from pricing.screens.form import Form, Plain
from pricing.screens.hand_over import HandOver
from pricing.screens.on_bench import OnBench
from pricing.screens.page import page_of
from pricing.show import charts_even, charts_shop, charts_sides, partner_view
from pricing.show.advice_view import week_advice
from pricing.show.choices_view import choices_html
from pricing.show.desk import Desk
from pricing.show.even_view import moved_shop
from pricing.show.fields import ChoiceField, Field, Slider
from pricing.show.labels import short
from pricing.show.live_chart import Answer, Block, Board
from pricing.show.mix_view import NO_WEEK, Mix, helpers_choice
from pricing.show.ranged_fields import CountField
from pricing.show.sides import Sides
from pricing.show.sides_view import side_rows
from pricing.show.tiles import stopped
from pricing.show.what_if import WhatIf
from pricing.show.words import counted

_RATES = ("wipe.line_m.hands", "sand_edges.edge_m.hands", "rest.allowance")


class PartnerPanel:
    """The page for a partner.

    Parameters
    ----------
    desk : Desk
        The shop.
    """

    def __init__(self, desk: Desk) -> None:
        self.desk, self.bench = desk, WhatIf(desk.shop)
        self.on_bench = OnBench(desk)
        self.base = self.on_bench.job
        self.sides: Sides | None = None
        self.mix: Mix | None = None
        self.wanted = self._week()
        self.hand_over = HandOver(desk, self.job)
        self.form = Form([*self._entries(), *self.hand_over.entries()], about="What is shown")
        self.form.on_change(self._changed)
        self.hand_over.join(self.form)
        code = desk.shop.currency
        self.board = Board(
            [
                Block("answers"),
                Block("build", "What a job costs", charts_sides.cost_of_two_sides(code)),
                Block("bands", "Prices against what things may cost", charts_even.price_and_band(code)),
                Block("hours", "Hours of a week", charts_shop.hours_by_resource()),
                Block("unsure", "What is least sure", style="card rolls"),
                Block("money", "Money tied up; hire, buy, drop", style="card rolls"),
                Block("month", "A month of work", charts_even.month(code)),
            ],
            ["answers " * 12, "build " * 4 + "bands " * 4 + "hours " * 4, "unsure " * 4 + "money " * 4 + "month " * 4],
            columns="repeat(12, minmax(0, 1fr))",
            lines="92px minmax(0, 1.5fr) minmax(0, 1fr)",
        )
        self.board.on_asked(self._why)
        self.bands = partner_view.Bands(desk.shop, desk.items)
        self.bar = Bar(desk, "6_for_a_partner", self.on_bench)
        self.later = Later(self._show_rest, self.board)
        desk.on_change(self._shop_changed)
        self.on_bench.on_change(self._bench_changed)
        self.show()
        self.widget: widgets.Box = page_of(self.bar, [self.form, self.board], "236px minmax(0, 1fr)", name="partner")

    def _entries(self) -> list[Field | Plain]:
        desk, shop = self.desk, self.desk.shop
        base, begun = self.base, self.on_bench.begun
        count: list[Field | Plain] = []
        if len(base.lots) == 1:
            count = [
                CountField(
                    "quantity",
                    job_form.sold_words(base.lots[0]),
                    base.lots[0].quantity,
                    desk.tongue,
                    least=1,
                    most=5000,
                )
            ]
        rates = [key for key in _RATES if key in shop.uncertain]
        return [
            ChoiceField("begun", "The job", begun, job_file.begin_options(desk, begun)),
            *count,
            Plain("heading", "What if"),
            *[Slider.of(short(shop, key), shop.uncertain[key], desk.tongue) for key in rates],
            Slider("times", "Times your usual week", 1.0, "", desk.tongue, least=0.25, most=2.5, typed=(0.0, 20.0)),
            *helpers_choice(shop),
            Plain("button", "Back to how it is", "back"),
            Plain("note", "", "said"),
        ]

    def numbers(self) -> Mapping[str, float]:
        """Collect the numbers that sliders have moved."""
        rows = self.desk.shop.uncertain
        fields = [self.form[key] for key in _RATES if key in self.form]
        return {field.key: field.value for field in fields if abs(field.value - rows[field.key].mean) > 1e-9}

    def job(self) -> Job:
        """Return the job on the bench, in two colours."""
        return job_form.finish_ticked(self.desk, self.base)

    def _changed(self, key: str) -> None:
        if key == "back":
            for field in self.form:
                if field.key in self.desk.shop.uncertain:
                    field.value = self.desk.shop.uncertain[field.key].mean
            self.form["times"].value = 1.0
            for choice in helpers_choice(self.desk.shop):
                self.form["helpers"].value = choice.value
        if key == "begun":
            try:
                self.base = job_file.begin(self.desk, self.form["begun"].value)
                self.on_bench.put(self.base, self.form["begun"].value)
            except BadInput as why:
                self.board.show(words={"answers": stopped([str(problem) for problem in why.problems])})
                return
            self._lay()
        elif key == "quantity":
            self.base = job_form.with_kind(self.base, 0, self.form[key].value, {})
        if key in {"times", "helpers"}:
            self._show_week()
        elif key == "back" or key in self.form:
            self.show()

    def _lay(self) -> None:
        kept = {**self.numbers(), "times": self.form["times"].value}
        self.form.lay([*self._entries(), *self.hand_over.entries()])
        for key, value in kept.items():
            self.form[key].value = value

    def _bench_changed(self) -> None:
        self.base = self.on_bench.job
        self._lay()
        self.show()

    def _week(self) -> tuple[Wanted, ...]:
        try:
            return read_week(self.desk.shop, self.desk.items)
        except BadInput:
            return ()

    def _shop_changed(self) -> None:
        self.wanted, self.base = self._week(), self.on_bench.job
        self.bench, self.bands = WhatIf(self.desk.shop), partner_view.Bands(self.desk.shop, self.desk.items)
        self.form.lay_anew([*self._entries(), *self.hand_over.entries()])
        self.show()

    def show(self) -> None:
        """Work everything out and send it."""
        numbers = self.numbers()
        try:
            sides = Sides.of(self.bench, job := self.job(), plain_finish(self.desk.shop), job.finish, numbers)
            sides = sides.charging(sides.advised)
        except BadInput as why:
            self.sides = None
            self.board.show(words={"answers": stopped([str(problem) for problem in why.problems])})
            return
        self.sides = sides
        with suppress(BadInput):  # a folder that cannot be written is told where something is saved
            self.on_bench.put(self.base, self.form["begun"].value)
        self.form.tell(
            "said", text=f"{len(self.wanted)} kinds of orders a week, as page 1 has them. Click a number to ask why."
        )
        rows = {"build": side_rows(sides, drawn=False)["build"]}
        words = {
            "answers": partner_view.partner_tiles(sides, self.mix),
            "build": f"{counted(sides.job.pieces)}.",
            "bands": "Band: 9 of 10 cost this much. Tick: mean. Diamond: price.",
        }
        self.board.show(rows, words)
        self.later.soon()

    def _show_week(self) -> None:
        shop = moved_shop(self.desk.shop, self.numbers())
        helpers = self.form["helpers"].value if "helpers" in self.form else ""
        times = float(self.form["times"].value)
        self.mix = Mix.of(shop, self.wanted, times, helpers) if self.wanted else None
        tried = choices_html(self.mix) if self.mix else ""
        words = {"money": partner_view.money_words(shop, self.mix) + tried}
        if self.mix is None or self.sides is None:
            words |= {} if self.mix else dict.fromkeys(("hours", "month"), NO_WEEK)
            self.board.show(words=words)
            return
        out, left = self.mix.say()
        words |= {"hours": out, "month": left, "answers": partner_view.partner_tiles(self.sides, self.mix)}
        self.board.show({"month": self.mix.month_rows(), "hours": self.mix.hours_rows()}, words)

    def _show_rest(self) -> None:
        self._show_week()
        if self.sides is not None:
            told = partner_view.unsure_words(self.sides)
            if self.mix is not None:
                told += week_advice(self.mix.shop, self.mix.offers, self.mix.times)
            self.board.show(words={"unsure": told})
        self.board.show({"bands": self.bands.rows(self.numbers())})

    def _why(self, key: str) -> Answer | None:
        return partner_view.partner_answer(self.sides, self.mix, key) if self.sides else None


def page(folder: Path | str | None = None) -> widgets.Box:
    """Open the page.

    Parameters
    ----------
    folder : path, optional
        As in `pricing.show.desk.Desk`.
    """
    return PartnerPanel(Desk(folder)).widget
