"""The price list: every item single-tone and two-tone, the first so much, each further so much.

Takes    a shop and its items; what each costs is worked out at once as arrays, in every number of units.
Gives    for each row the tariff that is printed: the owner's own where one was saved, else the one laid on the target
         prices; and what a colour of another class or a clear coat adds.
Why      a row holds for every colour of its class, so it is laid on the dearest of them.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from pricing.basis.errors import BadInput, Problem, not_known
from pricing.basis.identity import Same
from pricing.costing.lines import MONEY
from pricing.parts.items import Item
from pricing.prices.colours import BASE, classes
from pricing.prices.list_row import ListRow
from pricing.prices.marks import margin_of
from pricing.prices.price_rule import OrderLine, Price, Tariff, order_price
from pricing.prices.row_costs import CLEAR, base_colours, costs_of, fit_of, groups, why_refused, with_adder
from pricing.prices.tariff_fit import adders, counts_of, tariffs
from pricing.shop.own_prices import COLUMNS, OwnPrice, PriceKey, save_own_prices
from pricing.shop.shop import Book, Shop

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class PriceList:
    """The whole list.

    Parameters
    ----------
    shop : Shop
        Whose list it is.
    items : mapping of Item
        By key.
    rows : tuple of ListRow
        Two an item: single-tone, then two-tone.
    quantities : tuple of int
        Orders that tables show.
    book : mapping or None
        Other numbers than the shop's means, or None.
    """

    shop: Shop
    items: Mapping[str, Item]
    rows: tuple[ListRow, ...]
    quantities: tuple[int, ...]
    book: Book | None = None

    def row(self, item: str, column: str = "single") -> ListRow:
        """Return a row; an item or column that is not there is refused."""
        for row in self.rows:
            if (row.item.key, row.column) == (item, column):
                return row
        keys = list(self.items)
        bad = not_known("item", item, keys) if item not in keys else not_known("column", column, COLUMNS)
        raise BadInput("price list", [bad])

    def order(self, row: ListRow, count: int) -> Price | None:
        """Return the price of an order of so many of one row; None where none may be given."""
        if row.tariff is None:
            return None
        return order_price([OrderLine(row.tariff, count)], self.shop.policy, self.shop.currency)

    @cached_property
    def adders(self) -> Mapping[str, Mapping[str, Tariff]]:
        """What a clear coat and each colour of another class adds, by item, in either column."""
        found: dict[str, dict[str, Tariff]] = {key: {} for key in self.items}
        for name in (CLEAR, *(name for name in classes(self.shop) if name != BASE)):
            for key, adder in _adders(self.shop, self.items, name, self.book).items():
                found[key][name] = adder
        return found

    def frame(self) -> "pd.DataFrame":
        """Return every row and quantity as a DataFrame, each figure with its unit in the name."""
        import pandas as pd

        code, rows = self.shop.currency, []
        for row in self.rows:
            for count in self.quantities:
                at = int(np.flatnonzero(row.counts == count)[0])
                price, tariff, total = self.order(row, count), row.tariff, float(row.total[at])
                told: dict[str, object] = {
                    "item": row.item.key,
                    "title": row.item.title,
                    "sold_by": row.item.sold_by,
                    "column": row.column,
                    "finish": row.finish,
                    "quantity": count,
                    f"first_{code}": tariff.first if tariff else np.nan,
                    f"each_further_{code}": tariff.each if tariff else np.nan,
                    f"each_beyond_{self.shop.policy.list_up_to}_{code}": tariff.beyond if tariff else np.nan,
                    f"total_{code}": float(price.printed) if price else np.nan,
                    "margin_share": float(margin_of(price.net, total)) if price else np.nan,
                    "at_minimum": bool(price.at_minimum) if price else False,
                }
                told |= {f"{kind}_{code}": float(row.costs[kind][at]) for kind in MONEY}
                told |= {
                    f"cost_{code}": total,
                    "owner_h": float(row.owner_h[at]),
                    "own_price": bool(row.own and row.own.priced),
                    "hidden": row.hidden,
                    "refused": row.refused,
                }
                rows.append(told)
        return pd.DataFrame(rows)

    def __repr__(self) -> str:
        """Say what it is in a few lines."""
        code, shown = self.shop.currency, self.rows[:8]
        lines = [
            f"  {row.item.title}, {row.column.replace('_', '-')}: "
            + (f"{row.tariff.first:g}, each further {row.tariff.each:g}" if row.tariff else "do not quote")
            for row in shown
        ]
        more = [f"  … {len(self.rows) - len(shown)} more rows"] if len(self.rows) > len(shown) else []
        return "\n".join([f"<PriceList of {self.shop.front.name}, in {code}: {len(self.items)} items>", *lines, *more])

    def _repr_html_(self) -> str:
        """Show itself in a notebook."""
        from html import escape

        def cell(row: ListRow) -> str:
            if row.tariff is None:
                return "<td colspan=2>do not quote</td>"
            amounts = (row.tariff.first, row.tariff.each)
            return "".join(f"<td style='text-align:right'>{amount:g}</td>" for amount in amounts)

        body = "".join(
            f"<tr><th style='text-align:left'>{escape(one.item.title)}</th>{cell(one)}{cell(two)}</tr>"
            for one, two in zip(self.rows[::2], self.rows[1::2], strict=True)
        )
        head = "<tr><th></th><th colspan=2>single-tone</th><th colspan=2>two-tone</th></tr><tr><th></th>"
        head += "<th>first</th><th>each further</th>" * 2 + "</tr>"
        caption = f"<caption>{escape(self.shop.front.name)}, in {self.shop.currency}</caption>"
        return f"<table>{caption}<thead>{head}</thead><tbody>{body}</tbody></table>"


def price_list(
    shop: Shop, items: Mapping[str, Item], *, quantities: Sequence[int] = (1,), book: Book | None = None
) -> PriceList:
    """Cost and price every item in both columns.

    Parameters
    ----------
    shop : Shop
        The owner's shop.
    items : mapping of Item
        By key.
    quantities : sequence of int
        Units ordered together that tables show, each 1 or more.
    book : mapping, optional
        Other numbers than the shop's means.

    Raises
    ------
    BadInput
        There is no item, a quantity is below 1, or the shop has no powder for a finish.
    """
    bad = [Problem("quantity", q, "a whole number, 1 or more") for q in quantities if int(q) != q or q < 1]
    if not items or not quantities:
        bad.append(Problem("items", "none", "one item and one quantity at least"))
    if bad:
        raise BadInput("price list", bad)
    wanted = tuple(int(q) for q in quantities)
    halves = {column: _rows(shop, tuple(items.values()), column, wanted, book) for column in COLUMNS}
    rows = tuple(halves[column][at] for at in range(len(items)) for column in COLUMNS)
    return PriceList(shop, items, rows, wanted, book)


def list_row(shop: Shop, item: Item, column: str = "single", *, book: Book | None = None) -> ListRow:
    """Return one row of the list: an item in its ``single`` or ``two_tone`` finish."""
    if book is None:
        return _kept_row(Same(shop), Same(item), column)
    return _rows(shop, (item,), column, (), book)[0]


@lru_cache(maxsize=4096)
def _kept_row(shop: Same[Shop], item: Same[Item], column: str) -> ListRow:
    return _rows(shop.thing, (item.thing,), column, (), None)[0]


def list_price(shop: Shop, item: Item, units: int = 1, *, column: str = "single") -> Price:
    """Return what an order of so many units of one row costs by the list; what may not be priced is refused."""
    row = list_row(shop, item, column)
    if row.tariff is None:
        raise BadInput(item.title, [Problem("the price", "none", "an item that may be quoted", row.refused)])
    return order_price([OrderLine(row.tariff, units)], shop.policy, shop.currency)


def adder_of(shop: Shop, item: Item, name: str, *, book: Book | None = None) -> Tariff | None:
    """Return what a colour of another class, or a clear coat, adds to an item; None where it may not be quoted."""
    if book is None:
        return _kept_adder(Same(shop), Same(item), name)
    return _adders(shop, {item.key: item}, name, book).get(item.key)


@lru_cache(maxsize=4096)
def _kept_adder(shop: Same[Shop], item: Same[Item], name: str) -> Tariff | None:
    return _adders(shop.thing, {item.thing.key: item.thing}, name, None).get(item.thing.key)


def _rows(
    shop: Shop, items: tuple[Item, ...], column: str, quantities: tuple[int, ...], book: Book | None
) -> list[ListRow]:
    counts = tuple(sorted({*counts_of(shop.policy), *quantities}))
    rows, numbers = dict[int, ListRow](), np.asarray(counts, dtype=np.float64)
    for key, places in groups(shop, items, column).items():
        members = tuple(items[at] for at in places)
        colours = base_colours(shop, key)
        found, refused = costs_of(shop, members, key, colours, counts, book), why_refused(shop, members, key, colours)
        laid = tariffs(fit_of(shop, found, counts), shop.policy)
        for at, place in enumerate(places):
            item, why = members[at], refused[at]
            costs = {kind: found.kinds[kind][at] for kind in MONEY}
            own = shop.own_price(item.key, column)
            rows[place] = ListRow(
                item, column, key, None if why else laid[at], own, costs, found.owner_h[at], numbers, why
            )
    return [rows[at] for at in range(len(items))]


def _adders(shop: Shop, items: Mapping[str, Item], name: str, book: Book | None) -> dict[str, Tariff]:
    """The larger of what it adds in the two columns, so that it can be added up by hand; none where one is refused."""
    halves = [_adders_in(shop, items, column, name, book) for column in COLUMNS]
    found: dict[str, Tariff] = {}
    for key in items:
        told = [half[key] for half in halves if key in half]
        there = [adder for adder in told if adder is not None]
        if there and len(there) == len(told):
            found[key] = there[0] if len(there) == 1 else there[0].most(there[1])
    return found


def _adders_in(
    shop: Shop, items: Mapping[str, Item], column: str, name: str, book: Book | None
) -> dict[str, Tariff | None]:
    counts = counts_of(shop.policy)
    found: dict[str, Tariff | None] = {}
    for key, places in groups(shop, list(items.values()), column).items():
        members = tuple(list(items.values())[at] for at in places)
        base = fit_of(shop, costs_of(shop, members, key, base_colours(shop, key), counts, book), counts)
        other, colours = with_adder(shop, key, name)
        if not colours:
            continue
        more = fit_of(shop, costs_of(shop, members, other, colours, counts, book), counts)
        refused = why_refused(shop, members, other, colours)
        for item, adder, why in zip(members, adders(base, more, shop.policy), refused, strict=True):
            found[item.key] = None if why else adder
    return found


class Fallen(NamedTuple):
    """A row that would fall when numbers change: what it asks now and would ask. [money, as printed]"""

    place: PriceKey
    title: str
    was: Tariff
    now: Tariff

    @property
    def by(self) -> float:
        """Share by which the first, or each further, falls: the larger of the two."""
        return max(1 - self.now.first / self.was.first, 1 - self.now.each / self.was.each)


def fallen(before: Shop, after: Shop, items: Mapping[str, Item]) -> tuple[Fallen, ...]:
    """Collect the rows whose worked-out price falls from one shop to the other; prices of the owner's own never do."""
    found = []
    for one, other in zip(price_list(before, items).rows, price_list(after, items).rows, strict=True):
        was, now = one.tariff, other.tariff
        own = one.own is not None and one.own.priced
        if own or was is None or now is None or (now.first >= was.first and now.each >= was.each):
            continue
        found.append(Fallen((one.item.key, one.column), f"{one.item.title}, {one.column.replace('_', '-')}", was, now))
    return tuple(found)


def hold(shop: Shop, rows: Sequence[Fallen]) -> None:
    """Let rows keep today's prices as the owner's own until the owner decides; what a job costs less is margin."""
    if not rows or shop.folder is None:
        return
    prices = dict(shop.own_prices)
    for row in rows:
        own = prices.get(row.place)
        flags = (own.locked, own.hidden) if own else (False, False)
        prices[row.place] = OwnPrice(row.was.first, row.was.each, row.was.beyond, *flags)
    save_own_prices(shop.folder, prices, shop.tongue)
