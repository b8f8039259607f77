"""What is wrong with a drawing is told with its place, at once, and within the bounds."""

import io
import re
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

import ezdxf
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pricing.basis.errors import BadInput
from pricing.parts import bounds as bounds_module
from pricing.parts import drawing as drawing_module
from pricing.parts.bounds import Bounds, open_file
from pricing.parts.drawing import read_drawing, read_part_file
from pricing.parts.reading import BadDrawing, Choices
from tests.conftest import ROOT
from tests.parts.drafts import closed, draw, lines, read, rectangle

HEAD = "0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1015\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n"
TAIL = "0\nENDSEC\n0\nEOF\n"


def told(make: Callable[[Any], object], folder: Path, *, units: int = 4, **chosen: Any) -> str:
    with pytest.raises(BadInput) as caught:
        read(draw(make, units=units), folder, **chosen)
    return str(caught.value).replace(str(folder / "draft.dxf"), "draft.dxf")


def told_of(content: bytes, folder: Path, name: str = "bad.dxf", **chosen: Any) -> str:
    path = folder / name
    path.write_bytes(content)
    with pytest.raises(BadInput) as caught:
        read_drawing(path, 3.0, chosen=Choices(**chosen))
    return str(caught.value).replace(str(path), name)


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "the file is 'empty'; it must be a drawing or a mesh. Export it again."),
        (
            b"hello\nworld\n",
            "the file is 'not a DXF drawing'; it must be a whole DXF drawing. Save it as DXF from the"
            " program it was drawn in.",
        ),
        (
            bytes(range(256)) * 9,
            "the file is 'not a DXF drawing'; it must be a whole DXF drawing. Save it as DXF from"
            " the program it was drawn in.",
        ),
        (
            b"AC1032\0\0\0",
            "the file is 'a DWG drawing'; it must be a DXF drawing. Save it as DXF from the program it was drawn in.",
        ),
        (
            b"%PDF-1.7\n",
            "the file is 'a PDF'; it must be a DXF drawing. Save it as DXF from the program it was drawn in.",
        ),
        (
            b"\n<svg xmlns=''/>",
            "the file is 'an SVG'; it must be a DXF drawing. Save it as DXF from the program it was drawn in.",
        ),
        (
            b"PK\x03\x04rest",
            "the file is 'a packed file'; it must be a DXF drawing. Save it as DXF from the program it was drawn in.",
        ),
    ],
    ids=["empty", "text", "bytes", "dwg", "pdf", "svg", "zip"],
)
def test_another_format_is_named(content: bytes, message: str, tmp_path: Path) -> None:
    assert told_of(content, tmp_path) == f"bad.dxf needs mending:\n  {message}"


def test_a_missing_file_is_told_with_its_neighbour(tmp_path: Path) -> None:
    (tmp_path / "bracket.dxf").write_text("x")
    with pytest.raises(BadInput, match=r"the file is 'not there'; .* Did you mean 'bracket\.dxf'\?"):
        read_drawing(tmp_path / "braket.dxf", 3.0)
    with pytest.raises(BadInput, match="the file is 'Is a directory'|'not readable'|'empty'"):
        read_drawing(tmp_path, 3.0)


@pytest.mark.parametrize("binary", [False, True])
@pytest.mark.parametrize("share", [0.2, 0.6, 0.99])
def test_a_file_cut_short_is_refused_unless_mending_is_asked(share: float, binary: bool, tmp_path: Path) -> None:
    doc = draw(lambda s: [closed(s, rectangle(10, 10, (20 * k, 0))) for k in range(200)])
    doc.saveas(tmp_path / "whole.dxf", fmt="bin" if binary else "asc")
    content = (tmp_path / "whole.dxf").read_bytes()
    message = told_of(content[: int(len(content) * share)], tmp_path)
    assert "the file is 'damaged (" in message
    assert "it must be a whole DXF drawing. Save it again, or read what is left with --repair." in message


def test_mending_is_told(tmp_path: Path) -> None:
    marks = "100\nAcDbEntity\n8\n0\n100\nAcDbPolyline\n90\n4\n70\n1\n"
    square = f"0\nLWPOLYLINE\n{marks}10\n0\n20\n0\n10\n9\n20\n0\n10\n9\n20\n9\n10\n0\n20\n9\n"
    (tmp_path / "cut.dxf").write_text(HEAD + square + "0\nENDSEC\n", "utf-8")
    with pytest.raises(BadInput, match="damaged"):
        read_drawing(tmp_path / "cut.dxf", 3.0)
    reading = read_drawing(tmp_path / "cut.dxf", 3.0, chosen=Choices(repair=True, units="mm"))
    assert reading.pieces[0].face_m2 == pytest.approx(81e-6)
    assert [note.partition(":")[0] for note in reading.notes] == ["Read as a damaged file, as you asked"]
    (tmp_path / "cut.dxf").write_text(HEAD + square.replace("9", "9,5", 1) + TAIL, "utf-8")
    with pytest.raises(BadInput, match="damaged"):
        read_drawing(tmp_path / "cut.dxf", 3.0)


def test_the_library_does_not_talk_over_us(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    marks = "100\nAcDbEntity\n8\n0\n100\nAcDbCircle\n"
    text = f"{HEAD}0\nCIRCLE\n{marks}10\n0.O\n20\n0\n40\n5\n{TAIL}"
    (tmp_path / "odd.dxf").write_text(text, "utf-8")
    reading = read_drawing(tmp_path / "odd.dxf", 3.0, chosen=Choices(repair=True))
    notes = " ".join(reading.notes)
    assert re.search(r"as you asked: [1-9]\d* faults found; what could not be read is missing or 0", notes)
    assert caplog.messages == []


def test_no_unit_is_asked_for(tmp_path: Path) -> None:
    message = told(lambda s: closed(s, rectangle(10, 10)), tmp_path, units=0)
    assert message == (
        "draft.dxf needs mending:\n  units is 'not told by the file'; it must be mm, cm, m, in or ft. "
        "Name the unit it was drawn in, for example --units mm."
    )
    bare = "0\nSECTION\n2\nENTITIES\n0\nCIRCLE\n8\n0\n10\n0\n20\n0\n40\n5\n0\nENDSEC\n0\nEOF\n"
    assert "units is 'not told by the file'" in told_of(bare.encode(), tmp_path)
    assert "units is 'inches'; it must be mm, cm, m, in or ft." in told_of(bare.encode(), tmp_path, units="inches")
    assert "units is 'not told by the file'" in told(lambda s: closed(s, rectangle(10, 10)), tmp_path, units=9)


def test_the_wrong_unit_shows_in_the_size(tmp_path: Path) -> None:
    message = told(lambda s: closed(s, rectangle(400, 300)), tmp_path, units=6)
    assert "the drawing is '400 m long'; it must be at most 20 m. It was read in m; name the right unit" in message


def test_an_open_outline_is_told_with_its_ends(tmp_path: Path) -> None:
    def make(space: Any) -> None:
        closed(space, rectangle(200, 100))
        space.add_lwpolyline([(10, 10), (60, 10), (60, 60), (10, 12)], dxfattribs={"layer": "ETCH"})
        space.add_line((100, 10), (150, 40), dxfattribs={"layer": "BEND"})

    message = told(make, tmp_path)
    assert message.splitlines()[1:] == [
        "  outline 2 (layer ETCH) is 'open by 2 mm'; it must be closed. It ends at (10, 10) mm and (10, 12) mm: close it"
        " in the drawing, allow larger gaps (--gap), or leave out all that is open: --closed; only it: --without 2.",
        "  outline 3 (layer BEND) is 'open by 58.3 mm'; it must be closed. It ends at (100, 10) mm and (150, 40) mm."
        " Nothing on its layer closes: if it is a centre or a bend, read --layer 0 only, or leave it out: --without 3.",
    ]
    doc = draw(make)
    assert read(doc, tmp_path, without=frozenset({2, 3})).pieces[0].line_m == pytest.approx(0.6)
    assert read(doc, tmp_path, layers=frozenset({"0"})).pieces[0].line_m == pytest.approx(0.6)
    all_closed = read(doc, tmp_path, closed_only=True)
    assert all_closed.pieces[0].line_m == pytest.approx(0.6)
    assert all_closed.notes[-1] == "Left out because they stay open, as you asked: 2 outlines, 0.228 m."
    assert [s.role for s in all_closed.seen] == ["outer", "off", "off"]
    wide = read(doc, tmp_path, without=frozenset({3}), gap_mm=2.5)
    assert any(note == "Gaps closed: 1, the largest 2 mm; up to 2.5 mm are closed." for note in wide.notes)


def test_a_shared_line_that_is_not_broken_gets_advice_that_works(tmp_path: Path) -> None:
    """A low part beside a tall one: its fourth side is a stretch of the other's."""

    def make(space: Any) -> None:
        lines(space, rectangle(50, 50))
        for start, end in (((50, 0), (80, 0)), ((80, 0), (80, 30)), ((80, 30), (50, 30))):
            space.add_line(start, end)

    message = told(make, tmp_path)
    assert (
        "It ends at (50, 0) mm and (50, 30) mm. Both ends lie on outline 1: where two parts share that line," in message
    )
    reading = read(draw(lambda s: (make(s), s.add_line((50, 30), (50, 0)))), tmp_path)
    assert [piece.face_m2 * 1e6 for piece in reading.pieces] == pytest.approx([2500, 900])


def test_a_bend_that_crosses_a_part_is_left_out_with_all_that_is_open(tmp_path: Path) -> None:
    def make(space: Any) -> None:
        closed(space, rectangle(50, 50))
        space.add_line((0, 20), (50, 20))

    assert "a centre or a bend is left out with all that is open: --closed; only it: --without 2." in told(
        make, tmp_path
    )
    assert read(draw(make), tmp_path, closed_only=True).pieces[0].face_m2 * 1e6 == pytest.approx(2500)


def test_a_picture_of_a_bad_drawing_can_be_drawn(tmp_path: Path) -> None:
    with pytest.raises(BadDrawing) as caught:
        read(draw(lambda s: [closed(s, rectangle(20, 10)), s.add_line((5, 5), (9, 9))]), tmp_path)
    assert [(s.id, s.role) for s in caught.value.seen] == [(1, "outer"), (2, "bad")]


def test_places_are_told_in_the_drawings_own_unit(tmp_path: Path) -> None:
    message = told(lambda s: s.add_line((1, 2), (3, 2)), tmp_path, units=1)
    assert "is 'open by 50.8 mm'; it must be closed. It ends at (1, 2) in and (3, 2) in:" in message


@pytest.mark.parametrize("as_lines", [True, False])
def test_an_outline_that_crosses_itself_is_told_with_its_place(as_lines: bool, tmp_path: Path) -> None:
    bow = [(0, 0), (10, 10), (10, 0), (0, 10)]
    message = told(lambda s: (lines if as_lines else closed)(s, bow), tmp_path)
    assert "outline 1 (layer 0) is 'crossing itself at (5, 5) mm'; it must be free of crossings." in message
    assert "--without 1." in message


def test_outlines_that_cross_each_other_are_told(tmp_path: Path) -> None:
    def make(space: Any) -> None:
        closed(space, rectangle(50, 50))
        space.add_circle((50, 25), 10)

    assert "outline 2 (layer 0) is 'crossing outline 1 at (50, " in told(make, tmp_path)


def test_outlines_may_touch(tmp_path: Path) -> None:
    def make(space: Any) -> None:
        closed(space, rectangle(50, 50))
        closed(space, rectangle(50, 50, (50, 0)))
        space.add_circle((10, 25), 10)
        space.add_circle((30, 25), 10)

    reading = read(draw(make), tmp_path)
    assert sorted(piece.face_m2 * 1e6 for piece in reading.pieces) == pytest.approx([2500 - 200 * 3.14159265, 2500])


def test_an_outline_without_area_is_told(tmp_path: Path) -> None:
    def make(space: Any) -> None:
        closed(space, rectangle(50, 50))
        closed(space, [(60, 0), (80, 0), (70, 0)])

    assert "outline 2 (layer 0) is 'without area, at (60, 0) mm'; it must be an outline with area." in told(
        make, tmp_path
    )


def test_an_empty_drawing_says_what_it_holds(tmp_path: Path) -> None:
    assert "the drawing is 'without outlines (empty)'" in told(lambda _: None, tmp_path)
    assert "the drawing is 'without outlines (1 TEXT)'" in told(lambda s: s.add_text("x"), tmp_path)


def test_everything_switched_off_is_told(tmp_path: Path) -> None:
    message = told(lambda s: closed(s, rectangle(5, 5)), tmp_path, without=frozenset({1}))
    assert "the drawing is 'left out altogether'; it must be an outline or more." in message
    message = told(lambda s: closed(s, rectangle(5, 5)), tmp_path, without=frozenset({7, 9}))
    assert message.splitlines()[1:] == [
        "  without is 7; it must be an outline's number, 1 to 1.",
        "  without is 9; it must be an outline's number, 1 to 1.",
    ]


def test_unknown_layers_are_told_with_the_nearest(tmp_path: Path) -> None:
    message = told(lambda s: closed(s, rectangle(5, 5), layer="CUT"), tmp_path, layers=frozenset({"CUTT"}))
    assert "layer is 'CUTT'; it must be one of 0, cut or defpoints. Did you mean 'cut'?" in message
    message = told(lambda s: closed(s, rectangle(5, 5), layer="CUT"), tmp_path, visible=frozenset({"CUTS"}))
    assert "visible is 'CUTS'; it must be a layer with outlines: CUT. Did you mean 'cut'?" in message


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda s: s.add_line((0, 0, 0), (0, 9, 5)), "LINE on layer 0 is 'not flat: it rises out of the plane of"),
        (lambda s: s.add_circle((0, 0), 5, dxfattribs={"extrusion": (1, 0, 1)}), "CIRCLE on layer 0 is 'tilted out of"),
        (lambda s: s.add_circle((0, 0), -5), "CIRCLE on layer 0 is 'radius -5'; it must be a flat, whole curve."),
        (lambda s: s.add_line((0, 0), (float("nan"), 9)), "LINE on layer 0 is 'numbers that are not finite'"),
        (
            lambda s: s.add_3dface([(0, 0), (1, 0), (1, 1), (0, 1)]),
            "3DFACE on layer 0 is 'there'; it must be lines, arcs,",
        ),
        (lambda s: s.add_hatch().paths.add_polyline_path([(0, 0), (9, 0), (9, 9)]), "'without outlines (1 HATCH)'"),
        (lambda s: s.add_blockref("NOWHERE", (0, 0)), "block NOWHERE is 'missing'; it must be in the file."),
        (lambda s: s.add_spline(dxfattribs={"degree": 3}), "SPLINE on layer 0 is "),
        (
            lambda s: s.add_rational_spline([(0, 0), (1, 2), (2, 0), (3, 1)], [1, -1, 1, 1]),
            "SPLINE on layer 0 is 'a weight",
        ),
    ],
    ids=["steep", "tilted", "radius", "nan", "face", "hatch", "block", "empty spline", "weight"],
)
def test_what_cannot_be_read_is_named(make: Callable[[Any], object], message: str, tmp_path: Path) -> None:
    assert message in told(make, tmp_path)


def test_all_faults_are_told_at_once(tmp_path: Path) -> None:
    def make(space: Any) -> None:
        space.add_circle((0, 0), -5)
        space.add_line((0, 0, 0), (0, 9, 5))
        space.add_3dface([(0, 0), (1, 0), (1, 1), (0, 1)])

    assert len(told(make, tmp_path).splitlines()) == 4


def test_blocks_that_multiply_are_refused_before_they_are_made(tmp_path: Path) -> None:
    def make(space: Any) -> None:
        blocks = space.doc.blocks
        blocks.new("B0").add_circle((0, 0), 1)
        for k in range(1, 9):
            block = blocks.new(f"B{k}")
            for i in range(10):
                block.add_blockref(f"B{k - 1}", (i, 0))
        space.add_blockref("B8", (0, 0))

    assert "with 211,111,111 entities'; it must be at most 250,000." in told(make, tmp_path)
    rows = {"row_count": 30_000, "column_count": 30_000, "row_spacing": 1, "column_spacing": 1}
    message = told(
        lambda s: (s.doc.blocks.new("A").add_circle((0, 0), 1), s.add_blockref("A", (0, 0), dxfattribs=rows)), tmp_path
    )
    assert "with 900,000,001 entities'; it must be at most 250,000." in message


def test_a_block_that_holds_itself_is_refused(tmp_path: Path) -> None:
    def make(space: Any) -> None:
        block = space.doc.blocks.new("SELF")
        block.add_circle((0, 0), 1)
        block.add_blockref("SELF", (3, 0))
        space.add_blockref("SELF", (0, 0))

    assert "block SELF is 'nested too deep'; it must be in the file." in told(make, tmp_path)


def test_a_large_file_is_refused_with_its_size(tmp_path: Path) -> None:
    path = tmp_path / "large.dxf"
    with path.open("wb") as out:
        out.truncate(60_000_000)
    with pytest.raises(BadInput, match=r"the file is '60 MB'; it must be at most 50 MB\."):
        read_drawing(path, 3.0)
    binary = b"AutoCAD Binary DXF\r\n\x1a\x00" + bytes(41_000_000)
    assert "the file is 'a binary DXF of 41 MB'; it must be at most 40 MB." in told_of(binary, tmp_path)


def test_too_many_group_codes_are_counted_ahead(tmp_path: Path) -> None:
    content = (HEAD + "0\nXRECORD\n" + "1\nA\n" * 8_000_000 + TAIL).encode()
    assert "group codes'; it must be at most 8,000,000." in told_of(content, tmp_path)


def nested_rings(space: Any) -> None:
    """Forty rings that touch in one place: each pair of them is compared."""
    for k in range(1, 41):
        space.add_circle((k, 0), k)


def test_work_is_bounded_and_the_same_on_any_machine(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    done = []

    def counted(path: Path) -> tuple[bytes, Bounds]:
        raw, bounds = open_file(path)
        done.append(bounds)
        return raw, bounds

    monkeypatch.setattr(drawing_module, "open_file", counted)
    doc = draw(nested_rings)
    assert len(read(doc, tmp_path).pieces) == len(read(doc, tmp_path).pieces) == 20
    assert done[0].done == done[1].done > 40 * 39 / 2 * 8
    known = bounds_module.fact
    most = done[0].done - 1
    monkeypatch.setattr(bounds_module, "fact", lambda name: most if name == "drawing.most_work" else known(name))
    with pytest.raises(BadInput, match=r"points of overlapping outlines'; it must be at most"):
        read(doc, tmp_path)


def test_no_part_of_the_reader_looks_at_a_clock() -> None:
    for module in (ROOT / "pricing" / "parts").glob("*.py"):
        assert not re.search(r"\bmonotonic\b|\bperf_counter\b|\btime\.|import time", module.read_text("utf-8")), module


def test_bounds_count_and_pass() -> None:
    bounds = Bounds("x.dxf", 1000)
    bounds.work(1e7)
    bounds.work(1e7)
    with pytest.raises(BadInput, match="at most 20,000,000"):
        bounds.work(1)
    bounds.count("entities", 250_000, "drawing.most_entities")
    with pytest.raises(BadInput, match=r"with 250,001 entities'; it must be at most 250,000"):
        bounds.count("entities", 250_001, "drawing.most_entities")


@pytest.mark.slow
def test_two_hundred_thousand_entities_are_read(tmp_path: Path) -> None:
    """50,000 squares of four lines: 200,000 entities, all counted as one kind."""

    def line(x0: float, y0: float, x1: float, y1: float) -> str:
        return f"0\nLINE\n8\nCUT\n10\n{x0}\n20\n{y0}\n11\n{x1}\n21\n{y1}\n"

    text = io.StringIO()
    text.write(HEAD)
    for k in range(50_000):
        x, y = 12 * (k % 250), 12 * (k // 250)
        text.write(line(x, y, x + 10, y) + line(x + 10, y, x + 10, y + 10))
        text.write(line(x + 10, y + 10, x, y + 10) + line(x, y + 10, x, y))
    text.write(TAIL)
    path = tmp_path / "many.dxf"
    path.write_text(text.getvalue(), "utf-8")
    reading = read_drawing(path, 3.0)
    assert [(p.count, p.line_m) for p in reading.pieces] == [(50_000, pytest.approx(0.04))]


def test_missing_libraries_are_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bounds_module, "find_spec", lambda name: None if name in {"ezdxf", "trimesh"} else name)
    for name, missing in (("p.dxf", "ezdxf"), ("p.stl", "trimesh")):
        with pytest.raises(BadInput) as caught:
            read_part_file(tmp_path / name, 3.0)
        assert str(caught.value.problems[0]) == (
            f"reading it is 'without {missing}'; it must be with its libraries. Install the workbook with its drawings: "
            "python -m pip install -e '.[drawings]'."
        )


def test_a_drawing_wants_its_thickness(tmp_path: Path) -> None:
    draw(lambda s: closed(s, rectangle(5, 5))).saveas(tmp_path / "p.dxf")
    with pytest.raises(BadInput, match="thickness is 'missing'; it must be given with its unit"):
        read_part_file(tmp_path / "p.dxf")
    assert read_part_file(tmp_path / "p.dxf", 3.0).pieces[0].depth_mm == 3.0
    for bad in (0.0, -1.0, float("nan"), float("inf")):
        with pytest.raises(BadInput, match="it must be above 0 mm and at most 20000 mm"):
            read_drawing(tmp_path / "p.dxf", bad)


@pytest.mark.slow
@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_no_damage_gets_past_as_a_traceback(tmp_path: Path, data: st.DataObject) -> None:
    """Bytes changed, cut and doubled anywhere: an answer or a `BadInput`, nothing else."""
    doc = ezdxf.new("R2000", units=4)
    space = doc.modelspace()
    space.add_lwpolyline([(0, 0, 0.3), (50, 0, 0), (50, 50, 0), (0, 50, -0.2)], format="xyb", close=True)
    space.add_spline([(10, 10), (20, 14), (30, 10)])
    space.add_ellipse((25, 30), (5, 0), 0.5)
    text = io.StringIO()
    doc.write(text)
    raw = bytearray(text.getvalue().encode())
    start = raw.index(b"ENTITIES")
    for _ in range(data.draw(st.integers(1, 6))):
        at = data.draw(st.integers(start if data.draw(st.booleans()) else 0, len(raw) - 1))
        change = data.draw(st.binary(min_size=0, max_size=4))
        raw[at : at + data.draw(st.integers(0, 12))] = change
    (tmp_path / "broken.dxf").write_bytes(bytes(raw))
    with suppress(BadInput):
        reading = read_drawing(tmp_path / "broken.dxf", 3.0, chosen=Choices(repair=data.draw(st.booleans())))
        assert all(piece.area_m2 > 0 for piece in reading.pieces)
