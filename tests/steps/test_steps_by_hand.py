"""Small rules of the steps by hand, to many digits: factors on minutes, machines held, an oven's fit, a burn-off oven."""

from dataclasses import replace

import numpy as np
import pytest

from pricing.basis.errors import BadInput
from pricing.basis.facts import numbers
from pricing.basis.identity import Same
from pricing.costing.sheet import cost
from pricing.parts.job import Job, Lot
from pricing.parts.work import work_of_job
from pricing.physics.fit_oven import Readings
from pricing.physics.oven import holding_kWh
from pricing.shop.shop import Shop
from pricing.steps.bake import paid_loads
from pricing.steps.fit import fit_shop_oven, with_fit
from pricing.steps.oven_hour import hour_held
from pricing.steps.oven_visit import VisitKey, oven_of, visit_of
from pricing.steps.route import STEPS, route
from pricing.steps.step import Setting, Use, equations_of, some, use_of
from pricing.steps.strip import burn_off_heat
from pricing.steps.uneven import by_step, for_all
from tests.conftest import with_part
from tests.steps.test_steps import BURN_OFF

DRAWN = {"shared.job": 1.5, "shared.owner": 1.25, "vary.wipe": 0.8, "doubt.wipe": 1.1, "vary.coat": 3.0}


def test_drawn_minutes_are_multiplied_by_each_factor_of_their_step_and_by_both_of_the_job() -> None:
    assert by_step("wipe", 10.0, DRAWN) == pytest.approx(10 * 0.8 * 1.1)
    assert by_step("coat", 10.0, DRAWN) == pytest.approx(30.0)
    assert by_step("hang", 10.0, DRAWN) == 10.0
    assert by_step("wipe", 10.0, {"vary.wipe": 0.8}) == 10.0  # a point quote is not drawn
    assert for_all(1.08, DRAWN) == pytest.approx(1.08 * 1.875)
    assert for_all(1.08, {"shared.job": 1.5}) == 1.08


def test_a_drawn_job_takes_the_factors_into_its_lines(shop: Shop, plates: Job) -> None:
    """Hands of the step by its own factors and those of the job, the rest allowance once."""
    work, finish = work_of_job(plates, shop), shop.finishes["two_tone_wiped"]
    drawn = {**shop.book, **DRAWN}
    (wipe,) = [step for step, _ in route(work, finish) if step.key == "wipe"]
    rows = equations_of(Same(shop.rates))["wipe"]
    uses = [
        use_of(wipe, work, Setting(shop, book, finish, finish.coats[1], 2, shop.powders["signal white"]), rows)
        for book in (shop.book, drawn)
    ]
    assert uses[1].minutes == pytest.approx(float(uses[0].minutes) * 0.8 * 1.1 * 1.5 * 1.25)
    hands = sum(float(term.amount * term.rate) for term in uses[0].terms if term.gives == "hands")
    assert uses[0].minutes == pytest.approx(hands * (1 + shop.book["rest.allowance"]))


def test_a_machine_is_held_for_all_that_is_added_up() -> None:
    use = Use("coat", 1)
    use.hold("booth", 2.0)
    use.hold("booth", 3.5)
    assert use.machine_min == {"booth": 5.5}
    assert (some(0.0), some(1e-9)) == (0.0, 1.0)
    assert list(some(np.array([0.0, 0.2]))) == [0.0, 1.0]


def test_the_tank_heats_while_it_is_held(shop: Shop, plates: Job) -> None:
    line = cost(shop, with_part(plates, old_coating="paint", strip_by="chemical")).line("strip_chemical")
    tank = shop.machines.tank
    assert line.electricity_kwh == pytest.approx(tank.heater_kw * float(line.machine_min[tank.name]) / 60)
    kg = plates.pieces * plates.lots[0].part.mass_kg
    amounts = {term.driver: float(term.amount) for term in line.uses[0].terms}
    assert amounts.get("load", kg / tank.batch_kg) == pytest.approx(kg / tank.batch_kg)


def test_walls_of_a_burn_off_oven_by_hand(shop: Shop) -> None:
    """Six sides, films and wool in series, the wool's conductivity at the mean of both sides."""
    n = numbers()
    area = 2 * (1.5 * 1.5 + 1.5 * 1.8 + 1.8 * 1.5)
    wool = n["oven.insulation.conductivity"] * (1 + n["oven.insulation.conductivity_slope"] * (400 + 20) / 2)
    loss = 2.0 * area / (1 / n["oven.inside_film"] + 0.15 / wool + 1 / n["oven.outside_film"])
    heat = burn_off_heat(BURN_OFF, 20.0)
    full = loss * 380 * n["burnoff.cycle"] / 60 / 1000
    assert heat.wall_kWh == pytest.approx(full)


def _readings(shop: Shop, name: str) -> tuple[Readings, float, float]:
    """What the tests of an oven would read that has 1.3 of its bridging and twice its shell."""
    oven = next(oven for oven in shop.machines.oven if oven.name == name)
    place = oven_of(oven, 200.0, 18.0)
    true = replace(
        place,
        wall=replace(place.wall, bridging=1.3 * float(place.wall.bridging)),
        shell_kJ_per_K=2 * float(place.shell_kJ_per_K),
    )
    gas, electric = holding_kWh(true, hold_min=120.0, oven_degC=200.0, shop_degC=18.0)
    took = float(gas) or float(electric) - 2.0 * oven.fan_kw
    step_s, level, log = 5.0, 190.0, []
    for at in range(0, 3 * 3600 + 1, int(step_s)):
        if at % 900 == 0:
            log.append(level)
        mid = level - 0.5 * step_s * float(true.wall.loss_W_per_K(level, 18.0)) * (level - 18) / (
            1e3 * float(true.shell_kJ_per_K)
        )
        level -= step_s * float(true.wall.loss_W_per_K(mid, 18.0)) * (mid - 18) / (1e3 * float(true.shell_kJ_per_K))
    times = tuple(15.0 * number for number in range(len(log)))
    readings = Readings(
        held_min=120.0, took_kwh=took, oven_degC=200.0, shop_degC=18.0, times_min=times, cooling_degC=tuple(log)
    )
    return readings, float(true.wall.bridging), float(true.shell_kJ_per_K)


def test_a_shop_s_oven_is_fitted_and_only_that_one_is_changed(shop: Shop) -> None:
    first, second = shop.machines.oven
    for oven, other in ((first, second), (second, first)):
        readings, bridging, shell = _readings(shop, oven.name)
        fit = fit_shop_oven(shop, oven.name, readings)
        assert fit.bridging == pytest.approx(bridging, rel=1e-6)
        assert fit.shell_kJ_per_K == pytest.approx(shell, rel=2e-3)
        # the errors of the facts: 2 % of the meter, 3 K, 15 % of the exhaust; each moves the factor by so much
        place = oven_of(oven, 200.0, 18.0)
        clean = float(replace(place.wall, bridging=1.0).loss_W_per_K(200.0, 18.0))
        wall, exhaust = (float(loss) for loss in place.loss_W_per_K(200.0, 18.0))
        meter = 0.02 * readings.took_kwh / 2 * 1e3 * float(place.available_share) / (clean * 182)
        flow = 0.15 * exhaust / clean
        heat = (bridging * clean + exhaust) * 182
        hot_clean = float(replace(place.wall, bridging=1.0).loss_W_per_K(203.0, 18.0))
        hot_exhaust = float(place.loss_W_per_K(203.0, 18.0)[1])
        warm = (heat - hot_exhaust * 185) / (hot_clean * 185) - bridging
        wide = 1.6448536269514722 * np.sqrt(meter**2 + flow**2 + warm**2)
        assert fit.bridging_high - fit.bridging == pytest.approx(wide, rel=1e-4)
        assert wall == pytest.approx(clean * float(place.wall.bridging))
        ovens = {o.name: o for o in with_fit(shop, oven.name, fit).machines.oven}
        assert ovens[other.name] == other
        assert ovens[oven.name].bridging == fit.bridging
        assert ovens[oven.name].shell_kwh_per_K == pytest.approx(fit.shell_kJ_per_K / 3600)


def test_an_oven_that_is_not_there_is_told_apart(shop: Shop) -> None:
    readings, _, _ = _readings(shop, shop.machines.oven[0].name)
    with pytest.raises(BadInput, match="OVEN is 'ofen'"):
        fit_shop_oven(shop, "ofen", readings)


def test_a_kiln_no_hotter_than_the_shop_is_refused(shop: Shop) -> None:
    oven = shop.machines.oven[0]
    with pytest.raises(BadInput, match="temperature"):
        hour_held(shop, oven, shop.front.air_degC)
    held = hour_held(shop, oven, shop.front.air_degC + 60.0)
    assert held.electric_kwh >= oven.fan_kw


def test_a_visit_is_shown_figure_by_figure(shop: Shop, plates: Job) -> None:
    work, finish = cost(shop, plates).work, shop.finishes["single"]
    setting = Setting(shop, shop.book, finish, finish.coats[0], 1, shop.powders["jet black"])
    visit = visit_of(work, setting, VisitKey(shop.machines.oven[0].name, 190.0, 12.0, castings=False))
    shown = visit.shown_as(lambda figure, unit: (float(figure), unit))
    assert shown.bring_up_min == (visit.bring_up_min, "min")
    assert shown.more_min == (visit.more_min, "min")
    assert shown.load_kwh_per_kg == (visit.load_kwh_per_kg, "kWh/kg")
    assert shown.hold_kw == (visit.hold_kw, "kW")
    assert shown.kwh == {name: (kwh, "kWh") for name, kwh in visit.kwh.items()}
    assert shown.more_kwh == {name: (kwh, "kWh") for name, kwh in visit.more_kwh.items()}


def test_castings_among_others_pay_the_bake_of_their_own_share(shop: Shop, plates: Job) -> None:
    """The bake by the castings' filling and by the chance of a second, at least by a job's part of a load."""
    (lot,) = plates.lots
    cast = lot.part.model_copy(update={"name": "cast", "casting": True, "material": "cast iron"})
    mixed = plates.model_copy(update={"lots": (lot, Lot(part=cast, quantity=60))})
    sheet = cost(shop, mixed, book={**shop.book, "outgas.second": 0.2})
    (name,) = (name for name, mark in sheet.work.oven.items() if mark)
    fill = float(sheet.work.cast_fill[name])
    assert float(sheet.work.fill[name]) > fill > 0
    smallest = 1 / shop.book["oven.jobs_per_load"]
    paid = min(float(sheet.work.cast_whole[name]), max(fill / shop.book["oven.fill"], smallest)) * 1.2
    bake = sheet.line("outgas").uses[0]
    assert bake.detail["loads"] == pytest.approx(paid)
    finish = shop.finishes["single"]
    setting = Setting(shop, shop.book, finish, finish.coats[0], 1, shop.powders["jet black"])
    redone = sheet.work.times(0.25, again=0.4, jobs=0.4)
    (loads,) = (value for value in paid_loads(redone, setting).values() if value)
    few = float(redone.fill[name])
    assert loads == pytest.approx(min(max(few, 0.4), max(few / shop.book["oven.fill"], 0.4 * smallest)))
    alone = replace(sheet.work, alone=True)
    assert sum(paid_loads(alone, setting).values()) == pytest.approx(float(alone.whole[name]))


def test_rows_without_the_step_s_amount_leave_it_out_of_the_route(shop: Shop, plates: Job) -> None:
    work = work_of_job(plates, shop)
    keys = [step.key for step, _ in route(work, shop.finishes["single"])]
    for absent in ("disassemble", "reassemble", "dress", "outgas", "reblast", "test_panel", "tape", "strip_blast"):
        assert absent not in keys
    assert "unmask" in keys  # the plates have plugs
    bare = [step.key for step, _ in route(replace(work, plugs=0.0), shop.finishes["single"])]
    assert {"unmask", "plug"}.isdisjoint(bare)
    rows = replace(work, apart=np.array([0.0, 1.0]), plugs=np.array([0.0, 0.0]))
    assert "disassemble" in [step.key for step, _ in route(rows, shop.finishes["single"])]
    assert "plug" not in [step.key for step, _ in route(rows, shop.finishes["single"])]
    assert len(STEPS) == len({step.key for step in STEPS})
