"""One oven visit: both limits against an adaptive solver, and what must always hold."""

from dataclasses import asdict, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ovens import ALUMINIUM, COATED, CURE, ELECTRIC_OVEN, GAS_OVEN, LOAD, STEEL, with_wall
from scipy.integrate import solve_ivp

from pricing.basis.checks import Floats
from pricing.basis.errors import BadInput
from pricing.physics.heating import heat_up_min
from pricing.physics.visit import Cure, OvenLoad, VisitHeat, visit

SIGMA = 5.670374419e-8


def by_solver(load: OvenLoad, cure: Cure, shop: float, shell: float, oven: object) -> dict[str, float]:
    """Follow shell, load, section and heater through the visit by an adaptive solver."""
    metal, ex = load.metal, load.exchange
    wall, exhaust = oven.loss_W_per_K(cure.oven_degC, shop)  # type: ignore[attr-defined]
    loss = wall + exhaust
    full = 1e3 * (oven.heater_kW * oven.available_share + oven.fan_kW * oven.fan_heat_share)  # type: ignore[attr-defined]
    own = 1e3 * oven.shell_kJ_per_K  # type: ignore[attr-defined]
    rack = load.rack_kg * 1e3 * rack_kJ_per_kg(shop, cure.oven_degC) / (cure.oven_degC - shop)
    store = own + rack

    def heat(t: float) -> float:
        return metal.c0 + metal.c1 * t + metal.c2 * t**2 + metal.c3 * t**3

    def gain(o: float, t: float) -> float:
        return ex.air_W_per_m2K * (o - t) + ex.emissivity * SIGMA * ((o + 273.15) ** 4 - (t + 273.15) ** 4)

    def rates(held: bool):
        def rate(_t: float, y: np.ndarray) -> list[float]:
            o, t, s = y[:3]
            power = loss * (o - shop) + load.area_m2 * gain(o, t) if held else full
            rise = 0.0 if held else (full - loss * (o - shop) - load.area_m2 * gain(o, t)) / store
            per_m2 = metal.density_kg_per_m3 * load.section_m
            return [rise, load.area_m2 * gain(o, t) / load.mass_kg / heat(t), gain(o, s) / per_m2 / heat(s), o, power]

        return rate

    def at_set(_t: float, y: np.ndarray) -> float:
        return float(y[0] - cure.oven_degC)

    def reached(_t: float, y: np.ndarray) -> float:
        return float(y[2] - cure.metal_degC)

    at_set.direction, at_set.terminal = 1, True  # type: ignore[attr-defined]
    reached.direction = 1  # type: ignore[attr-defined]
    y, t, bring, held = [(own * shell + rack * shop) / store, shop, shop, 0.0, 0.0], 0.0, np.inf, False
    held = y[0] >= cure.oven_degC and rates(False)(0, np.array(y))[0] >= 0
    limited = 0.0
    for _ in range(2):
        span = [t, 1e6]
        events = [reached] if held else [reached, at_set]
        solved = solve_ivp(rates(held), span, y, events=events, rtol=1e-9, atol=1e-7, method="LSODA", dense_output=True)
        if not np.isfinite(bring) and len(solved.t_events[0]):
            bring = solved.t_events[0][0]
        stop = bring + 60 * cure.dwell_min
        last = solved.t[-1] if not held else stop
        t = min(last, stop)
        y = list(solved.sol(t))
        if not held:
            limited = t
        if t == stop:
            break
        held = True
    return {
        "bring_up_min": bring / 60,
        "full_power_min": limited / 60,
        "load_degC": y[1],
        "heater_kWh": y[4] / 3.6e6 - oven.fan_kW * oven.fan_heat_share * t / 3.6e6 * 1e3,  # type: ignore[attr-defined]
        "wall_kWh": wall * (y[3] - shop * t) / 3.6e6,
    }


def rack_kJ_per_kg(a: float, b: float) -> float:
    metal = LOAD.rack_metal
    powers = [metal.c0, metal.c1 / 2, metal.c2 / 3, metal.c3 / 4]
    return sum(c * (b ** (i + 1) - a ** (i + 1)) for i, c in enumerate(powers)) / 1e3


ovens = st.builds(
    lambda heater, shell, exhaust, bridging: with_wall(
        replace(ELECTRIC_OVEN, heater_kW=heater, shell_kJ_per_K=shell, exhaust_m3_per_h=exhaust), bridging=bridging
    ),
    st.floats(25, 120),
    st.floats(60, 800),
    st.floats(0, 150),
    st.floats(1, 3),
)
loads = st.builds(
    lambda kg, mm, thicker, rack, metal: OvenLoad(
        mass_kg=kg,
        area_m2=kg / (metal.density_kg_per_m3 * mm * 5e-4),
        section_m=mm * thicker * 5e-4,
        metal=metal,
        exchange=COATED,
        rack_kg=rack,
        rack_metal=STEEL,
    ),
    st.floats(2, 300),
    st.floats(1, 12),
    st.floats(1, 3),
    st.floats(0, 80),
    st.sampled_from([STEEL, ALUMINIUM]),
)
cures = st.builds(
    lambda metal, above, dwell: Cure(metal_degC=metal, dwell_min=dwell, oven_degC=metal + above),
    st.floats(140, 210),
    st.floats(4, 30),
    st.floats(1, 40),
)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(ovens, loads, cures, st.floats(0, 30), st.floats(0, 1))
def test_a_visit_agrees_with_an_adaptive_solver(
    oven: object, load: OvenLoad, cure: Cure, shop: float, warm: float
) -> None:
    shell = shop + warm * (cure.oven_degC - shop)
    ours = visit(oven, load, cure, shop_degC=shop, shell_degC=shell)  # type: ignore[arg-type]
    theirs = by_solver(load, cure, shop, shell, oven)
    assert ours.bring_up_min == pytest.approx(theirs["bring_up_min"], rel=0.015, abs=0.15)
    assert ours.full_power_min == pytest.approx(theirs["full_power_min"], rel=0.015, abs=0.15)
    assert ours.load_degC == pytest.approx(theirs["load_degC"], abs=1.5)
    assert ours.heater_kWh == pytest.approx(theirs["heater_kWh"], rel=0.012, abs=0.02)
    assert ours.wall_kWh == pytest.approx(theirs["wall_kWh"], rel=0.015, abs=0.01)


def taken_kWh(heat: VisitHeat) -> Floats:
    """Sum all that took heat, which heater and fans gave."""
    return heat.load_kWh + heat.racks_kWh + heat.shell_kWh + heat.wall_kWh + heat.exhaust_kWh + heat.door_kWh


def closes(heat: VisitHeat) -> None:
    np.testing.assert_allclose(taken_kWh(heat), heat.heater_kWh + heat.fan_kWh, rtol=1e-12)


@settings(max_examples=100, deadline=None)
@given(ovens, loads, cures, st.floats(0, 1), st.floats(0, 10))
def test_the_balance_closes(oven: object, load: OvenLoad, cure: Cure, warm: float, door: float) -> None:
    heat = visit(oven, load, cure, shop_degC=20.0, shell_degC=20 + warm * 150, door_min=door)  # type: ignore[arg-type]
    closes(heat)
    assert heat.heater_kWh <= oven.heater_kW * (heat.bring_up_min + cure.dwell_min) / 60 * 1.005 + 1e-6  # type: ignore[attr-defined]
    assert heat.full_power_min <= (heat.bring_up_min + cure.dwell_min) + 1e-9


@settings(max_examples=60, deadline=None)
@given(ovens, loads, cures, st.floats(1.02, 3))
def test_more_of_it_never_takes_less_energy(oven: object, load: OvenLoad, cure: Cure, more: float) -> None:
    def billed(one: object = oven, what: OvenLoad = load, how: Cure = cure, **at: float) -> float:
        return float(visit(one, what, how, shop_degC=20.0, **at).heater_kWh)  # type: ignore[arg-type]

    base = billed()
    slack = 1 + 2e-3  # of the steps at full power
    assert billed(what=replace(load, mass_kg=load.mass_kg * more, area_m2=load.area_m2 * more)) * slack >= base
    assert billed(what=replace(load, rack_kg=load.rack_kg + 10 * more)) * slack >= base
    assert billed(how=replace(cure, dwell_min=cure.dwell_min * more)) * slack >= base
    thick = with_wall(oven, insulation_mm=oven.wall.insulation_mm * more)  # type: ignore[attr-defined, arg-type]
    assert billed(one=thick) <= base * slack
    assert billed(shell_degC=20 + 40 * more) <= base * slack


@settings(max_examples=60, deadline=None)
@given(ovens, loads, cures, st.floats(0.1, 0.9))
def test_splitting_a_load_never_saves_energy(oven: object, load: OvenLoad, cure: Cure, share: float) -> None:
    def heat(part: float, shell: float) -> VisitHeat:
        some = replace(load, mass_kg=load.mass_kg * part, area_m2=load.area_m2 * part)
        return visit(oven, some, cure, shop_degC=20.0, shell_degC=shell)  # type: ignore[arg-type]

    whole, first = heat(1.0, 20.0), heat(share, 20.0)
    second = heat(1.0 - share, float(first.oven_degC))  # the oven is still hot: the best that splitting can do
    assert first.heater_kWh + second.heater_kWh >= whole.heater_kWh * (1 - 3e-3)


def test_a_strong_heater_leaves_only_the_transfer_limit() -> None:
    strong = replace(ELECTRIC_OVEN, heater_kW=5000.0)
    heat = visit(strong, LOAD, CURE, shop_degC=20.0, shell_degC=200.0)
    alone = heat_up_min(STEEL, LOAD.section_m, from_degC=20.0, to_degC=190.0, air_degC=200.0, exchange=COATED)
    assert heat.bring_up_min == pytest.approx(alone, rel=5e-3)
    weak = visit(replace(ELECTRIC_OVEN, heater_kW=20.0), LOAD, CURE, shop_degC=20.0, shell_degC=200.0)
    assert weak.bring_up_min > 1.5 * heat.bring_up_min


def test_an_oven_hotter_than_its_set_point_saves_heater_and_still_closes() -> None:
    at_set = visit(ELECTRIC_OVEN, LOAD, CURE, shop_degC=20.0, shell_degC=200.0)
    hotter = visit(ELECTRIC_OVEN, LOAD, CURE, shop_degC=20.0, shell_degC=232.0)
    closes(hotter)
    assert hotter.heater_kWh < at_set.heater_kWh
    assert hotter.shell_kWh < 0
    light = replace(LOAD, mass_kg=0.5, area_m2=0.05, rack_kg=0.0)
    tight = with_wall(replace(ELECTRIC_OVEN, exhaust_m3_per_h=0.0), bridging=0.3)
    much = visit(tight, light, CURE, shop_degC=20.0, shell_degC=232.0)
    closes(much)
    assert much.heater_kWh == 0
    assert 200.0 < much.oven_degC < 232.0 + much.fan_kWh * 3600 / 200
    assert much.fan_kWh == pytest.approx(
        ELECTRIC_OVEN.fan_kW * ELECTRIC_OVEN.fan_heat_share * (much.bring_up_min + CURE.dwell_min) / 60
    )


def test_a_heater_barely_strong_enough_gets_there_in_the_end() -> None:
    hold = sum(GAS_OVEN.loss_W_per_K(200.0, 20.0)) * 180.0 / 1e3 - GAS_OVEN.fan_kW * GAS_OVEN.fan_heat_share
    barely = replace(GAS_OVEN, heater_kW=hold / GAS_OVEN.available_share * 1.0001)
    heat = visit(barely, LOAD, CURE, shop_degC=20.0)
    closes(heat)
    assert heat.bring_up_min > 120
    assert 190.0 < heat.oven_degC < 200.0  # the metal is hot enough before the air is at its set point
    assert heat.full_power_min <= (heat.bring_up_min + CURE.dwell_min) + 1e-9


def test_the_door_takes_the_oven_s_own_air_and_then_what_passes_the_opening() -> None:
    shut, short, long = (
        visit(GAS_OVEN, LOAD, CURE, shop_degC=20.0, shell_degC=200.0, door_min=m).door_kWh for m in (0.0, 0.1, 3.0)
    )
    own_air_kWh = 9.0 * 0.746 * 182.4 / 3600
    assert shut == 0
    assert short == pytest.approx(own_air_kWh + 20 * 3.0 * 180 * 6 / 3.6e6, rel=0.01)
    assert long == pytest.approx(own_air_kWh + 20 * 3.0 * 180 * 180 / 3.6e6, rel=0.01)
    endless = visit(GAS_OVEN, LOAD, CURE, shop_degC=20.0, shell_degC=200.0, door_min=600.0).door_kWh
    assert endless == pytest.approx(200.0 * 180 / 3600)  # no more than the shell held


@pytest.mark.parametrize("rows", [1, 3, 40])
def test_floats_and_arrays_agree_to_the_last_digits(rows: int) -> None:
    """Few rows go one by one, many together: both must be what each would be alone."""
    rng = np.random.default_rng(rows)
    kg, shell = rng.uniform(5, 150, rows), rng.uniform(20, 200, rows)
    dwell, heater = rng.uniform(1, 30, rows), rng.uniform(25, 80, rows)
    load = replace(LOAD, mass_kg=kg, area_m2=kg / 10)
    many = visit(
        replace(GAS_OVEN, heater_kW=heater),
        load,
        replace(CURE, dwell_min=dwell),
        shop_degC=20.0,
        shell_degC=shell,
        door_min=2.0,
    )
    closes(many)
    for i in range(rows):
        one = visit(
            replace(GAS_OVEN, heater_kW=float(heater[i])),
            replace(LOAD, mass_kg=float(kg[i]), area_m2=float(kg[i]) / 10),
            replace(CURE, dwell_min=float(dwell[i])),
            shop_degC=20.0,
            shell_degC=float(shell[i]),
            door_min=2.0,
        )
        for name, value in asdict(one).items():
            assert isinstance(value, float), name
            assert np.broadcast_to(getattr(many, name), rows)[i] == pytest.approx(value, rel=1e-7, abs=1e-9), name


def test_a_heater_too_weak_to_hold_is_refused_with_the_power_it_needs() -> None:
    message = (
        r"heater_kW is 5\.0; it must be above 15\.4 kW to hold this set point\. "
        r"Take a lower set point, less exhaust within the safety code, or a stronger heater\."
    )
    with pytest.raises(BadInput, match=message):
        visit(replace(GAS_OVEN, heater_kW=5.0), LOAD, CURE, shop_degC=20.0)


def test_a_set_point_not_above_the_metal_is_refused() -> None:
    with pytest.raises(BadInput, match=r"oven_degC is 190\.0; it must be above the metal's 190 °C"):
        Cure(metal_degC=190.0, dwell_min=10.0, oven_degC=190.0)
