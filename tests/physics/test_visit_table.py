"""Visits read from a table: against `visit` itself, an adaptive solver, and what must always hold."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from ovens import ALUMINIUM, COATED, CURE, ELECTRIC_OVEN, GAS_OVEN, LOAD, STEEL, with_wall
from test_visit import by_solver

from pricing.basis.errors import BadInput
from pricing.physics.oven import Oven
from pricing.physics.visit import Cure, Load, VisitHeat, visit
from pricing.physics.visit_table import Span, VisitTable, tabulate, visits

WEAK = (171, 230, 258)  # the worst of 160 settings for the bring-up: a warm oven with little to spare
SEEDS = (*range(8), *WEAK)
ROWS = 4000


def setting(seed: int) -> tuple[Oven, Load, Cure, dict[str, float]]:
    """An oven from weak to strong, a cure, a start from cold to hotter than the set point."""
    rng = np.random.default_rng(seed)
    oven = replace(
        (GAS_OVEN, ELECTRIC_OVEN)[seed % 2], heater_kW=float(rng.uniform(25, 120)),
        shell_kJ_per_K=float(rng.uniform(60, 800)), exhaust_m3_per_h=float(rng.uniform(0, 150)),
    )  # fmt: skip
    oven = with_wall(oven, bridging=float(rng.uniform(1, 3)))
    if seed in WEAK and seed % 3 == 0:
        oven = replace(oven, heater_kW=max(8.0, oven.heater_kW / 3))
    level = float(rng.uniform(140, 210))
    cure = Cure(metal_degC=level, dwell_min=float(rng.uniform(1, 40)), oven_degC=level + float(rng.uniform(4, 30)))
    shop = float(rng.uniform(0, 30))
    warm = (0.0, float(rng.uniform(0, 1)), float(rng.uniform(0, 1)), 1.1)[seed % 4]
    like = replace(LOAD, metal=(STEEL, ALUMINIUM)[seed // 2 % 2], rack_kg=float(rng.uniform(0, 80)))
    at = {"shop_degC": shop, "shell_degC": shop + warm * (cure.oven_degC - shop), "door_min": float(rng.uniform(0, 5))}
    return oven, like, cure, at


def sizes(seed: int, like: Load, rows: int = ROWS) -> dict[str, Any]:
    """Loads from a handful of brackets to a gate: kg, m², volume over area of the heaviest section."""
    rng = np.random.default_rng(1000 + seed)
    kg = np.exp(rng.uniform(np.log(1.0), np.log(600.0), rows))
    half_m = 5e-4 * np.exp(rng.uniform(np.log(1.0), np.log(12.0), rows))
    return {
        "mass_kg": kg, "area_m2": kg / (like.metal.density_kg_per_m3 * half_m),
        "section_m": np.minimum(half_m * rng.uniform(1, 4, rows), 0.02),
    }  # fmt: skip


@pytest.fixture(scope="module", params=SEEDS)
def both(request: pytest.FixtureRequest) -> tuple[VisitTable, VisitHeat, VisitHeat]:
    oven, like, cure, at = setting(request.param)
    table = tabulate(oven, like, cure, **at)  # type: ignore[arg-type]
    loads = sizes(request.param, like)
    return table, visits(table, **loads), visit(oven, replace(like, **loads), cure, **at)


def test_the_table_is_within_its_bounds_of_the_visit(both: tuple[VisitTable, VisitHeat, VisitHeat]) -> None:
    table, read, exact = both
    np.testing.assert_allclose(read.bring_up_min, exact.bring_up_min, rtol=0.01, atol=0.1)
    np.testing.assert_allclose(read.full_power_min, exact.full_power_min, rtol=0.01, atol=0.2)
    assert np.mean(np.abs(read.bring_up_min / exact.bring_up_min - 1) > 0.01) < 0.01  # hardly a row needs the 0.1 min
    np.testing.assert_allclose(read.heater_kWh, exact.heater_kWh, rtol=0.005, atol=0.01)
    np.testing.assert_allclose(read.billed_kWh, exact.billed_kWh, rtol=0.005, atol=0.01)
    for name in ("load_kWh", "racks_kWh", "wall_kWh", "exhaust_kWh", "fan_kWh", "door_kWh"):
        np.testing.assert_allclose(read.terms()[name], exact.terms()[name], rtol=0.01, atol=1e-3, err_msg=name)
    np.testing.assert_allclose(read.load_degC, exact.load_degC, atol=1.0)
    surplus_K = 0.01 / (table.oven.shell_kJ_per_K / 3600.0)  # what 0.01 kWh is in the shell
    np.testing.assert_allclose(read.oven_degC, exact.oven_degC, atol=surplus_K)


def test_the_balance_closes(both: tuple[VisitTable, VisitHeat, VisitHeat]) -> None:
    table, read, _ = both
    taken, given = read.taken_kWh, read.heater_kWh + read.fan_kWh
    np.testing.assert_allclose(taken, given, rtol=1e-12, atol=1e-12)
    gas = table.oven.fuel == "gas"
    assert gas or np.all(np.asarray(read.gas_kWh) == 0)
    billed = read.gas_kWh if gas else read.electric_kWh - table.oven.fan_kW * read.heated_min / 60
    np.testing.assert_allclose(billed * table.oven.available_share, read.heater_kWh, rtol=1e-9, atol=1e-9)
    assert np.all(read.full_power_min <= read.heated_min + 1e-9)


@pytest.mark.parametrize("seed", SEEDS)
def test_more_mass_never_takes_less_energy(seed: int) -> None:
    oven, like, cure, at = setting(seed)
    table = tabulate(oven, like, cure, **at)  # type: ignore[arg-type]
    kg = np.geomspace(1.0, 900.0, 3000)
    for half_m, thicker in ((0.0005, 1.0), (0.002, 2.0), (0.005, 3.0)):
        area = kg / (like.metal.density_kg_per_m3 * half_m)
        heat = visits(table, mass_kg=kg, area_m2=area, section_m=half_m * thicker)  # type: ignore[arg-type]
        heater = np.asarray(heat.heater_kWh)
        most_so_far = np.maximum.accumulate(heater)
        assert np.all(heater >= most_so_far * (1 - 2e-3) - 0.01)  # `visit` itself keeps to it within 0.2 %


def test_a_few_loads_against_an_adaptive_solver() -> None:
    table = tabulate(ELECTRIC_OVEN, LOAD, CURE, shop_degC=20.0, shell_degC=60.0)
    loads = sizes(7, LOAD, 12)
    read = visits(table, **loads)
    for i in range(12):
        one = replace(LOAD, **{name: float(values[i]) for name, values in loads.items()})
        theirs = by_solver(one, CURE, 20.0, 60.0, ELECTRIC_OVEN)
        assert read.bring_up_min[i] == pytest.approx(theirs["bring_up_min"], rel=0.025, abs=0.15)  # type: ignore[index]
        assert read.heater_kWh[i] == pytest.approx(theirs["heater_kWh"], rel=0.017, abs=0.02)  # type: ignore[index]


def test_loads_off_the_table_and_weak_heaters_are_asked_of_the_visit() -> None:
    span = Span(mass_kg=(10.0, 100.0))
    table = tabulate(GAS_OVEN, LOAD, CURE, shop_degC=20.0, span=span)
    kg = np.array([1.0, 9.99, 50.0, 100.1, 5000.0])
    read = visits(table, mass_kg=kg, area_m2=kg / 10, section_m=np.full(5, 0.002))
    exact = visit(GAS_OVEN, replace(LOAD, mass_kg=kg, area_m2=kg / 10), CURE, shop_degC=20.0)
    for name in ("bring_up_min", "heater_kWh", "load_degC"):
        ours, theirs = np.asarray(read.terms()[name]), np.asarray(exact.terms()[name])
        np.testing.assert_allclose(ours[[0, 1, 3, 4]], theirs[[0, 1, 3, 4]], rtol=1e-9)
        assert ours[2] == pytest.approx(theirs[2], rel=0.01)
    hold = sum(GAS_OVEN.loss_W_per_K(200.0, 20.0)) * 180.0 / 1e3 - GAS_OVEN.fan_kW * GAS_OVEN.fan_heat_share
    barely = replace(GAS_OVEN, heater_kW=hold / GAS_OVEN.available_share * 1.0001)
    slow = visits(tabulate(barely, LOAD, CURE, shop_degC=20.0), mass_kg=kg, area_m2=kg / 10, section_m=kg * 0 + 0.002)
    there = visit(barely, replace(LOAD, mass_kg=kg, area_m2=kg / 10), CURE, shop_degC=20.0)
    assert np.all(np.asarray(there.oven_degC) < 200.0)  # over before the air is at its set point
    np.testing.assert_allclose(slow.oven_degC, there.oven_degC, rtol=1e-9)
    np.testing.assert_allclose(slow.taken_kWh, slow.heater_kWh + slow.fan_kWh, rtol=1e-12)


def test_shapes_follow_numpy_s_rules() -> None:
    table = tabulate(GAS_OVEN, LOAD, CURE, shop_degC=20.0)
    kg = np.array([[20.0], [40.0]])
    heat = visits(table, mass_kg=kg, area_m2=np.array([2.0, 3.0, 4.0]), section_m=np.array(0.002))
    assert np.shape(heat.heater_kWh) == (2, 3)
    alone = visits(table, mass_kg=np.array([40.0]), area_m2=np.array([3.0]), section_m=np.array([0.002]))
    assert heat.heater_kWh[1, 1] == alone.heater_kWh[0]  # type: ignore[index]


def test_arrays_and_empty_spans_are_refused_together() -> None:
    two = replace(GAS_OVEN, heater_kW=np.array([50.0, 60.0]))
    with pytest.raises(BadInput) as caught:
        tabulate(two, LOAD, CURE, shop_degC=20.0, span=Span(section_m=(0.01, 0.001)))
    assert str(caught.value) == (
        "table of oven visits needs mending:\n"
        "  heater_kW is '2 values'; it must be one number. Make a table for each.\n"
        "  section_m is (0.01, 0.001); it must be from above 0 to more than that."
    )
    table, ones = tabulate(GAS_OVEN, LOAD, CURE, shop_degC=20.0), np.ones(3)
    with pytest.raises(BadInput, match="mass_kg"):
        visits(table, mass_kg=ones * 0, area_m2=ones, section_m=ones * 0.01)


def test_the_metals_of_the_table_are_those_of_the_pattern() -> None:
    """The pattern's own size must not matter, its metal must."""
    kg = np.array([50.0])
    loads = {"mass_kg": kg, "area_m2": kg / 10, "section_m": np.array([0.003])}
    big, light = replace(LOAD, mass_kg=500.0, area_m2=50.0), replace(LOAD, metal=ALUMINIUM, exchange=COATED)
    first, same, other = (
        float(np.sum(visits(tabulate(GAS_OVEN, like, CURE, shop_degC=20.0), **loads).load_kWh))
        for like in (LOAD, big, light)
    )
    assert first == same
    assert other > 1.5 * first  # specific heat of aluminium over that of steel, about 1.8
