"""What an hour at temperature takes: the oven held empty, and where its heat goes."""

from typing import NamedTuple

from pricing.basis.errors import BadInput, Problem
from pricing.physics.oven import holding_kWh
from pricing.shop.machines import Oven
from pricing.shop.shop import Shop
from pricing.steps.oven_visit import oven_of


class HourHeld(NamedTuple):
    """An hour of an empty oven at its set point, door shut.

    Parameters
    ----------
    walls_kwh, exhaust_kwh : float
        What walls and exhaust take. [kWh]
    electric_kwh, gas_kwh : float
        What is billed: elements and fans; gas on its gross basis. [kWh]
    cost : float
        At the shop's tariffs. [money]
    share_of_heater : float
        Share of the heater's power that holding takes: near 1 it can hardly heat a load.
    """

    walls_kwh: float
    exhaust_kwh: float
    electric_kwh: float
    gas_kwh: float
    cost: float
    share_of_heater: float


def hour_held(shop: Shop, oven: Oven, oven_degC: float) -> HourHeld:
    """Work out an hour at temperature.

    Raises
    ------
    BadInput
        The oven would not be warmer than the shop.

    Examples
    --------
    >>> from pricing.shop.folder import open_shop
    >>> shop = open_shop()
    >>> held = hour_held(shop, shop.machines.oven[0], 200.0)
    >>> round(held.walls_kwh + held.exhaust_kwh, 2) <= round(held.electric_kwh, 2)
    True
    """
    air_degC = shop.front.air_degC
    if oven_degC <= air_degC:
        raise BadInput("oven", [Problem("temperature", f"{oven_degC:g} °C", f"above the shop's {air_degC:g} °C")])
    place = oven_of(oven, oven_degC, air_degC)
    wall, exhaust = place.loss_W_per_K(oven_degC, air_degC)
    rise_K = oven_degC - air_degC
    gas, electric = map(float, holding_kWh(place, hold_min=60.0, oven_degC=oven_degC, shop_degC=air_degC))
    heater = (gas if oven.fuel == "gas" else electric - oven.fan_kw) / oven.heater_kw
    cost = electric * shop.tariffs.electricity_per_kwh + gas * shop.tariffs.gas_per_kwh
    return HourHeld(float(wall) * rise_K / 1000.0, float(exhaust) * rise_K / 1000.0, electric, gas, cost, heater)
