"""Fitting an oven: simulated tests of a known oven, and how often the intervals hold it."""

from dataclasses import replace

import numpy as np
import pytest
from ovens import GAS_OVEN, with_wall
from scipy.integrate import solve_ivp

from pricing.basis.errors import BadInput
from pricing.physics import fit_oven as fits
from pricing.physics import standing

TRUE = replace(with_wall(GAS_OVEN, bridging=3.1), shell_kJ_per_K=420.0)
MINUTES = np.arange(0.0, 181.0, 5.0)


def cooled(shop: float = 18.0, start: float = 195.0) -> np.ndarray:
    """Cool the true oven by an adaptive solver, its wall's conductivity following the temperature."""

    def rate(_t: float, y: np.ndarray) -> np.ndarray:
        return -np.asarray(TRUE.wall.loss_W_per_K(y, shop)) * (y - shop) / (1e3 * TRUE.shell_kJ_per_K)

    return solve_ivp(rate, [0, 60 * MINUTES[-1]], [start], t_eval=60 * MINUTES, rtol=1e-9, atol=1e-9).y[0]


def both_tests(rng: np.random.Generator | None) -> tuple[fits.HoldingTest, fits.CoolDown]:
    held = standing.hold_min(TRUE, hold_min=120.0, oven_degC=200.0, shop_degC=18.0).gas_kWh
    log = cooled()
    oven_degC = 200.0
    if rng is not None:
        held += rng.normal(0, 0.6)
        oven_degC += rng.normal(0, 2.0)
        log = log + rng.normal(0, 1.5, log.size)
    holding = fits.HoldingTest(
        minutes_min=120.0,
        heater_kWh=held,
        oven_degC=oven_degC,
        shop_degC=18.0,
        heater_error_kWh=0.6,
        oven_error_K=2.0,
        exhaust_error_share=0.0,
    )
    return holding, fits.CoolDown(times_min=MINUTES, oven_degC=log, shop_degC=18.0)


def test_clean_tests_give_the_oven_back() -> None:
    fit = fits.fit_oven(GAS_OVEN, *both_tests(None))
    assert fit.bridging == pytest.approx(3.1, rel=1e-6)
    assert fit.shell_kJ_per_K == pytest.approx(420.0, rel=1e-3)
    assert fit.misfit_K < 0.02


def test_intervals_hold_the_true_oven_as_often_as_they_say() -> None:
    rng = np.random.default_rng(7)
    n, wall, shell = 300, 0, 0
    for _ in range(n):
        fit = fits.fit_oven(GAS_OVEN, *both_tests(rng), confidence=0.9)
        wall += fit.bridging_low <= 3.1 <= fit.bridging_high
        shell += fit.shell_low_kJ_per_K <= 420.0 <= fit.shell_high_kJ_per_K
    assert 0.85 <= wall / n <= 0.95
    assert 0.85 <= shell / n <= 0.96


def test_an_unsure_exhaust_widens_both_intervals() -> None:
    holding, cooling = both_tests(None)
    sure = fits.fit_oven(GAS_OVEN, holding, cooling)
    unsure = fits.fit_oven(GAS_OVEN, replace(holding, exhaust_error_share=0.2), cooling)
    assert unsure.bridging_high - unsure.bridging_low > 2 * (sure.bridging_high - sure.bridging_low)
    assert unsure.shell_high_kJ_per_K > sure.shell_high_kJ_per_K


def test_tests_that_cannot_tell_are_refused() -> None:
    holding, cooling = both_tests(None)
    with pytest.raises(BadInput, match=r"heater_kWh is 1\.0; it must be more than the exhaust takes\."):
        fits.fit_oven(GAS_OVEN, replace(holding, heater_kWh=1.0), cooling)
    with pytest.raises(BadInput, match=r"fall over the log is 2\.\d+; it must be at least 20 K\. Log for longer"):
        replace(cooling, times_min=MINUTES[:5], oven_degC=np.linspace(195, 193, 5))
    with pytest.raises(BadInput, match=r"5 or more rising times"):
        replace(cooling, times_min=[0, 10], oven_degC=[195, 150])
    with pytest.raises(BadInput, match=r"oven_degC is 10\.0; it must be above the shop's 18 °C"):
        replace(cooling, times_min=MINUTES[:5], oven_degC=[195, 150, 100, 50, 10])
    with pytest.raises(BadInput, match=r"confidence is 90; .*Write 90 % as 0\.90\."):
        fits.fit_oven(GAS_OVEN, holding, cooling, confidence=90)
