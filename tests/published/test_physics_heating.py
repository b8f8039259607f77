"""Heating, cooling and cure held to textbook examples and to adaptive solvers."""

from math import log, pi

import physics_rows as table
import pytest
from scipy.optimize import brentq

from pricing.basis.checks import Floats
from pricing.basis.facts import facts
from pricing.physics import cure, heating, metals, surfaces

STEEL = metals.metal_of("steel", {name: fact.value for name, fact in facts().items()})


def plain(density_kg_per_m3: Floats, heat_J_per_kgK: Floats, conductivity_W_per_mK: Floats) -> metals.Metal:
    """Return a metal of one specific heat, as textbooks have it."""
    return metals.Metal(
        density_kg_per_m3=density_kg_per_m3,
        conductivity_W_per_mK=conductivity_W_per_mK,
        emissivity=0.5,
        c0=heat_J_per_kgK,
        to_degC=2000.0,
    )


def metal_and_air(given: dict[str, float]) -> tuple[metals.Metal, surfaces.Exchange]:
    metal = plain(*(given.pop(k) for k in ("density_kg_per_m3", "heat_J_per_kgK", "conductivity_W_per_mK")))
    exchange = surfaces.Exchange(air_W_per_m2K=given.pop("film_W_per_m2K"), emissivity=given.pop("emissivity", 0.0))
    return metal, exchange


def heat_up_s(**given: float) -> float:
    metal, exchange = metal_and_air(given)
    return 60 * heating.heat_up_min(metal, given.pop("section_m"), exchange=exchange, **given)


def near_settled_s(diameter_mm: float, from_degC: float, air_degC: float, walls_degC: float, **given: float) -> float:
    metal, exchange = metal_and_air(given)
    end = surfaces.settled_degC(exchange, air_degC, walls_degC)
    return 60 * heating.heat_up_min(
        metal,
        diameter_mm / 6e3,
        from_degC=from_degC,
        to_degC=end - 1,
        air_degC=air_degC,
        exchange=exchange,
        walls_degC=walls_degC,
    )


def time_constant_s(diameter_mm: float, **given: float) -> float:
    metal, exchange = metal_and_air(given)
    minutes = heating.heat_up_min(
        metal, diameter_mm / 6e3, from_degC=0.0, to_degC=50.0, air_degC=100.0, exchange=exchange
    )
    return 60 * minutes / log(2)


def until_out_s(dwell_min: float, **given: float) -> float:
    return heat_up_s(**given) + 60 * dwell_min


def lumped_level(**given: float) -> float:
    """Look for the temperature that takes the minutes given."""
    metal, exchange = metal_and_air(given)
    section_m, minutes, air = given.pop("section_m"), given.pop("minutes_min"), given["air_degC"]

    def late(to_degC: float) -> float:
        return heating.heat_up_min(metal, section_m, to_degC=to_degC, exchange=exchange, **given) - minutes

    return brentq(late, given["from_degC"], air - 1e-6)


def mean_rate_h(
    diameter_m: float, film_W_per_m2K: float, from_degC: float, to_degC: float, air_degC: float, **given: float
) -> float:
    metal = plain(**given, conductivity_W_per_mK=50.0)
    mass = metal.density_kg_per_m3 * pi / 6 * diameter_m**3
    rate_W = film_W_per_m2K * pi * diameter_m**2 * (0.5 * (from_degC + to_degC) - air_degC)
    return mass * metals.heat_J_per_kg(metal, to_degC, from_degC) / rate_W / 3600


def steel_plate_min(thickness_mm: float, film_W_per_m2K: float, emissivity: float, **given: float) -> Floats:
    exchange = surfaces.Exchange(air_W_per_m2K=film_W_per_m2K, emissivity=emissivity)
    return heating.heat_up_min(STEEL, thickness_mm / 2e3, exchange=exchange, **given)


MODELS: table.Models = {
    "to within 1 K of settled": (near_settled_s, "s"),
    "heating": (heat_up_s, "s"),
    "coating cure until out": (until_out_s, "s"),
    "radiation film": (
        lambda emissivity, surface_degC, walls_degC: surfaces.radiation_of_K(
            emissivity, surface_degC + 273.15, walls_degC + 273.15
        ),
        "W/m**2/K",
    ),
    "exponent": (lambda **given: 1 / time_constant_s(**given), "1/s"),
    "time constant": (time_constant_s, "s"),
    "lumped level": (lumped_level, "degC"),
    "cooling at the mean rate": (mean_rate_h, "h"),
    "steel plate": (steel_plate_min, "min"),
    "activation energy": (cure.activation_kJ_per_mol, "kJ/mol"),
    "cure rate": (cure.cure_rate, "dimensionless"),
    "time in the oven": (lambda dwell_min, **given: steel_plate_min(**given) + dwell_min, "min"),
}
ROWS = table.rows("physics_heating.csv")


@pytest.mark.parametrize("row", ROWS, ids=table.named)
def test_heating_agrees_with_print(row: dict[str, str]) -> None:
    table.hold(row, MODELS)


@pytest.mark.parametrize("row", [r for r in ROWS if r["model"] != "lumped level"], ids=table.named)
def test_heating_takes_arrays(row: dict[str, str]) -> None:
    table.both_ways(row, MODELS)


def test_every_model_is_used() -> None:
    assert {row["model"] for row in ROWS} == set(MODELS)
