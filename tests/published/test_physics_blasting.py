"""Nozzles, compressors and media held to printed tables and textbook examples."""

from dataclasses import replace
from math import pi, sqrt

import physics_rows as table
import pytest

from pricing.basis.checks import Floats
from pricing.basis.facts import facts
from pricing.physics import air as airs
from pricing.physics import blasting

NUMBERS = {name: fact.value for name, fact in facts().items()}
AIR, RATIO = airs.air_of(NUMBERS), NUMBERS["air.heat_ratio"]


def nozzle_air(bore_mm: Floats, gauge_bar: Floats, discharge: Floats, supply_degC: Floats) -> Floats:
    flow = blasting.nozzle_kg_per_s(
        AIR, bore_mm, gauge_bar=gauge_bar, supply_degC=supply_degC, discharge=discharge, heat_ratio=RATIO
    )
    return 60.0 * flow / airs.air_density_kg_per_m3(AIR, supply_degC)


def hole(bore_mm: Floats, ambient_bar: float, **given: Floats) -> Floats:
    place = replace(AIR, pressure_Pa=ambient_bar * 1e5)
    return blasting.nozzle_kg_per_s(place, bore_mm, heat_ratio=RATIO, **given)


def hot_nozzle(
    area_m2: float,
    supply_K: float,
    supply_bar: float,
    back_bar: float,
    heat_ratio: float,
    gas_constant_J_per_kgK: float,
) -> Floats:
    place = replace(AIR, pressure_Pa=back_bar * 1e5, gas_constant_J_per_kgK=gas_constant_J_per_kgK)
    return blasting.nozzle_kg_per_s(
        place,
        2e3 * sqrt(area_m2 / pi),
        gauge_bar=supply_bar - back_bar,
        supply_degC=supply_K - 273.15,
        discharge=1.0,
        heat_ratio=heat_ratio,
    )


MODELS: table.Models = {
    "nozzle air": (nozzle_air, "m**3/min"),
    "hole": (hole, "kg/s"),
    "hot nozzle": (hot_nozzle, "kg/s"),
    "fact: compressor shaft power": (lambda: NUMBERS["compressor.shaft_power"], "kW*min/m**3"),
    "worn over new": (
        lambda worn_mm, new_mm, gauge_bar: (
            nozzle_air(worn_mm, gauge_bar, 0.81, 20.0) / nozzle_air(new_mm, gauge_bar, 0.81, 20.0)
        ),
        "dimensionless",
    ),
}
ROWS = table.rows("physics_blasting.csv")


@pytest.mark.parametrize("row", ROWS, ids=table.named)
def test_blasting_agrees_with_print(row: dict[str, str]) -> None:
    table.hold(row, MODELS)


def test_every_model_is_used() -> None:
    assert {row["model"] for row in ROWS} == set(MODELS)
