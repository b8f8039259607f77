"""Heating, cooling and cure held to textbook examples and to adaptive solvers."""

from math import log, pi

import physics_rows as table
import pytest
from scipy.optimize import brentq

from pricing.basis.checks import Floats
from pricing.basis.facts import facts
from pricing.physics import cure, heating, metals

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


def metal_and_air(given: dict[str, float]) -> tuple[metals.Metal, heating.Exchange]:
    metal = plain(*(given.pop(k) for k in ("density_kg_per_m3", "heat_J_per_kgK", "conductivity_W_per_mK")))
    exchange = heating.Exchange(air_W_per_m2K=given.pop("film_W_per_m2K"), emissivity=given.pop("emissivity", 0.0))
    return metal, exchange


def heat_up_s(**given: float) -> float:
    metal, exchange = metal_and_air(given)
    return 60 * heating.heat_up_min(metal, given.pop("section_m"), exchange=exchange, **given)


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
    exchange = heating.Exchange(air_W_per_m2K=film_W_per_m2K, emissivity=emissivity)
    return heating.heat_up_min(STEEL, thickness_mm / 2e3, exchange=exchange, **given)


def implied_kJ_per_mol(dwell_min: float, schedule_degC: float, other_dwell_min: float, other_degC: float) -> float:
    """Look for the activation energy at which two schedules are worth the same."""

    def miss(energy: float) -> float:
        rate = cure.cure_rate(schedule_degC, reference_degC=other_degC, activation_kJ_per_mol=energy)
        return float(rate) - other_dwell_min / dwell_min

    return float(brentq(miss, 1.0, 500.0))


MODELS: table.Models = {
    "heating": (heat_up_s, "s"),
    "coating cure until out": (until_out_s, "s"),
    "radiation film": (
        lambda emissivity, surface_degC, walls_degC: heating.radiation_of_K(
            emissivity, surface_degC + 273.15, walls_degC + 273.15
        ),
        "W/m**2/K",
    ),
    "exponent": (lambda **given: 1 / time_constant_s(**given), "1/s"),
    "time constant": (time_constant_s, "s"),
    "lumped level": (lumped_level, "degC"),
    "cooling at the mean rate": (mean_rate_h, "h"),
    "steel plate": (steel_plate_min, "min"),
    "activation energy": (implied_kJ_per_mol, "kJ/mol"),
    "cure rate": (cure.cure_rate, "dimensionless"),
    "time in the oven": (lambda dwell_min, **given: steel_plate_min(**given) + dwell_min, "min"),
}
ROWS = table.rows("physics_heating.csv")


@pytest.mark.parametrize("row", ROWS, ids=table.named)
def test_heating_agrees_with_print(row: dict[str, str]) -> None:
    table.hold(row, MODELS)


@pytest.mark.parametrize(
    "row", [r for r in ROWS if r["model"] not in {"lumped level", "activation energy"}], ids=table.named
)
def test_heating_takes_arrays(row: dict[str, str]) -> None:
    table.both_ways(row, MODELS)


def test_every_model_is_used() -> None:
    assert {row["model"] for row in ROWS} == set(MODELS)
