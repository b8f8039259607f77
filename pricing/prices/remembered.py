"""Jobs the owner remembers, as evidence: what each took speaks of speed, what it brought of the share of hours booked.

Takes    three to ten jobs: an item of the list, how many, the price without tax, the hours.
Gives    tables of the shop with rates and booked share moved towards what was remembered, and narrower.
Model    log-normal throughout. Hours: the logarithm of hours over those of the model is a weighted sum of how far each
         rate of hands lies off its guess, in its own standard deviations, plus the doubt of a memory; rates of one
         owner are alike, so that a slow job speaks of the steps that are not in it too. One linear update (a Kalman
         gain) for all jobs at once. Booked share: what a job left for each of its hours, against what it should
         leave by the plan, says how many hours are paid for; prices remembered differ from each other and from those
         of a usual year, each by its doubt.
Data     ``remembered.*`` in ``data/facts.csv``.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np

from pricing.basis.checks import Floats
from pricing.basis.errors import Problem, gathered, not_known
from pricing.basis.facts import fact
from pricing.costing.sheet import CostSheet, cost
from pricing.costing.strata import is_certain, one_sd
from pricing.parts.items import Item
from pricing.parts.job import job_of_item
from pricing.prices.first_visit import questions, with_spread
from pricing.shop.shop import Shop

FEWEST, MOST = 3, 10
"""Jobs that may speak together."""
_SOURCE = "remembered_jobs"
_PLANNED = "plan.booked_share"
_BOOKED = "owner.billable"


class Remembered(NamedTuple):
    """A job as it is remembered.

    Parameters
    ----------
    item, column : str
        Row of the list.
    units : int
        How many.
    price : float
        What it brought, without tax. [money]
    hours : float
        What owner and helper worked on it. [h]
    """

    item: str
    column: str
    units: int
    price: float
    hours: float


class Evidence(NamedTuple):
    """What remembered jobs say.

    Parameters
    ----------
    tables : mapping
        Tables of the shop, as they become.
    pace : float
        Hours remembered over those the model expected before, geometric mean of the jobs.
    booked : float
        Share of the owner's hours that is booked, after.
    """

    tables: Mapping[str, Any]
    pace: float
    booked: float


def evidence(shop: Shop, items: Mapping[str, Item], jobs: Sequence[Remembered]) -> Evidence:
    """Let three to ten remembered jobs speak.

    Raises
    ------
    BadInput
        There are too few or too many, or one has no item of the list, no price or no hours.
    """
    _check(items, jobs)
    keys = [key for key, row in shop.rates.items() if key.endswith(".hands") and not is_certain(row)]
    ends = {key: one_sd(shop.rates[key]) for key in keys}
    book: dict[str, Floats] = dict(shop.book)
    for at, (key, (low, high)) in enumerate(ends.items()):
        moved = np.full(2 * len(keys), shop.book[key])
        moved[2 * at : 2 * at + 2] = low, high
        book[key] = moved
    weights, off, paid = [], [], []
    for job in jobs:
        what = job_of_item(items[job.item], units=job.units, column=job.column)
        usual = cost(shop, what)
        minutes = np.log(np.broadcast_to(cost(shop, what, book=book).minutes, (2 * len(keys),)))
        weights.append((minutes[1::2] - minutes[::2]) / 2)
        off.append(np.log(60 * job.hours / float(usual.minutes)))
        paid.append(_paid(job, usual))
    moved_sd, left = _updated(np.array(weights), np.array(off))
    source = shop.sources[_SOURCE]
    rates = dict(shop.rates)
    for at, (key, (low, high)) in enumerate(ends.items()):
        spread = (high - low) / (high + low)
        row = with_spread(rates[key], rates[key].mean * float(np.exp(spread * moved_sd[at])), spread * float(left[at]))
        rates[key] = replace(row, source=source, where=f"{len(jobs)} jobs")
    tables: dict[str, Any] = {"rates": rates}
    booked = shop.owner.billable
    if _PLANNED in shop.assumptions:
        factor, spread = _booked(shop, np.log(np.array(paid)))
        factor = min(factor, 0.98 / shop.owner.billable)
        row = replace(with_spread(shop.assumptions[_PLANNED], factor, spread), source=source, where=f"{len(jobs)} jobs")
        tables["assumptions"] = {**shop.assumptions, _PLANNED: row}
        booked *= factor
    return Evidence(tables, float(np.exp(np.mean(off))), booked)


def _check(items: Mapping[str, Item], jobs: Sequence[Remembered]) -> None:
    with gathered("remembered jobs") as bad:
        if not FEWEST <= len(jobs) <= MOST:
            bad.append(Problem("jobs", len(jobs), f"{FEWEST} to {MOST}", "Fewer say little; more are for the log."))
        for place, job in enumerate(jobs, 1):
            if job.item not in items:
                bad.append(not_known(f"job {place}: item", job.item, items))
            named = (("units", job.units), ("price", job.price), ("hours", job.hours))
            bad.extend(Problem(f"job {place}: {name}", value, "above 0") for name, value in named if not value > 0)


def _updated(weights: "np.ndarray[Any, Any]", off: "np.ndarray[Any, Any]") -> "tuple[Any, Any]":
    """Collect by how many standard deviations each rate moves, and what is left of its own."""
    alike, doubt = fact("remembered.likeness", "dimensionless"), fact("remembered.hours_doubt", "dimensionless")
    before = np.full((weights.shape[1],) * 2, alike)
    np.fill_diagonal(before, 1.0)
    spread = weights @ before @ weights.T + doubt**2 * np.eye(len(off))
    gain = np.linalg.solve(spread, weights @ before).T
    after = before - gain @ weights @ before
    return gain @ off, np.sqrt(np.diag(after))


def _paid(job: Remembered, usual: CostSheet) -> float:
    """Work out hours paid for over those planned: what the job should leave for an hour over what it left."""
    due = float(usual.total - usual.cash) / float(usual.minutes)
    left = max(job.price - float(usual.cash), 0.05 * job.price)
    return due / (left / (60 * job.hours))


def _booked(shop: Shop, off: "np.ndarray[Any, Any]") -> tuple[float, float]:
    """Work out the booked share over the planned one, and its standard deviation as a share of it."""
    low, high = one_sd(shop.assumptions[_PLANNED])
    mean, variance = np.log((high + low) / 2), ((high - low) / (high + low)) ** 2
    question = questions(shop)[_BOOKED]
    if not question.known(shop):
        variance += ((question.high - question.low) / 6) ** 2
    heard = (fact("remembered.price_doubt", "dimensionless") ** 2) / len(off)
    heard += fact("remembered.year_doubt", "dimensionless") ** 2
    weight = variance / (variance + heard)
    return float(np.exp(mean + weight * (off.mean() - mean))), float(np.sqrt(variance * (1 - weight)))
