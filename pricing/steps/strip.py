"""Taking the old coating off: one part at a time by blasting, many at once in a tank, or sent out."""

from functools import lru_cache
from typing import TYPE_CHECKING

from pricing.basis.checks import Floats, plus
from pricing.basis.facts import numbers
from pricing.parts.work import Work
from pricing.physics.air import air_of
from pricing.physics.metals import metal_of
from pricing.shop.machines import BurnOff
from pricing.steps.blast import blast_air
from pricing.steps.oven_visit import gas_share, wall_of
from pricing.steps.step import Amounts, Setting, Step, Use, some

if TYPE_CHECKING:
    from pricing.physics.burnoff import BurnOffHeat


def _old_m2(work: Work, setting: Setting, way: str) -> Floats:
    # cured powder comes off more slowly than paint
    slow = setting.book["strip.powder_over_paint"]
    return work.strip_paint_m2.get(way, 0.0) + slow * work.strip_powder_m2.get(way, 0.0)


def _blast(work: Work, setting: Setting) -> Amounts:
    parts = work.strip_parts.get("blast", 0.0)
    return {"job": work.jobs * some(parts), "part": parts, "m2": _old_m2(work, setting, "blast")}


def _chemical(work: Work, setting: Setting) -> Amounts:
    parts, kg = work.strip_parts.get("chemical", 0.0), work.strip_kg.get("chemical", 0.0)
    return {
        "job": work.jobs * some(parts),
        "part": parts,
        "kg": kg,
        "m2": _old_m2(work, setting, "chemical"),
        "load": kg / setting.shop.machines.tank.batch_kg,
    }


def _tank_heat(work: Work, setting: Setting, use: Use) -> None:
    tank = setting.shop.machines.tank
    held = use.machine_min.get(tank.name, 0.0)
    use.electricity_kwh = plus(use.electricity_kwh, tank.heater_kw * held / 60.0)


@lru_cache(maxsize=16)
def burn_off_heat(oven: BurnOff, shop_degC: float) -> "BurnOffHeat":
    """Return the gas of one full load of steel in the shop's own burn-off oven, from cold."""
    from pricing.physics.burnoff import BurnOffOven, burn_off

    n = numbers()
    place = BurnOffOven(
        wall=wall_of(oven),
        air=air_of(n),
        shell_kJ_per_K=3600.0 * oven.shell_kwh_per_K,
        exhaust_m3_per_h=oven.exhaust_m3_per_h,
        metal_degC=n["burnoff.metal"],
        afterburner_degC=n["burnoff.afterburner"],
        available_share=gas_share(n["burnoff.metal"], shop_degC),
        afterburner_available_share=gas_share(n["burnoff.afterburner"], shop_degC),
        binder_used_share=n["burnoff.binder_used_share"],
    )
    return burn_off(
        place,
        metal_of("steel", n),
        mass_kg=oven.batch_kg,
        coating_kg=0.0,
        binder_MJ_per_kg=n["binder.polyester.heat"],
        cycle_min=n["burnoff.cycle"],
        shop_degC=shop_degC,
    )


def _burned_here(oven: BurnOff, work: Work, setting: Setting, use: Use) -> None:
    """A share of a load by mass: hours of the oven, and gas by the heat balance."""
    loads = work.strip_kg.get("burn_off", 0.0) / oven.batch_kg
    n = numbers()
    use.hold(oven.name, loads * (n["burnoff.cycle"] + n["burnoff.handling"]))
    gas = loads * float(burn_off_heat(oven, setting.shop.front.air_degC).gas_kWh)
    use.gas_kwh = plus(use.gas_kwh, gas * setting.book["oven.energy_factor"])
    use.keys.append("oven.energy_factor")
    use.detail["burn-off loads"] = loads


def _sent_out(way: str) -> Step:
    key = "burn_off.price" if way == "burn_off" else "strip.bought_in_price"

    def amounts(work: Work, setting: Setting) -> Amounts:
        parts = work.strip_parts.get(way, 0.0)
        return {"job": work.jobs * some(parts), "part": parts, "kg": work.strip_kg.get(way, 0.0)}

    def extras(work: Work, setting: Setting, use: Use) -> None:
        own = setting.shop.machines.burn_off
        if way == "burn_off" and own:
            _burned_here(own, work, setting, use)
            return
        kg = work.strip_kg.get(way, 0.0)
        trips = work.jobs * some(kg)
        use.bought_in = kg * setting.book[key] + trips * setting.book["bought_in.transport"]
        use.keys += [key, "bought_in.transport"]
        use.detail |= {"kg": kg, "trips": trips}

    return Step(f"strip_{way}", amounts, "", extras)


STRIP_BLAST = Step("strip_blast", _blast, "cabinet", blast_air)
STRIP_CHEMICAL = Step("strip_chemical", _chemical, "tank", _tank_heat)
STRIP_BURN_OFF = _sent_out("burn_off")
STRIP_BOUGHT_IN = _sent_out("bought_in")
