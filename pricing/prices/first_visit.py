"""The questions of the first visit: what each asks, what stands in the shop for it, and what an answer changes.

Takes    ``data/first_visit.csv``: the words, how far another shop may lie off what stands here, how sure an answer is.
         Every uncertain number of the rate book is a question; those without words of their own are named by its key.
         What one answers in one breath, such as weeks and hours, is asked together.
Gives    `questions`, and for each `VisitQuestion` the tables of the shop that an answer changes.
Why      an owner is no stopwatch either: what is said of an uncertain number and what was held for possible before are
         joined, each as sure as it is (`_joined`). What was said stays what is likely; the mean, on which prices
         rest, leans towards what is usual, by half of the doubt of such an answer at most.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from math import exp, hypot, log, sqrt
from types import SimpleNamespace
from typing import Any

from pricing.basis.facts import data_folder
from pricing.basis.files import read_table
from pricing.basis.tongue import LARGEST, Range
from pricing.costing.strata import ThreePoints, is_certain, strata_spread
from pricing.prices.colours import BASE, dearest
from pricing.shop.powders import Powder
from pricing.shop.rates import DIVISORS, Assumption
from pricing.shop.shop import Shop
from pricing.shop.visit import NOT_KNOWN

_SOURCE = "first_visit"
_PER_SD = sqrt(7)
"""Half the width of an even beta-PERT over its standard deviation."""


@dataclass(frozen=True, slots=True)
class VisitQuestion:
    """A number that the owner is asked for.

    Parameters
    ----------
    key : str
        Of the rate book, or ``table.field`` of the shop.
    asks, note : str
        In words; ``asks`` is empty where the name of the number must do.
    unit : str
        Of the model.
    within : Range
        What may be answered.
    low, high : float
        Of a fact of the shop: how far another shop may lie from what stands here, as multiples of it.
    doubt : float
        Standard deviation of an answer, as a share of it.
    settles : tuple of str
        Numbers of the rate book whose mean is 1 and which the answer settles too.
    lead : str
        The question it is asked together with; its own key where it comes first, or alone.
    """

    key: str
    asks: str
    note: str
    unit: str
    within: Range
    low: float
    high: float
    doubt: float
    settles: tuple[str, ...] = ()
    lead: str = ""

    @property
    def of_book(self) -> bool:
        """Whether it is one of the three-point numbers."""
        return self.low == 0.0

    @property
    def joins(self) -> bool:
        """Whether an answer is joined with what was held for possible, and does not just take its place."""
        return self.of_book or bool(self.settles)

    def points(self, shop: Shop) -> ThreePoints:
        """Describe how far another shop may lie from what stands in this one. [unit]"""
        if self.of_book:
            return shop.uncertain[self.key]
        value = self.value(shop)
        high = min(self.high * value, self.within.most)
        return SimpleNamespace(low=self.low * value, likely=value, high=high, shape="pert")

    def value(self, shop: Shop) -> float:
        """Work out what stands in the shop. [unit]"""
        return shop.uncertain[self.key].mean if self.of_book else _FACTS[self.key.split(".")[0]][0](shop, self.key)

    def put(self, shop: Shop, value: float, *, doubt: float | None = None) -> dict[str, Any]:
        """Describe the tables of the shop with an answer in them [unit], as sure as such answers are or otherwise."""
        doubt = self.doubt if doubt is None else doubt
        book = {**shop.rates, **shop.assumptions}
        if self.of_book:
            row = shop.uncertain[self.key]
            return _put_points(shop, with_spread(row, *_joined(row.mean, _spread(row), value, doubt), value))
        tables = _FACTS[self.key.split(".")[0]][1](shop, self.key, value)
        for row in (book[key] for key in self.settles if key in book):
            spread = hypot(0.0 if self.known(shop) else strata_spread(self.points(shop)), _spread(row))
            mean, sd = _joined(self.value(shop) * row.mean, spread, value, doubt)
            tables |= _put_points(shop, with_spread(row, mean / value, sd))
        return tables

    def asked(self, shop: Shop) -> bool:
        """Tell whether it was answered, if only with "I don't know"."""
        return self.key in shop.visited

    def known(self, shop: Shop) -> bool:
        """Tell whether it was answered with a number."""
        return shop.visited.get(self.key, NOT_KNOWN) != NOT_KNOWN


def questions(shop: Shop) -> dict[str, VisitQuestion]:
    """Collect every question that can be asked of a shop, by key, in the order of its files.

    What was fitted to its own log is not asked; nor are helpers of an owner alone.
    """
    table = _table()
    usual = float(table["*"]["doubt"])
    found: dict[str, VisitQuestion] = {}
    for key, row in table.items():
        if row["low"] and (shop.helper or not key.startswith("helper.")):
            most = float(row["most"] or LARGEST)
            least = Range(0.0, most) if key in _MAY_BE_NONE else Range(0.0, most, above=0.0)
            found[key] = VisitQuestion(
                key,
                row["asks"],
                row["note"],
                row["unit"],
                least,
                float(row["low"]),
                float(row["high"]),
                float(row["doubt"]),
                tuple(row["settles"].split()),
                row["with"] or key,
            )
    settled = {key for question in found.values() for key in question.settles}
    films = [f"{_FILM}{powder.name}" for powder in dearest(shop, BASE)]
    for key, points in shop.uncertain.items():
        if key in settled or points.low == points.high != 0.0 or points.shape == "lognormal":
            continue
        if key.startswith(_FILM) and key not in films:
            continue  # the list stands on the dearest colours of its class
        row = table.get(key, table[f"{_FILM}*"] if key in films else {})
        within = Range(0.0, 1.0 if points.unit == "share" else LARGEST)
        if key in DIVISORS or points.unit in {"number", "um"}:
            within = replace(within, above=0.0)
        words = (row["asks"], row["note"]) if row else ("", points.note)
        lead = row.get("with") if key not in films[1:] else ""  # a breath has room for one of them
        doubt = float(row.get("doubt", usual))
        found[key] = VisitQuestion(key, *words, points.unit, within, 0.0, 0.0, doubt, lead=lead or key)
    return found


_FILM = "film."
_MAY_BE_NONE = frozenset({"owner.draw_per_y", "owner.on_cost", "helper.share", "fixed.rent"})


@cache
def _table() -> Mapping[str, Mapping[str, str]]:
    return {row["question"]: row for row in read_table(data_folder() / "first_visit.csv")}


def with_spread(row: Assumption, mean: float, sd: float, likely: float | None = None) -> Assumption:
    """Return a number of the rate book with another mean and, as a share of it, another standard deviation.

    Parameters
    ----------
    row : Assumption
        As it stands.
    mean : float
        The new one. [its unit]
    sd : float
        Standard deviation over the mean; the three points are cut where the number may not lie.
    likely : float, optional
        What is most likely, where that is not the mean: low and high then lean.
    """
    middle = mean if likely is None else 3 * mean - 2 * likely  # of low and high, whatever likely is
    leaning = 0.0 if likely is None else abs(middle - likely)
    wide = min(max(_PER_SD * sd * mean, leaning), middle, 1 - middle if row.unit == "share" else middle)
    low, high = middle - wide, middle + wide
    if likely is not None and not low <= likely <= high:
        return with_spread(row, mean, sd)
    return replace(
        row,
        low=low,
        likely=mean if likely is None else likely,
        high=high,
        shape="pert",
        read_on=date.today().isoformat(),  # noqa: DTZ011  the owner's own day
    )


def _spread(row: Assumption) -> float:
    return 0.0 if is_certain(row) else strata_spread(row)


def _joined(before: float, spread: float, said: float, doubt: float) -> tuple[float, float]:
    """Join what was held for possible with what was said: the mean, and its standard deviation as a share of it.

    Logarithms are joined by their precisions. What is said far off the guess shows that the guess was no good: its
    spread is taken to be as wide as that.
    """
    if before <= 0.0 or said <= 0.0 or spread == 0.0:
        return said, doubt
    off = log(said / before)
    spread = max(spread, abs(off))
    return before * exp(off * spread**2 / (spread**2 + doubt**2)), spread * doubt / hypot(spread, doubt)


def _put_points(shop: Shop, row: Assumption) -> dict[str, Any]:
    if row.key.startswith(_FILM):
        powder = shop.powders[row.key.removeprefix(_FILM)]
        film = {"film_low_um": row.low, "film_likely_um": row.likely, "film_high_um": row.high}
        return {"powders": {**shop.powders, powder.name: powder.model_copy(update=film)}}
    name = "rates" if row.key in shop.rates else "assumptions"
    return {name: {**getattr(shop, name), row.key: replace(row, source=shop.sources[_SOURCE], where="")}}


def most_used(shop: Shop) -> Powder:
    """Return the powder of which the shop uses most in a year."""
    return max(shop.powders.values(), key=lambda powder: powder.uses * powder.each_kg)


def _of_record(shop: Shop, key: str) -> float:
    table, field = key.split(".")
    return float(getattr(getattr(shop, table), field))


def _to_record(shop: Shop, key: str, value: float) -> dict[str, Any]:
    table, field = key.split(".")
    record = getattr(shop, table)
    return {table: type(record).model_validate({**dict(record), field: value})}


def _bills(shop: Shop, key: str) -> float:
    return sum(bill.cost_per_y for bill in (shop.fixed[:1] if key == "fixed.rent" else shop.fixed[1:]))


def _to_bills(shop: Shop, key: str, value: float) -> dict[str, Any]:
    first, rest = shop.fixed[0], shop.fixed[1:]
    if key == "fixed.rent":
        return {"fixed": (first.model_copy(update={"cost_per_y": value}), *rest)}
    scale = value / _bills(shop, key)
    return {"fixed": (first, *(b.model_copy(update={"cost_per_y": scale * b.cost_per_y}) for b in rest))}


def _machines(shop: Shop, key: str) -> Mapping[str, Any]:
    own = {name: table for name, table in dict(shop.machines).items() if table is not None}
    return {name: table for name, table in own.items() if (name == "oven") == (key == "machines.oven")}


def _price_of(shop: Shop, key: str) -> float:
    tables = _machines(shop, key).values()
    return sum(float(one.price) for table in tables for one in (table if isinstance(table, tuple) else (table,)))


def _to_price(shop: Shop, key: str, value: float) -> dict[str, Any]:
    scale = value / _price_of(shop, key)

    def scaled(table: Any) -> Any:
        if isinstance(table, tuple):
            return tuple(map(scaled, table))
        return table.model_copy(update={"price": scale * table.price, "salvage": scale * table.salvage})

    tables = {name: scaled(table) for name, table in _machines(shop, key).items()}
    return {"machines": shop.machines.model_copy(update=tables)}


def _powder_price(shop: Shop, _key: str) -> float:
    return most_used(shop).price_per_kg


def _to_powder_price(shop: Shop, key: str, value: float) -> dict[str, Any]:
    scale = value / _powder_price(shop, key)
    scaled = {
        name: one.model_copy(update={"price_per_kg": scale * one.price_per_kg}) for name, one in shop.powders.items()
    }
    return {"powders": scaled}


_FACTS = {
    "owner": (_of_record, _to_record),
    "helper": (_of_record, _to_record),
    "tariffs": (_of_record, _to_record),
    "fixed": (_bills, _to_bills),
    "machines": (_price_of, _to_price),
    "powders": (_powder_price, _to_powder_price),
}
"""Facts of the shop by the table of their key: how one is read, and how it is put."""
