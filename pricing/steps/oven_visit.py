"""From the shop's oven and the job's parts to the physics of one visit, worked out once.

A visit is worked out for a load next to empty and for the heaviest that is allowed, and each of them
twice: for an oven found cold and for one still warm from the load before; those two are mixed by the
share of cold starts. What the job pays for is the business of ``bake``.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from pricing.basis.checks import Floats
from pricing.basis.errors import BadInput, Problem
from pricing.basis.facts import numbers
from pricing.basis.identity import Same
from pricing.parts.loads import parts_per_load
from pricing.parts.part import metal as metal_name
from pricing.parts.work import Hot, Work
from pricing.physics.air import air_of
from pricing.physics.burner import available_share, fuel_of
from pricing.physics.heating import Exchange
from pricing.physics.metals import Metal, heat_J_per_kg, metal_of, pick_metal
from pricing.physics.oven import OvenModel, Wall, shell_degC_after
from pricing.physics.visit import Cure, OvenLoad, visit
from pricing.shop.machines import BurnOff, Oven
from pricing.shop.shop import Shop
from pricing.steps.step import Setting

KWH_TERMS = ("racks", "shell", "wall", "exhaust", "door")
"""Heat a load takes beside its metal, whatever the parts weigh."""


class VisitKind(NamedTuple):
    """One kind of part as the oven sees it, and the mass of it that is in a load."""

    material: str
    thickness_mm: float
    load_kg: float


class OvenState(NamedTuple):
    """What a visit asks of the oven beside its parts."""

    metal_degC: float
    oven_degC: float
    dwell_min: float
    shop_degC: float
    cold_share: float
    idle_min: float
    door_min: float


@dataclass(frozen=True, slots=True)
class VisitAsked:
    """One load's visit at mean dwell, for a load next to empty and what the heaviest allowed load adds.

    Bring-up and heat rise nearly in a straight line with the load's mass, so a job pays for the empty
    load by the share of the oven it fills, and for the rest by its own kilograms. One value a job, or one a row.

    Parameters
    ----------
    bring_up_min, more_min : float or array
        Until the heaviest section is at its temperature, next to empty; what the heaviest load adds. [min]
    dwell_min : float
        Dwell it was worked out for. [min]
    load_kwh_per_kg : float or array
        Heat a kilogram of the parts takes. [kWh/kg]
    kwh, more_kwh : dict
        Heat of racks, shell, wall, exhaust and door, next to empty; what the heaviest load adds. [kWh]
    hold_kw : float or array
        Wall and exhaust at the set point: what one more hour takes. [kW]
    most_kg : float
        The heaviest load. [kg]
    fan_kw, fan_heat_kw : float
        Electricity of the fans, and what of it warms the oven. [kW]
    available : float
        Share of gas or electricity that ends in the oven.
    """

    bring_up_min: Floats
    more_min: Floats
    dwell_min: float
    load_kwh_per_kg: Floats
    kwh: Mapping[str, Floats]
    more_kwh: Mapping[str, Floats]
    hold_kw: Floats
    most_kg: float
    fan_kw: float
    fan_heat_kw: float
    available: float

    def shown_as(self, number: Callable[[Any, str], Any]) -> "VisitAsked":
        """Return the same with its figures turned into something else, each by its unit, that adds up as they do."""
        return replace(
            self,
            bring_up_min=number(self.bring_up_min, "min"),
            more_min=number(self.more_min, "min"),
            load_kwh_per_kg=number(self.load_kwh_per_kg, "kWh/kg"),
            hold_kw=number(self.hold_kw, "kW"),
            kwh={name: number(value, "kWh") for name, value in self.kwh.items()},
            more_kwh={name: number(value, "kWh") for name, value in self.more_kwh.items()},
        )


@lru_cache(maxsize=64)
def oven_of(oven: Oven, flue_degC: float, shop_degC: float) -> OvenModel:
    """Return the shop's oven as the physics needs it.

    Parameters
    ----------
    oven : Oven
        Of ``shop.toml``.
    flue_degC : float
        Temperature at which the burner's gas leaves: the oven's own.
    shop_degC : float
        Air that the burner takes in.
    """
    n = numbers()
    wide, high, deep = (0.001 * mm for mm in (oven.inside_width_mm, oven.inside_height_mm, oven.inside_depth_mm))
    wall = wall_of(oven)
    shell = 3600.0 * oven.shell_kwh_per_K or wall.area_m2 * n["oven.skin"] * n["steel.cp.c0"] / 1000.0
    return OvenModel(
        wall=wall,
        air=air_of(n),
        inside_m3=wide * high * deep,
        shell_kJ_per_K=shell,
        exhaust_m3_per_h=oven.exhaust_m3_per_h,
        door_width_m=wide,
        door_height_m=high,
        door_discharge=n["door.discharge"],
        door_W_per_m2K=n["door.film"],
        fan_kW=oven.fan_kw,
        fan_heat_share=n["fan.heat_share"],
        fuel=oven.fuel,
        heater_kW=oven.heater_kw,
        available_share=gas_share(flue_degC, shop_degC) if oven.fuel == "gas" else 1.0,
    )


def gas_share(flue_degC: float, air_degC: float) -> float:
    """Work out the share of natural gas's gross heat that stays in an oven, with the facts' excess of air."""
    n = numbers()
    return float(
        available_share(fuel_of("methane", n), flue_degC, excess_air=n["burner.excess_air"], air_degC=air_degC)
    )


def wall_of(oven: Oven | BurnOff) -> Wall:
    """Work out the wall of a batch or burn-off oven: all six sides inside."""
    n = numbers()
    wide, high, deep = (0.001 * mm for mm in (oven.inside_width_mm, oven.inside_height_mm, oven.inside_depth_mm))
    return Wall(
        area_m2=2.0 * (wide * high + high * deep + deep * wide),
        insulation_mm=oven.panel_mm,
        conductivity_W_per_mK=n["oven.insulation.conductivity"],
        conductivity_per_K=n["oven.insulation.conductivity_slope"],
        inside_W_per_m2K=n["oven.inside_film"],
        outside_W_per_m2K=n["oven.outside_film"],
        bridging=oven.bridging,
    )


class VisitKey(NamedTuple):
    """Which visit of a job: oven, schedule, and whether only the castings go in."""

    oven: str
    metal_degC: float
    dwell_min: float
    castings: bool


def visit_of(work: Work, setting: Setting, key: VisitKey) -> VisitAsked:
    """Work out a visit at the shop's mean numbers, or recall it.

    Draws do not change the physics, they scale its result.

    Raises
    ------
    BadInput
        The heater cannot hold the set point.
    """
    return _visit_of(Same(work.hot), Same(setting.shop), key)


@lru_cache(maxsize=1024)
def _visit_of(hot: Same[Hot], shop: Same[Shop], key: VisitKey) -> VisitAsked:
    means = shop.thing.book
    oven = next(oven for oven in shop.thing.machines.oven if oven.name == key.oven)
    state = OvenState(
        key.metal_degC,
        key.metal_degC + float(means["oven.air_above_metal"]),
        key.dwell_min,
        shop.thing.front.air_degC,
        float(means["oven.cold_starts"]),
        float(means["oven.idle"]),
        float(means["oven.door"]),
    )
    return _visit_in(hot, oven, state, key.castings)


@lru_cache(maxsize=1024)
def _visit_in(hot: Same[Hot], oven: Oven, state: OvenState, castings: bool) -> VisitAsked:
    """The same by what it rests on, so that a shop with other rates has it already."""
    parts = hot.thing.parts
    goes_in = np.array([float(parts_per_load(p, oven) > 0 and (p.baked or not castings)) for p in parts])
    kinds = tuple(
        VisitKind(part.material, part.thickness_mm, share * oven.most_load_kg)
        for share in (_EMPTY, 1.0)
        for part in parts
    )
    return _spread(hot.thing, heat_of(oven, kinds, state), oven, state, goes_in)


_J_PER_KWH = 3.6e6  # by definition
_EMPTY = 1e-3  # of the heaviest load: next to nothing, but something that has a temperature


class Mixed(NamedTuple):
    """A visit from cold and one from warm, mixed; arrays, one value a kind."""

    bring_up_min: npt.NDArray[np.float64]
    kwh: dict[str, npt.NDArray[np.float64]]


def heat_of(oven: Oven, kinds: tuple[VisitKind, ...], state: OvenState) -> Mixed:
    """Work out a visit for each kind of part: cold and warm starts mixed.

    Parameters
    ----------
    oven : Oven
        Of the shop.
    kinds : tuple of VisitKind
        One load of each.
    state : OvenState
        Schedule, shop air, how the oven is found.

    Raises
    ------
    BadInput
        The heater cannot hold the set point.
    """
    known = _known(oven, state)
    if len(known) > _MOST_KEPT:
        known.clear()
    new = tuple(kind for kind in dict.fromkeys(kinds) if kind not in known)
    if new:
        known.update(zip(new, _heats(oven, new, state), strict=True))
    bring_up, *kwh = np.array([known[kind] for kind in kinds]).T
    return Mixed(bring_up, dict(zip(KWH_TERMS, kwh, strict=True)))


_MOST_KEPT = 20_000  # kinds of an oven and schedule: a few MB


@lru_cache(maxsize=64)
def _known(oven: Oven, state: OvenState) -> dict[VisitKind, npt.NDArray[np.float64]]:
    """What was worked out already: bring-up and heat by kind, which know nothing of each other."""
    return {}


def _heats(oven: Oven, kinds: tuple[VisitKind, ...], state: OvenState) -> npt.NDArray[np.float64]:
    """Bring-up and the terms of the heat, one row a kind."""
    n, place = numbers(), oven_of(oven, state.oven_degC, state.shop_degC)
    metal = _metal(tuple(kind.material for kind in kinds))
    mass_kg = np.array([kind.load_kg for kind in kinds])
    section_m = 0.0005 * np.array([kind.thickness_mm for kind in kinds])
    # the load is taken to be as thick throughout as where it is thickest: more area or mass never heats it sooner
    load = OvenLoad(
        mass_kg=mass_kg,
        area_m2=mass_kg / (metal.density_kg_per_m3 * section_m),
        section_m=section_m,
        metal=metal,
        exchange=Exchange(air_W_per_m2K=n["oven.air_film"], emissivity=n["coated.emissivity"]),
        rack_kg=oven.rack_kg,
        rack_metal=metal_of("steel", n),
    )
    cure = Cure(metal_degC=state.metal_degC, dwell_min=state.dwell_min, oven_degC=state.oven_degC)
    air_degC, share = state.shop_degC, state.cold_share
    warm_degC = shell_degC_after(place, idle_min=state.idle_min, shell_degC=state.oven_degC, shop_degC=air_degC)
    try:
        cold, warm = (
            visit(place, load, cure, shop_degC=air_degC, shell_degC=shell_degC, door_min=state.door_min)
            for shell_degC in (air_degC, float(warm_degC))
        )
    except BadInput as why:
        told = [Problem(f"heater of {oven.name}", f"{oven.heater_kw:g} kW", p.accepts, p.mend) for p in why.problems]
        raise BadInput("shop.toml", told) from None

    def mix(name: str) -> npt.NDArray[np.float64]:
        both = share * np.asarray(getattr(cold, name)) + (1.0 - share) * np.asarray(getattr(warm, name))
        return np.broadcast_to(both, (len(kinds),)).astype(np.float64)

    return np.column_stack([mix("bring_up_min"), *(mix(f"{term}_kWh") for term in KWH_TERMS)])


@lru_cache(maxsize=256)
def _metal(materials: tuple[str, ...]) -> Metal:
    n = numbers()
    names = sorted(set(materials))
    return pick_metal([metal_of(metal_name(name), n) for name in names], [names.index(name) for name in materials])


def _spread(hot: Hot, heat: Mixed, oven: Oven, state: OvenState, goes_in: npt.NDArray[np.float64]) -> VisitAsked:
    """One visit for all kinds: a load is held until its slowest kind is hot, each kilogram takes its own heat."""
    place = oven_of(oven, state.oven_degC, state.shop_degC)
    wall, exhaust = place.loss_W_per_K(state.oven_degC, state.shop_degC)
    hold = float(wall + exhaust) * (state.oven_degC - state.shop_degC) / 1000.0
    n = len(goes_in)

    def both(values: npt.NDArray[np.float64]) -> tuple[Floats, Floats]:
        empty, full = (hot.spread(values[at] * goes_in) for at in (slice(n), slice(n, None)))
        return empty, full - empty

    bring_up, more = both(heat.bring_up_min)
    terms = heat.kwh if hot.rows is None else {"all": sum(heat.kwh.values(), np.zeros(2 * n))}  # rows tell no terms
    kwh = {term: both(values) for term, values in terms.items()}
    # all but the slowest kind are as hot as the air by the end
    metal = _metal(tuple(part.material for part in hot.parts))
    per_kg = np.asarray(heat_J_per_kg(metal, state.shop_degC, state.oven_degC)) / _J_PER_KWH
    return VisitAsked(
        bring_up_min=bring_up,
        more_min=more,
        dwell_min=state.dwell_min,
        load_kwh_per_kg=hot.mean_by_mass(per_kg, goes_in),
        kwh={term: pair[0] for term, pair in kwh.items()},
        more_kwh={term: pair[1] for term, pair in kwh.items()},
        hold_kw=hold,
        most_kg=oven.most_load_kg,
        fan_kw=oven.fan_kw,
        fan_heat_kw=float(place.fan_kW * place.fan_heat_share),
        available=float(place.available_share),
    )
