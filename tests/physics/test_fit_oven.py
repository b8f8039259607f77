"""Fitting an oven: simulated tests of a known oven, and how often the intervals hold it."""

from dataclasses import replace

import numpy as np
import pytest
from ovens import GAS_OVEN, with_wall
from scipy.integrate import solve_ivp
from scipy.stats import t

from pricing.basis.errors import BadInput
from pricing.physics import fit_oven as fits
from pricing.physics.oven import holding_kWh

TRUE = replace(with_wall(GAS_OVEN, bridging=3.1), shell_kJ_per_K=420.0)
MINUTES = np.arange(0.0, 181.0, 5.0)
FINE = np.arange(0.0, 182.0, 0.5)


def cooled(shop: float = 18.0, start: float = 195.0, times: np.ndarray = MINUTES) -> np.ndarray:
    """Cool the true oven by an adaptive solver, its wall's conductivity following the temperature."""

    def rate(_t: float, y: np.ndarray) -> np.ndarray:
        return -np.asarray(TRUE.wall.loss_W_per_K(y, shop)) * (y - shop) / (1e3 * TRUE.shell_kJ_per_K)

    return solve_ivp(rate, [0, 60 * times[-1]], [start], t_eval=60 * times, rtol=1e-9, atol=1e-9).y[0]


def both_tests(rng: np.random.Generator | None) -> tuple[fits.Readings, fits.ReadingErrors]:
    held = holding_kWh(TRUE, hold_min=120.0, oven_degC=200.0, shop_degC=18.0)[0]
    log = cooled()
    oven_degC = 200.0
    if rng is not None:
        held += rng.normal(0, 0.6)
        oven_degC += rng.normal(0, 2.0)
        log = log + rng.normal(0, 1.5, log.size)
    readings = fits.Readings(
        held_min=120.0,
        took_kwh=held,
        oven_degC=oven_degC,
        shop_degC=18.0,
        times_min=tuple(MINUTES),
        cooling_degC=tuple(log),
    )
    return readings, fits.ReadingErrors(meter_kWh=0.6, oven_K=2.0, exhaust_share=0.0)


def test_clean_tests_give_the_oven_back() -> None:
    fit = fits.fit_oven(GAS_OVEN, *both_tests(None))
    assert fit.bridging == pytest.approx(3.1, rel=1e-6)
    assert fit.shell_kJ_per_K == pytest.approx(420.0, rel=1e-3)
    assert fit.misfit_K < 0.02


def test_intervals_hold_the_true_oven_as_often_as_they_say() -> None:
    rng = np.random.default_rng(7)
    n, wall, shell = 300, 0, 0
    for _ in range(n):
        fit = fits.fit_oven(GAS_OVEN, *both_tests(rng))
        wall += fit.bridging_low <= 3.1 <= fit.bridging_high
        shell += fit.shell_low_kJ_per_K <= 420.0 <= fit.shell_high_kJ_per_K
    assert 0.85 <= wall / n <= 0.95
    assert 0.85 <= shell / n <= 0.96


def test_an_unsure_exhaust_widens_both_intervals() -> None:
    readings, errors = both_tests(None)
    sure = fits.fit_oven(GAS_OVEN, readings, errors)
    unsure = fits.fit_oven(GAS_OVEN, readings, errors._replace(exhaust_share=0.2))
    assert unsure.bridging_high - unsure.bridging_low > 2 * (sure.bridging_high - sure.bridging_low)
    assert unsure.shell_high_kJ_per_K > sure.shell_high_kJ_per_K


def test_tests_that_cannot_tell_are_refused() -> None:
    readings, errors = both_tests(None)
    with pytest.raises(BadInput, match=r"heater_kWh is 1\.0; it must be more than the exhaust takes\."):
        fits.fit_oven(GAS_OVEN, replace(readings, took_kwh=1.0), errors)
    few = MINUTES[:5]
    for times, log, message in (
        (few, np.linspace(195, 193, 5), r"fall over the log is 2\.\d+; it must be at least 20 K\. Log for longer"),
        ([0, 10], [195, 150], r"5 or more rising times"),
        (few, [195, 150, 100, 50, 10], r"oven_degC is 10\.0; it must be above the shop's 18 °C"),
    ):
        logged = replace(readings, times_min=tuple(times), cooling_degC=tuple(log))
        with pytest.raises(BadInput, match=message):
            fits.fit_oven(GAS_OVEN, logged, errors)
    for change, field in (
        ({"held_min": 0.0}, "minutes_min"),
        ({"took_kwh": -1.0}, "heater_kWh"),
        ({"oven_degC": 18.0}, "rise_K"),
    ):
        with pytest.raises(BadInput, match=rf"holding test needs mending:\n  {field} is .*; it must be above 0"):
            fits.fit_oven(GAS_OVEN, replace(readings, **change), errors)


def test_intervals_by_hand() -> None:
    """The meters' errors move the bridging factor by so much each; Student's t and the normal give the quantiles."""
    readings, errors = both_tests(None)
    sure = errors._replace(oven_K=0.0)
    rise, clean = 182.0, float(with_wall(GAS_OVEN, bridging=1.0).wall.loss_W_per_K(200.0, 18.0))
    exhaust = float(GAS_OVEN.loss_W_per_K(200.0, 18.0)[1])
    meter = 1e3 * 0.6 / 2.0 * float(GAS_OVEN.available_share) / (clean * rise)  # 0.6 kWh in two hours
    flow = 0.1 * exhaust / clean
    for changes, error in (
        ({}, meter),
        ({"meter_kWh": 0.0, "exhaust_share": 0.1}, flow),
        ({"exhaust_share": 0.1}, np.hypot(meter, flow)),
    ):
        fit = fits.fit_oven(GAS_OVEN, readings, sure._replace(**changes))
        wide = 1.6448536269514722 * error  # 95 % point of the normal
        assert (fit.bridging_low, fit.bridging_high) == pytest.approx((3.1 - wide, 3.1 + wide), rel=1e-6)
        assert fit.shell_high_kJ_per_K / fit.shell_kJ_per_K == pytest.approx(np.exp(wide / 3.1), rel=1e-3)
        assert fit.shell_kJ_per_K / fit.shell_low_kJ_per_K == pytest.approx(np.exp(wide / 3.1), rel=1e-3)
    # a thermometer 2 K off: the factor at 202 °C less the factor at 200 °C
    hot = errors._replace(meter_kWh=0.0)
    heat = (3.1 * clean + exhaust) * rise
    walls, out = (float(x) for x in with_wall(GAS_OVEN, bridging=1.0).loss_W_per_K(202.0, 18.0))
    off = abs((heat - out * 184.0) / (walls * 184.0) - 3.1)
    fit = fits.fit_oven(GAS_OVEN, readings, hot)
    assert fit.bridging_high - 3.1 == pytest.approx(1.6448536269514722 * off, rel=1e-4)
    lost = fits.fit_oven(GAS_OVEN, readings, sure._replace(meter_kWh=50.0))
    assert lost.bridging_low == 0.0  # the meter may be so far off that nothing is known below


def test_the_scatter_of_the_log_is_that_about_its_curve() -> None:
    """A zigzag of 1 K about a clean log: its root mean square over two degrees of freedom less than readings."""
    readings, errors = both_tests(None)
    zigzag = np.where(np.arange(MINUTES.size) % 2, 1.0, -1.0)
    exact = errors._replace(meter_kWh=0.0, oven_K=0.0)
    fit = fits.fit_oven(GAS_OVEN, replace(readings, cooling_degC=tuple(cooled() + zigzag)), exact)
    n = MINUTES.size
    assert fit.misfit_K == pytest.approx(np.sqrt(n / (n - 2)), rel=3e-3)
    # by the method of Gauss: the curve's slopes against log store and start, by differences of exact cool-downs
    store, start = 420.0, cooled()[0]
    slopes = np.column_stack([(cooled_by(store * 1.001) - cooled_by(store / 1.001)) / 0.002, cooled_from(start)])
    spread = np.linalg.inv(slopes.T @ slopes)[0, 0] * n / (n - 2)
    wide = np.exp(t.ppf(0.95, n - 2) * np.sqrt(spread))
    assert fit.shell_high_kJ_per_K / fit.shell_kJ_per_K == pytest.approx(wide, rel=1e-3)


def cooled_by(shell_kJ_per_K: float) -> np.ndarray:
    """The same oven with another shell: it is as far after a time in proportion."""
    return np.interp(MINUTES * TRUE.shell_kJ_per_K / shell_kJ_per_K, FINE, cooled(times=FINE))


def cooled_from(start: float) -> np.ndarray:
    return (cooled(start=start + 0.1) - cooled(start=start - 0.1)) / 0.2
