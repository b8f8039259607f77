"""Break-even: every turn found, jumps named, whole loads kept, and no answer said in words."""

from math import ceil

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pricing.basis.errors import BadInput
from pricing.prices import cost_volume_profit as monthly
from pricing.prices.break_even import solved_break_even, whole_break_even


@given(st.floats(1, 500), st.floats(0.1, 50), st.floats(1, 600))
@settings(max_examples=60, deadline=None)
def test_a_straight_gain_breaks_even_where_algebra_says(fixed: float, slope: float, price: float) -> None:
    found = solved_break_even(lambda x: price - fixed - slope * x, "wiping", unit="min/m", low=0, high=20)
    expected = (price - fixed) / slope
    if 0 < expected < 20:
        assert found.value == pytest.approx(expected, rel=1e-9, abs=1e-9)
        assert not found.turns[0].pays_above
        assert not found.turns[0].jump
    elif expected > 20:
        assert found.turns == ()
        assert found.pays_at_low
        assert "pays at every wiping" in found.say()
    elif expected < 0:
        assert found.turns == ()
        assert found.say("EUR") == (
            f"No wiping from 0 min/m to 20 min/m reaches it: even at 0 min/m it is {fixed - price:.2f} EUR short."
        )


def test_a_price_that_just_covers_the_cost_is_the_cost() -> None:
    found = solved_break_even(lambda price: price - 123.45, "price", unit="EUR", low=0, high=1000)
    assert found.value == pytest.approx(123.45, rel=1e-12)
    assert found.say() == "By price, it pays from 123.5 EUR up."


def test_two_turns_are_both_told() -> None:
    found = solved_break_even(lambda x: 4 - (x - 5) ** 2, "speed", unit="m/min", low=0, high=10)
    assert [turn.value for turn in found.turns] == pytest.approx([3.0, 7.0])
    assert [turn.pays_above for turn in found.turns] == [True, False]
    assert found.value is None
    assert found.best_at == pytest.approx(5, abs=0.01)
    assert found.say() == "By speed, it pays from 3 m/min up and up to 7 m/min."


def test_a_peak_between_two_points_that_are_looked_at_has_both_its_turns() -> None:
    """1,025 points from 0 to 1,024: whole numbers, of which one alone pays."""
    found = solved_break_even(lambda x: 0.6 - abs(x - 50.0), "x", unit="", low=0, high=1024)
    assert [turn.value for turn in found.turns] == pytest.approx([49.4, 50.6])
    assert (found.best_at, found.best_gain) == (50.0, pytest.approx(0.6))


def test_a_tooth_is_a_rise_however_small() -> None:
    each = {1: 10.0, 2: 10.05, 3: 10.05, 4: 9.0}
    found = whole_break_even(lambda _: 1.0, lambda n: each[n], "batch", most=4)
    assert found.teeth == (2,)


def test_a_hundred_thousand_numbers_are_the_most() -> None:
    found = whole_break_even(lambda n: n - 99_999.0, lambda _: 1.0, "batch", least=0, most=99_999)
    assert found.runs == ((99_999, 99_999),)
    with pytest.raises(BadInput, match="a range of at most 100,000 numbers"):
        whole_break_even(lambda _: 1.0, lambda _: 1.0, "batch", least=0, most=100_000)


def test_a_jump_is_named() -> None:
    loads = lambda area: 10 + 30 * np.ceil(area / 4 - 1e-12)  # noqa: E731
    found = solved_break_even(lambda area: 55 - loads(area), "area", unit="m²", low=0.1, high=10)
    assert found.value == pytest.approx(4, rel=1e-9)
    assert found.turns[0].jump
    assert found.say() == "By area, it pays up to 4 m² (a jump: one more whole load or pack)."


def test_a_jump_from_a_point_at_which_nothing_is_left_is_named_too() -> None:
    found = solved_break_even(lambda x: np.where(x <= 5.0, 0.0, -30.0), "x", unit="", low=0, high=10)
    assert [(turn.value, turn.pays_above, turn.jump) for turn in found.turns] == [(5.0, False, True)]


def test_a_turn_on_a_point_that_is_looked_at_is_exact() -> None:
    found = solved_break_even(lambda x: x - 5.0, "x", unit="", low=0, high=10)
    assert found.value == 5.0


def test_a_bad_range_is_told() -> None:
    with pytest.raises(
        BadInput, match=r"wiping is '5 to 5'; it must be a range that rises\. Give the lower end first\."
    ):
        solved_break_even(lambda x: x, "wiping", unit="min/m", low=5, high=5)
    with (
        np.errstate(divide="ignore"),
        pytest.raises(BadInput, match=r"reject rate is 1\.0; it must be a value that can be"),
    ):
        solved_break_even(lambda p: 5 - 1 / (1 - p), "reject rate", unit="", low=0, high=1)
    with pytest.raises(BadInput, match="batch is '3 to 2'; it must be a range of at most 100,000 numbers"):
        whole_break_even(lambda n: n, lambda n: n, "batch", most=2, least=3)


def cost(n: int) -> float:
    return 35 + 22 * n + 40 * ceil(n / 12)


def test_saw_teeth_of_whole_loads_are_kept() -> None:
    found = whole_break_even(lambda n: 30 * n - cost(n), lambda n: cost(n) / n, "batch size", most=40)
    assert found.runs == ((10, 12), (15, 40))
    assert (found.first, found.always_from) == (10, 15)
    assert found.teeth == (13, 25, 37)
    assert found.say("EUR") == (
        "By batch size, it pays from 10 to 12 and from 15 on (looked at up to 40). "
        "At 13 a new load or pack begins and the gain is gone again."
    )


@pytest.mark.parametrize(
    ("load", "least", "most", "ends"),
    [
        (36.0, 1, 30, "up to 30). At 5, 9, 13 and 17 a new load or pack begins and the gain is gone again."),
        (36.0, 1, 14, "up to 14). At 5, 9 and 13 a new load or pack begins and the gain is gone again."),
        (35.0, 10, 24, "up to 24). At 13 and 17 a new load or pack begins and the gain is gone again."),  # 21 is even
        (10.0, 1, 14, "By batch size, it pays from 1 on (looked at up to 14)."),  # teeth, but none that bites
    ],
)
def test_four_teeth_at_most_are_named_of_those_that_take_the_gain(
    load: float, least: int, most: int, ends: str
) -> None:
    """10 a piece and so much for each load of four, sold at 20: by 36 a load the gain is gone at 5, 9, 13, 17, 21, 25."""
    total = lambda n: 10 * n + load * ceil(n / 4)  # noqa: E731
    found = whole_break_even(lambda n: 20 * n - total(n), lambda n: total(n) / n, "batch size", least=least, most=most)
    assert found.say().endswith(ends)


@given(st.integers(1, 60), st.floats(0, 100), st.floats(0, 30), st.integers(1, 15), st.floats(0, 80), st.floats(1, 60))
@settings(max_examples=60, deadline=None)
def test_a_scan_is_exact(most: int, fixed: float, each: float, load: int, oven: float, price: float) -> None:
    total = lambda n: fixed + each * n + oven * ceil(n / load)  # noqa: E731
    found = whole_break_even(lambda n: price * n - total(n), lambda n: total(n) / n, "batch", most=most)
    pays = [n for n in range(1, most + 1) if price * n - total(n) >= 0]
    told = [n for first, last in found.runs for n in range(first, last + 1)]
    assert told == pays
    assert found.first == (pays[0] if pays else None)
    if found.always_from is not None:
        assert set(range(found.always_from, most + 1)) <= set(pays)


def test_no_batch_reaches_it() -> None:
    found = whole_break_even(lambda n: 20 * n - cost(n), lambda n: cost(n) / n, "batch size", most=60)
    assert found.say("EUR") == f"No batch size up to 60 reaches it: even at 60 each costs {cost(60) / 60:.2f} EUR."
    assert (found.first, found.always_from) == (None, None)


MIX = [monthly.Sold("frame", 120.0, 70.0, 20), monthly.Sold("gate", 260.0, 150.0, 10)]


def test_a_month_adds_up() -> None:
    month = monthly.month(MIX, 1400.0)
    assert month.contribution == pytest.approx(70.0)
    assert month.contribution_ratio == pytest.approx(2100 / 5000)
    assert month.break_even_quantity == pytest.approx(20.0)
    assert month.break_even_sales == pytest.approx(1400 / 0.42)
    assert month.margin_of_safety == pytest.approx(1 / 3)
    assert month.profit == pytest.approx(700.0)
    assert month.say("jobs", "EUR") == (
        "20 jobs of this mix pay the fixed costs; planned are 30, of which 33% may fall away. Left over: 700 EUR."
    )
    few = monthly.month(MIX, 2800.0)
    assert few.say("jobs", "EUR") == (
        "40 jobs of this mix pay the fixed costs; planned are 30, which would have to grow by 33%. Left over: -700 EUR."
    )


def test_a_mix_without_contribution_never_breaks_even() -> None:
    month = monthly.month([monthly.Sold("frame", 60.0, 70.0, 20)], 100.0)
    assert month.break_even_quantity == float("inf")
    assert "No number of jobs breaks even" in month.say()


def test_bad_months_are_told() -> None:
    with pytest.raises(BadInput, match=r"frame: price is -1; it must be 0 or more\."):
        monthly.month([monthly.Sold("frame", -1, 0, 1)], 0)
    with pytest.raises(BadInput, match="mix is 'empty'; it must be at least one line with a quantity"):
        monthly.month([], 0)
    with pytest.raises(BadInput, match=r"contribution is -5\.0; it must be above 0"):
        monthly.break_even_quantity(100.0, -5.0)


def test_a_gain_of_nothing_on_a_point_that_is_looked_at_still_pays() -> None:
    falling = solved_break_even(lambda x: 5.0 - x, "x", unit="", low=0, high=10)
    rising = solved_break_even(lambda x: x - 5.0, "x", unit="", low=0, high=10)
    assert [(turn.value, turn.pays_above) for turn in falling.turns] == [(5.0, False)]
    assert [(turn.value, turn.pays_above) for turn in rising.turns] == [(5.0, True)]
    assert solved_break_even(lambda x: 0.0 - x, "x", unit="", low=0, high=10).pays_at_low


def test_a_jump_is_one_by_its_height_and_a_steep_line_is_none() -> None:
    steps = solved_break_even(
        lambda x: 3.0 if np.ndim(x) == 0 else np.where(x < 4.2, 3.0, -2.0), "x", unit="", low=0, high=10
    )
    assert steps.turns[0].jump
    assert steps.turns[0].value == pytest.approx(4.2, abs=1e-8)
    steep = solved_break_even(lambda x: 1e4 * (4.2 - x), "x", unit="", low=0, high=10)
    assert not steep.turns[0].jump
    assert steep.turns[0].value == pytest.approx(4.2, rel=1e-12)
