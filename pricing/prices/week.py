"""The shop's own week: which orders are wanted, which hours there are, what is worth taking on.

Gives    the best mix and the worth of each hour, from the shop's prices and cost sheets; and the month
         that the wanted mix would make.
"""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

from pricing.basis.errors import BadInput, Problem, nearest
from pricing.costing.capacity import WantedWork, Week, plan_week
from pricing.costing.sheet import CostSheet
from pricing.parts.items import Item
from pricing.parts.job import job_of_item
from pricing.prices.cost_volume_profit import Month, Sold, month
from pricing.prices.questions import fixed_per_month
from pricing.prices.quote import Quote, quote
from pricing.shop.shop import Shop
from pricing.shop.usual_week import read_orders

WEEKS_PER_MONTH = 52 / 12


class Wanted(NamedTuple):
    """One line of the week: so many orders of so many units of an item in a finish."""

    item: Item
    column: str
    orders: float
    units: int

    @property
    def name(self) -> str:
        """Name it for tables: item, finish, units."""
        finish = "two-tone" if self.column == "two_tone" else "single-tone"
        return f"{self.item.title}, {finish}" + (f" × {self.units}" if self.units > 1 else "")


class Offer(NamedTuple):
    """One line of the week with the quote of one order."""

    wanted: Wanted
    quote: Quote

    @property
    def price(self) -> float:
        """Price of one order, without tax. [money]"""
        return self.quote.net

    @property
    def sheet(self) -> CostSheet:
        """Cost sheet of one order."""
        return self.quote.sheet


def read_week(shop: Shop, items: Mapping[str, Item], path: Path | None = None) -> tuple[Wanted, ...]:
    """Read ``week.csv`` of the shop's folder, or another such file.

    Raises
    ------
    BadInput
        With every bad row of the file.
    """
    orders = (read_orders(path, shop.tongue, items) if path else shop.week).orders
    if not orders:
        mend = "Write them into week.csv: item, column, orders_per_week, units_per_order; or page 1, All settings."
        raise BadInput(str(path or "week.csv"), [Problem("the week", "no orders", "at least one", mend)])
    gone = [one.item for one in orders if one.item not in items]
    if gone:
        raise BadInput("week.csv", [Problem("item", key, "an item of items.csv", nearest(key, items)) for key in gone])
    return tuple(Wanted(items[one.item], one.column, one.orders_per_week, one.units_per_order) for one in orders)


def week_hours(shop: Shop) -> dict[str, float]:
    """Collect the hours a working week has for jobs, by resource. [h/week].

    People count with their billable share, machines with their practical hours over the owner's weeks.
    """
    hours = {"owner": shop.owner.billable_hours / shop.owner.weeks}
    if shop.helper:
        hours["helper"] = shop.helper.billable_hours / shop.helper.weeks
    return hours | {machine.name: machine.practical_hours_h / shop.owner.weeks for machine in shop.machines.all()}


def offers(shop: Shop, wanted: Sequence[Wanted]) -> tuple[Offer, ...]:
    """Cost and price each line of the week, one order each; what may not be quoted is left out."""
    found = (Offer(line, quote(shop, job_of_item(line.item, units=line.units, column=line.column))) for line in wanted)
    return tuple(offer for offer in found if offer.quote.price is not None)


def work_of(offer: Offer, hours: Mapping[str, float]) -> WantedWork:
    """Return one line of the week as the capacity plan needs it: price less cash, and hours by resource.

    ``hours`` name the resources, as in `week_hours`.
    """
    return work_of_sheet(offer.wanted.name, offer.price, offer.sheet, hours)._replace(wanted=offer.wanted.orders)


def work_of_sheet(name: str, net: float, sheet: CostSheet, hours: Mapping[str, float]) -> WantedWork:
    """Return one job at a price without tax as the capacity plan needs it; ``hours`` name the resources.

    Wages are no cash of the job: the helper's hours are paid whether or not it comes.
    """
    either = float(sheet.either_h)
    needs = {name: float(sheet.hours_of(name)) for name in hours}
    needs |= {"owner": float(sheet.minutes) / 60.0 - either} | ({"helper": 0.0} if "helper" in hours else {})
    return WantedWork(name, 1.0, net - float(sheet.cash - sheet.wages), needs, either)


def plan_of(shop: Shop, wanted: Sequence[Wanted], *, hours: Mapping[str, float] | None = None) -> Week:
    """Plan the shop's week, in the hours of `week_hours` or in others; hours that are off are refused. [h/week]"""
    there = dict(hours) if hours is not None else week_hours(shop)
    return plan_week([work_of(offer, there) for offer in offers(shop, wanted)], there)


def month_of(shop: Shop, wanted: Sequence[Wanted]) -> Month:
    """Hold the month that the wanted mix makes against what a month costs; a week without orders is refused.

    Whether the hours suffice is the business of `plan_of`.
    """
    sold = []
    for offer in offers(shop, wanted):
        line, spent = offer.wanted, float(offer.sheet.cash - offer.sheet.wages)
        sold.append(Sold(line.name, offer.price, spent, line.orders * WEEKS_PER_MONTH))
    return month(sold, fixed_per_month(shop))
