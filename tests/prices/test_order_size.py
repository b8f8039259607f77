"""A special colour: whole packs, leftovers, and the classic order sizes played out."""

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from scipy.special import ndtri

from pricing.basis.errors import BadInput
from pricing.costing.draws import Known, Sampler
from pricing.prices import stock
from pricing.prices.order_size import Pack, cheapest_packs, use_before_spoiling, ways_to_buy

PACKS = [Pack(1.0, 22.0), Pack(5.0, 70.0), Pack(20.0, 200.0)]


@given(st.floats(0.01, 30), st.lists(st.tuples(st.integers(1, 20), st.floats(1, 300)), min_size=1, max_size=3))
@settings(max_examples=60, deadline=None)
def test_packs_are_the_cheapest_of_all_ways(need: float, offers: list[tuple[int, float]]) -> None:
    packs = [Pack(float(kg), price) for kg, price in offers]
    order = cheapest_packs(need, packs)
    assert order.kg >= need - 1e-9
    assert order.leftover_kg == pytest.approx(order.kg - need)
    assert order.cost == pytest.approx(sum(pack.price * n for pack, n in order.packs))
    counts = [range(int(np.ceil(need / pack.kg)) + 1) for pack in packs]
    every = (
        sum(pack.price * n for pack, n in zip(packs, ns, strict=True))
        for ns in product(*counts)
        if sum(pack.kg * n for pack, n in zip(packs, ns, strict=True)) >= need - 1e-9
    )
    assert order.cost == pytest.approx(min(every))


@given(st.floats(0.1, 20), st.floats(0.1, 10), st.floats(0, 5), st.floats(0, 4))
def test_use_before_spoiling_is_the_mean_of_the_lesser(left: float, each: float, asked: float, keeps: float) -> None:
    jobs = np.arange(0, 400)
    expected = float((stats.poisson.pmf(jobs, asked * keeps) * np.minimum(jobs * each, left)).sum())
    assert use_before_spoiling(left, each_kg=each, asked_per_y=asked, keeps_y=keeps) == pytest.approx(
        expected, abs=1e-9
    )


def test_a_colour_never_asked_for_again_is_passed_on() -> None:
    ways = ways_to_buy(4.0, PACKS, asked_per_y=0.0, keeps_y=2.0)
    assert {way.name: way.charge for way in ways} == {"pass on": 70.0, "buy": 70.0, "stock": 200.0}
    assert all(way.at_risk == 0.0 for way in ways)


def test_a_colour_asked_for_often_is_stocked() -> None:
    ways = ways_to_buy(4.0, PACKS, asked_per_y=12.0, keeps_y=2.0)
    assert ways[0].name == "stock"
    # 16 kg are surely used later and save 14 a kg, the price in the pack that one job needs
    assert ways[0].charge == pytest.approx(200 - 16 * 14.0)
    assert ways[0].at_risk == pytest.approx(16 * 14.0)
    dear = ways_to_buy(4.0, PACKS, asked_per_y=12.0, keeps_y=2.0, interest_per_y=0.08)
    assert dear[0].charge == pytest.approx(200 - 16 * 14.0 + 16 * 10.0 * 0.08)
    assert "asked for again with a chance of 100%" in ways[0].because


def test_a_newsvendor_played_out_misses_the_mark_by_what_is_said() -> None:
    """Draw the season's demand; the cost of too few and too many comes to the stated mean."""
    policy = stock.newsvendor(3.0, 1.0, mean=100.0, sd=20.0)
    luck = np.asarray(Sampler(Known({}), 6).block(0, 120)["luck.demand"])
    demand = 100.0 + 20.0 * ndtri(luck)

    def missed(quantity: float) -> float:
        return float(np.mean(3.0 * np.maximum(demand - quantity, 0) + 1.0 * np.maximum(quantity - demand, 0)))

    assert missed(policy.quantity) == pytest.approx(policy.cost, rel=0.005)
    assert missed(policy.quantity) < min(missed(policy.quantity - 3), missed(policy.quantity + 3))
    skewed = stock.newsvendor_lognormal(4.0, 1.0, median=400.0, log_sd=0.3)
    demand = 400.0 * np.exp(0.3 * ndtri(luck))
    mean = np.mean(4.0 * np.maximum(demand - skewed.quantity, 0) + np.maximum(skewed.quantity - demand, 0))
    assert mean == pytest.approx(skewed.cost, rel=0.005)


@given(st.floats(10, 1e4), st.floats(1, 500), st.floats(0.01, 5))
def test_an_economic_order_is_the_lowest_of_its_cost(demand: float, setup: float, holding: float) -> None:
    policy = stock.economic_order(demand, setup, holding=holding)
    at = lambda q: setup * demand / q + holding * q / 2  # noqa: E731
    assert at(policy.quantity) == pytest.approx(policy.cost)
    assert at(policy.quantity * 1.01) >= policy.cost
    assert at(policy.quantity * 0.99) >= policy.cost
    assert stock.economic_order(demand, setup, holding=holding, backorder=1e12).quantity == pytest.approx(
        policy.quantity
    )


@given(st.floats(10, 5000), st.floats(1, 200), st.floats(0.05, 0.5))
def test_an_order_with_breaks_beats_a_grid(demand: float, setup: float, share: float) -> None:
    breaks = [(0.0, 10.0), (300.0, 9.0), (900.0, 8.5)]
    best = stock.economic_order_with_breaks(demand, setup, holding_share=share, breaks=breaks)
    for quantity in np.geomspace(1, 5000, 200):
        price = next(p for start, p in reversed(breaks) if quantity >= start)
        assert best.cost <= price * demand + setup * demand / quantity + share * price * quantity / 2 + 1e-6


def test_what_is_wrong_is_told() -> None:
    with pytest.raises(BadInput, match=r"need is -1; it must be above 0 kg\.\n  packs is 'none'"):
        cheapest_packs(-1, [])
    with pytest.raises(BadInput, match="at most 2,000 of the smallest pack"):
        cheapest_packs(1e6, PACKS)
    with pytest.raises(BadInput, match=r"breaks is .*; it must be quantities that rise from 0"):
        stock.economic_order_with_breaks(10, 1, holding_share=0.1, breaks=[(5, 1.0)])
    with pytest.raises(BadInput, match="sd is 0; it must be above 0"):
        stock.newsvendor(3, 1, mean=1, sd=0)
