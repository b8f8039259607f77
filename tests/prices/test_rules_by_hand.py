"""Small rules of prices, each on numbers that a pencil can follow."""

from dataclasses import replace
from math import inf
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from pricing.basis.errors import BadInput
from pricing.costing.lines import MONEY
from pricing.costing.packs import ways_to_pay
from pricing.costing.walk import LEFTOVER
from pricing.parts.items import Item
from pricing.parts.job import Job, job_of_item
from pricing.prices import powder_uses
from pricing.prices.colours import _as_dear, _respects, clear_twin, colours_of
from pricing.prices.cost_volume_profit import Month, Sold, month
from pricing.prices.extra import two_tone
from pricing.prices.list_row import ListRow
from pricing.prices.marks import margin_of, price_at_margin, worth_per_hour
from pricing.prices.order_lines import merged
from pricing.prices.powder_uses import Uses, colours, expected_uses, with_uses
from pricing.prices.price_list import Fallen, adder_of, fallen, list_price, price_list
from pricing.prices.price_rule import Tariff
from pricing.prices.quote import quote
from pricing.prices.row_costs import CLEAR, Costs, _dearer
from pricing.prices.visible_rate import Told, VisibleRate
from pricing.prices.week import Wanted, read_week, week_hours, work_of_sheet
from pricing.shop.own_prices import OwnPrice
from pricing.shop.shop import Shop
from pricing.shop.usual_week import UsualWeek
from tests.conftest import with_part, with_policy


def test_what_makes_a_powder_dear(shop: Shop) -> None:
    like = shop.powders["jet black"].model_copy(
        update={"price_per_kg": 8.0, "density_g_per_cm3": 1.5, "pack_kg": 20.0}
        | {f"film_{end}_um": 80.0 for end in ("low", "likely", "high")}
        | {"cure_degC": 200.0, "dwell_min": 10.0, "uses": 2.0, "each_kg": 0.5, "keeps_y": 1.5}
    )
    baked = (8.0, 8.0 * 1.5 * 80, 200.0, 10.0)
    assert _respects(like.model_copy(update={"way": "stocked"})) == pytest.approx((*baked, 0, 0, 0, 0, 0))
    bought = like.model_copy(update={"way": "passed_on"})
    assert _respects(bought) == pytest.approx((*baked, 120.0, 20.0, -20.0, 0, 0))
    shared = like.model_copy(update={"way": "shared"})
    again = 1 - np.exp(-3.0)  # asked for twice a year over a year and a half
    assert _respects(shared) == pytest.approx((*baked, 120.0, 20.0, -20.0, -again, -1.5))
    first, second = (bought.model_copy(update={"name": name}) for name in "ab")
    assert (_as_dear(first, second), _as_dear(second, first)) == (True, False), "of two alike one is kept"
    assert _as_dear(second, shared)
    assert not _as_dear(shared, second)


def test_a_clear_coat_is_one_coat_and_one_colour_more_with_the_same_line(shop: Shop) -> None:
    assert clear_twin(shop, "two_tone_wiped") == "two_tone_clear"
    assert clear_twin(shop, "single") == "single_clear"
    for key in ("two_tone_masked", "two_tone_clear", "single_clear"):
        assert clear_twin(shop, key) is None
    assert [colours_of(shop.finishes[key]) for key in ("single", "two_tone_masked", "two_tone_clear")] == [1, 2, 2]


def test_a_clear_coat_adds_the_larger_of_what_it_adds_in_the_two_columns(shop: Shop, items: dict[str, Item]) -> None:
    """Where one column has no finish with a clear coat, what it adds in the other; where one is refused, no price."""
    item = items["gate_single"]

    def without(key: str) -> Tariff | None:
        finishes = {name: finish for name, finish in shop.finishes.items() if name != key}
        return adder_of(replace(shop, finishes=finishes), item, CLEAR)

    both, single, two_tone = adder_of(shop, item, CLEAR), without("two_tone_clear"), without("single_clear")
    assert both is not None
    assert single is not None
    assert two_tone is not None
    assert single != two_tone
    assert both == single.most(two_tone)
    assert adder_of(shop, items["wheel_set"], CLEAR) is None


def test_rows_without_a_price_stand_empty_in_the_table(shop: Shop, items: dict[str, Item]) -> None:
    some = {key: items[key] for key in ("wheel_set", "bracket_small")}
    found = price_list(with_policy(shop, most_heat_cycles=2, list_up_to=2), some, quantities=(1,)).frame()
    by = {(row["item"], row["column"]): row for row in found.to_dict("records")}
    refused, small = by["wheel_set", "two_tone"], by["bracket_small", "single"]
    for name in ("first_EUR", "each_further_EUR", "each_beyond_2_EUR", "total_EUR", "margin_share"):
        assert np.isnan(refused[name]), name
        assert small[name] > 0
    assert (refused["at_minimum"], small["at_minimum"]) == (False, True)
    assert small["total_EUR"] == shop.policy.minimum_charge > small["first_EUR"] >= small["each_further_EUR"]


def test_the_dearer_of_two_counts_place_by_place() -> None:
    def costs(first: list[float], owner: list[float]) -> Costs:
        return Costs({kind: np.array([first]) * (kind == MONEY[0]) for kind in MONEY}, np.array([owner]))

    found = _dearer(costs([1.0, 5.0, 4.0], [1.0, 2.0, 3.0]), costs([2.0, 4.0, 4.0], [7.0, 8.0, 9.0]))
    assert found.kinds[MONEY[0]].tolist() == [[2.0, 5.0, 4.0]]
    assert found.owner_h.tolist() == [[7.0, 2.0, 3.0]], "the first where both are alike"


def test_a_row_says_where_its_price_falls_short(items: dict[str, Item]) -> None:
    """By hand: 10 and 6 each further against costs of 5 a unit: margins 50 %, 37.5 %, 6/22 ..."""
    costs = {kind: np.array([5.0, 10.0, 16.0]) * (kind == MONEY[0]) for kind in MONEY}
    asked = Tariff(10.0, 6.0, 6.0, 20)
    row = ListRow(items["gate_single"], "single", "single", asked, None, costs, np.ones(3), np.arange(1.0, 4), "")
    assert row.margins(1.0) == pytest.approx([0.5, 6 / 16, 6 / 22])
    assert row.margins(1.25) == pytest.approx([3 / 8, 2.8 / 12.8, 1.6 / 17.6])
    assert row.margins(1.0, Tariff(8.0, 4.0, 4.0, 20)) == pytest.approx([3 / 8, 2 / 12, 0.0])
    assert [row.under_from(share, 1.0) for share in (0.0, 0.375, 0.376, 0.5, 0.51)] == [None, 3, 2, 2, 1]
    assert row.cost(2) == 10.0
    with pytest.raises(BadInput, match="quantity is 4; it must be one that the list was made for"):
        row.cost(4)
    own = replace(row, own=OwnPrice(8.0, 4.0, 3.0))
    assert own.tariff == Tariff(8.0, 4.0, 3.0, 20)
    none = replace(row, asked=None)
    assert none.under_from(0.0, 1.0) is None
    assert np.isnan(none.margins(1.0)).all()


def test_a_price_falls_by_the_larger_of_both_its_shares(shop: Shop, items: dict[str, Item]) -> None:
    one, other = Tariff(100.0, 40.0, 30.0, 20), Tariff(90.0, 32.0, 30.0, 20)
    assert Fallen(("a", "single"), "a", one, other).by == pytest.approx(0.2)
    assert Fallen(("a", "single"), "a", one, Tariff(70.0, 39.0, 1.0, 20)).by == pytest.approx(0.3)
    few = {"gate_single": items["gate_single"]}
    lower = with_policy(shop, target_margin=shop.policy.target_margin / 2)
    assert {one.place for one in fallen(shop, lower, few)} == {("gate_single", "single"), ("gate_single", "two_tone")}
    assert fallen(lower, shop, few) == fallen(shop, shop, few) == ()


def test_the_extra_of_an_order_by_its_line() -> None:
    line = Tariff(30.0, 12.0, 10.0, 20)
    assert [line.total(n) for n in (1, 2, 20, 21, 25)] == [30.0, 42.0, 258.0, 268.0, 308.0]


def test_the_extra_where_the_plain_job_takes_no_scarce_hour(shop: Shop, letters: Job) -> None:
    """Then an hour is worth what the policy says it is: cash and hours of two-tone, less the plain price."""
    found = two_tone(shop, letters)
    sheets = [SimpleNamespace(hours_of=lambda _, h=h: h, cash=c) for h, c in ((0.0, 50.0), (3.0, 80.0))]
    sides = [
        cast("Any", SimpleNamespace(sheet=sheet, shop=shop, net=100.0, cost=60.0 + at))
        for at, sheet in enumerate(sheets)
    ]
    none = replace(found, plain=sides[0], fancy=sides[1])
    assert none.keeping_hours == pytest.approx(80 + 3 * shop.policy.scarce.worth_per_h - 100)
    busy = SimpleNamespace(sheet=SimpleNamespace(hours_of=lambda _: 0.5, cash=50.0), shop=shop, net=100.0, cost=60.0)
    half = replace(none, plain=cast("Any", busy))
    assert half.keeping_hours == pytest.approx(80 + 3 * 100 - 100)
    assert none.keeping_margin == pytest.approx(61 / 0.6 - 100)
    dearer = replace(none, asked=120.0)
    assert (dearer.before, dearer.extra, dearer.keeping_margin) == pytest.approx((120.0, -20.0, 61 / 0.5 - 120))


def test_what_an_hour_brings_where_some_jobs_take_none() -> None:
    def brings(hours: Any) -> Any:
        sheet = SimpleNamespace(hours_of=lambda _: hours, cash=40.0)
        return worth_per_hour(100.0, cast("Any", sheet), "owner")

    assert brings(0.5) == 120.0
    assert isinstance(brings(0.5), float)
    assert np.isnan(brings(0.0))
    assert brings(np.array([0.5, 0.0, 2.0])) == pytest.approx([120.0, np.nan, 30.0], nan_ok=True)


def test_margins_at_their_ends() -> None:
    assert margin_of(0.0, 5.0) == -inf
    assert np.asarray(margin_of(np.array([0.0, -1.0, 10.0, 20.0]), 5.0)).tolist() == [-inf, -inf, 0.5, 0.75]
    assert price_at_margin(60.0, 0.0) == 60.0
    assert price_at_margin(60.0, 0.4) == pytest.approx(100.0)
    with pytest.raises(BadInput, match=r"margin_share is 1\.0; .*Write 1 % as 0\.01\."):
        price_at_margin(60.0, np.array([0.0, 1.0]))
    with pytest.raises(BadInput, match=r"margin_share is -0\.1; it must be from 0 to below 1\.?$"):
        price_at_margin(60.0, np.array([0.2, -0.1]))


def test_a_month_by_hand() -> None:
    """Ten at 30 less 20 and five at 100 less 40: 400 brought of 800; 200 of bills want half of it."""
    mix = [Sold("a", 30.0, 20.0, 10.0), Sold("b", 100.0, 40.0, 5.0)]
    found = month(mix, 200.0)
    assert found == pytest.approx(Month(400 / 15, 0.5, 15.0, 7.5, 400.0, 0.5, 200.0))
    assert (
        found.say()
        == "8 jobs of this mix pay the fixed costs; planned are 15, of which 50% may fall away. Left over: 200."
    )
    short = month(mix, 600.0)
    assert short.margin_of_safety == pytest.approx(-0.5)
    assert "which would have to grow by 50%. Left over: -200 EUR." in short.say(currency="EUR")
    few = [month([Sold("a", 30.0, 20.0, n)], 100.0).say() for n in (10.0, 9.5, 4.0)]
    assert [text.partition("planned are ")[2].partition(",")[0] for text in few] == ["10", "9.5", "4"]
    assert few[0].startswith("10 jobs")
    assert "of which 0% may fall away" in few[0]
    nothing = month([Sold("a", 20.0, 20.0, 3.0)], 100.0)
    assert (nothing.break_even_quantity, nothing.margin_of_safety, nothing.profit) == (inf, -inf, -100.0)
    given_away = month([Sold("a", 0.0, 0.0, 3.0)], 0.0)
    assert (given_away.contribution_ratio, given_away.profit) == (0.0, 0.0)


def test_the_week_of_a_job_in_words_and_hours(shop: Shop, items: dict[str, Item]) -> None:
    item = items["gate_single"]
    assert Wanted(item, "two_tone", 1.0, 1).name == f"{item.title}, two-tone"
    assert Wanted(item, "single", 1.0, 2).name == f"{item.title}, single-tone × 2"
    found = quote(shop, job_of_item(item))
    hours = week_hours(shop)
    work = work_of_sheet(found.job.title, found.net, found.sheet, hours)
    assert work.wanted == 1.0
    assert work.earns == pytest.approx(found.net - float(found.sheet.cash - found.sheet.wages))
    assert work.hours["owner"] == pytest.approx(float(found.sheet.minutes) / 60 - float(found.sheet.either_h))
    assert (work.hours["helper"], work.either) == (0.0, float(found.sheet.either_h))
    alone = {name: there for name, there in hours.items() if name != "helper"}
    assert "helper" not in work_of_sheet("", found.net, found.sheet, alone).hours


def test_how_far_the_visible_rate_misses() -> None:
    rows = tuple(Told("a", "single", 1, 1.0, 0.0, 100.0, by) for by in (90.0, 150.0, 105.0, 100.0, 70.0))
    assert [row.miss for row in rows] == pytest.approx([-0.1, 0.5, 0.05, 0.0, -0.3])
    found = VisibleRate(50.0, rows)
    assert found.usual_miss == pytest.approx(0.1)
    assert (found.worst[0].by_rate, found.worst[1].by_rate) == (70.0, 150.0)


def test_lots_are_one_kind_only_with_the_same_part_and_row(plates: Job, items: dict[str, Item]) -> None:
    lot = plates.lots[0]
    other = with_part(plates, 3, area_m2=lot.part.area_m2 * 2).lots[0]
    row = with_part(plates, 5, item=items["gate_single"]).lots[0]
    assert [(one.quantity, one.item) for one in merged([lot, other, lot, row])] == [
        (2 * lot.quantity, None),
        (3, None),
        (5, items["gate_single"]),
    ]


def test_uses_of_a_powder_are_what_the_weeks_of_a_year_take(
    shop: Shop, items: dict[str, Item], monkeypatch: pytest.MonkeyPatch
) -> None:
    """By hand, 46 weeks: 2 orders of 0.5 + 0.25 kg and 3 of 0.5 kg are 230 uses of (92 x 0.75 + 138 x 0.5) / 230 kg."""
    assert shop.owner.weeks == 46
    item = items["gate_single"]

    def line(step: str, **kg: float) -> SimpleNamespace:
        return SimpleNamespace(
            step=step, materials=[SimpleNamespace(name=n.replace("_", " "), kg=k) for n, k in kg.items()]
        )

    sheets = {
        1: [line("coat", jet_black=0.5, tape=9.0), line("coat", jet_black=0.25), line(LEFTOVER, jet_black=5.0)],
        2: [line("coat", jet_black=0.5, sky_blue=0.3)],
    }
    monkeypatch.setattr(powder_uses, "cost", lambda _shop, job: SimpleNamespace(lines=sheets[job.lots[0].quantity]))
    wanted = [Wanted(item, "single", 2.0, 1), Wanted(item, "single", 3.0, 2), Wanted(item, "single", 0.0, 2)]
    found = expected_uses(shop, wanted)
    assert found["jet black"] == pytest.approx((230.0, (92 * 0.75 + 138 * 0.5) / 230))
    assert found["sky blue"] == pytest.approx((138.0, 0.3))
    assert set(found) == {"jet black", "sky blue"}
    assert expected_uses(shop, wanted[2:]) == {}
    again = with_uses(shop, [Wanted(item, "single", 0.123, 1)]).powders
    assert (again["jet black"].uses, again["jet black"].each_kg) == (5.7, 0.75)  # 0.123 x 46 = 5.658
    assert again["sky blue"] == shop.powders["sky blue"]
    shown = {one.powder.name: one for one in colours(shop, wanted)}
    assert list(shown) == list(shop.powders)
    blue, hopper = shop.powders["sky blue"], float(shop.book["powder.hopper"])
    asked = blue.model_copy(update={"uses": 138.0, "each_kg": 0.3})
    assert shown["sky blue"].uses == pytest.approx((138.0, 0.3))
    assert shown["sky blue"].pays == pytest.approx(ways_to_pay(asked, 0.3, hopper))
    rest = shop.powders["moss green"]
    bare = replace(shop, powders={**shop.powders, "moss green": rest.model_copy(update={"each_kg": 0.0})})
    green = next(one for one in colours(bare, wanted) if one.powder.name == "moss green")
    assert green.uses == Uses(rest.uses, 0.0), "nobody asks: its own row, and the least that feeds the gun"
    assert green.pays == pytest.approx(ways_to_pay(bare.powders["moss green"], hopper, hopper))


def test_the_same_quote_at_another_price(shop: Shop, letters: Job) -> None:
    found = quote(shop, letters)
    assert found.asking(found.net) is found
    assert found.at_times(1) is found
    dearer = found.asking(found.net + 10.0)
    assert (dearer.net, dearer.must_price().apart) == (found.net + 10.0, 10.0)
    assert dearer.lines is found.lines


def test_what_cannot_be_priced_is_told_with_its_name(shop: Shop, items: dict[str, Item]) -> None:
    once, wheels = with_policy(shop, most_heat_cycles=1), items["wheel_set"]
    with pytest.raises(BadInput, match=rf"^{wheels.title}[^\n]* needs mending:\n  the job is 'not to be quoted'"):
        quote(once, job_of_item(wheels, column="two_tone")).must_price()
    with pytest.raises(BadInput, match=rf"^{wheels.title} needs mending:\n  the price is 'none'; it must be an item"):
        list_price(once, wheels, column="two_tone")
    first, *rest = shop.week.orders
    with pytest.raises(BadInput, match=rf"^week\.csv needs mending:\n  item is '{first.item}'; it must be an item of"):
        read_week(shop, {one.item: items[one.item] for one in rest if one.item != first.item})
    slip = UsualWeek(orders=(first.model_copy(update={"item": "gate_singel"}),))
    with pytest.raises(BadInput, match=r"item is 'gate_singel'; .* Did you mean 'gate_single'\?"):
        read_week(replace(shop, week=slip), items)
    with pytest.raises(BadInput, match=r"^week\.csv needs mending:\n  the week is 'no orders'"):
        read_week(replace(shop, week=UsualWeek()), items)
