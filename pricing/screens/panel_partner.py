"""Page 6, for a partner: the whole shop on one screen."""

from pricing.basis.errors import BadInput
from pricing.parts.job import Job
from pricing.prices.colours import plain_finish
from pricing.screens import job_form
from pricing.screens.form import Plain
from pricing.screens.hand_over import HandOver
from pricing.screens.panel import WeekPage
from pricing.show import charts_job, charts_shop, partner_view
from pricing.show.advice_view import week_advice
from pricing.show.blocks import Answer, Block
from pricing.show.fields import Field
from pricing.show.mix_view import choices_html, week_fields
from pricing.show.sides import Sides
from pricing.show.sides_view import side_rows
from pricing.show.what_if import WhatIf
from pricing.show.words import counted

_RATES = ("wipe.line_m.hands", "sand_edges.edge_m.hands", "rest.allowance")


class PartnerPanel(WeekPage):
    """The page for a partner."""

    here, name, about, widths = "6_for_a_partner", "partner", "What is shown", "236px minmax(0, 1fr)"
    areas = ("answers " * 12, "build " * 4 + "bands " * 4 + "hours " * 4, "unsure " * 4 + "money " * 4 + "month " * 4)
    columns = "repeat(12, minmax(0, 1fr))"
    lines = "92px minmax(0, 1.5fr) minmax(0, 1fr)"

    sides: Sides | None = None

    def _renew(self) -> None:
        super()._renew()
        self.bench = WhatIf(self.desk.shop)
        self.bands = partner_view.Bands(self.desk.shop, self.desk.items)

    def _join(self) -> None:
        self.hand_over = HandOver(self.desk, self.form, self.two_toned)

    def _blocks(self) -> list[Block]:
        code = self.desk.shop.currency
        return [
            Block("answers"),
            Block("build", "What a job costs", charts_job.cost_of_two_sides(code)),
            Block("bands", "Prices against what things may cost", charts_shop.price_and_band(code)),
            Block("hours", "Hours of a week", charts_shop.hours_by_resource()),
            Block("unsure", "What is least sure", style="card rolls"),
            Block("money", "Money tied up; hire, buy, drop", style="card rolls"),
            Block("month", "A month of work", charts_shop.month_chart(code)),
        ]

    def _entries(self) -> list[Field | Plain]:
        shop = self.desk.shop
        return [
            self._start("The job"),
            *([self._how_many()] if len(self.job.lots) == 1 else []),
            Plain("heading", "What if"),
            *self._sliders(_RATES),
            *week_fields(shop, self.desk.tongue),
            Plain("button", "Back to how it is", "back"),
            Plain("note", "", "said"),
            *HandOver.entries(),
        ]

    def two_toned(self) -> Job:
        """Return the job on the bench, in two colours."""
        return job_form.finish_ticked(self.desk, self.job)

    def _take(self, key: str) -> None:
        if key == "back":
            uncertain = self.desk.shop.uncertain
            for field in self.form:
                if field.key in uncertain:
                    field.value = uncertain[field.key].mean
            for field in week_fields(self.desk.shop, self.desk.tongue):
                self.form[field.key].value = field.value
        if key == "begun":
            self._begin_anew()
            self._lay()
        elif key == "quantity":
            self.job = job_form.with_kind(self.job, 0, self.form[key].value, {})
        if key in {"times", "helpers"}:
            self._show_week()
        elif key == "back" or key in self.form:
            self.show()

    def show(self) -> None:
        """Work everything out and send it."""
        numbers = self.numbers()
        try:
            sides = Sides.of(self.bench, job := self.two_toned(), plain_finish(self.desk.shop), job.finish, numbers)
            sides = sides.charging(sides.advised)
        except BadInput as why:
            self.sides = None
            self._cannot(why)
            return
        self.sides = sides
        self._put()
        self._say(f"{len(self.wanted)} kinds of orders a week, as page 1 has them. Click a number to ask why.")
        rows = {"build": side_rows(sides, drawn=False)["build"]}
        words = {
            "answers": partner_view.partner_tiles(sides, self.mix),
            "build": f"{counted(sides.job.pieces)}.",
            "bands": "Band: 9 of 10 cost this much. Tick: mean. Diamond: price.",
        }
        self.board.show(rows, words)
        self.later.soon()

    def _show_week(self) -> None:
        super()._show_week()
        tried = choices_html(self.mix) if self.mix else ""
        words = {"money": partner_view.money_words(self.shop(), self.mix) + tried}
        if self.mix and self.sides:
            words["answers"] = partner_view.partner_tiles(self.sides, self.mix)
        self.board.show(words=words)

    def _show_later(self) -> None:
        self._show_week()
        if self.sides is not None:
            told = partner_view.unsure_words(self.sides)
            if self.mix is not None:
                told += week_advice(self.mix.shop, self.mix.offers, self.mix.times)
            self.board.show(words={"unsure": told})
        self.board.show({"bands": self.bands.rows(self.numbers())})

    def _why(self, key: str) -> Answer | None:
        return partner_view.partner_answer(self.sides, self.mix, key) if self.sides else None
