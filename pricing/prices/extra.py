"""What the second colour must cost extra: as it is printed, three answers beside it, and as a rule.

Takes    the quotes of one job in a plain and in a two-tone finish, and draws of both.
Gives    the difference of the two printed prices; the extra that keeps the margin share, the one that keeps earnings
         per scarce hour, and the one that keeps the chance of loss, each with all three figures, so that the owner
         sees what each gives up; and the rule, taken from the two tariffs, so that it holds for every number ordered.
Why      the chance of loss is read off the same draws for both finishes: what they share cancels.
"""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

from pricing.basis.arrays import Array
from pricing.basis.errors import BadInput, Problem, choices
from pricing.costing.risk import Risk
from pricing.costing.sheet import cost_of_work
from pricing.parts.job import Job
from pricing.parts.work import Work
from pricing.prices.colours import plain_finish
from pricing.prices.compare import two_tone_of
from pricing.prices.marks import margin_of, worth_per_hour
from pricing.prices.price_rule import Tariff
from pricing.prices.quote import DRAWS, SEED, Quote, quote
from pricing.shop.shop import Shop


class Extra(NamedTuple):
    """One answer: the extra, and what is left at the price it makes."""

    keeps: str
    extra: float
    price: float
    margin_share: float
    per_scarce_hour: float
    chance_of_loss: float


@dataclass(frozen=True, slots=True)
class ExtraRule:
    """The two-tone extra as a rule that can be printed.

    Parameters
    ----------
    lines : tuple of (str, Tariff)
        What is added to the first of an order, each further one, each beyond, a kind of part by its title; they hold
        for every number ordered, before minimum charge, rush and tax. [money, printed]
    per_m : float
        What one more metre of line costs at the wanted margin, without tax; the time equations are straight lines.
        [money/m]
    """

    lines: tuple[tuple[str, Tariff], ...]
    per_m: float


@dataclass(frozen=True)
class Extras:
    """The extra of one job, and three answers to what it should be.

    Parameters
    ----------
    plain, fancy : Quote
        The job in one colour and in two; neither is refused.
    resource : str
        Whose hours are scarce.
    asked : float or None
        Another price of the plain finish than its quote's, without tax. [money]
    draw : callable
        Gives the draws of both; called when a chance is asked for.
    """

    plain: Quote
    fancy: Quote
    resource: str
    draw: Callable[[], tuple[Risk, Risk]] = field(repr=False, compare=False)
    asked: float | None = None

    @cached_property
    def risks(self) -> tuple[Risk, Risk]:
        """Draws of both finishes, the same for what they share."""
        return self.draw()

    @property
    def before(self) -> float:
        """Price of the plain finish, without tax. [money]"""
        return self.plain.net if self.asked is None else self.asked

    @property
    def extra(self) -> float:
        """What two-tone costs more: the difference of the two prices, without tax. [money]"""
        return self.fancy.net - self.before

    @property
    def exact(self) -> float:
        """The extra between the exact target prices, before rounding. [money]"""
        return float(self.fancy.marks.target) - float(self.plain.marks.target)

    @property
    def keeping_margin(self) -> float:
        """The extra that leaves the same share of the price. [money]"""
        return self.fancy.cost / (1.0 - float(margin_of(self.before, self.plain.cost))) - self.before

    @property
    def keeping_hours(self) -> float:
        """The extra that keeps what a scarce hour brings. [money]"""
        hours = [float(side.sheet.hours_of(self.resource)) for side in (self.plain, self.fancy)]
        cash = [float(side.sheet.cash) for side in (self.plain, self.fancy)]
        scarce = self.plain.shop.policy.scarce.worth_per_h
        worth = (self.before - cash[0]) / hours[0] if hours[0] > 0 else scarce
        return cash[1] + hours[1] * worth - self.before

    @cached_property
    def keeping_chance(self) -> float:
        """The extra that makes two-tone as sure as single-tone, as far as the draws can tell. [money]"""
        return self.risks[1].price_for(self.chance_told) - self.before

    @cached_property
    def chance_told(self) -> float:
        """Chance of loss that is kept: not below what the draws can tell."""
        one = self.risks[0]
        return float(np.clip(one.chance_of_loss(self.before), one.farthest, 1 - one.farthest))

    @property
    def difference(self) -> Array:
        """Two-tone less plain cost, draw by draw. [money]"""
        return self.risks[1].costs - self.risks[0].costs

    @cached_property
    def base(self) -> Extra:
        """The plain finish at its price."""
        return self._row("", 0.0, self.plain, self.risks[0])

    @cached_property
    def printed(self) -> Extra:
        """The two-tone finish at its price."""
        return self._row("", self.extra, self.fancy, self.risks[1])

    @cached_property
    def answers(self) -> tuple[Extra, Extra, Extra]:
        """Keeping the margin share, the earnings per scarce hour, the chance of loss."""
        extras = {
            "margin share": self.keeping_margin,
            "what an hour brings": self.keeping_hours,
            "chance of loss": self.keeping_chance,
        }
        one, two, three = (self._row(keeps, extra, self.fancy, self.risks[1]) for keeps, extra in extras.items())
        return one, two, three

    def _row(self, keeps: str, extra: float, side: Quote, drawn: Risk) -> Extra:
        price = self.before + extra
        hour = float(worth_per_hour(price, side.sheet, self.resource))
        return Extra(keeps, extra, price, float(margin_of(price, side.cost)), hour, float(drawn.chance_of_loss(price)))

    @cached_property
    def rule(self) -> ExtraRule:
        """The extra as a rule."""
        return rule_of(self.plain, self.fancy)


def two_tone(
    shop: Shop,
    job: Job,
    fancy: str = "",
    *,
    price: float | None = None,
    resource: str = "",
    seed: int = SEED,
    draws: int = DRAWS,
) -> Extras:
    """Work out what the second colour of a job must cost extra.

    Parameters
    ----------
    shop, job
        As in `pricing.costing.sheet.cost`.
    fancy : str
        The two-tone finish; without it the job's own, or the shop's first.
    price : float, optional
        Another price of the plain finish, without tax. [money]
    resource : str
        Scarce resource; without it, that of the shop's policy.
    seed, draws : int
        Of the draws.

    Raises
    ------
    BadInput
        The finish makes no line, the job names too few powders for it, one of the two finishes is refused, or there
        is no such resource.
    """
    resources = [name for name in shop.hour_rates if name != "overhead"]
    resource = resource or shop.policy.scarce.resource
    if resource not in resources:
        raise BadInput("two-tone", [Problem("scarce resource", resource, choices(resources))])
    plain, two = (quote(shop, job, finish=key) for key in (plain_finish(shop), two_tone_of(shop, job, fancy)))
    plain.must_price()
    two.must_price()
    return Extras(
        plain, two, resource, lambda: (plain.risk(seed=seed, draws=draws), two.risk(seed=seed, draws=draws)), price
    )


def rule_of(plain: Quote, fancy: Quote) -> ExtraRule:
    """Take the extra from the tariffs of two quotes of the same job; one without a price is refused."""
    plain.must_price()
    fancy.must_price()
    pairs = zip(plain.lines, fancy.lines, strict=True)
    return ExtraRule(tuple((two.title, two.tariff.over(one.tariff)) for one, two in pairs), _per_m(fancy))


def _per_m(fancy: Quote) -> float:
    work, shop = fancy.sheet.work, fancy.shop
    metres = float(work.line_m)
    powders = [shop.powder(name, fancy.job.title) for name in fancy.job.powders]

    def total(at: Work) -> float:
        return float(cost_of_work(shop, at, fancy.sheet.finish, powders, book=fancy.sheet.book).total)

    at, more = (replace(work, line_m=m) for m in (metres, metres + 1.0))
    return (total(more) - total(at)) / (1.0 - shop.policy.target_margin)
