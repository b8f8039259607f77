"""Curves against closed forms, scipy's elliptic integrals and shapely."""

from math import pi, radians, sin, sqrt, tan

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ellipe, ellipeinc

from pricing.parts import curves
from pricing.parts.curves import area_mm2

FLAT = 0.02
calm = settings(max_examples=50, deadline=None)
sizes = st.floats(0.5, 2000.0)
angles = st.floats(-7.0, 7.0)


@calm
@given(sizes, angles, st.floats(0.05, 6.28))
def test_an_arc_has_its_own_length_and_area(radius: float, start: float, sweep: float) -> None:
    """Length r·θ; the segment between arc and chord r²/2 (θ - sin θ)."""
    for turn in (sweep, -sweep):
        arc = curves.arc((1e4, -3e3), radius, start, turn, flat=FLAT)
        assert arc.length_mm == pytest.approx(radius * sweep, rel=1e-12)
        segment = radius**2 / 2 * (sweep - sin(sweep))
        assert area_mm2([arc]) == pytest.approx(np.sign(turn) * segment, rel=1e-7, abs=1e-6)
        off = np.hypot(*(arc.points - (1e4, -3e3)).T) - radius
        assert np.abs(off).max() < 1e-9 * radius + 1e-9


@calm
@given(sizes, st.floats(0.05, 1.0), angles, st.floats(0.05, 6.28))
def test_an_elliptic_arc_agrees_with_elliptic_integrals(a: float, ratio: float, start: float, sweep: float) -> None:
    """∫ sqrt(a² sin² + b² cos²) = a (E(t₁ + π/2, e²) - E(t₀ + π/2, e²)); sector ab/2·Δt from the middle."""
    major = np.array([a * 0.6, a * 0.8])
    arc = curves.ellipse(np.zeros(2), major, ratio, (start, start + sweep), flat=FLAT)
    m = 1 - ratio**2
    exact = a * (ellipeinc(start + sweep + pi / 2, m) - ellipeinc(start + pi / 2, m))
    assert arc.length_mm == pytest.approx(exact, rel=1e-9)
    ends = [curves.line(np.array([[0.0, 0.0], arc.points[0]])), curves.line(np.array([arc.points[-1], [0.0, 0.0]]))]
    assert area_mm2([ends[0], arc, ends[1]]) == pytest.approx(a**2 * ratio * sweep / 2, rel=1e-9)


def test_a_whole_ellipse() -> None:
    whole = curves.ellipse(np.array([1e6, 5.0]), np.array([60.0, 80.0]), 0.3, (0, 2 * pi), flat=FLAT)
    assert whole.length_mm == pytest.approx(4 * 100 * ellipe(1 - 0.3**2), rel=1e-12)
    assert area_mm2([whole]) == pytest.approx(pi * 100 * 30, rel=1e-12)


@calm
@given(st.floats(-10, 10).filter(lambda b: abs(b) > 1e-3), st.floats(1, 500))
def test_a_bulge_is_the_tangent_of_a_quarter_of_the_angle(bulge: float, chord: float) -> None:
    """DXF reference: bulge = tan(θ/4); so radius = chord / (2 sin(θ/2))."""
    piece = curves.bulged(np.array([[0.0, 0.0], [chord, 0.0]]), np.array([bulge]), flat=FLAT)
    angle = 4 * np.arctan(abs(bulge))
    assert piece.length_mm == pytest.approx(chord / (2 * sin(angle / 2)) * angle, rel=1e-9)
    lowest = piece.points[:, 1].min() if bulge > 0 else -piece.points[:, 1].max()
    assert lowest == pytest.approx(-chord / 2 * abs(bulge), abs=2 * FLAT)  # anticlockwise bulges to the right


def test_a_slot_of_lines_and_bulges() -> None:
    corners = np.array([[0, 0], [100, 0], [100, 50], [0, 50], [0, 0.0]])
    slot = curves.bulged(corners, np.array([0, 1, 0, 1.0]), flat=FLAT)
    assert slot.length_mm == pytest.approx(200 + 50 * pi, rel=1e-12)
    assert area_mm2([slot]) == pytest.approx(100 * 50 + pi * 25**2, rel=1e-12)
    assert area_mm2([slot.reversed()]) == pytest.approx(-area_mm2([slot]), rel=1e-12)
    assert area_mm2([slot.mirrored()]) == pytest.approx(-area_mm2([slot]), rel=1e-12)
    assert area_mm2([slot.scaled(25.4)]) == pytest.approx(25.4**2 * area_mm2([slot]), rel=1e-12)


def test_a_rational_spline_is_an_exact_circle() -> None:
    """Nine control points with weights 1 and √½ draw a circle (Piegl and Tiller, from memory)."""
    corner = sqrt(0.5)
    controls = 50.0 * np.array([[1, 0], [1, 1], [0, 1], [-1, 1], [-1, 0], [-1, -1], [0, -1], [1, -1], [1, 0]])
    knots = np.array([0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4.0])
    circle = curves.spline(2, knots, controls, np.array([1, corner] * 4 + [1.0]), flat=FLAT)
    assert circle.length_mm == pytest.approx(100 * pi, rel=1e-11)
    assert area_mm2([circle]) == pytest.approx(2500 * pi, rel=1e-11)


def test_a_bezier_parabola() -> None:
    """(0,0), (1,2), (2,0): y = 2x - x²; length ∫ sqrt(1 + (2 - 2x)²) = √5 + asinh(2)/2; area below 4/3."""
    points = np.array([[0, 0], [1, 2], [2, 0.0]])
    arch = curves.spline(2, np.array([0, 0, 0, 1, 1, 1.0]), points, None, flat=FLAT)
    assert arch.length_mm == pytest.approx(sqrt(5) + np.arcsinh(2) / 2, rel=1e-10)
    assert area_mm2([arch]) == pytest.approx(-4 / 3, rel=1e-10)


@calm
@given(st.lists(st.tuples(st.floats(-100, 100), st.floats(-100, 100)), min_size=4, max_size=12))
def test_a_spline_agrees_with_its_fine_polygon(controls: list[tuple[float, float]]) -> None:
    points = np.array(controls)
    n = len(points)
    knots = np.concatenate([np.zeros(3), np.linspace(0, 1, n - 2), np.ones(3)])
    curve = curves.spline(3, knots, points, None, flat=FLAT)
    from scipy.interpolate import BSpline

    fine = BSpline(knots, points, 3)(np.linspace(0, 1, 40_001))
    length = float(np.hypot(*np.diff(fine, axis=0).T).sum())
    assert curve.length_mm == pytest.approx(length, rel=1e-5, abs=1e-6)
    x, y = fine.T
    area = 0.5 * float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))
    assert area_mm2([curve]) == pytest.approx(area, rel=1e-4, abs=1e-2)


@calm
@given(st.floats(0.1, 5000), st.floats(0.005, 0.5))
def test_flattening_keeps_its_tolerance(radius: float, flat: float) -> None:
    arc = curves.arc((0, 0), radius, 0.3, 2.0, flat=flat)
    middles = (arc.points[1:] + arc.points[:-1]) / 2
    assert (radius - np.hypot(*middles.T)).max() <= flat * (1 + 1e-9) + 1e-9


def test_a_star_of_lines_agrees_with_shapely() -> None:
    turn = np.linspace(0, 2 * pi, 41)
    points = np.column_stack((np.cos(turn), np.sin(turn))) * np.where(np.arange(41) % 2, 50, 20)[:, None]
    reference = shapely.Polygon(points)
    star = curves.line(points)
    assert star.length_mm == pytest.approx(reference.length, rel=1e-12)
    assert area_mm2([star]) == pytest.approx(reference.area, rel=1e-12)


def test_a_hair_of_an_arc_is_not_lost() -> None:
    arc = curves.arc((0, 0), 100.0, 0.0, radians(0.01), flat=FLAT)
    assert arc.length_mm == pytest.approx(100 * radians(0.01))
    assert len(arc.points) >= 3
    assert tan(0) == area_mm2([curves.line(np.array([[0, 0], [1, 0], [0, 0.0]]))])
