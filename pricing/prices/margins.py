"""Margin and markup: a margin is a share of the price, a markup a share of the cost; never mixed up."""

from math import inf

import numpy as np

from pricing.basis.checks import Floats, is_symbol
from pricing.basis.errors import BadInput, Problem


def price_at_margin(cost: Floats, margin_share: Floats) -> Floats:
    """Work out the price of which a share is left over when the cost is paid.

    Parameters
    ----------
    cost : float or array
        Full cost. [money]
    margin_share : float or array
        Share of the price, 0 to below 1.

    Raises
    ------
    BadInput
        The margin is not from 0 to below 1.

    Examples
    --------
    >>> round(price_at_margin(140.0, 0.40), 2)
    233.33
    """
    _share(margin_share)
    return cost / (1.0 - margin_share)


def margin_of(price: Floats, cost: Floats) -> Floats:
    """Work out the share of a price that is left over; minus infinity at a price of 0.

    Parameters
    ----------
    price, cost : float or array
        [money]

    Examples
    --------
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
