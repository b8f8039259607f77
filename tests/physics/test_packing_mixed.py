"""Mixed loads: the exact plan against brute force, the closed form, and what must always hold."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pricing.basis.errors import BadInput
from pricing.physics.packing import HangingSpace, loads_alike, per_load_alike
from pricing.physics.packing_exact import fits_plane, load_oven
from pricing.physics.packing_mixed import Kind, Loading, first_fit, least_loads

SPACE = HangingSpace(
    rails=3, rail_mm=1000, rail_pitch_mm=400, depth_mm=1200, height_mm=1200, clearance_mm=50, hook_mm=100,
    mass_limit_kg=60, tiers=2,
)  # fmt: skip


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


def brute_force(space: HangingSpace, kinds: Sequence[Kind]) -> int:
    """Try every split of the parts into loads and every place in each load."""
    parts = [k for k in kinds for _ in range(k.count)]
    spots = list(product(range(space.rails), range(space.tiers)))

    def one_load(some: Sequence[Kind]) -> bool:
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
    """Give each part a load; loads are alike, so the first part of each comes in order."""
    found = []
    for owner in product(range(loads), repeat=parts):
        seen = list(dict.fromkeys(owner))
        if seen == sorted(seen):
            found.append(owner)
    return found


def works(space: HangingSpace, plan: Loading) -> None:
    """Check a plan rule by rule, and that every part hangs once."""
    kinds = {k.name: k for k in plan.kinds}
    for load in range(plan.loads):
        rows = [r for r in plan.rows if r.load == load]
        parts, places = [], []
        for row in rows:
            k = kinds[row.name]
            assert k.may_turn or not row.turned
            size = (k.depth_mm, k.width_mm) if row.turned else (k.width_mm, k.depth_mm)
            parts += [(*size, k.height_mm, k.mass_kg)] * row.pieces
            places += [(row.rail, row.tier)] * row.pieces
        assert rows
        assert hangs(space, parts, places)
        assert len({kinds[row.name].cure for row in rows}) == 1
    for kind in plan.kinds:
        assert sum(r.pieces for r in plan.rows if r.name == kind.name) == kind.count


small_spaces = st.builds(
    HangingSpace, rails=st.integers(1, 2), rail_mm=st.integers(400, 1000), rail_pitch_mm=st.integers(200, 400),
    depth_mm=st.integers(500, 900), height_mm=st.integers(500, 1200), clearance_mm=st.integers(0, 40),
    hook_mm=st.integers(0, 60), mass_limit_kg=st.integers(20, 60), tiers=st.integers(1, 2),
)  # fmt: skip


def kinds_of(most: int, kinds: int) -> st.SearchStrategy[list[Kind]]:
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
            Kind(name=f"k{i}", count=n, width_mm=w, depth_mm=d, height_mm=h, mass_kg=m, may_turn=turn)
            for i, (n, w, d, h, m, turn) in enumerate(many)
        ]
    )


def fitting(space: HangingSpace, kinds: list[Kind]) -> list[Kind]:
    """Leave out kinds that do not fit this space at all."""
    good = []
    for kind in kinds:
        try:
            least_loads(space, [kind])
        except BadInput:
            continue
        good.append(kind)
    return good


few = st.lists(
    st.tuples(
        st.integers(120, 400), st.integers(20, 200), st.integers(100, 500), st.integers(4, 22), st.booleans()
    ),
    min_size=3, max_size=5,
).map(
    lambda many: [
        Kind(name=f"k{i}", count=1, width_mm=w, depth_mm=d, height_mm=h, mass_kg=m, may_turn=turn)
        for i, (w, d, h, m, turn) in enumerate(many)
    ]
)  # fmt: skip


@settings(max_examples=120, deadline=None, derandomize=True)
@given(small_spaces, few)
def test_the_exact_plan_is_what_brute_force_finds(space: HangingSpace, kinds: list[Kind]) -> None:
    kinds = fitting(space, kinds)
    plan = load_oven(space, kinds, limit_s=20.0)
    works(space, plan)
    assert plan.proven
    assert plan.loads == brute_force(space, kinds)


def test_the_solver_finds_what_first_fit_and_the_bound_cannot_tell() -> None:
    """Masses of 8, 7, 7, 6, 6, 6 in loads of 20: first fit needs three, two do; at 19 the bound lies."""
    space = replace(SPACE, mass_limit_kg=20, rails=1, rail_mm=5000, tiers=1)
    kinds = [
        Kind(name=str(i), count=1, width_mm=100, depth_mm=50, height_mm=100, mass_kg=m)
        for i, m in enumerate([8, 7, 7, 6, 6, 6])
    ]
    assert first_fit(space, kinds, order="mass").loads == 3
    two = load_oven(space, kinds, limit_s=20.0)
    works(space, two)
    assert (two.loads, two.lower_bound) == (2, 2)
    sevens = [replace(kind, mass_kg=7) for kind in kinds[:5]]
    tight = replace(space, mass_limit_kg=18)
    assert least_loads(tight, sevens) == 2
    three = load_oven(tight, sevens, limit_s=20.0)
    assert (three.loads, three.lower_bound) == (3, 3)


spaces = st.builds(
    HangingSpace, rails=st.integers(1, 5), rail_mm=st.integers(500, 2500), rail_pitch_mm=st.integers(200, 500),
    depth_mm=st.integers(600, 2500), height_mm=st.integers(600, 2000), clearance_mm=st.integers(0, 60),
    hook_mm=st.integers(0, 100), mass_limit_kg=st.integers(30, 300), tiers=st.integers(1, 3),
)  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(spaces, kinds_of(30, 5))
def test_first_fit_works_and_is_never_under_the_bound(space: HangingSpace, kinds: list[Kind]) -> None:
    kinds = fitting(space, kinds)
    plan = first_fit(space, kinds)
    works(space, plan)
    assert plan.lower_bound <= plan.loads
    assert sum(plan.loads_of().values()) == pytest.approx(plan.loads)


@settings(max_examples=15, deadline=None, derandomize=True)
@given(spaces, kinds_of(12, 3))
def test_a_bigger_oven_never_needs_more_loads(space: HangingSpace, kinds: list[Kind]) -> None:
    kinds = fitting(space, kinds)
    now = load_oven(space, kinds, limit_s=3.0)
    works(space, now)
    for name, more in (("rail_mm", 300), ("height_mm", 300), ("depth_mm", 200), ("mass_limit_kg", 50), ("tiers", 1)):
        bigger = load_oven(replace(space, **{name: getattr(space, name) + more}), kinds, limit_s=3.0)
        if now.proven and bigger.proven:
            assert bigger.loads <= now.loads
        assert bigger.lower_bound <= now.loads


@settings(max_examples=60, deadline=None)
@given(spaces, kinds_of(60, 1))
def test_one_kind_never_needs_more_loads_than_the_closed_form(space: HangingSpace, kinds: list[Kind]) -> None:
    for kind in fitting(space, kinds):
        per_load = per_load_alike(
            space, width_mm=kind.width_mm, depth_mm=kind.depth_mm, height_mm=kind.height_mm, mass_kg=kind.mass_kg,
            may_turn=kind.may_turn,
        )  # fmt: skip
        assert per_load > 0
        closed = loads_alike(kind.count, per_load)
        assert first_fit(space, [kind]).lower_bound <= closed
        if not kind.may_turn:
            assert first_fit(space, [kind]).loads >= closed


def test_jobs_of_one_cure_share_a_load_and_others_do_not() -> None:
    a = Kind(name="gate", count=2, width_mm=400, depth_mm=50, height_mm=900, mass_kg=10, job="A", cure="190 °C, 10 min")
    b = replace(a, name="frame", job="B")
    both = load_oven(SPACE, [a, b])
    assert (both.loads, both.proven) == (1, True)
    assert both.loads_of() == pytest.approx({"A": 0.5, "B": 0.5})
    apart = load_oven(SPACE, [a, replace(b, cure="170 °C, 5 min")])
    works(SPACE, apart)
    assert (apart.loads, apart.lower_bound) == (2, 2)
    assert apart.loads_of() == {"A": 1.0, "B": 1.0}
    assert load_oven(SPACE, []).loads == 0
    assert load_oven(SPACE, [replace(a, count=0)]).loads == 0


def test_inches_that_fit_exactly_are_not_lost_to_rounding() -> None:
    foot = Kind(name="panel", count=4, width_mm=304.8, depth_mm=25.4, height_mm=609.6, mass_kg=1.0)
    four_feet = replace(SPACE, rails=1, rail_mm=1219.2, clearance_mm=0.0, hook_mm=0.0, height_mm=609.6, tiers=1)
    assert load_oven(four_feet, [foot]).loads == 1


def test_time_that_runs_out_leaves_a_plan_and_an_honest_bound() -> None:
    hard = [
        Kind(name=f"p{i}", count=7 + i % 3, width_mm=137 + 31 * i, depth_mm=40, height_mm=300, mass_kg=1 + 0.37 * i)
        for i in range(12)
    ]
    plan = load_oven(replace(SPACE, mass_limit_kg=1e4, rails=2), hard, limit_s=1e-9)
    works(replace(SPACE, mass_limit_kg=1e4, rails=2), plan)
    assert plan.lower_bound <= plan.loads
    assert plan.loads == first_fit(replace(SPACE, mass_limit_kg=1e4, rails=2), hard).loads


def test_parts_that_do_not_fit_are_all_named() -> None:
    long, heavy = (
        Kind(name="rail", count=1, width_mm=3000, depth_mm=1300, height_mm=100, mass_kg=5),
        Kind(name="block", count=1, width_mm=300, depth_mm=100, height_mm=100, mass_kg=500),
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
    with pytest.raises(BadInput, match=r"name is 'rail'; it must be there once\."):
        load_oven(SPACE, [replace(long, width_mm=300, depth_mm=30)] * 2)
    with pytest.raises(BadInput, match=r"count is 2\.5; it must be a whole number, 0 or more"):
        replace(long, count=2.5)


@settings(max_examples=30, deadline=None)
@given(
    st.lists(st.tuples(st.integers(1, 4), st.integers(1, 4)), min_size=1, max_size=4),
    st.integers(2, 6),
    st.integers(2, 6),
)
def test_a_plane_holds_what_a_search_of_all_corners_finds(sides: list[tuple[int, int]], w: int, h: int) -> None:
    def place(left: list[tuple[int, int]], taken: frozenset[tuple[int, int]]) -> bool:
        if not left:
            return True
        (a, b), rest = left[0], left[1:]
        for x, y in product(range(w - a + 1), range(h - b + 1)):
            cells = frozenset(product(range(x, x + a), range(y, y + b)))
            if not cells & taken and place(rest, taken | cells):
                return True
        return False

    assert fits_plane(sides, w, h) is place(sides, frozenset())


def test_a_plane_may_turn_its_rectangles() -> None:
    assert fits_plane([(6, 2), (2, 6)], 6, 4) is False
    assert fits_plane([(6, 2), (2, 6)], 6, 4, may_turn=True) is True
