"""Break-even, extras, the week and the map, on the demo shop and its jobs."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from pricing.basis.errors import BadInput
from pricing.costing.sheet import cost
from pricing.parts.items import Item
from pricing.parts.job import Job, job_of_item
from pricing.prices.break_even import BreakEven, WholeBreakEven
from pricing.prices.compare import compare
from pricing.prices.extra import two_tone
from pricing.prices.hire_buy_drop import unused_hours, with_helpers
from pricing.prices.questions import QUESTIONS, WIPE_QUESTION, break_even, fixed_per_month, say_wiped, wiped_or_masked
from pricing.prices.quote import quote
from pricing.prices.week import month_of, offers, plan_of, read_week, week_hours
from pricing.shop.shop import Shop
from pricing.shop.usual_week import UsualWeek
from tests.conftest import with_part


def solved(shop: Shop, job: Job, over: str, **options: object) -> float:
    found = break_even(shop, job, over, **options)  # type: ignore[arg-type]
    assert isinstance(found, BreakEven)
    assert found.value is not None, found
    return found.value


def test_the_break_even_price_is_the_full_cost(shop: Shop, letters: Job) -> None:
    assert solved(shop, letters, "price") == pytest.approx(float(cost(shop, letters).total), rel=1e-12)


@pytest.mark.parametrize(
    ("over", "keys"),
    [
        ("wipe", [WIPE_QUESTION]),
        ("reject", ["reject.wiped.wrought", "reject.wiped.casting"]),
        ("hour", ["hour.owner"]),
    ],
)
def test_at_break_even_the_cost_is_the_price(over: str, keys: list[str], shop: Shop, letters: Job) -> None:
    price = 1.2 * float(cost(shop, letters).total)
    value = solved(shop, letters, over, price=price)
    book = {**shop.book, **dict.fromkeys(keys, value)}
    assert float(cost(shop, letters, book=book).total) == pytest.approx(price, rel=1e-9)


def test_at_break_even_line_the_cost_is_the_price(shop: Shop, letters: Job) -> None:
    price = 1.2 * float(cost(shop, letters).total)
    line_m = solved(shop, letters, "line", price=price)
    longer = with_part(letters, line_m=line_m / letters.pieces)
    assert float(cost(shop, longer).total) == pytest.approx(price, rel=1e-9)


def test_the_powder_of_either_coat_can_be_asked_for(shop: Shop, letters: Job) -> None:
    price = 1.002 * float(cost(shop, letters).total)
    for name in ("jet black", "signal white"):
        value = solved(shop, letters, "powder", price=price, powder=name)
        assert value > shop.powders[name].price_per_kg
    with pytest.raises(BadInput, match="powder is 'sky blue'; it must be jet black or signal white"):
        break_even(shop, letters, "powder", powder="sky blue")


def test_batches_are_costed_one_by_one(shop: Shop, letters: Job) -> None:
    found = break_even(shop, letters, "batch", reach=(1, 12))
    assert isinstance(found, WholeBreakEven)
    for count, each in zip(found.counts, found.each, strict=True):
        assert each == pytest.approx(float(cost(shop, with_part(letters, int(count))).total) / count)
    quicker = break_even(shop, letters, "batch", reach=(1, 12), slope=0.9)
    assert isinstance(quicker, WholeBreakEven)
    assert quicker.each[0] == pytest.approx(found.each[0])
    assert (quicker.each[1:] < found.each[1:]).all()


def test_whole_loads_of_a_job_that_shares_none_make_saw_teeth(shop: Shop, items: dict[str, Item]) -> None:
    job = job_of_item(items["bistro_table"], column="single").model_copy(update={"alone": True})
    found = break_even(shop, job, "batch", reach=(1, 40))
    assert isinstance(found, WholeBreakEven)
    assert found.teeth
    per_load = np.diff(found.teeth)
    assert (per_load == per_load[0]).all()  # a tooth at each load that begins
    # a price between a full load and one part more: the break-even is not one number
    prices = np.asarray(found.gains / found.counts + found.each)
    share = float((found.each / prices)[found.teeth[0] - 2 : found.teeth[0]].mean())  # of the tariff
    again = break_even(shop, job, "batch", reach=(1, 40), price=share * quote(shop, job).net)
    assert isinstance(again, WholeBreakEven)
    assert len(again.runs) > 1
    assert "a new load or pack begins" in again.say("EUR")


def test_a_price_no_batch_reaches_is_said(shop: Shop, letters: Job) -> None:
    text = break_even(shop, letters, "batch", price=60.0).say("EUR")
    assert text.startswith("No batch size up to 60 reaches it: even at 60 each costs")


def test_jobs_a_month_pay_the_fixed_costs(shop: Shop, letters: Job) -> None:
    found = break_even(shop, letters, "jobs")
    assert isinstance(found, WholeBreakEven)
    sheet = cost(shop, letters)
    price = quote(shop, letters).net
    first = found.always_from
    assert first is not None
    earns = price - float(sheet.cash - sheet.wages)  # wages are fixed costs
    assert (first - 1) * earns < fixed_per_month(shop) <= first * earns
    assert found.each == pytest.approx(price - earns + fixed_per_month(shop) / found.counts)


@pytest.mark.slow
def test_a_job_of_several_kinds_is_scanned_as_whole_jobs(shop: Shop, letters: Job, plates: Job) -> None:
    both = letters.model_copy(update={"lots": (*letters.lots, *plates.lots)})
    found = break_even(shop, both, "batch", reach=(1, 3))
    assert found.what == "number of such jobs"


def test_questions_without_an_answer_are_told(shop: Shop, letters: Job) -> None:
    with pytest.raises(BadInput, match="over is 'wiping'; it must be price, batch, wipe"):
        break_even(shop, letters, "wiping")
    plain = letters.model_copy(update={"finish": "single"})
    with pytest.raises(BadInput, match=r"finish is 'Single-tone: nothing is wiped'"):
        break_even(shop, plain, "wipe")
    with pytest.raises(BadInput, match=r"finish is 'Single-tone: no line'"):
        break_even(shop, plain, "line")
    assert set(QUESTIONS) == {"price", "batch", "wipe", "line", "reject", "powder", "hour", "jobs"}


def test_batches_are_asked_their_price_by_the_tariff(shop: Shop, letters: Job) -> None:
    found = break_even(shop, letters, "batch", reach=(1, 30))
    assert isinstance(found, WholeBreakEven)
    for count, gain, each in zip(found.counts, found.gains, found.each, strict=True):
        asked = quote(shop, with_part(letters, int(count), item=letters.lots[0].item)).net
        assert gain + each * count == pytest.approx(asked)


def test_each_extra_keeps_what_it_says(shop: Shop, letters: Job) -> None:
    found = two_tone(shop, letters, "two_tone_wiped", seed=2)
    margin, scarce, chance = found.answers
    assert found.base.price == quote(shop, letters, finish="single").net
    assert found.printed.price == quote(shop, letters).net
    assert margin.margin_share == pytest.approx(found.base.margin_share)
    assert scarce.per_scarce_hour == pytest.approx(found.base.per_scarce_hour)
    assert chance.chance_of_loss <= found.chance_told
    assert chance.chance_of_loss == pytest.approx(found.chance_told, abs=1e-4)
    sides = compare(shop, letters)
    assert found.exact == pytest.approx(float(sides.side("two_tone_wiped").marks.target - sides.sides[0].marks.target))
    assert found.difference.mean() == pytest.approx(
        float(cost(shop, letters).total - cost(shop, letters, finish="single").total), rel=0.03
    )


def test_a_metre_of_line_costs_what_the_rule_says(shop: Shop, letters: Job) -> None:
    rule = two_tone(shop, letters).rule
    longer = with_part(letters, line_m=letters.lots[0].part.line_m + 1.0)
    more = float(cost(shop, longer).total - cost(shop, letters).total) / letters.pieces
    assert rule.per_m == pytest.approx(more / (1 - shop.policy.target_margin), rel=1e-6)


def test_the_plain_finish_comes_first_and_both_ways_of_the_line_follow(shop: Shop, plates: Job) -> None:
    assert [side.finish for side in compare(shop, plates).sides] == ["single", "two_tone_wiped", "two_tone_masked"]
    with pytest.raises(BadInput, match="finish is 'gold'; it must be single, two_tone_wiped or two_tone_masked"):
        compare(shop, plates).side("gold")


def test_masking_costs_a_full_cure_between_and_tape(shop: Shop, plates: Job) -> None:
    masked = cost(shop, plates, finish="two_tone_masked")
    assert [line.step for line in masked.lines if line.step.endswith("_cure")] == ["full_cure", "full_cure"]
    tape = next(term for term in masked.line("tape").uses[0].terms if term.driver == "tape_m")
    assert tape.amount == pytest.approx(plates.pieces * plates.lots[0].part.line_m)


def test_a_dear_plain_price_has_no_chance_of_loss_to_keep(shop: Shop, letters: Job) -> None:
    found = two_tone(shop, letters, price=3000.0)
    assert found.base.chance_of_loss == 0.0
    assert 0 < found.chance_told < 0.01
    given_away = two_tone(shop, letters, price=1.0)
    assert given_away.base.chance_of_loss == 1.0
    assert given_away.chance_told == pytest.approx(1 - found.chance_told, abs=1e-12)


def test_bad_extras_are_told(shop: Shop, letters: Job) -> None:
    with pytest.raises(
        BadInput, match="finish is 'single'; it must be two_tone_wiped, two_tone_masked or two_tone_clear"
    ):
        two_tone(shop, letters, "single")
    with pytest.raises(BadInput, match="scarce resource is 'oven'; it must be owner, helper, small oven"):
        two_tone(shop, letters, resource="oven")
    bare = replace(shop, finishes={"single": shop.finishes["single"]})
    with pytest.raises(BadInput, match="finishes is 'none with a line'"):
        two_tone(bare, letters)
    unmasked = replace(shop, finishes={key: shop.finishes[key] for key in ("single", "two_tone_wiped")})
    with pytest.raises(BadInput, match="finishes is 'no masked line'"):
        wiped_or_masked(unmasked, letters, over="line")
    with pytest.raises(BadInput, match="over is 'speed'; it must be line or wipe"):
        wiped_or_masked(shop, letters, over="speed")


def test_wiping_and_masking_cost_the_same_where_they_cross(shop: Shop, letters: Job) -> None:
    found = wiped_or_masked(shop, letters, over="wipe")
    assert found.value is not None
    assert found.pays_at_low  # wiping in no time is cheaper than masking
    wiped = cost(shop, letters, finish="two_tone_wiped", book={**shop.book, WIPE_QUESTION: found.value})
    assert float(wiped.total) == pytest.approx(float(cost(shop, letters, finish="two_tone_masked").total), rel=1e-9)
    text = say_wiped(found, lambda value: f"{value:.2f} min/m")
    assert text == f"By wiping time, cheaper is wiping up to {found.value:.2f} min/m, masking beyond."


def test_slow_wiping_loses_to_masking_from_some_metres(shop: Shop, letters: Job) -> None:
    rates = {**shop.rates, WIPE_QUESTION: replace(shop.rates[WIPE_QUESTION], low=6.0, likely=6.5, high=8.0)}
    slow = replace(shop, rates=rates)
    found = wiped_or_masked(slow, letters, over="line")
    assert found.value is not None
    at = with_part(letters, line_m=found.value / letters.pieces)
    one, two = (float(cost(slow, at, finish=f"two_tone_{way}").total) for way in ("wiped", "masked"))
    assert one == pytest.approx(two, rel=1e-9)
    rates = {**shop.rates, WIPE_QUESTION: replace(shop.rates[WIPE_QUESTION], low=0.5, likely=0.6, high=0.8)}
    always = wiped_or_masked(replace(shop, rates=rates), letters, over="line")
    assert say_wiped(always, lambda value: f"{value:.0f} m").startswith("Wiping is cheaper at every line from 0 m to")


def test_two_finishes_side_by_side_share_seed_and_draws(shop: Shop, letters: Job) -> None:
    one, two = two_tone(shop, letters, seed=1, draws=8192).risks
    assert one.seed == two.seed
    assert np.corrcoef(one.costs, two.costs)[0, 1] > 0.2


def test_the_week_of_the_demo_shop_fits_its_hours(shop: Shop, items: dict[str, Item]) -> None:
    wanted = read_week(shop, items)
    week = plan_of(shop, wanted)
    hours = week_hours(shop)
    assert hours["owner"] == pytest.approx(shop.owner.hours_per_week_h * shop.owner.billable)
    assert hours["small oven"] * shop.owner.weeks == pytest.approx(1000.0)
    for resource in week.resources:
        assert resource.used <= hours[resource.name] + 1e-9
    for offer, work in zip(offers(shop, wanted), week.works, strict=True):
        assert work.earns == pytest.approx(offer.price - float(offer.sheet.cash - offer.sheet.wages))
        both = float(offer.sheet.hours_of("owner") + offer.sheet.hours_of("helper"))
        assert work.hours["owner"] + work.either == pytest.approx(both)
    assert week.runs_out_first()[0] == "owner"
    twice = plan_of(shop, wanted, hours={name: 2 * there for name, there in hours.items()})
    assert twice.earned > week.earned
    assert twice.scarce is None


def test_the_month_adds_up_the_wanted_orders(shop: Shop, items: dict[str, Item]) -> None:
    wanted = read_week(shop, items)
    found = month_of(shop, wanted)
    brought = sum(
        (o.price - float(o.sheet.cash - o.sheet.wages)) * o.wanted.orders * 52 / 12 for o in offers(shop, wanted)
    )
    assert found.profit == pytest.approx(brought - fixed_per_month(shop))


def test_what_may_not_be_quoted_is_left_out_of_the_week(shop: Shop, items: dict[str, Item]) -> None:
    strict = replace(shop, policy=shop.policy.model_copy(update={"most_heat_cycles": 1}))
    wanted = read_week(shop, items)
    wheels = wanted[0]._replace(item=items["wheel_set"], column="two_tone", units=1)
    assert len(offers(strict, [wheels])) == 0


def test_a_bad_week_is_told_all_at_once(shop: Shop, items: dict[str, Item], tmp_path: Path) -> None:
    path = tmp_path / "week.csv"
    path.write_text(
        "item,column,orders_per_week,units_per_order\nbench_ends,single,1,1\nbench_end,twotone,-1,0.5\n",
        encoding="utf-8",
    )
    with pytest.raises(BadInput) as caught:
        read_week(shop, items, path)
    assert str(caught.value) == (
        f"{path} needs mending:\n"
        "  line 2: item is 'bench_ends'; it must be an item of items.csv. Did you mean 'bench_end'?\n"
        "  line 3: column is 'twotone'; it must be single or two_tone. Did you mean 'two_tone'?\n"
        "  line 3: orders_per_week is '-1'; it must be 0 or more and at most 10000.\n"
        "  line 3: units_per_order is '0.5'; it must be 1 or more and at most 100000."
    )
    path.write_text("item,column,orders_per_week\nbench_end,single,1\nbench_end,single,2\n", encoding="utf-8")
    with pytest.raises(BadInput, match="there once. Add the orders up"):
        read_week(shop, items, path)
    with pytest.raises(BadInput, match="no orders"):
        read_week(replace(shop, week=UsualWeek()), items)


def test_wages_are_paid_whether_or_not_anybody_books_them(shop: Shop) -> None:
    """The helper's 16 h a week cost 46 x 16 x 16.50 x 1.28 = 15,544 a year; a month without a helper saves just that."""
    assert shop.helper is not None
    assert shop.helper.wages_per_y == pytest.approx(46 * 16 * 16.50 * 1.28)
    without = with_helpers(shop, 0)
    assert fixed_per_month(shop) - fixed_per_month(without) == pytest.approx(shop.helper.wages_per_y / 12)
    assert fixed_per_month(with_helpers(shop, 2)) - fixed_per_month(shop) == pytest.approx(shop.helper.wages_per_y / 12)
    with pytest.raises(BadInput, match="helpers is 10"):
        with_helpers(shop, 10)


def test_the_best_week_uses_the_paid_helper(shop: Shop, items: dict[str, Item]) -> None:
    """Steps move to the helper until the paid hours are full (before, 6.4 of 12.8 h stayed idle, worth 0 an hour)."""
    week = plan_of(shop, read_week(shop, items))
    rows = {row.name: row for row in week.resources}
    assert rows["helper"].full
    assert rows["helper"].one_more_hour > 20
    assert week.helped_share > 0.5
    none = plan_of(shop, read_week(shop, items), hours=week_hours(with_helpers(shop, 0)))
    two = plan_of(shop, read_week(shop, items), hours=week_hours(with_helpers(shop, 2)))
    assert none.earned < week.earned < two.earned


def test_hours_nobody_uses_have_their_own_line(shop: Shop, items: dict[str, Item]) -> None:
    """Practical hours less used ones at the hour rate; a week without work leaves all of them."""
    wanted = read_week(shop, items)
    week = plan_of(shop, wanted)
    for row, there in zip(unused_hours(shop, week), week.resources, strict=True):
        assert row.hours == pytest.approx(there.hours - there.used, abs=1e-9)
        assert row.money == pytest.approx(row.hours * shop.hour_rates[row.name])
    empty = unused_hours(shop, plan_of(shop, ()))
    machines = sum(m.yearly_cost(shop.policy.interest) for m in shop.machines.all())
    owner = shop.owner.draw_per_y * (1 + shop.owner.on_cost)
    wages = shop.helper.wages_per_y if shop.helper else 0.0
    assert sum(row.money for row in empty) * shop.owner.weeks == pytest.approx(machines + owner + wages)
