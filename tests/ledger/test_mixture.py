"""The model of logged times, held to the derivatives of its own density, and to cases small enough for a pencil."""

import numpy as np
import pytest
from scipy import stats

from pricing.ledger import mixture, newton
from pricing.ledger.mixture import Belief, MixtureRows, MixtureState

BELIEF = Belief(np.array([1.1, 0.7]), np.array([0.5, 0.25]), 4.0, 0.3, 6.0, 0.04, 50.0, 1.5, 3.0, 5.0)
STATE = MixtureState(np.array([1.3, 1.0]), 0.4, 0.05, 1.4, 0.7)
FREE = np.array([1.3, 1.0, np.log(0.4), np.log(0.05 / 0.95), 1.4, np.log(0.7)])
"""The same: log rates, log scatter, logit share, centre, log spread."""
TINY = 1e-30


def made(jobs: int, odd: float = 0.06, seed: int = 2) -> MixtureRows:
    draw = np.random.default_rng(seed)
    amounts = np.stack([np.ones(jobs), draw.lognormal(0, 0.7, jobs)])
    logs = np.log(np.array([4.0, 2.5]) @ amounts) + 0.35 * draw.standard_normal(jobs)
    return MixtureRows(logs + np.where(draw.random(jobs) < odd, draw.uniform(1, 2.3, jobs), 0.0), amounts)


def log_density(free: np.ndarray, rows: MixtureRows) -> np.ndarray:
    """Two normal densities, each by its share; the log of a sum of rates as the straight line about FREE.

    Gauss and Newton leave out the bend of that log; its slope at FREE is the same.
    """
    at = np.exp(FREE[:2]) @ rows.amounts
    typical = np.log(at) + (free[:2] - FREE[:2]) @ (np.exp(FREE[:2])[:, None] * rows.amounts / at)
    scatter, share, centre, spread = np.exp(free[2]), 1 / (1 + np.exp(-free[3])), free[4], np.exp(free[5])
    rest = rows.log_min - typical
    work = (1 - share) / scatter * np.exp(-((rest / scatter) ** 2) / 2)
    odd = share / spread * np.exp(-(((rest - centre) / spread) ** 2) / 2)
    return np.asarray(np.log((work + odd) / np.sqrt(2 * np.pi)))


def log_belief(free: np.ndarray) -> complex:
    """Student's t of each log rate; the others as so many rows of their own kind that were seen before."""
    pull = (free[:2] - BELIEF.centre) / BELIEF.spread
    told = -2.5 * np.log1p(pull**2 / 4.0).sum()  # (df + 1) / 2, df = 4
    told -= 6.0 * (free[2] + (0.3 * np.exp(-free[2])) ** 2 / 2)
    told += 50.0 * (0.04 * -np.log1p(np.exp(-free[3])) + 0.96 * -np.log1p(np.exp(free[3])))
    told -= 3.0 * (free[4] / 0.7) ** 2 / 2  # in the spread that stands
    return complex(told - 5.0 * (free[5] + (1.5 * np.exp(-free[5])) ** 2 / 2))


def slopes(of, free: np.ndarray, *rest: object) -> np.ndarray:  # type: ignore[no-untyped-def]
    """Derivatives by a complex step, which loses no digit."""
    return np.array([np.imag(of(free + 1j * TINY * e, *rest)) / TINY for e in np.eye(6)])


def bends(of, *rest: object) -> np.ndarray:  # type: ignore[no-untyped-def]
    step = 1e-5
    found = [(slopes(of, FREE + step * e, *rest) - slopes(of, FREE - step * e, *rest)) / (2 * step) for e in np.eye(6)]
    return np.array([one.reshape(6, -1).sum(axis=1) for one in found])


def test_the_plain_density_is_the_mixture_by_scipy() -> None:
    rows = made(30)
    rest = rows.log_min - np.log(np.exp(STATE.beta) @ rows.amounts)
    theirs = np.log(0.95 * stats.norm.pdf(rest, 0, 0.4) + 0.05 * stats.norm.pdf(rest, 1.4, 0.7))
    assert log_density(FREE, rows) == pytest.approx(theirs, rel=1e-12)


@pytest.mark.parametrize("jobs", [1, 83, 200])
def test_slope_curvature_and_spread_are_those_of_the_density(jobs: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(newton, "_BLOCK", 64)  # so that there are several, the last one not full
    rows = made(jobs)
    each = slopes(log_density, FREE, rows)
    slope, curvature = newton._scores(rows, STATE)
    assert slope == pytest.approx(each.sum(axis=1), rel=1e-9, abs=1e-9)
    assert curvature == pytest.approx(-bends(log_density, rows), rel=1e-6, abs=1e-5)
    ours = np.hstack([newton._slopes(seen, STATE) for seen in newton._blocks(rows, STATE)])
    assert ours == pytest.approx(each, rel=1e-9, abs=1e-9)


def test_the_belief_adds_its_own_slope_and_curvature() -> None:
    slope, curve = newton._belief_slope(STATE, BELIEF, 1.7), newton._belief_curvature(STATE, BELIEF)
    assert slope == pytest.approx(slopes(log_belief, FREE) + np.array([0, 0, 1.7, 0, 0, 0]), rel=1e-12)
    # by hand, pulls (1.3 - 1.1) / 0.5 = 0.4 and (1.0 - 0.7) / 0.25 = 1.2: 5 / (4 + pull^2) / spread^2
    assert curve[:2] == pytest.approx([5 / 4.16 / 0.25, 5 / 5.44 / 0.0625], rel=1e-12)
    assert curve[2:] == pytest.approx(-np.diag(bends(log_belief))[2:], rel=1e-6)
    assert mixture.prior_precision(STATE, BELIEF) == pytest.approx(curve[:2], rel=1e-12)


def test_covariances_are_those_of_the_curvature() -> None:
    rows = made(60)
    whole = np.diag(newton._belief_curvature(STATE, BELIEF)) - bends(log_density, rows)
    assert newton.covariance(rows, BELIEF, STATE) == pytest.approx(np.linalg.inv(whole)[:2, :2], rel=1e-5)
    each, bread = slopes(log_density, FREE, rows), np.linalg.inv(whole)
    theirs = (bread @ (each @ each.T * 240 / 60) @ bread)[:2, :2]
    assert newton.sandwich(rows, STATE, whole, 240) == pytest.approx(theirs, rel=1e-9)
    # one job between the two kinds bends the wrong way: the evidence of its weight is left
    far = MixtureRows(np.log(np.array([4.0])) + 1.1, np.array([[1.0]]))
    alone = BELIEF._replace(centre=BELIEF.centre[:1], spread=BELIEF.spread[:1], scatter_jobs=0.0, share_jobs=0.0)
    state = MixtureState(np.log(np.array([4.0])), 0.4, 0.3, 0.0, 0.7)
    weight = 0.7 * stats.norm.pdf(1.1, 0, 0.4) / (0.7 * stats.norm.pdf(1.1, 0, 0.4) + 0.3 * stats.norm.pdf(1.1, 0, 0.7))
    pull = (np.log(4.0) - 1.1) / 0.5
    by_hand = 1 / (weight / 0.16 + 5 / (4 + pull**2) / 0.25)
    assert newton.covariance(far, alone, state) == pytest.approx(np.array([[by_hand]]), rel=1e-12)


def test_a_step_goes_downhill_whichever_way_the_curve_bends() -> None:
    curve, slope = np.array([[4.0, 1.0], [1.0, 3.0]]), np.array([1.0, 2.0])
    step, error = newton._downhill(slope, curve)  # by hand: the inverse is [[3, -1], [-1, 4]] / 11
    assert step == pytest.approx([1 / 11, 7 / 11], rel=1e-12)
    assert error == pytest.approx(np.sqrt([3 / 11, 4 / 11]), rel=1e-12)
    step, error = newton._downhill(slope, np.diag([2.0, -8.0]))
    assert step == pytest.approx([0.5, 0.25], rel=1e-12)
    assert error == pytest.approx([2**-0.5, 8**-0.5], rel=1e-12)


def test_a_step_moves_each_parameter_on_its_own_scale() -> None:
    found = newton._moved(STATE, np.array([0.1, -0.2, 0.5, 0.3, -0.4, 0.6]))
    assert found.beta == pytest.approx([1.4, 0.8])
    odds = 0.05 / 0.95 * np.exp(0.3)
    by_hand = [0.4 * np.exp(0.5), odds / (1 + odds), 1.0, 0.7 * np.exp(0.6)]
    assert found[1:] == pytest.approx(by_hand, rel=1e-12)
    ends = newton._moved(STATE, np.array([0.0, 0.0, 0.0, 9.0, 0.0, -2.0]))
    assert (ends.share, ends.over_spread) == (0.49, 0.4), "never half of all rows, never narrower than the work"


def test_one_pass_goes_no_farther_than_its_reach(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(newton, "_MOST_PASSES", 1)
    monkeypatch.setattr(newton, "_downhill", lambda slope, _: (np.full_like(slope, 50.0), np.ones_like(slope)))
    found, _ = newton.polish(made(5), BELIEF, STATE._replace(share=1e-4), 0.0)
    assert found.beta == pytest.approx([2.3, 2.0])
    odds = 1e-4 / 0.9999 * np.exp(3.0)
    assert found[1:] == pytest.approx([0.4 * np.exp(0.7), odds / (1 + odds), 2.4, 0.7 * np.exp(0.7)])


def test_where_it_settles_the_slope_is_nothing() -> None:
    """At the peak rows and belief pull alike; expectation and maximisation, Newton and the short way all end there."""
    rows = made(3000)
    belief = BELIEF._replace(spread=BELIEF.spread * 4)
    start = MixtureState(belief.centre, 0.4, 0.03, 0.0, 1.6)
    state, decided = mixture.settle(rows, belief, start, 1e-9)
    error = np.sqrt(np.diag(newton.covariance(rows, belief, state)))

    def slope(at: MixtureState) -> np.ndarray:
        return newton._scores(rows, at)[0] + newton._belief_slope(at, belief, decided)

    assert slope(state)[2:] == pytest.approx(np.zeros(4), abs=1e-3)
    seen = mixture.read_mixture(rows, state)
    weighted = seen.parts * seen.weight / state.scatter**2  # odd rows do not pull at the rates here
    prior = mixture.prior_precision(state, belief)
    assert weighted @ seen.residual == pytest.approx(prior * (state.beta - belief.centre), abs=1e-3)
    evidence = weighted @ seen.parts.T
    assert decided == pytest.approx(np.trace(evidence @ np.linalg.inv(evidence + np.diag(prior))), rel=1e-6)
    peak, curve = newton.polish(rows, belief, start, decided, close=1e-6)
    assert slope(peak) == pytest.approx(np.zeros(6), abs=1e-4)
    assert np.abs(peak.beta - state.beta) / error == pytest.approx([0, 0], abs=0.2)
    assert peak.scatter == pytest.approx(state.scatter, rel=5e-3)
    assert peak.share == pytest.approx(state.share, rel=0.05)
    end = newton.ascend(rows, belief, peak._replace(beta=peak.beta + 0.02), curve, decided)
    assert end is not None
    assert np.abs(end.beta - peak.beta) / error == pytest.approx([0, 0], abs=0.02)
    assert newton.ascend(rows, belief, start, -curve, decided) is None, "not reached, which is said"


def test_a_short_log_keeps_odd_rows_wide() -> None:
    rows = made(60, odd=0.0)
    state, _ = mixture.settle(rows, BELIEF._replace(over_spread=0.1), STATE, 1e-9)
    assert state.over_spread / state.scatter == pytest.approx(1 + 2 * np.exp(-60 / 300), rel=1e-6)


def test_the_more_plausible_of_two_states_by_scipy() -> None:
    rows, other = made(40), MixtureState(np.array([1.5, 0.6]), 0.3, 0.1, 0.9, 1.2)

    def told(state: MixtureState) -> float:
        rest = rows.log_min - np.log(np.exp(state.beta) @ rows.amounts)
        work = (1 - state.share) * stats.norm.pdf(rest, 0, state.scatter)
        odd = state.share * stats.norm.pdf(rest, state.over_centre, state.over_spread)
        rates = stats.t.logpdf((state.beta - BELIEF.centre) / BELIEF.spread, 4.0).sum()
        scatter = -6.0 * (np.log(state.scatter) + (0.3 / state.scatter) ** 2 / 2)
        share = 50.0 * (0.04 * np.log(state.share) + 0.96 * np.log(1 - state.share))
        return float(np.log(work + odd).sum() + rates + scatter + share)

    ours = [mixture.log_plausibility(rows, state, BELIEF) for state in (STATE, other)]
    assert ours[0] - ours[1] == pytest.approx(told(STATE) - told(other), rel=1e-9)


def test_a_row_beyond_all_reach_weighs_nothing_and_breaks_nothing() -> None:
    rows = MixtureRows(np.array([0.0, 60.0]), np.ones((1, 2)))
    state = MixtureState(np.zeros(1), 0.4, 0.05, 1.4, 0.7)
    seen = mixture.read_mixture(rows, state)
    assert seen.residual == pytest.approx([0.0, 60.0])
    assert seen.weight[0] == pytest.approx(1 / (1 + 0.05 * 0.4 / (0.95 * 0.7) * np.exp(-2.0)), rel=1e-12)
    assert 0 <= seen.weight[1] < 1e-300
    assert np.isfinite(mixture.log_plausibility(rows, state, BELIEF._replace(centre=np.zeros(1), spread=np.ones(1))))


def test_a_part_of_the_rows_counts_the_belief_as_a_part() -> None:
    found = BELIEF.weakened(4.0)
    assert found.spread == pytest.approx([1.0, 0.5])
    assert found[2:] == (4.0, 0.3, 1.5, 0.04, 12.5, 1.5, 0.75, 1.25)


def test_a_restart_takes_the_odd_rows_from_beyond_three_spreads() -> None:
    state = MixtureState(np.zeros(1), 0.5, 0.01, 0.0, 2.0)

    def again(*logs: float) -> MixtureState:
        return mixture.restart(MixtureRows(np.array(logs), np.ones((1, len(logs)))), state)

    work = [0.1] * 60 + [1.5] * 20  # exactly three spreads is still work
    assert again(*work) == state
    assert again(*work, *[1.6] * 19) == state, "nineteen say nothing"
    found = again(*work, *[2.0] * 10, *[4.0] * 10)
    assert (found.share, found.over_centre, found.over_spread) == (0.2, 3.0, 1.0)
    assert again(*work, *[1.6] * 10, *[1.8] * 10).over_spread == 0.5, "never narrower than the work"
    assert again(*work, *[2.0] * 80).share == 0.4
