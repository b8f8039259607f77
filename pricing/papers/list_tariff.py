"""What a row of the price list costs: the first, and each further one, as they are printed.

Room     papers. Imports parts, prices, shop.
"""

from typing import NamedTuple

import numpy as np

from pricing.parts.items import Item
from pricing.prices.margins import price_at_margin
from pricing.prices.marks import round_up
from pricing.prices.price_list import FINISHES, price_list
from pricing.shop.shop import Shop

_MOST = 20


class Tariff(NamedTuple):
    """Printed price of the first, and of each further one. [money]"""

    first: float
    each: float


def tariffs_of(shop: Shop, item: Item) -> dict[str, Tariff]:
    """Give the tariff of an item in each column of the list: the line that lies on or closest above the wanted prices.

    Parameters
    ----------
    shop : Shop
        Whose list it is.
    item : Item
        Row of it.
    """
    further = np.arange(_MOST, dtype=np.float64)
    policy = shop.policy
    listed = price_list(shop, {item.key: item}, quantities=range(1, _MOST + 1))
    taxed = 1.0 + policy.sales_tax if policy.prices_include_tax else 1.0
    asked = np.asarray(price_at_margin(listed.cost * listed.quantity, policy.target_margin)) * taxed
    found = {}
    for column, wanted in zip(FINISHES, asked.reshape(len(FINISHES), _MOST), strict=True):
        slopes = [(wanted[b] - wanted[a]) / (b - a) for a in range(_MOST) for b in range(a + 1, _MOST)]
        lines = [(float(max(wanted - each * further)), float(each)) for each in slopes]
        first, each = min(lines, key=lambda line: float(((line[0] + line[1] * further) / wanted).mean()))
        found[column] = Tariff(float(round_up(first, policy)), float(round_up(each, policy)))
    return found
