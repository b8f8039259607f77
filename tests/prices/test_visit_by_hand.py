"""What the first visit, remembered jobs and a week of enquiries are reckoned from, on numbers that a pencil can follow."""

from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from pricing.basis.errors import BadInput
from pricing.parts.items import Item
from pricing.parts.job import Job
from pricing.prices import questions as asked
from pricing.prices import remembered
from pricing.prices.advice import hours_worth, what_is_left, worth_of_hours
from pricing.prices.firmness import ORDERS, Firmness, _ends
from pricing.prices.first_visit import _joined, most_used, questions, with_spread
from pricing.prices.questions import break_even, fixed_per_month, wiped_or_masked
from pricing.prices.remembered import Remembered
from pricing.prices.selling import TOGETHER, Market, SoldLine, WinCurve, sold_line
from pricing.shop.shop import Shop
from tests.conftest import with_part


def test_a_month_of_the_demo_shop_by_hand(shop: Shop) -> None:
    """Draw 36,000 with 22 % dues, wages 46 x 16 x 16.50 with 28 %, bills 27,750 a year, machines by their annuity."""
    rate, machines = shop.policy.interest, 0.0
    for one in shop.machines.all():
        growth = (1 + rate) ** one.life_y
        machines += (one.price - one.salvage) * rate * growth / (growth - 1) + one.salvage * rate + one.upkeep_per_y
    rest = 36_000 * 1.22 + 27_750 + machines
    assert fixed_per_month(shop) == pytest.approx((rest + 46 * 16 * 16.50 * 1.28) / 12, rel=1e-12)
    assert fixed_per_month(replace(shop, helper=None)) == pytest.approx(rest / 12, rel=1e-12)


def test_how_far_a_question_is_looked_for(shop: Shop, letters: Job) -> None:
    cost = float(asked.quote(shop, letters).cost)
    powder = letters.powders[1]
    most = {
        "price": 4 * cost,
        "line": 4 * letters.pieces * letters.lots[0].part.line_m,
        "powder": max(25 * shop.powders[powder].price_per_kg, cost),
        "hour": 8 * shop.book["hour.owner"],
    }
    for over, high in most.items():
        found = break_even(shop, letters, over)
        assert isinstance(found, asked.BreakEven)
        assert (found.low, found.high) == (0.0, pytest.approx(high)), over
    few = with_part(letters, 1, line_m=0.1)
    short = break_even(shop, few, "line")
    assert isinstance(short, asked.BreakEven)
    assert short.high == 1.0
    assert wiped_or_masked(shop, letters, over="line").high == pytest.approx(
        6 * letters.pieces * letters.lots[0].part.line_m
    )
    assert wiped_or_masked(shop, few, over="line").high == 10.0
    small = break_even(shop, few, "powder", powder=powder)
    assert isinstance(small, asked.BreakEven)
    assert small.high == pytest.approx(max(25 * shop.powders[powder].price_per_kg, asked.quote(shop, few).cost))


@pytest.mark.parametrize("over", ["batch", "jobs"])
@pytest.mark.parametrize("reach", [(0.0, 3.0), (0.5, 3.0), (3.0, 2.0), (1.0, float("inf"))])
def test_only_whole_numbers_from_one_up_are_counted(
    shop: Shop, letters: Job, over: str, reach: tuple[float, float]
) -> None:
    with pytest.raises(BadInput, match=r"it must be a range of at most 1(00)?,000 whole numbers, from 1 to 10"):
        break_even(shop, letters, over, reach=reach)


def test_several_kinds_are_counted_as_whole_jobs(letters: Job, plates: Job, monkeypatch: pytest.MonkeyPatch) -> None:
    """A job of 10 a piece, priced 100 a job; half as much again is asked."""

    def of(_: Shop, job: Job) -> Any:
        return lambda _book: 10.0 * sum(lot.quantity for lot in job.lots)

    monkeypatch.setattr(asked, "JobCost", SimpleNamespace(of=of))
    monkeypatch.setattr(asked, "price_times", lambda _, times: [100.0 * by for by in times])
    both = letters.model_copy(update={"lots": (*letters.lots, *plates.lots)})
    pieces = sum(lot.quantity for lot in both.lots)
    for job, each, what in ((both, 10.0 * pieces, "number of such jobs"), (plates, 10.0, "batch size")):
        quoted = cast("Any", SimpleNamespace(shop=SimpleNamespace(book={}), job=job))
        found = asked._batch(quoted, 1.5, (2, 4), 1.0)
        assert found.what == what
        assert found.counts.tolist() == [2, 3, 4]
        assert found.each == pytest.approx([each] * 3)
        paid = 150.0 if job is both else 150.0 / plates.lots[0].quantity
        assert found.gains == pytest.approx((paid - each) * found.counts)


def test_an_answer_scales_what_it_stands_for_and_nothing_else(shop: Shop) -> None:
    """Ovens 7,800 and 19,500; the other machines 9,800, 4,600, 6,400, 2,400, 6,500; rent 13,800, other bills 13,950."""
    every = questions(shop)
    stands = {key: every[key].value(shop) for key in ("machines.oven", "machines.rest", "fixed.rent", "fixed.rest")}
    assert list(stands.values()) == pytest.approx([27_300.0, 29_700.0, 13_800.0, 13_950.0])
    for key, value in stands.items():
        after = replace(shop, **every[key].put(shop, 2 * value))
        for one, two in zip(shop.machines.all(), after.machines.all(), strict=True):
            oven = one.name in {o.name for o in shop.machines.oven}
            times = 2.0 if key == ("machines.oven" if oven else "machines.rest") else 1.0
            assert (two.price, two.salvage) == pytest.approx((times * one.price, times * one.salvage))
        for at, (bill, new) in enumerate(zip(shop.fixed, after.fixed, strict=True)):
            times = 2.0 if key == ("fixed.rest" if at else "fixed.rent") else 1.0
            assert new.cost_per_y == pytest.approx(times * bill.cost_per_y)
    used = most_used(shop)
    assert used.uses * used.each_kg == max(one.uses * one.each_kg for one in shop.powders.values())
    assert every["powders.price"].value(shop) == used.price_per_kg
    dear = replace(shop, **every["powders.price"].put(shop, 3 * used.price_per_kg)).powders
    assert all(dear[name].price_per_kg == pytest.approx(3 * one.price_per_kg) for name, one in shop.powders.items())
    share = every["reject.plain.wrought"].within
    assert (share.least, share.most) == (0.0, 1.0)


def test_what_was_held_and_what_is_said_are_joined_by_their_precisions() -> None:
    """By hand, in logarithms: of 0.01 sure to 30 % and 0.012 to 40 %; what is nothing, or was certain, is what is said."""
    off = np.log(1.2)
    mean, sd = _joined(0.01, 0.3, 0.012, 0.4)
    assert np.log(mean / 0.01) == pytest.approx(off / 0.4**2 / (1 / 0.3**2 + 1 / 0.4**2))
    assert sd == pytest.approx((1 / 0.3**2 + 1 / 0.4**2) ** -0.5)
    small, _ = _joined(0.005, 0.3, 0.006, 0.4)
    assert small == pytest.approx(mean / 2)
    assert _joined(0.0, 0.3, 5.0, 0.4) == (5.0, 0.4)
    assert _joined(5.0, 0.3, 0.0, 0.4) == (0.0, 0.4)
    assert _joined(5.0, 0.0, 6.0, 0.4) == (6.0, 0.4)
    assert _joined(5.0, 0.005, 5.0, 0.4)[1] == pytest.approx((1 / 0.005**2 + 1 / 0.4**2) ** -0.5)


def test_an_answer_is_moved_by_its_doubt_and_a_guess_by_what_it_may_be(shop: Shop) -> None:
    question = questions(shop)["owner.draw_per_y"]
    assert not question.settles
    before = _ends(shop)["owner.draw_per_y"]
    known = replace(shop, visited={"owner.draw_per_y": "36000"})
    low, high, spread = _ends(known)["owner.draw_per_y"]
    assert spread == pytest.approx(question.doubt)
    assert low["hour.owner"] == pytest.approx((1 - question.doubt) * shop.book["hour.owner"])
    assert high["hour.owner"] == pytest.approx((1 + question.doubt) * shop.book["hour.owner"])
    assert before[2] > spread
    full = replace(shop, visited={"owner.billable": "99 %"}, owner=shop.owner.model_copy(update={"billable": 0.99}))
    share = questions(full)["owner.billable"]
    if not share.settles:
        bottom, top = 0.99 * (1 - share.doubt), min(0.99 * (1 + share.doubt), share.within.most)
        assert _ends(full)["owner.billable"][2] == pytest.approx((top - bottom) / (top + bottom))


def effects_of(shop: Shop, items: dict[str, Item], doubt: float | None = None, joins: bool = True) -> Firmness:
    rows = ((items["gate_single"], "single"), (items["gate_single"], "two_tone"))
    effects = {"a": np.array([[0.1, 0.2], [0.3, 0.4]]), "b": np.array([[0.2, 0.1], [0.0, 0.3]])}
    found = Firmness(shop, rows, effects, {"a": 0.4, "b": 0.3}, doubt)
    one = SimpleNamespace(doubt=0.2, settles=("b",), joins=joins)
    found.__dict__["questions"] = {"a": one, "none": SimpleNamespace(doubt=0.2, settles=(), joins=joins)}
    return found


def test_squares_of_what_numbers_do_add_up(shop: Shop, items: dict[str, Item]) -> None:
    """By hand: variances 0.05 0.05, 0.09 0.25; a is unsure by 0.4, with b by 0.5, and heard to 0.2, or to 0.1."""
    found = effects_of(shop, items)
    assert len(ORDERS) == 2
    roots = [0.05**0.5, 0.05**0.5, 0.3, 0.5]
    assert found.sd == pytest.approx(np.mean(roots))
    assert found.within == pytest.approx(np.exp(1.644854 * np.mean(roots)) - 1, rel=1e-6)
    left = 0.04 / (0.04 + 0.25)
    assert found.gain("a") == pytest.approx(np.mean(roots) * (1 - left**0.5))
    assert found.after("a") == pytest.approx(np.exp(1.644854 * np.mean(roots) * left**0.5) - 1, rel=1e-6)
    assert found.gain("none") == pytest.approx(0.0)
    sharp = effects_of(shop, items, doubt=0.1)
    assert sharp.gain("a") == pytest.approx(np.mean(roots) * (1 - (0.01 / 0.26) ** 0.5))
    plain = effects_of(shop, items, joins=False)
    assert plain.gain("a") == pytest.approx(np.mean(roots) * (1 - 0.2 / 0.5))
    assert effects_of(shop, items, doubt=0.9, joins=False).gain("a") == pytest.approx(0.0), (
        "never less sure than before"
    )


def test_what_numbers_move_as_a_rule_and_most(shop: Shop, items: dict[str, Item]) -> None:
    found = effects_of(shop, items)
    usual, most, row = found.moved("a")
    assert usual == pytest.approx(np.exp(((0.05 + 0.05 + 0.09 + 0.25) / 4) ** 0.5) - 1)
    assert most == pytest.approx(np.exp(0.17**0.5) - 1)
    assert row == found.rows[1]
    assert found.moved("none") == (0.0, 0.0, None)
    small = effects_of(shop, items)
    small.effects["a"][:], small.effects["b"][:] = 0.01, 0.0  # type: ignore[index]
    assert small.moved("a")[2] == found.rows[0]


def test_hours_that_are_paid_for_by_what_a_job_left() -> None:
    """A job of 4 h that should leave 60 in 3 h left 400, or a twentieth of its price of 500: hours over those planned."""
    job = Remembered("gate_single", "single", 1, 500.0, 4.0)

    def paid(cash: float) -> float:
        return remembered._paid(job, cast("Any", SimpleNamespace(total=cash + 60.0, cash=cash, minutes=180.0)))

    assert paid(100.0) == pytest.approx(20 / 100)
    assert paid(490.0) == pytest.approx(20 / 6.25)


@pytest.mark.parametrize("known", [True, False])
def test_the_booked_share_joins_plan_and_memory_by_their_precisions(
    shop: Shop, monkeypatch: pytest.MonkeyPatch, known: bool
) -> None:
    """Plan 1.05 give or take a seventh, unsure by 0.1 more where it was not answered; memory of 3 jobs and of a year."""
    monkeypatch.setattr(remembered, "one_sd", lambda _: (0.9, 1.2))
    question = SimpleNamespace(known=lambda _: known, low=0.7, high=1.3)
    monkeypatch.setattr(remembered, "questions", lambda _: {"owner.billable": question})
    factor, spread = remembered._booked(shop, np.array([0.2, 0.3, 0.1]))
    plan, heard = (0.3 / 2.1) ** 2 + (0.0 if known else 0.01), 0.35**2 / 3 + 0.15**2
    assert np.log(factor) == pytest.approx((np.log(1.05) / plan + 0.2 / heard) / (1 / plan + 1 / heard))
    assert spread == pytest.approx((1 / plan + 1 / heard) ** -0.5)


LINES = (
    SoldLine("a", ("single-tone", "gate"), 200.0, 100.0, 40.0, 2.0, {"owner": 3.0, "oven": 1.0}, 0.5, 0.25),
    SoldLine("b", ("two-tone",), 300.0, 200.0, 60.0, 1.0, {"owner": 5.0}, 0.0, 0.5),
)


def test_a_week_of_enquiries_by_hand() -> None:
    """Odds of 1 - 2 log(price / cost), and 0.5 more for a gate; orders over chance are the enquiries."""
    curve = WinCurve(1.0, -2.0, np.zeros((2, 2)), {"gate": 0.5}, 30)
    hours = {"owner": 40.0, "helper": 10.0, "oven": 20.0}
    market, curves = Market(LINES, hours, curve), np.array([[1.0, -2.0], [-9.0, -2.0]])
    assert market.resources == ("owner", "oven", TOGETHER)
    assert market.needs.tolist() == [[3.0, 1.0, 3.5], [5.0, 0.0, 5.0]]
    chance = 1 / (1 + np.exp(-np.array([1.5 - 2 * np.log(2.0), 1 - 2 * np.log(1.5)])))
    assert market.chances(curves, np.array([2.0, 1.5]))[0] == pytest.approx(chance)
    comes = market.enquiries(curves)
    assert comes[0] == pytest.approx(np.array([2.0, 1.0]) / chance)
    assert comes[1] == pytest.approx([100.0, 50.0]), "nobody wins less than one in fifty"
    answering = 0.25 * comes[0][0] + 0.5 * comes[0][1]
    assert market.there(comes)[0] == pytest.approx([40 - answering, 20.0, 50 - answering])
    assert market.there(np.array([[1e6, 1e6]]))[0] == pytest.approx([1e-6, 20.0, 1e-6])
    assert Market(LINES, {"owner": 40.0}, curve).resources == ("owner",)
    found = market.weeks(curves[:1], np.array([1.0, 1.2]))
    assert found.left[0, 0] == pytest.approx(2 * 160 + 240, rel=1e-3), "hours for all: each order's price less cash"
    assert found.booked[0, 0] == pytest.approx(1.0, abs=1e-3)
    assert found.won[0, 0] == pytest.approx(3.0 / comes[0].sum())
    dearer = comes[0] / (1 + np.exp(-np.array([1.5 - 2 * np.log(2.4), 1 - 2 * np.log(1.8)])))
    assert found.left[0, 1] == pytest.approx(dearer @ [240.0 - 40, 360.0 - 60], rel=1e-3)
    wanted = np.array([3.0 * 2 + 5.0, 2.0, 3.5 * 2 + 5.0])
    assert found.loads[0, 0] == pytest.approx(wanted / market.there(comes)[0])


def test_a_line_of_the_week_as_the_market_needs_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """12 minutes of enquiries a job, of which there are four; what the order takes of the owner is without them."""
    from pricing.prices import selling

    work = SimpleNamespace(hours={"owner": 3.0, "oven": 1.0}, either=0.5)
    monkeypatch.setattr(selling, "work_of", lambda *_: work)
    lines = [SimpleNamespace(step="enquiry", minutes=m) for m in (9.0, 3.0)] + [
        SimpleNamespace(step="coat", minutes=50.0)
    ]

    def sold(colours: int, per_job: float, owner_h: float = 3.0) -> SoldLine:
        work.hours["owner"] = owner_h
        finish = SimpleNamespace(colours=colours)
        sheet = SimpleNamespace(lines=lines, book={"enquiries.per_job": per_job}, finish=finish, cash=90.0, wages=20.0)
        wanted = SimpleNamespace(name="gate", item=SimpleNamespace(key="gate_single"), orders=2.0)
        offer = SimpleNamespace(sheet=sheet, wanted=wanted, price=200.0, quote=SimpleNamespace(cost=150.0))
        return sold_line(cast("Any", offer), {"owner": 40.0})

    found = sold(2, 4.0)
    assert found[:2] == ("gate", ("two-tone", "gate_single"))
    assert found[2:6] == (200.0, 150.0, 70.0, 2.0)
    assert found.hours == pytest.approx({"owner": 2.8, "oven": 1.0})
    assert (found.either_h, found.enquiry_h) == (0.5, pytest.approx(0.05))
    assert sold(1, 0.5).kinds[0] == "single-tone"
    assert sold(1, 0.5).enquiry_h == pytest.approx(0.2), "one enquiry a job at least"
    assert sold(1, 1.0, owner_h=0.1).hours["owner"] == 0.0
    assert sold(1, 1.1).enquiry_h == pytest.approx(0.2 / 1.1)


def test_three_points_of_a_small_number_are_as_wide_as_was_asked_for(shop: Shop) -> None:
    found = with_spread(shop.rates["wipe.line_m.hands"], 0.004, 0.1)
    assert (found.high - 0.004, 0.004 - found.low) == pytest.approx((7**0.5 * 0.0004,) * 2)


@pytest.mark.parametrize("times", [1.0, 1.25])
def test_a_scarce_hour_is_worth_what_the_order_that_waits_for_it_leaves(times: float) -> None:
    """Fifty orders of 3 h wait for 30 h: one hour more takes a third of an order, 200 less 10 of cash, or 250 less 10."""
    line = SoldLine("gate", ("single-tone",), 200.0, 100.0, 10.0, 50.0, {"owner": 3.0}, 0.0, 0.0)
    market = Market((line,), {"owner": 30.0}, WinCurve(2.0, -2.0, np.zeros((2, 2)), {}, 30))
    luck = np.array([[0.4], [0.6]])
    found = worth_of_hours(market, np.array([[2.0, -2.0]]), np.array([times]), luck)
    assert found["owner"] == pytest.approx((200 * times - 10) / 3)


def test_what_is_left_over_cash_and_the_worth_of_hours() -> None:
    """Two orders at 200 of which 40 is cash, 3 h at 20 and half an hour of either at the cheaper 8: 96 each."""
    worth = {"owner": 20.0, "helper": 8.0, "oven": 0.0}
    assert hours_worth(LINES[0], worth) == 64.0
    assert hours_worth(LINES[0], {"owner": 20.0}) == 70.0
    curve = WinCurve(1.0, -2.0, np.zeros((2, 2)), {"gate": 0.5}, 30)
    market, curves = Market(LINES, {"owner": 40.0, "helper": 10.0}, curve), np.array([[1.0, -2.0]])
    left = what_is_left(market, curves, np.array([1.0, 1.5]), worth)
    assert left[0, 0] == pytest.approx([2 * 96.0, 300 - 60 - 100])
    fewer = (1 + np.exp(-(1.5 - 2 * np.log(2.0)))) / (1 + np.exp(-(1.5 - 2 * np.log(3.0))))
    assert left[0, 1, 0] == pytest.approx(2 * fewer * (300 - 104))


def test_an_answer_that_is_worth_nothing_leaves_what_it_settles_where_it_was(shop: Shop) -> None:
    """A plan of 1.2 times the share of the hours that stands there; sure of nothing, or of what was said."""
    row = replace(shop.assumptions["plan.booked_share"], low=1.05, likely=1.2, high=1.35)
    mine = replace(shop, assumptions={**shop.assumptions, row.key: row})
    question = questions(mine)["owner.billable"]
    assert question.settles == (row.key,)
    for said, doubt, mean in ((0.65, 1e6, 1.2), (0.52, 1e6, 1.5), (0.65, 1e-6, 1.0), (0.52, 1e-6, 1.0)):
        after = question.put(mine, said, doubt=doubt)["assumptions"][row.key]
        assert after.mean == pytest.approx(mean, rel=1e-6)
