"""Loose lines join to the outlines a person sees."""

import itertools
import random
from math import cos, pi, sin

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pricing.basis.errors import BadInput
from pricing.parts.curves import Curve, line
from pricing.parts.outlines import Joined, join


def segment(*points: tuple[float, float], order: int = 0) -> Curve:
    curve = line(np.array(points, dtype=np.float64))
    return Curve(curve.points, curve.length_mm, 0.0, "0", order)


def joined(*curves: Curve, gap_mm: float = 0.2) -> Joined:
    return join(curves, same_mm=0.001, gap_mm=gap_mm)


def square(size: float, x: float = 0.0, y: float = 0.0) -> list[Curve]:
    corners = [(x, y), (x + size, y), (x + size, y + size), (x, y + size), (x, y)]
    return [segment(a, b) for a, b in itertools.pairwise(corners)]


def areas(found: Joined) -> list[float]:
    return sorted(round(o.area_mm2, 6) for o in found.outlines if o.closed)


@settings(deadline=None)
@given(st.integers(3, 40), st.randoms(use_true_random=False))
def test_shuffled_and_turned_lines_make_one_outline(sides: int, rng: random.Random) -> None:
    corners = [(100 * cos(2 * pi * k / sides), 100 * sin(2 * pi * k / sides)) for k in range(sides)]
    pieces = [segment(corners[k], corners[(k + 1) % sides]) for k in range(sides)]
    rng.shuffle(pieces)
    pieces = [piece.reversed() if rng.random() < 0.5 else piece for piece in pieces]
    found = joined(*pieces)
    assert len(found.outlines) == 1
    assert areas(found) == [pytest.approx(sides / 2 * 1e4 * sin(2 * pi / sides), rel=1e-9)]
    assert found.outlines[0].length_mm == pytest.approx(2 * sides * 100 * sin(pi / sides), rel=1e-9)


def test_a_gap_within_the_tolerance_is_closed_and_told() -> None:
    open_square = segment((0, 0), (10, 0), (10, 10), (0, 10), (0, 0.15))
    found = joined(open_square)
    assert found.outlines[0].closed
    assert found.outlines[0].gaps_mm == pytest.approx((0.15,))
    assert found.outlines[0].length_mm == pytest.approx(40)
    assert not joined(open_square, gap_mm=0.1).outlines[0].closed


def test_the_nearest_ends_are_joined_first() -> None:
    left = [segment((0, 0), (0, 10)), segment((0.05, 10), (5, 10)), segment((5, 10), (5, 0)), segment((5, 0), (0, 0))]
    near = [segment((-0.15, 10), (-5, 10)), segment((-5, 10), (-5, 0))]
    found = joined(*left, *near)
    assert areas(found) == [pytest.approx(50, abs=0.01)]
    assert [o.closed for o in found.outlines].count(False) == 1


def test_a_scrap_shorter_than_the_gap_does_not_become_an_outline() -> None:
    assert [o.closed for o in joined(segment((0, 0), (0.1, 0))).outlines] == [False]


@pytest.mark.parametrize("times", [2, 3])
def test_an_outline_drawn_twice_counts_once(times: int) -> None:
    found = joined(*[curve for _ in range(times) for curve in square(10)])
    assert areas(found) == [100]
    assert found.twice == 4 * (times - 1)
    polygon = segment((0, 0), (10, 0), (10, 10), (0, 10), (0, 0))
    turned = segment((10, 10), (0, 10), (0, 0), (10, 0), (10, 10))
    assert areas(joined(*[polygon, turned] * times)) == [100]


def test_two_parts_that_share_a_border_drawn_for_each_stay_two() -> None:
    assert areas(joined(*square(10), *square(10, x=10))) == [100, 100]


@pytest.mark.parametrize("count", [2, 3, 5])
@given(rng=st.randoms(use_true_random=False))
def test_parts_that_share_one_cut_have_it_each(count: int, rng: random.Random) -> None:
    """Parts of 10 in a row, the line between two of them drawn once: 3 n + 1 lines."""
    cuts = [segment((10 * k, 0), (10 * k, 10)) for k in range(count + 1)]
    rails = [segment((10 * k, y), (10 * k + 10, y)) for k in range(count) for y in (0, 10)]
    lines = [curve.reversed() if rng.random() < 0.5 else curve for curve in rng.sample(cuts + rails, 3 * count + 1)]
    found = joined(*lines)
    assert areas(found) == [100] * count
    assert [outline.length_mm for outline in found.outlines] == [40] * count
    assert found.shared == count - 1


def test_a_grid_of_common_cuts_and_its_loose_ends() -> None:
    """Nine fields of 10 by 10 from 24 lines; a line that hangs on the grid stays open."""
    across = [segment((10 * k, 10 * y), (10 * k + 10, 10 * y)) for k in range(3) for y in range(4)]
    along = [segment((10 * x, 10 * k), (10 * x, 10 * k + 10)) for k in range(3) for x in range(4)]
    hanging = segment((30, 30), (44, 30))
    found = joined(*across, *along, hanging)
    assert areas(found) == [100] * 9
    assert found.shared == 12
    assert [outline.length_mm for outline in found.outlines if not outline.closed] == [14]


def test_two_rings_on_a_bridge_are_not_fields_that_share_it() -> None:
    found = joined(*square(10), segment((10, 10), (20, 20)), *square(10, x=20, y=20))
    assert areas(found) == [100, 100]
    assert found.shared == 0


def test_outlines_that_touch_in_a_point_stay_two() -> None:
    assert areas(joined(*square(10), *square(10, x=10, y=10))) == [100, 100]
    bow = [
        segment(a, b)
        for a, b in (
            ((0, 0), (5, 5)),
            ((5, 5), (10, 10)),
            ((10, 10), (10, 0)),
            ((10, 0), (5, 5)),
            ((5, 5), (0, 10)),
            ((0, 10), (0, 0)),
        )
    ]
    assert areas(joined(*bow)) == [25, 25]


def test_a_line_that_hangs_on_an_outline_is_told_apart() -> None:
    found = joined(*square(10), segment((10, 10), (20, 20)))
    assert areas(found) == [100]
    assert [o.length_mm for o in found.outlines if not o.closed] == [pytest.approx(200**0.5)]


def test_numbers_follow_the_file_and_stay() -> None:
    first = [Curve(c.points, c.length_mm, 0.0, "0", 1) for c in square(10)]
    second = [Curve(c.points, c.length_mm, 0.0, "0", 0) for c in square(20, x=50)]
    assert [(o.id, o.area_mm2) for o in joined(*first, *second).outlines] == [(1, 400), (2, 100)]


def test_points_are_dropped_and_counted() -> None:
    found = joined(*square(10), segment((3, 3), (3, 3)))
    assert areas(found) == [100]
    assert found.points_dropped == 1


def test_a_star_of_lines_through_one_point_is_refused() -> None:
    star = [segment((0, 0), (cos(k), sin(k))) for k in range(40)]
    with pytest.raises(BadInput, match=r"layer 0 is '40 lines that meet in one point'; it must be outlines\."):
        joined(*star)


def test_nothing_gives_nothing() -> None:
    assert joined().outlines == ()
