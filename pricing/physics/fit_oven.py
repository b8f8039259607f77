"""Fit the owner's own oven: wall and shell from one holding test and one logged cool-down.

Takes    what a meter and a thermometer tell; the oven as measured and guessed so far.
Gives    bridging factor and shell heat with their intervals, and the oven with both put in.
Method   holding: the heat that keeps an empty oven at its set point, less exhaust, is the wall's.
         Cooling: door shut, exhaust off, the shell falls as ``C dT/dt = -F UA(T) (T - Ts)``; only C/F
         can be seen in it, so the holding test is needed too.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from pricing.basis.checks import nonneg, positive
from pricing.basis.errors import BadInput, Problem
from pricing.physics.oven import OvenModel

CONFIDENCE = 0.9
"""Of the intervals."""
_FEWEST = 5
_LEAST_FALL_K = 20.0  # of the logged temperatures, or noise hides the curve


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldingTest:
    """An empty oven held at a set point until nothing changes any more, then metered.

    Parameters
    ----------
    minutes_min : float
        Metered time [min]; an hour or more.
    heater_kWh : float
        What burner (gross) or elements took in it [kWh].
    oven_degC, shop_degC : float
        Mean temperatures meanwhile [°C].
    heater_error_kWh : float
        How far off the meter may be, as a standard error [kWh].
    oven_error_K : float
        How far off the thermometer may be, as a standard error [K].
    exhaust_error_share : float
        How far off the exhaust's flow may be, as a share of it, as a standard error.

    Raises
    ------
    BadInput
        A value is out of range.
    """

    minutes_min: float
    heater_kWh: float
    oven_degC: float
    shop_degC: float
    heater_error_kWh: float
    oven_error_K: float
    exhaust_error_share: float

    def __post_init__(self) -> None:
        positive(
            "holding test",
            minutes_min=self.minutes_min,
            heater_kWh=self.heater_kWh,
            rise_K=self.oven_degC - self.shop_degC,
        )
        nonneg(
            "holding test",
            heater_error_kWh=self.heater_error_kWh,
            oven_error_K=self.oven_error_K,
            exhaust_error_share=self.exhaust_error_share,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class CoolDown:
    """A log of an empty oven that cools, door shut, heat and exhaust off.

    Parameters
    ----------
    times_min : sequence of float
        Times of the readings, rising [min]; start some minutes after the burner went out.
    oven_degC : sequence of float
        Air temperatures at those times [°C].
    shop_degC : float
        Temperature of the shop [°C].

    Raises
    ------
    BadInput
        Too few readings, times that do not rise, or too little fall to see a curve.
    """

    times_min: Sequence[float]
    oven_degC: Sequence[float]
    shop_degC: float

    def __post_init__(self) -> None:
        times, levels = np.asarray(self.times_min, dtype=float), np.asarray(self.oven_degC, dtype=float)
        bad = []
        if times.size < _FEWEST or times.shape != levels.shape or not (np.diff(times) > 0).all():
            bad.append(Problem("times_min", times.tolist(), f"{_FEWEST} or more rising times, one a reading"))
        elif not (np.isfinite(levels).all() and levels.min() > self.shop_degC):
            bad.append(Problem("oven_degC", float(levels.min()), f"above the shop's {self.shop_degC:g} °C"))
        elif levels[0] - levels[-1] < _LEAST_FALL_K:
            fall = float(levels[0] - levels[-1])
            mend = "Log for longer: an oven takes hours to cool."
            bad.append(Problem("fall over the log", fall, f"at least {_LEAST_FALL_K:g} K", mend))
        if bad:
            raise BadInput("cool-down log", bad)


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


def fit_oven(oven: OvenModel, holding: HoldingTest, cooling: CoolDown) -> OvenFit:
    """Fit wall and shell of an oven to its own tests.

    Source: least squares on the balance of `pricing.physics.oven`; intervals by the method of Gauss and
    Student's t.

    Parameters
    ----------
    oven : OvenModel
        The oven with floats in it; its bridging factor and shell are what is looked for.
    holding : HoldingTest
        Metered holding of the empty oven.
    cooling : CoolDown
        Logged cool-down of the empty oven.

    Returns
    -------
    OvenFit
        Factors and intervals: Student's t for the curve, the stated errors for the meters.

    Raises
    ------
    BadInput
        The exhaust alone takes more than the heater gave.
    """
    from scipy.optimize import curve_fit  # heavy: only where an oven is fitted
    from scipy.stats import norm, t

    bridging, bridging_error = _bridging(oven, holding)
    times, levels = np.asarray(cooling.times_min, float), np.asarray(cooling.oven_degC, float)
    clean = replace(oven.wall, bridging=1.0)
    top, bottom = float(levels.max()) + 50.0, cooling.shop_degC
    grid = bottom + (top - bottom) * np.geomspace(1.0, 1e-3, 2000)
    slope = 1.0 / (np.asarray(clean.loss_W_per_K(grid, bottom)) * (grid - bottom))
    passed = np.concatenate([[0.0], np.cumsum(0.5 * (slope[1:] + slope[:-1]) * -np.diff(grid))])  # s/(J/K)

    def curve(minutes: npt.NDArray[np.float64], log_store: float, start_degC: float) -> npt.NDArray[np.float64]:
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


def _bridging(oven: OvenModel, holding: HoldingTest) -> tuple[float, float]:
    """Work out the bridging factor and its standard error from the holding test."""

    def factor(heater_kWh: float, oven_degC: float, exhaust_share: float) -> float:
        hours = holding.minutes_min / 60.0
        heat_W = 1e3 * (
            heater_kWh / hours * float(oven.available_share) + float(oven.fan_kW) * float(oven.fan_heat_share)
        )
        rise = oven_degC - holding.shop_degC
        exhaust_W = exhaust_share * float(oven.loss_W_per_K(oven_degC, holding.shop_degC)[1]) * rise
        clean = replace(oven.wall, bridging=1.0)
        return (heat_W - exhaust_W) / (float(clean.loss_W_per_K(oven_degC, holding.shop_degC)) * rise)

    at = (holding.heater_kWh, holding.oven_degC, 1.0)
    value = factor(*at)
    if value <= 0:
        mend = "The exhaust alone takes more: check its flow, or test with the exhaust off."
        raise BadInput("holding test", [Problem("heater_kWh", holding.heater_kWh, "more than the exhaust takes", mend)])
    errors = (holding.heater_error_kWh, holding.oven_error_K, holding.exhaust_error_share)
    moved = [factor(*(v + (e if i == j else 0.0) for j, v in enumerate(at))) - value for i, e in enumerate(errors)]
    return value, float(np.sqrt(sum(m * m for m in moved)))
