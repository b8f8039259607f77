"""Single rules of the steps, each worked out beside the sheet from the numbers it is made of."""

from dataclasses import replace

import pytest

from pricing.costing.packs import rest_to_pay_kg
from pricing.costing.sheet import cost
from pricing.parts.items import Item
from pricing.parts.job import Job
from pricing.parts.work import work_of_job
from pricing.prices.bank_view import bank_view
from pricing.prices.week import offers, read_week
from pricing.shop.shop import Shop
from pricing.steps.oven_visit import OvenState, VisitKind, heat_of, oven_of
from pricing.steps.step import Setting
from pricing.steps.strip import STRIP_BLAST, STRIP_CHEMICAL
from tests.conftest import with_part, with_policy


def _casting(job: Job) -> Job:
    return with_part(job, casting=True, material="cast iron")


def test_overhead_is_paid_for_every_attended_minute_whoever_works(shop: Shop, plates: Job) -> None:
    for line in cost(shop, plates).lines:
        assert line.overhead == pytest.approx(line.minutes * shop.book["hour.overhead"] / 60)
        assert line.labour == pytest.approx(line.owner_min * shop.book["hour.owner"] / 60)
        assert line.owner_min + line.helper_min == pytest.approx(line.minutes)
    assert any(line.helper_min > 0 for line in cost(shop, plates).lines)


def test_an_outgas_bake_is_hotter_than_the_cure_and_held_as_long_as_the_book_says(shop: Shop, plates: Job) -> None:
    sheet = cost(shop, _casting(plates))
    bake, cure = sheet.line("outgas").uses[0].detail, sheet.line("full_cure").uses[0].detail
    assert bake["metal_degC"] == cure["metal_degC"] + shop.book["outgas.above_cure"]
    assert bake["dwell_min"] == shop.book["outgas.hold"]
    partial = sheet.line("partial_cure").uses[0].detail
    assert partial["dwell_min"] == cure["dwell_min"] * shop.book["partial.share_of_dwell"]
    assert partial["metal_degC"] == cure["metal_degC"]


def test_a_small_job_pays_its_part_of_a_shared_load_and_a_bigger_one_what_it_fills(shop: Shop, plates: Job) -> None:
    def paid(count: int, job: Job) -> tuple[float, float]:
        work = work_of_job(with_part(job, count), shop)
        (name,) = (name for name, mark in cost(shop, with_part(job, count)).work.oven.items() if mark)
        line = cost(shop, with_part(job, count)).line("full_cure").uses[0]
        return float(line.detail["loads"]), float(work.fill[name])

    smallest = 1 / shop.book["oven.jobs_per_load"]
    loads, fill = paid(1, plates)
    assert fill / shop.book["oven.fill"] < smallest
    assert loads == pytest.approx(smallest)
    loads, fill = paid(200, plates)
    assert loads == pytest.approx(min(max(fill / shop.book["oven.fill"], smallest), -(-fill // 1)))
    assert loads > smallest


def test_castings_may_be_baked_out_a_second_time(shop: Shop, plates: Job) -> None:
    once = {**shop.book, "outgas.second": 0.0}
    twice = {**shop.book, "outgas.second": 0.25}
    before, after = (cost(shop, _casting(plates), book=book).line("outgas") for book in (once, twice))
    assert after.uses[0].detail["loads"] == pytest.approx(1.25 * before.uses[0].detail["loads"])


def test_where_the_heat_of_a_visit_goes_adds_up_to_what_is_billed(shop: Shop, plates: Job) -> None:
    for job in (plates, _casting(plates), with_part(plates, 120)):
        for name in ("full_cure", "partial_cure"):
            (use,) = cost(shop, job).line(name).uses
            told = {key: value for key, value in use.detail.items() if key.startswith("kWh ")}
            oven = next(oven for oven in shop.machines.oven if oven.name in use.machine_min)
            fan, flue = told.pop("kWh fan"), told.pop("kWh flue and meter")
            given = oven_of(oven, 200.0, 18.0).fan_heat_share * fan  # the fan's own heat need not be burnt
            heat = sum(told.values()) - given
            assert use.gas_kwh + use.electricity_kwh == pytest.approx(heat + flue + fan)
            assert flue >= 0


def test_cold_and_warm_starts_are_mixed_by_the_share_of_cold_ones(shop: Shop) -> None:
    oven = shop.machines.oven[0]
    kinds = (VisitKind("mild steel", 3.0, 20.0),)
    state = OvenState(
        metal_degC=190.0, dwell_min=12.0, oven_degC=200.0, shop_degC=18.0, cold_share=1.0, idle_min=20.0, door_min=2.0
    )
    cold, warm, mixed = (heat_of(oven, kinds, state._replace(cold_share=share)) for share in (1.0, 0.0, 0.3))
    assert cold.bring_up_min[0] > warm.bring_up_min[0]
    assert mixed.bring_up_min[0] == pytest.approx(0.3 * cold.bring_up_min[0] + 0.7 * warm.bring_up_min[0])
    assert mixed.kwh["shell"][0] == pytest.approx(0.3 * cold.kwh["shell"][0] + 0.7 * warm.kwh["shell"][0])


def test_powder_comes_off_more_slowly_than_paint_by_the_books_factor(shop: Shop, plates: Job) -> None:
    finish = shop.finishes["single"]
    setting = Setting(shop, shop.book, finish, finish.coats[0], 1, shop.powders["jet black"])
    for step, way in ((STRIP_BLAST, "blast"), (STRIP_CHEMICAL, "chemical")):
        m2 = [
            step.amounts(work_of_job(with_part(plates, old_coating=old, strip_by=way), shop), setting)["m2"]
            for old in ("paint", "powder")
        ]
        assert m2[1] / m2[0] == pytest.approx(shop.book["strip.powder_over_paint"])
        assert m2[1] > m2[0] > 0


def test_parts_sent_out_pay_the_kilograms_and_one_way_there(shop: Shop, plates: Job) -> None:
    sent = with_policy(shop, strip_by="bought_in")
    for count in (1, 30):
        job = with_part(plates, count, old_coating="paint")
        line = cost(sent, job).line("strip_bought_in")
        kg = count * job.lots[0].part.mass_kg
        price, there = shop.book["strip.bought_in_price"], shop.book["bought_in.transport"]
        assert sum(use.bought_in for use in line.uses) == pytest.approx(kg * price + there)


def test_a_casting_that_is_done_again_does_not_outgas_again(shop: Shop, plates: Job) -> None:
    redo = cost(shop, _casting(plates)).line("redo")
    steps = {use.step for use in redo.uses}
    assert "outgas" not in steps
    assert {"coat", "full_cure"} <= steps
    assert any(step.startswith("strip") for step in steps)


def test_a_pack_that_is_passed_on_is_opened_for_the_hoppers_least(shop: Shop) -> None:
    powder = shop.powders["moss green"].model_copy(update={"pack_kg": 0.5})
    assert rest_to_pay_kg(powder, 0.2, 0.6, "passed_on") == pytest.approx(1.0 - 0.2)  # two packs for 0.6 kg
    assert rest_to_pay_kg(powder, 0.2, 0.4, "passed_on") == pytest.approx(0.5 - 0.2)
    assert rest_to_pay_kg(powder, 0.7, 0.4, "passed_on") == pytest.approx(1.0 - 0.7)
    assert rest_to_pay_kg(powder, 0.2, 0.6, "stocked") == 0.0


def test_what_the_owner_draws_is_taken_off_a_month(shop: Shop, items: dict[str, Item]) -> None:
    owner = shop.owner.model_copy(update={"draw_per_y": shop.owner.draw_per_y + 1200.0})
    more = replace(shop, owner=owner)
    wanted = offers(shop, read_week(shop, items))
    lower = bank_view(shop, wanted).left - bank_view(more, wanted).left
    assert lower == pytest.approx(100.0 * (1 + shop.owner.on_cost))
