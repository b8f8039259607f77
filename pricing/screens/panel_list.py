"""Page 3, the price list: what is printed, against what things cost today."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import ipywidgets as widgets

from pricing.basis.errors import BadInput
from pricing.basis.tongue import Range, Wrong
from pricing.basis.typed import read
from pricing.prices.price_list import PriceList, price_list
from pricing.screens.form import Plain, first_words
from pricing.screens.hand_over import CustomerPaper
from pricing.screens.layout import grown, stacked
from pricing.screens.panel import Page
from pricing.shop.own_prices import COLUMNS, PRICES_FILE, TRADE_FILE, OwnPrice, PriceKey, old_list, save_own_prices
from pricing.shop.shop import Shop
from pricing.show import charts_shop, list_view
from pricing.show.blocks import Answer, Block
from pricing.show.board import Board
from pricing.show.fields import CheckField, ChoiceField, Field, QuantityField, ShareField, Slider
from pricing.show.table import EditTable

if TYPE_CHECKING:
    from pricing.papers.for_customers import Handed

_SLIDERS = ("wipe.line_m.hands", "blast.m2.hands", "powder.utilisation")
_HOUR = "hour.owner"
_LISTS = {"mine": "mine", "trade": "for the trade"}
_FILES = {"mine": PRICES_FILE, "trade": TRADE_FILE}
_POLICY = ("target_margin", "minimum_charge", "further_kind", "prices_include_tax", "setup_charged")


class ListPanel(Page):
    """The page of the price list."""

    here, name, about = "3_price_list", "list", "Rates and policy of the list"
    widths = "258px minmax(0, 1fr)"
    areas, lines = ("answers",), "84px"

    which = "mine"
    standing: list_view.ListStanding | None = None

    def _begin(self) -> None:
        shop = self.desk.shop
        self._based = shop, "", shop
        self.typed: dict[PriceKey, OwnPrice | None] = {}
        self.table = EditTable([list_view.list_sheet(self.desk.words)], self._edit, about="The price list")
        margins = Block("margins", "Margin of each price", charts_shop.list_margins())
        column = "minmax(0, 1fr)"
        self.side = Board([margins], ["margins"], columns=column, lines=column, locale=shop.front.locale)

    def _join(self) -> None:
        self._say(old_list(self.desk.folder))
        self.paper = CustomerPaper(self.desk, self.form, self._paper)
        self._ask(ask=False)

    def _blocks(self) -> list[Block]:
        return [Block("answers")]

    def _parts(self) -> list[widgets.Widget]:
        body = widgets.Box(
            [self.table, self.side], layout={"display": "grid", "grid_template_columns": grown("1fr 250px")}
        )
        body.add_class("pp-column")
        return [self.form, stacked([self.board, body], "84px minmax(0, 1fr)")]

    def _entries(self) -> list[Field | Plain]:
        shop, tongue = self.base, self.desk.tongue
        policy = shop.policy
        hour = shop.hour_rates["owner"]
        return [
            Plain("heading", "Policy"),
            *([ChoiceField("list", "The list", self.which, _LISTS)] if self.desk.shop.policy.trade else []),
            ChoiceField("quantity", "An order of", "1", {str(n): str(n) for n in (1, 2, 5, 10, 20, 50)}),
            ShareField("target_margin", "Margin you want", policy.target_margin, tongue, most=0.95),
            *([ShareField("setup_charged", "Set-up charged", policy.setup_charged, tongue)] if shop.for_trade else []),
            QuantityField("minimum_charge", "Smallest job", policy.minimum_charge, "money", tongue),
            QuantityField("further_kind", "Each further kind", policy.further_kind or 0.0, "money", tongue),
            CheckField("prices_include_tax", "Printed with tax", policy.prices_include_tax),
            Plain("heading", "Try other rates"),
            Slider(
                _HOUR, "Your hour", hour, "money/h", tongue, least=0.4 * hour, most=2 * hour, typed=(0.0, 20 * hour)
            ),
            *self._sliders(_SLIDERS),
            Plain("button", "Back to my rates", "back"),
            Plain("heading", "The list"),
            Plain("button", "Take all advised prices …", "all"),
            Plain("button", "Save as my list", "save"),
            Plain("note", "", "said"),
            Plain("button", "Put them in the list", "take"),
            Plain("button", "Leave the list as it is", "leave"),
            *CustomerPaper.entries("Print the list"),
        ]

    def _paper(self, day: date, _out: Path) -> "Handed":
        from pricing.papers.for_customers import list_paper

        return list_paper(self.base, self.desk.items, day)

    def _want(self, key: str) -> None:
        """Put what is wanted of the list that is shown into the draft."""
        policy, change = self.desk.shop.policy, {key: self.form[key].value}
        if self.which == "trade" and policy.trade is not None and key in type(policy.trade).model_fields:
            change = {"trade": policy.trade.model_copy(update=change)}
        self.desk.change({"policy": policy.model_copy(update=change)})

    def _ask(self, *, ask: bool) -> None:
        for key in ("take", "leave"):
            self.form.tell(key, hidden=not ask)

    def _take_all(self, key: str) -> None:
        """Show first what taking all advised prices would change; change it when told so."""
        if self.standing is None:
            return
        changed = list_view.advised(self.standing)
        self._ask(ask=key == "all" and bool(changed))
        if key == "take":
            self.typed |= changed
            self._say(f"{len(changed)} advised prices stand in the list, in yellow; save to keep them.")
        elif key == "all":
            if changed:
                self._say(f"{len(changed)} prices would change. Locked rows stay.")
                self.board.tell(list_view.would_change(self.standing, changed))
            else:
                self._say("All are as advised, or locked.")

    @property
    def base(self) -> Shop:
        """The shop as it sells by the list that is shown."""
        shop, which, _ = self._based
        # the same shop is kept while only rates move: what rests on it is kept too
        if shop is not self.desk.shop or which != self.which:
            self._based = self.desk.shop, self.which, self.desk.shop.selling(trade=self.which == "trade")
        return self._based[2]

    def _take(self, key: str) -> None:
        self._say("")
        if key == "paper":
            return
        self._ask(ask=False)
        if key == "back":
            for field in self.form:
                if isinstance(field, Slider):
                    field.value = float(self.desk.shop.book[field.key])
            self.form.refresh()
        elif key == "list":
            self.which = self.form["list"].value
            self.typed.clear()
            self.form.lay(self._entries())
        elif key in {"all", "take", "leave"}:
            self._take_all(key)
        elif key in _POLICY:  # what the owner wants stands on page 1 as well, and in every price
            self._want(key)
            return
        elif key == "save":
            self._save()
            return
        self.show()

    def _save(self) -> None:
        if self.standing is None:
            return
        if self.desk.read_only:
            self._say("Only shown here: nothing is saved.")
            return
        try:
            file = _FILES[self.which]
            saved = save_own_prices(self.desk.folder, self.standing.to_save, self.desk.tongue, file)
        except BadInput as why:
            self._say(f"Not saved: {first_words(why, accepts=False)}")
            return
        self.typed.clear()
        self.desk.read_again()
        whose = " for the trade" if self.which == "trade" else ""
        self._say(f"Saved: {len(saved)} rows. Every quote{whose} follows them.")
        self.show()

    def _edit(self, _sheet: str, row: str, column: str, given: str) -> None:
        if self.standing is None:
            return
        name, _, what = column.partition(".")
        if column == "state":
            for side in COLUMNS:
                self.typed[row, side] = list_view.with_state(self.standing.entries[row, side], given)
            self.show()
            return
        if what not in {"first", "each"} or name not in COLUMNS:
            return
        entry = self.standing.entries[row, name]
        amount = None
        if given.strip():
            now = getattr(entry.tariff, what) if entry.tariff is not None else None
            amount = read(given, "money", self.desk.tongue, now=now, within=Range(most=1e7, above=0.0))
            if what == "each" and entry.tariff is not None and amount > entry.tariff.first:
                raise Wrong("Not more than the first.")
        self.typed[row, name] = list_view.edited(entry, what, amount)
        self.show()

    def _shop_changed(self) -> None:
        if self.desk.shop.policy.trade is None:
            self.which = "mine"
        self.form.lay_anew(self._entries())
        self.show()

    def show(self) -> None:
        """Work the list out and send it."""
        try:
            prices: PriceList = price_list(
                self.base,
                self.desk.items,
                quantities=(1, int(self.form["quantity"].value)),
                book={**self.desk.shop.book, **self.numbers()},
            )
        except BadInput as why:
            self._cannot(why)
            return
        self.standing = list_view.ListStanding(prices, dict(self.typed), int(self.form["quantity"].value))
        self.side.show(
            {"margins": list_view.list_margin_rows(self.standing)},
            {"margins": "Dashed: what you want. Red: no margin left."},
        )
        self.board.show(words={"answers": list_view.list_tiles(self.standing)})
        self.table.fill(
            {"list": list_view.list_rows(self.standing)}, "▲ ▼: would be printed higher, lower. Yellow: not saved."
        )

    def _why(self, key: str) -> Answer | None:
        policy, words = self.desk.shop.policy, self.desk.words
        if key == "least":
            told = "No order is charged less: the fixed minutes of a job, one load and a colour change are paid."
            return Answer(f"Smallest job {words.money(policy.minimum_charge)}", [told])
        if key == "mean" and self.standing:
            standing = self.standing
            rows = [entry for entry in standing.entries.values() if entry.tariff is not None]
            worst = sorted(rows, key=standing.order_margin)[:5]
            lines = [
                f"{e.title}, {e.row.column.replace('_', '-')}: {standing.order_margin(e):.0%} of"
                f" {words.money(standing.order(e))}"
                for e in worst
            ]
            return Answer("Margin on average", ["mean over all rows, each counted once; the lowest:", *lines])
        return None
