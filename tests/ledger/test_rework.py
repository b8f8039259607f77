"""Rework: a beta-binomial held to scipy's, and to simulated shops."""

import numpy as np
import pytest
from scipy import stats

from pricing.basis.facts import sources
from pricing.ledger.rework import beta_of, rework_rate, rework_rates
from pricing.shop.rates import Assumption
from pricing.shop.shop import Shop


def _share(low: float, likely: float, high: float) -> Assumption:
    return Assumption("reject.plain.casting", low, likely, high, "share", sources()["common_practice"], "", "", "")


GUESS = _share(0.03, 0.08, 0.20)


def test_the_belief_has_mean_and_spread_of_the_three_points() -> None:
    a, b = beta_of(GUESS)
    assert stats.beta(a, b).mean() == pytest.approx(GUESS.mean)
    width = GUESS.high - GUESS.low
    shape = 1 + 4 * (GUESS.likely - GUESS.low) / width, 1 + 4 * (GUESS.high - GUESS.likely) / width
    assert stats.beta(a, b).std() == pytest.approx(stats.beta(*shape, loc=GUESS.low, scale=width).std(), rel=1e-6)
    assert beta_of(_share(0.05, 0.05, 0.05)) == pytest.approx((2.5, 47.5))
    assert beta_of(_share(0.001, 0.001, 0.001)) == pytest.approx((0.05, 49.95))
    assert beta_of(_share(0.0, 0.0, 0.0)) == pytest.approx((0.005, 49.995)), "one in ten thousand at least"
    assert beta_of(_share(1.0, 1.0, 1.0)) == pytest.approx((49.995, 0.005))


def test_guess_and_log_join_as_a_conjugate_beta() -> None:
    rate = rework_rate("x", GUESS, [30, 40, 50], [1, 2, 3])
    a, b = beta_of(GUESS)
    assert (rate.tries, rate.failed, rate.clumping) == (126, 6, 1.0)
    assert rate.share == pytest.approx((a + 6, b + 120))
    assert rate.share.quantile(0.95) == pytest.approx(stats.beta(*rate.share).ppf(0.95))


@pytest.mark.parametrize("clumped", [False, True])
def test_intervals_keep_their_promise_even_when_failures_come_in_clumps(*, clumped: bool) -> None:
    draw, inside = np.random.default_rng(40), []
    for _ in range(400):
        share = float(np.clip(stats.beta(*beta_of(GUESS)).rvs(random_state=draw), 0.02, 0.3))
        parts = draw.integers(5, 40, 40)
        a, b = 12 * share, 12 * (1 - share)
        chance = draw.beta(a, b, 40) if clumped else np.full(40, share)
        again = a / (b - 1) if clumped else share / (1 - share)  # mean of p / (1 - p): failures for each part
        truth = again / (1 + again)
        failed = draw.negative_binomial(parts, 1 - chance)
        rate = rework_rate("x", GUESS, parts.tolist(), failed.tolist())
        inside.append(rate.share.quantile(0.05) < truth < rate.share.quantile(0.95))
    assert np.mean(inside) == pytest.approx(0.90, abs=0.05)


def test_jobs_are_sorted_by_finish_class_and_metal(shop: Shop) -> None:
    jobs = [
        {"job": "a", "on": "2026-01-01", "finish": "single", "substrate": "casting", "parts": 10, "wiped_parts": 0},
        {
            "job": "b",
            "on": "2026-02-01",
            "finish": "two_tone_wiped",
            "substrate": "wrought",
            "parts": 20,
            "wiped_parts": 20,
        },
        {"job": "c", "on": "2026-03-01", "finish": "unheard of", "substrate": "wrought", "parts": 5, "wiped_parts": 0},
    ]
    redone = [
        {"job": "a", "found": "after cure", "parts": 2},
        {"job": "b", "found": "before cure", "parts": 3},
        {"job": "b", "found": "after cure", "parts": 1},
    ]
    found = rework_rates(jobs, redone, shop.finishes, shop.assumptions)
    assert {key: (r.tries, r.failed) for key, r in found.items()} == {
        "reject.plain.casting": (12, 2),
        "reject.wiped.wrought": (21, 1),
        "spoil.wiped": (23, 3),
    }
    assert found["spoil.wiped"].first == "2026-02-01"
