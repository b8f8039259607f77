"""Capacity: the best week, what an hour is worth, and what a rush pushes out."""

from dataclasses import replace
from itertools import combinations, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from pricing.basis.errors import BadInput
from pricing.costing.capacity import Resource, WantedWork, Week, plan_week, worth_now
from pricing.costing.learning import learned

A = WantedWork("gate", 100, 180.0, {"owner": 2.0, "oven": 1.0})
B = WantedWork("wheels", 100, 150.0, {"owner": 0.8, "oven": 1.6})
HOURS = {"owner": 30.0, "oven": 35.0, "booth": 40.0}


def tenths(low: int, high: int) -> st.SearchStrategy[float]:
    return st.integers(10 * low, 10 * high).map(lambda n: n / 10)


WORKS = st.lists(st.tuples(tenths(0, 20), tenths(-20, 300), tenths(0, 4), tenths(0, 4), tenths(0, 4)), max_size=6)


def week_of(rows: list[tuple[float, ...]], hours: dict[str, float] = HOURS) -> Week:
    works = [
        WantedWork(f"work {i}", wanted, earns, {"owner": owner, "oven": oven, "booth": booth})
        for i, (wanted, earns, owner, oven, booth) in enumerate(rows)
    ]
    return plan_week(works, hours)


def best_corner(works: tuple[WantedWork, ...]) -> float:
    """Try every corner of the programme: each work not taken, taken whole, or settled by hours that are full."""
    wanted, earns = np.array([w.wanted for w in works]), np.array([w.earns for w in works])
    hours = np.array([[w.hours[name] for w in works] for name in HOURS])
    there = np.array(list(HOURS.values()))
    best = 0.0
    for states in product("nwh", repeat=len(works)):
        state = np.array(states)
        settled = np.flatnonzero(state == "h")
        for full in combinations(range(len(HOURS)), len(settled)):
            taken = np.where(state == "w", wanted, 0.0)
            if len(settled):
                square = hours[np.ix_(full, settled)]
                if abs(np.linalg.det(square)) < 1e-9:
                    continue
                taken[settled] = np.linalg.solve(square, (there - hours @ taken)[list(full)])
            if np.all(taken >= -1e-9) and np.all(taken <= wanted + 1e-9) and np.all(hours @ taken <= there + 1e-7):
                best = max(best, float(earns @ taken))
    return best


@given(WORKS)
@settings(max_examples=40, deadline=None)
def test_the_best_week_is_the_best_corner(rows: list[tuple[float, ...]]) -> None:
    ours = week_of(rows)
    assert ours.earned == pytest.approx(best_corner(ours.works), rel=1e-6, abs=1e-6)


@given(WORKS)
@settings(max_examples=40, deadline=None)
def test_worth_of_hours_and_limits_hold_together(rows: list[tuple[float, ...]]) -> None:
    week = week_of(rows)
    value = sum(r.worth_per_h * r.hours for r in week.resources)
    for work in week.works:  # the dual programme: hours at their worth, plus what is left of wanted work
        hours_worth = sum(work.hours[r.name] * r.worth_per_h for r in week.resources)
        value += max(0.0, work.earns - hours_worth) * work.wanted
    assert value == pytest.approx(week.earned, rel=1e-6, abs=1e-5)
    for resource in week.resources:
        assert resource.used <= resource.hours * (1 + 1e-9) + 1e-9
        assert resource.worth_per_h == pytest.approx(0, abs=1e-7) or resource.full
        assert 0 <= resource.one_more_hour <= resource.worth_per_h + 1e-6  # each further hour earns no more
    assert all(-1e-9 <= taken <= work.wanted + 1e-9 for taken, work in zip(week.taken, week.works, strict=True))


def test_what_runs_out_first_and_how_work_ranks() -> None:
    week = plan_week([A, B], HOURS)
    assert week.runs_out_first() == ("owner", pytest.approx(280 / 30))
    assert week.scarce is not None
    assert week.scarce.name == "oven"
    assert [row.name for row in plan_week([A, B], {**HOURS, "oven": 1e9}).ranked()] == ["wheels", "gate"]
    assert [row.name for row in plan_week([A, B], {**HOURS, "owner": 1e9}).ranked()] == ["gate", "wheels"]
    # both scarce resources weighed by their worth: work that is taken earns just what its hours are worth
    assert [row.per_scarce_hour for row in week.ranked()] == pytest.approx([65.0, 65.0])
    poor = WantedWork("chair", 10, 20.0, {"owner": 1.0, "oven": 1.0})
    assert plan_week([A, B, poor], HOURS).ranked()[-1].name == "chair"


def test_a_week_with_hours_to_spare_has_no_scarce_hour() -> None:
    week = plan_week([WantedWork("gate", 3, 180.0, A.hours)], HOURS)
    assert week.scarce is None
    assert week.earned == pytest.approx(540)
    assert week.runs_out_first() == ("owner", pytest.approx(0.2))
    assert week.ranked()[0].per_scarce_hour == pytest.approx(90.0)
    assert plan_week([], HOURS).runs_out_first() == ("owner", 0.0)


def test_a_second_oven_and_a_helpers_day() -> None:
    week = plan_week([A, B], HOURS)
    assert week.with_hours({"oven": 1.0}).earned - week.earned == pytest.approx(65.0)
    assert week.with_hours({"oven": 40.0}).earned - week.earned < 65.0 * 40  # then the owner runs out
    assert week.with_hours({"owner": -30.0}).earned == pytest.approx(0.0)


def test_a_rush_job_costs_what_it_pushes_out() -> None:
    week = plan_week([A, B], HOURS)
    rush = week.rush(WantedWork("rush", 1, 100.0, {"owner": 2.0, "oven": 2.0}))
    assert rush.displaced == pytest.approx(2 * 57.5 + 2 * 65.0)
    assert rush.surcharge == pytest.approx(145.0)
    assert {name for name, _ in rush.left_out} <= {"gate", "wheels"}
    assert rush.left_out
    idle = plan_week([WantedWork("gate", 3, 180.0, A.hours)], HOURS).rush(WantedWork("rush", 1, 100.0, {"owner": 2.0}))
    assert (idle.displaced, idle.surcharge, idle.left_out) == (0.0, 0.0, ())


def test_what_is_wrong_is_told_all_at_once() -> None:
    bad = [WantedWork("gate", 1, 1.0, {}), WantedWork("gate", 1, 1.0, {})]
    with pytest.raises(BadInput) as caught:
        plan_week(bad, {"owner": 30.0, "oven": float("inf")})
    assert str(caught.value) == (
        "the week needs mending:\n"
        "  hours of oven is inf; it must be 0 or more.\n"
        "  work is 'gate'; it must be there once."
    )
    week = plan_week([A], HOURS)
    with pytest.raises(BadInput, match=r"resource is 'oben'; it must be owner, oven or booth\. Did you mean 'oven'"):
        week.with_hours({"oben": 1.0})
    with pytest.raises(
        BadInput, match=r"rush job big needs mending:\n  owner is '31\.0 h'; it must be at most 30\.0 h"
    ):
        week.rush(WantedWork("big", 1, 1.0, {"owner": 31.0}))


def test_learning_changes_what_is_repeated_piece_by_piece() -> None:
    book = {
        "coat.m2.hands": 4.0,
        "coat.coat.hands": 5.0,
        "coat.m2.supplies": 1.0,
        "rest.allowance": 0.1,
        "hang.part.hands": 2.0,
    }
    assert learned(book, 4, slope=0.9) == pytest.approx({"coat.m2.hands": 3.24, "hang.part.hands": 1.62})
    assert learned(book, 50, slope=1.0) == {"coat.m2.hands": 4.0, "hang.part.hands": 2.0}


@given(
    st.lists(st.tuples(tenths(0, 20), tenths(-20, 300), tenths(0, 4), tenths(0, 4)), min_size=1, max_size=5),
    tenths(0, 30),
    tenths(0, 30),
)
@settings(max_examples=40, deadline=None)
def test_the_programme_moves_hours_between_owner_and_helper(
    rows: list[tuple[float, ...]], owner: float, helper: float
) -> None:
    """Another solver with the helper's hours of each work as variables of their own."""
    works = [WantedWork(f"work {i}", w, e, {"owner": own}, either) for i, (w, e, own, either) in enumerate(rows)]
    ours = plan_week(works, {"owner": owner, "helper": helper})
    count = len(works)
    eye, none = np.eye(count), np.zeros(count)
    wanted, earns = np.array([w.wanted for w in works]), np.array([w.earns for w in works])
    own_h, either_h = np.array([w.hours["owner"] for w in works]), np.array([w.either for w in works])
    best = linprog(  # how many of each work, then the hours of each that the helper does
        np.concatenate([-earns, none]),
        A_ub=np.vstack(
            [
                np.hstack([-either_h * eye, eye]),
                np.concatenate([own_h + either_h, none - 1.0])[None, :],
                np.concatenate([none, none + 1.0])[None, :],
            ]
        ),
        b_ub=np.concatenate([none, [owner, helper]]),
        bounds=[*[(0, w) for w in wanted], *[(0, None)] * count],
        method="highs",
    )
    assert best.status == 0
    assert ours.earned == pytest.approx(-best.fun, rel=1e-6, abs=1e-6)
    used = {row.name: row.used for row in ours.resources}
    assert used["owner"] <= owner + 1e-6
    assert used["helper"] <= helper + 1e-6
    assert 0.0 <= ours.helped_share <= 1.0 + 1e-9


def test_one_more_helper_hour_is_worth_the_owner_hour_it_frees() -> None:
    week = plan_week([WantedWork("gate", 100, 100.0, {"owner": 1.0}, 1.0)], {"owner": 20.0, "helper": 5.0})
    assert week.earned == pytest.approx(1250.0)  # 12.5 gates: 25 hours of both
    assert {row.name: row.one_more_hour for row in week.resources} == pytest.approx({"owner": 50.0, "helper": 50.0})
    assert week.asked("helper") == 100.0
    assert week.asked("owner") == 195.0
    alone = plan_week(week.works, {"owner": 20.0})
    assert alone.earned == pytest.approx(1000.0)
    rush = week.rush(WantedWork("rush", 1, 10.0, {"owner": 1.0}, 2.0))
    assert rush.displaced == pytest.approx(150.0)


def test_hours_that_either_may_do_are_counted_by_hand() -> None:
    """A gate takes an owner's hour and one of either: 12.5 gates use up 20 owner's and 5 helper's hours."""
    gate = WantedWork("gate", 100, 100.0, {"owner": 1.0}, 1.0)
    week = plan_week([gate], {"owner": 20.0, "helper": 5.0, "oven": 0.0})
    assert week.taken == pytest.approx([12.5])
    assert (week.helped, week.helped_share) == pytest.approx((5.0, 0.4))
    assert [row.used for row in week.resources] == pytest.approx([20.0, 5.0, 0.0])
    assert [row.worth_per_h for row in week.resources] == pytest.approx([50.0, 50.0, 0.0])
    assert worth_now([gate], week.hours) == pytest.approx({"owner": 50.0, "helper": 50.0, "oven": 0.0})
    assert week.runs_out_first() == ("owner", pytest.approx(195 / 20))  # what the helper has no time for is the owner's
    assert week.asked("oven") == 0.0
    # a helper's hour is worth as much as the owner's: both hours of a gate count, and either's at the cheaper's
    assert week.ranked()[0].per_scarce_hour == pytest.approx(50.0)
    assert plan_week([gate._replace(wanted=0.0)], week.hours).helped_share == 0.0
    loss = WantedWork("gift", 1.0, -1.0, {"oven": 0.0})
    assert plan_week([gate, loss], week.hours).ranked()[-1].per_scarce_hour == 0.0  # takes none of it, earns nothing
    quick = plan_week([gate], {"owner": 20.0, "helper": 5.0}, one_more=False)
    assert [row.one_more_hour for row in quick.resources] == pytest.approx([50.0, 50.0])
    nearly = plan_week([gate._replace(wanted=12.6)], quick.hours)  # a tenth of a gate more is all that is wanted
    assert [row.one_more_hour for row in nearly.resources] == pytest.approx([10.0, 10.0])


def test_work_that_only_a_helper_does_runs_out_by_the_helpers_hours() -> None:
    works = [WantedWork("masking", 6.0, 10.0, {"owner": 1.0, "helper": 2.0}, 0.5)]
    week = plan_week(works, {"owner": 10.0, "helper": 4.0})
    assert week.asked("helper") == pytest.approx(6 * 2.5)
    assert week.asked("owner") == pytest.approx(6.0)  # the helper's four hours are more than either's three
    assert week.runs_out_first() == ("helper", pytest.approx(15 / 4))
    assert plan_week(works, {"owner": 10.0, "helper": 0.0}).runs_out_first() == ("helper", np.inf)
    assert plan_week([works[0]._replace(wanted=0.0)], {"owner": 0.0, "helper": 0.0}).runs_out_first() == ("", 0.0)


def test_a_resource_is_full_at_its_last_hour_and_scarce_when_one_more_earns() -> None:
    assert Resource("oven", 8.0, 8.0, 1.0, 1.0).full
    assert Resource("oven", 8.0, 8.0 * (1 - 1e-9), 1.0, 1.0).full
    assert not Resource("oven", 8.0, 7.99, 1.0, 1.0).full
    week = plan_week([A, B], HOURS)
    for worth, scarce in ((1e-9, False), (2e-9, True)):
        rows = (week.resources[0]._replace(one_more_hour=0.0), week.resources[1]._replace(one_more_hour=worth))
        assert (replace(week, resources=rows).scarce is not None) is scarce


def test_a_rush_that_needs_owner_and_helper_pushes_out_what_they_would_have_done() -> None:
    """Hours of either beyond the helper's are the owner's; just all of them fit, and no more."""
    gate = WantedWork("gate", 100, 100.0, {"owner": 1.0}, 1.0)
    week = plan_week([gate], {"owner": 20.0, "helper": 5.0})
    rush = week.rush(WantedWork("rush", 1, 130.0, {"owner": 12.0}, 13.0))
    assert rush.displaced == pytest.approx(1250.0)  # 25 hours of both: no gate is left
    assert rush.surcharge == pytest.approx(1120.0)
    assert rush.left_out == (("gate", pytest.approx(12.5)),)
    with pytest.raises(BadInput, match=r"owner is '20\.1 h'; it must be at most 20\.0 h"):
        week.rush(WantedWork("rush", 1, 130.0, {"owner": 12.0}, 13.1))
    only_either = WantedWork("rush", 1, 0.0, {}, 6.0)
    assert week.rush(only_either).displaced == pytest.approx(300.0)
