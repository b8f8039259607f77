"""Shapes added up, drilled and opened, each measure worked out beside it: geometry, no other source."""

from math import hypot, pi

import numpy as np
import pytest

from pricing.physics.sections import perforated_factor
from pricing.physics.shapes import drilled, plate
from pricing.physics.solids import cone_frustum
from pricing.steps.step import some

MEASURES = ("area_m2", "volume_m3", "edge_m", "line_m", "holes")


def test_two_shapes_side_by_side_have_all_that_each_has() -> None:
    one = drilled(plate(1000, 500, thickness_mm=3), 4, 20, wall_mm=3)
    other = drilled(plate(300, 200, thickness_mm=2), 7, 10, wall_mm=2)
    both = one + other
    for name in MEASURES:
        assert getattr(both, name) == pytest.approx(getattr(one, name) + getattr(other, name), rel=1e-12), name
    assert both.holes == 11


@pytest.mark.parametrize("faces", [1, 2])
def test_a_hole_takes_its_disc_off_each_face_and_brings_its_wall(faces: int) -> None:
    bare = plate(1000, 500, thickness_mm=3)
    made = drilled(bare, 4, 20, wall_mm=3, faces=faces)
    disc, round_m = pi / 4 * 0.020**2, pi * 0.020
    assert made.area_m2 - bare.area_m2 == pytest.approx(4 * (round_m * 0.003 - faces * disc), rel=1e-9)
    assert bare.volume_m3 - made.volume_m3 == pytest.approx(4 * disc * 0.003, rel=1e-9)
    assert made.edge_m - bare.edge_m == pytest.approx(4 * faces * round_m, rel=1e-9)
    assert made.line_m - bare.line_m == pytest.approx(4 * round_m, rel=1e-9)


def test_a_cone_is_its_mantle_twice_and_two_rims() -> None:
    made = cone_frustum(400, 240, height_mm=300, wall_mm=1.5)
    mantle, rims = pi * (0.2 + 0.12) * hypot(0.08, 0.3), pi * (0.4 + 0.24)
    assert made.area_m2 == pytest.approx(2 * mantle + rims * 0.0015, rel=1e-12)
    assert made.volume_m3 == pytest.approx(mantle * 0.0015, rel=1e-12)
    assert (made.edge_m, made.line_m) == pytest.approx((2 * rims, rims), rel=1e-12)


def test_a_perforated_sheet_trades_open_face_for_walls_of_holes() -> None:
    # of two faces a hole takes 2 · π/4 w² and gives π w s: a share 2s/w of it
    assert perforated_factor(0.3, thickness_mm=1.0, hole_mm=4.0) == pytest.approx(1 - 0.3 * (1 - 0.5))
    assert perforated_factor(0.3, thickness_mm=3.0, hole_mm=4.0) == pytest.approx(1 + 0.3 * 0.5)


def test_some_is_one_only_where_there_is_any() -> None:
    assert (some(0.0), some(0.2)) == (0.0, 1.0)
    assert list(np.asarray(some(np.array([0.0, 0.2, 3.0])))) == [0.0, 1.0, 1.0]
