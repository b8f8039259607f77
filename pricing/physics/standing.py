"""The oven without a load: how it warms up, holds and cools.

Takes    an ``OvenModel``, temperatures in °C and minutes, floats or arrays.
Gives    minutes, shell temperatures and kWh, gas and electricity apart.
Assumes  one shell equation, ``C dT/dt = P - UA (T - Ta)``: cold start, hot start and idling follow
         from it alone.
"""

from typing import NamedTuple

import numpy as np

from pricing.basis.checks import Floats, nonneg
from pricing.physics.oven import OvenModel


class Standing(NamedTuple):
    """Minutes and energy of an oven that heats nothing but itself."""

    minutes_min: Floats
    gas_kWh: Floats
    electric_kWh: Floats


def shell_degC_after(
    oven: OvenModel, *, idle_min: Floats, shell_degC: Floats, shop_degC: Floats, power_kW: Floats = 0.0
) -> Floats:
    """Temperature of the shell after standing shut for a while, exhaust off.

    Source: Newton's law of cooling with a constant heater.

    Parameters
    ----------
    oven : OvenModel
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


def hold_min(oven: OvenModel, *, hold_min: Floats, oven_degC: Floats, shop_degC: Floats) -> Standing:
    """Hold an empty oven hot, door shut.

    Source: steady heat balance; `pricing.physics.oven`.

    Parameters
    ----------
    oven : OvenModel
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


def _billed(oven: OvenModel, minutes: Floats, heat_kWh: Floats) -> Standing:
    billed, fans = heat_kWh / oven.available_share, oven.fan_kW * minutes / 60.0
    if oven.fuel == "gas":
        return Standing(minutes, billed, fans)
    return Standing(minutes, 0.0 * billed, fans + billed)
