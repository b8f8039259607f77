"""Risk: quantiles and chances are exact, shares agree with the reference library, runs repeat."""

import multiprocessing
from collections.abc import Mapping
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from functools import partial
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from SALib.analyze import sobol as reference

from pricing.basis.errors import BadInput
from pricing.costing import shares
from pricing.costing.draws import BLOCK, Known, Sampler
from pricing.costing.job_cost import failures
from pricing.costing.odds import loss_reasons
from pricing.costing.parallel_risk import risk_of_many, run_piece
from pricing.costing.plan import Plan
from pricing.costing.risk import Risk, plan_risk
from pricing.costing.shares import VarianceShare
from pricing.costing.spread import SHARED_OWNER
from pricing.costing.strata import strata
from pricing.costing.tails import Tails


def points(low: float, likely: float, high: float, shape: str = "pert") -> Any:
    return SimpleNamespace(low=low, likely=likely, high=high, shape=shape)


KNOWN = Known(
    {"wipe": points(2, 3.5, 8), "load": points(20, 40, 80, "lognormal"), "reject": points(0.01, 0.04, 0.15)},
    {"hour": 48.0, "pack": 2.5},
)


def job(book: Mapping[str, Any], metres: float = 7.6) -> Any:
    """Cost a small job with everything a real one has: rates, a loop, a pack."""
    minutes = metres * book["wipe"] + book["load"]
    labour = minutes * book["hour"] / 60
    redone = (
        failures(4, book["reject"], book["luck.redo"])
        if "luck.redo" in book
        else 4 * book["reject"] / (1 - book["reject"])
    )
    kg = 0.9 * (1 + redone / 4)
    packs = np.ceil(kg / book["pack"] - 1e-9) * 9.0
    return labour * (1 + redone / 4) + packs


def branching(book: Mapping[str, Any]) -> Any:
    """Look at the numbers themselves, which no tape can follow."""
    wipe = np.asarray(book["wipe"])
    return wipe * book["hour"] if wipe.mean() > 0 else wipe


@given(
    st.lists(st.floats(-1e6, 1e6, width=32), min_size=1, max_size=300),
    st.lists(st.floats(-2e6, 2e6, width=32), min_size=1, max_size=20),
    st.lists(st.floats(0, 1), min_size=1, max_size=9),
)
@settings(max_examples=150, deadline=None)
def test_tails_are_exact(draws: list[float], prices: list[float], at: list[float]) -> None:
    values = np.array(draws)
    tails = Tails(values)
    assert list(tails.above(np.array(prices))) == [int((values > price).sum()) for price in prices]
    np.testing.assert_allclose(tails.quantiles(at), np.quantile(values, at), rtol=1e-12, atol=1e-9)
    ranks = list(range(len(draws)))
    np.testing.assert_array_equal(tails.ranked(ranks), np.sort(values))


def test_the_tape_says_what_the_model_says() -> None:
    plan = Plan(job, KNOWN)
    assert plan.tape is not None
    assert plan.keys == ("wipe", "load", "luck.redo", "reject") or set(plan.keys) == {
        "wipe",
        "load",
        "luck.redo",
        "reject",
    }
    drawn = Sampler(KNOWN, 3).block(0, 2)
    np.testing.assert_allclose(plan.on_blocks(Sampler(KNOWN, 3), 0, 2), job(drawn), rtol=1e-12)
    np.testing.assert_allclose(plan.on(drawn, 2 * BLOCK), job(drawn), rtol=1e-12)


def test_a_model_that_branches_is_run_as_it_is() -> None:
    plan = Plan(branching, KNOWN)
    assert plan.tape is None
    answer = plan_risk(plan, KNOWN, seed=1, draws=2 * BLOCK)
    assert answer.mean == pytest.approx(4.0 * 48.0, rel=0.01)


def test_a_model_that_deceives_the_tape_is_caught() -> None:
    calls: list[int] = []

    def counting(book: Mapping[str, Any]) -> Any:
        calls.append(1)
        return book["wipe"] * (1.0 if len(calls) < 3 else 2.0)

    assert Plan(counting, KNOWN).tape is None


@pytest.mark.parametrize("model", [job, branching])
def test_the_same_seed_gives_the_same_bits(model: Any) -> None:
    one, two = (plan_risk(model, KNOWN, seed=9, draws=50_000) for _ in range(2))
    assert np.array_equal(one.costs, two.costs)
    assert not np.array_equal(one.costs, plan_risk(model, KNOWN, seed=10, draws=50_000).costs)
    assert len(one.costs) == 50_000


def test_more_draws_begin_with_the_same_draws() -> None:
    few, many = plan_risk(job, KNOWN, seed=9, draws=10_000), plan_risk(job, KNOWN, seed=9, draws=100_000)
    assert np.array_equal(few.costs, many.costs[:10_000])


def test_mean_agrees_with_the_point_quote_where_all_is_straight() -> None:
    answer = plan_risk(lambda book: 7.6 * book["wipe"] * book["hour"] / 60 + book["load"], KNOWN, seed=2, draws=400_000)
    assert abs(answer.mean - answer.point) < 3 * answer.standard_error


def test_a_difference_of_the_means_is_explained() -> None:
    poor = Known({**KNOWN.uncertain, "reject": points(0.01, 0.1, 0.7)}, KNOWN.certain)
    answer = plan_risk(job, poor, seed=2, draws=1_000_000)
    told = shares.explain_mean(job, poor, answer)
    assert told.amount == pytest.approx(answer.mean - answer.point)
    assert sum(why.amount for why in told.reasons) + told.together == pytest.approx(told.amount)
    assert told.amount > 10 * told.noise  # the loop is convex: the mean is dearer
    assert told.reasons[0].key == "reject"
    text = str(told)
    assert text.startswith(f"On average it costs {answer.mean:.2f}, the quote says {answer.point:.2f}")
    assert "reject" in text


def test_noise_is_called_noise() -> None:
    straight = lambda book: book["wipe"] + book["load"]  # noqa: E731
    answer = plan_risk(straight, KNOWN, seed=2, draws=20_000)
    assert "less than playing it through can tell" in str(shares.explain_mean(straight, KNOWN, answer))


ANSWER = plan_risk(job, KNOWN, seed=7, draws=100_000)


@given(st.lists(st.floats(0.001, 0.999), min_size=2, max_size=8))
@settings(max_examples=50, deadline=None)
def test_quantiles_rise(at: list[float]) -> None:
    assert (np.diff(ANSWER.quantile(sorted(at))) >= 0).all()


@given(st.floats(0.001, 0.999))
@settings(max_examples=50, deadline=None)
def test_a_price_for_a_chance_keeps_that_chance_and_is_the_lowest_that_does(chance: float) -> None:
    price = ANSWER.price_for(chance)
    assert ANSWER.chance_of_loss(price) <= chance + 1e-12
    lower = np.nextafter(price, 0)
    assert ANSWER.chance_of_loss(lower) > chance - 1.0 / len(ANSWER.costs)


def test_chance_of_loss_falls_from_one_to_nothing() -> None:
    prices = np.linspace(ANSWER.costs.min() - 1, ANSWER.costs.max() + 1, 200)
    chance = ANSWER.chance_of_loss(prices)
    assert chance[0] == 1.0  # type: ignore[index]
    assert chance[-1] == 0.0  # type: ignore[index]
    assert (np.diff(chance) <= 0).all()


def test_tails_beyond_the_draws_are_refused() -> None:
    with pytest.raises(
        BadInput, match=r"quantile is 0\.9995; it must be from 0\.001 to 0\.999\. 100,000 draws say nothing"
    ):
        ANSWER.quantile(0.9995)
    with pytest.raises(BadInput, match=r"chance of loss is 0\.0001; it must be from 0\.001 to 0\.999"):
        ANSWER.price_for(0.0001)
    few = plan_risk(job, KNOWN, seed=7, draws=1000)
    with pytest.raises(BadInput, match=r"quantile is 0\.99; it must be from 0\.05 to 0\.95\. 1,000 draws say nothing"):
        few.quantile(0.99)


@pytest.mark.parametrize("draws", [0, -1, 2.5, True, 10**9])
def test_a_bad_number_of_draws_is_told(draws: Any) -> None:
    with pytest.raises(BadInput, match=r"draws is .*; it must be a whole number from 1 to 20,000,000"):
        plan_risk(job, KNOWN, seed=1, draws=draws)


def test_a_cost_that_is_no_number_is_told() -> None:
    with pytest.raises(BadInput, match="cost is inf; it must be a finite number at the means"):
        plan_risk(lambda book: book["wipe"] * 1e300 * 1e300, KNOWN, seed=1)
    with pytest.raises(BadInput, match=r"cost is inf; it must be a finite number\. Look at the widest assumption"):
        plan_risk(lambda book: np.where(book["wipe"] > 6, np.inf, book["wipe"]), KNOWN, seed=1)


def test_an_interrupt_keeps_what_it_has() -> None:
    calls: list[int] = []

    def interrupted(book: Mapping[str, Any], after: int) -> Any:
        calls.append(1)
        if len(calls) > after:
            raise KeyboardInterrupt
        return branching(book)

    whole = plan_risk(branching, KNOWN, seed=7, draws=200_000)
    answer = plan_risk(partial(interrupted, after=6), KNOWN, seed=7, draws=1_000_000)
    assert not answer.complete
    assert 0 < len(answer.costs) <= 200_000
    assert np.array_equal(answer.costs, whole.costs[: len(answer.costs)])
    calls.clear()
    with pytest.raises(BadInput, match="The run was stopped before its first block"):
        plan_risk(partial(interrupted, after=3), KNOWN, seed=7)


def test_a_moved_slider_keeps_the_draws() -> None:
    """Same draws before and after: the move stands out of far less noise (handbook rule: common random numbers)."""
    plan = Plan(job, KNOWN)
    slower = Known({**KNOWN.uncertain, "wipe": points(2.1, 3.675, 8.4)}, KNOWN.certain)
    kept, fresh = [], []
    for seed in range(12):
        before = plan_risk(plan, KNOWN, seed=seed, draws=8192)
        after = plan_risk(plan, slower, seed=seed, draws=8192)
        other = plan_risk(plan, slower, seed=seed + 1000, draws=8192)
        kept.append(after.mean - before.mean)
        fresh.append(other.mean - before.mean)
    assert np.var(fresh) > 10 * np.var(kept)
    assert plan.at(slower).tape is plan.tape
    dearer = Known(KNOWN.uncertain, {**KNOWN.certain, "hour": 60.0})
    assert plan.at(dearer).point == pytest.approx(job(dearer.means()))


def ishigami(book: Mapping[str, Any]) -> Any:
    """A function whose shares are known in closed form (Ishigami and Homma 1990; a = 7, b = 0.1)."""
    x, y, z = ((2 * np.asarray(book[f"luck.{name}"]) - 1) * np.pi for name in "xyz")
    return np.sin(x) + 7 * np.sin(y) ** 2 + 0.1 * z**4 * np.sin(x)


def test_shares_of_a_function_known_in_closed_form() -> None:
    known = Known({}, {"luck.x": 0.5, "luck.y": 0.5, "luck.z": 0.5})
    found = {share.key: share for share in shares.variance_shares(ishigami, known, seed=1, rows=1_000_000)}
    for key, first, total in (("luck.x", 0.3139, 0.5576), ("luck.y", 0.4424, 0.4424), ("luck.z", 0.0, 0.2437)):
        assert found[key].first == pytest.approx(first, abs=0.006)
        assert found[key].total == pytest.approx(total, abs=5 * found[key].error)


def test_shares_agree_with_the_reference_library_on_the_same_rows() -> None:
    rows = 2 * BLOCK
    ours = shares.variance_shares(job, KNOWN, seed=4, rows=rows)
    plan = Plan(job, KNOWN)
    base, fresh = Sampler(KNOWN, 4).block(0, 2), Sampler(KNOWN, 4, stream=1).block(0, 2)
    keys = list(plan.keys)
    mixed = [plan.on({**{k: base[k] for k in keys}, key: fresh[key]}, rows) for key in keys]
    columns = [plan.on(base, rows), *mixed, plan.on(fresh, rows)]
    known = reference.analyze(
        {"num_vars": len(keys), "names": keys, "bounds": [[0, 1]] * len(keys)},
        np.column_stack(columns).ravel(),
        calc_second_order=False,
        num_resamples=2,
        seed=1,
    )
    for share in ours:
        at = keys.index(share.key)
        assert share.first == pytest.approx(known["S1"][at], abs=1e-3)  # it centres on other rows
        assert share.total == pytest.approx(known["ST"][at], abs=1e-9)
        apart = (columns[0] - mixed[at]) ** 2 / 2
        variance = np.var(np.concatenate([columns[0], columns[-1]]))
        assert share.error == pytest.approx(np.std(apart) / variance / np.sqrt(rows))


def test_shares_of_a_straight_sum_are_its_variances() -> None:
    """For a sum, first order and total are both the variance of the term over that of the sum."""
    straight = lambda book: 3 * book["wipe"] + book["load"]  # noqa: E731
    found = {share.key: share for share in shares.variance_shares(straight, KNOWN, seed=1, rows=200_000)}
    parts = {"wipe": 9 * strata(KNOWN.uncertain["wipe"]).std() ** 2, "load": strata(KNOWN.uncertain["load"]).std() ** 2}
    for key, part in parts.items():
        assert found[key].total == pytest.approx(part / sum(parts.values()), abs=5 * found[key].error)
        assert found[key].first == pytest.approx(found[key].total, abs=0.02)
    assert sum(share.total for share in found.values()) == pytest.approx(1, abs=0.02)


def test_nothing_uncertain_has_no_shares() -> None:
    assert shares.variance_shares(lambda book: book["hour"] * 2.0, KNOWN, seed=1) == ()


MODELS = {f"job {metres}": partial(job, metres=float(metres)) for metres in range(3, 8)} | {"sorted": branching}


def same(one: Any, other: Any) -> None:
    assert one.complete
    assert other.complete
    assert one.risks.keys() == other.risks.keys()
    for name, answer in one.risks.items():
        assert np.array_equal(answer.costs, other.risks[name].costs), name


def test_many_jobs_give_what_each_gives_alone() -> None:
    answers = risk_of_many(MODELS, KNOWN, seed=7, draws=150_000)
    assert answers.complete
    for name in ("job 3", "job 7"):
        assert np.array_equal(answers.risks[name].costs, plan_risk(MODELS[name], KNOWN, seed=7, draws=150_000).costs)


def test_many_jobs_are_bit_equal_on_threads_and_processes() -> None:
    here = risk_of_many(MODELS, KNOWN, seed=7, draws=150_000)
    with ThreadPoolExecutor(3) as threads:
        same(here, risk_of_many(MODELS, KNOWN, seed=7, draws=150_000, executor=threads))
    begun = "forkserver" if "forkserver" in multiprocessing.get_all_start_methods() else "spawn"
    with ProcessPoolExecutor(2, mp_context=multiprocessing.get_context(begun)) as processes:
        same(here, risk_of_many(MODELS, KNOWN, seed=7, draws=150_000, executor=processes))


def refusing(book: Mapping[str, Any]) -> Any:
    """Refuse, as a job with a closed volume does."""
    from pricing.basis.errors import Problem

    raise BadInput("tank", [Problem("closed volume", True, "vented")])


def test_a_refused_job_does_not_hold_up_the_others() -> None:
    answers = risk_of_many({"tank": refusing, **MODELS}, KNOWN, seed=7, draws=20_000)
    assert set(answers.refused) == {"tank"}
    assert set(answers.risks) == set(MODELS)
    assert answers.complete


def test_an_interrupted_run_of_many_keeps_what_is_done(monkeypatch: pytest.MonkeyPatch) -> None:
    done: list[int] = []

    def piece(*given: Any) -> Any:
        done.append(1)
        if len(done) > 4:
            raise KeyboardInterrupt
        return run_piece(*given)

    monkeypatch.setattr("pricing.costing.parallel_risk.run_piece", piece)
    answers = risk_of_many(MODELS, KNOWN, seed=7, draws=150_000)
    assert not answers.complete
    assert "job 3" in answers.risks
    whole = plan_risk(MODELS["job 3"], KNOWN, seed=7, draws=150_000)
    assert np.array_equal(answers.risks["job 3"].costs, whole.costs)


def test_a_plan_travels_without_its_model() -> None:
    import pickle

    plan = Plan(lambda book: 2.0 * job(book), KNOWN)  # a lambda cannot travel, a tape can
    there = pickle.loads(pickle.dumps(plan))  # noqa: S301
    assert np.array_equal(there.on_blocks(Sampler(KNOWN, 1), 0, 1), plan.on_blocks(Sampler(KNOWN, 1), 0, 1))


def test_no_draws_is_no_answer() -> None:
    with pytest.raises(BadInput, match="draws is 0"):
        Risk(np.empty(0), 1.0, 10, 1)


def test_a_chance_of_loss_keeps_its_word_where_jobs_share_a_factor() -> None:
    """Two steps, one factor for the job, one for the owner: what is said is what is lost, as the formula has it."""
    from scipy.special import ndtr

    from pricing.costing.spread import Factor

    known = Known({"shared": Factor(0.18), "speed": Factor(0.18)}, {})
    answer = plan_risk(lambda book: 100.0 * book["shared"] * book["speed"], known, seed=5, draws=400_000)
    prices = 100 * np.exp(np.linspace(-0.4, 0.5, 10))
    whole = np.sqrt(2) * 0.18
    truth = 1 - ndtr((np.log(prices / 100) + whole**2 / 2) / whole)
    np.testing.assert_allclose(answer.chance_of_loss(prices), truth, atol=0.004)


def test_reasons_gather_what_belongs_together() -> None:
    shares = [
        VarianceShare(key, first, first, 0.0)
        for key, first in (
            (SHARED_OWNER, 0.3),
            ("vary.wipe", 0.12),
            ("vary.coat", 0.1),
            ("wipe.line_m.hands", 0.06),
            ("oven.fill", 0.04),
            ("luck.redo", 0.08),
            ("powder.transfer", 0.07),
        )
    ]
    told = loss_reasons(shares)
    assert [(one.kind, one.key) for one in told] == [
        ("speed", SHARED_OWNER),
        ("steps differ", "vary.wipe"),
        ("luck", "luck.redo"),
    ]
    assert told[1].share == pytest.approx(0.22)
