"""Fit the owner's own oven: wall and shell from one holding test and one logged cool-down.

Takes    what a meter and a thermometer tell; the oven as measured and guessed so far.
Gives    bridging factor and shell heat with their intervals, and the oven with both put in.
Method   holding: the heat that keeps an empty oven at its set point, less exhaust, is the wall's.
         Cooling: door shut, exhaust off, the shell falls as ``C dT/dt = -F UA(T) (T - Ts)``; only C/F
         can be seen in it, so the holding test is needed too.
"""

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from pricing.basis.arrays import Array
from pricing.basis.checks import positive
from pricing.basis.errors import BadInput, Problem
from pricing.physics.oven import OvenModel

CONFIDENCE = 0.9
"""Of the intervals."""
_FEWEST = 5
_LEAST_FALL_K = 20.0  # of the logged temperatures, or noise hides the curve


@dataclass(frozen=True, slots=True, kw_only=True)
class Readings:
    """What the owner wrote down at the two tests of an empty oven.

    Parameters
    ----------
    held_min, took_kwh : float
        Metered time at the set point, once nothing changes any more (an hour or more) [min], and what burner (gross)
        or elements took in it [kWh].
    oven_degC, shop_degC : float
        Mean temperatures meanwhile [°C].
    times_min, cooling_degC : tuple of float
        Log of the cool-down, door shut, heat and exhaust off; begun some minutes after the burner went out [min, °C].
    """

    held_min: float
    took_kwh: float
    oven_degC: float
    shop_degC: float
    times_min: tuple[float, ...]
    cooling_degC: tuple[float, ...]


class ReadingErrors(NamedTuple):
    """How far off meter [kWh], thermometer [K] and the exhaust's flow [share of it] may be, as standard errors."""

    meter_kWh: float
    oven_K: float
    exhaust_share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OvenFit:
    """What the two tests say about an oven; intervals hold it nine times in ten.

    Parameters
    ----------
    bridging, bridging_low, bridging_high : float
        Bridging factor of the wall and its interval.
    shell_kJ_per_K, shell_low_kJ_per_K, shell_high_kJ_per_K : float
        Heat of the shell and its interval [kJ/K].
    misfit_K : float
        Standard deviation of the logged temperatures about the fitted curve [K].
    """

    bridging: float
    bridging_low: float
    bridging_high: float
    shell_kJ_per_K: float
    shell_low_kJ_per_K: float
    shell_high_kJ_per_K: float
    misfit_K: float


def fit_oven(oven: OvenModel, readings: Readings, errors: ReadingErrors) -> OvenFit:
    """Fit wall and shell of an oven to its own tests.

    Source: least squares on the balance of `pricing.physics.oven`; intervals by the method of Gauss and
    Student's t.

    Parameters
    ----------
    oven : OvenModel
        The oven with floats in it; its bridging factor and shell are what is looked for.
    readings : Readings
        Metered holding and logged cool-down of the empty oven.
    errors : ReadingErrors
        How far off they may be.

    Returns
    -------
    OvenFit
        Factors and intervals: Student's t for the curve, the stated errors for the meters.

    Raises
    ------
    BadInput
        A reading is impossible, the log too short to see a curve, or the exhaust alone takes more than the heater gave.
    """
    from scipy.optimize import curve_fit  # heavy: only where an oven is fitted
    from scipy.stats import norm, t

    times, levels = np.asarray(readings.times_min, float), np.asarray(readings.cooling_degC, float)
    _check(readings, times, levels)
    bridging, bridging_error = _bridging(oven, readings, errors)
    clean = replace(oven.wall, bridging=1.0)
    top, bottom = float(levels.max()) + 50.0, readings.shop_degC
    grid = bottom + (top - bottom) * np.geomspace(1.0, 1e-3, 2000)
    slope = 1.0 / (np.asarray(clean.loss_W_per_K(grid, bottom)) * (grid - bottom))
    passed = np.concatenate([[0.0], np.cumsum(0.5 * (slope[1:] + slope[:-1]) * -np.diff(grid))])  # s/(J/K)

    def curve(minutes: Array, log_store: float, start_degC: float) -> Array:
        begun = np.interp(-start_degC, -grid, passed)
        return np.asarray(np.interp(begun + 60.0 * minutes / np.exp(log_store), passed, grid))

    store = (
        60.0 * (times[-1] - times[0]) / (np.interp(-levels[-1], -grid, passed) - np.interp(-levels[0], -grid, passed))
    )
    found, spread = curve_fit(curve, times - times[0], levels, p0=[np.log(store), levels[0]])
    free = times.size - 2
    misfit = float(np.sqrt(((curve(times - times[0], *found) - levels) ** 2).sum() / free))
    shell = float(np.exp(found[0])) * bridging / 1e3
    # two independent errors on the log scale, each with its own quantile
    by_curve = float(t.ppf(0.5 + CONFIDENCE / 2, free)) * float(np.sqrt(spread[0, 0]))
    by_meter = float(norm.ppf(0.5 + CONFIDENCE / 2)) * bridging_error / bridging
    wide = float(np.exp(np.hypot(by_curve, by_meter)))
    return OvenFit(
        bridging=bridging,
        bridging_low=bridging * (1.0 - by_meter) if by_meter < 1 else 0.0,
        bridging_high=bridging * (1.0 + by_meter),
        shell_kJ_per_K=shell,
        shell_low_kJ_per_K=shell / wide,
        shell_high_kJ_per_K=shell * wide,
        misfit_K=misfit,
    )


def _check(readings: Readings, times_min: Array, levels_degC: Array) -> None:
    """Refuse readings that cannot be, or tell nothing."""
    positive(
        "holding test",
        minutes_min=readings.held_min,
        heater_kWh=readings.took_kwh,
        rise_K=readings.oven_degC - readings.shop_degC,
    )
    bad = []
    if times_min.size < _FEWEST or times_min.shape != levels_degC.shape or not (np.diff(times_min) > 0).all():
        bad.append(Problem("times_min", times_min.tolist(), f"{_FEWEST} or more rising times, one a reading"))
    elif not (np.isfinite(levels_degC).all() and levels_degC.min() > readings.shop_degC):
        bad.append(Problem("oven_degC", float(levels_degC.min()), f"above the shop's {readings.shop_degC:g} °C"))
    elif levels_degC[0] - levels_degC[-1] < _LEAST_FALL_K:
        fall = float(levels_degC[0] - levels_degC[-1])
        mend = "Log for longer: an oven takes hours to cool."
        bad.append(Problem("fall over the log", fall, f"at least {_LEAST_FALL_K:g} K", mend))
    if bad:
        raise BadInput("cool-down log", bad)


def _bridging(oven: OvenModel, readings: Readings, errors: ReadingErrors) -> tuple[float, float]:
    """Work out the bridging factor and its standard error from the holding test."""

    def factor(heater_kWh: float, oven_degC: float, exhaust_share: float) -> float:
        hours = readings.held_min / 60.0
        heat_W = 1e3 * (
            heater_kWh / hours * float(oven.available_share) + float(oven.fan_kW) * float(oven.fan_heat_share)
        )
        rise = oven_degC - readings.shop_degC
        exhaust_W = exhaust_share * float(oven.loss_W_per_K(oven_degC, readings.shop_degC)[1]) * rise
        clean = replace(oven.wall, bridging=1.0)
        return (heat_W - exhaust_W) / (float(clean.loss_W_per_K(oven_degC, readings.shop_degC)) * rise)

    at = (readings.took_kwh, readings.oven_degC, 1.0)
    value = factor(*at)
    if value <= 0:
        mend = "The exhaust alone takes more: check its flow, or test with the exhaust off."
        raise BadInput("holding test", [Problem("heater_kWh", readings.took_kwh, "more than the exhaust takes", mend)])
    moved = [factor(*(v + (e if i == j else 0.0) for j, v in enumerate(at))) - value for i, e in enumerate(errors)]
    return value, float(np.sqrt(sum(m * m for m in moved)))
