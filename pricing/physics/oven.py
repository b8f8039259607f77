"""The oven itself: its walls, shell, exhaust, door, fans and heater; how it holds and cools without a load.

Takes    the owner's measures and plates, floats or arrays.
Gives    an ``OvenModel`` record, its losses per kelvin, what holding it takes; ``visit`` follows a load through it.
Numbers  none in this file: they are the owner's or come in from ``data/facts.csv``.
Assumes  air and inner skin at one temperature, wall loss proportional to the rise above the shop.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from pricing.basis.checks import Floats
from pricing.physics.air import Air, air_heat_J_per_kg, fresh_air_kg_per_s


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

    def loss_W_per_K(self, oven_degC: Floats, shop_degC: Floats) -> tuple[Floats, Floats]:
        """Loss of walls and of exhaust per kelvin of rise, hot at ``oven_degC`` [W/K].

        Source: `Wall.loss_W_per_K`; ``m c`` of the air let out, `pricing.physics.air`.
        """
        flow = fresh_air_kg_per_s(self.air, self.exhaust_m3_per_h, at_degC=shop_degC)
        exhaust = flow * air_heat_J_per_kg(self.air, shop_degC, oven_degC) / (oven_degC - shop_degC)
        return self.wall.loss_W_per_K(oven_degC, shop_degC), exhaust


def shell_degC_after(oven: OvenModel, *, idle_min: Floats, shell_degC: Floats, shop_degC: Floats) -> Floats:
    """Temperature of the shell after standing shut for a while, switched off, exhaust off [°C].

    Source: Newton's law of cooling: decay with ``τ = C/UA`` towards the shop.

    Parameters
    ----------
    oven : OvenModel
        The oven.
    idle_min : float or array
        Time since it was at ``shell_degC`` [min].
    shell_degC, shop_degC : float or array
        Temperature of the shell then, and of the shop [°C].
    """
    loss = oven.wall.loss_W_per_K(shell_degC, shop_degC)
    left = np.exp(-60.0 * idle_min * loss / (1e3 * oven.shell_kJ_per_K))
    level = shop_degC + (shell_degC - shop_degC) * left
    return float(level) if np.ndim(level) == 0 else level


def holding_kWh(oven: OvenModel, *, hold_min: Floats, oven_degC: Floats, shop_degC: Floats) -> tuple[Floats, Floats]:
    """What an empty oven that is held hot, door shut, is billed: gas (gross), electricity of fans and elements [kWh].

    Source: steady heat balance.

    Parameters
    ----------
    oven : OvenModel
        The oven.
    hold_min : float or array
        Time [min].
    oven_degC, shop_degC : float or array
        Temperatures [°C].
    """
    wall, exhaust = oven.loss_W_per_K(oven_degC, shop_degC)
    need = 1e-3 * (wall + exhaust) * (oven_degC - shop_degC) - oven.fan_kW * oven.fan_heat_share
    billed = np.maximum(0.0, need) * hold_min / 60.0 / oven.available_share
    fans = oven.fan_kW * hold_min / 60.0
    return (billed, fans) if oven.fuel == "gas" else (0.0 * billed, fans + billed)
