"""Page 3 in rows and words: the list as it stands against what things cost today.

Room     show. Imports basis, prices, show.edit_table, show.listed, show.tiles.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from math import isfinite
from typing import Any

from pricing.basis.units import sig
from pricing.prices.margins import margin_of, price_at_margin
from pricing.prices.price_list import FINISHES, PriceList
from pricing.show.edit_table import Cell, Column, Row, Sheet
from pricing.show.listed import Listed, Place
from pricing.show.live_chart import Rows
from pricing.show.look import SIDES
from pricing.show.tiles import number, tile, tiles
from pricing.show.words import Words


@dataclass(frozen=True)
class Entry:
    """One price of the list. [money, of one unit]

    Parameters
    ----------
    place : tuple
        Item, column, units sold together.
    title : str
        Of the item.
    cost : float
        Full cost today, net.
    exact : float
        What leaves the wanted margin, net, before rounding.
    asked : float
        What would be printed today; NaN where no price may be given.
    price : float
        What stands in the list: typed, saved, or else what is asked.
    margin : float
        Share of the net price that is left today.
    mine : bool
        Whether the price was typed.
    refused : str
        Why no price may be given.
    """

    place: Place
    title: str
    cost: float
    exact: float
    asked: float
    price: float
    margin: float
    mine: bool
    refused: str

    @property
    def state(self) -> str:
        """``bad`` loses money, ``low`` is under the wanted margin, ``no`` has no price."""
        return "no" if self.refused else "bad" if self.margin < 0 else ""


@dataclass(frozen=True)
class Standing:
    """The whole list as it stands today."""

    prices: PriceList
    listed: Listed
    typed: Mapping[Place, float]

    @cached_property
    def entries(self) -> dict[Place, Entry]:
        """Every price by item, column and units."""
        policy, found = self.prices.shop.policy, {}
        taxed = 1.0 + policy.sales_tax if policy.prices_include_tax else 1.0
        costs = self.prices.cost
        for at, (item, column) in enumerate(zip(self.prices.items, self.prices.column, strict=True)):
            place = (item.key, column, int(self.prices.quantity[at]))
            cost, asked = float(costs[at]), float(self.prices.price[at])
            exact = float(price_at_margin(cost, policy.target_margin))
            price = asked if self.prices.refused[at] else self.typed.get(place, self.listed.prices.get(place, asked))
            margin = float(margin_of(price / taxed, cost)) if isfinite(price) else float("nan")
            found[place] = Entry(
                place, item.title, cost, exact, asked, price, margin, place in self.typed, self.prices.refused[at]
            )  # fmt: skip
        return found

    def low(self, entry: Entry) -> bool:
        """Whether a price leaves less than the wanted margin."""
        return entry.margin < self.prices.shop.policy.target_margin - 5e-4

    @property
    def to_save(self) -> dict[Place, float]:
        """Prices to write: every one that may be given."""
        return {place: entry.price for place, entry in self.entries.items() if not entry.refused}


def list_sheet(words: Words) -> Sheet:
    """Give the tab of the list."""
    code = words.shop.currency
    columns = [Column("item", "Item", "plain")]
    for key, side in zip(FINISHES, ("Single", "Two-tone"), strict=True):
        columns += [
            Column(f"{key}.price", f"{side} [{code}]", "text", num=True, width="52px"),
            Column(f"{key}.margin", "margin", "plain", num=True),
            Column(f"{key}.exact", "exact", "plain", num=True), Column(f"{key}.asked", "asks now", "plain", num=True),
        ]  # fmt: skip
    columns += [Column("extra", "extra", "plain", num=True), Column("say", "", "plain")]
    note = (
        "What you print: type another price to try it, empty the cell to take the advised one. Exact leaves the"
        " wanted margin to the cent; asks now is what would be printed today."
    )
    return Sheet("list", "Price list", tuple(columns), note=note)


def list_rows(standing: Standing) -> list[Row]:
    """Give the rows of the list, single-tone beside two-tone."""
    rows = []
    sold = {item.key: item for item in standing.prices.items}
    quantity = int(standing.prices.quantity[0])
    for key, item in sold.items():
        pair = [standing.entries[key, column, quantity] for column in FINISHES]
        cells: dict[str, Cell] = {}
        for entry in pair:
            cells |= _cells(standing, entry)
        both = all(isfinite(entry.price) for entry in pair)
        cells["extra"] = Cell(_short(pair[1].price - pair[0].price) if both else "")
        say, mark = _say(standing, pair)
        cells["say"] = Cell(say, mark=f"pp-flag {'loss' if mark == 'bad' else 'thin' if mark == 'low' else 'soft'}")
        title = item.title
        if item.sold_by not in {"each", "metre"} and item.sold_by not in title:
            title += f", {item.sold_by}"
        rows.append(Row(key, title, cells, mark=mark))
    return rows


def _cells(standing: Standing, entry: Entry) -> dict[str, Cell]:
    column = entry.place[1]
    if entry.refused:
        return {
            f"{column}.price": Cell("do not quote", plain=True, mark="loss"), f"{column}.margin": Cell(""),
            f"{column}.exact": Cell(""), f"{column}.asked": Cell(""),
        }  # fmt: skip
    grade = "loss" if entry.margin < 0 else "thin" if standing.low(entry) else "gain"
    differs = abs(entry.asked - entry.price) > 5e-3
    rise = "▲ " if entry.asked > entry.price else "▼ "
    saved = standing.listed.prices.get(entry.place)
    changed = entry.mine or (saved is not None and abs(saved - entry.price) > 5e-3)
    return {
        f"{column}.price": Cell(_short(entry.price), changed=changed),
        f"{column}.margin": Cell(f"{entry.margin:.0%}", mark=grade),
        f"{column}.exact": Cell(f"{entry.exact:.2f}", mark="soft"),
        f"{column}.asked": Cell((rise if differs else "") + _short(entry.asked), mark="" if differs else "soft"),
    }  # fmt: skip


def _short(price: float) -> str:
    return sig(price, 4) if abs(price - round(price)) < 5e-3 else f"{price:.2f}"


def _say(standing: Standing, pair: list[Entry]) -> tuple[str, str]:
    if any(entry.state == "bad" for entry in pair):
        return "LOSES MONEY", "bad"
    if any(not entry.refused and standing.low(entry) for entry in pair):
        return "under your margin", "low"
    if any(entry.refused for entry in pair):
        return "ask the maker", ""
    return "", ""


def margin_rows(standing: Standing) -> dict[str, Rows]:
    """Give the margin of every price, for the chart."""
    words = Words(standing.prices.shop)
    dots: list[dict[str, Any]] = []
    target = standing.prices.shop.policy.target_margin
    for place, entry in enumerate(standing.entries.values()):
        if entry.refused:
            continue
        side = SIDES[FINISHES.index(entry.place[1])]
        told = f"{entry.title}, {side.lower()}: {words.money(entry.price)} leaves {entry.margin:.0%}"
        name = "" if any(dot["title"] == entry.title for dot in dots) else entry.title  # written once
        dots.append({"title": entry.title, "name": name, "place": place, "side": side,
                     "margin": max(-0.3, round(entry.margin, 4)), "why": told})  # fmt: skip
    near = [{"margin": 0.0}] if any(dot["margin"] < 0.1 for dot in dots) else []  # the line of loss, where it is near
    return {"dots": dots, "want": [{"margin": target, "text": f"wanted {target:.0%}"}], "zero": near}


def list_tiles(standing: Standing) -> str:
    """Give the tiles of the page."""
    words, entries = Words(standing.prices.shop), [e for e in standing.entries.values() if not e.refused]
    losing = sum(entry.state == "bad" for entry in entries)
    under = sum(standing.low(entry) and entry.state != "bad" for entry in entries)
    moved = sum(abs(entry.asked - entry.price) > 5e-3 for entry in entries)
    none = len(standing.entries) - len(entries)
    mean = sum(entry.margin for entry in entries) / len(entries) if entries else 0.0
    policy = standing.prices.shop.policy
    since = f"as saved on {standing.listed.saved_on}" if standing.listed.prices else "no list saved yet"
    tax = "prices with tax" if policy.prices_include_tax else "prices without tax"
    return tiles(
        [
            tile("Prices that lose money", f'<span class="{"loss" if losing else "gain"}">{losing}</span>',
                 f"of {len(entries)}", style="stop" if losing else ""),
            tile("Under your margin", f'<span class="{"thin" if under else "gain"}">{under}</span>',
                 f"of {len(entries)}; you want {policy.target_margin:.0%}"),
            tile("Would be printed anew", str(moved), since),
            tile("Margin on average", number(f"{mean:.1%}", "mean"), tax),
            tile("Not to be quoted", str(none), "rows without a price"),
            tile("Smallest job", number(words.money(policy.minimum_charge, cents=False), "least"),
                 f"rush {policy.rush_surcharge:.0%} more"),
        ]
    )  # fmt: skip
