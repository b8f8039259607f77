"""Burn-off of old coatings: its energy.

Takes    the load, the oven and its afterburner, floats or arrays.
Gives    kWh of metal, walls, afterburner and binder.
Numbers  none in this file: rows ``burnoff.*``, ``binder.*`` of ``data/facts.csv`` come in.
Hazard   fumes need an afterburner and a permit; lead, cadmium or chromate may be in old coatings; never
         open on a fire. Keep to the oven maker's cycle and to local codes.
"""

from dataclasses import dataclass

import numpy as np

from pricing.basis.checks import Floats
from pricing.physics.air import Air, air_heat_J_per_kg, fresh_air_kg_per_s
from pricing.physics.metals import Metal, heat_J_per_kg
from pricing.physics.oven import Wall

_J_PER_KWH = 3.6e6  # by definition


@dataclass(frozen=True, slots=True, kw_only=True)
class BurnOffOven:
    """A burn-off oven with its afterburner, gas on the gross basis.

    Parameters
    ----------
    wall : Wall
        Insulated shell.
    air : Air
        Air of the place.
    shell_kJ_per_K : float or array
        Heat of the shell and its cart [kJ/K].
    exhaust_m3_per_h : float or array
        Air drawn in, at shop temperature [m³/h].
    metal_degC, afterburner_degC : float or array
        Temperatures of load and afterburner [°C].
    available_share, afterburner_available_share : float or array
        Share of each burner's gross heat that stays, its flue at its own temperature.
    binder_used_share : float or array
        Share of the binder's heat that saves afterburner gas; 0 is the careful choice.
    """

    wall: Wall
    air: Air
    shell_kJ_per_K: Floats
    exhaust_m3_per_h: Floats
    metal_degC: Floats
    afterburner_degC: Floats
    available_share: Floats
    afterburner_available_share: Floats
    binder_used_share: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class BurnOffHeat:
    """Where the gas of one burn-off cycle goes; kWh, floats or arrays.

    Parameters
    ----------
    metal_kWh, shell_kWh, wall_kWh, exhaust_kWh : float or array
        Heat into load and cart, shell, walls and the air drawn in, up to the oven's temperature.
    afterburner_kWh : float or array
        Heat that lifts the exhaust from the oven's to the afterburner's temperature.
    binder_kWh : float or array
        Heat that the old coating gives off.
    gas_kWh : float or array
        Gas of both burners, gross.
    """

    metal_kWh: Floats
    shell_kWh: Floats
    wall_kWh: Floats
    exhaust_kWh: Floats
    afterburner_kWh: Floats
    binder_kWh: Floats
    gas_kWh: Floats


def burn_off(
    oven: BurnOffOven,
    metal: Metal,
    *,
    mass_kg: Floats,
    coating_kg: Floats,
    binder_MJ_per_kg: Floats,
    cycle_min: Floats,
    shop_degC: Floats,
) -> BurnOffHeat:
    """Energy of one burn-off cycle from cold.

    Source: steady heat balance of oven and afterburner; temperatures ``burnoff.metal`` and ``burnoff.afterburner``
    (burnoff_maker).

    Parameters
    ----------
    oven : BurnOffOven
        Oven and afterburner.
    metal : Metal
        Of the load and its cart; what must never go in is refused before (`pricing.costing.refusals`).
    mass_kg : float or array
        Load and cart [kg].
    coating_kg : float or array
        Organic part of the old coating [kg].
    binder_MJ_per_kg : float or array
        Gross heat of the binder [MJ/kg].
    cycle_min : float or array
        Time at temperature; the way up counts half [min].
    shop_degC : float or array
        Temperature at the start [°C].
    """
    seconds, rise = 60.0 * cycle_min, oven.metal_degC - shop_degC
    air_kg = fresh_air_kg_per_s(oven.air, oven.exhaust_m3_per_h, at_degC=shop_degC) * seconds
    load = mass_kg * heat_J_per_kg(metal, shop_degC, oven.metal_degC) / _J_PER_KWH
    shell = oven.shell_kJ_per_K * rise / 3600.0
    wall = oven.wall.loss_W_per_K(oven.metal_degC, shop_degC) * rise * seconds / _J_PER_KWH
    exhaust = air_kg * air_heat_J_per_kg(oven.air, shop_degC, oven.metal_degC) / _J_PER_KWH
    lift = air_kg * air_heat_J_per_kg(oven.air, oven.metal_degC, oven.afterburner_degC) / _J_PER_KWH
    binder = coating_kg * binder_MJ_per_kg / 3.6
    fired = np.maximum(0.0, lift - oven.binder_used_share * binder) / oven.afterburner_available_share
    return BurnOffHeat(
        metal_kWh=load,
        shell_kWh=shell,
        wall_kWh=wall,
        exhaust_kWh=exhaust,
        afterburner_kWh=lift,
        binder_kWh=binder,
        gas_kWh=(load + shell + wall + exhaust) / oven.available_share + fired,
    )
