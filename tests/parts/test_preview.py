"""The picture: whole, safe, and telling what was read."""

from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import numpy as np
import pytest
import trimesh

from pricing.parts.mesh import read_mesh
from pricing.parts.preview import picture
from pricing.parts.reading import BadDrawing, Choices, DrawingReading, Seen
from tests.parts.drafts import closed, draw, read, rectangle

SVG = "{http://www.w3.org/2000/svg}"


def parts(text: str) -> ET.Element:
    return ET.fromstring(text)  # noqa: S314  our own text


def paths(text: str, kind: str) -> list[ET.Element]:
    return [path for path in parts(text).iter(f"{SVG}path") if path.get("class") == kind]


def words(text: str) -> list[str]:
    return [node.text or "" for node in parts(text).iter(f"{SVG}text")]


def plate(space: Any) -> None:
    closed(space, rectangle(200, 100))
    closed(space, rectangle(40, 20, (80, 40)))
    space.add_circle((20, 50), 4)
    space.add_circle((180, 50), 4)


def test_each_outline_has_its_role_and_number(tmp_path: Path) -> None:
    reading = read(draw(plate), tmp_path, without=frozenset({4}))
    text = picture(reading)
    assert [p.get("data-outline") for p in paths(text, "outer")] == ["1"]
    assert [p.get("data-outline") for p in paths(text, "hole")] == ["2"]
    assert [p.get("data-outline") for p in paths(text, "plug")] == ["3"]
    assert [p.get("id") for p in paths(text, "off")] == ["outline-4"]
    assert len(paths(text, "spot")) == 4 + 1  # and one in the legend
    assert {"1", "2", "3", "4"} <= set(words(text))
    assert {"outline: 1", "hole: 1", "hole that gets a plug: 1", "switched off: 1"} <= set(words(text))
    assert "nook a fingertip does not reach: 4" in words(text)


def test_lines_lie_where_the_outline_lies(tmp_path: Path) -> None:
    """200 x 100 mm fill 840 pixels; the outline's box is theirs."""
    text = picture(read(draw(plate), tmp_path))
    numbers = [float(n) for n in (paths(text, "outer")[0].get("d") or "").replace("M", " ").replace("L", " ").split()]
    xy = np.array(numbers).reshape(-1, 2)
    assert np.ptp(xy, axis=0) == pytest.approx([840, 420], abs=0.2)
    box = [float(n) for n in (parts(text).get("viewBox") or "").split()]
    assert (xy >= 0).all()
    assert (xy <= box[2:]).all()


def test_only_visible_edges_are_marked(tmp_path: Path) -> None:
    def make(space: Any) -> None:
        closed(space, rectangle(200, 100), layer="FRONT")
        closed(space, rectangle(40, 20, (80, 40)), layer="BACK")

    doc = draw(make)
    assert len(paths(picture(read(doc, tmp_path)), "lined")) == 2 + 1
    assert len(paths(picture(read(doc, tmp_path, visible=frozenset({"FRONT"}))), "lined")) == 1 + 1


def test_a_bad_outline_is_shown(tmp_path: Path) -> None:
    with pytest.raises(BadDrawing) as caught:
        read(draw(lambda s: [plate(s), s.add_line((5, 5), (60, 30))]), tmp_path)
    text = picture(DrawingReading(source="x.dxf", seen=caught.value.seen))
    assert [p.get("data-outline") for p in paths(text, "bad")] == ["5"]
    assert "cannot be measured: 1" in words(text)


def test_names_from_the_file_stay_text(tmp_path: Path) -> None:
    evil = '<script>alert("1")</script>&\x07'
    seen = Seen(id=1, role="outer", layer=evil, points=np.array([[0, 0], [9, 0], [9, 9], [0, 0.0]]))
    text = picture(DrawingReading(source=evil, seen=(seen,)))
    assert "<script" not in text
    titles = [node.text or "" for node in parts(text).iter(f"{SVG}title")]
    assert titles[0].startswith('<script>alert("1")</script>&, 9 × 9 mm')
    assert titles[1].endswith('layer <script>alert("1")</script>&')


def test_a_crowd_is_drawn_in_part_and_told() -> None:
    crowd = [
        Seen(id=k, role="outer", layer="", points=np.array([[0, 0], [k, 0], [k, k], [0, 0.0]])) for k in range(1, 5001)
    ]
    text = picture(DrawingReading(source="many", seen=tuple(crowd)))
    assert len(paths(text, "outer")) == 4000
    assert "1000 smaller outlines are not drawn" in words(text)
    assert len(text) < 2_000_000


def test_an_empty_picture_is_whole() -> None:
    assert parts(picture(DrawingReading(source="nothing"))).get("role") == "img"


def test_text_can_be_read() -> None:
    bad = Seen(id=1, role="bad", layer="", points=np.array([[0, 0], [9, 0.0]]))
    text = picture(DrawingReading(source="x", seen=(bad,)))
    sizes = [float(node.get("font-size", "13")) for node in parts(text).iter() if "font-size" in node.attrib]
    assert min(sizes) >= 12


def test_a_mesh_shows_its_shadow_and_sharp_edges(tmp_path: Path) -> None:
    ring = trimesh.creation.annulus(30, 50, 10, sections=64)
    ring.export(tmp_path / "ring.stl")
    text = picture(read_mesh(tmp_path / "ring.stl", chosen=Choices(units="mm")))
    assert len(paths(text, "outer")) == 1
    assert len(paths(text, "hole")) == 1
    assert len(paths(text, "lined")) == 4 * 64 + 1
    assert "edge to sand" in words(text)
