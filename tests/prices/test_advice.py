"""Advice on prices: held to exact answers of small problems, to what must be so, and to its own words."""

from collections.abc import Mapping

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from pricing.parts.items import Item
from pricing.prices.advice import advise, best_multiples, hours_worth, worth_of_hours
from pricing.prices.next_trial import best_for_all, next_trial
from pricing.prices.selling import Market, SoldLine, WinCurve
from pricing.prices.visible_rate import visible_rate
from pricing.prices.week import offers, read_week
from pricing.shop.shop import Shop
from pricing.show.advice_view import advice_of, advice_words, curve_of, rate_words, trial_words
from pricing.show.words import Words

SURE = WinCurve(2.2, -5.0, 1e-8 * np.eye(2), {}, 60)
UNSURE = WinCurve(2.2, -5.0, np.array([[0.4, -0.6], [-0.6, 1.4]]), {}, 60)


def line(name: str, price: float, orders: float, owner_h: float, cost: float = 0.0, cash: float = 10.0) -> SoldLine:
    return SoldLine(name, ("single-tone",), price, cost or price / 1.4, cash, orders, {"owner": owner_h}, 0.0, 0.0)


def market(times: float = 1.0, curve: WinCurve = SURE) -> Market:
    lines = (
        line("gate", 200.0, 4.0 * times, 3.0),
        line("sign", 400.0, 2.0 * times, 5.0, cash=60.0),
        line("frame", 120.0, 5.0 * times, 1.6),
    )
    return Market(lines, {"owner": 30.0}, curve)


def test_with_hours_to_spare_each_row_takes_the_price_that_leaves_most_by_scipy() -> None:
    now = market(0.1)
    curves = SURE.drawn(2, 1)
    grid = np.exp(np.linspace(-0.5, 0.5, 4001))
    found, _ = best_multiples(now, curves, grid, {"owner": 0.0})
    for row, by in zip(now.lines, found.tolist(), strict=True):

        def leaves(times: float, row: SoldLine = row) -> float:
            odds = SURE.level + SURE.slope * np.log(times * row.price / row.cost)
            return -(times * row.price - row.cash) / (1 + np.exp(-odds))

        assert by == pytest.approx(minimize_scalar(leaves, bounds=(0.6, 1.6), method="bounded").x, rel=1e-3)


def test_what_a_week_books_is_the_mean_over_random_weeks() -> None:
    """The normal loss against drawn orders: six weeks' work in six weeks' hours."""
    busy = market(1.1)
    draw = np.random.default_rng(4)
    orders = np.array([row.orders for row in busy.lines])
    hours = np.array([row.hours["owner"] for row in busy.lines])
    wanted = draw.poisson(6 * orders, (200_000, 3)) @ hours
    booked = np.minimum(wanted, 6 * 30.0).mean() / wanted.mean()
    assert float(busy.weeks(SURE.drawn(2, 1), np.ones(1)).booked[0, 0]) == pytest.approx(booked, abs=0.01)


@pytest.mark.parametrize("times", [0.6, 1.0, 1.5])
def test_taking_orders_by_the_worth_of_their_hours_is_near_the_exact_answer(times: float) -> None:
    """A stochastic knapsack: six weeks of hours, orders one by one at random; the optimum by dynamic programming."""
    now = market(times)
    curves = SURE.drawn(2, 1)
    worth = worth_of_hours(now, curves, np.ones(3), np.random.default_rng(1).random((60, 3)))
    slots, unit = 400, 0.2  # at most one order a slot; hours in fifths
    chance = np.array([6 * row.orders / slots for row in now.lines])
    needs = [round(row.hours["owner"] / unit) for row in now.lines]
    gains = [row.price - row.cash for row in now.lines]
    takes = [gain >= hours_worth(row, worth) for gain, row in zip(gains, now.lines, strict=True)]
    best = by_worth = np.zeros(round(6 * 30 / unit) + 1)
    for _ in range(slots):
        new, new_by = (1 - chance.sum()) * best, (1 - chance.sum()) * by_worth
        for share, need, gain, take in zip(chance, needs, gains, takes, strict=True):
            kept, kept_by = best.copy(), by_worth.copy()
            kept[need:] = np.maximum(best[need:], gain + best[:-need])
            if take:
                kept_by[need:] = gain + by_worth[:-need]
            new, new_by = new + share * kept, new_by + share * kept_by
        best, by_worth = new, new_by
    assert by_worth[-1] > 0.88 * best[-1], "one worth for six weeks, where the exact answer has one for each hour left"
    assert by_worth[-1] <= best[-1] + 1e-9


def test_a_fuller_week_asks_more_and_makes_an_hour_worth_more() -> None:
    found = [advise(market(times, UNSURE)) for times in (0.4, 1.0, 1.8)]
    assert found[0].multiple < found[1].multiple < found[2].multiple
    worth = [one.worth_per_h["owner"] for one in found]
    assert worth[0] < worth[1] < worth[2]
    assert worth[0] < 1.0, "who has time to spare loses nothing with an hour"
    for one in found:
        assert one.low <= one.multiple <= one.high
        assert all(row.low <= row.advised <= row.high for row in one.rows)
        assert one.booked > 0.85, "list, worth and hours agree"


def test_list_and_worth_agree_where_the_prices_are_as_advised() -> None:
    for times in (0.8, 1.35, 2.2):
        found = advise(market(times, UNSURE))
        assert found.apart < 0.3


def test_lost_enquiries_cost_their_minutes() -> None:
    free, dear = market(1.2), market(1.2)
    lines = tuple(row._replace(enquiry_h=0.5) for row in dear.lines)
    assert advise(Market(lines, dear.hours, SURE)).booked < 1
    curves = SURE.drawn(2, 1)
    with_it = Market(lines, dear.hours, SURE).weeks(curves, np.ones(1)).booked
    assert float(with_it[0, 0]) < float(free.weeks(curves, np.ones(1)).booked[0, 0])


def test_the_demo_shop_is_told_in_words(shop: Shop, items: Mapping[str, Item]) -> None:
    asked = offers(shop, read_week(shop, items))
    busy, slack = (advice_of(shop, asked, "no log", times) for times in (1.5, 0.4))
    told = " ".join(advice_words(Words(shop), busy))
    for words in ("aise the list by", "of 10 quotes more are lost", "a year leaves", "no quote yet", "a guess"):
        assert words in told
    assert "Your week is" in " ".join(advice_words(Words(shop), slack))
    curve = curve_of("no log", asked)
    usual = float(np.median([offer.price / offer.quote.cost for offer in asked]))
    assert 1 / (1 + np.exp(-(curve.level + curve.slope * np.log(usual)))) == pytest.approx(0.6, abs=0.01)
    assert all(row.least <= row.now * 1.7 for row in busy.rows)


def test_the_rate_to_carry_is_the_best_of_all_rates(shop: Shop, items: Mapping[str, Item]) -> None:
    few = {key: items[key] for key in ("sign_letter_300", "bicycle_frame", "gate_single", "garden_chair")}
    found = visible_rate(shop, few)
    assert found is not None

    def misses(per_h: float) -> float:
        return sum(((per_h * row.seen_h + row.powder) / row.listed - 1) ** 2 for row in found.rows)

    assert misses(found.per_h) <= min(misses(0.99 * found.per_h), misses(1.01 * found.per_h))
    assert all(row.by_rate == pytest.approx(found.per_h * row.seen_h + row.powder) for row in found.rows)
    assert all(row.seen_h > 0 for row in found.rows)
    assert "an hour, plus powder" in " ".join(rate_words(shop, found))


def test_the_multiple_for_all_weighs_each_curve_by_what_it_could_have() -> None:
    """By hand: 100 and 90 of 100, 1 and 2 of 2; shares add up to 1.5 and 1.9, amounts to 101 and 92."""
    assert best_for_all(np.array([[100.0, 90.0], [1.0, 2.0]])) == 1
    assert best_for_all(np.array([[100.0, 40.0], [1.5, 2.0]])) == 0


def test_a_trial_is_worth_what_its_twenty_quotes_would_change() -> None:
    """Against drawn outcomes: a curve, ten quotes at either end, and the advice that follows from what was won."""
    grid = np.array([1.0, 1.2, 1.4])
    left = np.array([[100.0, 80.0, 30.0], [60.0, 90.0, 110.0]])  # customers that mind the price, and such as do not
    won = np.array([[0.6, 0.3, 0.1], [0.6, 0.55, 0.5]])
    found = next_trial(left, won, grid, (1.0, 1.4), come_per_week=10.0)
    assert found is not None
    draw = np.random.default_rng(3)
    shares = left / left.max(axis=1, keepdims=True)
    true = draw.integers(0, 2, 40_000)
    at_low, at_high = (draw.binomial(10, won[true, end]) for end in (0, 2))
    fits = [
        (won[k, 0] ** at_low * (1 - won[k, 0]) ** (10 - at_low))
        * (won[k, 2] ** at_high * (1 - won[k, 2]) ** (10 - at_high))
        for k in (0, 1)
    ]
    then = np.argmax(np.stack(fits, axis=1) @ shares, axis=1)
    more = shares[true, then].mean() - shares.mean(axis=0).max()
    assert found.more_per_week == pytest.approx(105.0 * more, rel=0.05)
    assert found.costs == pytest.approx(2 * (85.0 - 75.0)), "two weeks of quotes; the middle price against both ends"


def test_trials_end_when_nothing_is_to_be_gained_and_go_on_where_the_best_lies_beyond_what_was_asked() -> None:
    asked = 1.4 * np.exp(np.random.default_rng(1).normal(0, 0.1, 60))
    far = WinCurve(*UNSURE[:-2], low=float(asked.min()), high=float(asked.max()))  # type: ignore[arg-type]
    found = advise(market(2.2, far))
    assert found.untried
    assert found.trial is not None
    assert found.trial.low <= found.multiple <= found.trial.high
    assert found.trial.high * 1.4 > asked.max()
    assert not advise(market(1.0, UNSURE)).untried
    assert advise(market(2.2, SURE)).trial is None


def test_the_next_trial_is_told_with_its_worth_or_that_none_is_needed(shop: Shop) -> None:
    found = advise(market(2.2, UNSURE))
    assert found.trial is not None
    told = trial_words(Words(shop), found)
    for words in (f"× {found.trial.low:.2f}", f"× {found.trial.high:.2f}", "next 20 quotes", "a year", "leaves about"):
        assert words in told
    sure = advise(market(2.2, SURE))
    assert "hardly change the advice" in trial_words(Words(shop), sure)
