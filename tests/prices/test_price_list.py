"""The price list: tariffs on the costs of one quote after another, and prices an owner could print."""

from dataclasses import replace
from itertools import product

import pytest

from pricing.basis.errors import BadInput
from pricing.basis.typed import read_field
from pricing.costing.lines import MONEY
from pricing.costing.sheet import cost
from pricing.parts.items import Item
from pricing.parts.job import job_of_item
from pricing.prices.colours import BASE, BOUGHT, classes
from pricing.prices.price_list import PriceList, adder_of, list_row, price_list
from pricing.prices.price_rule import round_each, round_up
from pricing.prices.quote import quote
from pricing.prices.row_costs import CLEAR
from pricing.shop.own_prices import OwnPrice
from pricing.shop.shop import Shop
from tests.conftest import with_policy


@pytest.fixture(scope="module")
def demo(shop: Shop, items: dict[str, Item]) -> PriceList:
    return price_list(shop, items, quantities=(1, 5, 20))


def test_each_row_costs_what_its_own_quote_costs_in_the_dearest_colours(shop: Shop, demo: PriceList) -> None:
    stock = [powder.name for powder in classes(shop)[BASE]]
    for row in demo.rows:
        colours = 1 if row.column == "single" else 2
        for units in (1, 5, 20, 60):
            job = job_of_item(row.item, units=units, column=row.column)
            costs = [
                float(cost(shop, job.model_copy(update={"powders": names})).total)
                for names in product(stock, repeat=colours)
            ]
            assert row.cost(units) == pytest.approx(max(costs), rel=1e-9), (row.item.key, row.column, units)
            assert sum(float(row.costs[kind][units - 1]) for kind in MONEY) == pytest.approx(row.cost(units))


def test_every_row_keeps_the_wanted_margin(shop: Shop, demo: PriceList) -> None:
    for row in demo.rows:
        assert (row.margins(1.0) >= shop.policy.target_margin - 1e-9).all()
        assert row.under_from(shop.policy.target_margin, 1.0) is None


def test_an_own_price_is_told_where_it_falls_short(shop: Shop, items: dict[str, Item]) -> None:
    first = float(price_list(shop, items).row("bracket_small").asked.first)  # type: ignore[union-attr]
    own = {("bracket_small", "single"): OwnPrice(first, 6.0, 6.0)}
    row = price_list(replace(shop, own_prices=own), items).row("bracket_small")
    thin, loses = row.under_from(shop.policy.target_margin, 1.0), row.under_from(0.0, 1.0)
    assert thin is not None
    assert loses is not None
    assert 1 < thin <= loses
    assert (row.margins(1.0)[: thin - 1] >= shop.policy.target_margin - 1e-9).all()
    assert row.margins(1.0)[loses - 1] < 0 <= row.margins(1.0)[loses - 2]


def test_a_row_can_be_locked_or_hidden_and_keep_its_worked_out_price(shop: Shop, items: dict[str, Item]) -> None:
    nan = float("nan")
    marked = replace(shop, own_prices={("gate_single", "single"): OwnPrice(nan, nan, nan, locked=True, hidden=True)})
    row = price_list(marked, items).row("gate_single")
    assert row.tariff == row.asked == price_list(shop, items).row("gate_single").tariff
    assert row.hidden
    assert row.locked


def test_one_row_alone_is_the_row_of_the_list(shop: Shop, demo: PriceList) -> None:
    for row in demo.rows:
        alone = list_row(shop, row.item, row.column)
        assert alone.tariff == row.tariff
        for name, adder in demo.adders[row.item.key].items():
            assert adder_of(shop, row.item, name) == adder


def test_a_clear_coat_and_a_colour_bought_in_cost_more(shop: Shop, items: dict[str, Item], demo: PriceList) -> None:
    for key, adders in demo.adders.items():
        assert {CLEAR, BOUGHT} <= set(adders) | ({CLEAR} if key == "wheel_set" else set())
        for adder in adders.values():
            assert adder.first > 0
            assert adder.first >= adder.each >= adder.beyond >= 0


def test_with_tax_the_list_is_rounded_with_tax(shop: Shop, items: dict[str, Item]) -> None:
    taxed = with_policy(shop, prices_include_tax=True)
    for row in price_list(taxed, items).rows:
        assert row.tariff is not None
        assert round_up(row.tariff.first, taxed.policy) == row.tariff.first
        assert round_each(row.tariff.each, taxed.policy) == row.tariff.each
        assert (row.margins(1 + taxed.policy.sales_tax) >= taxed.policy.target_margin - 1e-9).all()


def test_rows_that_may_not_be_quoted_have_no_price(shop: Shop, items: dict[str, Item]) -> None:
    strict = price_list(with_policy(shop, most_heat_cycles=2), items)
    assert strict.row("wheel_set", "single").tariff is not None
    assert strict.row("wheel_set", "two_tone").tariff is None
    assert "do not quote" in strict.row("wheel_set", "two_tone").refused


def test_a_row_that_is_not_there_is_answered(demo: PriceList) -> None:
    with pytest.raises(BadInput, match="Did you mean 'bench_end'"):
        demo.row("bench_ends")
    with pytest.raises(BadInput, match="Did you mean 'two_tone'"):
        demo.row("bench_end", "twotone")


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
    tariff = demo.row(key).tariff
    assert tariff is not None
    return tariff.first


def test_the_minimum_charge_is_in_the_market_band(shop: Shop) -> None:
    assert 25 <= shop.policy.minimum_charge <= 100, ANCHOR


@pytest.mark.parametrize("key", ["sign_letter_300", "house_number", "bracket_small", "lamp_shade", "bicycle_frame"])
def test_middle_items_are_in_the_market_band(demo: PriceList, key: str) -> None:
    assert 75 <= _single(demo, key) <= 150, ANCHOR


def test_a_set_of_wheels_is_in_the_market_band(demo: PriceList) -> None:
    assert 375 <= _single(demo, "wheel_set") <= 500, ANCHOR


def test_prices_by_area_spread_as_the_market_does(demo: PriceList) -> None:
    """Quotes by area run from about 4 to 45 USD/ft² (custom coater's page): area alone prices no job."""
    foot = read_field("1 ft2", "m**2", "a")
    per_ft2 = [
        float(row.tariff.total(20)) / 20 / (row.item.part.area_m2 * row.item.pieces / foot)
        for row in demo.rows
        if row.column == "single" and row.tariff
    ]
    assert min(per_ft2) > 4
    assert max(per_ft2) < 45
    assert max(per_ft2) > 2 * min(per_ft2)


def test_powder_is_a_modest_share_of_the_price(shop: Shop, items: dict[str, Item]) -> None:
    """At most 20 % of the price is a printed target (trade magazine, June 2018, p. 44)."""
    for item in items.values():
        found = quote(shop, job_of_item(item, units=5, column="single"))
        sheet = found.sheet
        names = set(shop.powders)
        powder = sum(float(m.kg * m.price_per_kg) for line in sheet.lines for m in line.materials if m.name in names)
        assert powder / found.net < 0.20, item.key
