"""From noisy points to lines, bends and circles, held against figures whose length is known."""

from math import hypot, pi

import numpy as np
import pytest
import shapely

from pricing.parts.outlines import Outline
from pricing.parts.photo_fit import fit_ring

DOT = 0.4


def points_of(shape: shapely.Polygon, noise_px: float = 0.12, seed: int = 0) -> np.ndarray:
    ring = shapely.get_coordinates(shapely.segmentize(shape.exterior, DOT))[:-1]
    return ring + np.random.default_rng(seed).normal(size=ring.shape) * noise_px * DOT


def outline(shape: shapely.Polygon, **how: float) -> Outline:
    return Outline(1, tuple(fit_ring(points_of(shape, **how), DOT, 0.8)), closed=True)


def test_a_square_has_four_straight_stretches_and_its_length() -> None:
    found = outline(shapely.box(0, 0, 80, 50))
    assert len(found.curves) == 4
    assert found.length_mm == pytest.approx(260, rel=5e-4)
    assert found.area_mm2 == pytest.approx(4000, rel=5e-4)


@pytest.mark.parametrize("radius", [2.0, 5.0, 40.0])
def test_a_circle_is_one_curve_with_its_diameter(radius: float) -> None:
    found = outline(shapely.Point(3, -2).buffer(radius, quad_segs=64))
    assert len(found.curves) == 1
    assert found.length_mm == pytest.approx(2 * pi * radius, rel=3e-3)


def test_noise_along_an_edge_adds_nothing_to_its_length() -> None:
    """Without a fit every dot's noise lengthens the line: the raw sum is over 1 % too long here."""
    shape = shapely.Polygon([(0, 0), (100, 10), (90, 70), (40, 95), (-5, 60)])
    raw = points_of(shape, 0.2)
    raw_length = float(np.hypot(*(np.roll(raw, -1, axis=0) - raw).T).sum())
    assert raw_length / shape.length > 1.01
    assert outline(shape, noise_px=0.2).length_mm == pytest.approx(shape.length, rel=1.5e-3)


def test_a_hexagon_is_no_circle() -> None:
    angles = np.arange(6) * pi / 3
    found = outline(shapely.Polygon(np.column_stack((9 * np.cos(angles), 9 * np.sin(angles)))))
    assert len(found.curves) == 6
    assert found.length_mm == pytest.approx(54, rel=5e-3)


def test_a_bend_between_straight_edges_keeps_its_length() -> None:
    """A plate with two round ends: 2 straight sides and the circle's length."""
    shape = shapely.LineString([(0, 0), (60, 0)]).buffer(20, quad_segs=64)
    assert outline(shape).length_mm == pytest.approx(2 * 60 + 2 * pi * 20, rel=2e-3)


def test_curves_meet_end_to_end() -> None:
    found = outline(shapely.Polygon([(0, 0), (50, 0), (50, 20), (20, 20), (20, 60), (0, 60)]))
    for one, other in zip(found.curves, [*found.curves[1:], found.curves[0]], strict=True):
        assert hypot(*(one.points[-1] - other.points[0])) == pytest.approx(0, abs=1e-9)
