"""What a new owner is asked about the shop itself, and answers put into it.

Takes    a shop and an answer, in the unit of the question.
Gives    the shop with the answer in it, or its numbers alone. Rates are asked for by their key in the rate book.
"""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np

from pricing.basis.errors import BadInput, Problem, nearest
from pricing.basis.facts import data_folder, fact
from pricing.basis.files import read_table
from pricing.basis.records import range_of
from pricing.basis.tongue import LARGEST, Range
from pricing.shop.shop import Book, Shop

NINE_IN_TEN = 1.6448536269514722  # standard deviations of a normal
_COLUMNS = ("key", "asks", "unit", "low", "high", "source", "note")


class Setting(NamedTuple):
    """A number of ``shop.toml`` that a new owner is asked for; its doubt as factors on what the demo has."""

    key: str
    asks: str
    unit: str
    low: float
    high: float

    @property
    def log_sd(self) -> float:
        """Standard deviation of its logarithm: nine in ten owners lie between low and high."""
        return float(np.log(self.high / self.low)) / (2 * NINE_IN_TEN)


@lru_cache(maxsize=1)
def settings() -> Mapping[str, Setting]:
    """Read the questions about the shop itself, ``data/first_visit.csv``, by key."""
    rows = read_table(data_folder() / "first_visit.csv", _COLUMNS)
    return {
        row["key"]: Setting(row["key"], row["asks"], row["unit"], float(row["low"]), float(row["high"])) for row in rows
    }


def with_answer(shop: Shop, key: str, value: float, *, error: float | None = None) -> Shop:
    """Put an answer into the shop.

    Parameters
    ----------
    shop : Shop
        The shop.
    key : str
        Of a question.
    value : float
        [its unit]
    error : float, optional
        How far an answer may be off, as a share; by default as ``data/facts.csv`` has it.

    Raises
    ------
    BadInput
        There is no such question, or the value does not fit.
    """
    if key in settings():
        return _with_setting(shop, key, value)
    row = shop.uncertain.get(key)
    if row is None:
        mend = nearest(key, [*settings(), *shop.uncertain])
        raise BadInput("first visit", [Problem("question", key, "one of those that are asked", mend)])
    off = min(fact("first_visit.answer_error") if error is None else error, (row.high - row.low) / (2 * row.mean))
    low, high = value * (1 - off), value * (1 + off)
    if row.unit == "share":
        high = min(high, 1.0)
        low = max(0.0, 2 * value - high)
    if key.startswith("film."):
        name = key.removeprefix("film.")
        powder = shop.powders[name].model_copy(
            update={"film_low_um": low, "film_likely_um": value, "film_high_um": high}
        )
        return replace(shop, powders={**shop.powders, name: powder})
    guess, today = shop.sources.get("owner_guess", row.source), date.today().isoformat()  # noqa: DTZ011  the owner's day
    points: dict[str, Any] = {"low": low, "likely": value, "high": high, "shape": "pert"}
    known = replace(row, **points, source=guess, where="", read_on=today, note="answered on the first visit")
    if key in shop.rates:
        return replace(shop, rates={**shop.rates, key: known})
    return replace(shop, assumptions={**shop.assumptions, key: known})


def now_of(shop: Shop, key: str) -> float:
    """Look up what stands in the shop for a question. [its unit]

    Parameters
    ----------
    shop : Shop
        The shop.
    key : str
        Of a question.
    """
    match key.split("."):
        case ["fixed", "rent"]:
            return sum(bill.cost_per_y for bill in shop.fixed if _is_rent(bill.name))
        case ["fixed", "others"]:
            return sum(bill.cost_per_y for bill in shop.fixed if not _is_rent(bill.name))
        case ["machines", "prices"]:
            return sum(machine.price for machine in shop.machines.all())
        case ["powders", "prices"]:
            return _usual_powder(shop)
        case [table, field] if key in settings():
            return float(getattr(getattr(shop, table), field))
    return float(shop.book[key])


def book_with(shop: Shop, key: str, value: float) -> Book:
    """Give the numbers of the shop as if one had been answered; the shop itself is not worked out anew.

    Parameters
    ----------
    shop, key, value
        As in `with_answer`.
    """
    if key in settings():
        return _with_setting(shop, key, value).book
    return {**shop.book, key: value}


def range_of_answer(shop: Shop, key: str) -> Range:
    """Look up what an answer may be. [its unit]

    Parameters
    ----------
    shop, key
        As in `now_of`.
    """
    table, _, field = key.partition(".")
    if key in settings() and field not in {"rent", "others", "prices"}:
        return range_of(type(getattr(shop, table)), field)
    unit = settings()[key].unit if key in settings() else shop.uncertain[key].unit
    return Range(0.0, 1.0 if unit == "share" else LARGEST)


def _is_rent(name: str) -> bool:
    return name.strip().lower() == "rent"


def _usual_powder(shop: Shop) -> float:
    return min(powder.price_per_kg for powder in shop.powders.values())


def _with_setting(shop: Shop, key: str, value: float) -> Shop:
    by = value / now_of(shop, key) if now_of(shop, key) else 1.0
    changes: dict[str, Any]
    match key.split("."):
        case ["fixed", which]:
            rent = which == "rent"
            bills = [
                bill.model_copy(update={"cost_per_y": bill.cost_per_y * by}) if _is_rent(bill.name) == rent else bill
                for bill in shop.fixed
            ]
            changes = {"fixed": tuple(bills)}
        case ["machines", _]:
            changes = {"machines": shop.machines.at_prices(by)}
        case ["powders", _]:
            powders = {
                name: powder.model_copy(update={"price_per_kg": powder.price_per_kg * by})
                for name, powder in shop.powders.items()
            }
            changes = {"powders": powders}
        case [table, field]:
            changes = {table: getattr(shop, table).model_copy(update={field: value})}
    return replace(shop, **changes)
