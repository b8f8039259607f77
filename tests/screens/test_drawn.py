"""Page 2 from a drawing: measures, picture, outlines switched off, and what is wrong beside its field."""

from pathlib import Path

import pytest

from pricing.parts.drawing import read_part_file
from pricing.screens.drawing_form import saved_drawings
from pricing.screens.panel_job import JobPanel
from pricing.show.desk import Desk
from tests.screens.texts import plain


@pytest.fixture
def panel(own: Path) -> JobPanel:
    panel = JobPanel(Desk(own, read_only=False))
    panel.form.put("begun", "drawing:sign_letter_p.dxf")
    return panel


def test_an_owners_folder_begins_with_the_sample_drawings(own: Path) -> None:
    assert set(saved_drawings(Desk(own))) >= {"sign_letter_p.dxf", "shelf_bracket.dxf", "finial_mm.stl"}


def test_the_part_is_what_the_reader_measured(panel: JobPanel, own: Path) -> None:
    piece = read_part_file(own / "drawings" / "sign_letter_p.dxf", 3.0).pieces[0]
    part = panel.job.lots[0].part
    assert (part.area_m2, part.edge_m, part.line_m) == (piece.area_m2, piece.edge_m, piece.line_m)
    assert panel.form["area_m2"].value == pytest.approx(piece.area_m2)
    assert "Price" in plain(panel.board.words_of("answers"))


def test_the_picture_is_shown_and_goes_with_another_start(panel: JobPanel) -> None:
    assert [one["role"] for one in panel.picture.view["lines"]].count("outer") == 1
    assert panel.picture.layout.display != "none"
    panel.form.put("begun", "item:bench_end")
    assert panel.picture.layout.display == "none"
    assert "drawn.sheet" not in panel.form


def test_an_outline_that_is_switched_off_no_longer_counts(panel: JobPanel) -> None:
    before, drawn = panel.job.lots[0].part, panel.picture.view
    holes = [field.key for field in panel.form if field.key.startswith("drawn.out.") and "hole" in field.label]
    assert holes
    panel.form.put(holes[0], given=False)
    after = panel.job.lots[0].part
    assert after.edge_m < before.edge_m
    assert panel.picture.view != drawn
    panel.form.put(holes[0], given=True)
    assert panel.job.lots[0].part == before


def test_a_thicker_sheet_weighs_more(panel: JobPanel) -> None:
    before = panel.job.lots[0].part.mass_kg
    panel.form.put("drawn.sheet", "1/4 in")
    assert panel.job.lots[0].part.mass_kg == pytest.approx(before * 6.35 / 3.0)
    assert panel.job.lots[0].part.thickness_mm == pytest.approx(6.35)


def test_switching_off_the_outside_is_told_and_no_price_is_shown(panel: JobPanel) -> None:
    outer = next(f.key for f in panel.form if f.key.startswith("drawn.out.") and "outline" in f.label)
    for key in [f.key for f in panel.form if f.key.startswith("drawn.out.")]:
        panel.form.put(key, given=False)
    assert panel.form.messages
    assert "€" not in plain(panel.board.words_of("answers"))
    panel.form.put(outer, given=True)
    assert not panel.form.messages


def test_a_drawing_without_units_asks_for_them(own: Path, tmp_path: Path) -> None:
    import ezdxf

    doc = ezdxf.new(units=0)
    doc.modelspace().add_lwpolyline([(0, 0), (10, 0), (10, 5), (0, 5)], close=True)
    doc.saveas(own / "drawings" / "no_units.dxf")
    panel = JobPanel(Desk(own, read_only=False))
    panel.form.put("begun", "drawing:no_units.dxf")
    assert "unit" in panel.form.messages["drawn.units"]
    panel.form.put("drawn.units", "in")
    assert panel.job.lots[0].part.width_mm == pytest.approx(127.0)
    assert not panel.form.messages


def mark(panel: JobPanel, **done: object) -> None:
    panel.picture.done = {**done, "n": panel.picture.heard + 1}


def test_edges_are_marked_and_corners_dragged_as_on_a_picture(panel: JobPanel) -> None:
    assert panel.picture.view["tools"] == ["off", "seen", "nook", "corner"]
    before = panel.job.lots[0].part
    outer = next(one for one in panel.picture.view["lines"] if one["role"] == "outer")
    assert len(outer["stretches"]) > 4
    mark(panel, tool="seen", outline=outer["id"], at=0)
    after = panel.job.lots[0].part
    assert after.line_m < before.line_m
    assert after.area_m2 == pytest.approx(before.area_m2)
    now = next(one for one in panel.picture.view["lines"] if one["role"] == "outer")
    assert [s["seen"] for s in now["stretches"]].count(False) == 1
    mark(panel, tool="seen", outline=outer["id"], at=0)
    assert panel.job.lots[0].part == before
    x, y = outer["stretches"][0]["points"][0]
    mark(panel, tool="corner", outline=outer["id"], at=0, x=x - 1.0, y=y + 1.0)
    moved = panel.job.lots[0].part
    assert moved.area_m2 != before.area_m2
    mark(panel, tool="corner", outline=outer["id"], at=0, x=x + 1e4, y=y + 30.0)
    assert panel.job.lots[0].part == moved
    panel.form.put("drawn.units", "mm")
    assert panel.job.lots[0].part == before


def test_a_mesh_is_only_looked_at(own: Path) -> None:
    panel = JobPanel(Desk(own, read_only=False))
    panel.form.put("begun", "drawing:finial_mm.stl")
    assert panel.picture.view["tools"] == []
