"""Slopes and curvature of the model, held to numerical differentiation of scipy's densities."""

import numpy as np
import pytest
from scipy import optimize, stats

from pricing.ledger import newton
from pricing.ledger.fit import Guess, assumptions, belief_of
from pricing.ledger.mixture import MixtureRows, MixtureState, settle


def _rows(jobs: int = 400) -> MixtureRows:
    draw = np.random.default_rng(2)
    amounts = np.stack([np.ones(jobs), draw.lognormal(0, 0.7, jobs)])
    logs = np.log(np.array([4.0, 2.5]) @ amounts) + 0.35 * draw.standard_normal(jobs)
    return MixtureRows(logs + np.where(draw.random(jobs) < 0.06, draw.uniform(1, 2.3, jobs), 0.0), amounts)


def _unpack(free: np.ndarray) -> MixtureState:
    return MixtureState(
        free[:2], float(np.exp(free[2])), float(1 / (1 + np.exp(-free[3]))), float(free[4]), float(np.exp(free[5]))
    )


FREE = np.array([1.3, 1.0, np.log(0.4), np.log(0.05 / 0.95), 1.4, np.log(0.7)])


def _log_likelihood(free: np.ndarray, rows: MixtureRows) -> float:
    state = _unpack(free)
    rest = rows.log_min - np.log(np.exp(state.beta) @ rows.amounts)
    work = stats.norm.pdf(rest, 0.0, state.scatter)
    odd = stats.norm.pdf(rest, state.over_centre, state.over_spread)
    return float(np.log((1 - state.share) * work + state.share * odd).sum())


def test_slopes_are_those_of_the_likelihood() -> None:
    rows = _rows()
    ours = newton._scores(rows, _unpack(FREE), newton._desk(rows)).slope
    theirs = optimize.approx_fprime(FREE, _log_likelihood, 1e-6, rows)
    assert ours == pytest.approx(theirs, rel=1e-3, abs=0.05)


def test_curvature_is_that_of_the_likelihood_but_for_the_bend_of_the_log() -> None:
    """Gauss and Newton leave out the bend of log(sum) itself, which is small where residuals are."""
    rows = _rows(4000)
    ours = newton._scores(rows, _unpack(FREE), newton._desk(rows)).curvature

    def slope(free: np.ndarray) -> np.ndarray:
        return newton._scores(rows, _unpack(free), newton._desk(rows)).slope

    step = 1e-5
    theirs = -np.array([(slope(FREE + step * e) - slope(FREE - step * e)) / (2 * step) for e in np.eye(6)])
    size = np.sqrt(np.abs(np.outer(np.diag(ours), np.diag(ours))))
    assert np.max(np.abs(ours[2:, 2:] - theirs[2:, 2:]) / size[2:, 2:]) < 0.02
    assert np.max(np.abs(ours - theirs) / size) < 0.25


def test_newton_and_expectation_maximisation_meet() -> None:
    rows = _rows(20_000)
    belief = belief_of([Guess("job", 2, 4, 8), Guess("line_m", 1, 2, 4)], assumptions(), 20_000)
    start = MixtureState(belief.centre, 0.4, 0.03, 0.0, 1.6)
    slow, decided = settle(rows, belief, start, 1e-4)
    fast, curve = newton.polish(rows, belief, start, decided)
    part = MixtureRows(rows.log_min[::4], rows.amounts[:, ::4])
    error = np.sqrt(np.diag(newton.sandwich(part, fast, curve, 20_000)))
    assert np.max(np.abs(slow.beta - fast.beta) / error) < 0.1
    assert fast.scatter == pytest.approx(slow.scatter, rel=5e-3)
    assert fast.share == pytest.approx(slow.share, rel=0.05)
