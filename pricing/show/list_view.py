"""Page 3 in rows and words: the list as it stands against what things cost today."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from math import isfinite, nan
from typing import Any

from pricing.basis.units import sig
from pricing.prices.list_row import ListRow
from pricing.prices.marks import margin_of
from pricing.prices.price_list import PriceList
from pricing.prices.price_rule import OrderLine, Tariff, as_printed, order_price, printed_minimum
from pricing.shop.own_prices import COLUMNS, OwnPrice, PriceKey
from pricing.show.blocks import Answer, Rows
from pricing.show.look import SIDES
from pricing.show.sheets import Cell, Column, Row, Sheet
from pricing.show.tiles import tile, tile_number, tiles
from pricing.show.words import Words

LIST_STATES = (("", "printed"), ("locked", "price locked"), ("hidden", "not printed"))
"""What an owner may want of a row."""


@dataclass(frozen=True)
class ListEntry:
    """One row of the list as it stands on the page.

    ``row`` is as it was worked out and saved, ``own`` what stands in the list, ``mine`` whether it was typed and is
    not saved yet.
    """

    row: ListRow
    own: OwnPrice | None
    mine: bool

    @property
    def place(self) -> PriceKey:
        """Item and column."""
        return self.row.item.key, self.row.column

    @property
    def title(self) -> str:
        """Of the item."""
        return self.row.item.title

    @property
    def refused(self) -> str:
        """Why no price may be given, or ''."""
        return self.row.refused

    @property
    def asked(self) -> Tariff | None:
        """What would be printed today."""
        return self.row.asked

    @cached_property
    def tariff(self) -> Tariff | None:
        """What stands in the list."""
        return replace(self.row, own=self.own).tariff

    @property
    def moved(self) -> bool:
        """Whether today's costs ask for another price than stands there."""
        return self.tariff != self.asked

    @property
    def state(self) -> str:
        """``locked``, ``hidden`` or ''."""
        return "hidden" if self.own and self.own.hidden else "locked" if self.own and self.own.locked else ""


@dataclass(frozen=True)
class ListStanding:
    """The whole list as it stands on the page, and how large an order (``units``) is added up.

    ``typed`` is not saved yet: own prices by row, None where the saved price was taken back.
    """

    prices: PriceList
    typed: Mapping[PriceKey, OwnPrice | None]
    units: int = 1

    @cached_property
    def entries(self) -> dict[PriceKey, ListEntry]:
        """Every row by item and column."""
        found = {}
        for row in self.prices.rows:
            place = (row.item.key, row.column)
            mine = place in self.typed
            found[place] = ListEntry(row, self.typed[place] if mine else row.own, mine)
        return found

    @cached_property
    def taxed(self) -> float:
        """Price as printed over price without tax."""
        return as_printed(self.prices.shop.policy)

    def margin(self, entry: ListEntry) -> float:
        """Work out the least share of the price that is left, for any number of the list's range."""
        if entry.tariff is None:
            return nan
        near = self.prices.shop.policy.list_up_to
        return float(entry.row.margins(self.taxed, entry.tariff)[:near].min())

    def low(self, entry: ListEntry) -> bool:
        """Whether a price leaves less than the wanted margin for some number."""
        return self.margin(entry) < self.prices.shop.policy.target_margin - 1e-9

    def under_from(self, entry: ListEntry, margin_share: float) -> int | None:
        """Work out the least number of units at which the price leaves less than a margin."""
        return replace(entry.row, own=entry.own).under_from(margin_share, self.taxed)

    def order(self, entry: ListEntry) -> float:
        """Work out the price of an order of the size that is added up. [money, as printed]"""
        if entry.tariff is None:
            return nan
        shop = self.prices.shop
        return float(order_price([OrderLine(entry.tariff, self.units)], shop.policy, shop.currency).printed)

    def order_margin(self, entry: ListEntry) -> float:
        """Work out the margin of an order of the size that is added up."""
        return float(margin_of(self.order(entry) / self.taxed, entry.row.cost(self.units)))

    @property
    def to_save(self) -> dict[PriceKey, OwnPrice]:
        """Rows to write: every price that may be given, as it stands."""
        found = {}
        for place, entry in self.entries.items():
            own = entry.own or OwnPrice(nan, nan, nan)
            if entry.tariff is not None:
                tariff = entry.tariff
                own = OwnPrice(tariff.first, tariff.each, tariff.beyond, own.locked, own.hidden, own.saved_on)
            found[place] = own
        return found

    @property
    def saved_on(self) -> str:
        """Day of the last price that was saved, or ''."""
        return max((row.own.saved_on for row in self.prices.rows if row.own), default="")


def list_sheet(words: Words) -> Sheet:
    """Return the tab of the list."""
    code = words.shop.currency
    columns = [Column("item", "Item", "plain"), Column("say", "", "plain")]
    for key, side in zip(COLUMNS, ("Single", "Two-tone"), strict=True):
        columns += [
            Column(f"{key}.first", f"{side}: first [{code}]", "text", num=True, width="48px"),
            Column(f"{key}.each", "each further", "text", num=True, width="44px"),
            Column(f"{key}.margin", "leaves", "plain", num=True),
            Column(f"{key}.asked", "advised", "plain", num=True),
        ]
    columns += [
        Column("extra", "extra", "plain", num=True),
        Column("state", "Row", "choice", options=LIST_STATES, width="92px"),
    ]
    note = (
        "What you print: the first of an order, and each further one. Type another price to try it, empty the cell to"
        " take the advised one. Leaves: the least margin for any number of the list's range. A row is added on page 1:"
        " New part."
    )
    return Sheet("list", "Price list", tuple(columns), note=note)


def list_rows(standing: ListStanding) -> list[Row]:
    """Collect the rows of the list, single-tone beside two-tone."""
    rows = []
    for key, item in standing.prices.items.items():
        pair = [standing.entries[key, column] for column in COLUMNS]
        cells: dict[str, Cell] = {}
        for entry in pair:
            cells |= _cells(standing, entry)
        one, two = (entry.tariff for entry in pair)
        more = two.over(one) if one and two else None
        cells["extra"] = Cell(f"{_short(more.first)} + {_short(more.each)}" if more else "")
        cells["state"] = Cell(pair[0].state, changed=any(entry.mine for entry in pair))
        say, mark = _say(standing, pair)
        cells["say"] = Cell(say, mark=f"pp-flag {'loss' if mark == 'bad' else 'thin' if mark == 'low' else 'soft'}")
        rows.append(Row(key, item.sold_title, cells, mark=mark))
    return rows


def _cells(standing: ListStanding, entry: ListEntry) -> dict[str, Cell]:
    column, tariff, asked = entry.row.column, entry.tariff, entry.asked
    if tariff is None or asked is None:
        return {
            f"{column}.first": Cell("do not quote", plain=True, mark="loss"),
            f"{column}.each": Cell("", plain=True),
            f"{column}.margin": Cell(""),
            f"{column}.asked": Cell(""),
        }
    margin = standing.margin(entry)
    grade = "loss" if margin < 0 else "thin" if standing.low(entry) else "gain"
    rise = "▲ " if asked.total(10) > tariff.total(10) else "▼ "
    advised = f"{_short(asked.first)} + {_short(asked.each)}"
    return {
        f"{column}.first": Cell(_short(tariff.first), changed=entry.mine),
        f"{column}.each": Cell(_short(tariff.each), changed=entry.mine),
        f"{column}.margin": Cell(f"{margin:.0%}", mark=grade),
        f"{column}.asked": Cell((rise if entry.moved else "") + advised, mark="" if entry.moved else "soft"),
    }


def _short(price: float) -> str:
    return sig(price, 4) if abs(price - round(price)) < 5e-3 else f"{price:.2f}"


def _say(standing: ListStanding, pair: list[ListEntry]) -> tuple[str, str]:
    policy = standing.prices.shop.policy
    priced = [entry for entry in pair if not entry.refused]
    losing = [n for entry in priced if (n := standing.under_from(entry, 0.0)) is not None]
    if losing:
        return f"LOSES MONEY from {min(losing)}", "bad"
    under = [n for entry in priced if (n := standing.under_from(entry, policy.target_margin)) is not None]
    if under:
        return f"under your margin from {min(under)}", "low"
    return ("ask the maker", "") if len(priced) < len(pair) else ("", "")


def edited(entry: ListEntry, what: str, amount: float | None) -> OwnPrice | None:
    """Return a row with its price 'first' or 'each' typed, as printed; None takes the advised one of both. [money]"""
    own = entry.own or OwnPrice(nan, nan, nan)
    if entry.tariff is None or amount is None:
        return OwnPrice(nan, nan, nan, own.locked, own.hidden) if own.locked or own.hidden else None
    first, each = (amount, entry.tariff.each) if what == "first" else (entry.tariff.first, amount)
    each = min(first, each) if what == "first" else each
    return OwnPrice(first, each, min(entry.tariff.beyond, each), own.locked, own.hidden)


def with_state(entry: ListEntry, state: str) -> OwnPrice:
    """Return a row locked, hidden, or neither."""
    own = entry.own or OwnPrice(nan, nan, nan)
    if state == "locked" and not own.priced and entry.tariff is not None:
        own = OwnPrice(entry.tariff.first, entry.tariff.each, entry.tariff.beyond)
    return replace(own, locked=state == "locked", hidden=state == "hidden")


def advised(standing: ListStanding) -> dict[PriceKey, OwnPrice]:
    """Collect the rows that taking all advised prices would change; locked ones stay."""
    found = {}
    for place, entry in standing.entries.items():
        if entry.asked is not None and entry.moved and entry.state != "locked":
            own = entry.own or OwnPrice(nan, nan, nan)
            tariff = entry.asked
            found[place] = replace(own, first=tariff.first, each=tariff.each, beyond=tariff.beyond)
    return found


def would_change(standing: ListStanding, changed: Mapping[PriceKey, OwnPrice]) -> Answer:
    """Tell what taking the advised prices would change, before it is done."""
    lines = []
    for place, own in changed.items():
        entry = standing.entries[place]
        was = f"{_short(entry.tariff.first)} + {_short(entry.tariff.each)}" if entry.tariff else "no price"
        side = SIDES[COLUMNS.index(entry.row.column)].lower()
        lines.append(f"{entry.title}, {side}: {was} becomes {_short(own.first)} + {_short(own.each)}")
    kept = sum(entry.state == "locked" and entry.moved for entry in standing.entries.values())
    stays = [f"{kept} locked prices stay as they are"] if kept else []
    return Answer(f"{len(changed)} prices would change", ["first of an order + each further", *lines, *stays])


def list_margin_rows(standing: ListStanding) -> dict[str, Rows]:
    """Collect the least margin of every row, for the chart."""
    words = Words(standing.prices.shop)
    dots: list[dict[str, Any]] = []
    target = standing.prices.shop.policy.target_margin
    for place, entry in enumerate(standing.entries.values()):
        if entry.tariff is None:
            continue
        side, margin = SIDES[COLUMNS.index(entry.row.column)], standing.margin(entry)
        price = f"{words.money(entry.tariff.first)}, each further {words.money(entry.tariff.each)}"
        told = f"{entry.title}, {side.lower()}: {price}, leaves at least {margin:.0%}"
        name = "" if any(dot["title"] == entry.title for dot in dots) else entry.title  # written once
        dots.append(
            {
                "title": entry.title,
                "name": name,
                "place": place,
                "side": side,
                "margin": max(-0.3, round(margin, 4)),
                "why": told,
            }
        )
    near = [{"margin": 0.0}] if any(dot["margin"] < 0.1 for dot in dots) else []  # the line of loss, where it is near
    return {"dots": dots, "want": [{"margin": target, "text": f"wanted {target:.0%}"}], "zero": near}


def list_tiles(standing: ListStanding) -> str:
    """Write the tiles of the page."""
    words, entries = Words(standing.prices.shop), [e for e in standing.entries.values() if e.tariff is not None]
    policy = standing.prices.shop.policy
    losing = sum(standing.under_from(entry, 0.0) is not None for entry in entries)
    under = sum(standing.low(entry) for entry in entries) - losing
    moved = sum(entry.moved for entry in entries)
    none = len(standing.entries) - len(entries)
    since = f"as saved on {standing.saved_on}" if standing.saved_on else "no list saved yet"
    tax = "prices with tax" if policy.prices_include_tax else "prices without tax"
    mean = _mean_margin(standing)
    least = printed_minimum(policy)
    return tiles(
        [
            tile(
                "Rows that lose money",
                f'<span class="{"loss" if losing else "gain"}">{losing}</span>',
                f"of {len(entries)}",
                style="stop" if losing else "",
            ),
            tile(
                "Under your margin",
                f'<span class="{"thin" if under else "gain"}">{under}</span>',
                f"of {len(entries)}; you want {policy.target_margin:.0%}",
            ),
            tile("Would be printed anew", str(moved), since),
            tile(f"Margin of an order of {standing.units}", tile_number(f"{mean:.1%}", "mean"), f"on average, {tax}"),
            tile("Not to be quoted", str(none), "rows without a price"),
            tile(
                "Smallest job",
                tile_number(words.money(least, cents=least % 1 > 0), "least"),
                f"rush {policy.rush_surcharge:.0%} more",
            ),
        ]
    )


def _mean_margin(standing: ListStanding) -> float:
    """Work out the margin of an order of the size that is added up, over all rows, each counted once."""
    margins = [standing.order_margin(entry) for entry in standing.entries.values() if entry.tariff is not None]
    margins = [margin for margin in margins if isfinite(margin)]
    return sum(margins) / len(margins) if margins else 0.0
