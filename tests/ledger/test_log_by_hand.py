"""Watch, proposals, intervals kept, win curve and what to time next: single figures, each worked out by hand."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import combinations
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest
from scipy import stats

from pricing.basis.errors import BadInput
from pricing.basis.facts import facts, sources
from pricing.ledger import design, price_trial, proposals, stopwatch
from pricing.ledger.calibrate import Calibration, StepResult, guesses_of, observe
from pricing.ledger.clocks import Moment
from pricing.ledger.drift import Drift, months
from pricing.ledger.expected_and_actual import Compared, Coverage, coverage, job_totals
from pricing.ledger.fit import fit_step
from pricing.ledger.intervals import Beta
from pricing.ledger.price_trial import PriceTrial, begin_trial, sides_of
from pricing.ledger.proposals import Proposal
from pricing.ledger.rework import ReworkRate, rework_rates
from pricing.ledger.stopwatch import Run, runs_of
from pricing.ledger.value_of_information import worth
from pricing.ledger.winning import Winning, _with_kinds, believed, logistic, winning
from pricing.shop.rates import Assumption
from pricing.shop.shop import Shop
from tests.ledger.test_fit_by_hand import told

NOON = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)
DAY = "2026-03-01"


def at(minutes: float, steady: bool = True, clock: str = "this") -> Moment:
    """So many minutes after noon by the steady clock, three more by the clock on the wall."""
    return Moment(NOON + timedelta(minutes=minutes + 3), 60 * minutes + 1000 if steady else None, clock)


def test_minutes_are_those_of_the_steady_clock_where_both_have_the_same() -> None:
    start = Moment(NOON, 1000.0, "this")
    assert at(7).minutes_from(start) == 7.0
    assert at(7, clock="other").minutes_from(start) == 10.0
    assert at(7, steady=False).minutes_from(start) == 10.0
    assert Moment(NOON, None, "this").minutes_from(at(-1)) == -2.0


def run(step: str, worker: str, begin: float, end: float | None) -> Run:
    return Run("gate", step, worker, at(begin), None if end is None else at(end), "1")


def test_a_watch_adds_up_its_runs_and_asks_about_odd_ones() -> None:
    runs = (
        run("blast", "a", 0, 10),
        run("blast", "b", 5, 9),
        run("coat", "a", 20, None),
        run("hang", "a", 30, 29),
        run("wipe", "a", 0, 600.0),
        run("mask", "b", 0, 600.0 + 0.01),
    )
    found = stopwatch.Watch(runs, at(50))
    assert found.minutes == pytest.approx(
        {"blast": 14.0, "coat": 30.0, "hang": 0.0, "wipe": 600.0, "mask": 600.0 + 0.01}
    )
    assert (found.forgotten, found.backwards) == (("mask",), ("hang",))
    assert found.running == runs[2]
    assert found.of("a") == runs[2]
    assert found.of("b") is None
    nothing = stopwatch.Watch((run("coat", "a", 5, 5),), at(50))
    assert (nothing.minutes, nothing.forgotten, nothing.backwards) == ({"coat": 0.0}, (), ())


def test_minutes_told_are_shared_as_the_watch_has_them() -> None:
    """20 and 10 minutes, 60 told: 40 and 20; amounts go to who worked longest; none by the watch: all to the chief."""
    watch = stopwatch.Watch(
        (run("blast", "a", 0, 20), run("blast", "b", 0, 10), run("hang", "a", 30, 29), run("coat", "a", 0, 0.001)),
        at(50),
    )
    found = list(stopwatch._shares(watch, {"blast": {"m2": 2.0}}, {"blast": 60.0, "hang": 5.0}))
    assert [(one["step"], one["worker"], one["minutes"], one["confirmed"], one["amounts"]) for one in found] == [
        ("blast", "a", 40.0, True, {"m2": 2.0}),
        ("blast", "b", 20.0, True, {}),
        ("hang", "a", 5.0, True, {}),
    ], "what was only tapped is no fact"
    plain = list(stopwatch._shares(watch, {}, {}))
    assert [(one["minutes"], one["confirmed"]) for one in plain] == [(20.0, False), (10.0, False)]


def test_who_starts_another_step_or_job_ends_what_ran() -> None:
    def press(job: str, step: str, action: str, minute: float, worker: str = "a") -> dict[str, Any]:
        moment = at(minute)
        return {"job": job, "step": step, "action": action, "worker": worker, "id": f"{minute}"} | {
            "pressed": moment.at.isoformat(),
            "steady_s": moment.steady_s,
            "clock": moment.clock,
        }

    buttons = [
        press("gate", "blast", "start", 0),
        press("gate", "blast", "start", 2),
        press("sign", "coat", "start", 5),
        press("gate", "blast", "pause", 6),  # not what runs
        press("gate", "hang", "start", 8, "b"),
        press("sign", "coat", "pause", 11),
        press("sign", "coat", "start", 20),
    ]
    found = [(one.job, one.step, one.worker, one.minutes(at(30)), one.end is None) for one in runs_of(buttons)]
    assert found == [
        ("gate", "blast", "a", 5.0, False),
        ("gate", "hang", "b", 22.0, True),
        ("sign", "coat", "a", 6.0, False),
        ("sign", "coat", "a", 10.0, True),
    ]
    with pytest.raises(BadInput, match=r"^the stopwatch needs mending:\n  the ledger is .damaged \("):
        runs_of([press("gate", "blast", "start", 0) | {"pressed": "yesterday"}])
    done = runs_of([*buttons, press("sign", "coat", "finish", 25), press("gate", "hang", "pause", 26, "b")])
    assert [(one.job, one.minutes(at(30))) for one in done] == [("gate", 5.0), ("gate", 18.0)]


def test_intervals_are_kept_from_end_to_end_and_judged_by_jeffreys() -> None:
    def compared(actual: float, quoted: float | None = 9.0, job: str = "a", day: str = DAY) -> Compared:
        return Compared(job, "coat", day, quoted, 10.0, 8.0, 12.0, actual)

    assert [compared(x).inside for x in (7.99, 8.0, 12.0, 12.01)] == [False, True, True, False]
    found = coverage([compared(x) for x in (9.0, 10.0, 11.0, 20.0)])
    assert (found.inside, found.jobs, found.share) == (3, 4, 0.75)
    assert (found.low, found.high) == pytest.approx(stats.beta(3.5, 1.5).ppf([0.025, 0.975]))
    none, all_in = coverage([compared(20.0)] * 3), coverage([compared(9.0)] * 3)
    assert (none.low, none.high) == pytest.approx((0.0, stats.beta(0.5, 3.5).ppf(0.975)))
    assert (all_in.low, all_in.high) == pytest.approx((stats.beta(3.5, 0.5).ppf(0.025), 1.0))
    assert np.isnan(coverage([]).share)
    ends = {(0.7, 0.89): "too narrow", (0.7, 0.9): "keep their promise", (0.91, 0.99): "wider", (0.9, 0.99): "keep"}
    for (low, high), words in ends.items():
        assert words in Coverage(80, 100, low, high).words
    assert "Too few to judge" in Coverage(1, 1, 0.1, 0.2).words
    rows = [
        compared(5.0, 4.0, "b", "2026-03-02"),
        compared(7.0, 6.0, "b"),
        compared(9.0, None, "b"),
        compared(1.0, None),
    ]
    (total,) = job_totals(rows)
    assert (total.job, total.day, total.quoted, total.actual, total.steps) == ("b", "2026-03-02", 10.0, 12.0, 2)


def row_of(low: float, likely: float, high: float, key: str = "coat.m2.hands") -> Assumption:
    return Assumption(key, low, likely, high, "min/m**2", sources()["common_practice"], "", DAY, "", "pert")


def result_of(**changed: Any) -> StepResult:
    names = tuple("abcdefghijkl")
    seen = replace(
        observe([], "coat", ["m2", "part"]),
        jobs=names,
        days=tuple(f"2026-03-{n:02}" for n in range(1, 13)),
        amounts=np.full((12, 2), 1.0),
    )
    return StepResult("coat", seen, told(**changed))


def test_a_rate_is_proposed_as_a_log_normal_of_its_typical_time_and_mean(shop: Shop) -> None:
    """Rates 2 and 5, a mean so much above; ends by the normal at 5 % and 95 %; doubt by Student's t over the normal."""
    fit = told()
    both = replace(shop, rates={key: row_of(1, 3, 6, key) for key in ("coat.m2.hands", "coat.part.hands")})
    first, second = proposals._of_step(both, result_of(), sources()["shop_log"], DAY)
    spread = np.sqrt(2 * np.log(fit.mean_factor))
    for one, typical, error in ((first, 2.0, 0.2), (second, 5.0, 0.3)):
        ends = typical * np.exp(spread * 1.644854), typical * np.exp(-spread * 1.644854)
        assert (one.new.high, one.new.low) == pytest.approx(ends, rel=1e-3)
        assert one.new.likely == typical
        assert one.new.mean == pytest.approx(typical * fit.mean_factor, rel=1e-3)
        sure = typical * np.exp(-2.262157 * error), typical * np.exp(2.262157 * error)
        assert one.new.note == f"typical time {typical:.3g}, 95 % sure from {sure[0]:.3g} to {sure[1]:.3g} min/m**2"
        assert one.new.doubt == pytest.approx(np.exp(1.833113 / 1.644854 * fit.unsure(np.array([2, 5]) / 7)), rel=1e-3)
        assert (one.new.where, one.jobs) == ("12 jobs from 2026-03-01 to 2026-03-12", 12)
        assert one.new.shape == "lognormal"
    assert second.change == pytest.approx(second.new.mean / (19 / 6) - 1)  # (1 + 12 + 6) / 6
    assert replace(second, old=row_of(0, 0, 0)).change == 0.0
    few = result_of(learned=np.array([0.3, 0.29]))
    (only,) = proposals._of_step(both, few, sources()["shop_log"], DAY)
    assert only.key == "coat.m2.hands"


def test_a_share_is_proposed_with_the_mean_of_its_beta() -> None:
    rate = ReworkRate("reject.plain.casting", 110, 10, 5, Beta(3.0, 27.0), 1.5, DAY, "2026-03-09")
    old = row_of(0.03, 0.08, 0.2, "reject.plain.casting")
    found = proposals._of_share(old, rate, sources()["shop_log"], DAY)
    low, high = stats.beta(3, 27).ppf([0.05, 0.95])
    assert (found.new.low, found.new.high) == pytest.approx((low, high), rel=1e-3)
    assert found.new.likely == pytest.approx((0.6 - low - high) / 4, rel=1e-3)
    assert found.new.mean == pytest.approx(0.1, rel=1e-3)
    assert found.notes == ()
    clumped = proposals._of_share(old, replace(rate, clumping=2.0), sources()["shop_log"], DAY)
    assert clumped.notes == ("Failures come in clumps: the log counts for 55 parts only.",)


def test_what_is_proposed_was_logged_five_times_and_is_not_what_stands(shop: Shop) -> None:
    key = "reject.plain.casting"
    rate = ReworkRate(key, 110, 10, 5, Beta(3.0, 27.0), 1.5, DAY, DAY)

    def keys(of: Shop, some: ReworkRate) -> list[str]:
        return [one.key for one in proposals.propose(of, Calibration({}), {some.key: some}, today=date(2026, 3, 1))]

    assert keys(shop, rate) == [key]
    assert keys(shop, replace(rate, jobs=4)) == []
    assert keys(shop, replace(rate, key="reject.gone")) == []
    (one,) = proposals.propose(shop, Calibration({}), {key: rate}, today=date(2026, 3, 1))
    assert one.new.read_on == DAY
    taken = proposals.with_row(shop, one.new)
    assert keys(taken, rate) == []
    own = {k: row_of(1, 3, 6, k) for k in ("coat.m2.hands", "coat.part.hands")}
    there = replace(shop, rates={**shop.rates, **own})
    for rows, count in ((5, 2), (4, 0)):
        calibration = Calibration({"coat": result_of(rows=rows)})
        assert len(proposals.propose(there, calibration, {}, today=date(2026, 3, 1))) == count


def test_rework_is_counted_by_job_and_by_where_it_was_found(shop: Shop) -> None:
    jobs = [
        {"job": name, "on": DAY, "finish": "single", "substrate": "wrought", "parts": 10, "wiped_parts": wiped}
        for name, wiped in (("a", 0), ("b", 4), ("c", 5))
    ]
    redone = [
        {"job": "a", "found": "after cure", "parts": 1},
        {"job": "a", "found": "after cure", "parts": 2},
        {"job": "b", "found": "before cure", "parts": 3},
    ]
    found = rework_rates(jobs, redone, shop.finishes, shop.assumptions)
    assert {key: (one.tries, one.failed, one.jobs) for key, one in found.items()} == {
        "reject.plain.wrought": (33, 3, 3),
        "spoil.wiped": (12, 3, 2),
    }


def test_a_trial_begins_where_the_advice_says_something_and_counts_from_the_middle(tmp_path: Path) -> None:
    step = price_trial.fact("advise.least_step")
    with pytest.raises(BadInput, match="another price than 1.000 times"):
        begin_trial(tmp_path, 1 - 0.999 * step, 0, date(2026, 3, 1))
    assert begin_trial(tmp_path, 1 + 1.001 * step, 0, date(2026, 3, 1)).times == round(1 + 1.001 * step, 3)
    trial = PriceTrial(began=date(2026, 3, 1), times=1.44, quotes=4, before=0)
    quotes = [
        {"job": f"{n}", "price": price, "sheet": {"listed": listed}}
        for n, (price, listed) in enumerate([(120.0, 100.0), (120.1, 100.0), (0.9, 0.5), (1.0, 0.0), (200.0, 100.0)])
    ]
    sides = sides_of(trial, quotes, [{"job": "1", "result": "won"}, {"job": "2", "result": "lost"}])
    assert sides == {"times": (2, 1, 1), "against": (1, 0, 0)}, "the fifth is not of the trial; the fourth has no list"
    less = sides_of(trial.model_copy(update={"times": 1 / 1.44}), [quotes[0] | {"price": 83.0}], [])
    assert less == {"times": (1, 0, 0), "against": (0, 0, 0)}
    late = PriceTrial(began=date(2026, 3, 1), times=1.44, quotes=2, before=3)
    assert [late.turn(given) for given in (0, 2, 3, 4, 5)] == [1, 1, 1, 2, 0]
    assert [late.asks(given) for given in (3, 4, 5)] == [1.44, 1.0, 1.0]


def test_words_of_a_win_curve_are_sure_to_95_percent() -> None:
    """Slope against 1.96 of its standard error, 1."""
    plain = Winning(0.0, -1.97, np.diag([0.1, 1.0]), 3, 2, 1.0, 2.0)
    says = {-1.97: "lost more often", -1.95: "does not show", 1.95: "does not show", 1.97: "won more often"}
    for slope, words in says.items():
        found = replace(plain, slope=slope).words
        assert words in found
        assert ("Page 5" in found) == (slope < 0)
    assert "Page 5" not in replace(plain, slope=0.0).words


def test_chances_of_a_win_curve_by_hand() -> None:
    """At e^0.5 over cost: log odds 1 - 2 x 0.5 = 0, variance 0.1 + 2 x 0.05 x 0.5 + 0.4 x 0.25 = 0.25."""
    found = Winning(1.0, -2.0, np.array([[0.1, 0.05], [0.05, 0.4]]), 3, 2, 1.0, 2.0)
    chance, low, high = (float(one[0]) for one in found.chance(np.array([np.exp(0.5)]), 0.9))
    half = 1.644854 * 0.5
    assert (chance, low, high) == pytest.approx((0.5, 1 / (1 + np.exp(half)), 1 / (1 + np.exp(-half))), rel=1e-6)


def test_the_curve_is_turned_from_the_middle_of_what_was_asked_to_the_cost() -> None:
    ratio, won = np.array([1.2, 1.3, 1.4, 1.6, 1.9]), np.array([True, True, False, True, False])
    found = winning(ratio, won, [("a",)] * 5)
    assert isinstance(found, Winning)
    assert found.kinds == {}, "what all have says nothing"
    centre, precision = believed(["win.level", "win.slope"])
    for key, value, one in zip(("win.level", "win.slope"), centre, precision, strict=True):
        row = facts()[key]
        assert value == row.value
        assert one == pytest.approx((2 * 1.644854 / (row.high - row.low)) ** 2, rel=1e-6)
    middle = np.log(1.4)
    design_of = np.stack([np.ones(5), np.log(ratio) - middle], axis=1)
    beta, cov = logistic(design_of, won.astype(float), centre, precision)
    assert (found.level, found.slope) == pytest.approx((beta[0] - beta[1] * middle, beta[1]))
    assert found.covariance[0, 0] == pytest.approx(cov[0, 0] - 2 * middle * cov[0, 1] + middle**2 * cov[1, 1])
    assert found.covariance[0, 1] == pytest.approx(cov[0, 1] - middle * cov[1, 1])
    assert (found.won, found.lost, found.low, found.high) == (3, 2, 1.2, 1.9)


def test_kinds_are_a_mean_over_how_far_they_may_lie_apart() -> None:
    """Eight slices of a half-t spread, each by the evidence of its fit (Laplace): worked out here once more."""
    draw = np.random.default_rng(4)
    x = np.stack([np.ones(30), draw.normal(size=30), draw.random(30) < 0.4], axis=1).astype(float)
    won = (draw.random(30) < 0.5).astype(float)
    centre, precision = np.array([0.2, -1.0, 0.0]), np.array([0.5, 0.4, 2.0])
    spreads = stats.t(3).ppf(0.5 + (np.arange(8) + 0.5) / 16)
    fits, evidence = [], []
    for spread in spreads:
        held = precision / np.array([1.0, 1.0, spread**2])
        beta, cov = logistic(x, won, centre, held)
        chance = 1 / (1 + np.exp(-(x @ beta)))
        prior = stats.norm.logpdf(beta, centre, held**-0.5).sum()
        evidence.append(stats.bernoulli.logpmf(won.astype(int), chance).sum() + prior + np.linalg.slogdet(cov)[1] / 2)
        fits.append((beta, cov))
    weight = np.exp(np.array(evidence) - max(evidence))
    weight /= weight.sum()
    mean = sum(w * beta for w, (beta, _) in zip(weight, fits, strict=True))
    second = sum(w * (cov + np.outer(beta, beta)) for w, (beta, cov) in zip(weight, fits, strict=True))
    found, covariance = _with_kinds(x, won, centre, precision)
    assert found == pytest.approx(mean)
    assert covariance == pytest.approx(second - np.outer(mean, mean))


def test_exchanges_stop_where_no_single_one_is_better(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(design, "_MOST_TRIED", 0)
    draw = np.random.default_rng(6)
    for known in (np.zeros((3, 3)), np.diag([0.5, 2.0, 0.1])):
        rows = [one[None, :] for one in draw.normal(size=(10, 3))]

        def volume(chosen: tuple[int, ...], rows: list[Any] = rows, known: Any = known) -> float:
            return float(np.linalg.det(known + sum(rows[i].T @ rows[i] for i in chosen)))

        found = design.best_rows(rows, known, 4)
        assert len(set(found)) == 4
        assert found == tuple(sorted(found))
        for out, into in ((o, i) for o in found for i in range(10) if i not in found):
            assert volume((*(set(found) - {out}), into)) <= volume(found) * (1 + 1e-9)
    assert design.best_rows(rows[:2], np.eye(3), 5) == (0, 1)
    monkeypatch.setattr(design, "_MOST_TRIED", 3000)
    best = max(combinations(range(10), 3), key=volume)
    assert design.best_rows(rows, known, 3) == best


def test_timing_is_worth_the_doubt_that_it_takes_away(shop: Shop) -> None:
    """Half an hour in the quotes: money a minute x 30 x sqrt(2/pi) x doubt, and the part of it that five jobs take."""
    guesses = guesses_of(shop.rates, "coat")
    fit = fit_step(np.empty(0), np.empty((0, len(guesses))), guesses)
    share = np.full(len(guesses), 1 / len(guesses))
    now, then = fit.unsure(share), fit.unsure(share, 5)
    (one,) = worth([{"minutes": {"coat": 30.0}}, {"minutes": {"nothing": 9.0}}], shop, Calibration({}), shop.rates)
    assert (one.step, one.minutes, one.jobs) == ("coat", 30.0, 0)
    assert one.unsure == pytest.approx(now)
    assert one.timing / one.knowing == pytest.approx((now**2 - then**2) ** 0.5 / now)


def test_drift_is_sure_where_its_interval_leaves_nothing_out() -> None:
    ends = {(0.01, 0.2): True, (0.0, 0.2): False, (-0.2, -0.01): True, (-0.2, 0.0): False, (-0.1, 0.1): False}
    for (low, high), sure in ends.items():
        assert Drift(0.0, low, high).sure == sure


def test_a_month_is_shown_from_three_jobs_on_that_are_not_odd() -> None:
    """March by hand: logs 0.1, 0.2, 0.3, mean 0.2, sd 0.1; Student's t of 2 degrees, 97.5 %, from tables."""
    seen = SimpleNamespace(days=("2026-03-01", "2025-03-02", "2026-03-31", "2026-03-05", "2026-12-01", "2026-12-02"))
    fit = SimpleNamespace(residual=np.array([0.1, 0.2, 0.3, 2.0, 0.1, 0.1]), weight=np.array([1, 0.9, 0.51, 0.5, 1, 1]))
    (march,) = months(cast("StepResult", SimpleNamespace(seen=seen, fit=fit)))
    half = 4.302653 * 0.1 / np.sqrt(3)
    assert (march.month, march.jobs) == (3, 3)
    assert (march.ratio, march.low, march.high) == pytest.approx(np.exp([0.2, 0.2 - half, 0.2 + half]), rel=1e-6)


def test_a_proposal_knows_how_far_it_moves_the_mean() -> None:
    one = Proposal("coat.m2.hands", row_of(1, 2, 3), row_of(2, 3, 4), 7, ())
    assert one.change == pytest.approx(0.5)
