"""Metals and cure: against quadrature, and what they refuse."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from ovens import NUMBERS, STEEL
from scipy.integrate import quad

from pricing.basis.errors import BadInput
from pricing.physics import cure, metals

NAMES = ["steel", "aluminium", "stainless", "cast_iron", "zinc", "copper", "brass"]
temperatures = st.floats(-20, 350)


@given(st.sampled_from(NAMES), temperatures, temperatures)
def test_heat_is_the_integral_of_specific_heat(name: str, a: float, b: float) -> None:
    metal = metals.metal_of(name, NUMBERS)
    by_quad, _ = quad(lambda t: metals.specific_heat_J_per_kgK(metal, t), a, b)
    assert metals.heat_J_per_kg(metal, a, b) == pytest.approx(by_quad, abs=1e-3)
    mean = metals.mean_specific_heat_J_per_kgK(metal, a, b)
    assert mean * (b - a) == pytest.approx(by_quad, abs=1e-3)


def test_a_list_of_parts_of_several_metals_is_one_record() -> None:
    both = metals.pick_metal([metals.metal_of(n, NUMBERS) for n in NAMES], [0, 1, 0])
    each = [metals.heat_J_per_kg(metals.metal_of(n, NUMBERS), 20.0, 200.0) for n in ("steel", "aluminium", "steel")]
    assert metals.heat_J_per_kg(both, 20.0, 200.0).tolist() == pytest.approx(each)


@pytest.mark.parametrize("level", [700.0, np.array([20.0, 700.0]), float("nan"), -300.0])
def test_a_temperature_outside_the_polynomial_is_refused(level: float) -> None:
    with pytest.raises(BadInput, match=r"to_degC is (700\.0|nan|-300\.0); it must be at most 600 °C for this metal"):
        metals.heat_J_per_kg(STEEL, 20.0, level)


@given(st.floats(150, 230), st.floats(150, 230), st.floats(40, 100))
def test_dwell_there_and_back_is_the_same_dwell(a: float, b: float, energy: float) -> None:
    there = cure.equivalent_dwell_min(10.0, b, schedule_degC=a, activation_kJ_per_mol=energy)
    back = cure.equivalent_dwell_min(there, a, schedule_degC=b, activation_kJ_per_mol=energy)
    assert back == pytest.approx(10.0)


@given(st.floats(40, 100))
def test_activation_energy_comes_back_from_its_schedules(energy: float) -> None:
    other = cure.equivalent_dwell_min(10.0, 180.0, schedule_degC=200.0, activation_kJ_per_mol=energy)
    assert cure.activation_kJ_per_mol(10.0, 200.0, other_dwell_min=other, other_degC=180.0) == pytest.approx(energy)


def test_a_log_counts_piece_by_piece() -> None:
    whole = cure.cure_done_min([0, 5, 10], [180, 190, 200], reference_degC=190, activation_kJ_per_mol=62)
    parts = [
        cure.cure_done_min(t, level, reference_degC=190, activation_kJ_per_mol=62)
        for t, level in (([0, 5], [180, 190]), ([5, 10], [190, 200]))
    ]
    assert whole == pytest.approx(sum(parts))
    both = cure.cure_done_min([0, 10], [[190, 190], [200, 200]], reference_degC=190, activation_kJ_per_mol=62)
    assert both[0] == pytest.approx(10)
    assert both[1] > 13


def test_bad_schedules_and_logs_are_refused() -> None:
    with pytest.raises(BadInput, match=r"the hotter one must be the shorter one"):
        cure.activation_kJ_per_mol(20.0, 200.0, other_dwell_min=10.0, other_degC=180.0)
    with pytest.raises(BadInput, match=r"the hotter one must be the shorter one"):
        cure.activation_kJ_per_mol(20.0, 200.0, other_dwell_min=10.0, other_degC=200.0)
    with pytest.raises(BadInput, match=r"times_min is \[0\.0, 10\.0, 5\.0\]; it must be at least two rising times"):
        cure.cure_done_min([0, 10, 5], [180, 190, 200], reference_degC=190, activation_kJ_per_mol=62)
