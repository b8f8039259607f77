"""Shapes added up, drilled and opened, each measure worked out beside it: geometry, no other source."""

from math import hypot, pi

import numpy as np
import pytest

from pricing.basis.errors import BadInput
from pricing.physics.sections import frame, hollow_section, perforated_sheet
from pricing.physics.shapes import Shape, disc, drilled, plate
from pricing.physics.solids import box, cone_frustum, torus, tube, wheel
from pricing.steps.step import some

MEASURES = ("area_m2", "volume_m3", "edge_m", "line_m", "holes")


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
    # of two faces a hole takes 2 · π/4 w² and gives π w s
    for thick in (1.0, 3.0):
        sheet = perforated_sheet(1000.0, 1000.0, thickness_mm=thick, hole_mm=4.0, pitch_mm=6.0)
        one_mm2 = pi * 4.0 * thick - 2 * pi / 4 * 4.0**2
        assert sheet.area_m2 == pytest.approx(2.0 + 4e-3 * thick + sheet.holes * one_mm2 * 1e-6, rel=1e-12)


def test_some_is_one_only_where_there_is_any() -> None:
    assert (some(0.0), some(0.2)) == (0.0, 1.0)
    assert list(np.asarray(some(np.array([0.0, 0.2, 3.0])))) == [0.0, 1.0, 1.0]


def measures(shape: Shape) -> list[float]:
    return [float(getattr(shape, name)) for name in MEASURES]


def test_plates_discs_tubes_boxes_and_rings_by_hand() -> None:
    """In metres: faces and walls, metal, every arris, the outline of the face."""
    assert measures(plate(700, 300, thickness_mm=4)) == pytest.approx(
        [2 * 0.7 * 0.3 + 2.0 * 0.004, 0.7 * 0.3 * 0.004, 4.0, 2.0, 0.0]
    )
    ring, rims = pi / 4 * (0.3**2 - 0.06**2), pi * 0.36
    assert measures(disc(300, hole_mm=60, thickness_mm=5)) == pytest.approx(
        [2 * ring + rims * 0.005, ring * 0.005, 2 * rims, rims, 1.0]
    )
    solid = disc(300, thickness_mm=5)
    assert measures(solid) == pytest.approx(
        [pi / 2 * 0.09 + pi * 0.3 * 0.005, pi / 4 * 0.09 * 0.005, 2 * pi * 0.3, pi * 0.3, 0.0]
    )
    cut = pi / 4 * (0.06**2 - 0.052**2)
    ends = [cut * 1.2, 2 * pi * (0.06 + 0.052), pi * 0.06, 0.0]
    assert measures(tube(60, wall_mm=4, length_mm=1200)) == pytest.approx([pi * 0.112 * 1.2 + 2 * cut, *ends])
    assert measures(tube(60, wall_mm=4, length_mm=1200, inside_coated=False)) == pytest.approx(
        [pi * 0.06 * 1.2 + 2 * cut, *ends]
    )
    assert measures(box(400, 300, depth_mm=120, wall_mm=2)) == pytest.approx(
        [
            2 * (0.4 * 0.3 + 0.3 * 0.12 + 0.4 * 0.12),
            0.4 * 0.3 * 0.12 - 0.396 * 0.296 * 0.116,
            4 * (0.4 + 0.3 + 0.12),
            1.4,
            0.0,
        ]
    )
    assert measures(torus(500, 12)) == pytest.approx(
        [pi * 0.5 * pi * 0.012, pi * 0.5 * pi / 4 * 0.012**2, 0.0, 0.0, 0.0]
    )


def test_a_wheel_by_hand() -> None:
    """Barrel, a hub with two faces and a wall, five spokes less what both their ends hide on either side."""
    barrel = tube(460, wall_mm=6, length_mm=200)
    spoke = (0.448 - 0.15) / 2
    made = wheel(460, 200, wall_mm=6, hub_mm=150, spokes=5, spoke_mm=40)
    assert measures(made) == pytest.approx(
        [
            barrel.area_m2 + pi / 2 * 0.15**2 + pi * 0.15 * 0.04 + 5 * 4 * 0.04 * spoke - 5 * 2 * 0.04**2,
            barrel.volume_m3 + pi / 4 * 0.15**2 * 0.04 + 5 * 0.04**2 * spoke,
            barrel.edge_m + 5 * 4 * spoke,
            pi * 0.448 + 5 * 2 * spoke,
            0.0,
        ]
    )


def test_a_hollow_section_by_hand() -> None:
    """Corners of radius r: four right angles less four quarter circles; the metal between two such outlines."""
    outer, inner = (2 * (b + h) - 8 * r + 2 * pi * r for b, h, r in ((0.08, 0.04, 0.006), (0.074, 0.034, 0.003)))
    metal = (0.08 * 0.04 - (4 - pi) * 0.006**2) - (0.074 * 0.034 - (4 - pi) * 0.003**2)
    made = hollow_section(80, 40, wall_mm=3, length_mm=2500, corner_factor=2.0)
    assert measures(made) == pytest.approx([outer * 2.5 + 2 * metal, metal * 2.5, 2 * (outer + inner), outer, 0.0])


def test_a_gate_by_hand() -> None:
    """Middle lines of four mitred tubes and three bars; the ends of bars hide as much of the frame as they have."""
    around = 2 * (0.06 + 0.04) - (8 - 2 * pi) * 0.006
    metal = (0.06 * 0.04 - (4 - pi) * 0.006**2) - (0.054 * 0.034 - (4 - pi) * 0.003**2)
    high = 1.2 - 0.12
    length = 2 * (0.9 + 1.2 - 0.12) + 3 * high
    made = frame(900, 1200, bar_mm=60, deep_mm=40, wall_mm=3, corner_factor=2.0, bars=3)
    assert made.area_m2 == pytest.approx(around * length - 3 * 2 * 0.06 * 0.04)
    assert made.volume_m3 == pytest.approx(metal * length)
    openings = 2 * (0.78 + high) + 3 * 2 * (high - 0.06)
    assert (made.line_m, made.edge_m) == (pytest.approx(2 * 2.1 + openings), 0.0)


def test_a_perforated_sheet_by_hand() -> None:
    """A staggered hole has the cell of two triangles."""
    holes = 0.6 * 0.4 / (3**0.5 / 2 * 0.010**2)
    face, rims = 0.24 - holes * pi / 4 * 0.006**2, 2.0 + holes * pi * 0.006
    made = perforated_sheet(600, 400, thickness_mm=2, hole_mm=6, pitch_mm=10)
    assert measures(made) == pytest.approx([2 * face + rims * 0.002, face * 0.002, 2 * rims, rims, holes])


def test_walls_and_corners_stop_short_of_the_middle_of_each_side() -> None:
    size = {"length_mm": 1000.0, "corner_factor": 1.0}
    assert hollow_section(60, 20, wall_mm=9.9, **size).volume_m3 > 0
    for wide, high in ((60, 20), (20, 60)):
        with pytest.raises(BadInput, match="wall_mm is 10"):
            hollow_section(wide, high, wall_mm=10.0, **size)
        with pytest.raises(BadInput, match="corner radius"):
            hollow_section(wide, high, wall_mm=5.0, length_mm=1000.0, corner_factor=2.0)
    assert frame(120.2, 500, bar_mm=60, deep_mm=60, wall_mm=3, corner_factor=2.0).line_m > 0
    for wide, high in ((120, 500), (500, 120)):
        with pytest.raises(BadInput, match="two tubes is 120"):
            frame(wide, high, bar_mm=60, deep_mm=60, wall_mm=3, corner_factor=2.0)
    with pytest.raises(BadInput, match=r"bars x bar_mm is 180"):
        frame(300, 500, bar_mm=60, deep_mm=60, wall_mm=3, corner_factor=2.0, bars=3)
    assert box(10, 10, depth_mm=10, wall_mm=5).volume_m3 == pytest.approx(1e-6)  # filled
    with pytest.raises(BadInput, match="spokes x spoke_mm"):
        wheel(460, 200, wall_mm=6, hub_mm=100, spokes=8, spoke_mm=40)
    with pytest.raises(BadInput, match="hub_mm is 448"):
        wheel(460, 200, wall_mm=6, hub_mm=448, spokes=1, spoke_mm=40)
    whole = plate(10, 10, thickness_mm=0.001)
    with pytest.raises(BadInput, match="1 of 12 mm"):
        drilled(whole, 1, 12, wall_mm=0.001)
