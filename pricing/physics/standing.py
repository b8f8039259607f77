"""The oven without a load: how it warms up, holds and cools.

Takes    an ``Oven``, temperatures in °C and minutes, floats or arrays.
Gives    minutes, shell temperatures and kWh, gas and electricity apart.
Assumes  one shell equation, ``C dT/dt = P - UA (T - Ta)``: cold start, hot start and idling follow
         from it alone.
Room     physics. Imports oven, basis. Imported by fit_oven and steps.
"""

from typing import NamedTuple

import numpy as np

from pricing.basis.checks import Floats, nonneg, positive
from pricing.basis.errors import BadInput, Problem
from pricing.physics.oven import Oven


class Standing(NamedTuple):
    """Minutes and energy of an oven that heats nothing but itself."""

    minutes_min: Floats
    gas_kWh: Floats
    electric_kWh: Floats


def warm_up_min(
    power_kW: Floats, loss_W_per_K: Floats, *, shell_kJ_per_K: Floats, from_rise_K: Floats, to_rise_K: Floats
) -> Floats:
    """Minutes to bring an empty shell from one rise above the shop to another at steady power.

    Parameters
    ----------
    power_kW : float or array
        Heat into the oven [kW]; 0 while it cools.
    loss_W_per_K : float or array
        Loss of walls and exhaust [W/K].
    shell_kJ_per_K : float or array
        Heat of the shell [kJ/K].
    from_rise_K, to_rise_K : float or array
        Rise above the shop at the start and at the end [K].

    Returns
    -------
    float or array
        Minutes.

    Raises
    ------
    BadInput
        The shell never gets there with this power.

    Notes
    -----
    ``t = (C/UA) ln[(P - UA ΔT0)/(P - UA ΔT1)]`` from ``C dT/dt = P - UA (T - Ta)``. Cold start, hot
    start and idling all follow from this one equation.

    Examples
    --------
    >>> round(warm_up_min(40.0, 60.0, shell_kJ_per_K=1200.0, from_rise_K=0.0, to_rise_K=180.0), 1)
    104.9
    """
    positive("oven warm-up", loss_W_per_K=loss_W_per_K, shell_kJ_per_K=shell_kJ_per_K)
    nonneg("oven warm-up", power_kW=power_kW, from_rise_K=from_rise_K, to_rise_K=to_rise_K)
    before = 1e3 * power_kW - loss_W_per_K * from_rise_K
    after = 1e3 * power_kW - loss_W_per_K * to_rise_K
    same = np.asarray(before == after)
    never = (np.asarray(before * after) <= 0) | (np.abs(np.asarray(after)) > np.abs(np.asarray(before)))
    if np.any(~same & never):
        least = float(np.max(np.asarray(loss_W_per_K * to_rise_K))) / 1e3
        mend = "The loss at that rise takes all of it; choose a stronger heater or a lower temperature."
        raise BadInput("oven warm-up", [Problem("power_kW", power_kW, f"above {least:.3g} kW", mend)])
    ratio = np.where(same, 1.0, before / np.where(same, 1.0, after))
    minutes = shell_kJ_per_K * 1e3 / loss_W_per_K / 60.0 * np.log(ratio)
    return float(minutes) if np.ndim(minutes) == 0 else np.asarray(minutes)


def shell_degC_after(
    oven: Oven, *, idle_min: Floats, shell_degC: Floats, shop_degC: Floats, power_kW: Floats = 0.0
) -> Floats:
    """Temperature of the shell after standing shut for a while, exhaust off.

    Parameters
    ----------
    oven : Oven
        The oven.
    idle_min : float or array
        Time since it was at ``shell_degC`` [min].
    shell_degC, shop_degC : float or array
        Temperature of the shell then, and of the shop [°C].
    power_kW : float or array
        Heat into the oven meanwhile [kW]; 0 when switched off.

    Returns
    -------
    float or array
        Temperature [°C].

    Raises
    ------
    BadInput
        Time or power is negative or not finite.

    Notes
    -----
    Decay with ``τ = C/UA`` towards the shop, or towards the rise that the power can hold.
    """
    nonneg("idle oven", idle_min=idle_min, power_kW=power_kW)
    loss = oven.wall.loss_W_per_K(shell_degC, shop_degC)
    end = shop_degC + 1e3 * power_kW / loss
    left = np.exp(-60.0 * idle_min * loss / (1e3 * oven.shell_kJ_per_K))
    level = end + (shell_degC - end) * left
    return float(level) if np.ndim(level) == 0 else level


def hold(oven: Oven, *, hold_min: Floats, oven_degC: Floats, shop_degC: Floats) -> Standing:
    """Hold an empty oven hot, door shut.

    Parameters
    ----------
    oven : Oven
        The oven.
    hold_min : float or array
        Time [min].
    oven_degC, shop_degC : float or array
        Temperatures [°C].

    Returns
    -------
    Standing
        Energy as billed: gas on the gross basis, electricity of fans (and elements).

    Raises
    ------
    BadInput
        The time is negative or not finite.
    """
    nonneg("holding the oven", hold_min=hold_min)
    wall, exhaust = oven.loss_W_per_K(oven_degC, shop_degC)
    need = 1e-3 * (wall + exhaust) * (oven_degC - shop_degC) - oven.fan_kW * oven.fan_heat_share
    return _billed(oven, hold_min, np.maximum(0.0, need) * hold_min / 60.0)


def preheat(oven: Oven, *, oven_degC: Floats, shop_degC: Floats, shell_degC: Floats | None = None) -> Standing:
    """Bring an empty oven to its set point at full power.

    Parameters
    ----------
    oven : Oven
        The oven.
    oven_degC, shop_degC : float or array
        Set point and shop [°C].
    shell_degC : float or array, optional
        Shell at the start [°C]; the shop's when it starts cold.

    Returns
    -------
    Standing
        Minutes and energy as billed; nothing where the shell is hot enough already.

    Raises
    ------
    BadInput
        The heater cannot hold the set point.
    """
    start = shop_degC if shell_degC is None else shell_degC
    start = np.minimum(start, oven_degC)
    wall, exhaust = oven.loss_W_per_K(oven_degC, shop_degC)
    heat = oven.heater_kW * oven.available_share
    minutes = warm_up_min(
        heat + oven.fan_kW * oven.fan_heat_share,
        wall + exhaust,
        shell_kJ_per_K=oven.shell_kJ_per_K,
        from_rise_K=start - shop_degC,
        to_rise_K=oven_degC - shop_degC,
    )
    return _billed(oven, minutes, heat * minutes / 60.0)


def _billed(oven: Oven, minutes: Floats, heat_kWh: Floats) -> Standing:
    billed, fans = heat_kWh / oven.available_share, oven.fan_kW * minutes / 60.0
    if oven.fuel == "gas":
        return Standing(minutes, billed, fans)
    return Standing(minutes, 0.0 * billed, fans + billed)
