"""Abrasive blasting: air through a nozzle, what it throws and what it burns.

Takes    nozzle, compressor and media as records.
Gives    free air, kg of media thrown, kW of electricity; which of nozzle and compressor limits.
Numbers  none in this file: they are the owner's or come in from ``data/facts.csv``.
Assumes  air an ideal gas at rest before the nozzle, one heat ratio; abrasive thrown goes with free air; a
         compressor too small for the nozzle lowers the rate by the share of air it can give, by falling
         pressure or by waiting for the receiver.
"""

from dataclasses import dataclass
from math import pi, sqrt

from pricing.physics.air import Air, air_density_kg_per_m3
from pricing.physics.cure import ZERO_DEGC_K

_PA_PER_BAR = 1e5  # by definition


@dataclass(frozen=True, slots=True, kw_only=True)
class BlastSetup:
    """Nozzle, compressor and air of one cabinet, pot or room.

    Parameters
    ----------
    air : Air
        Air of the place.
    bore_mm : float
        Bore of the nozzle as it is worn now [mm].
    gauge_bar : float
        Pressure wanted at the nozzle [bar].
    discharge : float
        Discharge coefficient while blasting (fact ``nozzle.discharge``).
    heat_ratio : float
        Fact ``air.heat_ratio``.
    supply_degC : float
        Temperature of air at nozzle and inlet [°C].
    compressor_m3_per_min : float
        Free air that the compressor delivers [m³/min].
    shaft_kW_per_m3_per_min : float
        Shaft power for each m³/min of free air [kW/(m³/min)].
    motor_efficiency : float
        Of the compressor's motor.
    thrown_kg_per_m3 : float
        Abrasive thrown with each m³ of free air [kg/m³].
    """

    air: Air
    bore_mm: float
    gauge_bar: float
    discharge: float
    heat_ratio: float
    supply_degC: float
    compressor_m3_per_min: float
    shaft_kW_per_m3_per_min: float
    motor_efficiency: float
    thrown_kg_per_m3: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BlastRate:
    """What a set-up does in an hour of the trigger held down.

    Parameters
    ----------
    wanted_m3_per_min : float
        Free air that the nozzle would take at the pressure wanted [m³/min].
    gauge_bar : float
        Pressure that the nozzle settles at [bar].
    compressor_limits : bool
        Whether the compressor is the limit.
    thrown_kg_per_h : float
        Abrasive thrown [kg/h].
    electric_kW : float
        Electricity of the compressor [kW].
    """

    wanted_m3_per_min: float
    gauge_bar: float
    compressor_limits: bool
    thrown_kg_per_h: float
    electric_kW: float


def blast_rate(setup: BlastSetup) -> BlastRate:
    """Tell what nozzle and compressor give together.

    Source: the choked nozzle of `nozzle_kg_per_s`; media thrown an air volume: ``blasting.thrown_per_air``
    (blast_table).

    Parameters
    ----------
    setup : BlastSetup
        Nozzle, compressor and air.

    Returns
    -------
    BlastRate
        Air, pressure, abrasive and electricity.
    """
    density = float(air_density_kg_per_m3(setup.air, setup.supply_degC))
    flow = nozzle_kg_per_s(
        setup.air,
        setup.bore_mm,
        gauge_bar=setup.gauge_bar,
        supply_degC=setup.supply_degC,
        discharge=setup.discharge,
        heat_ratio=setup.heat_ratio,
    )
    wanted = 60.0 * flow / density
    got = min(wanted, setup.compressor_m3_per_min)
    settled = gauge_bar_for(
        setup.air,
        setup.bore_mm,
        flow_kg_per_s=got * density / 60.0,
        supply_degC=setup.supply_degC,
        discharge=setup.discharge,
        heat_ratio=setup.heat_ratio,
    )
    limits = wanted > setup.compressor_m3_per_min
    return BlastRate(
        wanted_m3_per_min=wanted,
        gauge_bar=settled if limits else setup.gauge_bar,
        compressor_limits=limits,
        thrown_kg_per_h=60.0 * setup.thrown_kg_per_m3 * got,
        electric_kW=setup.shaft_kW_per_m3_per_min * got / setup.motor_efficiency,
    )


def nozzle_kg_per_s(
    air: Air, bore_mm: float, *, gauge_bar: float, supply_degC: float, discharge: float, heat_ratio: float
) -> float:
    """Mass flow of a nozzle or hole into the open air, choked or not.

    Source: isentropic flow, choked below the critical ratio; any textbook of gas dynamics; coefficient
    ``nozzle.discharge`` (blast_table).

    Parameters
    ----------
    air : Air
        Air of the place; its pressure is the back pressure.
    bore_mm : float
        Bore as it is now: wear counts with the square [mm].
    gauge_bar : float
        Pressure before the nozzle, over the air's [bar].
    supply_degC : float
        Temperature of the compressed air [°C].
    discharge : float
        Discharge coefficient: fact ``nozzle.discharge`` while blasting, ``hole.discharge`` for a leak.
    heat_ratio : float
        Ratio of specific heats (fact ``air.heat_ratio``).

    Returns
    -------
    float
        Mass flow [kg/s]; 0 without pressure.

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
    k = heat_ratio
    supply_Pa = air.pressure_Pa + _PA_PER_BAR * gauge_bar
    choked = (2.0 / (k + 1.0)) ** (k / (k - 1.0))
    ratio = max(air.pressure_Pa / supply_Pa, choked)  # below it the throat feels nothing of the back pressure
    mach2 = (ratio ** ((1.0 - k) / k) - 1.0) * 2.0 / (k - 1.0)
    flux = sqrt(k / air.gas_constant_J_per_kgK * mach2) * ratio ** ((k + 1.0) / (2.0 * k))
    area_m2 = pi / 4e6 * bore_mm * bore_mm
    return float(discharge * area_m2 * supply_Pa * flux / sqrt(supply_degC + ZERO_DEGC_K))


def gauge_bar_for(
    air: Air, bore_mm: float, *, flow_kg_per_s: float, supply_degC: float, discharge: float, heat_ratio: float
) -> float:
    """Pressure that a choked nozzle settles at when it is fed so much air.

    Source: `nozzle_kg_per_s` of a choked nozzle, solved for its pressure.

    Parameters
    ----------
    air, bore_mm, supply_degC, discharge, heat_ratio
        As in `nozzle_kg_per_s`.
    flow_kg_per_s : float
        Air that the compressor delivers [kg/s].

    Returns
    -------
    float
        Gauge pressure [bar]; choked flow goes with the absolute pressure. Below about 0.9 bar the
        nozzle is no longer choked and the answer is too low; there is nothing to blast with either.
    """
    choked_bar = 9.0 * air.pressure_Pa / _PA_PER_BAR  # surely choked: any such pressure tells flow per pascal
    flow = nozzle_kg_per_s(
        air, bore_mm, gauge_bar=choked_bar, supply_degC=supply_degC, discharge=discharge, heat_ratio=heat_ratio
    )
    supply_Pa = flow_kg_per_s / flow * 10.0 * air.pressure_Pa
    return max(0.0, (supply_Pa - air.pressure_Pa) / _PA_PER_BAR)
