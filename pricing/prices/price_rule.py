"""The price rule: price points, first and each further, the sum of an order, minimum charge, rush, tax.

Takes    tariffs (so much for the first of an order, so much for each further one) and how many are ordered.
Gives    the price of the order. Every list, quote, page and paper asks here; nobody else rounds or adds up a price.
Why      a tariff that bends downwards only, with one set-up an order, cannot make one more piece lower a total, nor
         two orders cheaper than both in one; the order's total is not rounded again, so that anybody who adds up
         the printed list arrives at it.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import inf
from typing import NamedTuple

import numpy as np

from pricing.basis.checks import Floats
from pricing.basis.money import minor_digits
from pricing.shop.policy import Policy, PricePoint


def round_up(price: Floats, policy: Policy) -> Floats:
    """Round up to the shop's price points: up to which price which step; above the last the last step holds. [money]"""
    return _up(price, policy.price_points)


def round_each(price: Floats, policy: Policy) -> Floats:
    """Round the price of each further one up to the finer steps it has. [money]"""
    return _up(price, policy.each_points)


def _up(price: Floats, points: Sequence[PricePoint]) -> Floats:
    *below, last = points
    step: Floats = last.step
    for point in reversed(below):
        step = np.where(np.less_equal(np.asarray(price) - 1e-9, point.up_to), point.step, step)
    rounded = np.ceil(price / step - 1e-9) * step + 0.0  # no minus nothing
    return float(rounded) if np.ndim(rounded) == 0 else rounded


@dataclass(frozen=True, slots=True)
class Tariff:
    """What so many of one kind cost, as it is printed: the first, each further, each beyond the range. [money]

    Parameters
    ----------
    first : float
        For one.
    each : float
        For each further one, not above ``first``.
    beyond : float
        For each one beyond ``up_to``, not above ``each``.
    up_to : int
        How many ``each`` holds for, the first counted.
    """

    first: float
    each: float
    beyond: float
    up_to: int

    @property
    def setup(self) -> float:
        """What is paid once, however many there are. [money]"""
        return self.first - self.each

    def units(self, count: Floats) -> Floats:
        """Work out what so many cost without the set-up. [money]"""
        return np.minimum(count, self.up_to) * self.each + np.maximum(count - self.up_to, 0.0) * self.beyond

    def total(self, count: Floats) -> Floats:
        """Work out what an order of so many and nothing else costs, before the minimum charge. [money]"""
        return self.setup + self.units(count)

    def most(self, other: "Tariff") -> "Tariff":
        """Return the larger of both amounts, each by itself."""
        first, each = max(self.first, other.first), max(self.each, other.each)
        return Tariff(first, each, max(self.beyond, other.beyond), self.up_to)

    def plus(self, adder: "Tariff", times: float = 1.0) -> "Tariff":
        """Return the tariff with an adder on it."""
        first, each = self.first + times * adder.first, self.each + times * adder.each
        return Tariff(first, each, self.beyond + times * adder.beyond, self.up_to)

    def over(self, plain: "Tariff") -> "Tariff":
        """Return what it asks more than another one: the extra of a second colour, as it is printed."""
        return self.plus(plain, -1.0)


class OrderLine(NamedTuple):
    """So many of one kind, by its tariff."""

    tariff: Tariff
    units: Floats


@dataclass(frozen=True, slots=True)
class Price:
    """The price of an order and how it adds up. [money]

    Parameters
    ----------
    net : float or array
        Without sales tax, whatever the shop prints.
    tax : float or array
        Sales tax on it.
    printed : float or array
        As the shop prints it: with tax or without.
    lines : float or array
        All lines, each as if it came alone; as printed.
    shared : float or array
        What is taken off since several kinds share one set-up; as printed.
    panel : float
        Test panel; as printed.
    to_minimum : float or array
        What the minimum charge adds; as printed.
    rush : float or array
        What the rush adds; as printed.
    apart : float
        What the owner asks more than all that, below 0 less; as printed.
    """

    net: Floats
    tax: Floats
    printed: Floats
    lines: Floats
    shared: Floats
    panel: float
    to_minimum: Floats
    rush: Floats
    apart: float = 0.0

    @property
    def times_listed(self) -> float:
        """Times what the list comes to: 1 unless the owner asks another price."""
        return float(self.printed / (self.printed - self.apart)) if self.apart else 1.0

    def asked(self, net: float, policy: Policy, currency: str) -> "Price":
        """Return the price that the owner asks, told without tax, in place of the list's; this one where both agree."""
        digits = minor_digits(currency)
        if round(net, digits) == round(float(self.net), digits):
            return self
        plain, tax, printed = _taxed(round(net * as_printed(policy), digits), policy, currency)
        return replace(self, net=plain, tax=tax, printed=printed, apart=float(printed - self.printed + self.apart))

    @property
    def gross(self) -> Floats:
        """With sales tax. [money]"""
        return self.net + self.tax

    @property
    def at_minimum(self) -> Floats:
        """Whether the minimum charge decided: 1 where it did."""
        acts = np.asarray(self.to_minimum) > 0
        return float(acts) if acts.ndim == 0 else acts.astype(np.float64)


def order_price(
    lines: Sequence[OrderLine], policy: Policy, currency: str, *, rush: bool = False, panel: float = 0.0
) -> Price:
    """Add an order up as the printed list says.

    Parameters
    ----------
    lines : sequence of OrderLine
        One a kind of part, all in one finish and the same colours; counts may be arrays.
    policy : Policy
        Charge for a further kind, minimum charge, surcharge for a rush, tax.
    currency : str
        Code; says how many digits an amount has.
    rush : bool
        Whether it goes ahead of the queue.
    panel : float
        Test panel that is made for it, as printed. [money]

    Returns
    -------
    Price
        Every line by its tariff; of several set-ups the largest, and for each further kind the shop's charge or
        its own set-up, whichever is less; then the minimum charge, the rush, the tax.
    """
    digits = minor_digits(currency)
    setups = [line.tariff.setup for line in lines]
    alone: Floats = sum((line.tariff.total(line.units) for line in lines), 0.0)
    shared = sum(setups) - _setups(setups, printed_further(policy))
    asked = alone - shared + panel
    least = printed_minimum(policy)
    at_least = np.maximum(asked, least)
    surcharge = np.round(at_least * policy.rush_surcharge, digits) if rush else 0.0 * at_least
    printed = _plain(np.round(at_least + surcharge, digits))
    return Price(*_taxed(printed, policy, currency), alone, shared, panel, _plain(at_least - asked), _plain(surcharge))


def times_listed(net: float, times: float, policy: Policy) -> float:
    """Work out so many times a price of the list, without tax, on a price point. [money]"""
    taxed = as_printed(policy)
    return float(round_up(net * times * taxed, policy)) / taxed


def _taxed(printed: Floats, policy: Policy, currency: str) -> tuple[Floats, Floats, Floats]:
    """Work out net and tax of what is printed, and give all three. [money]"""
    digits = minor_digits(currency)
    if policy.prices_include_tax:
        net = _plain(np.round(printed / as_printed(policy), digits))
        return net, printed - net, printed
    return printed, _plain(np.round(printed * policy.sales_tax, digits)), printed


def _setups(setups: Sequence[float], further: float) -> float:
    """Largest set-up, and the charge for each further kind or its own set-up where that is less."""
    small = [min(further, setup) for setup in setups]
    return sum(small) + max((setup - less for setup, less in zip(setups, small, strict=True)), default=0.0)


def _plain(value: Floats) -> Floats:
    return float(value) if np.ndim(value) == 0 else value


def as_printed(policy: Policy) -> float:
    """Work out what an amount without tax is multiplied with to be printed."""
    return 1.0 + policy.sales_tax if policy.prices_include_tax else 1.0


def printed_minimum(policy: Policy) -> float:
    """Work out the minimum charge as it is printed. [money]"""
    return float(round_up(policy.minimum_charge * as_printed(policy), policy))


def printed_further(policy: Policy) -> float:
    """Work out the charge for each further kind as it is printed; inf where each kind pays its whole set-up. [money]"""
    return inf if policy.further_kind is None else float(round_each(policy.further_kind * as_printed(policy), policy))
