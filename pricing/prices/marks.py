"""From cost to price: the four marks of a price, the price that is printed, the deposit.

Room     prices. Imports basis, costing, shop.
"""

from dataclasses import dataclass

import numpy as np

from pricing.basis.checks import Floats
from pricing.costing.sheet import LEFTOVER, REDO, RESPRAY, WARRANTY, CostSheet
from pricing.prices.margins import margin_of, price_at_margin
from pricing.shop.policy import Policy


@dataclass(frozen=True, slots=True)
class Marks:
    """Four marks of a price, from the lowest that makes sense upwards. [money]

    Parameters
    ----------
    cash_floor : float or array
        Below it the job takes money out of the till.
    break_even : float or array
        Full cost: owner paid, machines and bills covered, nothing over.
    target : float or array
        Leaves the shop's margin.
    scarce : float or array
        Cash plus what the scarce hours would bring elsewhere.
    """

    cash_floor: Floats
    break_even: Floats
    target: Floats
    scarce: Floats


def marks_of(sheet: CostSheet, *, margin_share: float | None = None) -> Marks:
    """Give the four marks of a job's price.

    Parameters
    ----------
    sheet : CostSheet
        Of the job.
    margin_share : float, optional
        Another margin than the shop's.

    Raises
    ------
    BadInput
        The margin is not from 0 to below 1.
    """
    policy = sheet.shop.policy
    margin = policy.target_margin if margin_share is None else margin_share
    total = sheet.total
    scarce_h = sheet.hours_of(policy.scarce.resource)
    return Marks(
        sheet.cash, total, price_at_margin(total, margin), sheet.cash + scarce_h * policy.scarce.worth_per_h
    )  # fmt: skip


def round_up(price: Floats, policy: Policy) -> Floats:
    """Round up to the shop's price points.

    Parameters
    ----------
    price : float or array
        [money]
    policy : Policy
        Its price points: up to which price which step; above the last the last step holds.
    """
    *below, last = policy.price_points
    step: Floats = last.step
    for point in reversed(below):
        step = np.where(np.less_equal(price - 1e-9, point.up_to), point.step, step)
    rounded = np.ceil(price / step - 1e-9) * step
    return float(rounded) if np.ndim(rounded) == 0 else rounded


@dataclass(frozen=True, slots=True)
class Price:
    """A price as it is printed, and what is left of it. [money]

    ``net`` is without sales tax whatever the shop prints; ``printed`` follows the shop's habit.
    """

    net: Floats
    printed: Floats
    tax: Floats
    margin_share: Floats
    at_minimum: Floats


def list_price(cost: Floats, policy: Policy, *, rush: bool = False, target: Floats | None = None) -> Price:
    """Give the price to print for one job: target rounded up, never under the minimum charge.

    Parameters
    ----------
    cost : float or array
        Full cost of the job. [money]
    policy : Policy
        Margin, minimum, price points, surcharges, tax.
    rush : bool
        Whether the rush surcharge is put on.
    target : float or array, optional
        Another wanted price than that of the shop's margin. [money]

    Returns
    -------
    Price
        Rounded as it is printed: with tax where the shop prints prices with tax.
    """
    wanted = price_at_margin(cost, policy.target_margin) if target is None else target
    if rush:
        wanted = wanted * (1.0 + policy.rush_surcharge)
    taxed = 1.0 + policy.sales_tax
    floor = np.maximum(wanted, policy.minimum_charge)
    printed = round_up(floor * taxed if policy.prices_include_tax else floor, policy)
    net = printed / taxed if policy.prices_include_tax else printed
    at_minimum = np.asarray(wanted) < policy.minimum_charge
    flag: Floats = float(at_minimum) if at_minimum.ndim == 0 else at_minimum.astype(np.float64)
    return Price(net, printed, net * policy.sales_tax, margin_of(net, cost), flag)


def deposit(price: float, sheet: CostSheet) -> float:
    """Give the deposit: the policy's share, and never less than what a walk-away would leave unpaid.

    Parameters
    ----------
    price : float
        Price as quoted. [money]
    sheet : CostSheet
        Of the job: powder that was bought for it and the work before the first coat are lost
        when the customer does not come back.
    """
    lost = walk_away(sheet)
    return min(price, max(price * sheet.shop.policy.deposit, lost))


def walk_away(sheet: CostSheet) -> float:
    """Cost already spent when a customer vanishes before the first coat. [money]"""
    special = {name for name, powder in sheet.shop.powders.items() if not powder.stocked}
    spent = 0.0
    for line in sheet.lines:
        if line.step == LEFTOVER or (line.coat == 0 and line.step not in {REDO, RESPRAY, WARRANTY, *_LATE}):
            spent += float(line.total)
        elif line.coat:
            spent += sum(float(m.kg * m.price_per_kg) for m in line.materials if m.name in special)
    return spent


_LATE = ("cool", "inspect", "unmask", "reassemble", "pack", "hand_over")


def worth_per_hour(price: Floats, sheet: CostSheet, resource: str) -> Floats:
    """Price less cash, per hour of a resource the job takes. [money/h]

    Parameters
    ----------
    price : float or array
        [money]
    sheet : CostSheet
        Of the job.
    resource : str
        ``owner``, ``helper`` or a machine's name.
    """
    hours = sheet.hours_of(resource)
    with np.errstate(divide="ignore", invalid="ignore"):
        worth = np.where(np.asarray(hours) > 0, (price - sheet.cash) / np.asarray(hours), np.nan)
    return float(worth) if worth.ndim == 0 else worth
