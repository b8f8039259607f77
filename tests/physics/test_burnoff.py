"""Burn-off: what must not go in, and where its gas goes."""

from dataclasses import fields, replace
from pathlib import Path

import numpy as np
import pytest
from ovens import AIR, METHANE, NUMBERS, STEEL, WALL

from pricing.physics import burnoff
from pricing.physics.burner import available_share

OVEN = burnoff.BurnOffOven(
    wall=WALL,
    air=AIR,
    shell_kJ_per_K=600.0,
    exhaust_m3_per_h=120.0,
    metal_degC=NUMBERS["burnoff.metal"],
    afterburner_degC=NUMBERS["burnoff.afterburner"],
    available_share=available_share(METHANE, 400.0, excess_air=0.3, air_degC=20.0),
    afterburner_available_share=available_share(METHANE, 760.0, excess_air=0.1, air_degC=20.0),
    binder_used_share=NUMBERS["burnoff.binder_used_share"],
)
CYCLE = {
    "mass_kg": 100.0,
    "coating_kg": 8.4,
    "binder_MJ_per_kg": NUMBERS["binder.polyester.heat"],
    "cycle_min": 180.0,
    "shop_degC": 20.0,
}


def test_ageing_lies_far_below_burn_off() -> None:
    for alloy in ("ageing.6061", "ageing.356"):
        assert NUMBERS["burnoff.metal"] - NUMBERS[alloy] > 190


def test_no_strength_loss_is_told_anywhere() -> None:
    text = Path(burnoff.__file__).read_text("utf-8")
    assert "%" not in text


def test_gas_is_all_terms_over_what_stays() -> None:
    heat = burnoff.burn_off(OVEN, STEEL, **CYCLE)
    assert heat.metal_kWh == pytest.approx(5.593, rel=1e-3)
    assert heat.binder_kWh == pytest.approx(55, abs=1)  # 100 m² x 120 g/m² x 70 % binder
    main = heat.metal_kWh + heat.shell_kWh + heat.wall_kWh + heat.exhaust_kWh
    after = heat.afterburner_kWh / OVEN.afterburner_available_share
    assert heat.gas_kWh == pytest.approx(main / OVEN.available_share + after)


def test_the_binder_can_save_gas_but_never_make_any() -> None:
    saved = [burnoff.burn_off(replace(OVEN, binder_used_share=s), STEEL, **CYCLE).gas_kWh for s in (0.0, 0.3, 1.0)]
    assert saved[0] > saved[1] > saved[2]
    heat = burnoff.burn_off(replace(OVEN, binder_used_share=5.0), STEEL, **CYCLE)
    assert heat.gas_kWh * OVEN.available_share == pytest.approx(
        heat.metal_kWh + heat.shell_kWh + heat.wall_kWh + heat.exhaust_kWh
    )


def test_burn_off_takes_arrays() -> None:
    many = burnoff.burn_off(OVEN, STEEL, **{**CYCLE, "mass_kg": np.array([50.0, 100.0])})
    one = burnoff.burn_off(OVEN, STEEL, **CYCLE)
    for field in fields(one):
        assert np.broadcast_to(getattr(many, field.name), 2)[1] == pytest.approx(getattr(one, field.name))


def test_every_term_of_a_burn_off_by_hand() -> None:
    """Steady heat: 3 h at 400 °C, the exhaust lifted to 760 °C, a third of the binder's heat used there."""
    oven = replace(OVEN, binder_used_share=0.3)
    heat = burnoff.burn_off(oven, STEEL, **CYCLE)
    flow_kg = 120.0 * 3 * 101325 / (287.05 * 293.15)
    air = [NUMBERS[f"air.cp.c{i}"] for i in range(3)]
    up, on = (
        sum(c * (b**n - a**n) / n for n, c in enumerate(air, 1)) / 3.6e6 for a, b in ((20.0, 400.0), (400.0, 760.0))
    )
    assert heat.shell_kWh == pytest.approx(600 * 380 / 3600)
    assert heat.wall_kWh == pytest.approx(float(WALL.loss_W_per_K(400.0, 20.0)) * 380 * 3 / 1000)
    assert heat.exhaust_kWh == pytest.approx(flow_kg * up, rel=2e-5)
    assert heat.afterburner_kWh == pytest.approx(flow_kg * on, rel=2e-5)
    assert heat.binder_kWh == pytest.approx(8.4 * NUMBERS["binder.polyester.heat"] / 3.6)
    main = heat.metal_kWh + heat.shell_kWh + heat.wall_kWh + heat.exhaust_kWh
    after = max(0.0, flow_kg * on - 0.3 * heat.binder_kWh) / oven.afterburner_available_share
    assert heat.gas_kWh == pytest.approx(main / oven.available_share + after, rel=2e-5)
