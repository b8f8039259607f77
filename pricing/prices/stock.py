"""How much to order of what is used again and again: the classic order sizes.

Takes    demand, costs of one too few and one too many, of an order, of holding stock.
Gives    quantities and what the policy costs.
Room     prices. Imports basis.
"""

from collections.abc import Sequence
from math import exp, inf, pi, sqrt
from typing import NamedTuple

from pricing.basis.checks import positive
from pricing.basis.errors import BadInput, Problem


class Policy(NamedTuple):
    """An order quantity and the cost of ordering so, in the time the rates are given for."""

    quantity: float
    cost: float


def newsvendor(underage: float, overage: float, *, mean: float, sd: float) -> Policy:
    """Give the stock for one season of normal demand, and its expected cost of missing the mark.

    Parameters
    ----------
    underage, overage : float
        Cost of one too few and of one too many. [money]
    mean, sd : float
        Demand.

    Returns
    -------
    Policy
        Quantity at the critical ratio ``underage/(underage + overage)``.

    Raises
    ------
    BadInput
        A cost or the spread is not above zero.

    Examples
    --------
    >>> round(newsvendor(3.0, 1.0, mean=100.0, sd=30.0).quantity, 2)
    120.23
    """
    positive("order", underage=underage, overage=overage, mean=mean, sd=sd)
    from scipy.special import ndtri  # heavy: only where an order is sized

    z = float(ndtri(underage / (underage + overage)))
    density = exp(-(z**2) / 2) / sqrt(2 * pi)
    return Policy(mean + z * sd, (underage + overage) * density * sd)


def newsvendor_lognormal(underage: float, overage: float, *, median: float, log_sd: float) -> Policy:
    """Give the stock for one season of log-normal demand.

    Parameters
    ----------
    underage, overage : float
        As in `newsvendor`.
    median, log_sd : float
        Demand: its median, and the standard deviation of its logarithm.

    Raises
    ------
    BadInput
        A number is not above zero.

    Examples
    --------
    >>> round(newsvendor_lognormal(4.0, 1.0, median=exp(6), log_sd=0.3).quantity, 3)
    519.302
    """
    positive("order", underage=underage, overage=overage, median=median, log_sd=log_sd)
    from scipy.special import ndtr, ndtri

    z = float(ndtri(underage / (underage + overage)))
    mean = median * exp(log_sd**2 / 2)
    # at the critical ratio the expected cost is underage x mean less what the stock below it brings
    cost = underage * mean - (underage + overage) * mean * float(ndtr(z - log_sd))
    return Policy(median * exp(z * log_sd), cost)


def economic_order(demand: float, setup: float, *, holding: float, backorder: float = inf) -> Policy:
    """Give the economic order quantity, with or without letting customers wait.

    Parameters
    ----------
    demand : float
        Per time.
    setup : float
        Cost of one order. [money]
    holding, backorder : float
        Cost of holding one, and of owing one, per time; inf lets nobody wait.

    Raises
    ------
    BadInput
        A number is not above zero.

    Examples
    --------
    >>> round(economic_order(8000.0, 12000.0, holding=0.3).quantity)
    25298
    """
    positive("order", demand=demand, setup=setup, holding=holding)
    if backorder != inf:
        positive("order", backorder=backorder)
    wait = 1.0 if backorder == inf else (holding + backorder) / backorder
    return Policy(sqrt(2 * demand * setup / holding * wait), sqrt(2 * demand * setup * holding / wait))


def economic_order_with_breaks(
    demand: float, setup: float, *, holding_share: float, breaks: Sequence[tuple[float, float]]
) -> Policy:
    """Give the order quantity when the price of all units falls with the quantity.

    Parameters
    ----------
    demand, setup : float
        As in `economic_order`.
    holding_share : float
        Cost of holding per time, as a share of the price.
    breaks : sequence of (float, float)
        From which quantity which price holds, the first from 0.

    Returns
    -------
    Policy
        Cost includes what is bought.

    Raises
    ------
    BadInput
        A number is not above zero, or the breaks do not rise from 0.

    Examples
    --------
    >>> economic_order_with_breaks(1300, 8, holding_share=0.3, breaks=[(0, 0.75), (400, 0.72), (800, 0.68)]).quantity
    800.0
    """
    positive("order", demand=demand, setup=setup, holding_share=holding_share)
    starts = [start for start, _ in breaks]
    if not breaks or starts[0] != 0 or starts != sorted(set(starts)) or any(price <= 0 for _, price in breaks):
        raise BadInput("order", [Problem("breaks", list(breaks), "quantities that rise from 0 and prices above 0")])
    ends = [*starts[1:], inf]
    best = Policy(0.0, inf)
    for (start, price), end in zip(breaks, ends, strict=True):
        quantity = max(float(start), economic_order(demand, setup, holding=holding_share * price).quantity)
        if quantity < end:
            cost = price * demand + setup * demand / quantity + holding_share * price * quantity / 2
            best = min(best, Policy(quantity, cost), key=lambda policy: policy.cost)
    return best
