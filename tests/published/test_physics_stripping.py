"""Burn-off and hand work held to printed values."""

import physics_rows as table
import pytest

from pricing.basis.facts import facts
from pricing.physics import burnoff, handwork, metals

NUMBERS = {name: fact.value for name, fact in facts().items()}
STEEL = metals.metal_of("steel", NUMBERS)


def metal_heat(mass_kg: float, shop_degC: float) -> float:
    return mass_kg * metals.heat_J_per_kg(STEEL, shop_degC, NUMBERS["burnoff.metal"]) / 3.6e6


MODELS: table.Models = {
    "as written": (lambda yield_MPa: yield_MPa, "MPa"),
    "burn-off over ageing": (lambda burnoff_degC: burnoff_degC - NUMBERS["ageing.6061"], "delta_degC"),
    "pieces in cycle": (burnoff.pieces_in_cycle, "dimensionless"),
    "metal heat": (metal_heat, "kWh"),
    "binder heat": (
        lambda **atoms: burnoff.binder_heat_MJ_per_kg(
            **atoms,
            oxygen_heat_MJ_per_kg=NUMBERS["binder.oxygen_heat"],
            latent_kJ_per_mol=NUMBERS["water.latent"],
        ),
        "MJ/kg",
    ),
    "fact: epoxy": (lambda: NUMBERS["binder.epoxy.heat"], "MJ/kg"),
}
HAND: table.Models = {
    "reach, grasp, move": (
        lambda: handwork.motions_s(*(NUMBERS[f"motion.{m}"] for m in ("reach_12_in_b", "grasp_1a", "move_12_in_c"))),
        "s",
    ),
    "wipe a metre": (
        lambda strokes_per_m: handwork.wipe_floor_s_per_m(strokes_per_m, NUMBERS["motion.move_10_in_b"]),
        "s",
    ),
    "as written": (lambda time_h_per_m: time_h_per_m, "h/m"),
    "pipe work": (handwork.per_area_h_per_m2, "h/m**2"),
}
ROWS, HAND_ROWS = table.rows("physics_stripping.csv"), table.rows("physics_handwork.csv")


@pytest.mark.parametrize("row", ROWS, ids=table.named)
def test_stripping_agrees_with_print(row: dict[str, str]) -> None:
    table.hold(row, MODELS)


@pytest.mark.parametrize("row", HAND_ROWS, ids=table.named)
def test_hand_work_agrees_with_print(row: dict[str, str]) -> None:
    table.hold(row, HAND)


def test_every_model_is_used() -> None:
    assert {row["model"] for row in ROWS} == set(MODELS)
    assert {row["model"] for row in HAND_ROWS} == set(HAND)
