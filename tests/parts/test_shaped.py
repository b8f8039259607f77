"""Shapes by a tape: what they weigh and how they hang, whatever is typed; their sketch says every measure."""

import re

import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from pricing.basis.errors import BadInput
from pricing.basis.typed import read
from pricing.parts.part import density_kg_per_m3
from pricing.parts.shape_sketch import sketch
from pricing.parts.shaped import Shaped, asked, shape_of, titles
from pricing.physics.sections import frame
from pricing.physics.shapes import cut_sheet

STEEL = density_kg_per_m3("mild steel")


def begun(kind: str) -> dict[str, float]:
    """What a form begins with."""
    return {one.name: float(one.start) if one.counted else read(one.start, "mm") for one in asked()[kind]}


@pytest.mark.parametrize("kind", asked())
def test_a_form_begins_with_a_part_that_can_be(kind: str) -> None:
    part = Shaped(kind, begun(kind)).part("one", "mild steel")
    assert part.area_m2 > 0
    assert part.mass_kg == pytest.approx(STEEL * Shaped(kind, begun(kind)).shape.volume_m3)
    assert part.thickness_mm <= min(part.width_mm, part.height_mm, part.depth_mm)
    assert kind in titles()


@pytest.mark.parametrize("kind", asked())
def test_a_sketch_says_every_measure_that_a_form_asks_for(kind: str) -> None:
    measures = {name: value * 1.01 for name, value in begun(kind).items() if name not in {"spokes", "bars", "holes"}}
    measures |= {name: 4.0 for name in ("spokes", "bars", "holes") if name in begun(kind)}
    if "drill" in measures:
        measures["drill"] = 8.125
    if kind == "disc":
        measures["hole"] = 51.5
    told = sketch(Shaped(kind, measures), lambda mm: f"{mm:.5g} mm")
    text = " ".join(re.findall(r">([^<>]+)</text>", told))
    lost = [
        name
        for name, value in measures.items()
        if name not in {"spokes", "bars", "spoke", "holes"}
        if f"{value:.5g} mm" not in text
    ]
    if kind == "wheel":
        lost.remove("wall")
    if kind == "hollow section":
        assert f"{measures['height']:.5g} mm" in text
    assert not lost
    if "holes" in measures:
        assert "4 × 8.125 mm" in text


@settings(deadline=None, max_examples=60)
@given(st.floats(50, 3000), st.floats(50, 3000), st.floats(0.5, 20), st.integers(1, 30), st.floats(0.5, 8))
def test_a_drilled_plate_is_the_sheet_cut_so(wide: float, high: float, thick: float, holes: int, across: float) -> None:
    drilled = Shaped(
        "plate", {"width": wide, "height": high, "thickness": thick, "holes": holes, "drill": across}
    ).shape
    face = (wide * high - holes * 3.141592653589793 / 4 * across**2) * 1e-6
    round_m = (2 * (wide + high) + holes * 3.141592653589793 * across) * 1e-3
    same = cut_sheet(face, round_m, thickness_mm=thick, holes=holes)
    for name in ("area_m2", "volume_m3", "edge_m", "line_m", "holes"):
        assert getattr(drilled, name) == pytest.approx(getattr(same, name), rel=1e-9)


@settings(deadline=None, max_examples=40)
@given(st.floats(300, 3000), st.floats(300, 3000), st.floats(10, 60), st.floats(10, 60), st.integers(0, 3))
def test_a_frame_is_its_front_seen_as_a_polygon(wide: float, high: float, bar: float, deep: float, bars: int) -> None:
    """With walls of paper its corners are sharp: two faces and the walls round every outline, from shapely."""
    face = shapely.box(0, 0, wide, high)
    assume(bars * bar < wide - 2 * bar - 1)
    space = (wide - (bars + 2) * bar) / (bars + 1)
    for at in range(bars + 1):
        left = bar + at * (space + bar)
        face = face - shapely.box(left, bar, left + space, high - bar)
    made = frame(wide, high, bar_mm=bar, deep_mm=deep, wall_mm=1e-4, corner_factor=1.0, bars=bars)
    assert made.area_m2 == pytest.approx((2 * face.area + face.length * deep) * 1e-6, rel=1e-5)
    assert made.line_m == pytest.approx(face.length * 1e-3, rel=1e-9)


def test_a_long_tube_hangs_along_the_rail_or_upright() -> None:
    tube = {"outer": 48.0, "wall": 3.0, "length": 2000.0}
    assert Shaped("tube", tube).size_mm == (2000.0, 48.0, 48.0)
    assert Shaped("tube", tube, upright=True).size_mm == (48.0, 2000.0, 48.0)


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"kind": "plat"}, "shape.kind is 'plat'"),
        ({"kind": "plate", "width": "30 cm", "heigth": "8 in"}, "shape.heigth is 'not a measure'"),
        ({"kind": "plate", "width": "30 cm", "height": "8 in"}, "shape.thickness is 'missing'"),
        ({"kind": "wheel", "spokes": 2.5}, "shape.spokes is 2.5"),
        (
            {"kind": "plate", "width": "30 cm", "height": "8 in", "thickness": "3 mm", "holes": 4},
            "drill_mm is 0.0",
        ),
        (
            {"kind": "plate", "width": "30 cm", "height": "8 in", "thickness": "3 mm", "holes": 4, "drill": "30 cm"},
            "it must be smaller together than what they are cut into",
        ),
        (
            {"kind": "frame", "width": "1 m", "height": "7 cm", "bar": "4 cm", "deep": "4 cm", "wall": "3 mm"},
            "two tubes",
        ),
    ],
)
def test_what_is_wrong_with_a_shape_is_told(given: dict[str, object], told: str) -> None:
    with pytest.raises(BadInput) as caught:
        shape_of(given)
    assert told in str(caught.value)
