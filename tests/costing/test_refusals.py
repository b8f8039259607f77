"""When the answer is no price."""

from dataclasses import replace

import pytest

from pricing.costing.refusals import reasons
from pricing.costing.sheet import cost
from pricing.parts.items import Item
from pricing.parts.job import Job, Lot
from pricing.shop.shop import Shop
from tests.conftest import with_part, with_policy


def _wheels(items: dict[str, Item], finish: str) -> Job:
    powders = ("graphite texture", "silver metallic", "clear gloss")
    return Job(title="wheels", finish=finish, powders=powders, lots=(Lot(part=items["wheel_set"].part, quantity=4),))


@pytest.mark.parametrize(
    ("finish", "visits", "refused"),
    [("single", 2, False), ("two_tone_wiped", 3, False), ("two_tone_clear", 4, True)],
)
def test_heat_cycles_of_wheels_are_counted(
    shop: Shop, items: dict[str, Item], finish: str, visits: int, refused: bool
) -> None:
    """Outgas bake and each cure; the limit is the shop's (three in the demo: common practice, no source)."""
    sheet = cost(shop, _wheels(items, finish))
    assert sheet.cycles == visits
    assert sheet.expected_cycles > visits  # a second bake and, where the limit allows it, rework
    assert bool(sheet.refused) is refused
    if refused:
        assert sheet.refused[0].endswith("3 are the limit for a safety-critical part; do not quote: ask the maker")


def test_plain_steel_has_no_limit(shop: Shop, plates: Job) -> None:
    job = plates.model_copy(update={"powders": ("jet black", "signal white", "clear gloss")})
    assert cost(shop, job, finish="two_tone_clear").refused == ()


def test_a_closed_volume_gets_no_price(shop: Shop, plates: Job) -> None:
    sheet = cost(shop, with_part(plates, closed_volume=True))
    assert "closed volume can burst" in sheet.refused[0]


def test_heat_treated_metal_never_goes_to_burn_off(shop: Shop, plates: Job) -> None:
    hot = with_policy(shop, strip_by="burn_off")
    job = with_part(plates, heat_treated=True, old_coating="paint")
    assert "never goes to a burn-off oven" in cost(hot, job).refused[0]


def test_metal_that_melts_never_go_to_burn_off(shop: Shop, plates: Job) -> None:
    job = with_part(plates, strip_by="burn_off", old_coating="paint", material="zinc")
    assert "zinc does not stand a burn-off oven; strip it another way" in cost(shop, job).refused[0]
    assert cost(shop, with_part(plates, strip_by="burn_off", old_coating="paint", material="aluminium")).refused == ()


def test_each_reason_is_told_whole(shop: Shop, plates: Job) -> None:
    """Hottest air: the powder's metal temperature and what the air is above it, held against each oven's own."""
    part, finish = plates.lots[0].part, shop.finishes["single"]
    above = float(shop.book["oven.air_above_metal"])
    powder = shop.powders["jet black"].model_copy(update={"cure_degC": 200.0 - above})

    def allowed(*hottest_degC: float) -> Shop:
        ovens = zip(shop.machines.oven, ("small", "large"), hottest_degC, strict=True)
        named = tuple(oven.model_copy(update={"name": name, "hottest_degC": hot}) for oven, name, hot in ovens)
        return replace(shop, machines=shop.machines.model_copy(update={"oven": named}))

    assert reasons(part, finish, allowed(180.0, 195.0), [powder]) == (
        f"{part.name}: the cure needs air at 200 °C; the most that is allowed is small 180 °C, large 195 °C",
    )
    assert reasons(part, finish, allowed(180.0, 200.0), [powder]) == ()  # just as hot as it is allowed
    tempered = part.model_copy(update={"material": "aluminium", "heat_treated": True, "earlier_visits": 2})
    jet = [shop.powders["jet black"]]
    limited = with_policy(shop, most_heat_cycles=2)
    assert reasons(tempered, finish, limited, jet) == (
        f"{part.name}: 3 oven visits with 2 earlier ones, 2 are the limit for heat-treated aluminium;"
        " do not quote: ask the maker",
    )
    assert reasons(tempered, finish, with_policy(shop, most_heat_cycles=3), jet) == ()
    fresh = tempered.model_copy(update={"earlier_visits": 0, "safety_critical": True, "casting": True})
    assert reasons(fresh, finish, with_policy(shop, most_heat_cycles=1), jet) == (
        f"{part.name}: 2 oven visits planned, 1 are the limit for a safety-critical part; do not quote: ask the maker",
    )
