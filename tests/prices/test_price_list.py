"""The price list: the same figures as one quote after another, and prices an owner could print."""

import numpy as np
import pytest

from pricing.basis.errors import BadInput
from pricing.basis.units import as_float
from pricing.costing.sheet import cost
from pricing.parts.items import Item
from pricing.parts.job import Job, Lot
from pricing.prices.marks import list_price
from pricing.prices.price_list import PriceList, price_list
from pricing.shop.shop import Shop
from tests.conftest import with_policy


@pytest.fixture(scope="module")
def demo(shop: Shop, items: dict[str, Item]) -> PriceList:
    return price_list(shop, items, quantities=(1, 5, 20))


def test_each_row_costs_what_its_own_quote_costs(shop: Shop, demo: PriceList) -> None:
    for at, item in enumerate(demo.items):
        pieces = int(item.pieces * demo.quantity[at])
        job = Job(title="t", finish=demo.finish[at], powders=item.powders, lots=(Lot(part=item.part, quantity=pieces),))
        one = cost(shop, job)
        for kind, column in demo.costs.items():
            assert column[at] == pytest.approx(float(getattr(one, kind)), rel=1e-9), (item.key, demo.finish[at])


def test_a_price_for_one_is_the_price_of_its_quote(shop: Shop, items: dict[str, Item], demo: PriceList) -> None:
    for at in np.flatnonzero(demo.quantity == 1):
        if not demo.refused[at]:
            assert demo.price[at] == pytest.approx(list_price(float(demo.cost[at]), shop.policy).printed)


def test_every_row_keeps_the_wanted_margin(shop: Shop, demo: PriceList) -> None:
    assert (demo.margin >= shop.policy.target_margin - 1e-9).all()


def test_two_tone_is_dearer_and_its_extra_covers_its_cost(demo: PriceList, shop: Shop) -> None:
    both = demo.side_by_side()
    assert (both[f"extra_{shop.currency}"] > 0).all()
    for column in ("single", "two_tone"):
        assert (both[f"{column}_price_{shop.currency}"] > both[f"{column}_cost_{shop.currency}"]).all()


def test_a_batch_is_cheaper_by_the_piece(demo: PriceList) -> None:
    prices = demo.price.reshape(-1, 3)
    assert (np.diff(prices, axis=1) <= 0).all()


def test_with_tax_the_list_is_rounded_with_tax(shop: Shop, items: dict[str, Item]) -> None:
    taxed = with_policy(shop, prices_include_tax=True)
    prices = price_list(taxed, items)
    steps = {point.step for point in taxed.policy.price_points}
    assert all(any(abs(price / step - round(price / step)) < 1e-6 for step in steps) for price in prices.price)
    net = prices.price / (1 + taxed.policy.sales_tax)
    assert prices.margin == pytest.approx((net - prices.cost) / net)


def test_rows_that_may_not_be_quoted_have_no_price(shop: Shop, items: dict[str, Item]) -> None:
    strict = price_list(with_policy(shop, most_heat_cycles=2), items)
    wheels = [at for at, item in enumerate(strict.items) if item.key == "wheel_set"]
    assert [bool(np.isnan(strict.price[at])) for at in wheels] == [False, True]
    assert "do not quote" in strict.refused[wheels[1]]


@pytest.mark.parametrize("quantities", [(), (0,), (-3, 1), (1.5,)])
def test_odd_quantities_are_refused(shop: Shop, items: dict[str, Item], quantities: tuple[int, ...]) -> None:
    with pytest.raises(BadInput, match="price list needs mending"):
        price_list(shop, items, quantities=quantities)


# --- would these numbers embarrass the owner? -----------------------------------------------------------------
# Market anchors: an equipment maker's public guide to pricing powder-coating services, US samples of 2021 to 2023:
# minimum charge 25 to 100 USD and more; middle items 75 to 150 USD each; a set of four alloy wheels, stripped,
# outgassed, one colour, 375 to 500 USD in 2023; two to four times that in shops of high reputation. Held to them in
# EUR one for one (common practice, no source: exchange and later years are inside the width of the bands).
ANCHOR = "equipment maker's public guide, US samples 2021-2023"


def _single(demo: PriceList, key: str) -> float:
    return next(
        float(p)
        for p, item, column, n in zip(demo.price, demo.items, demo.column, demo.quantity, strict=True)
        if (item.key, column, n) == (key, "single", 1)
    )


def test_the_minimum_charge_is_in_the_market_band(shop: Shop) -> None:
    assert 25 <= shop.policy.minimum_charge <= 100, ANCHOR


@pytest.mark.parametrize("key", ["sign_letter_300", "house_number", "bracket_small", "lamp_shade", "bicycle_frame"])
def test_middle_items_are_in_the_market_band(demo: PriceList, key: str) -> None:
    assert 75 <= _single(demo, key) <= 150, ANCHOR


def test_a_set_of_wheels_is_in_the_market_band(demo: PriceList) -> None:
    assert 375 <= _single(demo, "wheel_set") <= 500, ANCHOR


def test_prices_by_area_spread_as_the_market_does(demo: PriceList) -> None:
    """Quotes by area run from about 4 to 45 USD/ft² (custom coater's page): area alone prices no job."""
    foot = as_float("1 ft2", "m**2", "a")
    per_ft2 = [
        price / (item.part.area_m2 * item.pieces / foot)
        for price, item, column, n in zip(demo.price, demo.items, demo.column, demo.quantity, strict=True)
        if column == "single" and n == 20
    ]
    assert min(per_ft2) > 4
    assert max(per_ft2) < 45
    assert max(per_ft2) > 2 * min(per_ft2)


def test_powder_is_a_modest_share_of_the_price(shop: Shop, items: dict[str, Item]) -> None:
    """At most 20 % of the price is a printed target (trade magazine, June 2018, p. 44)."""
    for item in items.values():
        job = Job(
            title="t", finish="single", powders=item.powders, lots=(Lot(part=item.part, quantity=item.pieces * 5),)
        )
        sheet = cost(shop, job)
        names = set(shop.powders)
        powder = sum(float(m.kg * m.price_per_kg) for line in sheet.lines for m in line.materials if m.name in names)
        assert powder / float(list_price(sheet.total, shop.policy).net) < 0.20, item.key
