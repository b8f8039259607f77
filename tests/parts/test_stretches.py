"""Stretches of an outline: cut at corners and at long straight sides, marked as not seen, their ends dragged."""

from pathlib import Path

import ezdxf
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pricing.parts.curves import area_mm2, bulged, line
from pricing.parts.drawing import read_drawing
from pricing.parts.outlines import Outline
from pricing.parts.reading import BadDrawing, Choices
from pricing.parts.stretches import StretchMarks, drawn, marked, stretches

SQUARE = np.array([(0, 0), (100, 0), (100, 60), (0, 60), (0, 0)], dtype=float)


def outline(points: np.ndarray, bulges: np.ndarray | None = None) -> Outline:
    bulges = np.zeros(len(points) - 1) if bulges is None else bulges
    return Outline(1, (bulged(points, bulges, flat=0.01),), closed=True)


def rounded() -> Outline:
    """A plate of 100 by 60 mm with corners of 10 mm radius, as one polyline with bulges."""
    corners = [(10, 0), (90, 0), (100, 10), (100, 50), (90, 60), (10, 60), (0, 50), (0, 10), (10, 0)]
    return outline(np.array(corners, dtype=float), np.array([0, np.tan(np.pi / 8)] * 4))


def test_a_polyline_has_a_stretch_from_corner_to_corner() -> None:
    runs = stretches(outline(SQUARE))
    assert [sum(c.length_mm for c in run) for run in runs] == pytest.approx([100, 60, 100, 60])


def test_it_may_begin_in_the_middle_of_a_side() -> None:
    runs = stretches(outline(np.array([(50, 0), *SQUARE[1:], (50, 0)], dtype=float)))
    assert sorted(sum(c.length_mm for c in run) for run in runs) == pytest.approx([60, 60, 100, 100])


def test_straight_sides_are_marked_by_themselves_though_they_run_into_bends() -> None:
    lengths = [sum(c.length_mm for c in run) for run in stretches(rounded())]
    assert sorted(lengths) == pytest.approx([*[np.pi * 5] * 4, 40, 40, 80, 80], rel=1e-3)


def test_what_is_round_is_one_stretch() -> None:
    whole = outline(np.array([(0, 0), (10, 0), (0, 0)], dtype=float), np.array([1.0, 1.0]))
    assert len(stretches(whole)) == 1
    hidden = marked(whole, StretchMarks(unseen=frozenset({(1, 0)})))
    assert [seen for _, seen in drawn(hidden)] == [False]


@settings(max_examples=60)
@given(
    st.lists(st.floats(8, 40), min_size=5, max_size=14),
    st.lists(st.sampled_from([0.0, 0.0, 0.3]), min_size=14, max_size=14),
)
def test_marks_change_neither_length_nor_area(radii: list[float], bulges: list[float]) -> None:
    angle = np.linspace(0, 2 * np.pi, len(radii), endpoint=False)
    points = np.column_stack((radii * np.cos(angle), radii * np.sin(angle)))
    one = outline(np.vstack((points, points[:1])), np.array(bulges[: len(radii)]))
    runs = stretches(one)
    hidden = marked(one, StretchMarks(unseen=frozenset({(1, len(runs) - 1)})))
    assert hidden.length_mm == pytest.approx(one.length_mm, rel=1e-9)
    assert area_mm2(hidden.curves) == pytest.approx(area_mm2(one.curves), rel=1e-9)
    assert [seen for _, seen in drawn(hidden)] == [True] * (len(runs) - 1) + [False]
    ends = [(run[0].points[0].tolist(), run[-1].points[-1].tolist()) for run in runs]
    assert all(ends[k - 1][1] == ends[k][0] for k in range(len(ends))) or len(runs) == 1


def test_a_dragged_corner_leads_both_sides_to_it_and_numbers_stay() -> None:
    moved = marked(outline(SQUARE), StretchMarks(corners=(((1, 1), (104.0, -3.0)),)))
    assert moved.length_mm == pytest.approx(np.hypot(104, 3) + np.hypot(4, 63) + 160)
    assert moved.area_mm2 == pytest.approx(6000 + 0.5 * (60 * 4 + 100 * 3))
    assert len(stretches(moved)) == 4
    flat = marked(
        outline(SQUARE), StretchMarks(corners=(((1, 1), (50.0, 30.0)),))
    )  # no corner any more: a straight line
    assert len(stretches(flat)) == 4
    assert marked(outline(SQUARE), StretchMarks(unseen=frozenset({(2, 0)}))).curves[0].seen


@pytest.fixture
def drawing(tmp_path: Path) -> Path:
    doc = ezdxf.new(units=4)
    doc.modelspace().add_lwpolyline([(0, 0), (200, 0), (200, 100), (0, 100)], close=True)
    doc.modelspace().add_circle((100, 50), 20)
    doc.saveas(tmp_path / "plate.dxf")
    return tmp_path / "plate.dxf"


def test_edges_of_a_drawing_that_are_not_seen_are_neither_sanded_nor_wiped(drawing: Path) -> None:
    whole = read_drawing(drawing, 3.0)
    less = read_drawing(drawing, 3.0, chosen=Choices(marks=StretchMarks(unseen=frozenset({(1, 0), (2, 0)}))))
    gone = 0.2 + 2 * np.pi * 0.02
    assert whole.pieces[0].line_m - less.pieces[0].line_m == pytest.approx(gone)
    assert whole.pieces[0].edge_m - less.pieces[0].edge_m == pytest.approx(2 * gone)
    assert less.pieces[0].area_m2 == whole.pieces[0].area_m2


def test_a_corner_of_a_drawing_is_dragged_but_not_across_its_outline(drawing: Path) -> None:
    moved = read_drawing(
        drawing, 3.0, chosen=Choices(marks=StretchMarks(corners=(((1, 0), (-10.0, 0.0)),), spots=((5, 5),)))
    )
    assert moved.pieces[0].face_m2 == pytest.approx((20_000 + 500 - np.pi * 400) / 1e6)
    assert moved.pieces[0].spots == 1
    with pytest.raises(BadDrawing):
        read_drawing(drawing, 3.0, chosen=Choices(marks=StretchMarks(corners=(((1, 0), (250.0, 50.0)),))))


def test_an_outline_that_stays_open_is_one_stretch() -> None:
    assert len(stretches(Outline(1, (line(SQUARE[:-1]),), closed=False))) == 1
