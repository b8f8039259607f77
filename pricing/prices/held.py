"""Rows of the list that would fall when numbers change, and how they keep their prices until the owner decides.

Takes    the shop as it stands and as it would be.
Gives    the rows whose worked-out price falls; kept, each becomes a price of the owner's own, which list, quote and
         papers use. What a job costs less is then margin, and the list page shows what the model would ask.
"""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from pricing.parts.items import Item
from pricing.prices.price_list import price_list
from pricing.prices.price_rule import Tariff
from pricing.shop.own_prices import OwnPrice, PriceKey, save_own_prices
from pricing.shop.shop import Shop


class Fallen(NamedTuple):
    """A row, and what it asks now and would ask. [money, as printed]"""

    place: PriceKey
    title: str
    was: Tariff
    now: Tariff

    @property
    def by(self) -> float:
        """Share by which the first, or each further, falls: the larger of the two."""
        return max(1 - self.now.first / self.was.first, 1 - self.now.each / self.was.each)


def fallen(before: Shop, after: Shop, items: Mapping[str, Item]) -> tuple[Fallen, ...]:
    """Collect the rows that would fall; prices of the owner's own never do.

    Parameters
    ----------
    before, after : Shop
        As it stands, and as it would be.
    items : mapping of Item
        Its price list.
    """
    found = []
    for one, other in zip(price_list(before, items).rows, price_list(after, items).rows, strict=True):
        was, now = one.tariff, other.tariff
        own = one.own is not None and one.own.priced
        if own or was is None or now is None or (now.first >= was.first and now.each >= was.each):
            continue
        found.append(Fallen((one.item.key, one.column), f"{one.item.title}, {one.column.replace('_', '-')}", was, now))
    return tuple(found)


def hold(shop: Shop, rows: Sequence[Fallen]) -> None:
    """Write the prices of today as the owner's own.

    Parameters
    ----------
    shop : Shop
        Read from a folder, as it stood.
    rows : sequence of Fallen
        Rows that keep their price.

    Raises
    ------
    BadInput
        The folder cannot be read or written.
    """
    if not rows or shop.folder is None:
        return
    prices = dict(shop.own_prices)
    for row in rows:
        own = prices.get(row.place)
        flags = (own.locked, own.hidden) if own else (False, False)
        prices[row.place] = OwnPrice(row.was.first, row.was.each, row.was.beyond, *flags)
    save_own_prices(shop.folder, prices, shop.tongue)
