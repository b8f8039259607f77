"""What a bank asks of a shop: cash tied up, payback of the machines, and what happens when less work comes.

Takes    the orders of a usual week with their prices, as `pricing.prices.week.offers` gives them.
Gives    one record of figures, of the best that the shop's hours allow; papers only read it.
"""

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np

from pricing.basis.errors import BadInput, Problem
from pricing.basis.money import payback_y
from pricing.costing.capacity import plan_week
from pricing.prices.marks import deposit
from pricing.prices.questions import fixed_per_month
from pricing.prices.week import Offer, week_hours, work_of
from pricing.shop.shop import Shop

MONTHS = 12
FEWER = 0.20
"""How much less work a bank asks about."""


class Bank(NamedTuple):
    """Figures of a shop as a bank asks for them.

    Parameters
    ----------
    machines : float
        What the machines cost to buy, all of them. [money]
    machines_end : float
        What they are worth at the end of their lives. [money]
    shelf : float
        A full pack of each colour that is kept in stock. [money]
    under_way : float
        Cash spent on one week of the work that is taken on, less the deposits for it; 0 where these cover it. [money]
    left : float
        What a month leaves after all bills, the owner's draw and the machines' wear. [money/month]
    left_less : float
        The same when so much less work is wanted. [money/month]
    fewer : float
        How much less: a share of the orders.
    load, load_less : float
        Hours that the wanted work takes of the scarcest hours there are; above 1 they do not suffice.
    bound : float
        Wear and interest of the machines. [money/month]
    even : float
        Share of today's wanted work that may fall away before nothing is left; below 0 so much more is needed, -inf
        where four times as much does not pay either.
    """

    machines: float
    machines_end: float
    shelf: float
    under_way: float
    left: float
    left_less: float
    fewer: float
    load: float
    load_less: float
    bound: float
    even: float

    @property
    def tied_up(self) -> float:
        """Cash that lies in stock and in work under way, besides the machines. [money]"""
        return self.shelf + self.under_way

    @property
    def cover(self) -> float:
        """What a month leaves before the machines' wear and interest, over these; inf where there are none."""
        return (self.left + self.bound) / self.bound if self.bound > 0 else np.inf

    def payback_y(self, left: float) -> float:
        """Years until the machines have brought back what they cost, at what a month leaves; inf where they never do.

        Parameters
        ----------
        left : float
            One of `left` and `left_less`.
        """
        return payback_y(self.machines, MONTHS * (left + self.bound))


def bank_view(shop: Shop, offers: Sequence[Offer]) -> Bank:
    """Work out what a bank asks.

    Parameters
    ----------
    shop : Shop
        Whose.
    offers : sequence of Offer
        The usual week, one order each with its price and cost sheet.

    Raises
    ------
    BadInput
        Nothing is wanted.

    Notes
    -----
    A month has a twelfth of the weeks the owner works. Payback is simple, without interest: price of all machines over
    what a year leaves before their wear and interest are taken off. ``common_practice``.
    """
    if not any(offer.wanted.orders > 0 for offer in offers):
        raise BadInput("bank", [Problem("the week", "no orders", "at least one", "Write them into week.csv.")])
    hours, weeks = week_hours(shop), shop.owner.weeks / MONTHS
    works, fixed, machines = [work_of(offer, hours) for offer in offers], fixed_per_month(shop), shop.machines.all()

    def week(share: float) -> tuple[float, float, np.ndarray]:
        found = plan_week([work._replace(wanted=work.wanted * share) for work in works], hours)
        return found.earned * weeks - fixed, found.runs_out_first()[1], found.taken

    (left, load, taken), (less, load_less, _) = week(1.0), week(1.0 - FEWER)
    spent = sum(
        share * (float(offer.sheet.cash) - float(deposit(offer.price, offer.sheet)))
        for share, offer in zip(taken, offers, strict=True)
    )
    return Bank(
        machines=sum(one.price for one in machines),
        machines_end=sum(one.salvage for one in machines),
        shelf=sum(one.price_per_kg * one.pack_kg for one in shop.powders.values() if one.stocked),
        under_way=max(0.0, spent),
        left=left,
        left_less=less,
        fewer=FEWER,
        load=load,
        load_less=load_less,
        bound=sum(one.yearly_cost(shop.policy.interest) - one.upkeep_per_y for one in machines) / MONTHS,
        even=1.0 - _even(lambda share: week(share)[0], sum(w.wanted * w.earns for w in works) * weeks, fixed, load),
    )


def _even(left: Callable[[float], float], whole: float, fixed: float, load: float) -> float:
    """Share of the wanted work at which nothing is left; inf where no amount of it pays.

    What the best week leaves never falls when more is wanted; as long as there are hours for all, it is a straight line
    through what all of the work would bring, ``whole``.
    """
    if whole > 0 and fixed / whole * load <= 1:
        return fixed / whole
    low, high = (0.0, 1.0) if left(1.0) >= 0 else (1.0, _MOST_WORK)
    if left(high) < 0:
        return np.inf
    while high - low > _NEAR:
        middle = (low + high) / 2
        low, high = (low, middle) if left(middle) >= 0 else (middle, high)
    return high


_MOST_WORK = 4.0  # so many times today's orders are looked at
_NEAR = 1e-3
