"""Drawings written by ezdxf, read back: closed forms, shapely as reference, and what must not matter."""

import random
from itertools import pairwise
from math import cos, pi, sin, sqrt
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest
import shapely
from ezdxf import transform
from ezdxf.document import Drawing
from ezdxf.math import Matrix44
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from scipy.special import ellipe

from pricing.parts.reading import DrawingReading, Piece
from tests.parts.drafts import INCH, MM, closed, draw, lines, read, rectangle, rounded

written = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


def only(reading: DrawingReading) -> Piece:
    assert len(reading.pieces) == 1
    return reading.pieces[0]


def figures(reading: DrawingReading) -> list[tuple[float, ...]]:
    """Work out what must not change when a drawing is moved or turned, at its largest first."""
    return [
        (p.count, p.area_m2, p.edge_m, p.line_m, p.volume_m3, p.width_mm, p.height_mm, p.spots, p.plugs, len(p.holes))
        for p in reading.pieces
    ]


def test_plate_with_a_slot_and_holes(tmp_path: Path) -> None:
    """200 x 100 x 3 mm with a slot 40 x 12 (round ends) and two 8 mm holes: closed form."""

    def make(space: Any) -> None:
        closed(space, rectangle(200, 100))
        space.add_lwpolyline([(80, 44, 0), (108, 44, 1), (108, 56, 0), (80, 56, 1)], format="xyb", close=True)
        space.add_circle((20, 50), 4)
        space.add_circle((180, 50), 4)

    piece = only(read(draw(make), tmp_path))
    face = 200 * 100 - (28 * 12 + pi * 6**2) - 2 * pi * 4**2
    border = 600 + (2 * 28 + 2 * pi * 6) + 2 * 2 * pi * 4
    assert piece.face_m2 == pytest.approx(face / 1e6, rel=1e-12)
    assert piece.area_m2 == pytest.approx((2 * face + 3 * border) / 1e6, rel=1e-12)
    assert piece.edge_m == pytest.approx(2 * border / 1e3, rel=1e-12)
    assert piece.line_m == pytest.approx(border / 1e3, rel=1e-12)
    assert piece.volume_m3 == pytest.approx(3 * face / 1e9, rel=1e-12)
    assert (piece.width_mm, piece.height_mm, piece.depth_mm) == pytest.approx((100, 200, 3))
    assert piece.plugs == 2
    assert piece.holes == ((8.0, 2),)


@pytest.mark.parametrize("kind", ["polyline", "old polyline", "lines", "splines", "block", "binary", "R12"])
def test_the_same_square_however_it_is_drawn(kind: str, tmp_path: Path) -> None:
    corners = rectangle(80, 80, (1000, -500))

    def make(space: Any) -> None:
        if kind == "lines":
            lines(space, corners)
        elif kind in {"old polyline", "R12"}:
            space.add_polyline2d(corners, close=True)
        elif kind == "splines":
            for a, b in pairwise([*corners, corners[0]]):
                space.add_open_spline([a, tuple((np.array(a) + b) / 2), b], degree=2)
        elif kind == "block":
            block = space.doc.blocks.new("PART")
            lines(block, rectangle(40, 80))
            space.add_blockref("PART", (1000, -500), dxfattribs={"xscale": 2})
        else:
            closed(space, corners)

    doc = draw(make, version="R12" if kind == "R12" else "R2010")
    chosen = {"units": "mm"} if kind == "R12" else {}
    piece = only(read(doc, tmp_path, binary=kind == "binary", **chosen))
    assert piece.face_m2 == pytest.approx(80 * 80 / 1e6, rel=1e-9)
    assert piece.line_m == pytest.approx(0.32, rel=1e-9)
    assert piece.spots == piece.plugs == 0


def test_an_ellipse_and_its_inserted_squeezed_circle(tmp_path: Path) -> None:
    """Perimeter 4 a E(e²) by scipy; a circle inserted with two scales is the same ellipse."""

    def make(space: Any) -> None:
        space.add_ellipse((0, 0), (30, 40), 0.3)
        block = space.doc.blocks.new("ROUND")
        block.add_circle((0, 0), 1)
        space.add_blockref("ROUND", (500, 0), dxfattribs={"xscale": 50, "yscale": 15, "rotation": 33})

    reading = read(draw(make), tmp_path)
    assert [piece.count for piece in reading.pieces] == [2]
    assert reading.pieces[0].line_m * 1e3 == pytest.approx(4 * 50 * ellipe(1 - 0.3**2), rel=1e-9)
    assert reading.pieces[0].face_m2 * 1e6 == pytest.approx(pi * 50 * 15, rel=1e-9)


def test_blocks_in_blocks_turned_mirrored_and_in_rows(tmp_path: Path) -> None:
    def make(space: Any) -> None:
        inner = space.doc.blocks.new("BOW")
        inner.add_lwpolyline([(0, 0, 0.5), (30, 0, 0), (30, 20, -0.3), (0, 20, 0)], format="xyb", close=True)
        outer = space.doc.blocks.new("PAIR")
        outer.add_blockref("BOW", (0, 0))
        outer.add_blockref("BOW", (100, 0), dxfattribs={"xscale": -1, "rotation": 20})
        space.add_blockref("PAIR", (0, 0), dxfattribs={"rotation": 77})
        rows = {"row_count": 2, "column_count": 3, "row_spacing": 200, "column_spacing": 300}
        space.add_blockref("PAIR", (1000, 0), dxfattribs=rows)

    reading = read(draw(make), tmp_path)
    assert [piece.count for piece in reading.pieces] == [14]

    def bulge_area(chord: float, bulge: float) -> float:
        angle = 4 * np.arctan(bulge)
        radius = chord * (1 + bulge**2) / (4 * bulge)
        return float(radius**2 / 2 * (angle - sin(angle)))

    face = 600 + bulge_area(30, 0.5) - bulge_area(30, 0.3)
    assert reading.pieces[0].face_m2 * 1e6 == pytest.approx(face, rel=1e-9)


def test_nesting_counts_a_part_inside_a_hole(tmp_path: Path) -> None:
    def make(space: Any) -> None:
        closed(space, rectangle(500, 300))
        for k in range(3):
            closed(space, rectangle(100, 80, (20 + 150 * k, 100)))
            closed(space, rectangle(60, 40, (40 + 150 * k, 120)))
            space.add_circle((70 + 150 * k, 140), 5)

    reading = read(draw(make), tmp_path)
    frame, inner = reading.pieces
    assert frame.face_m2 * 1e6 == pytest.approx(500 * 300 - 3 * 8000)
    assert (inner.count, inner.plugs) == (3, 1)
    assert inner.face_m2 * 1e6 == pytest.approx(2400 - pi * 25)
    assert any("switch it off: --without 1" in note for note in reading.notes)


def test_a_sheet_switched_off_sets_its_parts_free(tmp_path: Path) -> None:
    def make(space: Any) -> None:
        closed(space, rectangle(500, 300))
        for k in range(3):
            closed(space, rectangle(100, 80, (20 + 150 * k, 100)))
            space.add_circle((70 + 150 * k, 140), 5)

    doc = draw(make)
    whole = read(doc, tmp_path, keep=frozenset({1}))
    assert any("Outline 1 is mostly holes" in note for note in whole.notes)
    assert [piece.count for piece in whole.pieces] == [1, 3]  # the sheet, and what falls out of the holes
    free = read(doc, tmp_path, without=frozenset({1}))
    assert [piece.count for piece in free.pieces] == [3]
    assert free.pieces[0].face_m2 * 1e6 == pytest.approx(8000 - pi * 25)
    unasked = read(doc, tmp_path)
    assert unasked.pieces == free.pieces
    assert "Read as the edge of a sheet, not of a part: outline 1. If it is metal: --keep 1." in unasked.notes
    assert [s.id for s in free.seen] == [s.id for s in whole.seen]
    assert [s.role for s in free.seen if s.id == 1] == ["off"]


def test_a_sheet_of_twenty_with_drill_holes_counts_parts(tmp_path: Path) -> None:
    def make(space: Any) -> None:
        closed(space, rectangle(1000, 500))
        for k in range(20):
            x, y = 10 + 95 * (k % 10), 20 + 220 * (k // 10)
            closed(space, rectangle(80, 200, (x, y)))
            for dx in (20, 60):
                space.add_circle((x + dx, y + 100), 4)

    reading = read(draw(make), tmp_path)
    assert [(piece.count, piece.plugs) for piece in reading.pieces] == [(20, 2)]
    assert reading.pieces[0].face_m2 * 1e6 == pytest.approx(16_000 - 2 * pi * 16)


def test_a_frame_with_windows_is_no_sheet(tmp_path: Path) -> None:
    def make(space: Any) -> None:
        closed(space, rectangle(500, 300))
        for k in range(3):
            closed(space, rectangle(100, 80, (20 + 150 * k, 100)))

    assert [piece.face_m2 * 1e6 for piece in read(draw(make), tmp_path).pieces] == pytest.approx([150_000 - 24_000])


@pytest.mark.parametrize(
    ("code", "asked", "mm"),
    [
        (1, "", 25.4),
        (2, "", 304.8),
        (4, "", 1.0),
        (5, "", 10.0),
        (6, "", 1000.0),
        (0, "in", 25.4),
        (0, "cm", 10.0),
        (4, "in", 25.4),
        (14, "", 100.0),
    ],
)
def test_units_come_from_the_file_or_the_owner(code: int, asked: str, mm: float, tmp_path: Path) -> None:
    """1 in = 25.4 mm, 1 ft = 304.8 mm by definition; codes as the DXF reference lists them."""
    size = 120 / mm
    reading = read(draw(lambda s: closed(s, rectangle(size, size / 2)), units=code), tmp_path, units=asked)
    assert only(reading).line_m == pytest.approx(0.36, rel=1e-9)
    told = any("as you asked" in note for note in reading.notes)
    assert told == (code != 0 and asked != "")


def test_visible_layers_are_the_ones_sanded_and_wiped(tmp_path: Path) -> None:
    """An L 100 x 100, arms 30: only its two long outer edges are seen; the nook is not on them."""
    corners = [(0, 0), (100, 0), (100, 30), (30, 30), (30, 100), (0, 100)]

    def make(space: Any) -> None:
        for k, (a, b) in enumerate(pairwise([*corners, corners[0]])):
            space.add_line(a, b, dxfattribs={"layer": "FRONT" if k in {0, 5} else "WALL"})

    doc = draw(make)
    everything, seen = only(read(doc, tmp_path)), only(read(doc, tmp_path, visible=frozenset({"front"})))
    assert (everything.line_m, everything.edge_m, everything.spots) == pytest.approx((0.4, 0.8, 1))
    assert (seen.line_m, seen.edge_m, seen.spots) == pytest.approx((0.2, 0.4, 0))
    assert seen.area_m2 == everything.area_m2


def test_layers_named_are_read_and_hidden_ones_left_out(tmp_path: Path) -> None:
    def make(space: Any) -> None:
        layers = space.doc.layers
        layers.add("CUT")
        layers.add("OLD").off()
        layers.add("DRAFT").freeze()
        closed(space, rectangle(100, 50), layer="CUT")
        for name in ("OLD", "DRAFT", "Defpoints"):
            space.add_line((0, 0), (10, 90), dxfattribs={"layer": name})
        space.add_text("bend up", dxfattribs={"layer": "CUT"})

    doc = draw(make)
    reading = read(doc, tmp_path)
    assert only(reading).line_m == pytest.approx(0.3)
    assert any("1 TEXT" in note and "3 on layers not read" in note for note in reading.notes)
    doc.modelspace().add_line((0, 0), (7, 7), dxfattribs={"layer": "BEND"})
    assert only(read(doc, tmp_path, layers=frozenset({"cut"}))).line_m == pytest.approx(0.3)


@pytest.mark.parametrize(
    ("corners", "spots"),
    [
        (rectangle(100, 60), 0),
        ([(0, 0), (100, 0), (100, 30), (30, 30), (30, 100), (0, 100)], 1),
        ([(0, 0), (90, 0), (90, 90), (60, 90), (60, 30), (30, 30), (30, 90), (0, 90)], 2),
        # a cross of arms 40 wide: four inner corners
        (
            [
                (40, 0),
                (80, 0),
                (80, 40),
                (120, 40),
                (120, 80),
                (80, 80),
                (80, 120),
                (40, 120),
                (40, 80),
                (0, 80),
                (0, 40),
                (40, 40),
            ],
            4,
        ),
    ],
)
def test_sharp_inner_corners_are_spots(corners: list[tuple[float, float]], spots: int, tmp_path: Path) -> None:
    assert only(read(draw(lambda s: closed(s, corners)), tmp_path)).spots == spots


@pytest.mark.parametrize(("radius", "spots"), [(0.5, 4), (4.0, 4), (7.9, 0), (10.0, 0)])
def test_a_finger_reaches_into_wide_fillets(radius: float, spots: int, tmp_path: Path) -> None:
    """A disc of radius R misses a fillet of radius r by (R - r)(√2 - 1) in a square corner; 1 mm counts."""

    def make(space: Any) -> None:
        closed(space, rectangle(200, 150, (-50, -40)))
        rounded(space, 100, 60, radius)

    assert (8 - radius) * (sqrt(2) - 1) < 1 or spots == 4
    assert only(read(draw(make), tmp_path, finger_mm=8.0)).spots == spots
    assert only(read(draw(make), tmp_path, finger_mm=3.0)).spots == (4 if radius == 0.5 else 0)


def test_a_narrow_slot_counts_for_its_length(tmp_path: Path) -> None:
    def make(space: Any) -> None:
        closed(space, rectangle(400, 100))
        closed(space, rectangle(240, 6, (80, 47)))

    assert only(read(draw(make), tmp_path)).spots == 5  # 246 mm half way round, 50 mm a swab


@pytest.mark.parametrize(("diameter", "plugs"), [(2.9, 0), (3.0, 1), (12.0, 1), (30.0, 1), (30.1, 0)])
def test_round_holes_of_the_right_size_get_a_plug(diameter: float, plugs: int, tmp_path: Path) -> None:
    def make(space: Any) -> None:
        closed(space, rectangle(200, 100))
        space.add_circle((100, 50), diameter / 2)
        closed(space, rectangle(10, 10, (20, 20)))  # as large, but not round

    piece = only(read(draw(make), tmp_path))
    assert piece.plugs == plugs
    assert piece.holes == ((diameter, 1),)


def star(rng: random.Random, count: int, low: float, high: float) -> list[tuple[float, float]]:
    turns = sorted(rng.uniform(0.15, 0.85) + k for k in range(count))
    sizes = [rng.uniform(low, high) for _ in turns]
    return [(r * cos(2 * pi * t / count), r * sin(2 * pi * t / count)) for r, t in zip(sizes, turns, strict=True)]


def scribble(rng: random.Random) -> tuple[Drawing, shapely.Polygon]:
    """Draw a star-shaped part with a star-shaped hole, in pieces of any kind; shapely holds the truth."""
    outer, inner = star(rng, rng.randint(5, 24), 60, 120), star(rng, rng.randint(4, 9), 8, 35)
    doc = ezdxf.new("R2010", units=MM)
    space = doc.modelspace()
    jobs = []
    for corners in (outer, inner):
        kind = rng.choice(["polyline", "lines", "open polylines"])
        if kind == "polyline":
            jobs.append((space.add_lwpolyline, (corners,), {"close": True}))
        elif kind == "lines":
            pairs = list(pairwise([*corners, corners[0]]))
            jobs += [(space.add_line, pair if rng.random() < 0.5 else pair[::-1], {}) for pair in pairs]
        else:
            at = rng.randint(1, len(corners) - 2)
            jobs.append((space.add_lwpolyline, (corners[: at + 1],), {}))
            jobs.append((space.add_lwpolyline, ([*corners[at:], corners[0]][::-1],), {}))
    rng.shuffle(jobs)
    for add, arguments, more in jobs:
        add(*arguments, **more)
    return doc, shapely.Polygon(outer, [inner])


@written
@given(st.randoms(use_true_random=False))
def test_any_outline_agrees_with_shapely(tmp_path: Path, rng: random.Random) -> None:
    doc, truth = scribble(rng)
    piece = only(read(doc, tmp_path))
    assert piece.face_m2 * 1e6 == pytest.approx(truth.area, rel=1e-9)
    assert piece.line_m * 1e3 == pytest.approx(truth.length, rel=1e-9)
    box = shapely.minimum_rotated_rectangle(truth)
    assert piece.width_mm * piece.height_mm == pytest.approx(box.area, rel=1e-6)


@written
@given(
    st.randoms(use_true_random=False),
    st.floats(0, 6.28),
    st.floats(-5e3, 5e3),
    st.booleans(),
    st.booleans(),
    st.booleans(),
)
def test_moving_turning_mirroring_and_units_change_nothing(
    tmp_path: Path, rng: random.Random, angle: float, shift: float, mirror: bool, inches: bool, binary: bool
) -> None:
    doc, _ = scribble(rng)
    doc.modelspace().add_circle((0, 300), 25)
    doc.modelspace().add_lwpolyline(
        [(0, 400, 0.4), (60, 400, 0), (60, 460, -0.2), (0, 460, 0)], format="xyb", close=True
    )
    before = read(doc, tmp_path)
    matrix = Matrix44.scale(-1 if mirror else 1, 1, 1) @ Matrix44.z_rotate(angle) @ Matrix44.translate(shift, -shift, 0)
    if inches:
        matrix @= Matrix44.scale(1 / 25.4, 1 / 25.4, 1)
        doc.header["$INSUNITS"] = INCH
    transform.inplace(doc.modelspace(), matrix)
    after = read(doc, tmp_path, binary=binary)
    for one, other in zip(figures(before), figures(after), strict=True):
        assert other == pytest.approx(one, rel=1e-7)


@written
@given(st.randoms(use_true_random=False), st.floats(1.0, 8.0))
def test_a_larger_drawing_has_more_of_everything(tmp_path: Path, rng: random.Random, factor: float) -> None:
    doc, _ = scribble(rng)
    small = only(read(doc, tmp_path))
    transform.inplace(doc.modelspace(), Matrix44.scale(factor, factor, 1))
    large = only(read(doc, tmp_path))
    assert large.line_m == pytest.approx(factor * small.line_m, rel=1e-9)
    assert large.face_m2 == pytest.approx(factor**2 * small.face_m2, rel=1e-9)
    assert large.area_m2 >= small.area_m2 * (1 - 1e-12)


def test_thickness_decides_mass_and_the_edges_faces(tmp_path: Path) -> None:
    doc = draw(lambda s: closed(s, rectangle(100, 100)))
    for thickness in (0.5, 3.0, 20.0):
        reading = read(doc, tmp_path, thickness_mm=thickness)
        part = reading.part(1, "plate", "mild steel")
        assert part.mass_kg == pytest.approx(0.1 * 0.1 * thickness / 1e3 * 7850)
        assert part.area_m2 == pytest.approx(2 * 0.01 + 0.4 * thickness / 1e3)
        assert part.thickness_mm == part.depth_mm == thickness
        assert part.edge_quality == "cut"


def test_a_wall_with_both_faces_seen_has_two_borders(tmp_path: Path) -> None:
    doc = draw(lambda s: closed(s, rectangle(100, 100)))
    one, two = (read(doc, tmp_path, lined_faces=n).part(1, "p", "aluminium") for n in (1, 2))
    assert two.line_m == 2 * one.line_m == pytest.approx(0.8)
    assert two.second_share == pytest.approx(2 * one.second_share) == pytest.approx(0.02 / 0.0212)


def test_many_plugs_are_asked_about(tmp_path: Path) -> None:
    def make(space: Any) -> None:
        closed(space, rectangle(500, 100))
        for k in range(48):
            space.add_circle((10 + 10 * k, 50), 3)

    doc = draw(make)
    reading = read(doc, tmp_path)
    assert only(reading).plugs == 48
    assert "48 holes of one piece get a plug each; if they stay open, say --plug '0 mm' '0 mm'." in reading.notes
    assert only(read(doc, tmp_path, plug_least_mm=0.0, plug_most_mm=0.0)).plugs == 0
