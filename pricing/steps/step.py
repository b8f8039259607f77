"""What a step is, and what it uses; declared once, read by cost sheet, price list and command line."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import NamedTuple, TypeAlias

import numpy as np

from pricing.basis.checks import Floats, plus
from pricing.basis.identity import Same
from pricing.parts.work import Work
from pricing.shop.finishes import Coat, Finish
from pricing.shop.machines import Machine
from pricing.shop.powders import Powder
from pricing.shop.rates import Assumption
from pricing.shop.shop import Book, Shop
from pricing.steps.uneven import by_step, for_all

Amounts: TypeAlias = dict[str, Floats]
"""Driver to amount, for one step."""


class Term(NamedTuple):
    """One product of a sum: so much of a driver times a rate of the book."""

    gives: str
    amount: Floats
    driver: str
    key: str
    rate: Floats


class MaterialUse(NamedTuple):
    """So many kilograms of a powder, or of blasting media."""

    name: str
    kg: Floats
    price_per_kg: Floats
    keys: tuple[str, ...]


@dataclass(slots=True)
class Use:
    """What one step takes of each resource; floats or arrays."""

    step: str
    coat: int
    terms: list[Term] = field(default_factory=list)
    minutes: Floats = 0.0
    machine_min: dict[str, Floats] = field(default_factory=dict)
    supplies: Floats = 0.0
    materials: list[MaterialUse] = field(default_factory=list)
    electricity_kwh: Floats = 0.0
    gas_kwh: Floats = 0.0
    bought_in: Floats = 0.0
    keys: list[str] = field(default_factory=list)
    detail: dict[str, Floats] = field(default_factory=dict)

    def hold(self, machine: str, minutes: Floats) -> None:
        """Add minutes during which a machine is held."""
        self.machine_min[machine] = plus(self.machine_min.get(machine, 0.0), minutes)


@dataclass(frozen=True, slots=True)
class Setting:
    """What a step may look at beside the amounts: shop, numbers, and which coat it is."""

    shop: Shop
    book: Book
    finish: Finish
    coat: Coat
    coat_number: int
    powder: Powder


AmountsOf = Callable[[Work, Setting], Amounts]
ExtrasOf = Callable[[Work, Setting, Use], None]


def straight(**fields: str) -> AmountsOf:
    """Take drivers from fields of the work as they are: ``straight(job="jobs", m2="m2")``."""
    return lambda work, _setting: {driver: getattr(work, field) for driver, field in fields.items()}


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the trade.

    Parameters
    ----------
    key : str
        Name in ``rates.csv`` and ``steps.csv``.
    amounts : callable
        Work to drivers.
    station : str
        Machine that is held while somebody works: ``booth``, ``cabinet``, ``tank``, ``bench`` or ''.
    extras : callable, optional
        Adds what is not a rate times a driver: powder, energy, oven time, bought-in work.
    """

    key: str
    amounts: AmountsOf
    station: str = ""
    extras: ExtrasOf | None = None


@lru_cache(maxsize=16)
def equations_of(rates: Same[Mapping[str, Assumption]]) -> Mapping[str, Sequence[tuple[str, str, str]]]:
    """Sort the keys of the rate book by step: driver, what it gives, key."""
    found: dict[str, list[tuple[str, str, str]]] = {}
    for key in rates.thing:
        step, driver, gives = key.rsplit(".", 2)
        found.setdefault(step, []).append((driver, gives, key))
    return found


def use_of(step: Step, work: Work, setting: Setting, rows: Sequence[tuple[str, str, str]]) -> Use:
    """Run the time equation of one step: minutes, machine time and supplies are rate times amount.

    Parameters
    ----------
    step : Step
        Which.
    work : Work
        Amounts of the job.
    setting : Setting
        Shop, numbers and coat.
    rows : sequence of (driver, gives, key)
        The step's rows of the rate book.

    Returns
    -------
    Use
        Minutes include the rest allowance; of a drawn book, as they come out in one job.
    """
    use = Use(step.key, setting.coat_number)
    amounts, book = step.amounts(work, setting), setting.book
    hands: Floats = 0.0
    terms = use.terms
    for driver, gives, key in rows:
        amount = amounts.get(driver, 0.0)
        if amount.__class__ is float and not amount:
            continue
        rate = book[key]
        terms.append(Term(gives, amount, driver, key, rate))
        if gives == "hands":
            hands = plus(hands, amount * rate)
        elif gives == "machine":
            use.hold(_machine(step.station, setting.shop), amount * rate)
        else:
            use.supplies = plus(use.supplies, amount * rate)
    use.minutes = by_step(step.key, hands, book) * for_all(1.0 + book["rest.allowance"], book)
    if step.station and step.station != "oven":
        use.hold(_machine(step.station, setting.shop), use.minutes)
    if step.extras:
        step.extras(work, setting, use)
    return use


def _machine(station: str, shop: Shop) -> str:
    machine: Machine = getattr(shop.machines, station if station in {"booth", "cabinet", "tank"} else "bench")
    return machine.name


def some(amount: Floats) -> Floats:
    """Work out 1 where there is any of it, else 0."""
    if isinstance(amount, float):
        return 1.0 if amount > 0 else 0.0
    return np.where(amount > 0, 1.0, 0.0)
