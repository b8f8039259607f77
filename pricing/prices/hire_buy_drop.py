"""Hire, buy, drop: the year with and without a helper, a machine, a kind of work.

Takes    the orders of a usual week at today's prices, and the machines of ``shop.toml`` that the owner thinks of.
Gives    for each choice what a year then leaves, which hours run out next, and for what is bought payback and net
         present value.
Rule     a year is the best mix of its weeks, less twelve months' fixed costs: wages, draw, wear and interest are paid
         whether anybody books the hours or not. What a machine has cost in the past is spent, whatever is decided.
         A kind of work is held as all of it taken on against none of it, since the best mix would leave out what does
         not pay, and nobody would see it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Literal, NamedTuple, TypeAlias

from pricing.basis.checks import positive
from pricing.basis.errors import BadInput, Problem
from pricing.basis.money import capital_recovery, payback_y, present_value
from pricing.costing.capacity import WantedWork, Week, plan_week
from pricing.costing.sheet import cost
from pricing.prices.questions import fixed_per_month
from pricing.prices.week import Offer, week_hours, work_of_sheet
from pricing.shop.machines import Considered
from pricing.shop.shop import Shop

ChoiceWay: TypeAlias = Literal["hire", "buy", "drop"]
_MOST_HELPERS = 9


def with_helpers(shop: Shop, count: int) -> Shop:
    """Return the shop with no helper, or with several of the kind it has; hour rates move with them.

    Raises
    ------
    BadInput
        The shop has no helper to take as a pattern, or the count is not from 0 to 9.
    """
    if not 0 <= count <= _MOST_HELPERS or (count and shop.helper is None):
        accepts = f"a whole number from 0 to {_MOST_HELPERS}" if shop.helper else "0: shop.toml has no table [helper]"
        raise BadInput("helpers", [Problem("helpers", count, accepts)])
    if not count or shop.helper is None:
        return replace(shop, helper=None)
    return replace(shop, helper=shop.helper.model_copy(update={"heads": count}))


class Unused(NamedTuple):
    """Hours of a resource that are paid for in a week and that nobody books. [h/week, money/week]"""

    name: str
    hours: float
    money: float


def unused_hours(shop: Shop, week: Week) -> tuple[Unused, ...]:
    """Collect practical hours less those used by the best week, with what they cost by the shop's hour rates."""
    rates = shop.hour_rates
    left = ((row.name, max(0.0, row.hours - row.used)) for row in week.resources)
    return tuple(Unused(name, hours, hours * rates[name]) for name, hours in left)


class Year(NamedTuple):
    """A year: what it leaves after all that is paid [money/y], which hours run out first, what share is wanted."""

    left: float
    runs_out: str
    load: float


class YearChoice(NamedTuple):
    """One thing that may be done.

    Parameters
    ----------
    way : str
        ``hire``, ``buy`` or ``drop``.
    what : str
        In words.
    year : Year
        When it is done.
    more : float
        What such a year leaves more than one in which it is not done. [money/y]
    spent : float
        At once, less what an old machine brings; 0 where nothing is bought. [money]
    back_y : float
        Years until that has come back, without interest; inf where it never does. [y]
    worth : float
        Net present value over the machine's life; 0 where nothing is bought. [money]
    """

    way: ChoiceWay
    what: str
    year: Year
    more: float
    spent: float = 0.0
    back_y: float = 0.0
    worth: float = 0.0


class YearChoices(NamedTuple):
    """The year as it is, and all that may be done, best of each kind first."""

    today: Year
    rows: tuple[YearChoice, ...]


def year_choices(shop: Shop, offers: Sequence[Offer], times: float = 1.0) -> YearChoices:
    """Hold the year with and without everything that may be hired, bought or dropped.

    ``offers`` are those of its week at today's prices; the year is one of so many ``times`` that week.

    Raises
    ------
    BadInput
        ``times`` is not above 0, or a job cannot be costed with another machine.
    """
    positive("hire, buy, drop", times=times)
    week = _best(shop, offers, times, week_hours(shop))
    today = _year(shop, week)
    bought = [_bought(shop, one, offers, times, today) for one in shop.to_buy]
    found = [*_hire(shop, offers, times, today), *bought, *_drop(shop, offers, week)]
    order: tuple[ChoiceWay, ...] = ("hire", "buy", "drop")
    return YearChoices(today, tuple(sorted(found, key=lambda one: (order.index(one.way), -one.more))))


def _best(shop: Shop, offers: Sequence[Offer], times: float, hours: Mapping[str, float], again: bool = False) -> Week:
    """Plan the week in such hours; ``again`` costs each order by the shop as it is given."""
    works = []
    for offer in offers:
        sheet = cost(shop, offer.quote.job) if again else offer.sheet
        work = work_of_sheet(offer.wanted.name, offer.price, sheet, hours)
        works.append(work._replace(wanted=offer.wanted.orders * times))
    return plan_week(works, hours, one_more=False)


def _year(shop: Shop, week: Week) -> Year:
    return Year(shop.owner.weeks * week.earned - 12 * fixed_per_month(shop), *week.runs_out_first())


def _hire(shop: Shop, offers: Sequence[Offer], times: float, today: Year) -> list[YearChoice]:
    if shop.helper is None:
        return []
    found, heads = [], shop.helper.heads
    for count in (heads - 1, heads + 1):
        if count <= _MOST_HELPERS:
            staffed = with_helpers(shop, count)
            year = _year(staffed, _best(staffed, offers, times, week_hours(staffed)))
            what = ("without a helper" if count == 0 else "one helper fewer") if count < heads else "one helper more"
            found.append(YearChoice("hire", what, year, year.left - today.left))
    return found


def _bought(shop: Shop, one: Considered, offers: Sequence[Offer], times: float, today: Year) -> YearChoice:
    hours, upkeep, fixed = week_hours(shop), one.upkeep_per_y, 12 * fixed_per_month(shop)
    if one.instead:
        changed = replace(shop, machines=shop.machines.with_one(one))
        old = next(machine for machine in shop.machines.all() if machine.name == one.like)
        upkeep -= old.upkeep_per_y
        week = _best(changed, offers, times, week_hours(changed), again=True)
    else:
        hours[one.like] += one.practical_hours_h / shop.owner.weeks
        week = _best(shop, offers, times, hours)
    spent, rate, years = one.price - one.sold_for, shop.policy.interest, max(1, round(one.life_y))
    brings = shop.owner.weeks * week.earned - fixed - upkeep - today.left
    worth = present_value([-spent, *[brings] * (years - 1), brings + one.salvage], rate)
    more = worth * float(capital_recovery(rate, years))  # so much a year has the same present value
    year = Year(today.left + more, *week.runs_out_first())
    return YearChoice("buy", one.name, year, more, spent, payback_y(max(spent, 0.0), brings), worth)


def _drop(shop: Shop, offers: Sequence[Offer], week: Week) -> list[YearChoice]:
    """Hold each line of the week, and each finish column, all of it taken on against none of it."""
    groups = {offer.wanted.name: [offer.wanted.name] for offer in offers}
    for column, what in (("single", "all single-tone work"), ("two_tone", "all two-tone work")):
        groups[what] = [offer.wanted.name for offer in offers if offer.wanted.column == column]
    found = []
    for what, names in groups.items():
        rest = [work for work in week.works if work.name not in names]
        mine = [work for work in week.works if work.name in names]
        if not rest or not any(work.wanted for work in mine):
            continue
        without = plan_week(rest, week.hours, one_more=False)
        whole = _together(what, mine)
        try:
            displaced = without.rush(whole).displaced
        except BadInput:  # all of it does not fit into a week by itself
            continue
        more = shop.owner.weeks * (displaced - whole.earns)
        found.append(YearChoice("drop", what, _year(shop, without), more))
    return found


def _together(name: str, works: Sequence[WantedWork]) -> WantedWork:
    hours = {key: sum(work.wanted * work.hours.get(key, 0.0) for work in works) for key in works[0].hours}
    return WantedWork(name, 1.0, sum(w.wanted * w.earns for w in works), hours, sum(w.wanted * w.either for w in works))
