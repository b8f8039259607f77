"""Jobs and items from files: right when right, and every slip told."""

from pathlib import Path
from typing import Any

import pytest

from pricing.basis.errors import BadInput
from pricing.costing.sheet import cost
from pricing.parts.items import Item, read_item_rows
from pricing.parts.job import job_of, read_job
from pricing.shop.shop import Shop
from tests.conftest import ROOT

GOOD: dict[str, Any] = {
    "title": "plates",
    "finish": "two_tone_wiped",
    "powders": ["jet black", "signal white"],
    "part": [
        {
            "name": "plate",
            "material": "mild steel",
            "quantity": 4,
            "width": "12 in",
            "height": "8 in",
            "depth": "3 mm",
            "shape": {"kind": "plate", "width": "12 in", "height": "8 in", "thickness": "3 mm"},
        }
    ],
}


def _with(**changes: Any) -> dict[str, Any]:
    part = {**GOOD["part"][0], **changes.pop("part", {})}
    return {**GOOD, "part": [{key: value for key, value in part.items() if value is not None}], **changes}


def _told(data: dict[str, Any], shop: Shop, items: dict[str, Item]) -> list[str]:
    with pytest.raises(BadInput) as caught:
        job_of(data, shop, items, where="job.toml")
    return [str(problem) for problem in caught.value.problems]


def test_every_demo_job_reads_and_costs(shop: Shop, items: dict[str, Item]) -> None:
    paths = sorted((ROOT / "data" / "jobs").glob("*.toml"))
    assert len(paths) >= 5
    for path in paths:
        assert cost(shop, read_job(path, shop, items)).total > 0


def test_a_shape_gives_area_edges_and_mass(shop: Shop, items: dict[str, Item]) -> None:
    """Plate 304.8 x 203.2 x 3 mm: 2(ab + bc + ca), 4 outlines of arris less none, 7850 kg/m³."""
    part = job_of(GOOD, shop, items, where="job").lots[0].part
    assert part.area_m2 == pytest.approx(2 * (0.3048 * 0.2032 + 0.3048 * 0.003 + 0.2032 * 0.003))
    assert part.edge_m == pytest.approx(2 * 2 * (0.3048 + 0.2032))
    assert part.mass_kg == pytest.approx(0.3048 * 0.2032 * 0.003 * 7850)


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        (
            {"finish": "two_tone_wipd"},
            "finish is 'two_tone_wipd'; it must be single, single_clear, two_tone_wiped,"
            " two_tone_masked or two_tone_clear. Did you mean 'two_tone_wiped'?",
        ),
        (
            {"powders": ["jet blak", "signal white"]},
            "powders is 'jet blak'; it must be signal white, jet black,"
            " graphite texture, sky blue, bright red, silver metallic, moss green or clear gloss. Did you mean 'jet black'?",
        ),
        (
            {"powders": ["jet black"]},
            "powders is '1 given'; it must be 2 powders. Two-tone, line wiped by hand takes 2:"
            " one for each colour, in the order of the coats.",
        ),
        ({"part": {"area": "-2 m2"}}, "part 1.area is '-2 m2'; it must be above 0 m² and at most 1000 m²."),
        (
            {"part": {"edge": "3 kg"}},
            "part 1.edge is '3 kg'; it must be a quantity in m. kg is not a unit of this kind. Write it like 12 m.",
        ),
        (
            {"part": {"edge": "1.250 m"}},
            "part 1.edge is '1.250 m'; it must be a quantity in m."
            " '1.250 m' can be read in two ways. Write '1.25 m' or '1250 m' for 1,250 m.",
        ),
        (
            {"part": {"material": "mild stel"}},
            "part 1.material is 'mild stel'; it must be mild steel, stainless steel, cast iron,"
            " aluminium, zinc, brass or copper. Did you mean 'mild steel'?",
        ),
        ({"part": {"quantity": 0}}, "part 1.quantity is 0; it must be a whole number, 1 or more."),
        ({"part": {"quantity": None}}, "part 1.quantity is 'missing'; it must be a whole number, 1 or more."),
        (
            {"part": {"name": "=HYPERLINK(1)"}},
            "part 1.name is '=HYPERLINK(1)'; it must be a name that does not begin"
            " with = + - @. A spreadsheet would run it; begin with a letter.",
        ),
        (
            {"part": {"item": "bench_ent"}},
            "part 1.item is 'bench_ent'; it must be an item of items.csv. Did you mean 'bench_end'?",
        ),
        (
            {"part": {"shape": {"kind": "plat"}}},
            "part 1.shape.kind is 'plat'; it must be plate, disc, tube, ring, box,"
            " cone, wheel, hollow section, frame or perforated sheet. Did you mean 'plate'?",
        ),
        (
            {"part": {"shape": {"kind": "disc", "outer": "50 mm", "hole": "60 mm", "thickness": "3 mm"}}},
            "part 1.shape: hole_mm is 60.0; it must be below 50. Measure it again.",
        ),
        (
            {"part": {"casting": True}},
            "part 1.record is 'as written'; it must be a casting of another material than"
            " mild steel. Write cast iron, aluminium or zinc.",
        ),
        ({"part": {"spots": 2.5}}, "part 1.spots is 2.5; it must be a whole number."),
        (
            {"titel": "x"},
            "titel is 'not a field'; it must be one of title, finish, powders, lots, alone, new_pair, rush,"
            " repeat, trade, own_powders, customer or note. Did you mean 'title'?",
        ),
    ],
)
def test_each_slip_gets_one_clear_message(
    changes: dict[str, Any], message: str, shop: Shop, items: dict[str, Item]
) -> None:
    assert message in _told(_with(**changes), shop, items)


def test_all_slips_are_told_at_once(shop: Shop, items: dict[str, Item]) -> None:
    data = _with(finish="x", powders=["y"], part={"quantity": -1, "edge": "3 kg", "material": "tin", "shape": None})
    fields = {text.split(" is ")[0] for text in _told(data, shop, items)}
    assert {"finish", "powders", "part 1.quantity", "part 1.edge", "part 1.material", "part 1.area"} <= fields


def test_a_part_larger_than_every_oven_is_refused_with_sizes(shop: Shop, items: dict[str, Item]) -> None:
    job = job_of(_with(part={"width": "9 ft", "height": "12 ft"}), shop, items, where="job")
    with pytest.raises(BadInput) as caught:
        cost(shop, job)
    assert str(caught.value) == (
        "plates needs mending:\n"
        "  plate is '2743 x 3658 x 3 mm, 1.5 kg'; it must be small enough for an oven (small oven takes 1200 x 1500 x 1200 mm,"
        " 220 kg; large oven takes 1800 x 2100 x 3000 mm, 700 kg). Turn it, split it, or send it out."
    )


def test_bad_items_are_told_by_line(shop: Shop, own: Path) -> None:
    path = own / "items.csv"
    text = path.read_text("utf-8")
    path.write_text(text.replace("0.052 m2", "-0.052 m2", 1).replace("two_tone_wiped", "two_tone", 1), "utf-8")
    with pytest.raises(BadInput) as caught:
        read_item_rows(path, shop)
    assert "line 2: area is '-0.052 m2'; it must be above 0 m² and at most 1000 m²." in [
        str(problem) for problem in caught.value.problems
    ]


def test_the_demo_list_covers_the_kinds_of_work(items: dict[str, Item]) -> None:
    assert len(items) >= 14
    for word in ("letter", "bench", "frame", "gate", "railing", "wheel"):
        assert any(word in key for key in items), word
    wheels = items["wheel_set"].part
    assert wheels.safety_critical
    assert wheels.heat_treated


def test_a_wrong_shape_is_told_without_the_fields_it_would_have_given(shop: Shop, items: dict[str, Item]) -> None:
    told = _told(_with(part={"shape": {"kind": "plate", "width": "12 in", "thickness": "3 mm"}}), shop, items)
    assert [problem.split(" is ")[0] for problem in told] == ["part 1.shape.height"]
