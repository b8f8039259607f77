"""What a fit is made of, and what is read off it: each figure worked out by hand or by scipy."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from pricing.basis.errors import BadInput
from pricing.ledger import fit as fits
from pricing.ledger import mixture, newton
from pricing.ledger.fit import Assumptions, Guess, StepFit, belief_of, fit_step
from pricing.ledger.intervals import LogNormal, mean_factor, trend_line
from pricing.ledger.mixture import Belief, MixtureRows, MixtureState, Read
from pricing.ledger.predict import predict

TAKE = Assumptions(
    scatter_gsd=float(np.exp(0.3)),
    scatter_jobs=3.0,
    scatter_fade=1.5,
    guess_width_sd=4.0,
    guess_df=5.0,
    odd_share=0.02,
    odd_rows=20.0,
    odd_gsd=float(np.exp(1.5)),
    odd_doubt=0.5,
    odd_centre_rows=2.0,
    odd_spread_rows=4.0,
    absurd_factor=10.0,
)
GUESS = Guess("part", 2.0, 4.0, 8.0)  # mean (2 + 16 + 8) / 6 = 13 / 3


def told(**changed: object) -> StepFit:
    """A fit of two rates, 2 and 5 minutes, of which everything is known."""
    plain = StepFit(
        guesses=(GUESS, GUESS),
        state=MixtureState(np.log([2.0, 5.0]), 0.5, 0.1, 1.2, 0.8),
        covariance=np.array([[0.04, 0.01], [0.01, 0.09]]),
        df=9.0,
        rows=12,
        weight=np.array([1.0, 0.8, 0.1]),
        residual=np.array([0.0, 0.1, 1.0]),
        counted=np.array([True, True, False]),
        learned=np.array([0.5, 0.6]),
    )
    return replace(plain, **changed)  # type: ignore[arg-type]


def test_a_guess_is_a_belief_on_the_log_scale() -> None:
    found = belief_of([GUESS, Guess("m2", 3.0, 3.0, 3.0)], TAKE, 3)
    assert found.centre == pytest.approx([np.log(13 / 3) - 0.045, np.log(3.0) - 0.045])  # the mean less 0.3^2 / 2
    assert found.spread == pytest.approx([np.log(4.0) / 4, 0.02])
    assert found.scatter_jobs == pytest.approx(3 * np.exp(-2.0)), "fades by e each job and a half"
    assert [*found[2:4], *found[5:]] == pytest.approx([5.0, 0.3, 0.02, 20.0, 1.5, 2.0, 4.0])
    for low, high in ((0.0, 8.0), (2.0, np.inf)):
        with pytest.raises(BadInput, match="guess of part is .*; it must be above 0 with low <= likely <= high"):
            belief_of([Guess("part", low, 4.0, high)], TAKE, 0)


def test_the_mean_job_counts_what_is_not_set_aside() -> None:
    steady = np.exp(0.125)  # scatter 0.5
    assert told().mean_factor == pytest.approx((1.8 * steady + 0.2 * np.exp(0.1)) / 2)
    assert told(counted=np.zeros(3, dtype=bool)).mean_factor == pytest.approx(steady)
    assert told().mean == pytest.approx(np.array([2.0, 5.0]) * told().mean_factor)


def test_what_is_read_off_a_fit() -> None:
    found = told()
    # 4 of rate 2 and 2 of rate 5: 8 and 10 of 18; 1 and 0: all of the first
    assert found.usual_mix(np.array([[4.0, 2.0], [1.0, 0.0]])) == pytest.approx([(8 / 18 + 1) / 2, (10 / 18) / 2])
    assert found.usual_mix(np.empty((0, 2))) == pytest.approx([0.5, 0.5])
    share = np.array([1.0, 0.0])
    one = told(covariance=np.diag([0.04, 0.09]))
    assert one.unsure(share) == pytest.approx(np.sqrt(0.04 + 0.0625 / 18))
    assert one.unsure(share, 3) == pytest.approx(np.sqrt(1 / (25 + 3 / 0.25) + 0.0625 / 24))
    low, high = found.rate_interval(0.9)
    half = 1.833113 * np.array([0.2, 0.3])  # Student's t, 9 degrees of freedom, 95 %: printed tables
    assert low == pytest.approx([2.0, 5.0] * np.exp(-half), rel=1e-6)
    assert high == pytest.approx([2.0, 5.0] * np.exp(half), rel=1e-6)


@pytest.mark.parametrize(
    ("correlation", "learned", "apart"),
    [(-0.89, [0.3, 0.9], [True, True]), (-0.91, [0.3, 0.9], [False, False]), (0.95, [0.29, 0.9], [False, True])],
)
def test_rates_are_apart_where_both_are_learned_and_not_only_their_sum(
    correlation: float, learned: list[float], apart: list[bool]
) -> None:
    cov = np.array([[0.04, correlation * 0.06], [correlation * 0.06, 0.09]])
    assert told(covariance=cov, learned=np.array(learned)).told_apart.tolist() == apart


def aside(residual: list[float], weight: list[float], confirmed: int = 0) -> list[bool]:
    rest = np.array(residual)
    seen = Read(rest, np.ones((1, len(residual))), np.array(weight), rest / 0.3, rest - 1.0)
    state = MixtureState(np.zeros(1), 0.3, 0.1, 1.0, 1.0)
    return fits._aside(seen, state, np.arange(len(residual)) < confirmed, TAKE).tolist()  # type: ignore[no-any-return]


def test_which_rows_wait_for_a_word_of_the_owner() -> None:
    """Ten times the typical time, log 2.302585, is absurd; five overruns show how far they go: 1 + 2.5 x 1."""
    assert aside([0.9, 0.0, 0.1], [0.4, 0.9, 0.5]) == [True, False, False], "a single one is"
    assert aside([0.9, 0.0, 0.1], [0.4, 0.9, 0.5], confirmed=1) == [False] * 3, "until he says that it was so"
    assert aside([0.9, 1.2, -1.5, 0.0], [0.4, 0.1, 0.1, 0.4]) == [False, False, True, True], "two come again"
    assert aside([0.9, 1.2, 2.303, 2.302], [0.1] * 4) == [False, False, True, False]
    assert aside([0.9, 1.2, 1.3, 3.49, 3.51], [0.1] * 5) == [False] * 4 + [True], "five show it"


def test_a_log_begins_at_its_middle() -> None:
    """By hand: median 2, deviations 2 1 0 2 8 of median 2, 1.4826 of it; the belief weighs as one job."""
    belief = Belief(np.zeros(1), np.ones(1), 5.0, 0.3, 3.0, 0.02, 20.0, 1.5, 2.0, 4.0)
    found = fits._begin(MixtureRows(np.array([0.0, 1.0, 2.0, 4.0, 10.0]), np.ones((1, 5))), belief)
    assert found.beta == pytest.approx([2.0])
    assert found.scatter == pytest.approx(np.sqrt((0.09 + 5 * 2.9652**2) / 6))
    assert found[2:] == (0.02, 0.0, 1.5)
    still = fits._begin(MixtureRows(np.full(5, 1.0), np.full((1, 5), 2.0)), belief._replace(scatter=0.0))
    assert (still.beta[0], still.scatter) == (pytest.approx(1.0 - np.log(2.0)), 0.05)


def test_without_a_job_the_belief_stands() -> None:
    found = fit_step(np.empty(0), np.empty((0, 2)), [GUESS, Guess("m2", 1.0, 2.0, 9.0)], take=TAKE)
    spread = np.log([4.0, 9.0]) / 4
    assert np.diag(found.covariance) == pytest.approx(spread**2 * 5 / 6)  # Student's t of 5 at its middle
    assert found.covariance[0, 1] == 0
    assert (found.df, found.rows) == (3.0, 0)
    assert found.learned == pytest.approx([0.0, 0.0], abs=1e-12)


def test_degrees_of_freedom_and_what_was_learned() -> None:
    minutes = np.exp(np.array([1.2, 1.5, 1.3, 1.9, 1.4, 1.6]))
    found = fit_step(minutes, np.ones((6, 1)), [GUESS], take=TAKE)
    pull = (found.state.beta[0] - np.log(13 / 3) + 0.045) / (np.log(4.0) / 4)
    prior = 6 / (5 + pull**2) / (np.log(4.0) / 4) ** 2
    evidence = found.weight.sum() / found.state.scatter**2
    by_hand = 3 * np.exp(-4.0) + found.weight.sum() - evidence / (evidence + prior)
    assert found.df == pytest.approx(by_hand, rel=1e-3)
    assert found.learned[0] == pytest.approx(1 - found.covariance[0, 0] * prior, rel=1e-9)
    assert found.residual == pytest.approx(np.log(minutes) - found.state.beta[0])
    assert fit_step(minutes[:1], np.ones((1, 1)), [GUESS], take=replace(TAKE, scatter_jobs=1e-9)).df == 1.0


def test_a_long_log_ends_where_all_its_rows_pull_alike(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fits, "_START_ROWS", 500)
    draw = np.random.default_rng(7)
    amounts = np.stack([np.ones(4000), draw.lognormal(0, 0.7, 4000)])
    logs = np.log(np.array([4.0, 2.5]) @ amounts) + 0.35 * draw.standard_normal(4000)
    rows = MixtureRows(logs + np.where(draw.random(4000) < 0.06, draw.uniform(1, 2.3, 4000), 0.0), amounts)
    belief = belief_of([GUESS, GUESS], TAKE, 4000)
    state, decided, covariance = fits._find(rows, belief)
    slope, curve = newton._scores(rows, state)
    slope += newton._belief_slope(state, belief, decided)
    curve += np.diag(newton._belief_curvature(state, belief))
    error = np.sqrt(np.diag(np.linalg.inv(curve)))
    assert np.abs(np.linalg.inv(curve) @ slope / error)[:3] == pytest.approx(np.zeros(3), abs=0.05)
    assert decided == pytest.approx(2.0, abs=0.02)
    whole = newton.sandwich(rows, state, curve, 4000)
    assert covariance == pytest.approx(whole, rel=0.5), "of every eighth row"
    short, *_ = mixture.settle(rows, belief, state)
    assert np.abs(short.beta - state.beta) / np.sqrt(np.diag(whole)) == pytest.approx([0, 0], abs=0.2)
    called = []
    monkeypatch.setattr(newton, "ascend", lambda *_: called.append(1))  # not reached
    again, *_ = fits._find(rows, belief)
    assert called
    assert again.beta == pytest.approx(state.beta, abs=0.1 * error[:2].min())


@pytest.mark.parametrize("level", [0.5, 0.9])
def test_the_next_job_lies_between_the_ends_by_scipy(level: float) -> None:
    """Student's t of the work, a normal of the odd rows: their share 0.1 and half its standard error over 20 + 12."""
    amounts = np.array([[4.0, 2.0], [1.0, 0.0], [0.0, 3.0]])
    found = predict(told(), amounts, level)
    assert found.typical == pytest.approx([18.0, 2.0, 15.0])
    assert found.mean == pytest.approx(found.typical * told().mean_factor)
    share = np.array([[8 / 18, 10 / 18], [1, 0], [0, 1]])
    error = np.sqrt(0.25 + np.array([one @ told().covariance @ one for one in share]))
    odd = 0.1 + 0.5 * np.sqrt(0.1 * 0.9 / 32)
    for ends, chance in ((found.low, (1 - level) / 2), (found.high, (1 + level) / 2)):
        at = np.log(ends / found.typical)
        told_chance = (1 - odd) * stats.t.cdf(at / error, 9) + odd * stats.norm.cdf(at, 1.2, 0.8)
        assert told_chance == pytest.approx(np.full(3, chance), abs=1e-9)


def test_half_of_all_jobs_at_most_are_taken_for_odd() -> None:
    fit = told(state=told().state._replace(share=0.48))
    at = np.log(predict(fit, np.array([[1.0, 0.0]])).high[0] / 2)
    chance = 0.51 * stats.t.cdf(at / np.sqrt(0.29), 9) + 0.49 * stats.norm.cdf(at, 1.2, 0.8)
    assert chance == pytest.approx(0.95, abs=1e-9)


def test_many_jobs_are_predicted_as_each_alone() -> None:
    amounts = np.stack([np.linspace(0, 10, 40), np.linspace(10, 0, 40)], axis=1)
    many = predict(told(), amounts)
    for at in (0, 7, 20, 39):
        alone = predict(told(), amounts[at : at + 1])
        assert [many.low[at], many.high[at]] == pytest.approx([alone.low[0], alone.high[0]], rel=1e-3)


def test_a_straight_line_of_three_points() -> None:
    """By hand: slope 1.5, level 4/3, residuals 1/6, -1/3, 1/6, and one degree of freedom."""
    line = trend_line(np.array([0.0, 1.0, 2.0]), np.array([0.0, 1.0, 3.0]))
    assert line is not None
    assert line[:2] == pytest.approx((4 / 3, 1.5))
    assert line.spread == pytest.approx(6**-0.5)
    assert line.slope_error == pytest.approx(12**-0.5)
    assert (line.middle, line.points) == (1.0, 3)
    assert trend_line(np.array([0.0, 1.0]), np.array([0.0, 1.0])) is None
    assert trend_line(np.ones(3), np.array([0.0, 1.0, 3.0])) is None


def test_factors_of_past_jobs() -> None:
    assert mean_factor(2, 0.9) == pytest.approx(6.313752 / np.sqrt(2))
    with pytest.raises(BadInput, match=r"jobs is 1; it must be 2 or more\. Log another job\."):
        mean_factor(1, 0.9)
    assert LogNormal.through(40.0, 1.5).mean == pytest.approx(60.0)
    assert LogNormal.through(40.0, 0.9).spread == 0
