"""What a cost says about a price: margin and markup, its four marks, the deposit, what an hour brings.

A margin is a share of the price, a markup a share of the cost; they are never mixed up.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf

import numpy as np

from pricing.basis.checks import Floats, is_symbol
from pricing.basis.errors import BadInput, Problem
from pricing.costing.sheet import CostSheet, cost
from pricing.costing.walk import LEFTOVER, REDO, RESPRAY, WARRANTY
from pricing.parts.items import Item
from pricing.parts.job import job_of_item
from pricing.prices.price_rule import as_printed, round_each, round_up
from pricing.shop.shop import Shop
from pricing.steps.hang import TEST_PANEL


def price_at_margin(cost: Floats, margin_share: Floats) -> Floats:
    """Work out the price of which a share, 0 to below 1, is left over when the cost is paid; any other is refused.

    >>> round(price_at_margin(140.0, 0.40), 2)
    233.33
    """
    _share(margin_share)
    return cost / (1.0 - margin_share)


def margin_of(price: Floats, cost: Floats) -> Floats:
    """Work out the share of a price that is left over; minus infinity at a price of 0.

    >>> margin_of(100.0, 60.0), round(margin_of(140.0, 100.0), 4)
    (0.4, 0.2857)
    """
    if isinstance(price, (int, float)):
        return (price - cost) / price if price else -inf
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(np.asarray(price) > 0, (price - cost) / np.asarray(price), -inf)


def _share(share: Floats) -> None:
    if is_symbol(share):
        return
    values = np.asarray(share)
    if not bool(np.all((values >= 0) & (values < 1))):
        worst = float(values[~((values >= 0) & (values < 1))].flat[0])
        mend = f"Write {worst:g} % as {worst / 100:g}." if worst >= 1 else ""
        raise BadInput("price", [Problem("margin_share", worst, "from 0 to below 1", mend)])


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
    """Return the four marks of a job's price, at the shop's margin or another from 0 to below 1."""
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
    """Price less cash, per hour of a resource the job takes: ``owner``, ``helper`` or a machine's name. [money/h]"""
    hours = sheet.hours_of(resource)
    with np.errstate(divide="ignore", invalid="ignore"):
        worth = np.where(np.asarray(hours) > 0, (price - sheet.cash) / np.asarray(hours), np.nan)
    return float(worth) if worth.ndim == 0 else worth


def panel_of(sheet: CostSheet) -> float:
    """Work out the price of the test panel in a sheet, as printed: cost and margin, 0 where it has none. [money]"""
    spent = sum(float(line.total) for line in sheet.lines if line.step == TEST_PANEL.key)
    policy = sheet.shop.policy
    return float(round_each(price_at_margin(spent, policy.target_margin) * as_printed(policy), policy))


def panel_price(shop: Shop, items: Mapping[str, Item]) -> float | None:
    """Work out the price of a test panel for a new pair of colours, as printed: the same whatever the part. [money]

    None where the shop lists no two-tone finish.
    """
    for item in items.values():
        if shop.finish(item.two_tone).line != "none":
            return panel_of(cost(shop, job_of_item(item).model_copy(update={"new_pair": True})))
    return None
