"""The prices that earn most: one multiple for the whole list, a price for each row, and what a scarce hour is worth.

Takes    a `Market`.
Gives    the multiple that brings the largest share of what could be had, in the mean over the curves that may be true,
         with its range and what it does (the middle of what is best for each curve would be bold: who is wrong about
         customers that mind the price loses most of them); and row by row the price that leaves most over cash and
         the worth of the hours the order takes.
Worth    of an hour: the mean dual of the week's programme over random weeks at the very prices advised, found together
         with them, so that list, worth and booked hours agree. An order is worth taking when it leaves more over cash
         than its hours are worth: that is its bid price. (Randomised linear programme; from memory.)
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from pricing.basis.arrays import Array
from pricing.basis.facts import fact
from pricing.costing.capacity import HELPER, OWNER, WantedWork, worth_now
from pricing.prices.next_trial import NextTrial, best_for_all, next_trial
from pricing.prices.selling import Market, SoldLine, Weeks

_CURVES, _SEED = 300, 20261126
_PLACES = 121
_WEEKS, _ROUNDS = 8, 24
_ENDS = (0.1, 0.9)


class RowAdvice(NamedTuple):
    """One line of the week: its price now, the one that leaves most with its range, the least worth taking. [money]"""

    name: str
    now: float
    advised: float
    low: float
    high: float
    least: float


@dataclass(frozen=True, slots=True)
class Advice:
    """What to ask.

    Parameters
    ----------
    multiple, low, high : float
        Times today's list; 8 of 10 curves that may be true have their best between low and high.
    more_per_week, more_low, more_high : float
        What a week then leaves more than today, and its range. [money/week]
    lost_of_ten : float
        Quotes of ten that are lost more than today.
    booked : float
        Share of the orders won that the hours allow, at the advised prices.
    load : float
        Hours wanted of the scarcest resource over those there, at today's prices.
    scarce : str
        Which that is.
    worth_per_h : mapping of str to float
        Worth of one more hour of each resource, at the advised prices. [money/h]
    apart : float
        How far the worth moved in the last round, as a share of it; small where list and worth agree.
    rows : tuple of RowAdvice
        Line by line.
    quotes : int
        Won and lost quotes behind it.
    untried : bool
        Whether the advised prices lie beyond all that were asked.
    trial : NextTrial or None
        What to try next; None where nothing is to be gained.
    """

    multiple: float
    low: float
    high: float
    more_per_week: float
    more_low: float
    more_high: float
    lost_of_ten: float
    booked: float
    load: float
    scarce: str
    worth_per_h: Mapping[str, float]
    apart: float
    rows: tuple[RowAdvice, ...]
    quotes: int
    untried: bool
    trial: NextTrial | None


def advise(market: Market) -> Advice:
    """Work out what to ask."""
    curves = market.curve.drawn(_CURVES, _SEED)
    grid = multiples()
    by, low, high, trial, found = for_the_list(market, curves, grid)
    best = int(np.argmin(np.abs(grid - by)))
    now = market.weeks(curves, np.ones(1))
    more = found.left[:, best] - now.left[:, 0]
    worst = int(np.argmax(np.median(now.loads[:, 0, :], axis=0)))
    worth, apart, rows = _by_row(market, curves, grid)
    least, most = (float(end) for end in np.quantile(more, _ENDS))
    asked = by * float(np.median([line.price / line.cost for line in market.lines]))
    return Advice(
        multiple=by,
        low=low,
        high=high,
        more_per_week=float(more.mean()),
        more_low=least,
        more_high=most,
        lost_of_ten=10 * float((now.won[:, 0] - found.won[:, best]).mean()),
        booked=float(found.booked[:, best].mean()),
        load=float(np.median(now.loads[:, 0, worst])),
        scarce=market.resources[worst],
        worth_per_h=worth,
        apart=apart,
        rows=rows,
        quotes=market.curve.quotes,
        untried=not market.curve.low <= asked <= market.curve.high,
        trial=trial,
    )


class ForTheList(NamedTuple):
    """Times the list: what to ask and its range; what to try next; and weeks at all multiples."""

    multiple: float
    low: float
    high: float
    trial: NextTrial | None
    weeks: Weeks


def for_the_list(market: Market, curves: Array, grid: Array) -> ForTheList:
    """Choose one of the multiples (m,) for the whole list, by curves (k, 2), level and slope, and what to try next."""
    found = market.weeks(curves, grid)
    by = float(grid[best_for_all(found.left)])
    low, high = (float(end) for end in np.quantile(grid[np.argmax(found.left, axis=1)], _ENDS))
    low, high = min(low, by), max(high, by)
    comes = float(market.enquiries(curves).sum(axis=1).mean())
    return ForTheList(by, low, high, next_trial(found.left, found.won, grid, (low, high), comes), found)


def multiples() -> Array:
    """Return the multiples of today's list that are looked at."""
    most = fact("advise.most_step")
    return np.exp(np.linspace(-np.log(most), np.log(most), _PLACES))


def best_multiples(market: Market, curves: Array, grid: Array, worth: Mapping[str, float]) -> tuple[Array, Array]:
    """Choose the best multiple of each line (i,) in the mean over the curves, and of each curve (k, i).

    ``curves`` are (k, 2), level and slope; ``grid`` are multiples (m,); ``worth`` is of an hour by resource. [money/h]
    """
    leaves = what_is_left(market, curves, grid, worth)
    return grid[np.argmax(leaves.mean(axis=0), axis=0)], grid[np.argmax(leaves, axis=1)]


def what_is_left(market: Market, curves: Array, grid: Array, worth: Mapping[str, float]) -> Array:
    """Work out what a week of each line leaves over cash and its hours' worth, at multiples of its price (k, m, i)."""
    price = np.array([line.price for line in market.lines]) * grid[:, None]
    cost = np.array([line.cost for line in market.lines])
    floor = np.array([line.cash + hours_worth(line, worth) for line in market.lines])
    left: Array = market.enquiries(curves)[:, None, :] * market.chances(curves, price / cost) * (price - floor)
    return left


def hours_worth(line: SoldLine, worth: Mapping[str, float]) -> float:
    """Work out what the hours of one order are worth, by the worth of an hour of each resource. [money, money/h]"""
    either = min(worth.get(OWNER, 0.0), worth.get(HELPER, worth.get(OWNER, 0.0)))
    return sum(worth.get(name, 0.0) * hours for name, hours in line.hours.items()) + either * line.either_h


def _by_row(market: Market, curves: Array, grid: Array) -> tuple[dict[str, float], float, tuple[RowAdvice, ...]]:
    """Move prices and the worth of hours until they agree."""
    draw = np.random.default_rng(_SEED)
    luck = draw.random((_WEEKS, len(market.lines)))
    worth: dict[str, float] = {}
    apart = 0.0
    for turn in range(_ROUNDS):
        times, each = best_multiples(market, curves, grid, worth)
        new = worth_of_hours(market, curves, times if worth else np.ones(len(market.lines)), luck)
        size = max(sum(abs(value) for value in new.values()), 1e-9)
        apart = sum(abs(new[name] - worth.get(name, 0.0)) for name in new) / size
        part = 2 / (turn + 2)  # the mean of what comes out settles, where each single one may jump
        worth = {name: worth.get(name, 0.0) + part * (value - worth.get(name, 0.0)) for name, value in new.items()}
    times, each = best_multiples(market, curves, grid, worth)
    ends = np.quantile(each, _ENDS, axis=0)
    rows = []
    for line, by, low, high in zip(market.lines, times.tolist(), *ends.tolist(), strict=True):
        price, least = line.price, line.cash + hours_worth(line, worth)
        rows.append(RowAdvice(line.name, price, price * by, price * min(low, by), price * max(high, by), least))
    return worth, apart, tuple(rows)


def worth_of_hours(market: Market, curves: Array, times: Array, luck: Array) -> dict[str, float]:
    """Collect the mean worth of one more hour of each resource over random weeks. [money/h]

    In the mean of curves (k, 2), at so many times today's prices (i,); ``luck`` (w, i) are even numbers from 0 to 1,
    one a random week and line.
    """
    from scipy.stats import poisson  # heavy: only where advice is asked

    comes = market.enquiries(curves)
    price = np.array([line.price for line in market.lines]) * times
    ratio = price / np.array([line.cost for line in market.lines])
    won = (comes * market.chances(curves, ratio)).mean(axis=0)
    waits = fact("advise.waits")
    answered = float((comes.mean(axis=0) * np.array([line.enquiry_h for line in market.lines])).sum())
    hours = dict(market.hours) | {OWNER: max(market.hours[OWNER] - answered, 0.0)}
    total = dict.fromkeys(hours, 0.0)
    for row in luck:
        orders = poisson.ppf(row, won * waits) / waits
        works = [
            WantedWork(line.name, float(count), float(p - line.cash), line.hours, line.either_h)
            for line, count, p in zip(market.lines, orders, price, strict=True)
        ]
        for name, value in worth_now(works, hours).items():
            total[name] += value / len(luck)
    return total
