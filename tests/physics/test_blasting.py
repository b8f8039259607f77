"""Nozzle and blasting: against a library, and what a small compressor does."""

from dataclasses import replace

import numpy as np
import pytest
from fluids import compressible
from hypothesis import given
from hypothesis import strategies as st
from ovens import AIR, NUMBERS

from pricing.physics import blasting
from pricing.physics.air import air_density_kg_per_m3

K = NUMBERS["air.heat_ratio"]
POT = blasting.BlastSetup(
    air=AIR,
    bore_mm=8.0,
    gauge_bar=7.0,
    discharge=NUMBERS["nozzle.discharge"],
    heat_ratio=K,
    supply_degC=20.0,
    compressor_m3_per_min=10.0,
    shaft_kW_per_m3_per_min=NUMBERS["compressor.shaft_power"],
    motor_efficiency=NUMBERS["motor.efficiency"],
    thrown_kg_per_m3=NUMBERS["blasting.thrown_per_air"],
)


@given(st.floats(0.01, 12), st.floats(1, 15), st.floats(0, 60))
def test_nozzle_flow_is_the_textbook_s_on_both_sides_of_choking(bar: float, bore: float, degC: float) -> None:
    ours = blasting.nozzle_kg_per_s(AIR, bore, gauge_bar=bar, supply_degC=degC, discharge=1.0, heat_ratio=K)
    supply = AIR.pressure_Pa + 1e5 * bar
    throat = max(AIR.pressure_Pa, compressible.P_critical_flow(P=supply, k=K))
    t0 = degC + 273.15
    throat_K = t0 * (throat / supply) ** ((K - 1) / K)
    speed = np.sqrt(2 * K / (K - 1) * AIR.gas_constant_J_per_kgK * (t0 - throat_K))
    density = throat / (AIR.gas_constant_J_per_kgK * throat_K)
    assert ours == pytest.approx(np.pi / 4e6 * bore**2 * speed * density, rel=1e-9)


@given(st.floats(1, 10), st.floats(3, 12))
def test_pressure_and_flow_undo_each_other(bar: float, bore: float) -> None:
    same = {"supply_degC": 20.0, "discharge": 0.8, "heat_ratio": K}
    flow = blasting.nozzle_kg_per_s(AIR, bore, gauge_bar=bar, **same)
    assert blasting.gauge_bar_for(AIR, bore, flow_kg_per_s=flow, **same) == pytest.approx(bar, rel=1e-9)


def test_a_small_compressor_is_the_limit_and_wear_makes_it_worse() -> None:
    enough, small = blasting.blast_rate(POT), blasting.blast_rate(replace(POT, compressor_m3_per_min=2.0))
    assert not enough.compressor_limits
    assert enough.gauge_bar == 7.0
    assert small.compressor_limits
    same = {"supply_degC": 20.0, "discharge": NUMBERS["nozzle.discharge"], "heat_ratio": K}
    through = blasting.nozzle_kg_per_s(AIR, 8.0, gauge_bar=small.gauge_bar, **same)
    assert 60 * through / air_density_kg_per_m3(AIR, 20.0) == pytest.approx(2.0)
    assert small.thrown_kg_per_h / enough.thrown_kg_per_h == pytest.approx(2.0 / enough.wanted_m3_per_min)
    worn = blasting.blast_rate(replace(POT, compressor_m3_per_min=2.0, bore_mm=9.5))
    assert worn.gauge_bar < small.gauge_bar < 7.0
    assert worn.thrown_kg_per_h == small.thrown_kg_per_h
    assert worn.wanted_m3_per_min / small.wanted_m3_per_min == pytest.approx((9.5 / 8) ** 2)


def test_what_a_compressor_gives_is_thrown_and_paid_by_hand() -> None:
    small = blasting.blast_rate(replace(POT, compressor_m3_per_min=2.0))
    assert small.thrown_kg_per_h == pytest.approx(60 * 2.0 * NUMBERS["blasting.thrown_per_air"])
    assert small.electric_kW == pytest.approx(2.0 * NUMBERS["compressor.shaft_power"] / NUMBERS["motor.efficiency"])
    just = blasting.blast_rate(replace(POT, compressor_m3_per_min=float(small.wanted_m3_per_min)))
    assert not just.compressor_limits  # as much as it wants is enough
    assert just.gauge_bar == 7.0
