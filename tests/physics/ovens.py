"""Metals, ovens and loads that the tests share, from the project's own facts."""

from dataclasses import replace
from typing import Any

from pricing.basis.facts import facts
from pricing.physics.air import air_of
from pricing.physics.burner import available_share, fuel_of
from pricing.physics.heating import Exchange
from pricing.physics.metals import metal_of
from pricing.physics.oven import OvenModel, Wall
from pricing.physics.visit import Cure, OvenLoad

NUMBERS = {name: fact.value for name, fact in facts().items()}
STEEL, ALUMINIUM = metal_of("steel", NUMBERS), metal_of("aluminium", NUMBERS)
AIR, METHANE = air_of(NUMBERS), fuel_of("methane", NUMBERS)
COATED = Exchange(air_W_per_m2K=NUMBERS["oven.air_film"], emissivity=NUMBERS["coated.emissivity"])
WALL = Wall(
    area_m2=30.0,
    insulation_mm=100.0,
    conductivity_W_per_mK=NUMBERS["oven.insulation.conductivity"],
    conductivity_per_K=NUMBERS["oven.insulation.conductivity_slope"],
    inside_W_per_m2K=NUMBERS["oven.inside_film"],
    outside_W_per_m2K=NUMBERS["oven.outside_film"],
    bridging=NUMBERS["oven.bridging"],
)
GAS_OVEN = OvenModel(
    wall=WALL,
    air=AIR,
    inside_m3=9.0,
    shell_kJ_per_K=200.0,
    exhaust_m3_per_h=150.0,
    door_width_m=1.5,
    door_height_m=2.0,
    door_discharge=NUMBERS["door.discharge"],
    door_W_per_m2K=NUMBERS["door.film"],
    fan_kW=1.5,
    fan_heat_share=NUMBERS["fan.heat_share"],
    fuel="gas",
    heater_kW=60.0,
    available_share=float(available_share(METHANE, 200.0, excess_air=0.1, air_degC=20.0)),
)
ELECTRIC_OVEN = replace(GAS_OVEN, fuel="electric", heater_kW=36.0, available_share=1.0)
CURE = Cure(metal_degC=190.0, dwell_min=10.0, oven_degC=200.0)
LOAD = OvenLoad(
    mass_kg=80.0, area_m2=8.0, section_m=0.002, metal=STEEL, exchange=COATED, rack_kg=30.0, rack_metal=STEEL
)


def with_wall(oven: OvenModel, **changes: Any) -> OvenModel:
    """Return the same oven with a changed wall."""
    return replace(oven, wall=replace(oven.wall, **changes))
