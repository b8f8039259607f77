"""Burn-off and hand work held to printed values."""

import physics_rows as table
import pytest

from pricing.basis.facts import facts
from pricing.physics import metals

NUMBERS = {name: fact.value for name, fact in facts().items()}
STEEL = metals.metal_of("steel", NUMBERS)


def metal_heat(mass_kg: float, shop_degC: float) -> float:
    return mass_kg * metals.heat_J_per_kg(STEEL, shop_degC, NUMBERS["burnoff.metal"]) / 3.6e6


MODELS: table.Models = {
    "as written": (lambda yield_MPa: yield_MPa, "MPa"),
    "burn-off over ageing": (lambda burnoff_degC: burnoff_degC - NUMBERS["ageing.6061"], "delta_degC"),
    "metal heat": (metal_heat, "kWh"),
    "fact: epoxy": (lambda: NUMBERS["binder.epoxy.heat"], "MJ/kg"),
}
ROWS = table.rows("physics_stripping.csv")


@pytest.mark.parametrize("row", ROWS, ids=table.named)
def test_stripping_agrees_with_print(row: dict[str, str]) -> None:
    table.hold(row, MODELS)


def test_every_model_is_used() -> None:
    assert {row["model"] for row in ROWS} == set(MODELS)
