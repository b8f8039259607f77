"""Shapes and sections held to exact formulas, section tables and meshes."""

from math import pi

import physics_rows as table
import pytest

from pricing.basis.facts import fact
from pricing.parts.shaped import Shaped
from pricing.physics import sections, shapes, solids

CORNER = fact("hollow_section.corner_factor")
STEEL = fact("steel.density")


def hollow(**given: float) -> shapes.Shape:
    return sections.hollow_section(**{"corner_factor": CORNER, **given})


def shape(**given: float | str) -> shapes.Shape:
    """A shape of the shop by its measures; its density belongs to the row."""
    kind = str(given.pop("kind"))
    return Shaped(kind, {name: value for name, value in given.items() if name != "density"}).shape


def outside_m2(**given: float) -> float:
    return hollow(**given).line_m * given["length_mm"] * 1e-3


def holes_per_m2(hole_mm: float, pitch_mm: float) -> float:
    return sections.perforated_sheet(1000, 1000, thickness_mm=1, hole_mm=hole_mm, pitch_mm=pitch_mm).holes


def open_share(hole_mm: float, pitch_mm: float) -> float:
    return holes_per_m2(hole_mm, pitch_mm) * pi / 4e6 * hole_mm**2


MODELS: table.Models = {
    "plate area": (lambda **given: shapes.plate(**given).area_m2, "m**2"),
    "box edges": (lambda **given: solids.box(**given).edge_m, "m"),
    "tube area": (lambda **given: solids.tube(**given).area_m2, "m**2"),
    "disc edges": (lambda **given: shapes.disc(**given).edge_m, "m"),
    "cone mantle": (lambda **given: solids.cone_frustum(**given).volume_m3 / given["wall_mm"] * 1e3, "m**2"),
    "torus area": (lambda **given: solids.torus(**given).area_m2, "m**2"),
    "open share": (open_share, "dimensionless"),
    "holes per m2": (holes_per_m2, "1/m**2"),
    "hollow section area": (outside_m2, "m**2"),
    "hollow section area per mass": (lambda **given: outside_m2(**given) / hollow(**given).mass_kg(STEEL), "m**2/kg"),
    "frame mass": (lambda **given: sections.frame(**given).mass_kg(STEEL), "kg"),
    "frame area": (lambda **given: sections.frame(**given).area_m2, "m**2"),
    "shape mass": (lambda **given: shape(**given).mass_kg(given["density"]), "kg"),
    "shape volume": (lambda **given: shape(**given).volume_m3, "m**3"),
    "shape area": (lambda **given: shape(**given).area_m2, "m**2"),
}
ROWS = table.rows("physics_geometry.csv")


@pytest.mark.parametrize("row", ROWS, ids=table.named)
def test_geometry_agrees_with_print(row: dict[str, str]) -> None:
    table.hold(row, MODELS)
