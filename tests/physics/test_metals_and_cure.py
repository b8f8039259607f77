"""Metals: against quadrature, and what they refuse."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from ovens import NUMBERS, STEEL
from scipy.integrate import quad

from pricing.basis.errors import BadInput
from pricing.physics import metals

NAMES = ["steel", "aluminium", "stainless", "cast_iron", "zinc", "copper", "brass"]
temperatures = st.floats(-20, 350)


@given(st.sampled_from(NAMES), temperatures, temperatures)
def test_heat_is_the_integral_of_specific_heat(name: str, a: float, b: float) -> None:
    metal = metals.metal_of(name, NUMBERS)
    by_quad, _ = quad(lambda t: metal.c0 + metal.c1 * t + metal.c2 * t**2 + metal.c3 * t**3, a, b)
    assert metals.heat_J_per_kg(metal, a, b) == pytest.approx(by_quad, abs=1e-3)


def test_a_list_of_parts_of_several_metals_is_one_record() -> None:
    both = metals.pick_metal([metals.metal_of(n, NUMBERS) for n in NAMES], [0, 1, 0])
    each = [metals.heat_J_per_kg(metals.metal_of(n, NUMBERS), 20.0, 200.0) for n in ("steel", "aluminium", "steel")]
    assert metals.heat_J_per_kg(both, 20.0, 200.0).tolist() == pytest.approx(each)


@pytest.mark.parametrize("level", [700.0, np.array([20.0, 700.0]), float("nan"), -300.0])
def test_a_temperature_outside_the_polynomial_is_refused(level: float) -> None:
    with pytest.raises(BadInput, match=r"to_degC is (700\.0|nan|-300\.0); it must be at most 600 °C for this metal"):
        metals.heat_J_per_kg(STEEL, 20.0, level)


def test_a_metal_is_known_up_to_its_last_degree() -> None:
    """100 K at a specific heat of 500 J/(kg K); the last degree counts, the next does not."""
    plain = metals.Metal(density_kg_per_m3=7850.0, conductivity_W_per_mK=50.0, emissivity=0.5, c0=500.0, to_degC=300.0)
    assert metals.heat_J_per_kg(plain, 200.0, 300.0) == pytest.approx(50e3)
    assert metals.heat_J_per_kg(plain, np.array([200.0]), 300.0) == pytest.approx(50e3)
    for level in (300.1, np.array([20.0, 300.1])):
        with pytest.raises(BadInput, match="at most 300"):
            metals.heat_J_per_kg(plain, 20.0, level)
