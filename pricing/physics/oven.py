"""The oven itself: its walls, shell, exhaust, door, fans and heater.

Takes    the owner's measures and plates, floats or arrays.
Gives    an ``OvenModel`` record and its losses per kelvin; ``standing`` and ``visit`` make energy of them.
Numbers  none in this file: they are the owner's or come in from ``data/facts.csv``.
Assumes  air and inner skin at one temperature, wall loss proportional to the rise above the shop.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from pricing.basis.checks import Floats, nonneg, positive
from pricing.basis.errors import BadInput, Problem, not_known
from pricing.physics.air import Air, air_heat_J_per_kg, fresh_air_kg_per_s

FUELS = ("gas", "electric")


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """Insulated shell of an oven.

    Parameters
    ----------
    area_m2 : float or array
        Inside area of walls, roof, floor and door [m²].
    insulation_mm : float or array
        Thickness of the insulation [mm].
    conductivity_W_per_mK : float or array
        Of the insulation at 0 °C [W/(m·K)].
    conductivity_per_K : float or array
        Its relative rise with temperature [1/K].
    inside_W_per_m2K, outside_W_per_m2K : float or array
        Film coefficients [W/(m²·K)].
    bridging : float or array
        Loss of the real panel over that of clean insulation: frames, seams, leaks. Best from one
        empty-oven holding test.

    Examples
    --------
    >>> panel = Wall(area_m2=30, insulation_mm=100, conductivity_W_per_mK=0.034, conductivity_per_K=0.0042,
    ...              inside_W_per_m2K=20, outside_W_per_m2K=8, bridging=2.0)
    >>> round(panel.loss_W_per_K(200.0, 20.0), 1)
    27.4
    """

    area_m2: Floats
    insulation_mm: Floats
    conductivity_W_per_mK: Floats
    conductivity_per_K: Floats
    inside_W_per_m2K: Floats
    outside_W_per_m2K: Floats
    bridging: Floats

    def __post_init__(self) -> None:
        positive(
            "oven wall",
            area_m2=self.area_m2,
            insulation_mm=self.insulation_mm,
            conductivity_W_per_mK=self.conductivity_W_per_mK,
            inside_W_per_m2K=self.inside_W_per_m2K,
            outside_W_per_m2K=self.outside_W_per_m2K,
            bridging=self.bridging,
        )
        nonneg("oven wall", conductivity_per_K=self.conductivity_per_K)

    def loss_W_per_K(self, oven_degC: Floats, shop_degC: Floats) -> Floats:
        """Loss per kelvin of rise [W/K], the conductivity taken at the mean temperature.

        That mean is exact where the conductivity is linear in temperature.
        Source: thermal resistances in series (Incropera, DeWitt, Bergman and Lavine, Fundamentals of Heat and Mass
        Transfer, chapter 3); films and wool ``oven.*`` in ``data/facts.csv``.
        """
        conductivity = self.conductivity_W_per_mK * (1.0 + self.conductivity_per_K * 0.5 * (oven_degC + shop_degC))
        resistance = (
            1.0 / self.inside_W_per_m2K + 1e-3 * self.insulation_mm / conductivity + 1.0 / self.outside_W_per_m2K
        )
        return self.bridging * self.area_m2 / resistance


@dataclass(frozen=True, slots=True, kw_only=True)
class OvenModel:
    """One batch oven.

    Parameters
    ----------
    wall : Wall
        Insulated shell.
    air : Air
        Air of the place.
    inside_m3 : float or array
        Inside volume [m³].
    shell_kJ_per_K : float or array
        Heat that inner skin, floor and fixed racks take per kelvin [kJ/K].
    exhaust_m3_per_h : float or array
        Fresh air drawn in while it heats, at shop temperature [m³/h].
    door_width_m, door_height_m : float or array
        Clear opening [m].
    door_discharge : float or array
        Discharge coefficient of the opening.
    door_W_per_m2K : float or array
        Heat that shell and load give off through the opening once the hot air has gone [W/(m²·K)].
    fan_kW : float or array
        Electricity of circulation and exhaust fans while it heats [kW].
    fan_heat_share : float or array
        Share of that which ends as heat inside.
    fuel : {'gas', 'electric'}
        What heats it.
    heater_kW : float or array
        What the burner (gross) or the elements take at full power [kW].
    available_share : float or array
        Share of that which stays in the oven; 1 when electric.

    Raises
    ------
    BadInput
        A value is out of range or the fuel unknown.
    """

    wall: Wall
    air: Air
    inside_m3: Floats
    shell_kJ_per_K: Floats
    exhaust_m3_per_h: Floats
    door_width_m: Floats
    door_height_m: Floats
    door_discharge: Floats
    door_W_per_m2K: Floats
    fan_kW: Floats
    fan_heat_share: Floats
    fuel: Literal["gas", "electric"]
    heater_kW: Floats
    available_share: Floats

    def __post_init__(self) -> None:
        positive(
            "oven",
            inside_m3=self.inside_m3,
            shell_kJ_per_K=self.shell_kJ_per_K,
            heater_kW=self.heater_kW,
            available_share=self.available_share,
        )
        nonneg(
            "oven",
            exhaust_m3_per_h=self.exhaust_m3_per_h,
            door_width_m=self.door_width_m,
            door_height_m=self.door_height_m,
            door_discharge=self.door_discharge,
            door_W_per_m2K=self.door_W_per_m2K,
            fan_kW=self.fan_kW,
            fan_heat_share=self.fan_heat_share,
        )
        bad = [
            Problem(name, float(np.max(np.asarray(value))), "at most 1", "Write 80 % as 0.80.")
            for name in ("available_share", "fan_heat_share")
            if np.any(np.asarray(value := getattr(self, name)) > 1)
        ]
        if self.fuel not in FUELS:
            bad.append(not_known("fuel", self.fuel, FUELS))
        if bad:
            raise BadInput("oven", bad)

    def loss_W_per_K(self, oven_degC: Floats, shop_degC: Floats) -> tuple[Floats, Floats]:
        """Loss of walls and of exhaust per kelvin of rise, hot at ``oven_degC`` [W/K]."""
        return self.wall.loss_W_per_K(oven_degC, shop_degC), exhaust_W_per_K(self, oven_degC, shop_degC)


def exhaust_W_per_K(oven: OvenModel, oven_degC: Floats, shop_degC: Floats) -> Floats:
    """Heat that the fresh air takes, per kelvin of rise.

    Source: ``m c`` of the air let out; `pricing.physics.air`.

    Parameters
    ----------
    oven : OvenModel
        The oven.
    oven_degC, shop_degC : float or array
        Temperatures inside and outside; the oven is the hotter one [°C].

    Returns
    -------
    float or array
        Mass flow times mean specific heat [W/K].
    """
    flow = fresh_air_kg_per_s(oven.air, oven.exhaust_m3_per_h, at_degC=shop_degC)
    return flow * air_heat_J_per_kg(oven.air, shop_degC, oven_degC) / (oven_degC - shop_degC)
