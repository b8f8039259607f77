"""What a cost sheet says about a price: its four marks, the deposit, what an hour brings."""

from dataclasses import dataclass

import numpy as np

from pricing.basis.checks import Floats
from pricing.costing.sheet import CostSheet
from pricing.costing.walk import LEFTOVER, REDO, RESPRAY, WARRANTY
from pricing.prices.margins import price_at_margin
from pricing.prices.price_rule import round_up


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
    """Return the four marks of a job's price.

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
    return Marks(sheet.cash, total, price_at_margin(total, margin), sheet.cash + scarce_h * policy.scarce.worth_per_h)


def deposit(price: float, sheet: CostSheet) -> float:
    """Work out the deposit: the policy's share, and never less than what a walk-away would leave unpaid.

    Parameters
    ----------
    price : float
        Price as quoted. [money]
    sheet : CostSheet
        Of the job: powder that was bought for it and the work before the first coat are lost
        when the customer does not come back.

    Returns
    -------
    float
        On a price point, since the exact sum would tell a customer what is spent before the first coat; never
        above the price.
    """
    policy = sheet.shop.policy
    return min(price, float(round_up(max(price * policy.deposit, walk_away(sheet)), policy)))


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
