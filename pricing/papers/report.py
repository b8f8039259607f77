"""The summary for a partner: everything it shows, worked out once.

Takes    a shop, its items, one job to show, the figures of the last summary.
Gives    the pair of finishes, the list, the week and the month, and the figures that are kept for next time.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from pricing.basis.errors import BadInput, Problem
from pricing.costing.sheet import cost
from pricing.papers.last_summary import Snapshot
from pricing.parts.items import Item
from pricing.parts.job import Job, job_of_item
from pricing.prices.advice import Advice
from pricing.prices.bank_view import Bank, bank_view
from pricing.prices.colours import plain_finish
from pricing.prices.compare import two_tone_finishes
from pricing.prices.hire_buy_drop import YearChoices, year_choices
from pricing.prices.price_list import PriceList, price_list
from pricing.prices.quote import quote
from pricing.prices.week import Wanted, read_week
from pricing.shop.shop import Shop
from pricing.show.advice_view import advice_of, won_and_lost
from pricing.show.even_view import Even
from pricing.show.list_view import ListStanding
from pricing.show.mix_view import Mix
from pricing.show.sides import Sides
from pricing.show.what_if import WhatIf

STEM = "partner summary"
"""How the files of a summary are named, before the day."""


@dataclass(frozen=True)
class Report:
    """Everything a summary shows.

    Parameters
    ----------
    shop : Shop
        Whose.
    items : mapping of Item
        The price list.
    job : Job
        The job that is taken apart; it can be had in two colours.
    day : date
        Of the summary.
    before : Snapshot, optional
        Figures of the last one.
    """

    shop: Shop
    items: Mapping[str, Item]
    job: Job
    day: date
    before: Snapshot | None = None

    @cached_property
    def sides(self) -> Sides:
        """The job in one colour and in two, at the price that is printed."""
        keys = two_tone_finishes(self.shop)
        fancy = self.job.finish if self.job.finish in keys else keys[0]
        sides = Sides.of(WhatIf(self.shop), self.job, plain_finish(self.shop), fancy, {})
        return sides.charging(sides.advised)

    @cached_property
    def prices(self) -> PriceList:
        """The list, costed today."""
        return price_list(self.shop, self.items, quantities=(1,))

    @cached_property
    def standing(self) -> ListStanding:
        """The list as it stands, against what things cost today."""
        return ListStanding(self.prices, {})

    @cached_property
    def wanted(self) -> tuple[Wanted, ...]:
        """Orders of a usual week; none where the owner has not said."""
        return read_week(self.shop, self.items) if self.shop.week.orders else ()

    @cached_property
    def mix(self) -> Mix | None:
        """The usual week with its hours and its month."""
        return Mix.of(self.shop, self.wanted) if any(line.orders > 0 for line in self.wanted) else None

    @cached_property
    def bank(self) -> Bank | None:
        """What a bank asks of the usual week."""
        return bank_view(self.shop, self.mix.offers) if self.mix is not None else None

    @cached_property
    def choices(self) -> YearChoices | None:
        """What may be hired, bought or dropped."""
        return year_choices(self.shop, self.mix.offers) if self.mix is not None else None

    @cached_property
    def advice(self) -> Advice | None:
        """Which prices earn most."""
        if self.mix is None:
            return None
        return advice_of(self.shop, self.mix.offers, won_and_lost(self.shop))

    @cached_property
    def even(self) -> Even:
        """Where the two-tone job begins to pay."""
        key = next(k for k, f in self.shop.finishes.items() if f is self.sides.fancy.model.finish)
        job = self.job.model_copy(update={"finish": key})
        return Even.of(quote(self.shop, job), self.sides.price)

    @cached_property
    def snapshot(self) -> Snapshot:
        """Figures to be kept for the next summary."""
        prices = {
            f"{entry.title}, {'two-tone' if entry.place[1] == 'two_tone' else 'single-tone'}": entry.tariff.first
            for entry in self.standing.entries.values()
            if entry.tariff is not None
        }
        return Snapshot(
            day=self.day,
            currency=self.shop.currency,
            numbers={key: float(value) for key, value in self.shop.book.items()},
            prices=prices,
            job=self.job.title,
            cost=self.sides.fancy.total,
            price=self.sides.price,
        )


def job_to_show(shop: Shop, items: Mapping[str, Item], jobs: list[Job]) -> Job:
    """Return the job a summary shows best: one in two colours that may be priced, of many parts.

    Parameters
    ----------
    jobs : list of Job
        Jobs of the shop's folder; where none will do, a row of the price list is taken.

    Raises
    ------
    BadInput
        Nothing of the shop can be had in two colours.
    """
    keys = two_tone_finishes(shop)
    good = [job for job in jobs if job.finish in keys and not cost(shop, job).refused]
    if good:
        return max(good, key=lambda job: job.pieces)
    for item in items.values():
        if item.two_tone in keys:
            job = job_of_item(item, units=10)
            if not cost(shop, job).refused:
                return job
    accepts = "a job or a row of the price list with a line between two colours"
    raise BadInput("summary", [Problem("jobs", "none in two colours", accepts, "Name a JOB.")])
