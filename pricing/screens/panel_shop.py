"""Page 1, my shop: what an hour costs, and every number the prices rest on."""

from html import escape
from typing import Any

from ipywidgets import Widget

from pricing.basis.records import Record
from pricing.prices.visible_rate import visible_rate
from pricing.screens import rate_sheets, shop_sheets
from pricing.screens.form import Plain
from pricing.screens.layout import Views, side_by_side, stacked
from pricing.screens.panel import Page
from pricing.screens.panel_new_part import NewPartPanel
from pricing.screens.panel_oven import OvenPanel
from pricing.screens.panel_papers import PapersPanel
from pricing.screens.panel_settings import SettingsPanel
from pricing.show import charts_shop, settings, shop_view
from pricing.show.advice_view import rate_words
from pricing.show.blocks import Answer, Block
from pricing.show.cells import changed_record
from pricing.show.fields import ChoiceField, Field, QuantityField, ShareField, WordsField
from pricing.show.sheets import Sheet
from pricing.show.table import EditTable

_SHOWN = 6


class ShopPanel(Page):
    """The page of the shop."""

    here, name, about, widths = "1_my_shop", "shop", "You, your hours and your policy", "minmax(0, 1fr)"
    areas = ("answers answers", "hours items")
    columns = "repeat(2, minmax(0, 1fr))"
    lines = "106px minmax(0, 1fr)"

    def _begin(self) -> None:
        self._drawn_for = self._look()
        self.table = EditTable(self._sheets(), self._edit, about="Numbers of the shop")

    def _sheets(self) -> list[Sheet]:
        return [*rate_sheets.rate_sheets(self.desk.shop), *shop_sheets.shop_tables(self.desk)]

    def _blocks(self) -> list[Block]:
        code = self.desk.shop.currency
        return [
            Block("answers"),
            Block("hours", "What an hour costs", charts_shop.hour_costs(code)),
            Block("items", "What it does to your list", charts_shop.list_now_and_saved(code)),
        ]

    def _parts(self) -> list[Widget]:
        desk, bench = self.desk, self.on_bench
        self.views = Views(
            {
                "hour": ("What an hour costs", self._hour),
                "oven": ("My oven", lambda: OvenPanel(desk, bench).widget),
                "part": ("New part", lambda: NewPartPanel(desk).widget),
                "all": ("All settings", lambda: SettingsPanel(desk).widget),
                "papers": ("Words of papers", lambda: PapersPanel(desk).widget),
            },
            about="Views of the shop",
        )
        return [self.views.widget]

    def _hour(self) -> Widget:
        """Make the view the page begins with: you, your hours and your policy beside what an hour costs."""
        right = stacked([self.board, self.table], "minmax(0, 1.05fr) minmax(0, 1fr)")
        return side_by_side([self.form, right], "286px minmax(0, 1fr)")

    def _look(self) -> tuple[Any, ...]:
        front = self.desk.shop.front
        return front.units, front.currency, self.desk.shop.helper is None, tuple(self.desk.shop.powders)

    def _entries(self) -> list[Field | Plain]:
        shop, tongue = self.desk.shop, self.desk.tongue
        owner, policy, front = shop.owner, shop.policy, shop.front
        locales = {front.locale: settings.MONEY_LOCALES.get(front.locale, front.locale)} | settings.MONEY_LOCALES
        entries: list[Field | Plain] = [
            Plain("heading", "You"),
            QuantityField("owner.draw_per_y", "What you take home", owner.draw_per_y, "money/year", tongue),
            ShareField("owner.on_cost", "Dues on top", owner.on_cost, tongue, most=3.0),
            QuantityField("owner.weeks", "Weeks a year", owner.weeks, "", tongue, most=53),
            QuantityField("owner.hours_per_week_h", "Hours a week", owner.hours_per_week_h, "h", tongue, most=100),
            ShareField("owner.billable", "Of them on jobs", owner.billable, tongue),
        ]
        if shop.helper:
            helper = shop.helper
            entries += [
                Plain("heading", "Your helper"),
                QuantityField("helper.wage_per_h", "Wage", helper.wage_per_h, "money/h", tongue),
                ShareField("helper.on_cost", "Dues on top", helper.on_cost, tongue, most=3.0),
                QuantityField(
                    "helper.hours_per_week_h", "Hours a week", helper.hours_per_week_h, "h", tongue, most=100
                ),
                ShareField("helper.share", "Does of shared steps", helper.share, tongue),
            ]
        return [
            *entries,
            Plain("button", "Do without the helper" if shop.helper else "Hire a helper", "hire"),
            Plain("note", "", "said"),
            Plain("heading", "Energy"),
            QuantityField(
                "tariffs.electricity_per_kwh", "Electricity", shop.tariffs.electricity_per_kwh, "money/kWh", tongue
            ),
            QuantityField("tariffs.gas_per_kwh", "Gas", shop.tariffs.gas_per_kwh, "money/kWh", tongue),
            Plain("heading", "Your prices"),
            ShareField("policy.target_margin", "Margin you want", policy.target_margin, tongue, most=0.95),
            QuantityField("policy.minimum_charge", "Smallest job", policy.minimum_charge, "money", tongue),
            ShareField("policy.interest", "Interest", policy.interest, tongue),
            Plain("heading", "How it is shown"),
            WordsField("front.name", "Name", front.name),
            ChoiceField("front.units", "Measures", front.units, {"metric": "metric", "us": "US: feet, mils, °F"}),
            ChoiceField("front.locale", "Money looks", front.locale, locales),
        ]

    def _hire_or_drop(self) -> None:
        """Drop the helper, or hire one at your own pay an hour, to be mended in the form."""
        thing, record = settings.fresh(self.desk, "helper")
        settings.put(self.desk, thing, None if self.desk.shop.helper else record)

    def _take(self, key: str) -> None:
        self._say("")
        if key == "hire":
            self._hire_or_drop()
            return
        table, _, name = key.partition(".")
        record: Record = getattr(self.desk.shop, table)
        self.desk.change({table: changed_record(record, name, self.form[key].value, tongue=self.desk.tongue)})

    def _why(self, key: str) -> Answer | None:
        return shop_view.shop_answer(self.desk.shop, key)

    def _edit(self, sheet: str, row: str, column: str, given: str) -> None:
        if sheet in {"rates", "assumptions"}:
            rate_sheets.edit_rate(self.desk, sheet, row, column, given)
        else:
            shop_sheets.edit_shop(self.desk, sheet, row, column, given)

    def show(self) -> None:
        """Send everything that changed."""
        desk = self.desk
        if self._look() != self._drawn_for:
            self._drawn_for = self._look()
            self.form.lay(self._entries())
            self.table.sheets = [sheet.traits() for sheet in self._sheets()]
        for field in self.form:
            table, _, name = field.key.partition(".")
            value = getattr(getattr(desk.shop, table), name)
            if field.value != value and not field.message:
                field.value = value
        self.form.refresh()
        self.board.show({"hours": shop_view.hour_rows(desk.shop)}, {"answers": shop_view.shop_tiles(desk.shop)})
        self.table.fill({**rate_sheets.rate_rows(desk), **shop_sheets.rows(desk)}, self._said())
        self.later.soon()

    def _said(self) -> str:
        if self.desk.demo:
            return "The demo shop: change what you like, nothing is kept."
        if self.desk.read_only:
            return "Only shown: change what you like, nothing is kept."
        return "Yellow: changed since saved." if self.desk.changed else "Everything is saved."

    def _show_later(self) -> None:
        keys = list(self.desk.items)
        step = max(1, len(keys) // _SHOWN)
        rate = visible_rate(self.desk.shop, self.desk.items)
        words = " ".join(["Black ticks: as saved.", *(rate_words(self.desk.shop, rate)[:1] if rate else ())])
        self.board.show({"items": shop_view.item_rows(self.desk, keys[1::step][:_SHOWN])}, {"items": escape(words)})
