"""Oven heat held to textbook examples, trade examples, standards and libraries."""

from math import pi
from typing import Any

import physics_rows as table
import pytest
from scipy.optimize import brentq

from pricing.basis.checks import Floats
from pricing.basis.facts import facts
from pricing.physics import air as airs
from pricing.physics import burner, heating, metals, oven, shapes, solids

NUMBERS = {name: fact.value for name, fact in facts().items()}
AIR = airs.air_of(NUMBERS)
METHANE = burner.fuel_of("methane", NUMBERS)


def plain(heat_J_per_kgK: Floats, density_kg_per_m3: Floats = 7850.0) -> metals.Metal:
    """Return a metal of one specific heat, as textbooks have it."""
    return metals.Metal(
        density_kg_per_m3=density_kg_per_m3,
        conductivity_W_per_mK=50.0,
        emissivity=0.5,
        c0=heat_J_per_kgK,
        to_degC=2000.0,
    )


def heated_load(load_kg_per_h: Floats, heat_J_per_kgK: Floats, from_degC: Floats, to_degC: Floats) -> Floats:
    return load_kg_per_h / 3.6e6 * metals.heat_J_per_kg(plain(heat_J_per_kgK), from_degC, to_degC)  # kW


def heated_air(
    flow_m3_per_h: Floats, air_kg_per_m3: Floats, air_J_per_kgK: Floats, from_degC: Floats, to_degC: Floats
) -> Floats:
    """Take the example's own air: its density fixes the gas constant."""
    own = airs.Air(
        gas_constant_J_per_kgK=AIR.pressure_Pa / (air_kg_per_m3 * (from_degC + 273.15)),
        c0=air_J_per_kgK,
        c1=0.0,
        c2=0.0,
        pressure_Pa=AIR.pressure_Pa,
    )
    flow = airs.fresh_air_kg_per_s(own, flow_m3_per_h, at_degC=from_degC)
    return 1e-3 * flow * airs.air_heat_J_per_kg(own, from_degC, to_degC)  # kW


def whole_oven(
    load_kg_per_h: float, heat_J_per_kgK: float, from_degC: float, to_degC: float, wall_kW: float, **air: float
) -> float:
    flow = air["room_m3"] * air["changes_per_h"]
    exhaust = heated_air(flow, air["air_kg_per_m3"], air["air_J_per_kgK"], from_degC, to_degC)
    return heated_load(load_kg_per_h, heat_J_per_kgK, from_degC, to_degC) + exhaust + wall_kW


def hot_plate(
    heat_J_per_kgK: float,
    density_kg_per_m3: float,
    from_degC: float,
    to_degC: float,
    radiated_W_per_m2: float,
    **size: float,
) -> float:
    plate = shapes.plate(**size)
    mass, faces_m2 = plate.mass_kg(density_kg_per_m3), 2 * size["width_mm"] * size["height_mm"] * 1e-6
    return heated_load(mass, heat_J_per_kgK, from_degC, to_degC) + faces_m2 * radiated_W_per_m2 * 1e-3  # in one hour


def wall_of(thickness_mm: float, **given: float) -> oven.Wall:
    """A square metre of clean wall; where no film is given, its faces have the temperatures told."""
    return oven.Wall(
        **{"area_m2": 1.0, "bridging": 1.0, "inside_W_per_m2K": 1e12, "outside_W_per_m2K": 1e12} | given,
        insulation_mm=thickness_mm,
    )


def wall_W_per_K(thickness_mm: float, conductivity_W_per_mK: float, **films: float) -> float:
    wall = wall_of(thickness_mm, conductivity_W_per_mK=conductivity_W_per_mK, conductivity_per_K=0.0, **films)
    return wall.loss_W_per_K(200.0, 20.0)


def slab_conductivity(loss_kW: float, area_m2: float, thickness_mm: float, rise_K: float) -> float:
    def miss(k: float) -> float:
        return wall_W_per_K(thickness_mm, k) * area_m2 * rise_K - 1e3 * loss_kW

    return brentq(miss, 1e-3, 10.0)


def radiation_between(
    hot_degC: float,
    cold_degC: float,
    hot_emissivity: float,
    cold_emissivity: float,
    hot_to_cold: float,
    to_third: float,
) -> float:
    """Lump the network of two walls and a reradiating third into one emissivity, per metre of duct."""
    between = 1 / (hot_to_cold + 1 / (2 / to_third))
    joint = 1 / ((1 - hot_emissivity) / hot_emissivity + between + (1 - cold_emissivity) / cold_emissivity)
    return 1e-3 * heating.radiation_of_K(joint, hot_degC + 273.15, cold_degC + 273.15) * (hot_degC - cold_degC)


def batch_and_standing(
    batch_kg: float, heat_J_per_kgK: float, from_degC: float, to_degC: float, hours_h: float, **loss: float
) -> float:
    standing_kW = 1e-3 * loss["loss_W_per_m2K"] * loss["area_m2"] * (to_degC - from_degC)
    return heated_load(batch_kg / hours_h, heat_J_per_kgK, from_degC, to_degC) + standing_kW


def door_m3_per_s(**given: float) -> float:
    middle = 0.5 * (given["inside_degC"] + given["outside_degC"])
    return airs.door_kg_per_s(AIR, **given) / airs.air_density_kg_per_m3(AIR, middle)


def small_over_exact(
    width_m: float, height_m: float, inside_degC: float, outside_degC: float, discharge: float
) -> float:
    middle_K = 0.5 * (inside_degC + outside_degC) + 273.15
    speed = (airs.GRAVITY_M_PER_S2 * height_m * (inside_degC - outside_degC) / middle_K) ** 0.5
    densities = [airs.air_density_kg_per_m3(AIR, t) for t in (inside_degC, outside_degC)]
    small = discharge * width_m * height_m / 3 * speed * sum(densities) / 2
    exact = airs.door_kg_per_s(
        AIR, width_m=width_m, height_m=height_m, inside_degC=inside_degC, outside_degC=outside_degC, discharge=discharge
    )
    return small / exact


def wall_flux(thickness_mm: float, hot_degC: float, cold_degC: float, **k: float) -> float:
    return wall_of(thickness_mm, **k).loss_W_per_K(hot_degC, cold_degC) * (hot_degC - cold_degC)


def an_oven(shell_kJ_per_K: float, loss_W_per_K: float) -> oven.OvenModel:
    """Return an oven whose walls lose just so much."""
    wall = oven.Wall(
        area_m2=1.0,
        insulation_mm=1.0,
        conductivity_W_per_mK=1e9,
        conductivity_per_K=0.0,
        inside_W_per_m2K=2 * loss_W_per_K,
        outside_W_per_m2K=2 * loss_W_per_K,
        bridging=1.0,
    )
    return oven.OvenModel(
        wall=wall,
        air=AIR,
        inside_m3=10.0,
        shell_kJ_per_K=shell_kJ_per_K,
        exhaust_m3_per_h=0.0,
        door_width_m=1.0,
        door_height_m=2.0,
        door_discharge=0.65,
        door_W_per_m2K=20.0,
        fan_kW=0.0,
        fan_heat_share=1.0,
        fuel="electric",
        heater_kW=30.0,
        available_share=1.0,
    )


def cooled_shell(shell_kJ_per_K: float, loss_W_per_K: float, **given: float) -> Floats:
    return oven.shell_degC_after(an_oven(shell_kJ_per_K, loss_W_per_K), **given)


def metal(name: str) -> metals.Metal:
    return metals.metal_of(name, NUMBERS)


MODELS: table.Models = {
    "whole oven": (whole_oven, "kW"),
    "wall share": (lambda wall_kW, **given: wall_kW / whole_oven(wall_kW=wall_kW, **given), "dimensionless"),
    "heated air": (heated_air, "kW"),
    "heated load": (heated_load, "kW"),
    "hot plate": (hot_plate, "kW"),
    "box wall": (
        lambda panel_W_per_m2K, rise_K, **size: (
            solids.box(**size, wall_mm=1.0).area_m2 * wall_W_per_K(1.0, 1e9, inside_W_per_m2K=panel_W_per_m2K) * rise_K
        ),
        "W",
    ),
    "slab conductivity": (slab_conductivity, "W/m/K"),
    "slab flux": (
        lambda thickness_mm, conductivity_W_per_mK, rise_K: wall_W_per_K(thickness_mm, conductivity_W_per_mK) * rise_K,
        "W/m**2",
    ),
    "two slabs flux": (  # the first as a film of its own conductance
        lambda rise_K, **g: (
            rise_K
            * wall_W_per_K(
                g["second_mm"], g["second_W_per_mK"], inside_W_per_m2K=1e3 * g["first_W_per_mK"] / g["first_mm"]
            )
        ),
        "W/m**2",
    ),
    "wall coefficient": (wall_W_per_K, "W/m**2/K"),
    "wall flux k(T)": (wall_flux, "W/m**2"),
    "radiation between walls": (radiation_between, "kW"),
    "batch and standing loss": (batch_and_standing, "kW"),
    "available heat": (lambda **given: burner.available_share(METHANE, **given), "dimensionless"),
    "air heat": (lambda from_degC, to_degC: airs.air_heat_J_per_kg(AIR, from_degC, to_degC), "J/kg"),
    "door flow": (door_m3_per_s, "m**3/s"),
    "small difference over exact": (small_over_exact, "dimensionless"),
    "specific heat": (lambda metal_, at: metals.heat_J_per_kg(metal(metal_), at - 0.5, at + 0.5), "J/kg/K"),
    "as written": (lambda heat_J_per_kgK: heat_J_per_kgK, "J/kg/K"),
    "mean specific heat": (lambda metal_, a, b: metals.heat_J_per_kg(metal(metal_), a, b) / (b - a), "J/kg/K"),
    "fact: cast iron high over low": (
        lambda: facts()["cast_iron.cp.c0"].high / facts()["cast_iron.cp.c0"].low,
        "dimensionless",
    ),
    "stored heat": (lambda metal_, mass_kg, a, b: mass_kg * metals.heat_J_per_kg(metal(metal_), a, b) / 3.6e6, "kWh"),
    "heated ball": (
        lambda diameter_m, density_kg_per_m3, heat_J_per_kgK, from_degC, to_degC: (
            pi
            / 6
            * diameter_m**3
            * density_kg_per_m3
            * metals.heat_J_per_kg(plain(heat_J_per_kgK), from_degC, to_degC)
            * 1e-3
        ),
        "kJ",
    ),
    "cooled shell": (cooled_shell, "degC"),
}
for _name in ("specific heat", "mean specific heat", "stored heat"):  # their arguments come by position
    _by_place, _unit = MODELS[_name]
    MODELS[_name] = (lambda _by_place=_by_place, **given: _by_place(*given.values()), _unit)
ROWS = table.rows("physics_oven.csv")


@pytest.mark.parametrize("row", ROWS, ids=table.named)
def test_oven_agrees_with_print(row: dict[str, str]) -> None:
    table.hold(row, MODELS)


ARRAYS = {"available heat", "air heat", "door flow", "fan", "cooled shell", "stored heat"}


@pytest.mark.parametrize("row", [r for r in ROWS if r["model"] in ARRAYS], ids=table.named)
def test_oven_takes_arrays(row: dict[str, str]) -> None:
    table.both_ways(row, MODELS)


def test_every_model_is_used() -> None:
    used: set[Any] = {row["model"] for row in ROWS}
    assert used == set(MODELS)
