"""What pages and their views are made of, so that each says only what is its own: fields, blocks, rows and words."""

import gc
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any, ClassVar

import ipywidgets as widgets

from pricing.basis.errors import BadInput
from pricing.basis.identity import Same
from pricing.basis.tongue import Wrong
from pricing.parts.job import Job
from pricing.screens import job_file, job_form
from pricing.screens.bar import Bar
from pricing.screens.deferred import Later
from pricing.screens.form import Form, Plain
from pricing.screens.layout import side_by_side
from pricing.screens.on_bench import OnBench
from pricing.shop.shop import Shop
from pricing.show.blocks import Answer, Block
from pricing.show.board import Board
from pricing.show.desk import Desk
from pricing.show.even_view import moved_shop
from pricing.show.fields import ChoiceField, Field, Slider
from pricing.show.labels import short
from pricing.show.mix_view import NO_WEEK, Mix, usual_week
from pricing.show.open_fields import CountField
from pricing.show.tiles import stopped


class Panel:
    """Fields, mostly beside a board of answers and charts: a view of a page, or what a `Page` is made of.

    A panel sets the names below, and writes `_entries`, `_blocks`, `_take` and `show`; what it needs before the
    fields are laid it sets in `_begin`.
    """

    about: ClassVar[str]
    """What the form is, for those who hear it."""
    widths: ClassVar[str] = "286px minmax(0, 1fr)"
    """Of the form and of what stands beside it, as CSS takes them."""
    areas: ClassVar[Sequence[str]] = ()
    """Rows of the board; without them there is no board."""
    columns: ClassVar[str] = "minmax(0, 1fr)"
    lines: ClassVar[str] = ""

    board: Board

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self._begin()
        self.form = Form(self._entries(), about=self.about)
        self.form.on_change(self._changed)
        self._join()
        if self.areas:
            locale = desk.shop.front.locale
            self.board = Board(self._blocks(), self.areas, columns=self.columns, lines=self.lines, locale=locale)
            self.board.on_asked(self._why)
            self.board.on_picked(self._picked)
            self.later = Later(self._show_later, self.board)
        desk.on_change(self._shop_changed)
        self.show()
        self.widget = self._laid_out()

    def _begin(self) -> None:
        """Set what the fields rest on."""

    def _entries(self) -> Sequence[Field | Plain]:
        """Collect the fields and what stands between them."""
        raise NotImplementedError

    def _join(self) -> None:
        """Let others listen to the form as well."""

    def _blocks(self) -> Sequence[Block]:
        """Collect what stands on the board."""
        return ()

    def _parts(self) -> list[widgets.Widget]:
        """Collect what stands side by side."""
        return [self.form, self.board]

    def _laid_out(self) -> widgets.Widget:
        return side_by_side(self._parts(), self.widths)

    def show(self) -> None:
        """Work everything out and send it; what takes long follows in `_show_later`, when the slider rests."""

    def _show_later(self) -> None:
        """Send what takes long."""

    def _shop_changed(self) -> None:
        self.show()

    def _changed(self, key: str) -> None:
        try:
            self._take(key)
        except Wrong as why:
            self._refuse(key, str(why))
        except BadInput as why:
            self._refuse(key, " ".join(map(str, why.problems)))

    def _take(self, key: str) -> None:
        """Take a new value or a pressed button.

        Raises
        ------
        Wrong, BadInput
            It cannot be taken; that is told beside its field.
        """

    def _refuse(self, key: str, text: str) -> None:
        """Say what is wrong beside the field, or in the note where a button was pressed."""
        if key in self.form:
            self.form.wrong(key, text)
        else:
            self._say(text)

    def _say(self, text: str) -> None:
        """Say something in the note of the form."""
        self.form.tell("said", text=text)

    def _cannot(self, why: BadInput) -> None:
        """Say on the board why there is no figure."""
        self.board.show(words={"answers": stopped(list(map(str, why.problems)))})

    def _why(self, key: str) -> Answer | None:  # noqa: ARG002  a board without sums has none
        """Answer "why" to a number of the board."""
        return None

    def _picked(self, chart: str, at: Mapping[str, float]) -> None:
        """Take a mark that was dragged on a chart."""

    def numbers(self) -> Mapping[str, float]:
        """Collect the numbers that sliders have moved."""
        book = self.desk.shop.book
        sliders = [field for field in self.form if isinstance(field, Slider) and field.key in book]
        return {field.key: float(field.value) for field in sliders if abs(field.value - book[field.key]) > 1e-9}

    def _sliders(self, keys: Sequence[str]) -> list[Field]:
        """Make a slider of each uncertain number that the shop has."""
        rows = self.desk.shop.uncertain
        return [Slider.of(short(self.desk.shop, key), rows[key], self.desk.tongue) for key in keys if key in rows]


class Page(Panel):
    """A panel with the bar on top, which a notebook opens."""

    here: ClassVar[str]
    """Name of its notebook."""
    name: ClassVar[str]
    """By which styles and tests find it."""

    def __init__(self, desk: Desk) -> None:
        self.on_bench = OnBench(desk)
        self.bar = Bar(desk, self.here, self.on_bench)
        super().__init__(desk)
        self.on_bench.on_change(self._bench_changed)

    @classmethod
    def open(cls, folder: Path | str | None = None) -> widgets.Widget:
        """Open the page on a folder, as `Desk` takes it."""
        return cls(Desk(folder)).widget

    def _laid_out(self) -> widgets.Widget:
        page = widgets.VBox([self.bar, side_by_side(self._parts(), self.widths)])
        page.add_class("pp-page")
        page.add_class(f"pp-{self.name}")
        gc.collect()
        gc.freeze()  # libraries and the page stay; to look through them again takes a tenth of a second, mid-slide
        return page

    def _bench_changed(self) -> None:
        """Hear that another page has put another job on the bench."""


class JobPage(Page):
    """A page that shows the job on the bench: it follows the other pages, and puts there what it changes."""

    job: Job
    begun: str
    """What the job began from."""
    kind: int
    """Which kind of its parts is shown."""
    price_is_mine: bool
    """Whether the owner has set the price; else it is the advised one."""

    def _begin(self) -> None:
        self._renew()
        self._follow()

    def _renew(self) -> None:
        """Take what rests on the shop and not on the job."""

    def _follow(self) -> None:
        """Take the job that lies on the bench."""
        self.job, self.begun, self.kind = self.on_bench.job, self.on_bench.begun, 0
        self.price_is_mine = False

    def _begin_anew(self) -> None:
        """Begin another job from what was chosen, for every page."""
        begun = self.form["begun"].value
        self.job = job_file.begin(self.desk, begun)
        self.begun, self.kind, self.price_is_mine = begun, 0, False
        self._put()

    def _put(self, named: str = "") -> None:
        """Lay the job on the bench, for the other pages."""
        with suppress(BadInput):  # a folder that cannot be written is told where something is saved
            self.on_bench.put(self.job, self.begun, named)

    def _lay(self) -> None:
        """Lay the fields anew; sliders stay where they are."""
        kept = {field.key: field.value for field in self.form if isinstance(field, Slider)}
        self.form.lay(self._entries())
        for key in kept.keys() & {field.key for field in self.form}:
            self.form[key].value = kept[key]
        self.form.refresh()

    def _bench_changed(self) -> None:
        self._follow()
        self._lay()
        self.show()

    def _shop_changed(self) -> None:
        self._renew()
        self.job = self.on_bench.job
        self.kind = min(self.kind, len(self.job.lots) - 1)
        self.form.lay_anew(self._entries())
        self.show()

    def _start(self, label: str) -> ChoiceField:
        """Ask what the job begins from."""
        return ChoiceField("begun", label, self.begun, job_file.begin_options(self.desk, self.begun))

    def _how_many(self) -> CountField:
        """Ask how many of the kind of part that is shown."""
        lot = self.job.lots[self.kind]
        return CountField("quantity", job_form.sold_words(lot), lot.quantity, self.desk.tongue, least=1, most=5000)

    def _charge(self, key: str, advised: float, most: float, marks: Any, step: float = 1.0) -> float:
        """Let the slider of a price run; it stands at the advised price until the owner sets another."""
        field: Any = self.form[key]
        field.most, field.step, field.marks = most, step, marks
        if not self.price_is_mine:
            field.value = advised
        self.form.refresh()
        return float(field.value)


class WeekPage(JobPage):
    """A page that shows a week of work beside the job, with what the sliders have moved."""

    mix: Mix | None = None
    _mix_rests_on: object = None

    def _renew(self) -> None:
        self.wanted = usual_week(self.desk.shop, self.desk.items)

    def shop(self) -> Shop:
        """Return the shop with what is moved."""
        return moved_shop(self.desk.shop, self.numbers())

    def _show_week(self) -> None:
        """Work the week out, where what it rests on is another one now, and send it."""
        if not self.wanted:
            self.mix = None
            self.board.show(words=dict.fromkeys(("month", "hours"), NO_WEEK))
            return
        helpers = self.form["helpers"].value if "helpers" in self.form else ""
        times = float(self.form["times"].value)
        rests_on = (Same(self.desk.shop), Same(self.wanted), dict(self.numbers()), times, helpers)  # and not on the job
        if self.mix is None or rests_on != self._mix_rests_on:
            self.mix, self._mix_rests_on = Mix.of(self.shop(), self.wanted, times, helpers), rests_on
        out, left = self.mix.say()
        self.board.show({"month": self.mix.month_rows(), "hours": self.mix.hours_rows()}, {"hours": out, "month": left})
