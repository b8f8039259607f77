"""Heating: against an adaptive solver, against the exact series, and what it refuses."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ovens import ALUMINIUM, COATED, STEEL
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from pricing.physics import heating
from pricing.physics.heating import Exchange
from pricing.physics.metals import Metal

SIGMA = 5.670374419e-8


def by_solver(metal: Metal, section_m: float, start: float, end: float, air: float, ex: Exchange) -> float:
    """Minutes by an adaptive solver, every term written out again."""

    def rate(_t: float, y: np.ndarray) -> list[float]:
        t = y[0]
        heat = metal.c0 + metal.c1 * t + metal.c2 * t**2 + metal.c3 * t**3
        gain = ex.air_W_per_m2K * (air - t) + ex.emissivity * SIGMA * ((air + 273.15) ** 4 - (t + 273.15) ** 4)
        return [gain / (metal.density_kg_per_m3 * heat * section_m)]

    def there(_t: float, y: np.ndarray) -> float:
        return float(y[0] - end)

    there.terminal = True  # type: ignore[attr-defined]
    solved = solve_ivp(rate, [0, 1e6], [start], events=there, rtol=1e-9, atol=1e-9, method="LSODA")
    return float(solved.t_events[0][0]) / 60


@settings(max_examples=60, deadline=None)
@given(
    metal=st.sampled_from([STEEL, ALUMINIUM]),
    section_m=st.floats(3e-4, 5e-3),
    start=st.floats(0, 60),
    air=st.floats(120, 300),
    short=st.floats(1, 50),
    film=st.floats(8, 60),
    emissivity=st.floats(0, 1),
)
def test_heat_up_agrees_with_an_adaptive_solver(
    metal: Metal,
    section_m: float,
    start: float,
    air: float,
    short: float,
    film: float,
    emissivity: float,
) -> None:
    ex, end = Exchange(air_W_per_m2K=film, emissivity=emissivity), air - short
    ours = heating.heat_up_min(metal, section_m, from_degC=start, to_degC=end, air_degC=air, exchange=ex)
    theirs = by_solver(metal, section_m, start, end, air, ex)
    thick = (film + 15) * section_m / metal.conductivity_W_per_mK  # Biot's number
    assert ours == pytest.approx(theirs, rel=5e-4 + thick)  # a thick middle lags by about Bi/2
    assert ours >= theirs * (1 - 5e-4)


def _middle_of_a_wall(fourier: float, bi: float) -> float:
    """Gap left in the middle of a plane wall: the exact series, any textbook of heat transfer (Carslaw and Jaeger)."""
    roots = [brentq(lambda z: z * np.sin(z) - bi * np.cos(z), n * np.pi, (n + 0.5) * np.pi) for n in range(20)]
    return sum(4 * np.sin(z) / (2 * z + np.sin(2 * z)) * np.exp(-(z**2) * fourier) for z in roots)


@settings(max_examples=40, deadline=None)
@given(st.floats(0.001, 3.0), st.floats(0.02, 0.6))
def test_a_thick_section_agrees_with_the_exact_series(bi: float, left: float) -> None:
    """Without radiation and at constant c the plane wall's series is exact."""
    half_m, film = 0.02, 50.0
    metal = Metal(density_kg_per_m3=7850, conductivity_W_per_mK=film * half_m / bi, emissivity=0.5, c0=480, to_degC=500)
    minutes = heating.heat_up_min(
        metal,
        half_m,
        from_degC=0.0,
        to_degC=200.0 * (1 - left),
        air_degC=200.0,
        exchange=Exchange(air_W_per_m2K=film, emissivity=0.0),
    )
    fourier = 60 * minutes * metal.conductivity_W_per_mK / (metal.density_kg_per_m3 * 480 * half_m**2)
    assert _middle_of_a_wall(fourier, bi) == pytest.approx(left, rel=2e-3)


def test_metal_that_is_hot_enough_takes_no_time() -> None:
    assert heating.heat_up_min(STEEL, 0.002, from_degC=195.0, to_degC=190.0, air_degC=200.0, exchange=COATED) == 0.0
    several = heating.heat_up_min(
        STEEL, 0.002, from_degC=np.array([20.0, 195.0]), to_degC=190.0, air_degC=200.0, exchange=COATED
    )
    assert several[0] > 3
    assert several[1] == 0.0
