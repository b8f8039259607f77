"""Abrasive blasting: how fast a surface gets clean, what it throws and what it burns.

Takes    nozzle, compressor and media as records of floats or arrays.
Gives    m²/h, kg of media thrown and bought, kW of electricity; which of nozzle and compressor limits.
Numbers  none in this file: they are the owner's or come in from ``data/facts.csv``.
Assumes  abrasive thrown goes with free air; a compressor too small for the nozzle lowers the rate by
         the share of air it can give, by falling pressure or by waiting for the receiver.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pricing.basis.checks import Floats, positive
from pricing.physics.air import Air, air_density_kg_per_m3
from pricing.physics.nozzle import gauge_bar_for, nozzle_kg_per_s


@dataclass(frozen=True, slots=True, kw_only=True)
class BlastSetup:
    """Nozzle, compressor and air of one cabinet, pot or room.

    Parameters
    ----------
    air : Air
        Air of the place.
    bore_mm : float or array
        Bore of the nozzle as it is worn now [mm].
    gauge_bar : float or array
        Pressure wanted at the nozzle [bar].
    discharge : float or array
        Discharge coefficient while blasting (fact ``nozzle.discharge``).
    heat_ratio : float
        Fact ``air.heat_ratio``.
    supply_degC : float or array
        Temperature of air at nozzle and inlet [°C].
    compressor_m3_per_min : float or array
        Free air that the compressor delivers [m³/min].
    shaft_kW_per_m3_per_min : float or array
        Shaft power for each m³/min of free air [kW/(m³/min)].
    motor_efficiency : float or array
        Of the compressor's motor.
    thrown_kg_per_m3 : float or array
        Abrasive thrown with each m³ of free air [kg/m³].

    Raises
    ------
    BadInput
        A value is not above 0.
    """

    air: Air
    bore_mm: Floats
    gauge_bar: Floats
    discharge: Floats
    heat_ratio: float
    supply_degC: Floats
    compressor_m3_per_min: Floats
    shaft_kW_per_m3_per_min: Floats
    motor_efficiency: Floats
    thrown_kg_per_m3: Floats

    def __post_init__(self) -> None:
        positive(
            "blasting",
            bore_mm=self.bore_mm,
            gauge_bar=self.gauge_bar,
            compressor_m3_per_min=self.compressor_m3_per_min,
            shaft_kW_per_m3_per_min=self.shaft_kW_per_m3_per_min,
            motor_efficiency=self.motor_efficiency,
            thrown_kg_per_m3=self.thrown_kg_per_m3,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class BlastRate:
    """What a set-up does in an hour of the trigger held down; floats or arrays.

    Parameters
    ----------
    wanted_m3_per_min : float or array
        Free air that the nozzle would take at the pressure wanted [m³/min].
    air_m3_per_min : float or array
        Free air that it gets [m³/min].
    gauge_bar : float or array
        Pressure that the nozzle settles at [bar].
    compressor_limits : bool or bool array
        Whether the compressor is the limit.
    thrown_kg_per_h : float or array
        Abrasive thrown [kg/h].
    electric_kW : float or array
        Electricity of the compressor [kW].
    """

    wanted_m3_per_min: Floats
    air_m3_per_min: Floats
    gauge_bar: Floats
    compressor_limits: bool | npt.NDArray[np.bool_]
    thrown_kg_per_h: Floats
    electric_kW: Floats


def blast_rate(setup: BlastSetup) -> BlastRate:
    """Tell what nozzle and compressor give together.

    Source: the choked nozzle of `pricing.physics.nozzle`; media thrown an air volume: ``blasting.thrown_per_air``
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
    density = air_density_kg_per_m3(setup.air, setup.supply_degC)
    flow = nozzle_kg_per_s(
        setup.air,
        setup.bore_mm,
        gauge_bar=setup.gauge_bar,
        supply_degC=setup.supply_degC,
        discharge=setup.discharge,
        heat_ratio=setup.heat_ratio,
    )
    wanted = 60.0 * flow / density
    got = np.minimum(wanted, setup.compressor_m3_per_min)
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
        air_m3_per_min=float(got) if np.ndim(got) == 0 else got,
        gauge_bar=np.where(limits, settled, setup.gauge_bar)
        if np.ndim(limits)
        else (settled if limits else setup.gauge_bar),
        compressor_limits=limits,
        thrown_kg_per_h=60.0 * setup.thrown_kg_per_m3 * got,
        electric_kW=setup.shaft_kW_per_m3_per_min * got / setup.motor_efficiency,
    )
