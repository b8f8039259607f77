"""What a bank asks: each figure held against the sum it stands for, done here by hand."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pricing.basis.errors import BadInput
from pricing.parts.items import Item
from pricing.prices import bank_view as module
from pricing.prices.bank_view import Bank, _even, bank_view
from pricing.prices.questions import fixed_per_month
from pricing.prices.week import Offer, offers, plan_of, read_week, week_hours
from pricing.shop.shop import Shop


@pytest.fixture(scope="module")
def usual(shop: Shop, items: dict[str, Item]) -> tuple[Offer, ...]:
    return offers(shop, read_week(shop, items))


@pytest.fixture(scope="module")
def bank(shop: Shop, usual: tuple[Offer, ...]) -> Bank:
    return bank_view(shop, usual)


def scaled(usual: tuple[Offer, ...], share: float) -> tuple[Offer, ...]:
    return tuple(one._replace(wanted=one.wanted._replace(orders=one.wanted.orders * share)) for one in usual)


def test_money_in_machines_and_stock_is_the_sum_of_the_files(shop: Shop, bank: Bank) -> None:
    assert bank.machines == 7800 + 19500 + 9800 + 4600 + 6400 + 2400 + 6500  # shop.toml, machine by machine
    assert bank.machines_end == 1200 + 3500 + 1000 + 500 + 700 + 0 + 500
    stock = [powder for powder in shop.powders.values() if powder.stocked]
    assert 0 < len(stock) < len(shop.powders)
    assert bank.shelf == pytest.approx(sum(powder.price_per_kg * powder.pack_kg for powder in stock))
    assert bank.tied_up == bank.shelf + bank.under_way


def test_what_a_month_leaves_is_the_planned_week_less_the_bills(
    shop: Shop, items: dict[str, Item], usual: tuple[Offer, ...], bank: Bank
) -> None:
    week = plan_of(shop, read_week(shop, items))
    assert bank.left == pytest.approx(week.earned * shop.owner.weeks / 12 - fixed_per_month(shop))
    assert bank.load == pytest.approx(week.runs_out_first()[1])
    assert bank.load_less == pytest.approx(bank_view(shop, scaled(usual, 0.8)).load)
    assert bank.load_less <= 0.8 * bank.load + 1e-9  # less of the helper's work then falls to the owner


def test_payback_gives_the_machines_back(bank: Bank) -> None:
    yearly = 12 * (bank.left + bank.bound)  # before their wear and interest, which the machines are paid back from
    assert bank.payback_y(bank.left) * yearly == pytest.approx(bank.machines)
    assert bank.payback_y(bank.left_less) >= bank.payback_y(bank.left)
    assert bank.payback_y(-bank.bound - 1.0) == float("inf")
    assert bank.cover == pytest.approx(1 + bank.left / bank.bound)


def test_interest_and_wear_are_what_an_annuity_takes(shop: Shop, usual: tuple[Offer, ...], bank: Bank) -> None:
    """Annuity factor i(1+i)^n / ((1+i)^n - 1), any textbook of engineering economy; here by hand for each machine."""
    i, total = shop.policy.interest, 0.0
    for one in shop.machines.all():
        growth = (1 + i) ** one.life_y
        total += (one.price - one.salvage) * i * growth / (growth - 1) + one.salvage * i
    assert bank.bound == pytest.approx(total / 12)
    free = replace(shop, policy=shop.policy.model_copy(update={"interest": 0.0}))
    worn = sum((one.price - one.salvage) / one.life_y for one in shop.machines.all())
    assert bank_view(free, usual).bound == pytest.approx(worn / 12)


@settings(max_examples=8, deadline=None)
@given(share=st.floats(0.05, 3.0))
def test_nothing_is_left_at_the_share_it_names(shop: Shop, usual: tuple[Offer, ...], share: float) -> None:
    found = bank_view(shop, scaled(usual, share))
    if found.even > float("-inf"):
        there = bank_view(shop, scaled(usual, share * (1 - found.even)))
        slope = found.left + fixed_per_month(shop)
        assert abs(there.left) <= 0.01 * max(slope, fixed_per_month(shop))
    assert (found.even >= 0) == (found.left >= 0) or abs(found.left) < 0.01 * fixed_per_month(shop)


@settings(max_examples=8, deadline=None)
@given(busy=st.floats(0.1, 3.0))
def test_less_work_never_leaves_more(shop: Shop, usual: tuple[Offer, ...], busy: float) -> None:
    found = bank_view(shop, scaled(usual, busy))
    assert found.left_less <= found.left + 1e-6
    assert found.left_less >= -fixed_per_month(shop) - 1e-6


def test_no_work_pays_where_the_hours_are_too_few(shop: Shop, usual: tuple[Offer, ...]) -> None:
    dear = replace(
        shop, fixed=tuple(bill.model_copy(update={"cost_per_y": 50 * bill.cost_per_y}) for bill in shop.fixed)
    )
    found = bank_view(dear, usual)
    assert found.left < 0
    assert found.even == -float("inf")
    assert week_hours(dear) == week_hours(shop)


def test_work_under_way_is_what_deposits_do_not_cover(
    shop: Shop, items: dict[str, Item], usual: tuple[Offer, ...], bank: Bank
) -> None:
    assert bank.under_way == 0  # the demo's deposits cover a week's cash
    trusting = replace(shop, policy=shop.policy.model_copy(update={"deposit": 0.0}))
    found = bank_view(trusting, offers(trusting, read_week(trusting, items)))
    assert 0 <= found.under_way < sum(one.wanted.orders * float(one.sheet.cash) for one in usual)


def test_a_week_without_orders_is_refused(shop: Shop, usual: tuple[Offer, ...]) -> None:
    with pytest.raises(BadInput, match=r"^bank needs mending:\n  the week is 'no orders'.*week\.csv"):
        bank_view(shop, scaled(usual, 0.0))


def test_cover_and_payback_are_what_they_say() -> None:
    """Cover: what is left before wear and interest, over these; payback: price over a year of it. By hand."""
    told = dict.fromkeys(("machines_end", "shelf", "under_way", "left_less", "fewer", "load", "load_less", "even"), 0.0)
    bank = Bank(machines=18_000.0, left=1_000.0, bound=500.0, **told)
    assert bank.cover == pytest.approx(3.0)
    assert bank.payback_y(bank.left) == pytest.approx(1.0)
    assert Bank(machines=18_000.0, left=1_000.0, bound=0.0, **told).cover == float("inf")


@pytest.mark.parametrize(
    ("earns", "load", "share"),
    [
        (100.0, 0.8, 0.5),
        (100.0, 2.0, 0.5),
        (60.0, 1.3, 50 / 60),
        (50.0, 1.3, 1.0),
        (20.0, 1.3, 2.5),
        (12.5, 1.3, 4.0),
        (1e4, 300.0, 0.005),
    ],
)
def test_the_share_of_the_work_that_pays_the_bills(earns: float, load: float, share: float) -> None:
    """By hand: 50 of bills over what all of the work earns; looked for to a thousandth where the hours may not do."""
    found = _even(lambda at: at * earns - 50.0, earns, 50.0, load)
    assert share <= found <= share + 0.001
    if share in {0.5, 1.0, 4.0}:
        assert found == share, "exact where there are hours for all, and at the ends"


def test_no_share_pays_what_four_times_the_work_does_not() -> None:
    assert _even(lambda at: at * 12.4 - 50.0, 12.4, 50.0, 1.3) == float("inf")
    assert _even(lambda at: -50.0 * at, 0.0, 50.0, 0.0) == float("inf")


def test_a_weeks_cash_less_its_deposits_is_under_way(
    shop: Shop, usual: tuple[Offer, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Orders that all fit into the week, and deposits of a tenth of the price: each order's cash less that."""
    monkeypatch.setattr(module, "deposit", lambda price, _: price / 10)
    few = scaled(usual, 0.2)
    by_hand = sum(one.wanted.orders * (float(one.sheet.cash) - one.price / 10) for one in few)
    assert bank_view(shop, few).under_way == pytest.approx(by_hand)
    assert by_hand > 0
