"""What need not be worked out again is kept: counted in calls, for seconds depend on the machine."""

from dataclasses import replace
from itertools import product

import pytest

from pricing.costing import sheet
from pricing.costing.sheet import cost
from pricing.parts.items import read_items
from pricing.parts.job import job_of_item
from pricing.prices.colours import BASE, BOUGHT, classes, dearest
from pricing.prices.quote import quote
from pricing.shop.folder import open_shop
from pricing.shop.shop import Shop
from pricing.steps import oven_visit


@pytest.fixture(scope="module")
def shop() -> Shop:
    return open_shop()


def with_faster_wiping(shop: Shop) -> Shop:
    row = shop.rates["wipe.line_m.hands"]
    return replace(shop, rates={**shop.rates, row.key: replace(row, low=0.9 * row.low)})


def test_another_rate_asks_neither_ovens_nor_amounts_again(shop: Shop) -> None:
    job = job_of_item(read_items(shop)["sign_letter_300"], units=9)
    before = quote(shop, job)
    caches = (oven_visit._visit_in, sheet._work)
    misses = [cache.cache_info().misses for cache in caches]
    after = quote(with_faster_wiping(shop), job)
    assert [cache.cache_info().misses for cache in caches] == misses
    assert after.cost < before.cost
    hotter = replace(shop, policy=shop.policy.model_copy(update={"strip_by": "blast"}))
    quote(hotter, job)
    assert sheet._work.cache_info().misses == misses[1] + 1, "the way to strip makes other amounts"


def test_one_stock_colour_is_the_dearest_and_no_dearer_one_is_left_out(shop: Shop) -> None:
    assert [powder.name for powder in dearest(shop, BASE)] == ["silver metallic"]
    item = read_items(shop)["bench_end"]
    for name, units in product((BASE, BOUGHT), (1, 20)):

        def costs(powders: tuple[str, ...], units: int = units) -> list[float]:
            job = job_of_item(item, units=units, column="single")
            return [float(cost(shop, job.model_copy(update={"powders": (one,)})).total) for one in powders]

        told = [powder.name for powder in dearest(shop, name)]
        assert max(costs(tuple(told))) == max(costs(tuple(powder.name for powder in classes(shop)[name])))


def test_of_shared_colours_one_that_is_used_less_or_spoils_sooner_may_be_the_dearest(shop: Shop) -> None:
    green = shop.powders["moss green"]
    for other in ({"each_kg": 0.01}, {"keeps_y": 0.1}, {"uses": 1.0}):
        rare = green.model_copy(update={"name": "rare", "price_per_kg": 0.99 * green.price_per_kg, **other})
        more = replace(shop, powders={**shop.powders, "rare": rare})
        assert "rare" in {powder.name for powder in dearest(more, BOUGHT)}
