"""Margin, markup, price points and the four marks."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pricing.basis.errors import BadInput
from pricing.costing.sheet import cost
from pricing.parts.items import Item
from pricing.parts.job import Job, job_of_item
from pricing.prices.marks import deposit, margin_of, marks_of, panel_price, price_at_margin, walk_away, worth_per_hour
from pricing.prices.price_rule import round_up
from pricing.prices.quote import quote
from pricing.shop.shop import Shop
from tests.conftest import with_part, with_policy

quick = settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
money = st.floats(0.01, 1e6)


@given(money, st.floats(0, 0.98))
def test_the_margin_is_what_is_left_of_the_price(spent: float, margin: float) -> None:
    price = price_at_margin(spent, margin)
    assert margin_of(price, spent) == pytest.approx(margin, abs=1e-9)


@pytest.mark.parametrize("margin", [30, 1.0, -0.1, float("nan")])
def test_a_margin_that_is_no_share_is_sent_back(margin: float) -> None:
    with pytest.raises(BadInput, match=r"margin_share is .*; it must be from 0 to below 1"):
        price_at_margin(100.0, margin)


def test_a_margin_in_per_cent_is_told_how_to_be_written() -> None:
    with pytest.raises(BadInput, match=r"margin_share is 30\.0; it must be from 0 to below 1\. Write 30 % as 0\.3\."):
        price_at_margin(100.0, 30)


def test_the_marks_rise_from_cash_to_target(shop: Shop, plates: Job) -> None:
    sheet = cost(shop, plates)
    marks = marks_of(sheet)
    assert 0 < marks.cash_floor < marks.break_even < marks.target
    hours = float(sheet.hours_of("owner"))
    assert marks.scarce == pytest.approx(float(sheet.cash) + hours * shop.policy.scarce.worth_per_h)


def test_a_deposit_covers_a_walk_away_and_no_more_than_the_price(shop: Shop, plates: Job) -> None:
    special = with_part(plates, old_coating="powder").model_copy(update={"powders": ("moss green", "signal white")})
    sheet = cost(with_policy(shop, deposit=0.0), special)
    price = quote(with_policy(shop, deposit=0.0), special).net
    assert deposit(price, sheet) == round_up(walk_away(sheet), shop.policy)
    assert 0 < walk_away(sheet) < float(sheet.total)
    assert deposit(1.0, sheet) == 1.0


def test_what_an_hour_earns_is_price_less_cash_over_hours(shop: Shop, plates: Job) -> None:
    sheet = cost(shop, plates)
    earned = worth_per_hour(500.0, sheet, "owner")
    assert earned * float(sheet.hours_of("owner")) == pytest.approx(500.0 - float(sheet.cash))


def test_the_panel_of_the_list_is_the_panel_of_a_quote(shop: Shop, items: dict[str, Item]) -> None:
    job = job_of_item(items["gate_single"], column="two_tone").model_copy(update={"new_pair": True})
    panel = quote(shop, job).must_price().panel
    assert panel_price(shop, items) == panel > 0.0
    one_tone = {"gate": items["gate_single"].model_copy(update={"two_tone": items["gate_single"].single})}
    assert panel_price(shop, one_tone) is None
