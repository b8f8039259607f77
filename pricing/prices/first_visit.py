"""The first visit: which question would make the price list surest now, and how sure it is.

Takes    a shop made from the demo, its items, and which questions were answered.
Gives    questions, the one first that takes most doubt off the list; the shop with an answer in it.
Model    the log of a row's cost is a straight line in every number near what stands in the shop; doubts of unlike
         numbers add up in squares. How much a number moves a row is found by moving it by its standard deviation.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from pricing.basis.errors import BadInput, Problem
from pricing.basis.facts import fact
from pricing.basis.same import Same
from pricing.costing.strata import sd_of
from pricing.parts.items import Item
from pricing.prices.row_costs import base_colours, costs_of, groups
from pricing.prices.shop_questions import NINE_IN_TEN, book_with, now_of, settings
from pricing.shop.shop import Book, Shop

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Question:
    """A number of the shop that may be asked for.

    Parameters
    ----------
    key : str
        Of the rate book, or of ``first_visit.csv``.
    asks : str
        The question, where one is written down; empty for a rate, which has a name in words.
    unit : str
        As the model keeps it.
    now, low, high : float
        What stands in the shop, and its doubt. [unit]
    moves : float
        By how much of itself the list's median row lies off for want of it, in nine of ten shops.
    weight : float
        Its share of the list's doubt, 0 to 1.
    """

    key: str
    asks: str
    unit: str
    now: float
    low: float
    high: float
    moves: float
    weight: float


@dataclass(frozen=True, slots=True)
class Visit:
    """How things stand: how sure the list is, and what would make it surer, the best first.

    Parameters
    ----------
    sure_within : float
        Nine in ten prices lie within this share of what they would be if all were known; the median row.
    questions : tuple of Question
        What was not asked yet.
    """

    sure_within: float
    questions: tuple[Question, ...]


def visit(shop: Shop, items: Mapping[str, Item], answered: Iterable[str] = (), unknown: Iterable[str] = ()) -> Visit:
    """Look at the list's doubt as it stands.

    Parameters
    ----------
    shop : Shop
        With the answers that were given.
    items : mapping of str to Item
        What is sold.
    answered, unknown : iterable of str
        Keys that were answered (their doubt is that of an answer), and keys of which the owner knows no better (their
        doubt stays, and they are not asked again).

    Raises
    ------
    BadInput
        Nothing is sold.
    """
    if not items:
        raise BadInput("first visit", [Problem("items", "none", "at least one", "Write one into items.csv.")])
    answered, asked = set(answered), {*answered, *unknown}
    found = doubts(shop, items)
    keys = list(found)
    kept = np.array([_kept(key) if key in answered else 1.0 for key in keys])
    after = (np.array(list(found.values())) * kept[:, None]) ** 2
    whole = float(np.mean(after.sum(axis=0)))
    order = [
        at for at in np.argsort(-after.mean(axis=1), kind="stable") if keys[at] not in asked and _may_be_asked(keys[at])
    ]
    return Visit(
        float(NINE_IN_TEN * np.median(np.sqrt(after.sum(axis=0)))),
        tuple(
            _question(shop, keys[at], after[at], whole) for at in order if after[at].any() and _may_be_asked(keys[at])
        ),
    )


def doubts(shop: Shop, items: Mapping[str, Item]) -> dict[str, Array]:
    """Work out by how much the log of each row's cost moves, when one number moves by its standard deviation.

    Parameters
    ----------
    shop, items
        As in `visit`.

    Returns
    -------
    dict of str to (rows,) array
        By key; all single-tone rows, then all two-tone.
    """
    sold = tuple(Same(item) for item in items.values())
    return {key: _moved(Same(shop), sold, key) for key in _keys(shop)}


def rows_cost(shop: Shop, items: Sequence[Item], book: Book) -> Array:
    """Work out what one unit of each row of the list costs: all single-tone rows, then all two-tone. [money]

    Parameters
    ----------
    shop : Shop
        The shop.
    items : sequence of Item
        What is sold.
    book : mapping
        Its numbers.
    """
    found = []
    for column in ("single", "two_tone"):
        out = np.empty(len(items))
        for finish, places in groups(shop, items, column).items():
            chosen = tuple(items[at] for at in places)
            out[places] = costs_of(shop, chosen, finish, base_colours(shop, finish)[:1], (1,), book).total[:, 0]
        found.append(out)
    return np.concatenate(found)


def _may_be_asked(key: str) -> bool:
    """How a plan comes out nobody knows beforehand; the plan itself is asked for."""
    return not key.startswith("plan.")


def _keys(shop: Shop) -> list[str]:
    there = [key for key in settings() if not (key.startswith("helper.") and shop.helper is None)]
    guesses = [key for key, row in shop.uncertain.items() if row.kind != "measured"]
    return [*there, *guesses]


@lru_cache(maxsize=4096)
def _moved(shop: Same[Shop], items: tuple[Same[Item], ...], key: str) -> Array:
    """How far each row moves, as a log, when a number moves by its standard deviation."""
    sold = [item.thing for item in items]
    low, high = _one_sd(shop.thing, key)
    costs = [np.log(rows_cost(shop.thing, sold, book_with(shop.thing, key, value))) for value in (low, high)]
    return np.asarray((costs[1] - costs[0]) / 2)


def _one_sd(shop: Shop, key: str) -> tuple[float, float]:
    now = now_of(shop, key)
    if key in settings():
        by = float(np.exp(settings()[key].log_sd))
        return now / by, min(now * by, 1.0) if settings()[key].unit == "share" else now * by
    sd = min(sd_of(shop.uncertain[key]), now)
    return now - sd * (1 - 1e-9), now + sd


def _kept(key: str) -> float:
    """What is left of the doubt of a number that was answered; a rate has its new doubt in its own points by now."""
    if key not in settings():
        return 1.0
    return min(1.0, fact("first_visit.answer_error") / NINE_IN_TEN / settings()[key].log_sd)


def _question(shop: Shop, key: str, variance: Array, whole: float) -> Question:
    now, moves = now_of(shop, key), float(NINE_IN_TEN * np.median(np.sqrt(variance)))
    weight = float(variance.mean()) / whole if whole else 0.0
    if key in settings():
        asked = settings()[key]
        return Question(key, asked.asks, asked.unit, now, asked.low * now, asked.high * now, moves, weight)
    row = shop.uncertain[key]
    return Question(key, "", row.unit, now, row.low, row.high, moves, weight)
