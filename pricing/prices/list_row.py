"""One row of the price list: an item in one column, what it costs in each number of units and what is asked for it."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from pricing.basis.arrays import Array
from pricing.basis.errors import BadInput, Problem
from pricing.costing.lines import MONEY
from pricing.parts.items import Item
from pricing.prices.marks import margin_of
from pricing.prices.price_rule import Tariff
from pricing.shop.own_prices import OwnPrice


@dataclass(frozen=True)
class ListRow:
    """One item in one column of the list.

    Parameters
    ----------
    item : Item
        What is sold.
    column, finish : str
        ``single`` or ``two_tone``, and the finish that stands for it.
    asked : Tariff or None
        What leaves the wanted margin today; None where no price may be given.
    own : OwnPrice or None
        What the owner has set.
    costs : dict of (m,) arrays
        Full cost by kind of money, for each number of units in ``counts``, in the dearest colours that the row
        holds for. [money]
    owner_h : (m,) array
        Hours of the owner. [h]
    counts : (m,) array
        Numbers of units.
    refused : str
        Why no price may be given, or ''.
    """

    item: Item
    column: str
    finish: str
    asked: Tariff | None
    own: OwnPrice | None
    costs: Mapping[str, Array]
    owner_h: Array
    counts: Array
    refused: str

    @property
    def tariff(self) -> Tariff | None:
        """What is printed and charged: the owner's own price, else what is asked."""
        if self.asked is None or self.own is None or not self.own.priced:
            return self.asked
        return Tariff(self.own.first, self.own.each, self.own.beyond, self.asked.up_to)

    @property
    def hidden(self) -> bool:
        """Whether the owner leaves it out of the printed list."""
        return self.own is not None and self.own.hidden

    @property
    def locked(self) -> bool:
        """Whether the owner keeps its price when advised ones are taken."""
        return self.own is not None and self.own.locked

    @cached_property
    def total(self) -> Array:
        """Full cost of so many units. [money]"""
        return sum((self.costs[kind] for kind in MONEY), np.zeros(len(self.counts)))

    def cost(self, count: int) -> float:
        """Work out the full cost of so many units; numbers that the list was not made for are refused. [money]"""
        at = np.flatnonzero(self.counts == count)
        if not at.size:
            raise BadInput("price list", [Problem("quantity", count, "one that the list was made for")])
        return float(self.total[at[0]])

    def margins(self, policy_tax: float, tariff: Tariff | None = None) -> Array:
        """Work out the share of the price that is left, for each number of units, before any minimum charge.

        ``policy_tax`` is the price as printed over that without tax; ``tariff`` another than the one printed.
        """
        tariff = tariff or self.tariff
        if tariff is None:
            return np.full(len(self.counts), np.nan)
        return np.asarray(margin_of(np.asarray(tariff.total(self.counts)) / policy_tax, self.total))

    def under_from(self, margin_share: float, policy_tax: float) -> int | None:
        """Work out from how many units the printed price leaves less than a margin; None if from none."""
        if self.tariff is None:
            return None
        under = np.flatnonzero(self.margins(policy_tax) < margin_share - 1e-9)
        return int(self.counts[under[0]]) if under.size else None
