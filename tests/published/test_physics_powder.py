"""Powder: film, film mass and coverage held to printed values."""

import physics_rows as table
import pytest

from pricing.physics import film

MODELS: table.Models = {
    "coverage": (lambda **given: 1.0 / film.powder_kg(1.0, **{"utilisation": 1.0, **given}), "m**2/kg"),
    "film mass": (lambda **given: film.powder_kg(1.0, **given, utilisation=1.0), "kg/m**2"),
}
ROWS = table.rows("physics_powder.csv")


@pytest.mark.parametrize("row", ROWS, ids=table.named)
def test_powder_agrees_with_print(row: dict[str, str]) -> None:
    table.hold(row, MODELS)


@pytest.mark.parametrize("row", [r for r in ROWS if r["model"] in {"coverage", "film mass"}], ids=table.named)
def test_powder_takes_arrays(row: dict[str, str]) -> None:
    table.both_ways(row, MODELS)
