"""A part from a picture: held against the drawing it was rendered from, and refused where it cannot be measured."""

import io
import sys
from dataclasses import replace
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest
import shapely
from PIL import Image

from pricing.basis.errors import BadInput
from pricing.basis.facts import fact
from pricing.parts.drawing import read_drawing
from pricing.parts.photo import PhotoReading, Traces, look, photo_measured, straighten
from pricing.parts.photo_file import Taken, read_photo_file
from pricing.parts.photo_plane import KnownLength
from pricing.parts.reading import Choices
from pricing.parts.stretches import StretchMarks
from tests.benchmarks.photo_scenes import drawn_shapes, truth_of
from tests.conftest import ROOT
from tests.parts.make_photo import bracket_scene
from tests.parts.scenes import Scene, camera, jpeg, paint, read_photo

TAKEN = Taken(thickness_mm=3.0, ruler_mm=100.0)
SMALL = camera(size=(1024, 768), f35_mm=26, tilt_deg=9, towards_deg=240, roll_deg=3, away_mm=640, k1=-0.02)


@pytest.fixture(scope="module")
def scene() -> Scene:
    return replace(bracket_scene(), camera=SMALL)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("photos")


@pytest.fixture(scope="module")
def picture(scene: Scene, folder: Path) -> Path:
    jpeg(scene, folder / "bracket.jpg")
    return folder / "bracket.jpg"


@pytest.fixture(scope="module")
def traces(picture: Path) -> Traces:
    return look(picture, TAKEN)


@pytest.fixture(scope="module")
def got(traces: Traces) -> PhotoReading:
    return photo_measured(traces)


def read(scene: Scene, folder: Path, taken: Taken = TAKEN) -> PhotoReading:
    path = folder / "scene.jpg"
    jpeg(scene, path)
    return read_photo(path, taken)


def refusal(scene: Scene, folder: Path) -> str:
    with pytest.raises(BadInput) as why:
        read(scene, folder)
    return str(why.value)


def test_the_same_part_from_its_cut_file_and_from_its_picture_agree(got: PhotoReading) -> None:
    drawn = read_drawing(ROOT / "data" / "drawings" / "shelf_bracket.dxf", 3.0).pieces[0]
    spans = got.doubts[0].spans
    for name in ("area_m2", "edge_m", "line_m", "volume_m3", "width_mm", "height_mm", "spots", "plugs"):
        assert spans[name].low * 0.997 <= getattr(drawn, name) <= spans[name].high * 1.003, name
    assert got.reading.pieces[0].edge_m == pytest.approx(drawn.edge_m, rel=0.015)
    assert spans["edge_m"].high / spans["edge_m"].low < 1.05
    assert len(got.reading.pieces[0].outlines) == len(drawn.outlines)


def test_the_picture_of_the_demo_shop_is_that_of_its_bracket() -> None:
    got = read_photo(ROOT / "data" / "photos" / "shelf_bracket.jpg", TAKEN)
    drawn = read_drawing(ROOT / "data" / "drawings" / "shelf_bracket.dxf", 3.0).pieces[0]
    assert got.doubts[0].spans["edge_m"].low <= drawn.edge_m <= got.doubts[0].spans["edge_m"].high


def test_three_cards_of_four_do(scene: Scene, folder: Path) -> None:
    got = read(replace(scene, cards=scene.cards[1:]), folder)
    assert got.traces.plane.cards == 3
    assert got.reading.pieces[0].edge_m == pytest.approx(2.337, rel=0.015)


def test_light_metal_on_dark_ground(scene: Scene, folder: Path) -> None:
    got = read(replace(scene, ground=np.array([0.06, 0.06, 0.07]), metal=np.array([0.55, 0.54, 0.5])), folder)
    assert got.reading.pieces[0].edge_m == pytest.approx(2.337, rel=0.015)


def test_several_parts_in_one_picture(scene: Scene, folder: Path) -> None:
    pieces = [shapely.box(-130, -40, -20, 50), shapely.Point(60, 0).buffer(45, quad_segs=64)]
    got = read(replace(scene, shape=shapely.MultiPolygon(pieces)), folder)
    assert len(got.reading.pieces) == 2
    for piece, true in zip(got.reading.pieces, (110 * 90, np.pi * 45**2), strict=True):
        assert piece.face_m2 * 1e6 == pytest.approx(true, rel=0.02)


def test_a_part_larger_than_the_square_of_the_cards(scene: Scene, folder: Path) -> None:
    plate = shapely.box(-210, -60, 210, 60)
    cards = ((-130.0, -115.0, 0.1), (130.0, -112.0, 1.6), (128.0, 116.0, -0.08), (-126.0, 114.0, 3.2))
    got = read(replace(scene, shape=plate, cards=cards), folder)
    assert got.doubts[0].spans["height_mm"].low <= 420 <= got.doubts[0].spans["height_mm"].high


def test_thickness_is_taken_off_by_perspective(scene: Scene, folder: Path) -> None:
    """A thick plate's upper face is nearer to the camera: without its height it would come out 2 % too large."""
    plate = shapely.box(-90, -60, 90, 60)
    thick = replace(scene, shape=plate, thickness_mm=12.0, shadow=0.0, contact=0.0)
    right, flat = (read(thick, folder, replace(TAKEN, thickness_mm=t)).reading.pieces[0] for t in (12.0, 0.1))
    assert right.height_mm == pytest.approx(180, rel=0.006)
    assert flat.height_mm > 1.012 * 180


def test_a_printed_ruler_that_is_short_is_reckoned_with(traces: Traces, picture: Path) -> None:
    short = read_photo(picture, replace(TAKEN, ruler_mm=97.0)).reading.pieces[0]
    assert short.height_mm == pytest.approx(0.97 * photo_measured(traces).reading.pieces[0].height_mm, rel=2e-3)


def test_an_unmeasured_ruler_makes_ranges_wider(traces: Traces, got: PhotoReading) -> None:
    wide = photo_measured(replace(traces, taken=replace(TAKEN, ruler_mm=0.0)))
    assert wide.doubts[0].spans["edge_m"].high > got.doubts[0].spans["edge_m"].high
    assert any("not checked" in note for note in wide.reading.notes)


def test_bare_shiny_metal_is_refused_with_advice(scene: Scene, folder: Path) -> None:
    told = refusal(replace(scene, mirror=0.95, seed=3), folder)
    assert "chalk" in told
    assert "matt paper" in told


def test_metal_like_its_ground_is_refused(scene: Scene, folder: Path) -> None:
    told = refusal(replace(scene, metal=np.array(scene.ground) * 0.97, shadow=0.0, contact=0.0, wall=1.0), folder)
    assert "lighter or darker" in told


def test_the_shadow_of_metal_like_its_ground_is_no_part(scene: Scene, folder: Path) -> None:
    high = replace(scene, thickness_mm=10.0, light=(0.9, 0.7), shadow=0.45, contact=0.0)
    told = refusal(replace(high, metal=np.array(scene.ground), wall=1.0), folder)
    assert "1.8 times as light or dark as its ground" in told
    assert "lighter or darker" in told


def test_what_lies_beside_metal_like_its_ground_is_no_part(scene: Scene, folder: Path) -> None:
    """The part cannot be seen; a pencil and a coin are: the middle of the cards is empty."""
    hidden = replace(scene, metal=np.array(scene.ground), wall=1.0, shadow=0.0, contact=0.0)
    told = refusal(replace(hidden, clutter=3, seed=5), folder)
    assert "from the cards' middle" in told
    assert "looks like its ground" in told


def test_a_patterned_ground_is_refused(scene: Scene, folder: Path) -> None:
    assert "plain matt sheet" in refusal(replace(scene, blotches=0.35, grain=0.1), folder)


def test_a_blurred_picture_is_refused(scene: Scene, folder: Path) -> None:
    told = refusal(replace(scene, blur_px=3.4), folder)
    assert "still" in told or "three or four" in told


def test_a_part_that_runs_out_of_the_picture_is_refused(scene: Scene, folder: Path) -> None:
    plate = shapely.box(-500, -40, 60, 40)
    assert "Step back" in refusal(replace(scene, shape=plate), folder)


def test_a_tilted_camera_is_refused(scene: Scene, folder: Path) -> None:
    tilted = camera(size=(1400, 1050), f35_mm=26, tilt_deg=46, towards_deg=250, roll_deg=0, away_mm=800)
    assert "flat over the part" in refusal(replace(scene, camera=tilted, shape=shapely.box(-80, -50, 80, 50)), folder)


def test_light_on_metal_is_no_hole(scene: Scene, folder: Path) -> None:
    """A soft bright spot on dark metal, as bright as the ground, is gloss; the drilled holes stay holes."""
    plain = replace(scene, shape=shapely.box(-90, -60, 90, 60).difference(shapely.Point(-60, 0).buffer(8)), gloss=0.0)
    dots = paint(plain).astype(float)
    at = SMALL.project(np.array([[30.0, 0.0, 3.0]]))[0]
    yy, xx = np.mgrid[0 : dots.shape[0], 0 : dots.shape[1]]
    spot = np.exp(-((xx - at[0]) ** 2 + (yy - at[1]) ** 2) / (2 * 9.0**2))[..., None]
    path = folder / "gloss.jpg"
    jpeg(plain, path, picture=np.clip(dots + 150 * spot, 0, 255).astype(np.uint8))
    got = read_photo(path, TAKEN)
    assert len(got.reading.pieces[0].outlines) == 2
    assert any("gloss" in note for note in got.reading.notes)


def test_where_a_picture_was_taken_is_not_kept(picture: Path, got: PhotoReading) -> None:
    with Image.open(picture) as given:
        assert given.getexif().get_ifd(0x8825)  # it was in the file
    with Image.open(io.BytesIO(straighten(got).jpeg)) as straight:
        assert not dict(straight.getexif())
    assert got.traces.photo.f35_mm == 26


def test_the_straightened_picture_fits_its_outlines(got: PhotoReading) -> None:
    """Inside the outline the straightened picture is dark, outside light."""
    straight = straighten(got)
    dots = np.asarray(Image.open(io.BytesIO(straight.jpeg)).convert("L")).astype(float)
    high, wide = dots.shape
    x = straight.low[0] + (np.arange(wide) + 0.5) / wide * (straight.high[0] - straight.low[0])
    y = straight.high[1] - (np.arange(high) + 0.5) / high * (straight.high[1] - straight.low[1])
    outer = shapely.Polygon(got.outlines[0].points)
    xs, ys = np.meshgrid(x[::5], y[::5])
    inner = shapely.contains_xy(outer.buffer(-2), xs, ys)
    around = shapely.contains_xy(outer.buffer(6), xs, ys) & ~shapely.contains_xy(outer.buffer(3), xs, ys)
    assert np.median(dots[::5, ::5][inner]) < 110 < np.percentile(dots[::5, ::5][around], 5)


def test_an_unseen_stretch_is_neither_sanded_nor_wiped(traces: Traces, got: PhotoReading) -> None:
    outer = got.outlines[0]
    hidden = photo_measured(
        traces, chosen=Choices(marks=StretchMarks(unseen=frozenset({(outer.id, 0)})))
    ).reading.pieces[0]
    whole = got.reading.pieces[0]
    assert whole.edge_m - hidden.edge_m == pytest.approx(2e-3 * outer.curves[0].length_mm)
    assert whole.line_m - hidden.line_m == pytest.approx(1e-3 * outer.curves[0].length_mm)
    assert hidden.area_m2 == whole.area_m2
    every = frozenset((o.id, k) for o in got.outlines for k in range(len(o.curves)))
    assert photo_measured(traces, chosen=Choices(marks=StretchMarks(unseen=every))).reading.pieces[0].edge_m == 0.0


def test_spots_are_added_and_corners_are_dragged(traces: Traces, got: PhotoReading) -> None:
    before = got.reading.pieces[0]
    more = photo_measured(traces, chosen=Choices(marks=StretchMarks(spots=((0.0, 0.0), (10.0, 0.0)))))
    assert more.reading.pieces[0].spots == before.spots + 2
    assert more.doubts[0].spans["spots"].middle == before.spots + 2
    x, y = got.outlines[0].curves[0].points[0].tolist()
    marks = StretchMarks(corners=(((got.outlines[0].id, 0), (x - 3.0, y + 2.0)),))
    dragged = photo_measured(traces, chosen=Choices(marks=marks))
    assert dragged.outlines[0].curves[0].points[0].tolist() == [x - 3.0, y + 2.0]
    assert dragged.outlines[0].curves[-1].points[-1].tolist() == [x - 3.0, y + 2.0]
    assert dragged.reading.pieces[0].face_m2 != before.face_m2


def test_an_outline_that_is_left_out_no_longer_counts(traces: Traces, got: PhotoReading) -> None:
    hole = got.reading.pieces[0].outlines[1]
    less = photo_measured(traces, chosen=Choices(without=frozenset({hole})))
    assert less.reading.pieces[0].edge_m < got.reading.pieces[0].edge_m
    with pytest.raises(BadInput, match="outline's number"):
        photo_measured(traces, chosen=Choices(without=frozenset({99})))


def test_without_cards_a_marked_length_gives_a_wide_range(scene: Scene, folder: Path) -> None:
    bare = replace(scene, cards=())
    path = folder / "no_cards.jpg"
    jpeg(bare, path)
    with pytest.raises(BadInput, match="three or four"):
        read_photo(path, TAKEN)
    marks = SMALL.project(np.array([(-100.0, 0.0, 3.0), (100.0, 0.0, 3.0)])) / SMALL.size
    known = KnownLength(tuple(marks[0]), tuple(marks[1]), 200.0)
    got = photo_measured(look(path, TAKEN, known))
    spans, true = got.doubts[0].spans, truth_of(scene.shape, 3.0)
    for name in ("area_m2", "edge_m", "height_mm"):
        assert spans[name].low <= getattr(true, name) <= spans[name].high
        assert spans[name].high / spans[name].low > 1.15
    assert "first guess" in got.reading.notes[0]
    with pytest.raises(BadInput, match="longer known length"):
        look(path, TAKEN, KnownLength((0.5, 0.5), (0.51, 0.5), 20.0))


@pytest.mark.parametrize("kind", ["png", "heic"])
def test_other_kinds_of_pictures_give_the_same(kind: str, scene: Scene, folder: Path, got: PhotoReading) -> None:
    path = folder / f"bracket.{kind}"
    if kind == "heic":
        from pillow_heif import register_heif_opener

        register_heif_opener()
        Image.fromarray(paint(scene)).save(path, quality=85)
    else:
        Image.fromarray(paint(scene)).save(path)
    other = read_photo(path, TAKEN).reading.pieces[0]
    assert other.edge_m == pytest.approx(got.reading.pieces[0].edge_m, rel=0.006)


def test_a_file_that_is_no_picture_is_told(folder: Path) -> None:
    for name, content, words in (
        ("text.jpg", b"not a picture at all", "no picture"),
        ("cut.jpg", (ROOT / "data" / "photos" / "shelf_bracket.jpg").read_bytes()[:9000], "damaged"),
        ("empty.jpg", b"", "empty"),
    ):
        (folder / name).write_bytes(content)
        with pytest.raises(BadInput, match=words):
            read_photo(folder / name, TAKEN)
    with pytest.raises(BadInput, match="not there"):
        read_photo(folder / "gone.jpg", TAKEN)


def test_a_picture_of_too_many_dots_is_refused_before_it_is_unpacked(folder: Path) -> None:
    path = folder / "vast.png"
    Image.new("1", (30_000, 30_000)).save(path)
    with pytest.raises(BadInput, match="at most 64 million"):
        read_photo(path, TAKEN)


def test_a_large_jpeg_is_made_smaller_as_it_is_unpacked(folder: Path) -> None:
    path = folder / "large.jpg"
    Image.new("RGB", (8000, 6000), (128, 128, 128)).save(path, quality=50)
    photo = read_photo_file(path)
    assert photo.dots.shape[0] * photo.dots.shape[1] <= 1.25e7


def test_a_turned_picture_is_turned_back(folder: Path, scene: Scene, got: PhotoReading) -> None:
    exif = Image.Exif()
    exif[0x0112] = 6  # EXIF 2.32: row 0 is the right side
    path = folder / "turned.jpg"
    Image.fromarray(paint(scene)).rotate(90, expand=True).save(path, quality=90, exif=exif)
    turned = read_photo(path, TAKEN)
    assert turned.traces.photo.size == (1024, 768)
    assert turned.reading.pieces[0].edge_m == pytest.approx(got.reading.pieces[0].edge_m, rel=0.005)


def test_nooks_lie_between_what_a_thinner_and_a_thicker_finger_misses(traces: Traces, got: PhotoReading) -> None:
    share, usual = fact("photo.finger_doubt"), Choices().finger_mm
    fingers = [Choices(finger_mm=usual * factor) for factor in (1 - share, 1.0, 1 + share)]
    counts = [photo_measured(traces, chosen=one).reading.pieces[0].spots for one in fingers]
    spots = got.doubts[0].spans["spots"]
    assert (spots.low, spots.middle, spots.high) == (min(counts), counts[1], max(counts))


def test_without_opencv_the_extra_is_named(picture: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("pricing.parts.bounds.find_spec", lambda name: None if name == "cv2" else find_spec(name))
    with pytest.raises(BadInput, match=r"\[photos\]"):
        read_photo(picture, TAKEN)


def test_nothing_of_it_loads_before_a_picture_is_read() -> None:
    import subprocess

    code = "import pricing.commands.main, pricing.screens.panel_job, sys; assert 'cv2' not in sys.modules"
    subprocess.run([sys.executable, "-c", code], check=True)


def test_impossible_sizes_are_refused(picture: Path) -> None:
    for taken, word in (
        (Taken(thickness_mm=0.0), "thickness"),
        (Taken(thickness_mm=80.0), "flat"),
        (Taken(thickness_mm=3.0, ruler_mm=10.0), "ruler"),
        (Taken(thickness_mm=3.0, above_mm=-1.0), "height"),
    ):
        with pytest.raises(BadInput, match=word):
            read_photo(picture, taken)


def test_the_drawings_of_the_scenes_are_there() -> None:
    assert len(drawn_shapes()) >= 3
