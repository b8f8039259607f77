"""From the shop's oven and the job's parts to the physics of one visit, worked out once.

A visit is worked out for a usual load of like parts, twice: for an oven found cold and for one still
warm from the load before; the two are mixed by the share of cold starts. What the job pays for is
the business of ``bake``.

Room     steps. Imports basis, parts, physics, shop.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from pricing.basis.checks import Floats
from pricing.basis.errors import BadInput, Problem
from pricing.basis.facts import numbers
from pricing.parts.part import metal as metal_name
from pricing.parts.work import Hot, parts_per_load
from pricing.physics import oven as physics_oven
from pricing.physics.air import air_of
from pricing.physics.burner import available_share, fuel_of
from pricing.physics.metals import metal_of, pick_metal
from pricing.physics.standing import shell_degC_after
from pricing.physics.surfaces import Exchange
from pricing.physics.visit import Cure, Load, VisitHeat, visit
from pricing.shop.machines import Oven
from pricing.steps.step import Setting

KWH_TERMS = ("racks", "shell", "wall", "exhaust", "door")
"""Heat a load takes beside its metal, whatever the parts weigh."""


class Kind(NamedTuple):
    """One kind of part as the oven sees it, and how many of it make a usual load."""

    material: str
    thickness_mm: float
    mass_kg: float
    area_m2: float
    pieces: float


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
class Visit:
    """One load's visit at mean dwell; one value a job, or one a row.

    Parameters
    ----------
    bring_up_min : float or array
        Until the heaviest section is at its temperature. [min]
    dwell_min : float
        Dwell it was worked out for. [min]
    load_kwh_per_kg : float or array
        Heat a kilogram of the parts takes. [kWh/kg]
    kwh : dict
        Heat of racks, shell, wall, exhaust and door, per load. [kWh]
    kwh_in_all : float or array
        Their sum, per load. [kWh]
    hold_kw : float or array
        Wall and exhaust at the set point: what one more hour takes. [kW]
    fan_kw, fan_heat_kw : float
        Electricity of the fans, and what of it warms the oven. [kW]
    available : float
        Share of gas or electricity that ends in the oven.
    """

    bring_up_min: Floats
    dwell_min: float
    load_kwh_per_kg: Floats
    kwh: Mapping[str, Floats]
    kwh_in_all: Floats
    hold_kw: Floats
    fan_kw: float
    fan_heat_kw: float
    available: float


@lru_cache(maxsize=64)
def oven_of(oven: Oven, flue_degC: float, shop_degC: float) -> physics_oven.Oven:
    """Give the shop's oven as the physics needs it.

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
    area = 2.0 * (wide * high + high * deep + deep * wide)
    shell = 3600.0 * oven.shell_kwh_per_K or area * n["oven.skin"] * n["steel.cp.c0"] / 1000.0
    share = 1.0
    if oven.fuel == "gas":
        fuel, excess = fuel_of("methane", n), n["burner.excess_air"]
        share = float(available_share(fuel, flue_degC, excess_air=excess, air_degC=shop_degC))
    return physics_oven.Oven(
        wall=physics_oven.Wall(
            area_m2=area, insulation_mm=oven.panel_mm, conductivity_W_per_mK=n["oven.insulation.conductivity"],
            conductivity_per_K=n["oven.insulation.conductivity_slope"], inside_W_per_m2K=n["oven.inside_film"],
            outside_W_per_m2K=n["oven.outside_film"], bridging=oven.bridging,
        ),
        air=air_of(n), inside_m3=wide * high * deep, shell_kJ_per_K=shell, exhaust_m3_per_h=oven.exhaust_m3_per_h,
        door_width_m=wide, door_height_m=high, door_discharge=n["door.discharge"], door_W_per_m2K=n["door.film"],
        fan_kW=oven.fan_kw, fan_heat_share=n["fan.heat_share"], fuel=oven.fuel, heater_kW=oven.heater_kw,
        available_share=share,
    )  # fmt: skip


def visit_of(
    hot: Hot, oven: Oven, setting: Setting, *, metal_degC: float, dwell_min: float, castings: bool, alone: bool
) -> Visit:  # fmt: skip
    """Work out a visit at the shop's mean numbers, or recall it.

    Parameters
    ----------
    hot : Hot
        Kinds of parts.
    oven : Oven
        Of the shop.
    setting : Setting
        For the shop's means; draws do not change the physics, they scale its result.
    metal_degC, dwell_min : float
        Schedule.
    castings : bool
        Only castings go in.
    alone : bool
        The load holds the job's parts and no others.

    Raises
    ------
    BadInput
        The heater cannot hold the set point.
    """
    key = (oven.name, metal_degC, dwell_min, castings, alone)
    if key in hot.memo:
        found: Visit = hot.memo[key]
        return found
    means = setting.shop.book
    state = OvenState(
        metal_degC, metal_degC + float(means["oven.air_above_metal"]), dwell_min, setting.shop.front.air_degC,
        float(means["oven.cold_starts"]), float(means["oven.idle"]), float(means["oven.door"]),
    )  # fmt: skip
    kinds, goes_in = [], np.ones(len(hot.parts))
    for at, part in enumerate(hot.parts):
        room = parts_per_load(part, oven)
        goes_in[at] = float(room > 0 and (part.casting or not castings))
        pieces = max(1.0, min(room * float(means["oven.fill"]), hot.pieces[at] if alone else np.inf))
        kinds.append(Kind(part.material, part.thickness_mm, part.mass_kg, part.area_m2, pieces))
    heat = heat_of(oven, tuple(kinds), state)
    found = _spread(hot, heat, oven, state, kinds, goes_in)
    hot.memo[key] = found
    return found


class Mixed(NamedTuple):
    """A visit from cold and one from warm, mixed; arrays, one value a kind."""

    bring_up_min: npt.NDArray[np.float64]
    load_kWh: npt.NDArray[np.float64]
    kwh: dict[str, npt.NDArray[np.float64]]
    full_power_min: npt.NDArray[np.float64]


@lru_cache(maxsize=1024)
def heat_of(oven: Oven, kinds: tuple[Kind, ...], state: OvenState) -> Mixed:
    """Work out a visit for each kind of part: cold and warm starts mixed.

    Parameters
    ----------
    oven : Oven
        Of the shop.
    kinds : tuple of Kind
        One load of each.
    state : OvenState
        Schedule, shop air, how the oven is found.

    Raises
    ------
    BadInput
        The heater cannot hold the set point.
    """
    place = oven_of(oven, state.oven_degC, state.shop_degC)
    warm = float(
        shell_degC_after(place, idle_min=state.idle_min, shell_degC=state.oven_degC, shop_degC=state.shop_degC)
    )
    cold_heat, warm_heat = (_visit(place, oven, kinds, state, start) for start in (state.shop_degC, warm))
    share = state.cold_share

    def mix(name: str) -> npt.NDArray[np.float64]:
        both = share * np.asarray(getattr(cold_heat, name)) + (1.0 - share) * np.asarray(getattr(warm_heat, name))
        return np.broadcast_to(both, (len(kinds),)).astype(np.float64)

    return Mixed(
        mix("bring_up_min"), mix("load_kWh"), {term: mix(f"{term}_kWh") for term in KWH_TERMS}, mix("full_power_min")
    )


def _visit(
    place: physics_oven.Oven, oven: Oven, kinds: tuple[Kind, ...], state: OvenState, shell_degC: float
) -> VisitHeat:  # fmt: skip
    n = numbers()
    names = sorted({kind.material for kind in kinds})
    metals = [metal_of(metal_name(name), n) for name in names]
    metal = pick_metal(metals, [names.index(kind.material) for kind in kinds])
    pieces = np.array([kind.pieces for kind in kinds])
    load = Load(
        mass_kg=pieces * np.array([kind.mass_kg for kind in kinds]),
        area_m2=pieces * np.array([kind.area_m2 for kind in kinds]),
        section_m=0.0005 * np.array([kind.thickness_mm for kind in kinds]), metal=metal,
        exchange=Exchange(air_W_per_m2K=n["oven.air_film"], emissivity=n["coated.emissivity"]),
        rack_kg=oven.rack_kg, rack_metal=metal_of("steel", n),
    )  # fmt: skip
    cure = Cure(metal_degC=state.metal_degC, dwell_min=state.dwell_min, oven_degC=state.oven_degC)
    try:
        return visit(place, load, cure, shop_degC=state.shop_degC, shell_degC=shell_degC, door_min=state.door_min)
    except BadInput as why:
        told = [Problem(f"heater of {oven.name}", f"{oven.heater_kw:g} kW", p.accepts, p.mend) for p in why.problems]
        raise BadInput("shop.toml", told) from None


def _spread(
    hot: Hot, heat: Mixed, oven: Oven, state: OvenState, kinds: list[Kind], goes_in: npt.NDArray[np.float64]
) -> Visit:  # fmt: skip
    place = oven_of(oven, state.oven_degC, state.shop_degC)
    wall, exhaust = place.loss_W_per_K(state.oven_degC, state.shop_degC)
    hold = float(wall + exhaust) * (state.oven_degC - state.shop_degC) / 1000.0
    per_kg = heat.load_kWh / np.array([kind.mass_kg * kind.pieces for kind in kinds])
    kwh = {term: hot.mean(values, goes_in) for term, values in heat.kwh.items()}
    return Visit(
        bring_up_min=hot.spread(heat.bring_up_min * goes_in), dwell_min=state.dwell_min,
        load_kwh_per_kg=hot.mean(per_kg, goes_in),
        kwh=kwh, kwh_in_all=sum(kwh.values(), 0.0), hold_kw=hold, fan_kw=oven.fan_kw,
        fan_heat_kw=float(place.fan_kW * place.fan_heat_share), available=float(place.available_share),
    )  # fmt: skip
