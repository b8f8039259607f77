"""Variance components: what a whole job shares, held to statsmodels and scipy; and what the log's rows say of both."""

from dataclasses import replace
from datetime import date, timedelta
from math import exp, log
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm
from scipy.optimize import minimize
from scipy.stats import multivariate_normal, norm

from pricing.costing.job_cost import known_of
from pricing.costing.spread import SPREADS, Factor, spread_row
from pricing.costing.strata import mean_of, strata
from pricing.ledger.calibrate import calibrate
from pricing.ledger.proposals import accept, propose, with_row
from pricing.ledger.spreads import components, learn_spreads
from pricing.shop.folder import new_folder, open_shop
from pricing.shop.shop import Shop
from pricing.steps.uneven import DOUBT, SHARED_JOB, SHARED_OWNER, VARY


def made(jobs: int, steps: list[float], shared: float, seed: int, kept: float = 1.0) -> tuple[Any, Any, Any]:
    draw = np.random.default_rng(seed)
    job, step = np.repeat(np.arange(jobs), len(steps)), np.tile(np.arange(len(steps)), jobs)
    rest = draw.normal(0, shared, jobs)[job] + draw.normal(0, 1, len(job)) * np.array(steps)[step]
    keep = draw.random(len(job)) < kept
    keep[:: len(steps)] = True  # every job has one
    return rest[keep], job[keep], step[keep]


def test_one_spread_for_all_steps_is_that_of_the_reference_library() -> None:
    """statsmodels MixedLM, maximum likelihood, a random intercept for each job."""
    rest, job, _ = made(160, [0.3] * 6, 0.2, seed=3, kept=0.7)
    rest = rest - rest.mean()
    fit = sm.MixedLM(rest, np.ones((len(rest), 1)), groups=pd.Series(job)).fit(reml=False)
    found = components(rest, job, np.zeros_like(job))
    assert found.shared == pytest.approx(float(np.sqrt(fit.cov_re[0, 0])), rel=0.01)
    assert found.steps[0] == pytest.approx(float(np.sqrt(fit.scale)), rel=0.002)


def test_each_step_with_a_spread_of_its_own_is_the_likeliest_by_scipy() -> None:
    rest, job, step = made(60, [0.15, 0.3, 0.5], 0.25, seed=4)

    def unlikely(logs: Any) -> float:
        sd = np.exp(logs)
        whole = sd[0] ** 2 * np.ones((3, 3)) + np.diag(sd[1:] ** 2)
        return -float(multivariate_normal(np.zeros(3), whole).logpdf(rest.reshape(-1, 3)).sum())

    best = np.exp(minimize(unlikely, np.log([0.2, 0.3, 0.3, 0.3]), method="Nelder-Mead", options={"xatol": 1e-5}).x)
    found = components(rest, job, step)
    assert [found.shared, *found.steps] == pytest.approx(list(best), rel=0.01)


def test_a_belief_counts_as_so_many_jobs_and_each_job_by_what_its_mean_says() -> None:
    """scipy again, with the log density of 25 jobs of spread 0.5; weights and error by the textbook.

    A job's mean has the variance of the factor, and of its steps together: one over the sum of their precisions. What
    a variance's own information is, is half the squares of such weights (normal theory; from memory).
    """
    rest, job, step = made(60, [0.15, 0.3, 0.5], 0.25, seed=4)

    def unlikely(logs: Any) -> float:
        sd = np.exp(logs)
        whole = sd[0] ** 2 * np.ones((3, 3)) + np.diag(sd[1:] ** 2)
        told = multivariate_normal(np.zeros(3), whole).logpdf(rest.reshape(-1, 3)).sum()
        return -float(told) + 25 * float(logs[0] + (0.5 / sd[0]) ** 2 / 2)

    best = np.exp(minimize(unlikely, np.log([0.2, 0.3, 0.3, 0.3]), method="Nelder-Mead", options={"xatol": 1e-6}).x)
    found = components(rest, job, step, believed=0.5, jobs=25.0)
    assert [found.shared, *found.steps] == pytest.approx(list(best), rel=1e-3)
    weight = 1 / (found.shared**2 + 1 / (1 / found.steps**2).sum())
    assert found.weight == pytest.approx(np.full(60, weight))
    information = (60 * weight**2 + 25 / found.shared**4) / 2  # of the factor's variance
    assert found.error == pytest.approx(information**-0.5 / (2 * found.shared))


def test_steps_that_never_differ_are_taken_for_two_hundredths() -> None:
    """By hand: three jobs at +0.3, -0.3 and 0, two steps each just so: the mean square of a factor is 0.06."""
    job, step = np.repeat(np.arange(3), 2), np.tile(np.arange(2), 3)
    found = components(np.array([0.3, -0.3, 0.0])[job], job, step)
    assert found.steps == pytest.approx([0.02, 0.02])
    assert found.shared**2 == pytest.approx(0.06 - 0.02**2 / 2, rel=1e-4)  # less the variance of the mean of two


def test_the_error_of_the_shared_spread_is_honest() -> None:
    off = []
    for seed in range(60):
        found = components(*made(80, [0.3] * 5, 0.2, seed=seed))
        off.append((found.shared - 0.2) / found.error)
    assert 0.8 < np.std(off) < 1.25


def rows_of(shop: Shop, jobs: int, shared: float, slower: float, seed: int = 1) -> list[dict[str, Any]]:
    draw = np.random.default_rng(seed)
    steps = {
        "intake": {"job": 1.0, "part": 8.0},
        "hang": {"job": 1.0, "part": 8.0},
        "inspect": {"job": 1.0, "part": 8.0},
        "degrease": {"job": 1.0, "part": 8.0, "m2": 2.0},
    }
    found = []
    for at in range(jobs):
        job = slower * exp(draw.normal(0, shared))
        for step, amounts in steps.items():
            minutes = sum(n * shop.book[f"{step}.{driver}.hands"] for driver, n in amounts.items())
            day = (date(2026, 1, 1) + timedelta(days=at)).isoformat()
            found.append(
                {
                    "job": f"{at:03d}",
                    "on": day,
                    "step": step,
                    "worker": "",
                    "confirmed": False,
                    "minutes": minutes * job * exp(draw.normal(0, 0.3)),
                    "amounts": amounts,
                }
            )
    return found


@pytest.mark.parametrize("shared", [0.0, 0.25])
def test_the_log_tells_jobs_that_share_a_factor_from_such_that_do_not(shop: Shop, shared: float) -> None:
    beliefs = {key: spread_row(shop, key) for key in SPREADS}
    job, owner = learn_spreads(calibrate(rows_of(shop, 120, shared, 1.3), shop.rates), beliefs)
    assert log(job.mean) == pytest.approx(shared, abs=0.1)
    assert log(owner.mean) < 0.25 * log(beliefs["spread.owner"].mean), "120 jobs leave little doubt about the speed"
    assert owner.learned == pytest.approx(1 - (log(owner.mean) / log(beliefs["spread.owner"].mean)) ** 2)
    error = log(job.high / job.mean) / norm.ppf(0.95)
    assert log(job.sure[1] / job.mean) == pytest.approx(norm.ppf(0.975) * error, rel=1e-3)
    if shared:
        assert log(job.mean / job.low) == pytest.approx(norm.ppf(0.95) * error, rel=1e-3)
        assert log(job.mean / job.sure[0]) == pytest.approx(norm.ppf(0.975) * error, rel=1e-3)


def test_doubt_about_a_learned_mean_stays_and_shrinks_with_the_log(shop: Shop, tmp_path: Path) -> None:
    doubts = []
    for jobs in (8, 30, 120):
        calibration = calibrate(rows_of(shop, jobs, 0.2, 1.2), shop.rates)
        new = next(p.new for p in propose(shop, calibration, {}) if p.key.startswith("hang."))
        doubts.append(log(new.doubt))
    assert doubts[0] > doubts[1] > doubts[2] > 0.5 * 0.36 / np.sqrt(120)
    folder = new_folder(tmp_path / "mine")
    beliefs = {key: spread_row(shop, key) for key in SPREADS}
    chosen = propose(open_shop(folder), calibration, {}, learn_spreads(calibration, beliefs))
    accept(folder, chosen)
    again = open_shop(folder)
    kept = next(p for p in chosen if p.key.startswith("hang."))
    assert again.rates[kept.key].doubt == kept.new.doubt, "the folder keeps it"
    known = known_of(again)
    assert kept.key not in known.uncertain
    assert known.certain[kept.key] == pytest.approx(kept.new.mean)
    assert {DOUBT + "hang", VARY + "hang", SHARED_JOB, SHARED_OWNER} <= set(known.drawn)
    assert known.uncertain[SHARED_JOB].high == pytest.approx(Factor(log(spread_row(again, "spread.job").mean)).high)


def test_factors_move_no_mean() -> None:
    for log_sd in (0.02, 0.3, 0.9):
        factor = Factor(log_sd)
        assert mean_of(factor) == pytest.approx(1.0, abs=1e-12)
        assert strata(factor).mean() == pytest.approx(1.0, abs=1e-9)


def test_point_quotes_know_nothing_of_factors(shop: Shop) -> None:
    assert not any(key.startswith((VARY, DOUBT, "shared.")) for key in shop.book)
    known = known_of(shop)
    assert all(mean_of(row) == pytest.approx(1.0) for key, row in known.drawn.items() if key not in shop.book)


def test_a_row_of_the_shop_stands_before_the_usual_spread(shop: Shop) -> None:
    row = spread_row(shop, "spread.job")
    own = with_row(shop, replace(row, low=1.5, likely=1.5, high=1.5))
    assert row.mean == pytest.approx(1.2)
    assert spread_row(own, "spread.job").mean == 1.5
    assert known_of(own).uncertain[SHARED_JOB].high > known_of(shop).uncertain[SHARED_JOB].high
