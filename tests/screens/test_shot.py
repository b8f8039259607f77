"""Page 2 from a picture: measures with ranges, what clicks and drags in its sketch do, and a picture without cards."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from pricing.screens.panel_job import JobPanel
from pricing.screens.photo_form import saved_photos
from pricing.show.desk import Desk
from tests.parts.make_photo import bracket_scene
from tests.parts.scenes import camera, jpeg
from tests.screens.texts import plain

SMALL = camera(size=(1024, 768), f35_mm=26, tilt_deg=9, towards_deg=240, roll_deg=3, away_mm=640, k1=-0.02)


@pytest.fixture
def panel(own: Path) -> JobPanel:
    panel = JobPanel(Desk(own, read_only=False))
    panel.form.put("begun", "photo:shelf_bracket.jpg")
    return panel


def mark(panel: JobPanel, **done: Any) -> None:
    panel.picture.done = {**done, "n": panel.picture.heard + 1}


def part(panel: JobPanel) -> Any:
    return panel.job.lots[0].part


def test_an_owners_folder_begins_with_the_sample_picture(own: Path) -> None:
    assert set(saved_photos(Desk(own))) == {"shelf_bracket.jpg"}


def test_the_part_its_ranges_and_its_picture_are_shown(panel: JobPanel) -> None:
    assert part(panel).edge_m == pytest.approx(2.337, rel=0.015)
    assert "Nine in ten" in panel.form.state["drawn.said"]["text"]
    assert "Price" in plain(panel.board.words_of("answers"))
    assert panel.picture.image.startswith(b"\xff\xd8\xff")
    assert panel.picture.view["tools"] == ["off", "seen", "nook", "corner"]
    panel.form.put("begun", "item:bench_end")
    assert panel.picture.layout.display == "none"
    assert panel.picture.image == b""


def test_clicks_switch_outlines_and_edges_and_nooks(panel: JobPanel) -> None:
    before = part(panel)
    hole = next(one["id"] for one in panel.picture.view["lines"] if one["role"] == "plug")
    mark(panel, tool="off", outline=hole, at=0)
    assert part(panel).edge_m < before.edge_m
    assert not panel.form[f"drawn.out.{hole}"].value
    mark(panel, tool="off", outline=hole, at=0)
    assert part(panel) == before
    mark(panel, tool="seen", outline=1, at=0)
    assert part(panel).line_m < before.line_m
    mark(panel, tool="seen", outline=1, at=0)
    mark(panel, tool="nook", x=0.0, y=0.0, near=5.0)
    assert part(panel).spots == before.spots + 1
    mark(panel, tool="nook", x=2.0, y=0.0, near=5.0)
    assert part(panel) == before


def test_a_corner_is_dragged_but_never_across_its_outline(panel: JobPanel) -> None:
    before, lines = part(panel), panel.picture.view["lines"]
    outer = next(one for one in lines if one["role"] == "outer")
    x, y = outer["stretches"][0]["points"][0]
    middle = np.mean([p for s in outer["stretches"] for p in s["points"]], axis=0)
    way = np.array([x, y]) - middle
    there = np.array([x, y]) + 4 * way / np.hypot(*way)
    mark(panel, tool="corner", outline=outer["id"], at=0, x=float(there[0]), y=float(there[1]))
    moved = part(panel)
    assert moved.area_m2 > before.area_m2
    far = middle - 4 * way
    mark(panel, tool="corner", outline=outer["id"], at=0, x=float(far[0]), y=float(far[1]))
    assert part(panel) == moved
    assert not panel.form.messages


def test_thickness_goes_into_mass(panel: JobPanel) -> None:
    before = part(panel).mass_kg
    panel.form.put("drawn.sheet", "6 mm")
    assert part(panel).mass_kg == pytest.approx(2 * before, rel=0.03)


def test_without_cards_two_clicks_and_a_length_give_a_first_guess(own: Path) -> None:
    scene = replace(bracket_scene(), camera=SMALL, cards=())
    jpeg(scene, own / "photos" / "no_cards.jpg")
    panel = JobPanel(Desk(own, read_only=False))
    panel.form.put("begun", "photo:no_cards.jpg")
    assert "cards" in panel.form.messages["drawn.length"]
    assert panel.picture.view["tools"] == ["mark"]
    _, _, wide, high = panel.picture.view["at"]
    for x, y in SMALL.project(np.array([(-100.0, 0.0, 3.0), (100.0, 0.0, 3.0)])) / SMALL.size:
        mark(panel, tool="mark", x=float(x * wide), y=float((1 - y) * high), near=5.0)
    panel.form.put("drawn.length", "200 mm")
    assert part(panel).edge_m == pytest.approx(2.337, rel=0.1)
    assert "first guess" in panel.form.state["drawn.said"]["text"]
    assert not panel.form.messages


def test_a_file_that_is_no_picture_is_told_beside_its_name(own: Path) -> None:
    (own / "photos" / "note.jpg").write_bytes(b"a note")
    panel = JobPanel(Desk(own, read_only=False))
    panel.form.put("begun", "photo:note.jpg")
    assert "picture" in panel.form.messages["begun"]
    assert "€" not in plain(panel.board.words_of("answers"))
