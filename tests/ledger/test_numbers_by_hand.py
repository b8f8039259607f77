"""What single entries teach: each observation and each number that comes of it, worked out by hand or by scipy."""

from dataclasses import replace
from unittest.mock import patch

import numpy as np
import pytest
from scipy import stats

from pricing.basis.facts import fact, facts, sources
from pricing.ledger import numbers, proposals
from pricing.ledger.calibrate import Calibration, StepResult, guess_at, observe, then_known
from pricing.ledger.fit import Guess, fit_step
from pricing.ledger.numbers import Learned, NumberSeen
from pricing.ledger.rework import _clumping, beta_of, rework_rate
from pricing.ledger.spreads import learn_spreads
from pricing.ledger.workers import _interval, learn_helper, paces
from pricing.shop.rates import Assumption
from pricing.shop.shop import Shop
from tests.ledger.test_fit_by_hand import told

DAY = "2026-03-01"


def row_of(low: float, likely: float, high: float, shape: str = "pert") -> Assumption:
    source = sources()["common_practice"]
    return Assumption("oven.fill", low, likely, high, "share", source, "", DAY, "", shape)  # type: ignore[arg-type]


def learned(**changed: object) -> Learned:
    plain = Learned("oven.fill", 4, 5.0, 2.0, 10.0, (3.456, 6.789), 0.5, DAY, DAY)
    return replace(plain, **changed)  # type: ignore[arg-type]


def test_three_points_keep_the_mean_of_the_log() -> None:
    """(2 + 4 x 4.5 + 10) / 6 = 5; where no such point lies between the ends, the nearer end."""
    found = proposals._of_number(row_of(1, 2, 3), learned(), sources()["shop_log"], "2026-04-01").new
    assert (found.low, found.likely, found.high, found.mean) == (2.0, 4.5, 10.0, 5.0)
    assert (found.read_on, found.where) == ("2026-04-01", f"4 entries from {DAY} to {DAY}")
    assert found.note == "95 % sure from 3.46 to 6.79"
    for mean, likely in ((2.1, 2.0), (9.5, 10.0)):
        assert proposals._with_points(row_of(1, 2, 3), 2.0, mean, 10.0).likely == likely
    assert proposals._with_points(row_of(1, 2, 3), 1.23456, 5.0, 10.0).low == 1.235


def test_mean_and_ends_of_a_number_and_of_one_that_divides() -> None:
    """A log-normal of median 2 and spread 0.5; normal and Student's t (9 degrees) at 95 % and 97.5 % from tables."""
    days = [NumberSeen(day, 1.0, 2.0) for day in ("2026-03-01", "2026-03-05")]
    found = numbers._of_fit("load", told(), days, upside_down=False)
    assert found.mean == pytest.approx(2 * np.exp(0.125))
    assert (found.low, found.high) == pytest.approx((2 * np.exp(-0.5 * 1.644854), 2 * np.exp(0.5 * 1.644854)))
    assert found.sure == pytest.approx((2 * np.exp(-0.2 * 2.262157), 2 * np.exp(0.2 * 2.262157)))
    assert (found.rows, found.learned, found.first, found.last) == (12, 0.5, "2026-03-01", "2026-03-05")
    assert found.words == ("1 odd entry is set aside.",)
    over = numbers._of_fit("share", told(), days, upside_down=True)
    assert over.mean == pytest.approx(1 / found.mean)
    assert (over.low, over.high) == pytest.approx((1 / found.high, 1 / found.low))
    assert over.sure == pytest.approx((1 / found.sure[1], 1 / found.sure[0]))
    full = numbers._of_fit("oven.fill", told(weight=np.array([0.4, 0.5, 0.1])), days, upside_down=False)
    assert (full.mean, full.high) == (1.0, 1.0), "no oven is fuller than full"
    assert full.words == ("2 odd entries are set aside.",)
    assert numbers._of_fit("load", told(weight=np.ones(3)), days, upside_down=False).words == ()


def test_a_number_that_divides_is_learned_upside_down() -> None:
    seen = [NumberSeen(DAY, 1.0, value) for value in (2.2, 1.9, 2.6, 2.0)]
    nothing = [NumberSeen(DAY, 0.0, 2.0), NumberSeen(DAY, 1.0, 0.0)]
    over = numbers.learn_ratio("oven.fill", Guess("load", 0.4, 0.5, 0.8), [*nothing, *seen])
    plain = numbers.learn_ratio("load", Guess("load", 1.25, 2.0, 2.5), seen)
    assert over is not None
    assert plain is not None
    assert over.mean == pytest.approx(1 / plain.mean)
    assert over.rows == 4
    assert numbers.learn_ratio("load", Guess("load", 1.25, 2.0, 2.5), nothing) is None


def test_enquiries_are_as_sure_as_a_beta_of_scipy() -> None:
    guess = replace(row_of(1.5, 2.0, 4.0), key="enquiries.per_job")
    outcomes = [{"result": what, "on": f"2026-03-0{n}"} for n, what in enumerate(("lost", "won", "won"), 1)]
    found = numbers.learn_enquiries(guess, outcomes)
    a, b = beta_of(row_of(0.25, 0.5, 2 / 3))
    after = stats.beta(a + 2, b + 1)
    assert found is not None
    assert found.sure == pytest.approx(1 / after.ppf([0.975, 0.025]))
    assert (found.low, found.high) == pytest.approx(1 / after.ppf([0.95, 0.05]))
    assert found.learned == pytest.approx(1 - after.var() / stats.beta(a, b).var())
    assert found.mean == pytest.approx((a + b + 2) / (a + 1))
    assert (found.rows, found.first, found.last) == (3, "2026-03-01", "2026-03-03")
    assert numbers.learn_enquiries(guess, []) is None


VISIT = {"step": "full_cure", "oven": "small oven", "metal_degC": 190.0, "dwell_min": 12.0, "bring_up_min": 20.0}


def test_a_load_tells_how_long_the_metal_took_and_how_far_the_air_was_above_it() -> None:
    row = {"job": "gate", "on": DAY, "oven": "small oven", "cure": "full", "minutes": 37.0, "set_degC": 205.0}
    empty = {"fill": None, "jobs": None}
    found = numbers.seen_in_loads([row | empty], {"gate": {"oven": [VISIT]}})
    assert found == {
        "oven.bring_up_factor": [NumberSeen(DAY, 20.0, 25.0)],
        "oven.air_above_metal": [NumberSeen(DAY, 1.0, 15.0)],
    }


def test_what_was_weighed_less_what_a_change_takes_is_what_stayed_on(shop: Shop) -> None:
    """By hand: 2 m² at 60 um and 1.5 g/cm³ are 2 x 60e-6 x 1500 = 0.18 kg; changes as quoted, else one."""
    name, powder = next(iter(shop.powders.items()))
    dense = replace(shop, powders={name: powder.model_copy(update={"density_g_per_cm3": 1.5})})
    row = {"job": "gate", "on": DAY, "powder": name, "used_kg": 0.5, "left_kg": 0.3, "film_um": 60.0, "coated_m2": 2.0}
    purge = shop.book["powder.purge"]
    quoted = {"gate": {"powder": {name: {"area_m2": 5.0, "changes": 2.0}}}}
    found = numbers.seen_in_powder([row], quoted, dense)
    assert found["powder.hopper"] == [NumberSeen(DAY, 1.0, 0.3)]
    assert found[f"film.{name}"] == [NumberSeen(DAY, 1.0, 60.0)]
    assert found["powder.utilisation"][0][1:] == pytest.approx((0.18, 0.5 - 2 * purge))
    bare = row | {"left_kg": None, "film_um": None, "coated_m2": None}
    (one,) = numbers.seen_in_powder([bare], quoted, dense)["powder.utilisation"]
    assert one.expected == pytest.approx(5 * shop.book[f"film.{name}"] * 1.5 / 1000)
    (one,) = numbers.seen_in_powder([bare], {}, dense)["powder.utilisation"]
    assert one[1:] == pytest.approx((0.0, 0.5 - purge)), "without a quote: no area, one change"
    assert numbers.seen_in_powder([bare | {"powder": "gone"}], {}, dense) == {}


def test_a_rest_that_is_thrown_away_tells_how_often_a_colour_is_asked_for(shop: Shop) -> None:
    """By hand: 3 packs of 20 kg, 36 used, 6 of the 24 left thrown: 3 x 0.75 and 3 x 0.25 beside a belief of 4 packs."""
    base = next(iter(shop.powders.values()))
    powder = base.model_copy(update={"name": "x", "way": "shared", "pack_kg": 20.0, "keeps_y": 1.5})
    one = replace(shop, powders={"x": powder, "y": powder.model_copy(update={"name": "y"})})
    packs = [
        {"powder": "x", "opened": 2, "thrown_kg": 1.0, "on": "2026-03-02"},
        {"powder": "x", "opened": 1, "thrown_kg": 5.0, "on": "2026-03-01"},
    ]
    rows = [{"powder": "x", "used_kg": used, "job": job} for used, job in ((30.0, "a"), (6.0, "b"), (0.0, "b"))]
    rows.append({"powder": "y", "used_kg": 9.0, "job": "c"})
    (found,) = numbers.learn_uses(packs, rows, one, {"uses.x": row_of(0.5, 1.0, 2.0)})
    believed = 1 - np.exp(-1.5)
    a, b = 4 * believed + 2.25, 4 * (1 - believed) + 0.75
    shares = [a / (a + b), *stats.beta(a, b).ppf([0.05, 0.95, 0.025, 0.975])]
    uses = [-np.log1p(-min(share, 0.98)) / 1.5 for share in shares]
    assert [found.mean, found.low, found.high, *found.sure] == pytest.approx(uses)
    assert (found.rows, found.first, found.last) == (3, "2026-03-01", "2026-03-02")
    assert found.learned == pytest.approx(3 / 7)
    assert found.words == ("0.7 weighed jobs to a pack.",)
    stocked = replace(shop, powders={"x": powder.model_copy(update={"way": "stocked"})})
    assert numbers.learn_uses(packs, rows, stocked, {}) == []
    (all_thrown,) = numbers.learn_uses([packs[0] | {"thrown_kg": 90.0}], [], one, {"uses.x": row_of(0.0, 0.0, 0.001)})
    a, b = 4 * 0.02, 4 * 0.98 + 2  # nobody is believed never to ask again; more than a rest cannot be thrown away
    assert all_thrown.mean == pytest.approx(-np.log1p(-a / (a + b)) / 1.5)


def test_a_meter_counts_the_loads_between_two_readings(shop: Shop) -> None:
    """By hand: 10 m³ of gas over three days with two loads, one of them without a quote, which counts as the mean."""
    oven = next(one for one in shop.machines.oven if one.fuel == "gas")
    other = [one for one in shop.machines.oven if one.name != oven.name]
    expected = {
        "a": {"oven": [VISIT | {"kwh": 30.0}]},
        "b": {"oven": [VISIT | {"kwh": 50.0}]},
        "c": {"oven": [VISIT | {"kwh": 0.0}]},
    }
    load = {"oven": oven.name, "cure": "full"}
    loads = [load | {"job": job, "on": f"2026-03-0{day}"} for job, day in (("a", 1), ("a", 2), ("gone", 4), ("b", 5))]
    loads += [load | {"job": "b", "on": "2026-03-03", "oven": one.name} for one in other]
    meters = [
        {"meter": oven.name, "carrier": "gas", "on": on, "reading": at, "unit": "m3"}
        for on, at in (("2026-03-04", 110.0), ("2026-03-01", 100.0), ("2026-03-05", 110.0), ("2026-03-09", 111.0))
    ]
    guess = replace(row_of(0.8, 1.0, 1.5), key="oven.energy_factor")
    with patch.object(numbers, "fit_step", wraps=fit_step) as asked:
        found = numbers.learn_energy(meters, loads, expected, shop, guess)
    took, amounts, guesses = asked.call_args.args
    assert took == pytest.approx([10 * fact("gas.gross_per_m3")])
    assert amounts == pytest.approx(np.array([[30.0 + 40.0, 3.0]]))  # 40: the mean of 30, 30, 50, 50 that are known
    idle = facts()["ledger.idle_per_day"]
    assert [(one.driver, one.low, one.likely, one.high) for one in guesses] == [
        ("kWh", 0.8, 1.0, 1.5),
        ("day", idle.low, idle.value, idle.high),
    ]
    assert found is not None
    assert (found.rows, found.first, found.last) == (1, "2026-03-04", "2026-03-04")
    house = [row | {"meter": "house", "unit": "kWh"} for row in meters[:2]]
    with patch.object(numbers, "fit_step", wraps=fit_step) as asked:
        numbers.learn_energy(house, loads, expected, shop, guess)
    took, amounts, _ = asked.call_args.args
    assert took == pytest.approx([10.0])
    burn = [one for one in other if one.fuel == "gas"]
    assert amounts == pytest.approx(np.array([[70.0 + 50.0 * len(burn), 3.0]])), "all ovens that burn the same"
    assert numbers.learn_energy(meters[:1], loads, expected, shop, guess) is None
    assert numbers.learn_energy(meters, loads[:0], expected, shop, guess) is None


def test_a_pace_leans_to_the_typical_as_by_three_jobs_more() -> None:
    """By hand: logs 0.1 and 0.3 of two jobs and three of none: 0.08; Student's t of 1 degree, 97.5 %, from tables."""
    assert fact("ledger.scatter_jobs") == 3
    half = 12.706205 * np.std([0.1, 0.3], ddof=1) / np.sqrt(5)
    assert _interval(np.array([0.1, 0.3])) == pytest.approx(np.exp([0.08, 0.08 - half, 0.08 + half]))
    assert np.isnan(_interval(np.array([0.1]))).all()


def test_paces_are_of_jobs_done_alone_by_name_and_not_odd() -> None:
    fit = replace(told(), residual=np.array([0.1, 0.3, -0.2, 0.2, 2.0, 0.4]), weight=np.array([1, 0.9, 1, 1, 0.5, 1]))
    names = ("a", "b", "c", "d", "e", "f")
    seen = observe([], "coat", ["m2"])
    calibration = Calibration({"coat": StepResult("coat", replace(seen, jobs=names), fit)})

    def row(job: str, worker: str, minutes: float, step: str = "coat") -> dict[str, object]:
        return {"job": job, "worker": worker, "minutes": minutes, "step": step}

    times = [row("a", "owner", 10), row("b", "owner", 20), row("b", "owner", 5), row("e", "owner", 5)]
    times += [row("c", "owner", 20), row("c", "helper", 10), row("d", "owner", 15), row("d", "", 5)]
    times += [row("z", "owner", 8, "hang")]
    owner, helper, hang = sorted(paces(times, calibration), key=lambda one: (one.step, one.worker == "helper"))
    assert (owner.jobs, owner.part) == pytest.approx((5, 75 / 85))
    assert (owner.pace, owner.low, owner.high) == pytest.approx(_interval(np.array([0.1, 0.3])))
    assert helper.worker == "helper"
    assert (helper.jobs, helper.part) == pytest.approx((1, 10 / 85))
    assert (hang.step, hang.part) == ("hang", 1.0)
    assert np.isnan([helper.pace, hang.pace]).all()


def test_a_helper_who_never_helps_keeps_a_share_of_next_to_nothing(shop: Shop) -> None:
    assert shop.helper
    row = {"job": "a", "step": shop.helper.steps[0], "worker": "owner", "minutes": 30.0, "on": DAY}
    found = learn_helper([row], shop, 0.0)
    assert found is not None
    assert found.mean == pytest.approx(1e-3 / (1e-3 + 3 + 1))
    always = learn_helper([row | {"worker": "helper"}], shop, 1.0)
    assert always is not None
    assert always.mean == pytest.approx(4 / 4.001)
    assert learn_helper([row | {"worker": ""}], shop, 0.5) is None


def test_failures_that_come_in_clumps_count_as_fewer() -> None:
    """By hand: 20 parts a job, 10 of 100 again, 0.1 a part: expected 2 a job, variance 2 x 1.1; squares 4 4 4 4 64."""
    parts, again = np.full(5, 20.0), np.array([0.0, 0, 0, 0, 10])
    assert _clumping(parts, again) == pytest.approx((4 * 4 + 64) / 2.2 / 4)
    assert _clumping(parts[:4], again[1:]) == 1.0, "four jobs say nothing"
    assert _clumping(parts, again * 0) == 1.0
    assert _clumping(parts, np.full(5, 2.0)) == 1.0, "never less than chance"
    found = rework_rate("x", row_of(0.03, 0.08, 0.2), [20] * 5, [0, 0, 0, 0, 10], ["2026-03-02", DAY])
    a, b = beta_of(row_of(0.03, 0.08, 0.2))
    assert found.share == pytest.approx((a + 10 * 0.11, b + 100 * 0.11))
    assert (found.tries, found.failed, found.jobs, found.first, found.last) == (110, 10, 5, DAY, "2026-03-02")
    wide = beta_of(row_of(0.0, 0.5, 1.0))
    assert wide == pytest.approx((3.0, 3.0))  # mean 0.5, variance 0.25 / 7: 7 - 1 tries


def test_a_row_of_the_book_as_a_guess_has_no_zero() -> None:
    assert guess_at(row_of(0.0, 0.0, 5.0), "m2") == Guess("m2", 0.005, 0.005, 5.0)
    assert guess_at(row_of(1.0, 2.0, 5.0), "m2") == Guess("m2", 1.0, 2.0, 5.0)


def test_jobs_are_foretold_from_those_before_them_and_the_fit_grows_by_halves() -> None:
    """From 0, 1, 2, 3, 4, 6, 9 jobs: each fit serves until the log is half as long again."""
    rows = [
        {"job": f"{n:02}", "step": "coat", "on": f"2026-03-{n + 1:02}", "minutes": 10.0 + n % 4, "confirmed": False}
        | {"amounts": {"m2": 1.0}}
        for n in range(14)
    ]
    seen = observe(rows, "coat", ["m2"])
    guess = Guess("m2", 5.0, 10.0, 20.0)
    result = StepResult("coat", seen, fit_step(seen.minutes, seen.amounts, [guess]))
    mean, low, high = then_known(result)
    for start, stop in ((0, 1), (1, 2), (2, 3), (3, 4), (4, 6), (6, 9), (9, 13), (13, 14)):
        from pricing.ledger.predict import predict

        past = predict(fit_step(seen.minutes[:start], seen.amounts[:start], [guess]), seen.amounts[start:stop])
        assert mean[start:stop] == pytest.approx(past.mean)
        assert low[start:stop] == pytest.approx(past.low)
        assert high[start:stop] == pytest.approx(past.high)


def test_spreads_are_of_jobs_with_two_steps_that_are_not_odd(shop: Shop) -> None:
    """Jobs a to d in two steps, e in one; a row of weight 0.5 is odd. 4 of 4 + 3 jobs are learned."""
    from pricing.ledger.spreads import _gathered, components

    def step(name: str, jobs: str, residual: list[float], weight: list[float]) -> StepResult:
        seen = replace(
            observe([], name, ["m2"]), jobs=tuple(jobs), days=tuple(f"2026-03-0{'abcdef'.index(j) + 1}" for j in jobs)
        )
        return StepResult(name, seen, told(residual=np.array(residual), weight=np.array(weight)))

    calibration = Calibration(
        {
            "coat": step("coat", "abcde", [0.2, -0.1, 0.3, -0.2, 0.0], [1, 0.9, 1, 0.6, 1]),
            "hang": step("hang", "abcdf", [0.1, 0.0, 0.4, -0.3, 3.0], [1, 1, 1, 1, 1]),
            "wipe": step("wipe", "aef", [0.3, 0.2, 0.1], [0.51, 0.5, 0.4]),
        }
    )
    rest, job, place, days = _gathered(calibration)
    assert rest.tolist() == [0.2, -0.1, 0.3, -0.2, 0.1, 0.0, 0.4, -0.3, 0.3]
    assert job.tolist() == [0, 1, 2, 3, 0, 1, 2, 3, 0]
    assert place.tolist() == [0, 0, 0, 0, 1, 1, 1, 1, 2]
    assert sorted(set(days)) == ["2026-03-01", "2026-03-02", "2026-03-03", "2026-03-04"]
    beliefs = {"spread.job": row_of(1.2, 1.2, 1.2), "spread.owner": row_of(1.25, 1.25, 1.25)}
    shared, owner = learn_spreads(calibration, beliefs)
    found = components(rest, job, place, believed=np.log(1.2), jobs=3.0)
    ends = [np.exp(max(found.shared + times * found.error, 0.0)) for times in (-1.645, 1.645, -1.96, 1.96)]
    assert (shared.rows, shared.learned, shared.mean) == pytest.approx((4, 4 / 7, np.exp(found.shared)))
    assert [shared.low, shared.high, *shared.sure] == pytest.approx(ends)
    left = (1 / np.log(1.25) ** 2 + found.weight.sum()) ** -0.5
    assert (owner.mean, owner.learned) == pytest.approx((np.exp(left), 1 - (left / np.log(1.25)) ** 2))
    assert (owner.first, owner.last) == ("2026-03-01", "2026-03-04")
    assert learn_spreads(Calibration({}), beliefs) == []
