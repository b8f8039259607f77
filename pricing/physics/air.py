"""Oven air: its density and heat, what an exhaust carries off and an open door lets out.

Takes    temperatures in °C, flows and openings, floats or arrays; air's numbers as an ``Air`` record.
Gives    J/kg, kg/s, J.
Numbers  none in this file: rows ``air.gas_constant``, ``air.cp.c0`` ... ``air.cp.c2`` and
         ``air.pressure`` of ``data/facts.csv`` come in by name.
Assumes  dry air as an ideal gas at the pressure of the place.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from pricing.basis.checks import Floats
from pricing.physics.cure import ZERO_DEGC_K

GRAVITY_M_PER_S2 = 9.80665  # standard gravity, by definition


@dataclass(frozen=True, slots=True, kw_only=True)
class Air:
    """Dry air where the shop stands.

    Parameters
    ----------
    gas_constant_J_per_kgK : float
        Specific gas constant [J/(kg·K)].
    c0, c1, c2 : float
        Specific heat ``c0 + c1 T + c2 T²`` [J/(kg·K)], T in °C.
    pressure_Pa : float
        Pressure of the place [Pa]; 1000 m up it is a ninth less than at the sea.

    Examples
    --------
    >>> air = Air(gas_constant_J_per_kgK=287.05, c0=1005.55, c1=0.020978, c2=3.75597e-4, pressure_Pa=101325)
    >>> round(air_heat_J_per_kg(air, 20.0, 200.0) / 1e3, 1)
    182.4
    """

    gas_constant_J_per_kgK: float
    c0: float
    c1: float
    c2: float
    pressure_Pa: float


def air_of(numbers: Mapping[str, float]) -> Air:
    """Collect air's numbers from the table of facts.

    Parameters
    ----------
    numbers : mapping of str to float
        Facts by name, each in the unit of its row.
    """
    return Air(
        gas_constant_J_per_kgK=numbers["air.gas_constant"],
        c0=numbers["air.cp.c0"],
        c1=numbers["air.cp.c1"],
        c2=numbers["air.cp.c2"],
        pressure_Pa=numbers["air.pressure"],
    )


def air_density_kg_per_m3(air: Air, air_degC: Floats) -> Floats:
    """Density of air: ``p / (R T)``.

    Source: ideal gas; ``air.gas_constant`` and ``air.pressure`` in ``data/facts.csv`` (coolprop).

    Parameters
    ----------
    air : Air
        Air of the place.
    air_degC : float or array
        Temperature [°C].

    Examples
    --------
    >>> air = Air(gas_constant_J_per_kgK=287.05, c0=1005.55, c1=0.020978, c2=3.75597e-4, pressure_Pa=101325)
    >>> round(air_density_kg_per_m3(air, 20.0), 3), round(air_density_kg_per_m3(air, 200.0), 3)
    (1.204, 0.746)
    """
    return air.pressure_Pa / (air.gas_constant_J_per_kgK * (air_degC + ZERO_DEGC_K))


def air_heat_J_per_kg(air: Air, from_degC: Floats, to_degC: Floats) -> Floats:
    """Heat that warms a kilogram of air at constant pressure, by the closed integral of c(T).

    Source: integral of the polynomial ``air.cp.c0`` to ``c2`` in ``data/facts.csv``, fitted to coolprop.

    Parameters
    ----------
    air : Air
        Air of the place.
    from_degC, to_degC : float or array
        Temperatures [°C].
    """
    return _content(air, to_degC) - _content(air, from_degC)


def fresh_air_kg_per_s(air: Air, flow_m3_per_h: Floats, *, at_degC: Floats) -> Floats:
    """Mass flow of an exhaust from a volume flow and the temperature it was measured at.

    Source: conservation of mass, ``m = V ρ``; the density as in `air_density_kg_per_m3`.

    Parameters
    ----------
    air : Air
        Air of the place.
    flow_m3_per_h : float or array
        Volume flow [m³/h].
    at_degC : float or array
        Temperature of that flow [°C]: the shop's for air drawn in, the oven's behind the oven.

    Notes
    -----
    The least flow is set by the oven safety code and the oven's maker, not by this model.

    Examples
    --------
    >>> air = Air(gas_constant_J_per_kgK=287.05, c0=1005.55, c1=0.020978, c2=3.75597e-4, pressure_Pa=101325)
    >>> round(fresh_air_kg_per_s(air, 360.0, at_degC=20.0), 4)
    0.1204
    """
    return flow_m3_per_h / 3600.0 * air_density_kg_per_m3(air, at_degC)


def door_kg_per_s(
    air: Air, *, width_m: Floats, height_m: Floats, inside_degC: Floats, outside_degC: Floats, discharge: Floats
) -> Floats:
    """Air that a door exchanges by buoyancy: hot air out above, as much cold air in below.

    Source: brown_solvason in ``data/sources.csv`` for the orifice up a door; its small-difference form is not used.

    Parameters
    ----------
    air : Air
        Air of the place.
    width_m, height_m : float or array
        Clear opening [m].
    inside_degC, outside_degC : float or array
        Air temperatures on both sides [°C].
    discharge : float or array
        Discharge coefficient of the opening (fact ``door.discharge``).

    Returns
    -------
    float or array
        Mass flow each way [kg/s]; 0 at equal temperatures.

    Notes
    -----
    ``m = 2/3 Cd w h^1.5 √(2 g ρo (ρo - ρi)) / (1 + (ρo/ρi)^⅓)^1.5``: the orifice equation integrated
    up the door, with the neutral plane where both ways carry the same mass. The small-difference
    form of Brown and Solvason (1962) is 4 % low at 200 °C.

    Examples
    --------
    >>> air = Air(gas_constant_J_per_kgK=287.05, c0=1005.55, c1=0.020978, c2=3.75597e-4, pressure_Pa=101325)
    >>> round(door_kg_per_s(air, width_m=2.0, height_m=2.0, inside_degC=200.0, outside_degC=20.0,
    ...                     discharge=0.65), 2)
    2.52
    """
    inside, outside = air_density_kg_per_m3(air, inside_degC), air_density_kg_per_m3(air, outside_degC)
    heavy, light = np.maximum(inside, outside), np.minimum(inside, outside)
    root = np.sqrt(2.0 * GRAVITY_M_PER_S2 * heavy * (heavy - light))
    both_ways = (1.0 + np.cbrt(heavy / light)) ** 1.5
    flow: Floats = discharge * width_m * height_m**1.5 * root * (2.0 / 3.0) / both_ways
    return float(flow) if np.ndim(flow) == 0 else flow


def _content(air: Air, air_degC: Floats) -> Floats:
    """Heat above 0 °C [J/kg]."""
    return air_degC * (air.c0 + air_degC * (air.c1 / 2.0 + air_degC * air.c2 / 3.0))
