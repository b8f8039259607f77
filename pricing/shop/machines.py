"""The machines: what they are, and what an hour of each costs, used or idle.

Takes    price, salvage, life, upkeep, practical hours; the oven's size and heater for the physics.
Gives    money per machine hour without energy, which depends on the load.
"""

from collections.abc import Sequence
from typing import Annotated, Any, Literal

from pydantic import Field

from pricing.basis.errors import Problem, not_known
from pricing.basis.money import yearly_capital_charge
from pricing.basis.records import Name, Quantity, Record, SomeShare

_Millimetres = Annotated[float, Quantity("mm", above=0.0)]
Kilowatts = Annotated[float, Quantity("kW")]
Kilograms = Annotated[float, Quantity("kg", above=0.0)]


class Machine(Record):
    """Anything that was bought, wears out and is in somebody's way while it is in use."""

    name: Name
    price: Annotated[float, Quantity("money")]
    salvage: Annotated[float, Quantity("money")]
    life_y: Annotated[float, Quantity("year", above=0.0, at_most=100.0)]
    upkeep_per_y: Annotated[float, Quantity("money/year")]
    practical_hours_h: Annotated[float, Quantity("h", above=0.0, at_most=8784.0)]

    def yearly_cost(self, interest_per_y: float) -> float:
        """Capital recovery with salvage, plus upkeep. [money/y]"""
        charge = yearly_capital_charge(self.price, salvage=self.salvage, rate_per_y=interest_per_y, years=self.life_y)
        return charge + self.upkeep_per_y  # type: ignore[return-value]  # of floats it is a float

    def hour_rate(self, interest_per_y: float) -> float:
        """Yearly cost over practical, not theoretical, hours. [money/h]"""
        return self.yearly_cost(interest_per_y) / self.practical_hours_h


class _Walled(Machine):
    """What any oven has: its inside, its panels and its exhaust."""

    inside_width_mm: _Millimetres
    inside_height_mm: _Millimetres
    inside_depth_mm: _Millimetres
    panel_mm: _Millimetres
    bridging: Annotated[float, Quantity("number", at_least=1.0, at_most=10.0)]
    exhaust_m3_per_h: Annotated[float, Quantity("m**3/h")]


class Oven(_Walled):
    """A batch oven as the physics needs it."""

    fan_kw: Kilowatts
    heater_kw: Annotated[float, Quantity("kW", above=0.0)]
    fuel: Literal["gas", "electric"]
    shell_kwh_per_K: Annotated[float, Quantity("kWh/delta_degC")] = 0.0
    rack_kg: Annotated[float, Quantity("kg")]
    rails: Annotated[int, Quantity("whole", at_least=1, at_most=50)]
    tiers: Annotated[int, Quantity("whole", at_least=1, at_most=20)]
    clearance_mm: Annotated[float, Quantity("mm")]
    most_load_kg: Kilograms
    hottest_degC: Annotated[float, Quantity("degC", above=0.0)]


class Booth(Machine):
    """Where powder is sprayed."""

    fan_kw: Kilowatts


class Cabinet(Machine):
    """Where parts are blasted, with its dust collector and its compressed air."""

    fan_kw: Kilowatts
    nozzle_bore_mm: _Millimetres
    pressure_bar: Annotated[float, Quantity("bar", above=0.0)]
    air_on: SomeShare


class Compressor(Machine):
    """Air for blasting and spraying."""

    motor_kw: Annotated[float, Quantity("kW", above=0.0)]
    free_air_m3_per_min: Annotated[float, Quantity("m**3/min", above=0.0)]


class Tank(Machine):
    """A tank of stripper; how many kilograms go in at once."""

    heater_kw: Kilowatts
    batch_kg: Kilograms


class BurnOff(_Walled):
    """A burn-off oven of one's own, with its afterburner; most shops send this work out and have none."""

    shell_kwh_per_K: Annotated[float, Quantity("kWh/delta_degC", above=0.0)]
    batch_kg: Kilograms


class Bench(Machine):
    """Hand tools, racks, hooks, gauges and everything else that is shared by all work."""


class Considered(Machine):
    """A machine that the owner thinks of buying: one more like another, or in its place.

    ``like`` is the machine it would stand beside or take the place of, ``sold_for`` what that one then brings;
    ``motor`` and ``free_air`` are those of a compressor.
    """

    like: str
    instead: bool = False
    sold_for: Annotated[float, Quantity("money")] = 0.0
    motor_kw: Annotated[float, Quantity("kW", above=0.0)] | None = None
    free_air_m3_per_min: Annotated[float, Quantity("m**3/min", above=0.0)] | None = None


class Machines(Record):
    """All machines of the shop."""

    oven: Annotated[tuple[Oven, ...], Field(min_length=1)]
    booth: Booth
    cabinet: Cabinet
    compressor: Compressor
    tank: Tank
    bench: Bench
    burn_off: BurnOff | None = None

    def with_one(self, new: Considered) -> "Machines":
        """Return the machines with another in the place of the one it is like, under the same name."""
        tried = {name: getattr(new, name) for name in type(new).model_fields if getattr(new, name) is not None}

        def in_place(old: Machine) -> Machine:
            mine = {name: value for name, value in tried.items() if name in type(old).model_fields and name != "name"}
            return old.model_copy(update=mine)

        found: dict[str, Any] = {"oven": tuple(in_place(one) if one.name == new.like else one for one in self.oven)}
        for name in type(self).model_fields:
            old = getattr(self, name)
            if isinstance(old, Machine) and old.name == new.like:
                found[name] = in_place(old)
        return self.model_copy(update=found)

    def cannot_join(self, to_buy: Sequence[Considered]) -> list[Problem]:
        """Tell which machines to buy are like none of these, or share a name."""
        names, titles = [machine.name for machine in self.all()], [one.name for one in to_buy]
        field = "shop.toml: to_buy"
        bad = [not_known(f"{field}: {one.name}: like", one.like, names) for one in to_buy if one.like not in names]
        twice = sorted({name for name in titles if titles.count(name) > 1})
        return bad + [Problem(field, name, "a name of its own", "Two share it.") for name in twice]

    def all(self) -> Sequence[Machine]:
        """Every machine, ovens first."""
        own = (self.burn_off,) if self.burn_off else ()
        return (*self.oven, self.booth, self.cabinet, self.compressor, self.tank, self.bench, *own)
