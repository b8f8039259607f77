"""The empty oven: one shell equation against an adaptive solver."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ovens import AIR, ELECTRIC_OVEN, GAS_OVEN, with_wall
from scipy.integrate import solve_ivp

from pricing.basis.errors import BadInput
from pricing.physics import oven as ovens
from pricing.physics import standing


@settings(max_examples=40, deadline=None)
@given(st.floats(0, 40), st.floats(20, 200), st.floats(50, 2000), st.floats(0, 120), st.floats(0.05, 0.95))
def test_warm_up_agrees_with_a_solver(power: float, loss: float, shell: float, start: float, share: float) -> None:
    settled = 1e3 * power / loss
    end = start + share * (settled - start)

    def rate(_t: float, y: np.ndarray) -> np.ndarray:
        return (1e3 * power - loss * y) / (1e3 * shell)

    if abs(end - start) < 1e-3 or end < 0:
        return
    minutes = standing.warm_up_min(power, loss, shell_kJ_per_K=shell, from_rise_K=start, to_rise_K=end)
    solved = solve_ivp(rate, [0, 60 * minutes], [start], rtol=1e-9, atol=1e-9).y[0, -1]
    assert solved == pytest.approx(end, abs=1e-3 + 1e-5 * abs(end - start))


def test_idling_is_the_same_equation() -> None:
    hot = standing.shell_degC_after(GAS_OVEN, idle_min=30.0, shell_degC=200.0, shop_degC=20.0)
    loss = GAS_OVEN.wall.loss_W_per_K(200.0, 20.0)
    back = standing.warm_up_min(0.0, loss, shell_kJ_per_K=200.0, from_rise_K=180.0, to_rise_K=hot - 20.0)
    assert back == pytest.approx(30.0)
    held = standing.shell_degC_after(
        GAS_OVEN, idle_min=30.0, shell_degC=200.0, shop_degC=20.0, power_kW=loss * 180 / 1e3
    )
    assert held == pytest.approx(200.0)


def test_preheat_closes_its_own_balance() -> None:
    warm = standing.preheat(ELECTRIC_OVEN, oven_degC=200.0, shop_degC=20.0)
    heat = warm.electric_kWh - ELECTRIC_OVEN.fan_kW * (1 - ELECTRIC_OVEN.fan_heat_share) * warm.minutes_min / 60
    stored = ELECTRIC_OVEN.shell_kJ_per_K * 180 / 3600
    loss_W_per_K = sum(ELECTRIC_OVEN.loss_W_per_K(200.0, 20.0))
    rise_Kh = (heat - stored) * 1e3 / loss_W_per_K
    assert 0.5 < rise_Kh / (180 * warm.minutes_min / 60) < 0.6  # a little more than half: the rise bends
    nothing = standing.preheat(ELECTRIC_OVEN, oven_degC=200.0, shop_degC=20.0, shell_degC=210.0)
    assert nothing == (0.0, 0.0, 0.0)


def test_holding_costs_walls_and_exhaust_less_fans() -> None:
    held = standing.hold(GAS_OVEN, hold_min=60.0, oven_degC=200.0, shop_degC=20.0)
    wall, exhaust = GAS_OVEN.loss_W_per_K(200.0, 20.0)
    heat = (wall + exhaust) * 180 / 1e3 - GAS_OVEN.fan_kW * GAS_OVEN.fan_heat_share
    assert held.gas_kWh == pytest.approx(heat / GAS_OVEN.available_share)
    assert held.electric_kWh == GAS_OVEN.fan_kW
    fans_only = standing.hold(replace(GAS_OVEN, fan_kW=40.0), hold_min=60.0, oven_degC=200.0, shop_degC=20.0)
    assert fans_only.gas_kWh == 0


@given(st.floats(10, 300), st.floats(1.01, 4), st.floats(100, 250))
def test_thicker_insulation_never_loses_more(mm: float, more: float, hot: float) -> None:
    thin, thick = (with_wall(GAS_OVEN, insulation_mm=x).wall.loss_W_per_K(hot, 20.0) for x in (mm, mm * more))
    assert thick < thin


def test_exhaust_per_kelvin_is_flow_times_heat() -> None:
    kg_per_s = 150 / 3600 * AIR.pressure_Pa / (AIR.gas_constant_J_per_kgK * 293.15)
    assert ovens.exhaust_W_per_K(GAS_OVEN, 200.0, 20.0) == pytest.approx(kg_per_s * 1013.3, rel=1e-3)


@pytest.mark.parametrize("power", [5.0, np.array([40.0, 5.0])])
def test_a_shell_that_never_gets_there_is_refused(power: float) -> None:
    with pytest.raises(BadInput, match=r"it must be above 10\.8 kW"):
        standing.warm_up_min(power, 60.0, shell_kJ_per_K=1200.0, from_rise_K=0.0, to_rise_K=180.0)
