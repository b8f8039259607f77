"""Packing held to published optima and to classic examples."""

import physics_rows as table
import pytest

from pricing.physics.packing import HangingSpace
from pricing.physics.packing_mixed import PartKind, least_loads, load_oven


def rail(length_mm: float, mass_kg: float = 1e6) -> HangingSpace:
    """Return a single rail: bin packing in one dimension."""
    return HangingSpace(
        rails=1,
        rail_mm=length_mm,
        rail_pitch_mm=100,
        depth_mm=100,
        height_mm=100,
        clearance_mm=0,
        hook_mm=0,
        mass_limit_kg=mass_kg,
    )


def kinds(lengths_mm: list[float], masses_kg: list[float]) -> list[PartKind]:
    return [
        PartKind(name=str(i), count=1, width_mm=w, depth_mm=1, height_mm=1, mass_kg=m, may_turn=False)
        for i, (w, m) in enumerate(zip(lengths_mm, masses_kg, strict=True))
    ]


def bound_by_mass(masses_g: list[float], capacity_g: float) -> int:
    space, parts = rail(1e4, capacity_g / 1e3), kinds([1.0] * len(masses_g), [m / 1e3 for m in masses_g])
    assert load_oven(space, parts).loads <= least_loads(space, parts) + 1
    return least_loads(space, parts)


def fewest_by_length(lengths_mm: list[float], capacity_mm: float) -> int:
    plan = load_oven(rail(capacity_mm), kinds(lengths_mm, [1.0] * len(lengths_mm)))
    assert plan.proven
    return plan.loads


def fewest_on_plane(width_mm: float, height_mm: float, pieces: int, rack_mm: float, tiers: int) -> int:
    space = HangingSpace(
        rails=1,
        rail_mm=rack_mm,
        rail_pitch_mm=100,
        depth_mm=100,
        height_mm=rack_mm,
        clearance_mm=0,
        hook_mm=0,
        mass_limit_kg=1e6,
        tiers=tiers,
    )
    panel = PartKind(
        name="panel", count=pieces, width_mm=width_mm, depth_mm=1, height_mm=height_mm, mass_kg=1, may_turn=False
    )
    plan = load_oven(space, [panel])
    assert plan.proven
    return plan.loads


MODELS: table.Models = {
    "bound by mass": (bound_by_mass, "dimensionless"),
    "fewest by length": (fewest_by_length, "dimensionless"),
    "fewest on a rack plane": (fewest_on_plane, "dimensionless"),
}
ROWS = table.rows("physics_packing.csv")


@pytest.mark.parametrize("row", ROWS, ids=table.named)
def test_packing_agrees_with_print(row: dict[str, str]) -> None:
    table.hold(row, MODELS)


def test_every_model_is_used() -> None:
    assert {row["model"] for row in ROWS} == set(MODELS)
