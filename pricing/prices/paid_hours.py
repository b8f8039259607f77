"""Hours that are paid for: another number of helpers, and what practical hours cost that nobody uses."""

from dataclasses import replace
from typing import NamedTuple

from pricing.basis.errors import BadInput, Problem
from pricing.costing.capacity import Week
from pricing.shop.shop import Shop


def with_helpers(shop: Shop, count: int) -> Shop:
    """Return the shop with no helper, or with several of the kind it has; hour rates move with them.

    Parameters
    ----------
    shop : Shop
        The owner's shop.
    count : int
        0 for none.

    Raises
    ------
    BadInput
        The shop has no helper to take as a pattern, or the count is not from 0 to 9.
    """
    if not 0 <= count <= 9 or (count and shop.helper is None):
        accepts = "a whole number from 0 to 9" if shop.helper else "0: shop.toml has no table [helper]"
        raise BadInput("helpers", [Problem("helpers", count, accepts)])
    if not count or shop.helper is None:
        return replace(shop, helper=None)
    return replace(shop, helper=shop.helper.model_copy(update={"heads": count}))


class Unused(NamedTuple):
    """Hours of a resource that are paid for in a week and that nobody books."""

    name: str
    hours: float
    money: float


def unused_hours(shop: Shop, week: Week) -> tuple[Unused, ...]:
    """Collect practical hours less used ones, with what they cost, by resource. [h/week, money/week].

    Parameters
    ----------
    shop : Shop
        For its hour rates: owner, helper's wage, machines.
    week : Week
        The best week, from `plan_of`.
    """
    rates = shop.hour_rates
    left = ((row.name, max(0.0, row.hours - row.used)) for row in week.resources)
    return tuple(Unused(name, hours, hours * rates[name]) for name, hours in left)
