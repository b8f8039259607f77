"""A week of enquiries at any price: how many are won, which hours they take, what is booked and what it leaves.

Takes    offers of the week, a win curve, and the hours there are.
Gives    a `Market`: for prices that are multiples of today's, and for many curves at once, the chance to win, the share
         of what is won that the hours allow, and what a week leaves after cash.
Model    enquiries come at random; those won at today's prices are the orders of ``week.csv``. Work that waits fills
         slack weeks, as long as customers wait (``advise.waits``): of the hours D that are won in that time, the
         hours H take E min(D, H), with D normal. An enquiry costs its minutes, won or lost. Hours that helper or
         owner may do count for both together.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from pricing.basis.arrays import Array
from pricing.basis.facts import fact
from pricing.costing.capacity import HELPER, OWNER
from pricing.prices.week import Offer, work_of

TOGETHER = "owner and helper"
_LEAST_CHANCE = 0.02  # a week of orders that nobody wins says nothing of enquiries


class WinCurve(NamedTuple):
    """Log odds to win: at price = full cost, for each log unit of price, what kinds differ by; and how sure that is.

    The log of the shop gives it (`pricing.ledger.winning`); its field ``quotes`` says from how many, ``low`` and
    ``high`` from which prices over full cost.
    """

    level: float
    slope: float
    covariance: Array
    kinds: Mapping[str, float]
    quotes: int
    low: float = 0.0
    high: float = np.inf

    def drawn(self, count: int, seed: int) -> Array:
        """Draw curves that may be true (count, 2), none of them with customers who like to pay more."""
        found = np.random.default_rng(seed).multivariate_normal([self.level, self.slope], self.covariance, 4 * count)
        sound = found[found[:, 1] < -fact("advise.least_slope")]
        if not len(sound):
            return np.array([[self.level, -fact("advise.least_slope")]])
        return np.asarray(sound[:count])


class SoldLine(NamedTuple):
    """One line of the week: name, kinds, price now, full cost and cash of an order [money], orders a week, hours."""

    name: str
    kinds: tuple[str, ...]
    price: float
    cost: float
    cash: float
    orders: float
    hours: Mapping[str, float]
    either_h: float
    enquiry_h: float


def sold_line(offer: Offer, hours: Mapping[str, float]) -> SoldLine:
    """Return one line of the week as a market needs it; ``hours`` name the resources."""
    work, sheet = work_of(offer, hours), offer.sheet
    asking_h = sum(float(line.minutes) for line in sheet.lines if line.step == "enquiry") / 60.0
    each = asking_h / max(float(sheet.book["enquiries.per_job"]), 1.0)
    needs = dict(work.hours) | {OWNER: max(work.hours[OWNER] - asking_h, 0.0)}
    kind = "two-tone" if sheet.finish.colours > 1 else "single-tone"
    return SoldLine(
        offer.wanted.name,
        (kind, offer.wanted.item.key),
        offer.price,
        offer.quote.cost,
        float(sheet.cash - sheet.wages),
        offer.wanted.orders,
        needs,
        work.either,
        each,
    )


class Weeks(NamedTuple):
    """Weeks at some prices, for each curve (k, m): what one leaves [money], share booked, share of enquiries won."""

    left: Array
    booked: Array
    won: Array
    loads: Array


@dataclass(frozen=True)
class Market:
    """A week's lines, the hours there are, and the curve.

    Parameters
    ----------
    lines : tuple of SoldLine
        Of the week.
    hours : mapping of str to float
        There are, by resource. [h/week]
    curve : WinCurve
        Chance to win.
    """

    lines: tuple[SoldLine, ...]
    hours: Mapping[str, float]
    curve: WinCurve

    @classmethod
    def of(cls, offers: Sequence[Offer], hours: Mapping[str, float], curve: WinCurve, times: float = 1.0) -> "Market":
        """Make it of the offers of a shop's week, so many times its orders."""
        lines = tuple(sold_line(offer, hours) for offer in offers)
        return cls(tuple(line._replace(orders=line.orders * times) for line in lines), hours, curve)

    @cached_property
    def resources(self) -> tuple[str, ...]:
        """What can run out: people, both together, machines."""
        return (*(name for name in self.hours if name != HELPER), *((TOGETHER,) if HELPER in self.hours else ()))

    @cached_property
    def needs(self) -> Array:
        """Hours (i, r) of one order of each line."""

        def of(line: SoldLine, name: str) -> float:
            if name == TOGETHER:
                return line.hours.get(OWNER, 0.0) + line.either_h
            return line.hours.get(name, 0.0)

        return np.array([[of(line, name) for name in self.resources] for line in self.lines])

    def chances(self, curves: Array, ratio: Array) -> Array:
        """Work out the chance (k, ..., i) to win at prices over full cost (..., i), for each curve (k, 2)."""
        kinds = np.array([sum(self.curve.kinds.get(kind, 0.0) for kind in line.kinds) for line in self.lines])
        level, slope = (curves[:, at].reshape(-1, *[1] * ratio.ndim) for at in (0, 1))
        return np.asarray(1 / (1 + np.exp(-(level + kinds + slope * np.log(ratio)))))

    def enquiries(self, curves: Array) -> Array:
        """Enquiries a week (k, i): the orders of the week over the chance to win them at today's prices."""
        today = np.array([line.price / line.cost for line in self.lines])
        won = np.maximum(self.chances(curves, today), _LEAST_CHANCE)
        return np.asarray(np.array([line.orders for line in self.lines]) / won)

    def there(self, enquiries: Array) -> Array:
        """Hours (k, r) that are left for work when enquiries are answered."""
        answering = enquiries @ np.array([line.enquiry_h for line in self.lines])
        both = self.hours[OWNER] + self.hours.get(HELPER, 0.0)
        base = np.array([both if name == TOGETHER else self.hours[name] for name in self.resources])
        people = np.array([name in {OWNER, TOGETHER} for name in self.resources])
        return np.asarray(np.maximum(base - answering[:, None] * people, 1e-6))

    def weeks(self, curves: Array, multiples: Array) -> Weeks:
        """Return weeks by curve (k, 2), level and slope, at multiples of all today's prices (m,) or of each (m, i)."""
        from scipy.special import ndtr  # heavy: only where advice is asked

        times = np.broadcast_to(multiples.reshape(len(multiples), -1), (len(multiples), len(self.lines)))
        price = np.array([line.price for line in self.lines]) * times
        cash, cost = (np.array([getattr(line, name) for line in self.lines]) for name in ("cash", "cost"))
        comes = self.enquiries(curves)
        won = comes[:, None, :] * self.chances(curves, price / cost)
        wanted = won @ self.needs
        spread = np.sqrt(won @ self.needs**2 / fact("advise.waits") + 1e-12)
        there = self.there(comes)[:, None, :]
        at = (wanted - there) / spread
        over = (wanted - there) * ndtr(at) + spread * np.exp(-(at**2) / 2) / np.sqrt(2 * np.pi)
        share = np.min(np.where(wanted > 0, 1 - over / np.maximum(wanted, 1e-12), 1.0), axis=2).clip(0.0, 1.0)
        left = share * ((price - cash) * won).sum(axis=2)
        return Weeks(left, share, won.sum(axis=2) / comes.sum(axis=1)[:, None], wanted / there)
