"""Small sums of costing by hand: counts that were drawn, an oven's price, factors, guesses, reasons in words."""

from dataclasses import replace
from math import exp, log, sqrt

import numpy as np
import pytest

from pricing.basis.facts import fact
from pricing.costing.job_cost import AMOUNT, RESPRAY_LUCK, JobCost, failures, known_of
from pricing.costing.limits import coat_heats, losses, redos_left
from pricing.costing.lines import line_of
from pricing.costing.loops import claims_share, redo_share, respray_share
from pricing.costing.oven_choice import oven_prices
from pricing.costing.packs import rest_to_pay_kg, used_later_kg
from pricing.costing.refusals import reasons
from pricing.costing.risk import Risk
from pricing.costing.shares import Difference, Why
from pricing.costing.sheet import cost, cost_of_work
from pricing.costing.spread import Factor, spread_of, spread_row
from pricing.costing.visits import oven_visits
from pricing.costing.walk import REDO, RESPRAY, WARRANTY, money_of_work
from pricing.parts.items import Item
from pricing.parts.job import Job, Lot
from pricing.parts.work import work_of_job
from pricing.shop.shop import Shop
from pricing.steps.uneven import SHARED_JOB, SHARED_OWNER, VARY
from tests.conftest import with_part, with_policy

IN_OVEN = {"outgas", "partial_cure", "full_cure", "cool"}


def test_counts_that_were_drawn_are_shared_out_over_parts_and_wiped_lines(shop: Shop, plates: Job) -> None:
    """With two wiped lines on each of eight parts, a count is of sixteen lines."""
    finish = shop.finishes["two_tone_clear"]
    twice = finish.model_copy(update={"coats": (*(c.model_copy(update={"line": "wiped"}) for c in finish.coats[:2]),)})
    model = replace(JobCost.of(shop, plates, finish="two_tone_wiped"), finish=twice)
    book = {**shop.book, "spoil.wiped": 0.2}
    sheet = model.sheet({**book, RESPRAY_LUCK: 0.9})
    count = failures(16.0, 0.2, 0.9)
    assert count == 7.0  # of sixteen lines at one in five, nine times in ten no more than so many are spoiled
    uses = [use for use in sheet.line(RESPRAY).uses if use.step == "blow_off"]
    parts = [t.amount for use in uses for t in use.terms if t.driver == "part" and t.gives == "hands"]
    assert parts == pytest.approx([3.5, 3.5])
    assert respray_share(model.work, twice, {"count.respray": 7.0}) == pytest.approx(7 / 16)
    assert respray_share(model.work, twice, {"spoil.wiped": 0.2}) == pytest.approx(0.25)
    assert redo_share(8.0, 0.1, {}) == pytest.approx((1 / 9, 1 - 0.9**8))
    assert redo_share(8.0, 0.1, {"count.redo": 3.0}) == (0.375, 1.0)
    assert redo_share(8.0, 0.1, {"count.redo": 0.0}) == (0.0, 0.0)


def test_amounts_that_are_drawn_go_to_their_own_lot(shop: Shop, plates: Job) -> None:
    (lot,) = plates.lots
    other = Lot(part=lot.part.model_copy(update={"name": "other"}), quantity=3)
    model = JobCost.of(shop, plates.model_copy(update={"lots": (lot, other)}))
    keys = [f"{AMOUNT}{model.title}.{at}.line_m" for at in (1, 2)]
    model = replace(model, amounts=dict.fromkeys(keys))
    sheet = model.sheet({**shop.book, keys[1]: 2.5})
    assert float(sheet.work.line_m) == pytest.approx(8 * lot.part.line_m + 3 * 2.5)
    assert float(model.sheet({**shop.book, keys[0]: 2.5}).work.line_m) == pytest.approx(20 + 3 * lot.part.line_m)


@pytest.mark.parametrize("casting", [False, True])
def test_an_oven_is_chosen_by_what_its_visits_cost_with_hands_and_rejects(
    shop: Shop, plates: Job, casting: bool
) -> None:
    job = with_part(plates, 5, casting=casting, material="cast iron" if casting else "mild steel")
    finish, powders = shop.finishes["two_tone_wiped"], [shop.powders[name] for name in job.powders]
    prices = oven_prices(work_of_job(job, shop), shop, finish, powders, shop.book)
    for oven in shop.machines.oven:
        sheet = cost(replace(shop, machines=shop.machines.model_copy(update={"oven": (oven,)})), job)
        again = tuple(use for use in sheet.line(REDO).uses if use.step in IN_OVEN)
        by_hand = sum(float(line.total) for line in sheet.lines if line.step in IN_OVEN)
        by_hand += float(line_of(REDO, 0, again, shop, shop.book).total)
        assert float(prices[oven.name]) == pytest.approx(by_hand, rel=1e-9)
        assert any(line.step == "outgas" for line in sheet.lines) is casting
    cool = tuple(oven.model_copy(update={"hottest_degC": 150.0}) for oven in shop.machines.oven)
    held = replace(shop, machines=shop.machines.model_copy(update={"oven": cool}))
    late = oven_prices(work_of_job(job, held), held, finish, powders, shop.book)
    for name, price in late.items():
        assert price == pytest.approx(prices[name] + 1e12)  # comes after all others, and is then refused


def test_amounts_cost_by_kind_what_their_lines_cost(shop: Shop, letters: Job) -> None:
    sheet = cost(shop, letters)
    money = money_of_work(shop, work_of_job(letters, shop), sheet.finish, sheet.powders, shop.book)
    assert money.kinds == pytest.approx({kind: float(value) for kind, value in sheet.by_money().items()})
    assert money.owner_h == pytest.approx(sum(float(line.owner_min) for line in sheet.lines) / 60)
    assert sheet.by_money()["cash"] == sheet.cash
    assert sheet.hours_of("owner") == pytest.approx(float(money.owner_h))


def test_hours_and_guesses_of_a_sheet(shop: Shop, plates: Job) -> None:
    sheet = cost(shop, plates)
    may = shop.helper.steps  # type: ignore[union-attr]
    both = sum(float(use.minutes) for line in sheet.lines for use in line.uses if use.step in may) / 60
    assert sheet.either_h == pytest.approx(both)
    assert sheet.wages == pytest.approx(both * shop.book["helper.share"] * shop.book["hour.helper"])
    for line in sheet.lines:
        hands = [t for use in line.uses for t in use.terms if t.gives == "hands"]
        minutes = sum(float(t.amount * t.rate) for t in hands)
        guessed = sum(float(t.amount * t.rate) for t in hands if shop.kind_of(t.key) == "guess")
        time = float(line.labour + line.overhead) + float(line.helper_min) * shop.book["hour.helper"] / 60
        rest = any(shop.kind_of(key) == "guess" for key in line.used() - {t.key for t in hands})
        by_hand = (time * guessed / minutes if minutes else 0.0) + (float(line.total) - time) * rest
        assert sheet.guessed_cost(line) == pytest.approx(by_hand), line.id
    whole = sum(float(sheet.guessed_cost(line)) for line in sheet.lines)
    assert sheet.guessed_share() == pytest.approx(whole / float(sheet.total))
    frame = sheet.frame()
    assert list(frame["step"]) == [line.id for line in sheet.lines]
    assert frame[f"total_{shop.currency}"].sum() == pytest.approx(float(sheet.total))
    assert frame["attended_min"].sum() == pytest.approx(float(sheet.minutes))
    told = sheet.told_cautions()
    assert len({title for title, _ in told if title != "This job"}) == len([t for t, _ in told if t != "This job"])


def test_a_claim_is_a_job_of_its_own_by_its_chance(shop: Shop, plates: Job) -> None:
    backed = with_policy(shop, warranty_years=2.0)
    sheet = cost(backed, plates, finish="single", book={**shop.book, "warranty.plain": 0.02})
    share = 1 - 0.98 ** (2 ** fact("warranty.ageing"))
    assert claims_share(backed, sheet.finish, sheet.book) == pytest.approx(share)
    terms = {t.key: float(t.amount) for use in sheet.line(WARRANTY).uses for t in use.terms}
    assert terms["coat.part.hands"] == pytest.approx(8 * share)
    assert terms["hand_over.job.hands"] == pytest.approx(1 - (1 - share) ** 8)


def test_a_shared_factor_has_its_middle_below_one_and_its_percentiles_about_it() -> None:
    """Log-normal of mean 1: median ``exp(-s²/2)``, 5 and 95 % at 1.644853627 s from it."""
    factor = Factor(0.4)
    assert factor.likely == pytest.approx(exp(-0.08))
    assert factor.low == pytest.approx(exp(-0.08 - 1.6448536269514722 * 0.4))
    assert factor.high == pytest.approx(exp(-0.08 + 1.6448536269514722 * 0.4))


def test_what_all_steps_share_is_taken_off_each(shop: Shop) -> None:
    """Facts: 1.4 from job to job, 1.2 of it shared by all steps; variances of logarithms add."""
    row = spread_row(shop, "spread.job")
    assert (row.low, row.high, row.mean) == pytest.approx((1.1, 1.4, 1.2))
    known = spread_of(shop, shop.uncertain)
    step = sqrt(log(1.4) ** 2 - log(1.2) ** 2)
    assert known.uncertain[f"{VARY}wipe"].likely == pytest.approx(exp(-(step**2) / 2))
    assert known.uncertain[SHARED_JOB].likely == pytest.approx(exp(-(log(1.2) ** 2) / 2))
    assert known.uncertain[SHARED_OWNER].likely == pytest.approx(exp(-(log(1.2) ** 2) / 2))
    wide = replace(shop, assumptions={**shop.assumptions, "spread.job": replace(row, low=1.5, likely=1.5, high=1.5)})
    assert spread_of(wide, shop.uncertain).uncertain[f"{VARY}wipe"].likely == pytest.approx(exp(-(0.02**2) / 2))


def test_visits_and_heats_are_those_of_the_sheet(shop: Shop, plates: Job) -> None:
    """Two powders of one schedule: the first coat sees its partial cure and the full one after."""
    sheet = cost(shop, plates)
    partial, full = oven_visits(sheet)
    line = sheet.line("full_cure")
    assert (full.step, full.coat, full.cost) == ("full_cure", 2, float(line.total))
    assert full.held_min == line.machine_min[full.oven]
    assert full.loads_alone == sheet.work.whole[full.oven]
    assert (full.electricity_kwh, full.gas_kwh) == (line.electricity_kwh, line.gas_kwh)
    assert {f"kWh {term}" for term in full.heat_kwh} == {k for k in line.uses[0].detail if k.startswith("kWh ")}
    first, second = coat_heats(sheet.finish, sheet.powders, shop)
    share = shop.book["partial.share_of_dwell"]
    dwell = shop.powders["jet black"].dwell_min
    assert (first.visits, second.visits) == (2, 1)
    assert partial.dwell_min == pytest.approx(share * dwell)
    assert (first.schedule_min, second.schedule_min) == (dwell, shop.powders["signal white"].dwell_min)
    slow = shop.powders["signal white"].cure_degC + 273.15
    own = shop.powders["jet black"].cure_degC + 273.15
    ratio = exp(1e3 * fact("cure.activation_energy", "kJ/mol") / 8.314462618 * (1 / own - 1 / slow))
    worth = share * dwell + second.schedule_min * ratio
    assert first.worth_min == pytest.approx(worth)
    assert second.worth_min == pytest.approx(second.schedule_min)


def test_redos_that_are_left_are_whole_rounds_of_cures(shop: Shop, items: dict[str, Item]) -> None:
    """Of five visits, one bake and one earlier one leave three: one round of two cures and one more, so one redo."""
    part = items["wheel_set"].part.model_copy(update={"casting": True, "earlier_visits": 1, "value": 160.0})
    assert part.baked
    assert [redos_left(part, 2, most) for most in (3, 4, 5, 6, 7, 8)] == [0.0, 0.0, 0.0, 1.0, 1.0, 2.0]
    assert redos_left(part, 0, 5) == np.inf
    finish = shop.finishes["single"]
    job = Job(title="w", finish="single", powders=("jet black",), lots=(Lot(part=part, quantity=4),))
    ends = losses(work_of_job(job, shop), finish, with_policy(shop, most_heat_cycles=4), 0.3)
    assert ends is not None
    assert (ends.redone, ends.lost, ends.may) == pytest.approx((1 - 0.3, 160 * 0.3 * 0.7, 1.0))
    none = losses(work_of_job(job, shop), finish, with_policy(shop, most_heat_cycles=3), 0.3)
    assert none is not None
    assert (none.redone, none.lost, none.may) == pytest.approx((0.0, 160 * 0.7, 0.0))
    assert reasons(part, finish, with_policy(shop, most_heat_cycles=3), [shop.powders["jet black"]]) == ()
    assert (
        "3 oven visits with 1 earlier ones, 2 are"
        in reasons(part, finish, with_policy(shop, most_heat_cycles=2), [shop.powders["jet black"]])[0]
    )


def test_a_rest_that_others_use_is_shared_by_the_kilogram(shop: Shop) -> None:
    """Half a use a year of 2 kg, kept two years: 2 kg are asked for, 63 % of a rest is used; the rest is lost."""
    powder = shop.powders["moss green"].model_copy(update={"uses": 0.5, "each_kg": 2.0, "keeps_y": 2.0, "pack_kg": 5.0})
    later = (1 - exp(-1)) * 3.0
    assert used_later_kg(powder, 3.0) == pytest.approx(later)
    assert used_later_kg(powder, 10.0) == pytest.approx(2.0)
    assert rest_to_pay_kg(powder, 2.0, 0.6, "shared") == pytest.approx((3 - later) * 2 / (2 + later))
    assert rest_to_pay_kg(powder, 5.0, 0.6, "passed_on") == 0.0  # a pack that is just used up leaves none


def test_the_lowest_price_for_a_chance_is_one_of_the_costs() -> None:
    costs = np.arange(2000.0)
    risk = Risk(costs[::-1].copy(), 1000.0, 2000, 1)
    assert risk.price_for(0.25) == 1499.0  # 500 of 2,000 cost more
    assert risk.chance_of_loss(1499.0) == 0.25
    assert risk.price_for(0.2499) == 1500.0
    assert risk.complete


def test_reasons_are_told_down_to_the_noise_and_at_most_three() -> None:
    reasons_ = (Why("a", 3.0, False), Why("b", -2.0, False), Why("c", 1.5, True), Why("d", 1.2, False))
    told = Difference(100.0, 104.25, reasons_, 0.55, 0.25)
    assert told.amount == 4.25
    assert str(told) == (
        "On average it costs 104.25, the quote says 100.00: +4.25."
        " +3.00 from a: a bad value costs more than a good one saves."
        " −2.00 from b: a good value saves more than a bad one costs."
        " +1.50 from c: the cost goes in whole steps (loads or packs)."
        " +0.55 comes from assumptions that act together."
    )
    quiet = Difference(100.0, 99.5, (Why("a", 0.25, False),), 0.5, 0.25)
    assert str(quiet) == (
        "On average it costs 99.50, the quote says 100.00: −0.50. That is less than playing it through can tell (0.25)."
    )
    even = Difference(100.0, 100.0, (Why("a", 0.3, False),), -0.5, 0.25)
    assert str(even).endswith(": +0.00. +0.30 from a: a bad value costs more than a good one saves.")


def test_rows_know_what_a_shop_is_not_sure_of(shop: Shop, plates: Job) -> None:
    known = known_of(shop, JobCost.of(shop, plates))
    assert known.means()[f"{VARY}wipe"] == pytest.approx(1.0)
    work = work_of_job(plates, shop)
    given = cost_of_work(shop, work, shop.finishes["single"], [shop.powders["jet black"]])
    assert float(given.total) == pytest.approx(float(cost(shop, plates, finish="single").total))
