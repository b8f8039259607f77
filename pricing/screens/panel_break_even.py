"""Page 5, break-even: where a job, a batch, a month and a week begin to pay."""

from collections.abc import Mapping, Sequence
from typing import Any

from pricing.basis.errors import BadInput
from pricing.prices.questions import QUESTIONS
from pricing.prices.quote import quote
from pricing.screens import job_form
from pricing.screens.form import Plain, first_words
from pricing.screens.log_book import LogBook
from pricing.screens.panel import WeekPage
from pricing.show import charts_job, charts_shop, even_view
from pricing.show.advice_view import advice_of, week_advice, won_and_lost
from pricing.show.blocks import Answer, Block
from pricing.show.even_view import Even
from pricing.show.fields import CheckField, ChoiceField, Field, Slider
from pricing.show.mix_view import week_fields
from pricing.show.price_trial_view import trial_of
from pricing.show.tiles import stopped

_RATES = ("wipe.line_m.hands", "spoil.wiped", "blast.m2.hands")


class BreakEvenPanel(WeekPage):
    """The break-even page."""

    here, name, about = "5_break_even", "break-even", "The job, its price and what is asked"
    widths = "270px minmax(0, 1fr)"
    areas = ("answers " * 8 + "told " * 4, "batch " * 8 + "told " * 4, "gain " * 4 + "month " * 4 + "hours " * 4)
    columns = "repeat(12, minmax(0, 1fr))"
    lines = "88px minmax(0, 1fr) minmax(0, 1fr)"

    even: Even | None = None
    cost = 0.0

    def _blocks(self) -> list[Block]:
        code = self.desk.shop.currency
        return [
            Block("answers"),
            Block("batch", "Full cost of one, by batch size", charts_job.batch(code), drag=("x", "y")),
            Block("told", "Where it begins to pay", style="card rolls"),
            Block("gain", "What is left, by one number", self._gain_spec()),
            Block("month", "A month of work", charts_shop.month_chart(code)),
            Block("hours", "Hours of a week", charts_shop.hours_by_resource()),
        ]

    def _gain_spec(self) -> Any:
        shop = self.desk.shop
        return charts_job.left_over(shop.currency, even_view.even_title(shop, self.form["over"].value))

    def _entries(self) -> list[Field | Plain]:
        desk, shop, job = self.desk, self.desk.shop, self.job
        finishes = {
            k: f.title for k, f in shop.finishes.items() if f.colours <= len(set(job.powders)) or k == job.finish
        }
        asked = {over: QUESTIONS[over].what for over in even_view.SMOOTH}
        return [
            self._start("Start from"),
            ChoiceField("finish", "Finish", job.finish if job.finish in finishes else next(iter(finishes)), finishes),
            *([self._how_many()] if len(job.lots) == 1 else []),
            CheckField("alone", "Nothing else shares its oven loads", value=job.alone),
            Plain("heading", "Your price"),
            Slider.price("asked", "You ask, without tax", desk.tongue),
            Plain("button", "Take the advised price", "advised"),
            Plain("heading", "What if"),
            *self._sliders(_RATES),
            ChoiceField("over", "Left over, by", "wipe", asked),
            Plain("heading", "A week of work"),
            *week_fields(shop, desk.tongue),
            Plain("note", "", "week"),
            Plain("button", "Try prices about the advised", "try"),
            Plain("button", "End the trial of prices", "untry"),
            Plain("note", "", "tried"),
        ]

    def _take(self, key: str) -> None:
        if key in {"try", "untry"}:
            self._try(start=key == "try")
            return
        if key == "begun":
            self._begin_anew()
            self._lay()
        elif key in {"finish", "alone"}:
            self.job = self.job.model_copy(update={key: self.form[key].value})
        elif key == "quantity":
            self.job = job_form.with_kind(self.job, 0, self.form[key].value, {})
        self.price_is_mine = key == "asked" or (self.price_is_mine and key in {*_RATES, "over", "times", "helpers"})
        if key == "over":
            self.board.draw_anew("gain", self._gain_spec())
        if key == "asked" and self.even is not None:
            self.even = self.even.at(float(self.form["asked"].value))
            self._show_price()
            self.later.soon()
        elif key in {"times", "helpers"}:
            self._show_week()
            self.later.soon()
        else:
            self.show()

    def _try(self, *, start: bool) -> None:
        """Begin a trial, the two prices advised in turn in the next quotes, or end it."""
        mix, book = self.mix, LogBook(self.desk)
        if mix is None:
            return
        try:
            if start:
                told = book.try_prices(advice_of(mix.shop, mix.offers, won_and_lost(mix.shop), mix.times).trial)
            else:
                told = book.stop_trial()
        except BadInput as why:
            told = first_words(why)
        self._tell_trial(told)
        self.later.soon()

    def _tell_trial(self, told: str = "") -> None:
        found = trial_of(self.desk.shop.folder)
        self.form.tell("tried", text=told or (found.next_words() if found else ""))
        runs = found is not None and not found.over
        for key, off in (("try", runs), ("untry", not runs)):
            self.form.tell(key, off=off, hidden=off)

    def _picked(self, chart: str, at: Mapping[str, float]) -> None:
        if chart == "batch" and self.even is not None:
            counts = self.even.costed.counts
            count = int(min(max(round(at.get("x", counts[0])), counts[0]), counts[-1]))
            self.form.put("asked", self.even.price_for(count, float(at["y"])))

    def show(self) -> None:
        """Work everything out and send it."""
        try:
            found = quote(self.shop(), self.job)
            _ = found.ends  # what cannot be done at an end of its amounts is told here
        except BadInput as why:
            self._stop(list(map(str, why.problems)))
            return
        self._put()
        if found.price is None:
            self._stop(found.refused)
            return
        self.cost = found.cost
        advised = found.net
        marks = ((self.cost, "low"), (advised, "likely"))
        self.even = Even.of(found, self._charge("asked", advised, 10.0 * round(0.2 * advised) or 10.0, marks))
        self._show_price()
        self._show_week()
        self.later.soon()

    def _stop(self, reasons: Sequence[str]) -> None:
        self.even = None
        none: tuple[Any, ...] = ()
        empty = {
            "batch": dict.fromkeys(("curve", "teeth", "price", "room"), none),
            "gain": dict.fromkeys(("gain", "turns", "now", "zero"), none),
        }
        shut = dict.fromkeys(("batch", "gain"), "No price, no chart.")
        self.board.show(empty, {"answers": stopped(list(reasons)), "told": "", **shut})

    def _show_price(self) -> None:
        if self.even is None:
            return
        self.board.show(
            {"batch": even_view.batch_rows(self.even), "gain": even_view.gain_rows(self.even, self.form["over"].value)},
            {
                "answers": even_view.even_tiles(self.even, self.cost),
                "batch": even_view.batch_words(self.even),
                "gain": self.even.gain_words(self.form["over"].value),
            },
        )

    def _show_later(self) -> None:
        if self.even is not None:
            told = even_view.sure_words(self.even) + even_view.sentences(self.even)
            if self.mix is not None:
                told += week_advice(self.mix.shop, self.mix.offers, self.mix.times)
            self.board.show(words={"told": told})

    def _show_week(self) -> None:
        super()._show_week()
        if self.mix is not None:
            self._tell_trial()
            self.form.tell("week", text=f"{len(self.wanted)} kinds of orders, as page 1 has them.")

    def _why(self, key: str) -> Answer | None:
        return even_view.even_answer(self.even, self.cost, key) if self.even else None
