"""Rates from logs: intervals keep their promise, typos do no harm, overruns are paid."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from pricing.basis.errors import BadInput
from pricing.ledger.fit import Assumptions, Guess, assumptions, belief_of, fit_step
from pricing.ledger.predict import predict
from tests.benchmarks.ledger import GUESSES, held, make, ours

GUESS = Guess("line_m", 2.0, 3.0, 6.0)
BLANK = Assumptions(
    scatter_gsd=1.4,
    scatter_jobs=1e-9,
    scatter_fade=1.5,
    guess_width_sd=1e-3,
    guess_df=1e9,
    odd_share=1e-12,
    odd_rows=1e12,
    odd_gsd=5.0,
    odd_doubt=0.0,
    odd_centre_rows=2.0,
    odd_spread_rows=4.0,
    absurd_factor=1e9,
)
"""A calibration that believes nothing before it reads the log, and takes no row for odd."""
ONE = np.array([[1.0]])


def _log(
    draw: np.random.Generator, jobs: int, median: float = 3.0, gsd: float = 1.4, odd: float = 0.0
) -> tuple[np.ndarray, np.ndarray]:
    metres = draw.uniform(0.5, 4.0, jobs)
    minutes = metres * median * np.exp(np.log(gsd) * draw.standard_normal(jobs))
    return np.where(draw.random(jobs) < odd, minutes * draw.uniform(3.0, 10.0, jobs), minutes), metres[:, None]


def _coverage(jobs: int, *, shops: int, odd: float, seed: int) -> float:
    """Chance that the 90 % interval of a shop holds its next job, over simulated shops.

    Each shop has a true rate drawn from the guess and a spread of its own; the chance is worked out in
    closed form for the true distribution, so that a few hundred shops are enough.
    """
    draw = np.random.default_rng([seed, jobs])
    belief = belief_of([GUESS], assumptions(), jobs)
    inside = []
    for _ in range(shops):
        centre = belief.centre[0] + belief.spread[0] * draw.standard_normal()
        gsd = draw.uniform(1.25, 1.6)
        minutes, metres = _log(draw, jobs, np.exp(centre), gsd, odd)
        told = predict(fit_step(minutes, metres, [GUESS]), ONE, 0.9)
        low, high = np.log(told.low[0]) - centre, np.log(told.high[0]) - centre
        factor = np.concatenate([[0.0], np.log(np.linspace(3.0, 10.0, 200))])
        chance = np.concatenate([[1 - odd], np.full(200, odd / 200)])
        spread = np.log(gsd)
        inside.append(chance @ (stats.norm.cdf((high - factor) / spread) - stats.norm.cdf((low - factor) / spread)))
    return float(np.mean(inside))


@pytest.mark.parametrize("odd", [0.0, 0.02, 0.05])
@pytest.mark.parametrize("jobs", [5, 10, 30, 100])
def test_a_90_percent_interval_holds_90_percent_of_the_next_jobs(jobs: int, odd: float) -> None:
    assert _coverage(jobs, shops=600, odd=odd, seed=5) == pytest.approx(0.90, abs=0.02)


@pytest.mark.parametrize("off", [0.5, 2.5])
def test_the_promise_is_kept_where_the_guess_was_wrong(off: float) -> None:
    draw, inside = np.random.default_rng(8), []
    for _ in range(250):
        minutes, metres = _log(draw, 10, GUESS.mean * off)
        told = predict(fit_step(minutes, metres, [GUESS]), ONE, 0.9)
        ends = [np.log(x[0] / (GUESS.mean * off)) / np.log(1.4) for x in (told.low, told.high)]
        inside.append(stats.norm.cdf(ends[1]) - stats.norm.cdf(ends[0]))
    assert np.mean(inside) == pytest.approx(0.90, abs=0.02)


def test_rates_go_to_the_truth_as_the_log_grows() -> None:
    draw, errors = np.random.default_rng(11), []
    truth = np.array([4.0, 2.5])
    for jobs in (30, 300, 3000, 30_000):
        metres = draw.lognormal(0.0, 0.7, jobs)
        amounts = np.stack([np.ones(jobs), metres], axis=1)
        minutes = (amounts @ truth) * np.exp(0.3 * draw.standard_normal(jobs))
        fit = fit_step(minutes, amounts, [Guess("job", 2.0, 8.0, 20.0), Guess("line_m", 0.5, 1.0, 4.0)])
        errors.append(float(np.max(np.abs(np.log(fit.typical / truth)))))
        low, high = fit.rate_interval(0.999)
        assert ((low < truth) & (truth < high)).all()
    assert errors[3] < 0.02
    assert fit.state.scatter == pytest.approx(0.3, rel=0.02)
    assert fit.mean == pytest.approx(truth * np.exp(0.3**2 / 2), rel=0.02)


def test_the_mean_holds_the_overruns_and_the_typical_time_does_not() -> None:
    draw = np.random.default_rng(12)
    minutes, metres = _log(draw, 20_000, 3.0, 1.3, odd=0.05)
    fit = fit_step(minutes, metres, [GUESS])
    assert fit.typical[0] == pytest.approx(3.0, rel=0.01)
    true_mean = 3.0 * np.exp(np.log(1.3) ** 2 / 2) * (0.95 + 0.05 * 6.5)
    assert fit.mean[0] == pytest.approx(true_mean, rel=0.01)
    assert np.mean(fit.weight < 0.5) == pytest.approx(0.05, abs=0.005)


TYPOS = [10.0, 0.1, 60.0, 1 / 60, 100.0]


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("factor", TYPOS)
def test_one_typo_in_fifty_rows_moves_no_rate_by_more_than_5_percent(factor: float, seed: int) -> None:
    draw = np.random.default_rng(seed)
    metres = draw.lognormal(0.0, 0.7, 50)
    amounts = np.stack([np.ones(50), metres], axis=1)
    gsd = float(draw.uniform(1.2, 1.6))
    minutes = (amounts @ [4.0, 3.0]) * np.exp(np.log(gsd) * draw.standard_normal(50))
    guesses = [Guess("job", 2.0, 4.0, 8.0), GUESS]
    before = fit_step(minutes, amounts, guesses)
    row = int(draw.integers(50))
    minutes[row] *= factor
    after = fit_step(minutes, amounts, guesses)
    assert after.typical == pytest.approx(before.typical, rel=0.05)
    assert after.mean == pytest.approx(before.mean, rel=0.05)
    assert after.weight[row] < 0.5
    assert not after.counted[row]


def test_an_absurd_first_row_is_asked_about_and_a_confirmed_one_counts() -> None:
    minutes, metres = np.array([180.0]), np.array([[1.0]])
    alone = fit_step(minutes, metres, [GUESS])
    assert not alone.counted[0]
    assert alone.mean[0] == pytest.approx(GUESS.mean, rel=0.15)
    draw = np.random.default_rng(3)
    many, amounts = _log(draw, 40)
    many[7] *= 8.0
    aside = fit_step(many, amounts, [GUESS])
    confirmed = fit_step(many, amounts, [GUESS], confirmed=np.arange(40) == 7)
    assert not aside.counted[7]
    assert confirmed.counted.all()
    assert confirmed.mean[0] > 1.1 * aside.mean[0]
    assert confirmed.typical == pytest.approx(aside.typical)


def test_many_jobs_beat_a_guess_in_the_wrong_unit() -> None:
    minutes, metres = _log(np.random.default_rng(4), 8, 3.0 * 60)
    fit = fit_step(minutes, metres, [GUESS])
    assert fit.typical[0] == pytest.approx(180.0, rel=0.3)
    assert fit.counted.all()


def test_drivers_are_told_apart_where_the_log_allows() -> None:
    draw = np.random.default_rng(21)
    metres, spots = draw.lognormal(0, 0.8, 60), draw.lognormal(1, 0.8, 60)
    guesses = [GUESS, Guess("spot", 0.2, 0.4, 1.2)]
    noise = np.exp(0.25 * draw.standard_normal(60))
    apart = fit_step((4.0 * metres + 0.8 * spots) * noise, np.stack([metres, spots], axis=1), guesses)
    assert apart.told_apart.all()
    assert apart.typical == pytest.approx([4.0, 0.8], rel=0.2)
    tied = fit_step((4.0 * metres + 0.8 * 3 * metres) * noise, np.stack([metres, 3 * metres], axis=1), guesses)
    assert not tied.told_apart.any()
    whole = float(tied.typical @ [1.0, 3.0])
    assert whole == pytest.approx(4.0 + 2.4, rel=0.1), "what a whole job takes is known all the same"


def test_a_clean_log_agrees_with_the_textbook() -> None:
    minutes, metres = _log(np.random.default_rng(6), 25)
    logs = np.log(minutes / metres[:, 0])
    fit = fit_step(minutes, metres, [GUESS], take=BLANK)
    error = logs.std(ddof=1) / np.sqrt(25)
    low, high = stats.t.interval(0.95, 24, logs.mean(), error)
    assert fit.typical[0] == pytest.approx(np.exp(logs.mean()), rel=1e-6)
    assert [float(end[0]) for end in fit.rate_interval(0.95)] == pytest.approx([np.exp(low), np.exp(high)], rel=1e-4)


def test_a_clean_log_of_two_drivers_agrees_with_least_squares() -> None:
    from scipy.optimize import least_squares

    draw = np.random.default_rng(14)
    amounts = np.stack([np.ones(80), draw.lognormal(0, 0.8, 80)], axis=1)
    minutes = (amounts @ [5.0, 2.0]) * np.exp(0.3 * draw.standard_normal(80))
    fit = fit_step(minutes, amounts, [Guess("job", 2.0, 4.0, 8.0), GUESS], take=BLANK)
    found = least_squares(lambda beta: np.log(minutes) - np.log(amounts @ np.exp(beta)), [1.0, 1.0], xtol=1e-14)
    errors = np.sqrt(np.diag(np.linalg.inv(found.jac.T @ found.jac)) * 2 * found.cost / 78)
    assert np.log(fit.typical) == pytest.approx(found.x, abs=2e-3 * float(errors.min()) + 1e-4)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx(errors, rel=0.05)


def test_long_and_short_logs_run_into_each_other() -> None:
    """The polish of a long log starts at 6,000 rows; just below and above it the same rates come out."""
    draw = np.random.default_rng(15)
    minutes, metres = _log(draw, 6000, 3.0, 1.4, odd=0.03)
    below = fit_step(minutes[:5999], metres[:5999], [GUESS])
    above = fit_step(minutes, metres, [GUESS])
    assert above.typical[0] == pytest.approx(below.typical[0], rel=1e-3)
    assert above.covariance[0, 0] == pytest.approx(below.covariance[0, 0], rel=0.05)
    assert above.mean[0] == pytest.approx(below.mean[0], rel=5e-3)


@pytest.mark.slow
@pytest.mark.parametrize(("odd", "odd_kind"), [(0.05, "overruns"), (0.05, "typos"), (0.0, "overruns")])
def test_95_percent_intervals_of_40_rates_hold_the_truth_93_to_97_percent_of_the_time(
    odd: float, odd_kind: str
) -> None:
    inside = np.mean([held(make(seed, 40_000, odd=odd, odd_kind=odd_kind)) for seed in range(12)], axis=(0, 1))
    assert inside == pytest.approx([0.95, 0.95], abs=0.02), "set-ups and rates"


def test_a_table_of_many_rows_gives_the_same_fits_as_its_steps_one_by_one() -> None:
    made = make(3, 20_000)
    for step, fit in enumerate(ours(made)):
        rows = made.steps == step
        alone = fit_step(made.minutes[rows], made.amounts[rows], GUESSES[step])
        assert fit.typical == pytest.approx(alone.typical, rel=1e-9)
        assert fit.mean == pytest.approx(alone.mean, rel=1e-9)


@settings(max_examples=25, deadline=None)
@given(scale=st.floats(0.05, 20.0), seed=st.integers(0, 1000), jobs=st.integers(1, 40))
def test_feet_or_metres_give_the_same_minutes(scale: float, seed: int, jobs: int) -> None:
    minutes, metres = _log(np.random.default_rng(seed), jobs)
    here = fit_step(minutes, metres, [GUESS])
    there = fit_step(minutes, metres * scale, [Guess("line_m", 2.0 / scale, 3.0 / scale, 6.0 / scale)])
    assert there.typical * scale == pytest.approx(here.typical, rel=1e-6)
    assert predict(there, ONE * scale).high == pytest.approx(predict(here, ONE).high, rel=1e-6)


def test_no_job_leaves_the_guess_and_its_mean() -> None:
    fit = fit_step(np.empty(0), np.empty((0, 1)), [GUESS])
    assert fit.mean[0] == pytest.approx(GUESS.mean)
    told = predict(fit, np.array([[2.0]]))
    assert told.low[0] < 2 * GUESS.low < 2 * GUESS.high < told.high[0] * 1.5


def test_what_cannot_be_fitted_is_refused_in_words() -> None:
    with pytest.raises(BadInput, match=r"minutes is 0\.0; it must be above 0\. Strike the row or correct it\."):
        fit_step(np.array([3.0, 0.0]), np.ones((2, 1)), [GUESS])
    with pytest.raises(BadInput, match=r"amounts is -1\.0; it must be 0 or more"):
        fit_step(np.array([3.0]), np.array([[-1.0]]), [GUESS])
    with pytest.raises(BadInput, match=r"amounts is 0; it must be above 0 for at least one driver"):
        fit_step(np.array([3.0]), np.array([[0.0]]), [GUESS])
    with pytest.raises(BadInput, match=r"amounts is '2 x 1'; it must be 3 x 1 numbers"):
        fit_step(np.ones(3), np.ones((2, 1)), [GUESS])
    with pytest.raises(BadInput, match=r"guess of spot is \(3, 2, 1\); it must be above 0 with low <= likely <= high"):
        fit_step(np.ones(1), np.ones((1, 1)), [Guess("spot", 3, 2, 1)])
