"""When the answer is no price."""

import pytest

from pricing.costing.sheet import cost
from pricing.parts.items import Item
from pricing.parts.job import Job, Lot
from pricing.shop.shop import Shop
from tests.conftest import with_part


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
    from tests.conftest import with_policy

    hot = with_policy(shop, strip_by="burn_off")
    job = with_part(plates, heat_treated=True, old_coating="paint")
    assert "never goes to a burn-off oven" in cost(hot, job).refused[0]


def test_metal_that_melts_never_go_to_burn_off(shop: Shop, plates: Job) -> None:
    job = with_part(plates, strip_by="burn_off", old_coating="paint", material="zinc")
    assert "zinc does not stand a burn-off oven; strip it another way" in cost(shop, job).refused[0]
    assert cost(shop, with_part(plates, strip_by="burn_off", old_coating="paint", material="aluminium")).refused == ()
