"""Who pays for what is left in a pack."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from pricing.costing.packs import rest_to_pay_kg, used_later_kg
from pricing.costing.sheet import cost
from pricing.costing.walk import LEFTOVER
from pricing.parts.items import Item
from pricing.parts.job import Job, job_of_item
from pricing.prices.powder_uses import expected_uses, with_uses
from pricing.prices.week import read_week
from pricing.shop.folder import demo_folder, new_folder, open_shop, save_shop
from pricing.shop.powders import Powder
from pricing.shop.shop import Shop


def _green(shop: Shop, **changes: object) -> Powder:
    return shop.powders["moss green"].model_copy(update=changes)


@given(st.floats(0.01, 20), st.floats(0.05, 10), st.floats(0, 40), st.floats(0.1, 4))
@settings(max_examples=80, deadline=None)
def test_a_rest_is_used_as_random_jobs_would_use_it(rest: float, each: float, asked: float, keeps: float) -> None:
    """Held against the Poisson sum: the mean of the lesser of rest and demand."""
    powder = _green(open_shop(), uses=asked, each_kg=each, keeps_y=keeps)
    jobs = np.arange(0, 600)
    exact = float((stats.poisson.pmf(jobs, asked * keeps) * np.minimum(jobs * each, rest)).sum())
    ours = float(used_later_kg(powder, rest))
    assert exact - 1e-9 <= ours <= 1.35 * exact + 1e-9


@pytest.mark.parametrize(("uses", "each"), [(1.0, 0.6), (4.0, 0.8), (23.0, 0.25), (60.0, 0.9)])
def test_what_jobs_pay_covers_what_a_simulated_shop_throws_away(shop: Shop, uses: float, each: float) -> None:
    """Independent: jobs come at random, open a pack when the box is empty, and throw away what is too old."""
    powder = _green(shop, uses=uses, each_kg=each, keeps_y=1.0)
    rng = np.random.default_rng(3)
    times = np.cumsum(rng.exponential(1.0 / uses, 40_000))
    left, opened, thrown = 0.0, -np.inf, 0.0
    for now in times:
        if now - opened > 1.0:
            thrown, left = thrown + left, 0.0
        if left < each:  # the next pack is opened; the last grams of the old one go in first
            left, opened = left + powder.pack_kg, now
        left -= each
    paid = len(times) * float(rest_to_pay_kg(powder, each, each))
    bought = len(times) * each + thrown
    assert paid + len(times) * each == pytest.approx(bought, rel=0.25)


def test_the_three_ways_to_buy(shop: Shop) -> None:
    rare = _green(shop, uses=0.0, each_kg=0.0)
    assert float(rest_to_pay_kg(rare, 2.0, 0.6, "stocked")) == 0.0
    assert float(rest_to_pay_kg(rare, 2.0, 0.6, "passed_on")) == pytest.approx(3.0)
    assert float(rest_to_pay_kg(rare, 2.0, 0.6, "shared")) == pytest.approx(3.0), "nobody comes after: the job pays"
    often = _green(shop, uses=200.0, each_kg=1.0)
    assert float(rest_to_pay_kg(often, 2.0, 0.6, "shared")) == pytest.approx(0.0)


def test_a_year_of_the_week_pays_for_what_it_wastes_and_no_more(shop: Shop, items: dict[str, Item]) -> None:
    """Sky blue is asked for 138 times a year: hardly anything of a pack is lost (before, 3,037 were charged)."""
    wanted = read_week(shop, items)
    uses = expected_uses(shop, wanted)
    assert uses["sky blue"].per_y == pytest.approx(3 * shop.owner.weeks)
    rests, powder = 0.0, 0.0
    for line in wanted:
        sheet = cost(shop, job_of_item(line.item, units=line.units, column=line.column))
        for at in sheet.lines:
            money = sum(float(m.kg * m.price_per_kg) for m in at.materials if m.name in {"sky blue", "moss green"})
            rests += money * line.orders * shop.owner.weeks * (at.step == LEFTOVER)
            powder += money * line.orders * shop.owner.weeks * (at.step != LEFTOVER)
    assert powder > 500
    assert rests < 0.02 * powder


def test_the_demos_powders_hold_the_uses_of_its_week(shop: Shop, items: dict[str, Item]) -> None:
    found = with_uses(shop, read_week(shop, items)).powders
    for name, powder in shop.powders.items():
        assert powder.uses == pytest.approx(found[name].uses, rel=0.01)
        assert powder.each_kg == pytest.approx(found[name].each_kg, rel=0.1), name


def test_an_older_table_says_it_by_its_leftover_share(tmp_path: Path) -> None:
    folder = new_folder(tmp_path / "shop")
    table = folder / "powders.csv"
    head, *rows = (demo_folder() / "powders.csv").read_text("utf-8").splitlines()
    cells = head.split(",")
    cut = cells.index("way")
    old = [",".join([*cells[:cut], "leftover", *cells[cut + 4 :]])]
    for row in rows[:3]:
        part = row.split(",")
        old.append(",".join([*part[:cut], {0: "1.0", 1: "0.6", 2: "0"}[len(old) - 1], *part[cut + 4 :]]))
    names = [row.split(",")[0] for row in old[1:]]
    table.write_text("\n".join([*old, *[]]) + "\n", "utf-8")
    for name in ("items.csv", "week.csv"):
        (folder / name).unlink(missing_ok=True)
    shop = open_shop(folder)
    assert [shop.powders[name].way for name in names] == ["stocked", "shared", "passed_on"]
    changed = {**shop.powders, names[1]: shop.powders[names[1]].model_copy(update={"way": "passed_on", "uses": 1.759})}
    save_shop(replace(shop, powders=changed), folder)
    again = open_shop(folder)
    assert [again.powders[name].way for name in names] == ["stocked", "passed_on", "passed_on"]
    assert again.powders[names[1]].uses == 1.759  # three decimals could be thousands, and must be written apart
    assert again.powders[names[1]].stocked is False


def test_a_passed_on_pack_is_dearer_than_a_shared_one(shop: Shop, plates: Job) -> None:
    job = plates.model_copy(update={"powders": ("moss green", "signal white")})
    totals = []
    for way in ("stocked", "shared", "passed_on"):
        powders = {**shop.powders, "moss green": _green(shop, way=way, uses=2.0, each_kg=0.5)}
        totals.append(float(cost(replace(shop, powders=powders), job, finish="single").total))
    assert totals == sorted(totals)
    assert totals[0] < totals[1] < totals[2]
