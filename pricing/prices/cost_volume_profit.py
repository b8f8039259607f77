"""A month or a year of work: how much of it pays the fixed costs.

Takes    prices, variable costs and quantities; floats or arrays.
Gives    contributions, break-even quantities (exact, never rounded up before they are used) and the margin of safety.
"""

from collections.abc import Callable, Sequence
from math import ceil
from typing import NamedTuple

from pricing.basis.checks import Floats, nonneg, positive
from pricing.basis.errors import BadInput, Problem


class Sold(NamedTuple):
    """One line of the mix: what it brings and takes, and how many of it are sold."""

    name: str
    price: float
    variable_cost: float
    quantity: float

    @property
    def contribution(self) -> float:
        """Price less variable cost, in money for one."""
        return self.price - self.variable_cost


class Month(NamedTuple):
    """What a mix of work earns, and where it breaks even if all of it grows or shrinks alike."""

    contribution: float
    contribution_ratio: float
    quantity: float
    break_even_quantity: float
    break_even_sales: float
    margin_of_safety: float
    profit: float

    def say(self, what: str = "jobs", currency: str = "", *, money: Callable[[float], str] | None = None) -> str:
        """Say it in words of what is counted; ``money`` writes an amount, in place of the currency's code behind it."""
        if self.break_even_quantity == float("inf"):
            return f"No number of {what} breaks even: the mix does not bring back its own variable cost."
        whole = ceil(self.break_even_quantity - 1e-9)
        planned = f"{self.quantity:.0f}" if self.quantity >= 10 else f"{self.quantity:.1f}".removesuffix(".0")
        text = f"{whole} {what} of this mix pay the fixed costs; planned are {planned}"
        share = f"{abs(self.margin_of_safety):.0%}"
        safe = self.margin_of_safety >= 0
        left = money(self.profit) if money else f"{self.profit:.0f} {currency}".rstrip()
        state = f"of which {share} may fall away" if safe else f"which would have to grow by {share}"
        return f"{text}, {state}. Left over: {left}."


def break_even_quantity(fixed: Floats, contribution: Floats) -> Floats:
    """Work out how many must be sold to pay the fixed costs; exact, not rounded up.

    Parameters
    ----------
    fixed : float or array
        Fixed costs of the time looked at. [money]
    contribution : float or array
        Price less variable cost of one. [money]

    Raises
    ------
    BadInput
        The contribution is not above zero: no quantity would do; or a cost is negative.

    Examples
    --------
    >>> round(break_even_quantity(10_000.0, 50.0 - 20.0), 3)
    333.333
    """
    nonneg("break-even", fixed=fixed)
    positive("break-even", contribution=contribution)
    return fixed / contribution


def month(mix: Sequence[Sold], fixed: float) -> Month:
    """Add up a mix of work against the fixed costs.

    Parameters
    ----------
    mix : sequence of Sold
        What is sold, with the planned quantities.
    fixed : float
        Fixed costs of the same time. [money]

    Returns
    -------
    Month
        ``break_even_quantity`` is of the whole mix; inf when the mix brings no contribution.

    Raises
    ------
    BadInput
        The mix is empty, or a number is negative.
    """
    nonneg("month", fixed=fixed)
    bad = [
        Problem(f"{sold.name}: {field}", value, "0 or more")
        for sold in mix
        for field, value in (("price", sold.price), ("variable cost", sold.variable_cost), ("quantity", sold.quantity))
        if not 0 <= value < float("inf")
    ]
    quantity = sum(sold.quantity for sold in mix)
    if not bad and not quantity > 0:
        bad.append(Problem("mix", "empty", "at least one line with a quantity"))
    if bad:
        raise BadInput("the mix of work", bad)
    sales = sum(sold.price * sold.quantity for sold in mix)
    brought = sum(sold.contribution * sold.quantity for sold in mix)
    each, ratio = brought / quantity, brought / sales if sales else 0.0
    needed = float(break_even_quantity(fixed, each)) if each > 0 else float("inf")
    safe = 1 - needed / quantity if each > 0 else -float("inf")
    return Month(each, ratio, quantity, needed, needed * sales / quantity, safe, brought - fixed)
