"""Air through a nozzle, and the power that compresses it.

Takes    bores, pressures and temperatures, floats or arrays; air as a record.
Gives    kg/s, free air in m³/min and the compressor's shaft power.
Numbers  none in this file: discharge coefficients and efficiencies come in from ``data/facts.csv``.
Assumes  air an ideal gas at rest before the nozzle; one heat ratio.
"""

from math import pi

import numpy as np

from pricing.basis.checks import Floats, nonneg, positive
from pricing.physics.air import Air
from pricing.physics.cure import ZERO_DEGC_K

_PA_PER_BAR = 1e5  # by definition


def nozzle_kg_per_s(
    air: Air, bore_mm: Floats, *, gauge_bar: Floats, supply_degC: Floats, discharge: Floats, heat_ratio: float
) -> Floats:
    """Mass flow of a nozzle or hole into the open air, choked or not.

    Source: isentropic flow, choked below the critical ratio; any textbook of gas dynamics; coefficient
    ``nozzle.discharge`` (blast_table).

    Parameters
    ----------
    air : Air
        Air of the place; its pressure is the back pressure.
    bore_mm : float or array
        Bore as it is now: wear counts with the square [mm].
    gauge_bar : float or array
        Pressure before the nozzle, over the air's [bar].
    supply_degC : float or array
        Temperature of the compressed air [°C].
    discharge : float or array
        Discharge coefficient: fact ``nozzle.discharge`` while blasting, ``hole.discharge`` for a leak.
    heat_ratio : float
        Ratio of specific heats (fact ``air.heat_ratio``).

    Returns
    -------
    float or array
        Mass flow [kg/s]; 0 without pressure.

    Raises
    ------
    BadInput
        A value is negative or not finite; the bore and the coefficient must be above 0.

    Notes
    -----
    Choked: ``m = C A p0 √(k/(R T0)) (2/(k+1))^((k+1)/(2(k-1)))`` while the back pressure is below
    ``(2/(k+1))^(k/(k-1))`` of the supply, 0.528 for air. Else the isentropic equation.

    Examples
    --------
    >>> air = Air(gas_constant_J_per_kgK=287.05, c0=1005.55, c1=0.020978, c2=3.75597e-4, pressure_Pa=94e3)
    >>> round(nozzle_kg_per_s(air, 4.0, gauge_bar=2.20, supply_degC=25.0, discharge=1.0, heat_ratio=1.4), 5)
    0.00924
    """
    positive("nozzle", bore_mm=bore_mm, discharge=discharge)
    nonneg("nozzle", gauge_bar=gauge_bar)
    k = heat_ratio
    supply_Pa = air.pressure_Pa + _PA_PER_BAR * gauge_bar
    choked = (2.0 / (k + 1.0)) ** (k / (k - 1.0))
    ratio = np.maximum(air.pressure_Pa / supply_Pa, choked)  # below it the throat feels nothing of the back pressure
    mach2 = (ratio ** ((1.0 - k) / k) - 1.0) * 2.0 / (k - 1.0)
    flux = np.sqrt(k / air.gas_constant_J_per_kgK * mach2) * ratio ** ((k + 1.0) / (2.0 * k))
    area_m2 = pi / 4e6 * bore_mm * bore_mm
    flow = discharge * area_m2 * supply_Pa * flux / np.sqrt(supply_degC + ZERO_DEGC_K)
    return float(flow) if np.ndim(flow) == 0 else np.asarray(flow)


def gauge_bar_for(
    air: Air, bore_mm: Floats, *, flow_kg_per_s: Floats, supply_degC: Floats, discharge: Floats, heat_ratio: float
) -> Floats:
    """Pressure that a choked nozzle settles at when it is fed so much air.

    Source: `nozzle_kg_per_s` of a choked nozzle, solved for its pressure.

    Parameters
    ----------
    air, bore_mm, supply_degC, discharge, heat_ratio
        As in `nozzle_kg_per_s`.
    flow_kg_per_s : float or array
        Air that the compressor delivers [kg/s].

    Returns
    -------
    float or array
        Gauge pressure [bar]; choked flow goes with the absolute pressure. Below about 0.9 bar the
        nozzle is no longer choked and the answer is too low; there is nothing to blast with either.

    Raises
    ------
    BadInput
        As in `nozzle_kg_per_s`.
    """
    positive("nozzle", flow_kg_per_s=flow_kg_per_s)
    choked_bar = 9.0 * air.pressure_Pa / _PA_PER_BAR  # surely choked: any such pressure tells flow per pascal
    flow = nozzle_kg_per_s(
        air, bore_mm, gauge_bar=choked_bar, supply_degC=supply_degC, discharge=discharge, heat_ratio=heat_ratio
    )
    supply_Pa = flow_kg_per_s / flow * 10.0 * air.pressure_Pa
    bar = np.maximum(0.0, (supply_Pa - air.pressure_Pa) / _PA_PER_BAR)
    return float(bar) if np.ndim(bar) == 0 else bar
