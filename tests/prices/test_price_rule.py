"""Price points, first and each further, the sum of an order, minimum charge, rush, tax."""

from math import inf

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pricing.parts.job import Job
from pricing.prices.order_lines import merged
from pricing.prices.price_rule import (
    OrderLine,
    Tariff,
    order_price,
    printed_further,
    printed_minimum,
    round_each,
    round_up,
    times_listed,
)
from pricing.shop.shop import Shop
from tests.conftest import with_policy

quick = settings(max_examples=200, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
money = st.floats(0.01, 1e6)


@st.composite
def tariffs(draw: st.DrawFn) -> Tariff:
    each = draw(st.integers(1, 2000)) / 2
    return Tariff(each + draw(st.integers(0, 400)), each, draw(st.integers(0, int(2 * each))) / 2, 20)


kinds = st.lists(st.tuples(tariffs(), st.integers(1, 80)), min_size=1, max_size=5)


@quick
@given(prices=st.lists(money, min_size=1, max_size=20))
def test_rounding_is_the_same_for_arrays_monotone_and_never_down(shop: Shop, prices: list[float]) -> None:
    for rule in (round_up, round_each):
        together = np.asarray(rule(np.array(sorted(prices)), shop.policy))
        assert together.tolist() == [rule(price, shop.policy) for price in sorted(prices)]
        assert (np.diff(together) >= 0).all()
        assert (together >= np.array(sorted(prices)) - 1e-6).all()


@pytest.mark.parametrize(
    ("price", "printed"), [(49.2, 50.0), (50.0, 50.0), (50.01, 55.0), (300.0, 300.0), (300.01, 310.0), (6001.0, 6010.0)]
)
def test_the_border_of_a_price_point_belongs_to_the_finer_step(shop: Shop, price: float, printed: float) -> None:
    assert round_up(price, shop.policy) == printed
    assert [str(rule(0.0, shop.policy)) for rule in (round_up, round_each)] == ["0.0", "0.0"], "no minus nothing"


def order(shop: Shop, lines: list[tuple[Tariff, int]], **more: bool) -> float:
    found = order_price([OrderLine(*line) for line in lines], shop.policy, shop.currency, **more)  # type: ignore[arg-type]
    return float(found.printed)


def test_an_order_of_several_kinds_by_hand(shop: Shop) -> None:
    """Worked by hand: brackets 90 + 14, gates 195 + 120, 24 brackets and 2 gates, further kinds 10, rush 25 %."""
    policy = with_policy(shop, further_kind=10.0, minimum_charge=60.0, rush_surcharge=0.25).policy
    bracket, gate = Tariff(90.0, 14.0, 13.0, 20), Tariff(195.0, 120.0, 120.0, 20)
    # set-ups: bracket 76, gate 75; the larger once, 10 for the other kind
    by_hand = 76 + 10 + (20 * 14 + 4 * 13) + 2 * 120
    found = order_price([OrderLine(bracket, 24), OrderLine(gate, 2)], policy, "EUR")
    assert found.printed == by_hand == 658
    assert found.shared == 76 + 75 - 86
    assert found.tax == round(0.23 * 658, 2)
    rushed = order_price([OrderLine(bracket, 24), OrderLine(gate, 2)], policy, "EUR", rush=True, panel=32.0)
    assert rushed.printed == round((by_hand + 32) * 1.25, 2)
    small = order_price([OrderLine(Tariff(40.0, 5.0, 5.0, 20), 2)], policy, "EUR")
    assert (small.printed, small.to_minimum, small.at_minimum) == (60.0, 15.0, 1.0)


def test_tariffs_are_added_and_compared_number_by_number() -> None:
    one, more = Tariff(10.0, 4.0, 3.0, 20), Tariff(2.0, 5.0, 0.5, 20)
    assert one.plus(more) == Tariff(12.0, 9.0, 3.5, 20)
    assert one.plus(more, 3.0) == Tariff(16.0, 19.0, 4.5, 20)
    assert one.over(more) == Tariff(8.0, -1.0, 2.5, 20)
    assert one.most(more) == more.most(one) == Tariff(10.0, 5.0, 3.0, 20)
    assert [one.units(n) for n in (1, 20, 21, 30)] == [4.0, 80.0, 83.0, 110.0]
    assert [one.total(n) for n in (1, 20, 21)] == [10.0, 86.0, 89.0]


def test_the_price_the_owner_asks_in_place_of_the_list(shop: Shop) -> None:
    """By hand, 23 % tax: 658 by the list; asked 700, then 600, then what the list says."""
    policy = with_policy(shop, minimum_charge=60.0).policy
    listed = order_price([OrderLine(Tariff(658.0, 1.0, 1.0, 20), 1)], policy, "EUR")
    assert listed.times_listed == 1.0
    assert listed.asked(658.004, policy, "EUR") is listed, "the same to the cent"
    dearer = listed.asked(700.0, policy, "EUR")
    assert (dearer.net, dearer.tax, dearer.printed, dearer.apart) == (700.0, 161.0, 700.0, 42.0)
    assert dearer.times_listed == pytest.approx(700 / 658)
    less = dearer.asked(600.0, policy, "EUR")
    assert (less.printed, less.apart, less.times_listed) == (600.0, -58.0, pytest.approx(600 / 658))
    taxed = with_policy(shop, prices_include_tax=True, minimum_charge=60.0).policy
    printed = order_price([OrderLine(Tariff(200.0, 20.0, 20.0, 20), 1)], taxed, "EUR").asked(170.0, taxed, "EUR")
    assert (printed.printed, printed.net, printed.tax) == (209.1, 170.0, pytest.approx(39.1))
    assert printed.apart == pytest.approx(9.1)
    # so many times a price of the list, on a point: 40 x 1.5 = 60; with tax 40 x 1.3 x 1.23 = 63.96, up to 65
    assert times_listed(40.0, 1.5, policy) == 60.0
    assert times_listed(40.0, 1.3, taxed) == pytest.approx(65 / 1.23)


def test_who_meets_the_minimum_by_cents_and_who_orders_nothing(shop: Shop) -> None:
    policy = with_policy(shop, minimum_charge=60.0).policy
    found = order_price([OrderLine(Tariff(59.5, 1.0, 1.0, 20), np.array([1, 2]))], policy, "EUR")
    assert np.asarray(found.to_minimum).tolist() == [0.5, 0.0]
    assert np.asarray(found.at_minimum).tolist() == [1.0, 0.0]
    nothing = order_price([], policy, "EUR")
    assert (nothing.printed, nothing.lines, nothing.shared, nothing.at_minimum) == (60.0, 0.0, 0.0, 1.0)
    assert {type(one) for one in (nothing.printed, nothing.rush, nothing.tax, nothing.at_minimum)} == {float}


def test_without_a_charge_for_a_further_kind_each_pays_its_own_set_up(shop: Shop) -> None:
    alone = with_policy(shop, further_kind=None)
    assert printed_further(alone.policy) == inf
    lines = [(Tariff(90.0, 14.0, 14.0, 20), 3), (Tariff(100.0, 20.0, 20.0, 20), 2)]
    assert order(alone, lines) == (90 + 28) + (100 + 20)


def test_with_tax_in_the_prices_the_minimum_is_printed_with_it(shop: Shop) -> None:
    taxed = with_policy(shop, prices_include_tax=True)
    assert printed_minimum(taxed.policy) == round_up(100 * 1.23, taxed.policy)
    found = order_price([OrderLine(Tariff(200.0, 20.0, 20.0, 20), 1)], taxed.policy, "EUR")
    assert (found.printed, found.net, found.gross) == (200.0, round(200 / 1.23, 2), 200.0)
    assert found.tax == pytest.approx(200 - found.net)


def test_yen_have_no_cents(shop: Shop) -> None:
    found = order_price([OrderLine(Tariff(9001.0, 0.0, 0.0, 20), 1)], shop.policy, "JPY", rush=True)
    assert found.printed == round(9001 * 1.25)
    assert found.tax == float(int(found.tax))


@quick
@given(lines=kinds, at=st.integers(0, 4), rush=st.booleans())
def test_one_more_piece_never_lowers_a_total(shop: Shop, lines: list[tuple[Tariff, int]], at: int, rush: bool) -> None:
    at %= len(lines)
    more = [(tariff, n + (place == at)) for place, (tariff, n) in enumerate(lines)]
    assert order(shop, more, rush=rush) >= order(shop, lines, rush=rush) - 1e-9


@quick
@given(tariff=tariffs(), count=st.integers(1, 200))
def test_one_more_piece_never_raises_the_price_of_one(shop: Shop, tariff: Tariff, count: int) -> None:
    assert order(shop, [(tariff, count + 1)]) / (count + 1) <= order(shop, [(tariff, count)]) / count + 1e-9


@quick
@given(one=kinds, other=kinds, same=st.booleans())
def test_two_orders_are_never_cheaper_than_both_in_one(
    shop: Shop, one: list[tuple[Tariff, int]], other: list[tuple[Tariff, int]], same: bool
) -> None:
    if same:  # the second order repeats the first kind: the two become one line
        tariff, count = one[0]
        both = [(tariff, count + 3), *one[1:]]
        assert order(shop, one) + order(shop, [(tariff, 3)]) >= order(shop, both) - 1e-6
    assert order(shop, one) + order(shop, other) >= order(shop, [*one, *other]) - 1e-6


@quick
@given(tariff=tariffs(), counts=st.lists(st.integers(1, 300), min_size=1, max_size=9))
def test_many_orders_at_once_are_priced_as_one_by_one(shop: Shop, tariff: Tariff, counts: list[int]) -> None:
    together = order_price([OrderLine(tariff, np.array(counts, dtype=float))], shop.policy, "EUR")
    assert np.asarray(together.printed).tolist() == [order(shop, [(tariff, n)]) for n in counts]


def test_lots_of_one_part_are_one_kind_with_all_their_units(plates: Job) -> None:
    (lot,) = plates.lots
    other = lot.model_copy(update={"part": lot.part.model_copy(update={"mass_kg": 9.0})})
    lots = [one.model_copy(update={"quantity": n}) for one, n in ((lot, 4), (other, 2), (lot, 3))]
    assert [(one.part.mass_kg, one.quantity) for one in merged(lots)] == [(lot.part.mass_kg, 7), (9.0, 2)]
