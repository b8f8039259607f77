"""Hire, buy, drop: held to a published investment, to a reference library, and to what must be so in any shop."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np
import numpy_financial as npf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pricing.basis.errors import BadInput
from pricing.basis.money import capital_recovery, payback_y, present_value
from pricing.costing.capacity import plan_week
from pricing.parts.items import Item
from pricing.prices.hire_buy_drop import YearChoice, YearChoices, year_choices
from pricing.prices.questions import fixed_per_month
from pricing.prices.week import Offer, offers, plan_of, read_week, week_hours, work_of
from pricing.shop.folder import open_shop
from pricing.shop.machines import Considered
from pricing.shop.shop import Shop
from pricing.show.mix_view import choice_words, nothing_to_drop, worth_telling
from pricing.show.words import Words


@pytest.fixture(scope="module")
def week(shop: Shop, items: Mapping[str, Item]) -> tuple[Offer, ...]:
    return offers(shop, read_week(shop, items))


def one(found: YearChoices, what: str) -> YearChoice:
    return next(row for row in found.rows if row.what == what)


@given(st.lists(st.floats(-1e5, 1e5, allow_nan=False), min_size=1, max_size=12), st.floats(0.0, 0.4, allow_nan=False))
def test_present_value_is_that_of_numpy_financial(flows: list[float], rate: float) -> None:
    assert present_value(flows, rate) == pytest.approx(float(npf.npv(rate, flows)), rel=1e-9, abs=1e-6)


def test_a_machine_is_paid_back_with_interest_just_when_it_earns_its_yearly_charge() -> None:
    """What `yearly_capital_charge` asks a year has a present value of nothing left: price, life, salvage and rate alike."""
    for rate, years in ((0.0, 4), (0.06, 12), (0.35, 5)):
        brings = 10_000 * capital_recovery(rate, years)
        assert present_value([-10_000, *[float(brings)] * years], rate) == pytest.approx(0, abs=1e-6)
        assert float(npf.irr([-10_000, *[float(brings)] * years])) == pytest.approx(rate, abs=1e-6)
    assert payback_y(10_000, -1.0) == np.inf


def test_a_helper_is_paid_whether_or_not_there_is_work(shop: Shop, week: tuple[Offer, ...]) -> None:
    slack, busy = year_choices(shop, week, 0.2), year_choices(shop, week, 2.0)
    assert shop.helper is not None
    wages = shop.helper.wages_per_y
    assert one(slack, "one helper more").more == pytest.approx(-wages), "no hour runs out, and the wage is paid"
    assert one(busy, "one helper more").more > 0
    gone = one(busy, "without a helper")
    assert gone.year.left == pytest.approx(busy.today.left + gone.more)


def test_the_year_is_that_of_the_week_and_the_month(shop: Shop, week: tuple[Offer, ...]) -> None:
    found = year_choices(shop, week)
    earned = plan_of(shop, [offer.wanted for offer in week]).earned
    assert found.today.left == pytest.approx(shop.owner.weeks * earned - 12 * fixed_per_month(shop))
    assert (found.today.runs_out, found.today.load > 1) == ("owner", True)


def test_a_machine_that_nobody_waits_for_loses_its_price_and_its_upkeep(shop: Shop, week: tuple[Offer, ...]) -> None:
    oven = shop.to_buy[0]
    found = one(year_choices(shop, week), oven.name)
    years, rate = round(oven.life_y), shop.policy.interest
    flows = [-oven.price, *[-oven.upkeep_per_y] * (years - 1), oven.salvage - oven.upkeep_per_y]
    assert found.worth == pytest.approx(float(npf.npv(rate, flows)))
    assert found.back_y == np.inf
    assert found.more == pytest.approx(-float(npf.pmt(rate, years, found.worth)))


def test_an_oven_that_is_waited_for_pays(shop: Shop, items: Mapping[str, Item], week: tuple[Offer, ...]) -> None:
    """Ovens with few hours: a second one is paid back, and then the owner's hours run out next."""
    ovens = tuple(oven.model_copy(update={"practical_hours_h": 120.0}) for oven in shop.machines.oven)
    short = replace(shop, machines=shop.machines.model_copy(update={"oven": ovens}))
    asked = offers(short, read_week(short, items))
    found = year_choices(short, asked)
    assert found.today.runs_out == "small oven"
    bought = one(found, "second small oven")
    assert bought.more > 0
    assert bought.worth > 0
    assert 0 < bought.back_y < 12
    assert bought.year.runs_out == "owner"
    assert bought.back_y == pytest.approx(bought.spent / (bought.more + _charge(short, short.to_buy[0])), rel=1e-9)


def _charge(shop: Shop, machine: Considered) -> float:
    rate, years = shop.policy.interest, round(machine.life_y)
    return -float(npf.pmt(rate, years, machine.price, -machine.salvage))


def test_air_pays_where_blasting_waits_for_it(shop: Shop, items: Mapping[str, Item]) -> None:
    """A compressor far too small: hands wait at the cabinet until a larger one stands in its place."""
    weak = shop.machines.compressor.model_copy(update={"free_air_m3_per_min": 0.2, "motor_kw": 1.5})
    thin = replace(shop, machines=shop.machines.model_copy(update={"compressor": weak}))
    found = one(year_choices(thin, offers(thin, read_week(thin, items))), "larger compressor")
    assert found.more > 1_000
    assert found.spent == pytest.approx(9_800 - 2_000)


def test_work_is_dropped_when_its_hours_earn_more_elsewhere(shop: Shop, week: tuple[Offer, ...]) -> None:
    """All of it taken on, against none: by the linear programme with that much of it forced in."""
    hours = week_hours(shop)
    found = year_choices(shop, week, 2.5)
    works = [(work := work_of(offer, hours))._replace(wanted=2.5 * work.wanted) for offer in week]
    for row in [row for row in found.rows if row.way == "drop" and not row.what.startswith("all ")]:
        rest = [work for work in works if work.name != row.what]
        mine = next(work for work in works if work.name == row.what)
        forced = plan_week([*rest, mine._replace(earns=1e6)], hours)  # nothing else is worth as much
        taken = float(forced.taken[-1])
        assert taken == pytest.approx(mine.wanted)
        whole = forced.earned - taken * (1e6 - mine.earns)
        assert row.more == pytest.approx(shop.owner.weeks * (plan_week(rest, hours).earned - whole), abs=0.01)
    assert max(row.more for row in found.rows if row.way == "drop") > 0
    assert all(row.more < 0 for row in year_choices(shop, week, 0.3).rows if row.way == "drop"), (
        "there are hours to spare"
    )


def test_it_is_told_in_words(shop: Shop, week: tuple[Offer, ...]) -> None:
    found, words = year_choices(shop, week), Words(shop)
    told = [choice_words(words, row) for row in worth_telling(shop, found)]
    assert [what for what, _, _ in told] == [
        "Work with one helper more",
        "Without a helper",
        "Buy the larger compressor",
        "Buy the second small oven",
    ]
    assert "€8,200 at once, it never comes back" in told[3][2]
    assert nothing_to_drop(shop, found).startswith("No kind of work is better dropped")
    busy = year_choices(shop, week, 2.5)
    assert any(row.way == "drop" for row in worth_telling(shop, busy))
    assert nothing_to_drop(shop, busy) == ""


def test_a_machine_to_buy_must_be_like_one_of_the_shop(own: Path) -> None:
    text = (own / "shop.toml").read_text("utf-8")
    (own / "shop.toml").write_text(text.replace('like = "small oven"', 'like = "smal oven"'), "utf-8")
    with pytest.raises(
        BadInput, match=r"second small oven: like is 'smal oven'; it must be .*Did you mean 'small oven'"
    ):
        open_shop(own)
