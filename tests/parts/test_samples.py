"""The demo shop's drawings: what is kept is what the script makes, and it reads as designed."""

from math import pi
from pathlib import Path

import pytest

from pricing.basis.errors import BadInput
from pricing.parts.drawing import read_part_file
from pricing.parts.reading import Choices, DrawingReading
from tests.parts import make_samples


def sample(name: str, folder: Path = make_samples.FOLDER, **chosen: object) -> DrawingReading:
    return read_part_file(folder / name, 4.0, chosen=Choices(**chosen))  # type: ignore[arg-type]


@pytest.mark.parametrize("name", ["sign_letter_p.dxf", "shelf_bracket.dxf", "house_numbers_inch.dxf", "finial_mm.stl"])
def test_the_kept_file_is_the_made_one(name: str, tmp_path: Path) -> None:
    made = [path.name for path in make_samples.write(tmp_path)]
    assert made == sorted(path.name for path in make_samples.FOLDER.iterdir())
    units = "mm" if name.endswith("stl") else ""
    kept, fresh = (sample(name, folder, units=units).as_dict() for folder in (make_samples.FOLDER, tmp_path))
    for one, other in zip(kept["pieces"], fresh["pieces"], strict=True):
        for key in ("count", "spots", "plugs", "holes", "outlines"):
            assert one[key] == other[key]
        for key in ("area_m2", "edge_m", "line_m", "volume_m3", "width_mm", "height_mm", "depth_mm"):
            assert one[key] == pytest.approx(other[key], rel=1e-6)


def test_the_letter(tmp_path: Path) -> None:
    """P: stem 70 x 300, bowl 190 high with a half round end of 95, counter 80 high with one of 40."""
    one = sample("sign_letter_p.dxf").pieces[0]
    face = 70 * 300 + 55 * 190 + pi * 95**2 / 2 - (50 * 80 + pi * 40**2 / 2) - 2 * pi * 2.6**2
    border = (70 + 110 + 55 + 125 + 300) + pi * 95 + (2 * 50 + 80) + pi * 40 + 2 * 2 * pi * 2.6
    assert one.face_m2 * 1e6 == pytest.approx(face, rel=1e-9)
    assert one.line_m * 1e3 == pytest.approx(border, rel=1e-9)
    assert (one.spots, one.plugs, one.holes) == (3, 2, ((5.2, 2),))
    assert (one.width_mm, one.height_mm) == pytest.approx((220, 300), rel=1e-4)


def test_the_bracket_hides_its_wall_side() -> None:
    reading = sample("shelf_bracket.dxf")
    assert "Gaps closed: 1, the largest 0.08 mm; up to 0.2 mm are closed." in reading.notes
    front = sample("shelf_bracket.dxf", visible=frozenset({"FRONT"})).pieces[0]
    assert front.line_m * 1e3 == pytest.approx(30 + 100 * pi + 30 + 49.92, abs=0.1)  # the gap is on either layer
    with pytest.raises(BadInput, match=r"open by 0\.08 mm"):
        sample("shelf_bracket.dxf", gap_mm=0.05)


def test_the_sheet_of_house_numbers() -> None:
    assert any("--without 1" in note for note in sample("house_numbers_inch.dxf").notes)
    reading = sample("house_numbers_inch.dxf", without=frozenset({1}))
    plate, hook, washer = reading.pieces
    assert [(p.count, p.plugs) for p in reading.pieces] == [(3, 4), (2, 0), (8, 1)]
    assert washer.face_m2 * 1e6 == pytest.approx(pi * (1 - 0.4**2) * 25.4**2, rel=1e-9)
    assert (plate.width_mm, plate.height_mm) == pytest.approx((6 * 25.4, 9 * 25.4))
    hook_face = 4 * 1 + 1 * 1 + pi / 2 * (2**2 - 1)
    assert hook.face_m2 * 1e6 == pytest.approx(hook_face * 25.4**2, rel=1e-9)


def test_the_finial_reads_as_a_casting() -> None:
    reading = sample("finial_mm.stl", units="mm")
    part = reading.part(1, "finial", "aluminium", casting=True)
    assert part.height_mm == pytest.approx(160, rel=1e-4)
    assert 0.5 < part.mass_kg < 1.5
    assert part.edge_m * 1e3 == pytest.approx(2 * pi * (30 + 30 + 8), rel=0.01)
