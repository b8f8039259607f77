"""Page 5, break-even: where a job, a batch, a month and a week begin to pay."""

from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from pricing.basis.errors import BadInput
from pricing.parts.job import Job
from pricing.prices.questions import QUESTIONS
from pricing.prices.quote import quote
from pricing.prices.week import Wanted, read_week
from pricing.screens import job_file, job_form
from pricing.screens.bar import Bar
from pricing.screens.deferred import Later
from pricing.screens.form import Form, Plain
from pricing.screens.log_book import LogBook, first_words
from pricing.screens.on_bench import OnBench
from pricing.screens.page import page_of
from pricing.shop.shop import Shop
from pricing.show import charts_even, charts_shop, even_view
from pricing.show.advice_view import advice_of, week_advice, won_and_lost
from pricing.show.desk import Desk
from pricing.show.even_view import Even
from pricing.show.fields import CheckField, ChoiceField, Field, Slider
from pricing.show.labels import short
from pricing.show.live_chart import Answer, Block, Board
from pricing.show.mix_view import NO_WEEK, Mix, helpers_choice
from pricing.show.price_trial_view import trial_of
from pricing.show.ranged_fields import CountField
from pricing.show.tiles import stopped

_RATES = ("wipe.line_m.hands", "spoil.wiped", "blast.m2.hands")


class BreakEvenPanel:
    """The break-even page.

    Parameters
    ----------
    desk : Desk
        The shop.
    """

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.even: Even | None = None
        self.mix: Mix | None = None
        self.cost = 0.0
        self.price_is_mine = False
        self.on_bench = OnBench(desk)
        self.base = self.on_bench.job
        self.wanted = self._week()
        self.form = Form(self._entries(), about="The job, its price and what is asked")
        self.form.on_change(self._changed)
        code = desk.shop.currency
        self.board = Board(
            [
                Block("answers"),
                Block("batch", "Full cost of one, by batch size", charts_even.batch(code), drag=("x", "y")),
                Block("told", "Where it begins to pay", style="card rolls"),
                Block("gain", "What is left, by one number", self._gain_spec()),
                Block("month", "A month of work", charts_even.month(code)),
                Block("hours", "Hours of a week", charts_shop.hours_by_resource()),
            ],
            ["answers " * 8 + "told " * 4, "batch " * 8 + "told " * 4, "gain " * 4 + "month " * 4 + "hours " * 4],
            columns="repeat(12, minmax(0, 1fr))",
            lines="88px minmax(0, 1fr) minmax(0, 1fr)",
        )
        self.board.on_asked(self._why)
        self.board.on_picked(self._picked)
        self.bar = Bar(desk, "5_break_even", self.on_bench)
        self.later = Later(self._show_told, self.board)
        desk.on_change(self._shop_changed)
        self.on_bench.on_change(self._bench_changed)
        self.show()
        self.widget: widgets.Box = page_of(self.bar, [self.form, self.board], "270px minmax(0, 1fr)", name="break-even")

    def _week(self) -> tuple[Wanted, ...]:
        try:
            return read_week(self.desk.shop, self.desk.items)
        except BadInput:
            return ()

    def _gain_spec(self) -> Any:
        shop = self.desk.shop
        return charts_even.left_over(shop.currency, even_view.even_title(shop, self.form["over"].value))

    def _entries(self) -> list[Field | Plain]:
        desk, shop = self.desk, self.desk.shop
        job, begun = self.base, self.on_bench.begun
        finishes = {
            k: f.title for k, f in shop.finishes.items() if f.colours <= len(set(job.powders)) or k == job.finish
        }
        asked = {over: QUESTIONS[over].what for over in even_view.SMOOTH}
        count: list[Field | Plain] = []
        if len(job.lots) == 1:
            count = [
                CountField(
                    "quantity", job_form.sold_words(job.lots[0]), job.lots[0].quantity, desk.tongue, least=1, most=5000
                )
            ]
        return [
            ChoiceField("begun", "Start from", begun, job_file.begin_options(desk, begun)),
            ChoiceField("finish", "Finish", job.finish if job.finish in finishes else next(iter(finishes)), finishes),
            *count,
            CheckField("alone", "Nothing else shares its oven loads", value=job.alone),
            Plain("heading", "Your price"),
            Slider.price("asked", "You ask, without tax", desk.tongue),
            Plain("button", "Take the advised price", "advised"),
            Plain("heading", "What if"),
            *[Slider.of(short(shop, key), shop.uncertain[key], desk.tongue) for key in _RATES if key in shop.uncertain],
            ChoiceField("over", "Left over, by", "wipe", asked),
            Plain("heading", "A week of work"),
            Slider("times", "Times your usual week", 1.0, "", desk.tongue, least=0.25, most=2.5, typed=(0.0, 20.0)),
            *helpers_choice(shop),
            Plain("note", "", "week"),
            Plain("button", "Try the advised prices", "try"),
            Plain("button", "End the trial of prices", "untry"),
            Plain("note", "", "tried"),
        ]

    def numbers(self) -> Mapping[str, float]:
        """Collect the numbers that sliders have moved."""
        rows = self.desk.shop.uncertain
        return {
            k: self.form[k].value for k in _RATES if k in self.form and abs(self.form[k].value - rows[k].mean) > 1e-9
        }

    def shop(self) -> Shop:
        """Return the shop with what is moved."""
        return even_view.moved_shop(self.desk.shop, self.numbers())

    def job(self) -> Job:
        """Return the job on the bench."""
        return self.base

    def _changed(self, key: str) -> None:
        if key in {"try", "untry"}:
            self._try(start=key == "try")
            return
        if key == "begun":
            try:
                self.base = job_file.begin(self.desk, self.form["begun"].value)
                self.on_bench.put(self.base, self.form["begun"].value)
            except BadInput as why:
                self._cannot([str(problem) for problem in why.problems])
                return
            self.form.lay(self._entries())
        elif key in {"finish", "alone"}:
            self.base = self.base.model_copy(update={key: self.form[key].value})
        elif key == "quantity":
            self.base = job_form.with_kind(self.base, 0, self.form[key].value, {})
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
        """Begin a trial, the advised prices in every other of the next quotes, or end it."""
        mix, book = self.mix, LogBook(self.desk)
        if mix is None:
            return
        try:
            by = advice_of(mix.shop, mix.offers, won_and_lost(mix.shop), mix.times).multiple if start else 0.0
            told = book.try_price(by)
        except BadInput as why:
            told = first_words(why)
        self._tell_trial(told)

    def _tell_trial(self, told: str = "") -> None:
        found = trial_of(self.desk.shop.folder)
        self.form.tell("tried", text=told or (found.next_words() if found else ""))
        for key, off in (("try", found is not None), ("untry", found is None)):
            self.form.tell(key, off=off, hidden=off)

    def _picked(self, chart: str, at: Mapping[str, float]) -> None:
        if chart == "batch" and self.even is not None:
            counts = self.even.costed.counts
            count = int(min(max(round(at.get("x", counts[0])), counts[0]), counts[-1]))
            self.form.put("asked", self.even.price_for(count, float(at["y"])))

    def _bench_changed(self) -> None:
        self.base, self.price_is_mine = self.on_bench.job, False
        self.form.lay(self._entries())
        self.show()

    def _shop_changed(self) -> None:
        self.wanted, self.base = self._week(), self.on_bench.job
        self.form.lay_anew(self._entries())
        self.show()

    def show(self) -> None:
        """Work everything out and send it."""
        try:
            found = quote(self.shop(), self.job())
            _ = found.ends  # what cannot be done at an end of its amounts is told here
        except BadInput as why:
            self._cannot([str(problem) for problem in why.problems])
            return
        with suppress(BadInput):  # a folder that cannot be written is told where something is saved
            self.on_bench.put(self.base, self.form["begun"].value)
        if found.price is None:
            self._cannot(found.refused)
            return
        self.cost = found.cost
        field: Any = self.form["asked"]
        advised = found.net
        field.most, field.step = 10.0 * round(0.2 * advised) or 10.0, 1.0
        field.marks = ((self.cost, "low"), (advised, "likely"))
        if not self.price_is_mine:
            field.value = advised
        self.form.refresh()
        self.even = Even.of(found, float(field.value))
        self._show_price()
        self._show_week()
        self.later.soon()

    def _cannot(self, reasons: Any) -> None:
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

    def _show_told(self) -> None:
        if self.even is not None:
            told = even_view.sure_words(self.even) + even_view.sentences(self.even)
            if self.mix is not None:
                told += week_advice(self.mix.shop, self.mix.offers, self.mix.times)
            self.board.show(words={"told": told})

    def _show_week(self) -> None:
        if not self.wanted:
            self.board.show(words=dict.fromkeys(("month", "hours"), NO_WEEK))
            return
        helpers = self.form["helpers"].value if "helpers" in self.form else ""
        mix = self.mix = Mix.of(self.shop(), self.wanted, float(self.form["times"].value), helpers)
        out, left = mix.say()
        self.board.show({"month": mix.month_rows(), "hours": mix.hours_rows()}, {"hours": out, "month": left})
        self._tell_trial()
        self.form.tell("week", text=f"{len(self.wanted)} kinds of orders, as page 1 has them.")

    def _why(self, key: str) -> Answer | None:
        return even_view.even_answer(self.even, self.cost, key) if self.even else None


def page(folder: Path | str | None = None) -> widgets.Box:
    """Open the page.

    Parameters
    ----------
    folder : path, optional
        As in `pricing.show.desk.Desk`.
    """
    return BreakEvenPanel(Desk(folder)).widget
