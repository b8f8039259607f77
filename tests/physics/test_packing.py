"""Alike loads: the closed form against hanging the parts one by one."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pricing.basis.errors import BadInput
from pricing.physics.packing import HangingSpace, per_load_alike

RACK = HangingSpace(
    rails=3,
    rail_mm=2000,
    rail_pitch_mm=400,
    depth_mm=1200,
    height_mm=1500,
    clearance_mm=50,
    hook_mm=100,
    mass_limit_kg=200,
    tiers=2,
)


def hang_one_by_one(space: HangingSpace, w: int, d: int, h: int, kg: int, *, turn: bool) -> int:
    """Hang parts until nothing more goes in; whole millimetres, no closed form."""
    best = 0
    for width, depth in {(w, d), (d, w)} if turn else {(w, d)}:
        along = 0
        while (along + 1) * width + along * space.clearance_mm <= space.rail_mm:
            along += 1
        middle = (space.rails - 1) / 2
        free = [(i - middle) * space.rail_pitch_mm for i in range(space.rails)]
        free = [x for x in free if abs(x) + depth / 2 + space.clearance_mm <= space.depth_mm / 2]
        used: list[float] = []
        for x in free:
            if not used or x - used[-1] >= depth + space.clearance_mm:
                used.append(x)
        tiers = 0
        while tiers < space.tiers and (tiers + 1) * (h + space.hook_mm) <= space.height_mm:
            tiers += 1
        count = 0
        while count < along * len(used) * tiers and (count + 1) * kg <= space.mass_limit_kg:
            count += 1
        best = max(best, count)
    return best


sizes = st.integers(10, 1500)
spaces = st.builds(
    HangingSpace,
    rails=st.integers(1, 6),
    rail_mm=st.integers(300, 3000),
    rail_pitch_mm=st.integers(100, 600),
    depth_mm=st.integers(700, 3000),
    height_mm=st.integers(300, 2500),
    clearance_mm=st.integers(0, 120),
    hook_mm=st.integers(0, 200),
    mass_limit_kg=st.integers(1, 500),
    tiers=st.integers(1, 3),
)


@settings(max_examples=300)
@given(spaces, sizes, sizes, sizes, st.integers(1, 60), st.booleans())
def test_closed_form_is_hanging_one_by_one(space: HangingSpace, w: int, d: int, h: int, kg: int, turn: bool) -> None:
    ours = per_load_alike(space, width_mm=w, depth_mm=d, height_mm=h, mass_kg=kg, may_turn=turn)
    assert ours == hang_one_by_one(space, w, d, h, kg, turn=turn)


@settings(max_examples=100)
@given(spaces, sizes, sizes, sizes)
def test_more_room_never_takes_fewer(space: HangingSpace, w: int, d: int, h: int) -> None:
    part = {"width_mm": w, "depth_mm": d, "height_mm": h, "mass_kg": 3.0}
    now = per_load_alike(space, **part)
    for more in ({"rail_mm": 500}, {"depth_mm": 300}, {"height_mm": 400}, {"mass_limit_kg": 50}, {"tiers": 1}):
        name, extra = next(iter(more.items()))
        assert per_load_alike(replace(space, **{name: getattr(space, name) + extra}), **part) >= now


def test_parts_that_do_not_fit_are_none() -> None:
    sizes = ((350.0, 600.0), (5000.0, 200.0), (90.0, 2000.0))
    assert [per_load_alike(RACK, width_mm=w, depth_mm=100.0, height_mm=h, mass_kg=4.0) for w, h in sizes] == [30, 0, 0]


def test_exact_fit_is_not_lost_to_rounding() -> None:
    space = replace(RACK, rail_mm=0.1 * 3 * 1000, clearance_mm=0.0, rails=1, tiers=1)
    assert per_load_alike(space, width_mm=0.1 * 1000, depth_mm=100, height_mm=1400, mass_kg=1.0, may_turn=False) == 3


def test_a_space_tells_every_problem_at_once() -> None:
    with pytest.raises(BadInput) as caught:
        replace(RACK, rails=0, clearance_mm=-5.0, mass_limit_kg=float("nan"))
    assert str(caught.value) == (
        "hanging space of an oven needs mending:\n"
        "  rails is 0; it must be above 0.\n"
        "  clearance_mm is -5.0; it must be 0 or more.\n"
        "  mass_limit_kg is nan; it must be above 0."
    )
