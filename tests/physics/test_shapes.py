"""Shapes: against numerical surfaces, against each other, and what they refuse."""

from math import pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pricing.basis.errors import BadInput
from pricing.physics import sections, shapes, solids

mm = st.floats(1, 3000)


def area_of_revolution(radius_mm: np.ndarray, height_mm: np.ndarray) -> float:
    """Turn a polygon about the axis, summing the mantles of its sides [m²]."""
    r0, r1 = radius_mm[:-1], radius_mm[1:]
    slant = np.hypot(np.diff(radius_mm), np.diff(height_mm))
    return float((pi * (r0 + r1) * slant).sum()) * 1e-6


def test_tube_equals_its_turned_outline() -> None:
    r = np.array([20.0, 25.0, 25.0, 20.0, 20.0])
    z = np.array([0.0, 0.0, 400.0, 400.0, 0.0])
    ours = solids.tube(50, wall_mm=5, length_mm=400)
    assert ours.area_m2 == pytest.approx(area_of_revolution(r, z), rel=1e-12)
    bare = solids.tube(50, wall_mm=5, length_mm=400, inside_coated=False)
    assert ours.area_m2 - bare.area_m2 == pytest.approx(pi * 0.040 * 0.4)


def test_torus_equals_its_turned_outline() -> None:
    angle = np.linspace(0, 2 * pi, 20_001)
    turned = area_of_revolution(200 + 15 * np.cos(angle), 15 * np.sin(angle))
    assert solids.torus(400, 30).area_m2 == pytest.approx(turned, rel=1e-7)


@given(mm, mm, mm)
def test_plate_is_a_solid_box(a: float, b: float, t: float) -> None:
    flat = shapes.plate(a, b, thickness_mm=t)
    solid = solids.box(a, b, depth_mm=t, wall_mm=min(a, b, t) / 2)
    assert flat.area_m2 == pytest.approx(solid.area_m2, rel=1e-9)
    assert flat.volume_m3 == pytest.approx(solid.volume_m3, rel=1e-9)
    assert solid.edge_m - flat.edge_m == pytest.approx(4e-3 * t, rel=1e-6)


def test_wheel_is_the_sum_of_its_parts_less_hidden_roots() -> None:
    wheel = solids.wheel(460, 200, wall_mm=6, hub_mm=150, spokes=5, spoke_mm=40)
    spoke_mm = (448 - 150) / 2
    barrel, hub = solids.tube(460, wall_mm=6, length_mm=200), shapes.disc(150, thickness_mm=40)
    spoke = shapes.plate(40, spoke_mm, thickness_mm=40)
    hidden_m2 = 5 * 4 * 40 * 40e-6  # two ends of each spoke, and as much on the hub and in the barrel
    assert wheel.area_m2 == pytest.approx(barrel.area_m2 + hub.area_m2 + 5 * spoke.area_m2 - hidden_m2)
    assert wheel.volume_m3 == pytest.approx(barrel.volume_m3 + hub.volume_m3 + 5 * spoke.volume_m3)
    bare = solids.wheel(460, 200, wall_mm=6, hub_mm=150, spokes=0, spoke_mm=40)
    assert bare.edge_m == pytest.approx(2 * pi * 0.908)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: shapes.disc(60, hole_mm=60, thickness_mm=3), r"hole_mm is 60; it must be below 60\."),
        (lambda: solids.tube(10, wall_mm=5, length_mm=100), r"wall_mm is 5; it must be below 5\."),
        (lambda: solids.box(10, 10, depth_mm=10, wall_mm=6), r"wall_mm is 6; it must be at most 5\."),
        (lambda: solids.torus(20, 30), r"bar_mm is 30; it must be below 20\."),
        (
            lambda: solids.wheel(460, 200, wall_mm=6, hub_mm=100, spokes=9, spoke_mm=40),
            r"spokes x spoke_mm is 360; it must be at most 314\.159\.",
        ),
        (
            lambda: sections.perforated_sheet(90, 90, thickness_mm=1, hole_mm=8, pitch_mm=8),
            r"hole_mm is 8; it must be below 8\.",
        ),
        (lambda: shapes.plate(-1.0, 5, thickness_mm=1), r"width_mm is -1\.0"),
        (lambda: shapes.disc(9.0, hole_mm=10, thickness_mm=3), r"hole_mm is 10; .* below 9"),
    ],
)
def test_a_shape_that_cannot_be_is_refused(make: object, message: str) -> None:
    with pytest.raises(BadInput, match=message):
        make()  # type: ignore[operator]
