"""One visit to the oven: how long, and where every kilowatt-hour goes.

Takes    an ``OvenModel``, a ``OvenLoad`` and a ``Cure``; floats or arrays (numpy rules), one code path.
Gives    a ``VisitHeat``: minutes and each term of the heat balance; what of it is billed is the steps' business.
Balance  load + racks + shell + wall + exhaust + door = heater + fans.
Assumes  one kind of metal in a load, air well mixed, walls at the air's temperature. The door stands
         open before the heating, on an oven as hot as it then is; an opening after it is the next
         visit's. An oven that starts hotter than its set point gives the surplus to the load.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pricing.basis.checks import Floats, least, most
from pricing.basis.errors import BadInput, Problem
from pricing.physics.air import air_density_kg_per_m3, air_heat_J_per_kg, door_kg_per_s
from pricing.physics.firing import Firing, at_full_power
from pricing.physics.heating import Exchange, heat_and_film, heat_up_min
from pricing.physics.metals import Metal, heat_J_per_kg
from pricing.physics.oven import OvenModel

_J_PER_KWH = 3.6e6  # by definition


@dataclass(frozen=True, slots=True, kw_only=True)
class OvenLoad:
    """What is rolled into the oven.

    Parameters
    ----------
    mass_kg : float or array
        Parts, without racks [kg].
    area_m2 : float or array
        Surface of the parts [m²].
    section_m : float or array
        Volume over area of the heaviest section: half the thickness of a plate [m].
    metal : Metal
        Of the parts.
    exchange : Exchange
        Film coefficient and emissivity between oven and parts.
    rack_kg : float or array
        Racks and hooks that go in with the parts [kg].
    rack_metal : Metal
        Of the racks.
    """

    mass_kg: Floats
    area_m2: Floats
    section_m: Floats
    metal: Metal
    exchange: Exchange
    rack_kg: Floats
    rack_metal: Metal


@dataclass(frozen=True, slots=True, kw_only=True)
class Cure:
    """What the metal must go through: a full cure, a partial cure, an outgas bake, a dry-off.

    Parameters
    ----------
    metal_degC : float or array
        Metal temperature from which the dwell counts [°C].
    dwell_min : float or array
        Time at or above it [min].
    oven_degC : float or array
        Set point of the oven's air, above the metal temperature [°C].

    Raises
    ------
    BadInput
        The set point is not above the metal temperature.

    Examples
    --------
    >>> Cure(metal_degC=190.0, dwell_min=10.0, oven_degC=200.0).dwell_min
    10.0
    """

    metal_degC: Floats
    dwell_min: Floats
    oven_degC: Floats

    def __post_init__(self) -> None:
        if not np.all(np.asarray(self.oven_degC) > np.asarray(self.metal_degC)):
            worst = float(np.min(np.asarray(self.oven_degC)))
            level = float(np.max(np.asarray(self.metal_degC)))
            mend = "Metal in air of its own temperature never quite gets there; 10 K above is usual."
            raise BadInput("cure", [Problem("oven_degC", worst, f"above the metal's {level:g} °C", mend)])


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitHeat:
    """Minutes and heat balance of one visit; kWh, floats or arrays.

    Parameters
    ----------
    bring_up_min : float or array
        From shutting the door until the heaviest section is at its temperature [min].
    full_power_min : float or array
        Minutes of the visit in which the heater could give no more [min].
    load_kWh, racks_kWh, shell_kWh : float or array
        Heat stored in parts, racks and the oven's own shell; the shell gives back what it had.
    wall_kWh, exhaust_kWh, door_kWh : float or array
        Heat lost through walls, with the exhaust and by the open door.
    fan_kWh : float or array
        Heat that the fans give.
    heater_kWh : float or array
        Heat that burner or elements give.
    oven_degC, load_degC : float or array
        Temperatures at the end [°C].
    """

    bring_up_min: Floats
    full_power_min: Floats
    load_kWh: Floats
    racks_kWh: Floats
    shell_kWh: Floats
    wall_kWh: Floats
    exhaust_kWh: Floats
    door_kWh: Floats
    fan_kWh: Floats
    heater_kWh: Floats
    oven_degC: Floats
    load_degC: Floats


def visit(
    oven: OvenModel,
    load: OvenLoad,
    cure: Cure,
    *,
    shop_degC: Floats,
    shell_degC: Floats | None = None,
    door_min: Floats = 0.0,
) -> VisitHeat:
    """Follow one load through the oven and account for all heat.

    Source: heat balance of oven and load, solved exactly between its corners; held against textbook examples in
    ``tests/published``.

    Parameters
    ----------
    oven : OvenModel
        The oven.
    load : OvenLoad
        Parts and racks, at shop temperature.
    cure : Cure
        What the metal must go through.
    shop_degC : float or array
        Shop and everything that comes from it [°C].
    shell_degC : float or array, optional
        Shell of the oven when its door is opened [°C]; the shop's when it starts cold.
    door_min : float or array
        Time the door stands open for unloading and loading before this visit [min].

    Returns
    -------
    VisitHeat
        Minutes and heat balance.

    Raises
    ------
    BadInput
        The heater cannot hold the set point.

    Notes
    -----
    Transfer to the metal and the heater's power limit the bring-up together: while the heater gives
    all it can, shell and load are followed by ``at_full_power``; from then on the air stands at its
    set point and the section's time is an integral in closed form.
    """
    start = shop_degC if shell_degC is None else shell_degC
    wall, exhaust = oven.loss_W_per_K(cure.oven_degC, shop_degC)
    fan_W = 1e3 * oven.fan_kW * oven.fan_heat_share
    power_W = 1e3 * oven.heater_kW * oven.available_share + fan_W
    _strong_enough(oven, power_W - fan_W, (wall + exhaust) * (cure.oven_degC - shop_degC) - fan_W)
    shell_J = 1e3 * oven.shell_kJ_per_K
    door_J = _door_J(oven, start, shop_degC, door_min)
    rack_J_per_kg = heat_J_per_kg(load.rack_metal, shop_degC, cure.oven_degC)
    rack_J_per_K = load.rack_kg * rack_J_per_kg / (cure.oven_degC - shop_degC)
    store = shell_J + rack_J_per_K
    fired = at_full_power(
        Firing(
            power_W=power_W,
            loss_W_per_K=wall + exhaust,
            store_J_per_K=store,
            shop_degC=shop_degC,
            start_degC=(shell_J * start - door_J + rack_J_per_K * shop_degC) / store,
            set_degC=cure.oven_degC,
            load_degC=shop_degC,
            metal=load.metal,
            exchange=load.exchange,
            mass_kg=load.mass_kg,
            area_m2=load.area_m2,
            section_m=load.section_m,
            metal_degC=cure.metal_degC,
            dwell_min=cure.dwell_min,
        )
    )
    reached = np.isfinite(fired.reached_s)
    rest_min = heat_up_min(
        load.metal,
        load.section_m,
        from_degC=fired.section_degC,
        to_degC=cure.metal_degC,
        air_degC=cure.oven_degC,
        exchange=load.exchange,
    )
    bring_s = _pick(reached, fired.reached_s, fired.seconds + 60.0 * rest_min)
    end_s = bring_s + 60.0 * cure.dwell_min
    kept = least(fired.oven_degC, cure.oven_degC)  # a hotter start falls to the set point
    held_s = _pick(reached & (kept < cure.oven_degC), 0.0, end_s - fired.seconds)
    load_degC = _held(load, fired.load_degC, cure.oven_degC, held_s)
    rise_Ks = fired.oven_Ks + kept * held_s - shop_degC * end_s
    taken = {
        "load_kWh": load.mass_kg * heat_J_per_kg(load.metal, shop_degC, load_degC) / _J_PER_KWH,
        "racks_kWh": rack_J_per_K * (kept - shop_degC) / _J_PER_KWH,
        "shell_kWh": shell_J * (kept - start) / _J_PER_KWH,
        "wall_kWh": wall * rise_Ks / _J_PER_KWH,
        "exhaust_kWh": exhaust * rise_Ks / _J_PER_KWH,
        "door_kWh": door_J / _J_PER_KWH,
    }
    lack = sum(taken.values()) - fan_W * end_s / _J_PER_KWH
    heater = most(0.0, lack)
    taken["shell_kWh"] = taken["shell_kWh"] + heater - lack  # what fans and a hot start gave too much stays there
    return VisitHeat(
        bring_up_min=bring_s / 60.0,
        full_power_min=fired.seconds / 60.0,
        **taken,
        fan_kWh=fan_W * end_s / _J_PER_KWH,
        heater_kWh=heater,
        oven_degC=kept + (heater - lack) * _J_PER_KWH / shell_J,
        load_degC=load_degC,
    )


def _strong_enough(oven: OvenModel, power_W: Floats, hold_W: Floats) -> None:
    weak = power_W <= hold_W
    if not np.any(weak):
        return
    share, worst = float(np.min(np.asarray(oven.available_share))), float(np.max(np.asarray(hold_W)))
    enough = f"above {worst / share / 1e3:.3g} kW to hold this set point"
    mend = "Take a lower set point, less exhaust within the safety code, or a stronger heater."
    given = float(np.min(np.asarray(oven.heater_kW)))
    raise BadInput("oven visit", [Problem("heater_kW", given, enough, mend)])


def _door_J(oven: OvenModel, shell_degC: Floats, shop_degC: Floats, door_min: Floats) -> Floats:
    """Heat that an open door takes: the oven's own hot air, then shell and load through the opening.

    Both together cannot take more than the shell holds above the shop.
    """
    seconds = 60.0 * door_min
    flow = door_kg_per_s(
        oven.air,
        width_m=oven.door_width_m,
        height_m=oven.door_height_m,
        inside_degC=shell_degC,
        outside_degC=shop_degC,
        discharge=oven.door_discharge,
    )
    own_kg = oven.inside_m3 * air_density_kg_per_m3(oven.air, shell_degC)
    air_J = least(flow * seconds, own_kg) * air_heat_J_per_kg(oven.air, shop_degC, shell_degC)
    rise = shell_degC - shop_degC
    opening_J = oven.door_W_per_m2K * oven.door_width_m * oven.door_height_m * rise * seconds
    return most(0.0, least(air_J + opening_J, 1e3 * oven.shell_kJ_per_K * rise))


def _held(load: OvenLoad, level: Floats, air_degC: Floats, seconds: Floats) -> Floats:
    """Load's temperature after some time in air at its set point; coefficients late on the way."""
    late = air_degC - 0.3 * (air_degC - level)
    heat, film = heat_and_film(load.metal, load.exchange, air_degC, late)
    left = np.exp(-seconds * load.area_m2 * film / (load.mass_kg * heat))
    return air_degC - (air_degC - level) * (float(left) if np.ndim(left) == 0 else left)


def _pick(test: bool | npt.NDArray[np.bool_] | np.bool_, yes: Floats, no: Floats) -> Floats:
    return (yes if test else no) if np.ndim(test) == 0 else np.where(test, yes, no)
