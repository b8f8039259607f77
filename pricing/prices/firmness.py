"""How firm a price list is, and which question would firm it most: worked out for this shop, after every answer.

Takes    a shop, its items, what is uncertain: the rate book's three points, and facts of the shop not yet asked.
Gives    within how many per cent the prices are sure, what each number moves, and the question to ask next.
Why      of a hundred uncertain numbers a few carry most of the variance, and not the same ones in every shop.
Method   each number is moved one standard deviation down and up (its 16th and 84th percentile) and the list is costed
         again, all at once as arrays; half the difference of the logarithm of a row's cost is what the number does to
         it. Squares add up, since the numbers are drawn apart: a row's variance. Its root, mean over the rows,
         is how firm the list is: a mean of squares would look at the few worst rows. Margin and tax move no logarithm.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from pricing.basis.arrays import Array
from pricing.basis.checks import Floats
from pricing.basis.errors import BadInput, Problem
from pricing.costing.strata import is_certain, one_sd
from pricing.parts.items import Item
from pricing.prices.first_visit import VisitQuestion, questions
from pricing.prices.row_costs import groups, log_costs
from pricing.shop.own_prices import COLUMNS
from pricing.shop.shop import Shop
from pricing.shop.visit import is_sold

ORDERS = (1, 10)
"""Orders in which each row is looked at: one, where work by the job counts, and ten, where that by the piece does."""
_NINE_IN_TEN = 1.6448536269514722  # of a normal, either side


@dataclass(frozen=True)
class Firmness:
    """What the uncertain numbers do to the list.

    Parameters
    ----------
    shop : Shop
        Whose list.
    rows : tuple of (Item, str)
        Item and column of each row.
    effects : mapping of (rows, orders) arrays
        What one standard deviation of each number does to the logarithm of each cost.
    spreads : mapping of float
        That standard deviation, as a share of the number.
    doubt : float, optional
        Of every answer to come, in place of the doubt of its question.
    """

    shop: Shop
    rows: tuple[tuple[Item, str], ...]
    effects: Mapping[str, Array]
    spreads: Mapping[str, float]
    doubt: float | None = None

    @cached_property
    def questions(self) -> Mapping[str, VisitQuestion]:
        """Every question, by key."""
        return questions(self.shop)

    @cached_property
    def variance(self) -> Array:
        """Of the logarithm of each cost, (rows, orders)."""
        return sum((effect**2 for effect in self.effects.values()), np.zeros((len(self.rows), len(ORDERS))))

    @cached_property
    def sd(self) -> float:
        """Standard deviation of the logarithm of a cost, mean over rows and orders."""
        return float(np.sqrt(self.variance).mean())

    @property
    def within(self) -> float:
        """Nine in ten prices lie no farther than this from what they would be if all was known. [share]"""
        return _within(self.sd)

    def gain(self, *keys: str) -> float:
        """Work out by how much answers to questions make the mean standard deviation smaller."""
        left = self.variance
        for key in keys:
            question = self.questions[key]
            doubt = question.doubt if self.doubt is None else self.doubt
            names = [name for name in (key, *question.settles) if name in self.effects]
            spread = np.hypot.reduce([self.spreads[name] for name in names]) if names else 1.0
            kept = doubt**2 / (doubt**2 + spread**2) if question.joins else min(1.0, (doubt / spread) ** 2)
            for name in names:
                left = left - self.effects[name] ** 2 * (1 - kept)
        return self.sd - float(np.sqrt(np.maximum(left, 0.0)).mean())

    def after(self, *keys: str) -> float:
        """Work out within how many per cent the prices would be sure after answers to questions. [share]"""
        return _within(self.sd - self.gain(*keys))

    @cached_property
    def order(self) -> tuple[str, ...]:
        """Keys of the questions that were not asked yet, the one that firms most first."""
        open_ = [key for key, question in self.questions.items() if not question.asked(self.shop)]
        return tuple(sorted(open_, key=self.gain, reverse=True))

    @cached_property
    def breaths(self) -> tuple[tuple[str, ...], ...]:
        """Those questions, together where they are asked in one breath, and again what firms most first."""
        found: dict[str, tuple[str, ...]] = {}
        for key, question in self.questions.items():
            if not question.asked(self.shop):
                found[question.lead] = (*found.get(question.lead, ()), key)
        return tuple(sorted(found.values(), key=lambda keys: self.gain(*keys), reverse=True))

    def moved(self, *keys: str) -> tuple[float, float, tuple[Item, str] | None]:
        """Tell what the numbers of questions move: a share of the prices as a rule, and of the row that they move most.

        The row comes third, None where they move nothing.
        """
        square = np.zeros((len(self.rows), len(ORDERS)))
        for name in (name for key in keys for name in (key, *self.questions[key].settles)):
            square = square + self.effects.get(name, 0.0) ** 2
        by_row = square.mean(axis=1)
        most = int(by_row.argmax())
        row = self.rows[most] if by_row[most] > 0 else None
        return float(np.expm1(np.sqrt(by_row.mean()))), float(np.expm1(np.sqrt(by_row[most]))), row


def _within(sd: float) -> float:
    return float(np.expm1(_NINE_IN_TEN * sd))


def firmness(shop: Shop, items: Mapping[str, Item], *, doubt: float | None = None) -> Firmness:
    """Work out how firm the list of a shop is, by what it sells of the items; nothing sold is refused."""
    sold = tuple(item for key, item in items.items() if is_sold(shop.visited, key))
    if not sold:
        raise BadInput("first visit", [Problem("what is sold", "nothing", "one item at least", "Tick one.")])
    ends = _ends(shop)
    width = 2 * len(ends)
    book: dict[str, Floats] = dict(shop.book)
    spreads: dict[str, float] = {}
    for at, (name, (low, high, spread)) in enumerate(ends.items()):
        spreads[name] = spread
        for place, moved in ((2 * at, low), (2 * at + 1, high)):
            for key, value in moved.items():
                if isinstance(book[key], float):
                    book[key] = np.full((width, 1), book[key])
                book[key][place] = value  # type: ignore[index]  # an array since the line above
    rows: list[tuple[Item, str]] = []
    logs = []
    for column in COLUMNS:
        for finish, places in groups(shop, sold, column).items():
            members = tuple(sold[place] for place in places)
            rows += [(item, column) for item in members]
            found = np.broadcast_to(log_costs(shop, members, finish, ORDERS, book), (width, len(members) * len(ORDERS)))
            logs.append(found.reshape(width, len(members), len(ORDERS)))
    whole = np.concatenate(logs, axis=1)
    half = (whole[1::2] - whole[::2]) / 2
    return Firmness(shop, tuple(rows), dict(zip(ends, half, strict=True)), spreads, doubt)


_Moved = Mapping[str, float]


def _ends(shop: Shop) -> dict[str, tuple[_Moved, _Moved, float]]:
    """Numbers of the book with each uncertain one a standard deviation down, and up, and that as a share of it."""
    found: dict[str, tuple[_Moved, _Moved, float]] = {}
    for key, points in shop.uncertain.items():
        if not is_certain(points):
            low, high = one_sd(points)
            found[key] = ({key: low}, {key: high}, _spread(low, high))
    for key, question in questions(shop).items():
        value = 0.0 if question.of_book else question.value(shop)
        if not value:
            continue
        if question.known(shop):
            if question.settles:
                continue  # what is left of the doubt lies in them
            low, high = value * (1 - question.doubt), min(value * (1 + question.doubt), question.within.most)
        else:
            low, high = one_sd(question.points(shop))
        found[key] = (_differs(shop, question, low), _differs(shop, question, high), _spread(low, high))
    return found


def _spread(low: float, high: float) -> float:
    return (high - low) / (high + low) if high + low else 1.0


def _differs(shop: Shop, question: VisitQuestion, value: float) -> dict[str, float]:
    from dataclasses import replace

    tables = {
        name: table for name, table in question.put(shop, value).items() if name not in {"rates", "assumptions"}
    }  # without what it settles, which is moved by itself
    book = replace(shop, **tables).book
    return {key: number for key, number in book.items() if number != shop.book[key]}
