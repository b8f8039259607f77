"""What a page tries: a job in one or two finishes, with some numbers of the book moved.

Takes    a shop, a job, finishes, and numbers that sliders have moved: each becomes the new mean, and its low and high
         move along, so that being slower than one thinks does not make one surer.
Gives    cost sheets, draws, and the questions a page asks of both; each worked out when it is first asked for.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from pricing.basis.checks import Floats
from pricing.costing.draws import Known
from pricing.costing.job_cost import JobCost, known_of
from pricing.costing.odds import Odds, odds
from pricing.costing.plan import Plan
from pricing.costing.risk import Risk, plan_risk
from pricing.costing.sheet import CostSheet
from pricing.parts.job import Job
from pricing.prices.quote import DRAWS, SEED, Quote, quote
from pricing.shop.rates import Assumption
from pricing.shop.shop import Book, Shop


def moved(row: Assumption, value: float) -> Assumption:
    """Return an uncertain number with another mean; low, likely and high keep their proportions."""
    if not row.mean > 0:
        return replace(row, low=value, likely=value, high=value)
    by = value / row.mean
    top = 1.0 if row.unit == "share" else float("inf")
    low, likely, high = (min(top, point * by) for point in (row.low, row.likely, row.high))
    return replace(row, low=low, likely=likely, high=high)


@dataclass(frozen=True)
class Trial:
    """One job in one finish, with numbers moved by key.

    ``model`` is its cost as a function of the book, ``plan`` was made of it before; a slider keeps it.
    """

    model: JobCost
    numbers: Mapping[str, float]
    job: Job
    finish: str
    plan: Plan

    @property
    def shop(self) -> Shop:
        """Whose numbers."""
        return self.model.shop

    @cached_property
    def book(self) -> Book:
        """Means, with what is moved."""
        return {**self.shop.book, **self.numbers}

    @cached_property
    def sheet(self) -> CostSheet:
        """The cost sheet at these means."""
        return self.model.sheet(self.book)

    @cached_property
    def quote(self) -> Quote:
        """The quote at these means."""
        book = self.book if self.numbers else None
        return quote(self.shop, self.job, finish=self.finish, book=book, sheet=self.sheet)

    @cached_property
    def total(self) -> float:
        """Full cost. [money]"""
        return float(self.sheet.total)

    @cached_property
    def uncertain(self) -> Mapping[str, Assumption]:
        """Every three-point number, the job's own amounts too, with what is moved."""
        rows = {**self.shop.uncertain, **self.model.amounts}
        return {**rows, **{key: moved(rows[key], value) for key, value in self.numbers.items() if key in rows}}

    @cached_property
    def known(self) -> Known:
        """What is known, with what is moved."""
        known = known_of(self.shop, rows=self.uncertain)
        return Known(known.uncertain, {**known.certain, **self.numbers})

    @cached_property
    def risk(self) -> Risk:
        """Draws of the full cost."""
        return plan_risk(self.plan, self.known, seed=SEED, draws=DRAWS)

    def odds(self, price: float) -> Odds:
        """Say how a price without tax fares against what the job may cost."""
        return odds(self.plan.at(self.known), self.known, self.risk, price)

    def swings(self) -> list[tuple[str, float, float]]:
        """Collect the cost with each number at its low and at its high, all else at its mean; longest swing first."""
        rows = self.uncertain
        used: set[str] = set().union(*(line.used() for line in self.sheet.lines))
        used |= {*self.model.amounts}
        used |= {key for key in rows if key.startswith((f"reject.{self.model.finish.rejects}.", "spoil.", "rest."))}
        wanted = [key for key in sorted(used & set(rows)) if rows[key].high > rows[key].low]
        if not wanted:
            return []
        book: dict[str, Floats] = dict(self.book)
        for at, key in enumerate(wanted):
            values = np.full(2 * len(wanted), float(self.book.get(key, rows[key].likely)))
            values[2 * at : 2 * at + 2] = rows[key].low, rows[key].high
            book[key] = values
        costs = np.broadcast_to(np.asarray(self.model(book)), (2 * len(wanted),)).reshape(-1, 2)
        found = [(key, float(low), float(high)) for key, (low, high) in zip(wanted, costs, strict=True)]
        return sorted(found, key=lambda one: -abs(one[2] - one[1]))


class WhatIf:
    """Keeps the models of a page and their plans while only numbers move."""

    def __init__(self, shop: Shop) -> None:
        self.shop = shop
        self._job: Job | None = None
        self._models: dict[str, tuple[JobCost, Plan]] = {}

    def trial(self, job: Job, finish: str, numbers: Mapping[str, float]) -> Trial:
        """Try a job in a finish, with numbers moved; `BadInput` where it cannot be costed."""
        if job != self._job:
            self._models.clear()
            self._job = job
        if finish not in self._models:
            model = JobCost.of(self.shop, job, finish=finish)
            self._models[finish] = (model, Plan(model, known_of(self.shop, model)))
        model, plan = self._models[finish]
        return Trial(model, dict(numbers), job, finish, plan)
