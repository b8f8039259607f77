"""Meshes against closed forms and trimesh; damage told, mended only when asked."""

import io
import struct
import tracemalloc
import zipfile
import zlib
from collections.abc import Callable
from contextlib import suppress
from math import pi, sqrt
from pathlib import Path

import numpy as np
import pytest
import trimesh
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from trimesh.transformations import rotation_matrix

from pricing.basis.errors import BadInput
from pricing.parts.archive import check_archive
from pricing.parts.bounds import Bounds
from pricing.parts.drawing import read_part_file
from pricing.parts.mesh import MESH_KINDS, read_mesh
from pricing.parts.reading import Choices, DrawingReading, Piece

few = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


def read(
    mesh: trimesh.Trimesh, folder: Path, *, kind: str = "obj", units: str = "mm", repair: bool = False
) -> DrawingReading:
    path = folder / f"mesh.{kind}"
    mesh.export(path)
    return read_mesh(path, chosen=Choices(units=units, repair=repair))


def piece(mesh: trimesh.Trimesh, folder: Path) -> Piece:
    return read(mesh, folder).pieces[0]


def told(content: bytes, folder: Path, name: str = "bad.stl", **chosen: object) -> str:
    (folder / name).write_bytes(content)
    with pytest.raises(BadInput) as caught:
        read_mesh(folder / name, chosen=Choices(**{"units": "mm", **chosen}))  # type: ignore[arg-type]
    return str(caught.value).replace(str(folder / name), name)


def sides(one: Piece) -> list[float]:
    return sorted((one.width_mm, one.height_mm, one.depth_mm))


@pytest.mark.parametrize("kind", MESH_KINDS)
def test_a_box_of_every_kind(kind: str, tmp_path: Path) -> None:
    """40 x 60 x 250 mm: surface 2(ab + bc + ca), volume abc, edges 4(a + b + c)."""
    one = read(trimesh.creation.box((40, 60, 250)), tmp_path, kind=kind).pieces[0]
    assert one.area_m2 == pytest.approx(2 * (40 * 60 + 60 * 250 + 40 * 250) / 1e6, rel=1e-6)
    assert one.volume_m3 == pytest.approx(40 * 60 * 250 / 1e9, rel=1e-6)
    assert one.edge_m == pytest.approx(4 * 350 / 1e3, rel=1e-6)
    assert (one.depth_mm, one.width_mm, one.height_mm) == pytest.approx((40, 60, 250), rel=1e-6)


@pytest.mark.parametrize("halvings", [3, 4, 5])
def test_a_sphere_comes_closer_with_every_halving(halvings: int, tmp_path: Path) -> None:
    """4πr² and 4πr³/3; flat facets fall short by a quarter of it each time they are halved."""
    one = piece(trimesh.creation.icosphere(subdivisions=halvings, radius=80), tmp_path)
    short = 1 - one.area_m2 * 1e6 / (4 * pi * 80**2)
    assert 0 < short < 0.25 ** (halvings - 3) * 0.0055
    assert one.volume_m3 * 1e9 == pytest.approx(4 / 3 * pi * 80**3, rel=3 * 0.0055 * 0.25 ** (halvings - 3))
    assert one.edge_m == 0.0
    assert sides(one) == pytest.approx([160, 160, 160], rel=0.006)


@given(
    st.floats(5, 500), st.floats(5, 500), st.floats(5, 500), st.floats(0, 6.28), st.floats(-1, 1), st.floats(-900, 900)
)
@few
def test_turning_and_moving_change_nothing(
    tmp_path: Path, a: float, b: float, c: float, angle: float, tilt: float, shift: float
) -> None:
    mesh = trimesh.creation.box((a, b, c))
    mesh.apply_transform(rotation_matrix(angle, [tilt, 0.3, 0.7]))
    mesh.apply_translation((shift, -shift, 2 * shift))
    one = piece(mesh, tmp_path)
    assert one.area_m2 * 1e6 == pytest.approx(2 * (a * b + b * c + c * a), rel=1e-6)
    assert one.volume_m3 * 1e9 == pytest.approx(a * b * c, rel=1e-6)
    assert one.edge_m * 1e3 == pytest.approx(4 * (a + b + c), rel=1e-6)
    assert sides(one) == pytest.approx(sorted((a, b, c)), rel=1e-5)


@given(st.integers(0, 2**31), st.floats(0, 6.28))
@few
def test_any_solid_agrees_with_trimesh_and_its_own_turn(tmp_path: Path, seed: int, angle: float) -> None:
    corners = np.random.default_rng(seed).normal(size=(24, 3)) * (120, 60, 30)
    mesh = trimesh.convex.convex_hull(corners)
    one = piece(mesh, tmp_path)
    assert one.area_m2 * 1e6 == pytest.approx(mesh.area, rel=1e-5)
    assert one.volume_m3 * 1e9 == pytest.approx(mesh.volume, rel=1e-5)
    box = np.prod(sides(one))
    assert mesh.volume <= box * (1 + 1e-6)
    assert box <= np.prod(mesh.bounding_box_oriented.primitive.extents) * 1.02
    mesh.apply_transform(rotation_matrix(angle, [0.2, -0.5, 0.9]))
    other = piece(mesh, tmp_path)
    for name in ("area_m2", "volume_m3", "edge_m", "width_mm", "height_mm", "depth_mm"):
        assert getattr(other, name) == pytest.approx(getattr(one, name), rel=1e-4)


def test_inner_corners_are_not_sanded(tmp_path: Path) -> None:
    """An L of 100 x 100 x 50, arms 30: eighteen edges, one of them an inner corner 50 long."""
    flat = np.array([(0, 0), (100, 0), (100, 30), (30, 30), (30, 100), (0, 100)])
    cap = np.array([[0, 1, 3], [1, 2, 3], [0, 3, 5], [3, 4, 5]])
    ring = np.arange(6)
    wall = np.column_stack((ring, (ring + 1) % 6, (ring + 1) % 6 + 6, ring + 6))
    faces = np.vstack((cap[:, ::-1], cap + 6, wall[:, [0, 1, 2]], wall[:, [0, 2, 3]]))
    corners = np.vstack((np.column_stack((flat, np.zeros(6))), np.column_stack((flat, np.full(6, 50)))))
    one = piece(trimesh.Trimesh(corners, faces), tmp_path)
    assert one.edge_m * 1e3 == pytest.approx(2 * 400 + 5 * 50)
    assert one.volume_m3 * 1e9 == pytest.approx(5100 * 50)


@pytest.mark.parametrize(("units", "mm"), [("mm", 1.0), ("cm", 10.0), ("m", 1000.0), ("in", 25.4), ("ft", 304.8)])
def test_units_are_asked_for(units: str, mm: float, tmp_path: Path) -> None:
    mesh = trimesh.creation.box((20 / mm, 30 / mm, 40 / mm))
    assert sides(read(mesh, tmp_path, units=units).pieces[0]) == pytest.approx([20, 30, 40], rel=1e-6)
    with pytest.raises(BadInput, match=r"units is 'not told by the file'; .* A mesh does not say its unit"):
        read(mesh, tmp_path, units="")
    with pytest.raises(BadInput, match=r"units is 'inch'; it must be mm, cm, m, in or ft\. Did you mean 'in'\?"):
        read(mesh, tmp_path, units="inch")


def test_a_3mf_tells_its_unit(tmp_path: Path) -> None:
    mesh = trimesh.creation.box((20, 30, 40))
    reading = read(mesh, tmp_path, kind="3mf", units="")
    assert sides(reading.pieces[0]) == pytest.approx([20, 30, 40])
    assert reading.notes[0] == "The file's unit is millimeter."
    asked = read(mesh, tmp_path, kind="3mf", units="in")
    assert asked.notes[0] == "Read in in as you asked; the file says millimeter."


def open_box(faces: int = 1) -> trimesh.Trimesh:
    mesh = trimesh.creation.box((100, 100, 100))
    mesh.update_faces(np.arange(12) >= faces)
    return mesh


def test_an_open_mesh_is_refused_and_mended_only_when_asked(tmp_path: Path) -> None:
    with pytest.raises(BadInput) as caught:
        read(open_box(), tmp_path)
    assert str(caught.value).splitlines()[1] == (
        "  the mesh is 'open along 3 edges'; it must be closed. Close it in the program it comes from, let it be mended"
        " (--repair) and look at the picture, or name its --thickness or --mass and take the area as it is."
    )
    mended = read(open_box(), tmp_path, repair=True)
    assert mended.pieces[0].area_m2 == pytest.approx(0.06, rel=1e-6)
    assert mended.pieces[0].volume_m3 == pytest.approx(0.001, rel=1e-6)
    assert mended.notes[0] == (
        "Mended as you asked (open along 3 edges): 0 doubled faces taken out, holes closed with 1 faces; area +9.1 %."
    )


@pytest.mark.parametrize("spoil", ["flip one", "double one", "inside out"])
def test_turned_and_doubled_faces(spoil: str, tmp_path: Path) -> None:
    mesh = trimesh.creation.box((100, 100, 100))
    faces = np.array(mesh.faces)
    if spoil == "flip one":
        faces[0] = faces[0][::-1]
    elif spoil == "double one":
        faces = np.vstack((faces, faces[:1]))
    else:
        faces = faces[:, ::-1]
    mesh = trimesh.Trimesh(mesh.vertices, faces, process=False)
    if spoil != "inside out":
        with pytest.raises(BadInput, match="the mesh is '"):
            read(mesh, tmp_path)
    one = read(mesh, tmp_path, repair=spoil != "inside out").pieces[0]
    assert (one.area_m2, one.volume_m3) == pytest.approx((0.06, 0.001), rel=1e-6)
    assert one.edge_m == pytest.approx(1.2)  # twelve edges of 0.1 m, also where the faces look inwards


def loose_box(shift_mm: float) -> trimesh.Trimesh:
    """A cube of 100 mm whose top has corners of its own, shifted a little."""
    mesh = trimesh.creation.box((100, 100, 100))
    up = (mesh.face_normals[:, 2] > 0.5)[:, None]
    corners = np.vstack((mesh.vertices, mesh.vertices + np.array([shift_mm, 0, 0])))
    return trimesh.Trimesh(corners, np.where(up, mesh.faces + 8, mesh.faces), process=False)


def test_corners_that_differ_by_rounding_are_joined_and_told(tmp_path: Path) -> None:
    reading = read(loose_box(0.03), tmp_path)
    one = reading.pieces[0]
    assert (one.area_m2, one.volume_m3, one.edge_m) == pytest.approx((0.06, 0.001, 1.2), rel=1e-3)
    assert reading.notes[0] == "Open along 8 edges by rounding: corners up to 0.05 mm apart were read as one."
    with pytest.raises(BadInput, match="the mesh is 'open along 8 edges'"):
        read(loose_box(0.07), tmp_path)


@pytest.mark.parametrize("inwards", [False, True])
def test_an_open_mesh_gives_its_area_where_the_wall_is_known(inwards: bool, tmp_path: Path) -> None:
    """A cube of 100 mm without its lid: five faces, eight edges left at two faces, half its area as metal."""
    box = trimesh.creation.box((100, 100, 100))
    box.update_faces(box.face_normals[:, 2] < 0.5)
    if inwards:
        box.invert()
    box.export(tmp_path / "open.obj")
    reading = read_mesh(tmp_path / "open.obj", chosen=Choices(units="mm", open_surface=True))
    assert reading.pieces[0].area_m2 == pytest.approx(0.05)
    assert reading.pieces[0].edge_m == pytest.approx(0.8)
    assert reading.notes[0].startswith("Open along 4 edges: the area is what is drawn")
    by_wall = reading.part(1, "tray", "aluminium", thickness_mm=3.0)
    assert by_wall.mass_kg == pytest.approx(0.025 * 0.003 * 2700)
    by_mass = reading.part(1, "tray", "aluminium", mass_kg=by_wall.mass_kg)
    assert by_mass.thickness_mm == pytest.approx(3.0)
    with pytest.raises(BadInput, match="the mesh is 'open'; it must be closed, or of known thickness or mass"):
        reading.part(1, "tray", "aluminium")


def test_a_mesh_in_the_wrong_unit_is_asked_about(tmp_path: Path) -> None:
    railing = trimesh.creation.box((0.1, 0.04, 0.03))  # 100 mm long, drawn in metres
    with pytest.raises(
        BadInput, match=r"the mesh is '0\.1 mm long in mm'; it must be 5 mm to 20 m long\. Name the right"
    ):
        read(railing, tmp_path)
    assert read(railing, tmp_path, units="m").pieces[0].height_mm == pytest.approx(100)
    unsaid = MODEL.replace(' unit="millimeter"', "").format(CORNER.replace('"9"', '"1"'), '<item objectid="1"/>')
    (tmp_path / "small.3mf").write_bytes(packed(unsaid.encode()))
    with pytest.raises(BadInput, match="Name the unit|name it, for example|Name the right unit"):
        read_mesh(tmp_path / "small.3mf")
    assert read_mesh(tmp_path / "small.3mf", chosen=Choices(units="in")).pieces[0].volume_m3 > 0


def test_what_cannot_be_mended_says_so(tmp_path: Path) -> None:
    fan = trimesh.Trimesh([[0, 0, 0], [9, 0, 0], [0, 9, 0], [0, 0, 9], [0, 0, -9]], [[0, 1, 2], [0, 1, 3], [0, 1, 4]])
    with pytest.raises(BadInput, match="after mending still open along"):
        read(fan, tmp_path, repair=True)


def test_a_closed_hollow_is_not_coated_and_must_be_vented(tmp_path: Path) -> None:
    inner = trimesh.creation.box((50, 50, 50))
    inner.invert()
    reading = read(trimesh.util.concatenate([trimesh.creation.box((100, 100, 100)), inner]), tmp_path)
    one = reading.pieces[0]
    assert (one.area_m2, one.volume_m3, one.hollow) == pytest.approx((0.06, 0.001 - 0.000125, True))
    assert one.edge_m == pytest.approx(1.2)
    assert any("must be vented before it is heated" in note for note in reading.notes)
    assert reading.part(1, "ball", "aluminium").closed_volume


def test_separate_bodies_are_told(tmp_path: Path) -> None:
    boxes = [trimesh.creation.box((10, 10, 10)), trimesh.creation.box((10, 10, 10))]
    boxes[1].apply_translation((30, 0, 0))
    reading = read(trimesh.util.concatenate(boxes), tmp_path)
    assert reading.pieces[0].area_m2 == pytest.approx(2 * 600 / 1e6)
    assert any(note.startswith("Separate bodies: 2") for note in reading.notes)


def test_a_body_turned_inside_out_beside_another_is_no_hollow(tmp_path: Path) -> None:
    boxes = [trimesh.creation.box((10, 10, 10)), trimesh.creation.box((20, 20, 20))]
    boxes[0].apply_translation((30, 0, 0))
    boxes[0].invert()
    one = read(trimesh.util.concatenate(boxes), tmp_path).pieces[0]
    assert (one.area_m2, one.volume_m3, one.hollow) == pytest.approx((3000 / 1e6, 9000 / 1e9, False))
    assert one.edge_m == pytest.approx(12 * 0.03)


def test_hidden_area_is_taken_off_and_the_wall_estimated(tmp_path: Path) -> None:
    """Twice volume over area: for a plate far wider than thick its thickness."""
    reading = read(trimesh.creation.box((1000, 1000, 4)), tmp_path)
    part = reading.part(1, "lid", "aluminium", hidden_m2=1.0)
    assert part.area_m2 == pytest.approx(1.016)
    assert part.mass_kg == pytest.approx(0.004 * 2700)
    assert part.thickness_mm == pytest.approx(4.0, rel=0.01)
    assert reading.part(1, "lid", "aluminium", thickness_mm=12.0, casting=True).thickness_mm == 12.0
    for bad in (-0.1, 2.1, float("nan")):
        with pytest.raises(BadInput, match=r"it must be 0 m² or more and under 2\.016 m²"):
            reading.part(1, "lid", "aluminium", hidden_m2=bad)


def test_a_part_is_refused_in_words(tmp_path: Path) -> None:
    reading = read(trimesh.creation.box((10, 10, 10)), tmp_path)
    with pytest.raises(BadInput, match=r"piece is 2; it must be 1 to 1\."):
        reading.part(2, "x", "aluminium")
    with pytest.raises(BadInput, match=r"material is 'aluminum'; .*\. Did you mean 'aluminium'\?"):
        reading.part(1, "x", "aluminum")
    with pytest.raises(BadInput, match=r"a casting of another material than mild steel"):
        reading.part(1, "x", "mild steel", casting=True)
    with pytest.raises(BadInput, match="a name that does not begin with"):
        reading.part(1, "=1+1", "aluminium")


@pytest.mark.parametrize(
    ("content", "name", "message"),
    [
        (b"", "a.stl", "the file is 'empty'; it must be a drawing or a mesh."),
        (b"solid x\nnot a facet\nendsolid x\n", "a.stl", "the "),
        (b"x" * 500, "a.stl", "the "),
        (b"ply\nformat ascii 1.0\nend_header\n", "a.ply", "the mesh is 'without faces'"),
        (b"ply\nformat ascii 1.0\nelement vertex 9\nend_header\n1 2\n", "a.ply", "the "),
        (
            b"ply\nformat binary_little_endian 1.0\nelement vertex 3\nelement face 4000000000\nend_header\n",
            "a.ply",
            "with 4,000,000,000 triangles'; it must be at most 1,000,000.",
        ),
        (b"v 0 0 0\nv 1 0 0\n", "a.obj", "the "),
        (b"v 0 0 0\nv 1 0 0\nv nan 1 0\nf 1 2 3\n", "a.obj", "the mesh is 'without faces'"),
        (b"v 0 0 0\nv 9 0 0\nv 0 9 0\nf 1 2 3\nf 1 3 2\n", "a.obj", "the mesh is 'without volume'"),
        (
            b"v 0 0 0\nv 0 0 0\nv 0 0 0\nf 1 2 3\n",
            "a.obj",
            "the mesh is '0 mm long in mm'; it must be 5 mm to 20 m long.",
        ),
        (
            b"v 0 0 0\nv 9e5 0 0\nv 0 1 0\nf 1 2 3\n",
            "a.obj",
            "the mesh is '900 m long in mm'; it must be 5 mm to 20 m long.",
        ),
        (b"PK\x03\x04oops", "a.3mf", "the file is 'damaged (File is not a zip file)'; it must be a whole 3MF file."),
    ],
)
def test_damage_is_told(content: bytes, name: str, message: str, tmp_path: Path) -> None:
    text = told(content, tmp_path, name)
    assert message in text
    assert text.startswith(f"{name} needs mending:\n  the ")


def test_another_kind_of_file_is_told(tmp_path: Path) -> None:
    message = told(b"ISO-10303-21;", tmp_path, "part.step")
    assert "the file is 'of kind .step'; it must be stl, obj, ply or 3mf." in message
    with pytest.raises(BadInput, match="the file is 'not there'"):
        read_part_file(tmp_path / "nothing.stl")


def packed(model: bytes, **others: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("3D/3dmodel.model", model)
        for name, content in others.items():
            archive.writestr(name, content)
    return out.getvalue()


MODEL = (
    '<model unit="millimeter" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02"><resources>{}</resources>'
    "<build>{}</build></model>"
)
CORNER = (
    '<object id="1"><mesh><vertices><vertex x="0" y="0" z="0"/><vertex x="9" y="0" z="0"/><vertex x="0" y="9" z="0"/>'
    '<vertex x="0" y="0" z="9"/></vertices><triangles><triangle v1="0" v2="2" v3="1"/><triangle v1="0" v2="1" v3="3"/>'
    '<triangle v1="0" v2="3" v3="2"/><triangle v1="1" v2="2" v3="3"/></triangles></mesh></object>'
)


def test_a_small_3mf_reads(tmp_path: Path) -> None:
    """A corner of a cube: surface 3·9²/2 + √3/4·(9√2)²; volume 9³/6."""
    (tmp_path / "corner.3mf").write_bytes(packed(MODEL.format(CORNER, '<item objectid="1"/>').encode()))
    one = read_mesh(tmp_path / "corner.3mf").pieces[0]
    assert one.area_m2 * 1e6 == pytest.approx(3 * 81 / 2 + sqrt(3) / 4 * 162)
    assert one.volume_m3 * 1e9 == pytest.approx(729 / 6)


@pytest.mark.slow
def test_a_packed_bomb_is_refused_before_it_is_unpacked(tmp_path: Path) -> None:
    bomb = packed(b" " * 400_000_000)
    tracemalloc.start()
    message = told(bomb, tmp_path, "bomb.3mf")
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert most < 40_000_000
    assert "MB that unpack to 400 MB'; it must be at most 32 MB unpacked." in message
    many = io.BytesIO()
    with zipfile.ZipFile(many, "w") as archive:
        for k in range(1001):
            archive.writestr(f"f{k}", b"")
    assert "it must be at most 32 MB unpacked" in told(many.getvalue(), tmp_path, "many.3mf")


@pytest.mark.parametrize("inside", ["3D/3dmodel.model", "Metadata/thumbnail.png"])
def test_a_packed_file_that_declares_less_than_it_holds_is_stopped(inside: str, tmp_path: Path) -> None:
    """200 MB declared as 1,000 bytes, with their checksum: no more than a little is ever unpacked."""
    model = MODEL.format(CORNER, '<item objectid="1"/>').encode()
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in {"3D/3dmodel.model": model, inside: b" " * 200_000_000}.items():
            archive.writestr(name, content)
    true = struct.pack("<L", zlib.crc32(b" " * 200_000_000))
    size, lie = struct.pack("<L", 200_000_000), struct.pack("<L", 1000)
    raw = out.getvalue().replace(size, lie).replace(true, struct.pack("<L", zlib.crc32(b" " * 1000)))
    assert raw != out.getvalue()
    tracemalloc.start()
    try:
        message = told(raw, tmp_path, "lying.3mf")
        _, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert "holding more than the 1000 bytes it declares" in message
    assert peak < 20_000_000


def test_copies_of_copies_are_counted_before_they_are_made(tmp_path: Path) -> None:
    objects = [CORNER]
    for k in range(2, 40):
        copies = f'<component objectid="{k - 1}"/>' * 2
        objects.append(f'<object id="{k}"><components>{copies}</components></object>')
    text = MODEL.format("".join(objects), '<item objectid="39"/>').encode()
    assert "triangles'; it must be at most 1,000,000." in told(packed(text), tmp_path, "copies.3mf")
    loop = '<object id="1"><components><component objectid="1"/></components></object>'
    text = MODEL.format(loop, '<item objectid="1"/>').encode()
    assert "with inf triangles'; it must be at most 1,000,000." in told(packed(text), tmp_path, "loop.3mf")


def test_copies_are_counted_as_they_will_be_made() -> None:
    objects = (
        CORNER + '<object id="2"><components><component objectid="1"/><component objectid="1"/></components></object>'
    )
    text = MODEL.format(objects, '<item objectid="2"/><item objectid="2"/><item objectid="1"/>').encode()
    count = check_archive(packed(text), Bounds("x.3mf", 1))
    assert 4 * 5 <= count <= 4 * 5 + 16  # five corners of four triangles, and a little for every copy


def test_declarations_that_grow_are_refused(tmp_path: Path) -> None:
    for encoding in ("utf-8", "utf-16"):
        text = f'<?xml version="1.0" encoding="{encoding}"?><!DOCTYPE a [<!ENTITY b "bb">]>{MODEL.format("", "")}'
        assert "with declarations of its own" in told(packed(text.encode(encoding)), tmp_path, "grow.3mf")


def test_an_archive_without_a_model_is_told(tmp_path: Path) -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("readme.txt", "hello")
    assert "the file is 'without a model inside'; it must be a 3MF file." in told(out.getvalue(), tmp_path, "a.3mf")
    assert "the file is 'damaged (" in told(packed(b"<model><resources>"), tmp_path, "b.3mf")


def test_a_mesh_of_many_corners_keeps_its_box(tmp_path: Path) -> None:
    """More corners than are looked at one by one: the outermost in 2,000 directions hold the box."""
    mesh = trimesh.creation.icosphere(subdivisions=6, radius=1.0)
    mesh.apply_scale((100, 60, 30))
    mesh.apply_transform(rotation_matrix(0.8, [1, 2, 3]))
    assert sides(piece(mesh, tmp_path)) == pytest.approx([60, 120, 200], rel=0.005)


@pytest.mark.parametrize("kind", MESH_KINDS)
def test_a_mesh_cut_short_is_never_a_traceback(kind: str, tmp_path: Path) -> None:
    trimesh.creation.icosphere(subdivisions=2, radius=50).export(tmp_path / f"whole.{kind}")
    content = (tmp_path / f"whole.{kind}").read_bytes()
    for share in np.linspace(0.02, 0.99, 25):
        message = told(content[: int(len(content) * share)], tmp_path, f"cut.{kind}")
        assert message.startswith(f"cut.{kind} needs mending:\n  the ")


@given(st.data())
@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_damaged_bytes_are_never_a_traceback(tmp_path: Path, data: st.DataObject) -> None:
    kind = data.draw(st.sampled_from(MESH_KINDS))
    raw = bytearray(_SMALL[kind]())
    for _ in range(data.draw(st.integers(1, 5))):
        at = data.draw(st.integers(0, len(raw) - 1))
        raw[at : at + data.draw(st.integers(0, 6))] = data.draw(st.binary(min_size=0, max_size=6))
    (tmp_path / f"x.{kind}").write_bytes(bytes(raw))
    with suppress(BadInput):
        reading = read_mesh(tmp_path / f"x.{kind}", chosen=Choices(units="mm", repair=data.draw(st.booleans())))
        assert reading.pieces[0].area_m2 > 0
        assert reading.pieces[0].volume_m3 > 0


def _exported(kind: str) -> Callable[[], bytes]:
    def make() -> bytes:
        if kind == "3mf":
            return packed(MODEL.format(CORNER, '<item objectid="1"/>').encode())
        content = trimesh.creation.box((10, 20, 30)).export(file_type=kind)
        return content.encode() if isinstance(content, str) else bytes(content)

    return make


_SMALL = {kind: _exported(kind) for kind in MESH_KINDS}
