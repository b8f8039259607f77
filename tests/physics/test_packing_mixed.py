"""Mixed loads: against brute force, the closed form, and what must always hold."""

import os
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import replace
from itertools import product
from random import Random
from unittest.mock import patch

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pricing.basis.errors import BadInput
from pricing.physics import packing, packing_mixed
from pricing.physics.packing import HangingSpace, per_load_alike
from pricing.physics.packing_mixed import PartKind, least_loads, load_oven

SPACE = HangingSpace(
    rails=3,
    rail_mm=1000,
    rail_pitch_mm=400,
    depth_mm=1200,
    height_mm=1200,
    clearance_mm=50,
    hook_mm=100,
    mass_limit_kg=60,
    tiers=2,
)


def hangs(
    space: HangingSpace, parts: Sequence[tuple[float, float, float, float]], places: Sequence[tuple[int, int]]
) -> bool:
    """Check one arrangement of (width, depth, height, mass) parts in one load, rule by rule."""
    c = space.clearance_mm
    if sum(p[3] for p in parts) > space.mass_limit_kg:
        return False
    rails: dict[int, dict[int, list[tuple[float, float, float, float]]]] = {}
    for part, (rail, tier) in zip(parts, places, strict=True):
        rails.setdefault(rail, {}).setdefault(tier, []).append(part)
    deep = {}
    for rail, tiers in rails.items():
        if any(sum(p[0] for p in row) + (len(row) - 1) * c > space.rail_mm for row in tiers.values()):
            return False
        if sum(max(p[2] for p in row) + space.hook_mm for row in tiers.values()) > space.height_mm:
            return False
        deep[rail] = max(p[1] for row in tiers.values() for p in row)
        x = (rail - (space.rails - 1) / 2) * space.rail_pitch_mm
        if abs(x) + deep[rail] / 2 + c > space.depth_mm / 2:
            return False
    return all((deep[a] + deep[b]) / 2 + c <= abs(a - b) * space.rail_pitch_mm for a in deep for b in deep if a < b)


def brute_force(space: HangingSpace, kinds: Sequence[PartKind]) -> int:
    """Try every split of the parts into loads and every place in each load."""
    parts = [k for k in kinds for _ in range(k.count)]
    spots = list(product(range(space.rails), range(space.tiers)))

    def one_load(some: Sequence[PartKind]) -> bool:
        turns = product(*[(False, True) if k.may_turn else (False,) for k in some])
        for turn in turns:
            sizes = [
                (k.depth_mm, k.width_mm, k.height_mm, k.mass_kg)
                if t
                else (k.width_mm, k.depth_mm, k.height_mm, k.mass_kg)
                for k, t in zip(some, turn, strict=True)
            ]
            if any(hangs(space, sizes, places) for places in product(spots, repeat=len(some))):
                return True
        return False

    for loads in range(1, len(parts) + 1):
        for owner in combinations_of_owners(len(parts), loads):
            groups = [[p for p, o in zip(parts, owner, strict=True) if o == load] for load in range(loads)]
            if all(not g or one_load(g) for g in groups):
                return loads
    return 0


def combinations_of_owners(parts: int, loads: int) -> list[tuple[int, ...]]:
    """Work out each part a load; loads are alike, so the first part of each comes in order."""
    found = []
    for owner in product(range(loads), repeat=parts):
        seen = list(dict.fromkeys(owner))
        if seen == sorted(seen):
            found.append(owner)
    return found


def works(space: HangingSpace, every: Sequence[PartKind]) -> int:
    """Check a plan rule by rule, and that every part hangs once; give its loads."""
    plan = load_oven(space, every)
    kinds = {k.name: k for k in every}
    hung: dict[str, int] = {}
    for batch in plan.batches:
        parts, places = [], []
        for row in batch.rows:
            k = kinds[row.name.split(", ")[0]]  # kinds that differ in name only stand in one row
            assert k.may_turn or not row.turned
            size = (k.depth_mm, k.width_mm) if row.turned else (k.width_mm, k.depth_mm)
            parts += [(*size, k.height_mm, k.mass_kg)] * row.pieces
            places += [(row.rail, row.tier)] * row.pieces
            hung[row.name] = hung.get(row.name, 0) + batch.loads * row.pieces
        assert batch.loads > 0
        assert parts
        assert hangs(space, parts, places)
        assert len({kinds[row.name.split(", ")[0]].cure for row in batch.rows}) == 1
    assert hung == {name: sum(kinds[one].count for one in name.split(", ")) for name in hung}
    assert {one for name in hung for one in name.split(", ")} == {k.name for k in every if k.count}
    assert plan.lower_bound <= plan.loads
    return plan.loads


small_spaces = st.builds(
    HangingSpace,
    rails=st.integers(1, 2),
    rail_mm=st.integers(400, 1000),
    rail_pitch_mm=st.integers(200, 400),
    depth_mm=st.integers(500, 900),
    height_mm=st.integers(500, 1200),
    clearance_mm=st.integers(0, 40),
    hook_mm=st.integers(0, 60),
    mass_limit_kg=st.integers(20, 60),
    tiers=st.integers(1, 2),
)


def kinds_of(most: int, kinds: int) -> st.SearchStrategy[list[PartKind]]:
    one = st.tuples(
        st.integers(1, most),
        st.integers(100, 390),
        st.integers(20, 380),
        st.integers(100, 430),
        st.integers(2, 20),
        st.booleans(),
    )
    return st.lists(one, min_size=1, max_size=kinds).map(
        lambda many: [
            PartKind(name=f"k{i}", count=n, width_mm=w, depth_mm=d, height_mm=h, mass_kg=m, may_turn=turn)
            for i, (n, w, d, h, m, turn) in enumerate(many)
        ]
    )


def fitting(space: HangingSpace, kinds: list[PartKind]) -> list[PartKind]:
    """Leave out kinds that do not fit this space at all."""
    good = []
    for kind in kinds:
        try:
            load_oven(space, [kind])
        except BadInput:
            continue
        good.append(kind)
    return good


few = st.lists(
    st.tuples(st.integers(120, 400), st.integers(20, 200), st.integers(100, 500), st.integers(4, 22), st.booleans()),
    min_size=3,
    max_size=5,
).map(
    lambda many: [
        PartKind(name=f"k{i}", count=1, width_mm=w, depth_mm=d, height_mm=h, mass_kg=m, may_turn=turn)
        for i, (w, d, h, m, turn) in enumerate(many)
    ]
)


@settings(max_examples=120, deadline=None, derandomize=True)
@given(small_spaces, few)
def test_brute_force_finds_no_plan_below_the_bound_and_seldom_a_better_one(
    space: HangingSpace, kinds: list[PartKind]
) -> None:
    kinds = fitting(space, kinds)
    best = brute_force(space, kinds)
    assert least_loads(space, kinds) <= best <= works(space, kinds) <= best + 1


spaces = st.builds(
    HangingSpace,
    rails=st.integers(1, 5),
    rail_mm=st.integers(500, 2500),
    rail_pitch_mm=st.integers(200, 500),
    depth_mm=st.integers(600, 2500),
    height_mm=st.integers(600, 2000),
    clearance_mm=st.integers(0, 60),
    hook_mm=st.integers(0, 100),
    mass_limit_kg=st.integers(30, 300),
    tiers=st.integers(1, 3),
)


@settings(max_examples=300, deadline=None)
@given(spaces, kinds_of(60, 5), st.randoms(use_true_random=False))
def test_kinds_together_never_need_more_loads_than_apart(
    space: HangingSpace, kinds: list[PartKind], chance: Random
) -> None:
    kinds = fitting(space, kinds)
    together = works(space, kinds)
    assert together <= sum(load_oven(space, [kind]).loads for kind in kinds)
    sizes = {k: replace(k, name="", count=1) for k in kinds}  # kinds that differ in name only are one kind
    some = {size for size in dict.fromkeys(sizes.values()) if chance.random() < 0.5}
    parts = [[k for k in kinds if (sizes[k] in some) is those] for those in (True, False)]
    assert together <= sum(load_oven(space, part).loads for part in parts)


@settings(max_examples=300, deadline=None)
@given(spaces, kinds_of(60, 5), st.randoms(use_true_random=False))
def test_a_piece_more_never_needs_fewer_loads(space: HangingSpace, kinds: list[PartKind], chance: Random) -> None:
    kinds = fitting(space, kinds)
    loads = load_oven(space, kinds).loads
    for at, kind in enumerate(kinds):
        for less in {kind.count - 1, chance.randint(0, kind.count)}:
            fewer = [*kinds[:at], replace(kind, count=less), *kinds[at + 1 :]]
            assert load_oven(space, fewer).loads <= loads


@settings(max_examples=60, deadline=None)
@given(spaces, kinds_of(9, 14))
def test_many_kinds_keep_the_same_promises(space: HangingSpace, kinds: list[PartKind]) -> None:
    kinds = fitting(space, kinds)
    loads = works(space, kinds)
    assert loads <= sum(load_oven(space, [kind]).loads for kind in kinds)
    for at in range(len(kinds)):
        assert load_oven(space, [*kinds[:at], *kinds[at + 1 :]]).loads <= loads


@settings(max_examples=100, deadline=None)
@given(spaces, kinds_of(60, 5), st.randoms(use_true_random=False))
def test_order_and_names_do_not_change_the_loads(space: HangingSpace, kinds: list[PartKind], chance: Random) -> None:
    kinds = fitting(space, kinds)
    loads = load_oven(space, kinds).loads
    shuffled = chance.sample(kinds, len(kinds))
    assert load_oven(space, shuffled).loads == loads
    halves = [replace(k, name=f"{k.name}{half}", count=n) for k in kinds for half, n in enumerate(halved(k.count))]
    assert load_oven(space, halves).loads == loads


def halved(count: int) -> tuple[int, int]:
    return count // 2, count - count // 2


@settings(max_examples=200, deadline=None)
@given(spaces, kinds_of(60, 1))
def test_one_kind_needs_the_loads_of_the_closed_form(space: HangingSpace, kinds: list[PartKind]) -> None:
    for kind in fitting(space, kinds):
        per_load = per_load_alike(
            space,
            width_mm=kind.width_mm,
            depth_mm=kind.depth_mm,
            height_mm=kind.height_mm,
            mass_kg=kind.mass_kg,
            may_turn=kind.may_turn,
        )
        assert works(space, [kind]) == -(-kind.count // per_load)


def test_the_plan_is_the_same_in_another_process() -> None:
    kinds = [
        PartKind(name=f"p{i}", count=7 + i % 3, width_mm=137 + 31 * i, depth_mm=40, height_mm=300, mass_kg=1 + 0.37 * i)
        for i in range(12)
    ]
    tell = f"from pricing.physics.packing_mixed import *; print(load_oven({SPACE!r}, {kinds!r}))"
    told = [
        subprocess.run(
            [sys.executable, "-c", f"from pricing.physics.packing import *; {tell}"],
            capture_output=True,
            text=True,
            check=True,
            env={**os.environ, "PYTHONHASHSEED": seed},
        ).stdout.strip()
        for seed in ("1", "2")
    ]
    assert told == [repr(load_oven(SPACE, kinds))] * 2


def test_a_hundred_thousand_parts_are_planned_without_counting_them_out() -> None:
    kinds = [
        PartKind(
            name=f"p{i}", count=100_000 - i, width_mm=100 + 31 * i, depth_mm=40, height_mm=300, mass_kg=0.37 * (i + 1)
        )
        for i in range(5)
    ]
    assert works_in_steps(kinds) < 10_000


def works_in_steps(kinds: Sequence[PartKind]) -> int:
    """Plan in a counted number of attempts to fill a load."""
    tried = 0

    def counting(space: HangingSpace, parts: packing.Runs) -> packing.Hung | None:
        nonlocal tried
        tried += 1
        return packing.hang(space, parts)

    with patch.object(packing_mixed, "hang", counting):
        plan = load_oven(SPACE, kinds)
    assert plan.loads >= plan.lower_bound
    assert len(plan.batches) < 20
    return tried


def test_a_kind_hangs_beside_another_that_leaves_room() -> None:
    """Deep frames leave rails free: gates hang there, so that they need no load of their own."""
    space = HangingSpace(
        rails=4,
        rail_mm=1080,
        rail_pitch_mm=300,
        depth_mm=1200,
        height_mm=1440,
        clearance_mm=60,
        hook_mm=100,
        mass_limit_kg=220,
        tiers=3,
    )
    frames = PartKind(name="frame", count=6, width_mm=1050, depth_mm=420, height_mm=720, mass_kg=14)
    gates = PartKind(name="gate", count=18, width_mm=1000, depth_mm=50, height_mm=1200, mass_kg=22)
    assert [works(space, [kind]) for kind in (frames, gates)] == [6, 5]
    assert works(space, [frames, gates]) == 6
    assert works(space, [frames, replace(gates, count=19)]) == 7
    assert works(space, [frames, replace(gates, count=18 + 12)]) == 6 + 3  # the rest by itself, four to a load


def test_jobs_of_one_cure_share_a_load_and_others_do_not() -> None:
    a = PartKind(name="gate", count=2, width_mm=400, depth_mm=50, height_mm=900, mass_kg=10, cure="190 °C, 10 min")
    b = replace(a, name="frame")
    both = load_oven(SPACE, [a, b])
    assert (both.loads, both.proven) == (1, True)
    assert works(SPACE, [a, replace(b, cure="170 °C, 5 min")]) == 2
    assert load_oven(SPACE, []).loads == load_oven(SPACE, []).lower_bound == 0
    assert load_oven(SPACE, [replace(a, count=0)]).loads == 0


def test_inches_that_fit_exactly_are_not_lost_to_rounding() -> None:
    foot = PartKind(name="panel", count=4, width_mm=304.8, depth_mm=25.4, height_mm=609.6, mass_kg=1.0)
    four_feet = replace(SPACE, rails=1, rail_mm=1219.2, clearance_mm=0.0, hook_mm=0.0, height_mm=609.6, tiers=1)
    assert load_oven(four_feet, [foot]).loads == 1


def test_parts_that_do_not_fit_are_all_named() -> None:
    long, heavy = (
        PartKind(name="rail", count=1, width_mm=3000, depth_mm=1300, height_mm=100, mass_kg=5),
        PartKind(name="block", count=1, width_mm=300, depth_mm=100, height_mm=100, mass_kg=500),
    )
    with pytest.raises(BadInput) as caught:
        load_oven(SPACE, [long, heavy])
    assert str(caught.value) == (
        "oven load needs mending:\n"
        "  rail is '3000 x 1300 x 100 mm, 5 kg'; it must be small and light enough for the oven. "
        "Take another oven, take it apart, or hang it another way.\n"
        "  block is '300 x 100 x 100 mm, 500 kg'; it must be small and light enough for the oven. "
        "Take another oven, take it apart, or hang it another way."
    )


def test_parts_of_one_drop_hang_beside_each_other_before_below() -> None:
    """Where a row has room for both, the tier below stays free."""
    ways = [packing.HangingWay(1, 0, 300.0, 250.0, 100.0, 1.0, turned=False, kind=kind) for kind in (0, 1)]
    hung = packing.hang(SPACE, [(way, 1) for way in ways])
    assert hung is not None
    assert {(rail, tier) for rail, tier, _, _ in hung} == {(0, 0)}


@pytest.mark.parametrize(
    ("space", "kinds", "loads"),
    [  # rails, rail, pitch, depth, height, clearance, hook, mass, tiers; count, width, depth, height, mass, may turn
        (
            (3, 800, 300, 700, 700, 0, 50, 40, 3),
            "4 300 300 200 5 0, 1 250 20 400 10 1, 4 250 100 200 5 0, 4 250 400 200 5 0",
            2,
        ),
        ((3, 400, 200, 900, 1200, 20, 0, 40, 1), "3 400 100 400 10 0, 1 400 300 200 1 0, 1 400 100 400 5 1", 2),
        (
            (5, 800, 200, 700, 1200, 0, 0, 20, 1),
            "4 100 200 600 10 0, 2 400 300 100 10 0, 4 400 500 100 10 1, 4 200 20 300 10 0",
            7,
        ),
        (
            (1, 500, 250, 1200, 900, 0, 50, 20, 3),
            "2 300 100 600 1 1, 3 200 500 400 1 1, 3 300 100 300 1 0, 1 300 500 600 5 0",
            3,
        ),
        ((1, 400, 300, 900, 900, 0, 0, 60, 1), "4 100 300 400 1 1, 1 200 400 100 10 0, 3 300 100 200 10 1", 3),
        ((5, 500, 200, 1500, 700, 0, 50, 20, 1), "1 200 100 400 1 1, 1 250 100 400 5 1, 1 300 500 200 1 1", 1),
        ((1, 500, 300, 1200, 900, 50, 50, 60, 1), "2 400 20 300 10 1, 2 400 100 600 1 0", 2),
        (
            (4, 600, 200, 1500, 1200, 20, 50, 40, 2),
            "1 200 100 200 1 1, 4 300 100 600 5 1, 2 250 500 200 1 0, 1 250 200 300 1 0",
            1,
        ),
        ((3, 400, 200, 1500, 900, 50, 0, 40, 2), "3 300 500 100 10 1, 4 250 20 600 5 1", 2),
        ((2, 500, 300, 900, 900, 0, 0, 20, 1), "3 250 300 300 1 1", 1),
    ],
)
def test_loads_that_no_plan_can_do_without_are_enough(space: tuple[int, ...], kinds: str, loads: int) -> None:
    """Each bound is of mass, rows or room alone, and the plan that reaches it is checked rule by rule."""
    rows = [[int(n) for n in row.split()] for row in kinds.split(", ")]
    parts = [
        PartKind(name=name, count=n, width_mm=w, depth_mm=d, height_mm=h, mass_kg=kg, may_turn=bool(turn))
        for name, (n, w, d, h, kg, turn) in zip("abcd", rows, strict=False)
    ]
    oven = HangingSpace(**dict(zip(HangingSpace.__slots__, space, strict=True)))
    assert (works(oven, parts), least_loads(oven, parts)) == (loads, loads)


def test_deep_parts_near_the_walls_need_the_loads_that_brute_force_finds() -> None:
    oven = HangingSpace(
        rails=5,
        rail_mm=600,
        rail_pitch_mm=200,
        depth_mm=700,
        height_mm=700,
        clearance_mm=20,
        hook_mm=0,
        mass_limit_kg=40,
    )
    size = {"height_mm": 100.0, "mass_kg": 1.0, "width_mm": 300.0}
    deep = PartKind(name="deep", count=1, depth_mm=300.0, **size)
    flat = PartKind(name="flat", count=4, depth_mm=200.0, may_turn=False, **size)
    assert works(oven, [deep, flat]) == brute_force(oven, [deep, flat])
