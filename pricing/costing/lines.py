"""One line of a cost sheet: what a step uses, turned into money of four kinds.

Cash is what leaves the till (powder, supplies, energy, bought-in work, the helper's wage), labour
the owner's hours, machines the hours they are held, overhead the year's bills over the hours worked.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from pricing.basis.checks import Floats, plus
from pricing.shop.shop import Book, Shop
from pricing.steps.step import MaterialUse, Use

MONEY = ("cash", "labour", "machines", "overhead")
"""The four kinds of money, in the order they are shown."""


@dataclass(frozen=True, slots=True)
class Line:
    """What one step costs; floats for a job, arrays for a list or for draws.

    Parameters
    ----------
    step : str
        Step, or the loop it stands for.
    coat : int
        Number of the coat it belongs to; 0 before and after.
    minutes, owner_min, helper_min : float or array
        Attended minutes, and whose. [min]
    machine_min : dict
        Minutes each machine is held. [min]
    materials : tuple of MaterialUse
        Kilograms bought for it.
    supplies, bought_in : float or array
        Consumables, and work done elsewhere. [money]
    electricity_kwh, gas_kwh : float or array
        Energy; gas on its gross calorific value. [kWh]
    cash, labour, machines, overhead : float or array
        The four kinds of money. [money]
    uses : tuple of Use
        What it was made of, for the sum behind it.
    """

    step: str
    coat: int
    minutes: Floats
    owner_min: Floats
    helper_min: Floats
    machine_min: dict[str, Floats]
    materials: tuple[MaterialUse, ...]
    supplies: Floats
    bought_in: Floats
    electricity_kwh: Floats
    gas_kwh: Floats
    cash: Floats
    labour: Floats
    machines: Floats
    overhead: Floats
    uses: tuple[Use, ...]

    @property
    def total(self) -> Floats:
        """All four kinds together. [money]"""
        return self.cash + self.labour + self.machines + self.overhead

    @property
    def id(self) -> str:
        """Name of the line within its sheet: the step, with its coat where there are several."""
        return f"{self.step}.{self.coat}" if self.coat else self.step

    def used(self) -> set[str]:
        """Numbers of the book that went into it."""
        found: set[str] = set()
        for use in self.uses:
            found.update(term.key for term in use.terms)
            found.update(use.keys)
            for material in use.materials:
                found.update(material.keys)
        return found


def line_of(step: str, coat: int, uses: Sequence[Use], shop: Shop, book: Book) -> Line:
    """Price what a step uses.

    Parameters
    ----------
    step : str
        Name of the line.
    coat : int
        Coat it belongs to.
    uses : sequence of Use
        One use, or those of a loop together; at least one.
    shop : Shop
        Who does what.
    book : mapping
        Numbers: hour rates and tariffs.

    Returns
    -------
    Line
    """
    first, *others = uses  # nearly every line has one: nothing is added up for it
    minutes, supplies, bought_in = first.minutes, first.supplies, first.bought_in
    electricity, gas, held = first.electricity_kwh, first.gas_kwh, dict(first.machine_min)
    helper_min: Floats = 0.0
    powder: Floats = 0.0
    materials: list[MaterialUse] = []
    may = shop.helper.steps if shop.helper else ()
    for use in others:
        minutes = plus(minutes, use.minutes)
        supplies = plus(supplies, use.supplies)
        bought_in = plus(bought_in, use.bought_in)
        electricity = plus(electricity, use.electricity_kwh)
        gas = plus(gas, use.gas_kwh)
        for machine, held_min in use.machine_min.items():
            held[machine] = plus(held.get(machine, 0.0), held_min)
    for use in uses:
        if use.step in may:
            helper_min = plus(helper_min, use.minutes * book["helper.share"])
        for material in use.materials:
            powder = plus(powder, material.kg * material.price_per_kg)
            materials.append(material)
    owner_min = minutes if helper_min.__class__ is float and not helper_min else minutes - helper_min
    cash = plus(plus(supplies, bought_in), powder)
    for amount, price in (
        (electricity, book["tariff.electricity"]),
        (gas, book["tariff.gas"]),
        (helper_min, book["hour.helper"] / 60.0),
    ):
        if amount.__class__ is not float or amount:
            cash = plus(cash, amount * price)
    machines: Floats = 0.0
    for machine, held_min in held.items():
        machines = plus(machines, held_min * (book[f"hour.{machine}"] / 60.0))
    return Line(
        step,
        coat,
        minutes,
        owner_min,
        helper_min,
        held,
        tuple(materials),
        supplies,
        bought_in,
        electricity,
        gas,
        cash,
        owner_min * (book["hour.owner"] / 60.0),
        machines,
        minutes * (book["hour.overhead"] / 60.0),
        tuple(uses),
    )
