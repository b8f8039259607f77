"""One figure to carry in the head: an hour that can be seen, and powder on top, as near to the list as it comes.

Takes    the items and their prices by the list.
Gives    the rate per visible hour that gives the list best, and by how much it misses each row.
Seen     are the steps that ``data/steps.csv`` marks so: washing, spraying, wiping or taping. All that nobody sees
         (oven, set-up, handling, rework, bills, margin) is in the rate; the least squares are of relative misses.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from pricing.costing.sheet import CostSheet
from pricing.parts.items import Item
from pricing.parts.job import job_of_item
from pricing.prices.quote import quote
from pricing.shop.folder import known_steps
from pricing.shop.own_prices import COLUMNS
from pricing.shop.shop import Shop

_UNITS = (1, 10)
"""Orders that the rate is laid on: one of a kind, and ten."""


class Told(NamedTuple):
    """An order by the list and by the rate: hours seen, powder, both prices. [h, money]"""

    title: str
    column: str
    units: int
    seen_h: float
    powder: float
    listed: float
    by_rate: float

    @property
    def miss(self) -> float:
        """Share by which the rate asks more than the list."""
        return self.by_rate / self.listed - 1


@dataclass(frozen=True, slots=True)
class VisibleRate:
    """The rate, and what it gives for each order.

    Parameters
    ----------
    per_h : float
        An hour of the steps that can be seen. [money/h]
    rows : tuple of Told
        Every item in both columns, one of a kind and ten.
    """

    per_h: float
    rows: tuple[Told, ...]

    @property
    def usual_miss(self) -> float:
        """Half of the orders are missed by no more."""
        return float(np.median(np.abs([row.miss for row in self.rows])))

    @property
    def worst(self) -> tuple[Told, Told]:
        """The orders for which it asks most too little and most too much."""
        ordered = sorted(self.rows, key=lambda row: row.miss)
        return ordered[0], ordered[-1]


def visible_rate(shop: Shop, items: Mapping[str, Item]) -> VisibleRate | None:
    """Find the rate; None where no item may be quoted."""
    found = []
    for item in items.values():
        for column in COLUMNS:
            for units in _UNITS:
                asked = quote(shop, job_of_item(item, units=units, column=column))
                if asked.price is not None and not asked.price.at_minimum:  # the smallest job has a price of its own
                    hours, powder = seen_of(asked.sheet)
                    found.append(Told(item.title, column, units, hours, powder, asked.net, 0.0))
    if not any(row.seen_h for row in found):
        return None
    seen = np.array([row.seen_h / row.listed for row in found])
    rest = np.array([1 - row.powder / row.listed for row in found])
    per_h = float(seen @ rest / (seen @ seen))
    return VisibleRate(per_h, tuple(row._replace(by_rate=per_h * row.seen_h + row.powder) for row in found))


def seen_of(sheet: CostSheet) -> tuple[float, float]:
    """Work out the hours of a job that can be seen, without rework, and its powder. [h, money]"""
    steps = known_steps()
    lines = [line for line in sheet.lines if line.step in steps]
    hours = sum(float(line.minutes) for line in lines if steps[line.step].seen) / 60.0
    powder = sum(float(m.kg * m.price_per_kg) for line in lines for m in line.materials if m.name in sheet.shop.powders)
    return hours, powder
