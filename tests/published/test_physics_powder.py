"""Powder: film, coverage and utilisation held to printed values."""

import physics_rows as table
import pytest
from scipy.optimize import brentq

from pricing.basis.facts import fact
from pricing.physics import film

SINGLE = fact("film.single_reading_share")


def reclaim_needed(utilisation: float, transfer_share: float) -> float:
    return brentq(lambda share: film.utilisation(transfer_share, share) - utilisation, 0.0, 1.0)


MODELS: table.Models = {
    "coverage": (film.coverage_m2_per_kg, "m**2/kg"),
    "as written": (lambda coverage_m2_per_kg: coverage_m2_per_kg, "m**2/kg"),
    "film mass": (film.film_mass_kg_per_m2, "kg/m**2"),
    "reclaim needed": (reclaim_needed, "dimensionless"),
    "utilisation": (film.utilisation, "dimensionless"),
    "transfer share": (film.transfer_share, "dimensionless"),
    "film accepted": (lambda **given: film.film_accepted(**given, single_share=SINGLE), "dimensionless"),
    "blend density": (film.blend_density_g_per_cm3, "g/cm**3"),
}
ROWS = table.rows("physics_powder.csv")


@pytest.mark.parametrize("row", ROWS, ids=table.named)
def test_powder_agrees_with_print(row: dict[str, str]) -> None:
    table.hold(row, MODELS)


@pytest.mark.parametrize(
    "row", [r for r in ROWS if r["model"] in {"coverage", "film mass", "utilisation"}], ids=table.named
)
def test_powder_takes_arrays(row: dict[str, str]) -> None:
    table.both_ways(row, MODELS)
