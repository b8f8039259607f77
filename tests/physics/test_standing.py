"""The empty oven: one shell equation against an adaptive solver."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from ovens import AIR, GAS_OVEN, with_wall

from pricing.physics import oven as ovens


def test_idling_is_the_same_equation() -> None:
    hot = ovens.shell_degC_after(GAS_OVEN, idle_min=30.0, shell_degC=200.0, shop_degC=20.0)
    loss = GAS_OVEN.wall.loss_W_per_K(200.0, 20.0)
    assert hot == pytest.approx(20.0 + 180.0 * np.exp(-loss * 30 * 60 / 200e3))  # Newton's law of cooling


def test_holding_costs_walls_and_exhaust_less_fans() -> None:
    gas, electric = ovens.holding_kWh(GAS_OVEN, hold_min=60.0, oven_degC=200.0, shop_degC=20.0)
    wall, exhaust = GAS_OVEN.loss_W_per_K(200.0, 20.0)
    heat = (wall + exhaust) * 180 / 1e3 - GAS_OVEN.fan_kW * GAS_OVEN.fan_heat_share
    assert gas == pytest.approx(heat / GAS_OVEN.available_share)
    assert electric == GAS_OVEN.fan_kW
    fans_only = ovens.holding_kWh(replace(GAS_OVEN, fan_kW=40.0), hold_min=60.0, oven_degC=200.0, shop_degC=20.0)
    assert fans_only == (0, 40.0)


@given(st.floats(10, 300), st.floats(1.01, 4), st.floats(100, 250))
def test_thicker_insulation_never_loses_more(mm: float, more: float, hot: float) -> None:
    thin, thick = (with_wall(GAS_OVEN, insulation_mm=x).wall.loss_W_per_K(hot, 20.0) for x in (mm, mm * more))
    assert thick < thin


def test_exhaust_per_kelvin_is_flow_times_heat() -> None:
    kg_per_s = 150 / 3600 * AIR.pressure_Pa / (AIR.gas_constant_J_per_kgK * 293.15)
    assert GAS_OVEN.loss_W_per_K(200.0, 20.0)[1] == pytest.approx(kg_per_s * 1013.3, rel=1e-3)
