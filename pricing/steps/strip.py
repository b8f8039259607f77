"""Taking the old coating off: one part at a time by blasting, many at once in a tank, or sent out.

Room     steps. Imports parts.
"""

from pricing.basis.checks import Floats, plus
from pricing.parts.work import Work
from pricing.steps.blast import blast_air
from pricing.steps.step import Amounts, Setting, Step, Use, some


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
        "job": work.jobs * some(parts), "part": parts, "kg": kg, "m2": _old_m2(work, setting, "chemical"),
        "load": kg / setting.shop.machines.tank.batch_kg,
    }  # fmt: skip


def _tank_heat(work: Work, setting: Setting, use: Use) -> None:
    tank = setting.shop.machines.tank
    held = use.machine_min.get(tank.name, 0.0)
    use.electricity_kwh = plus(use.electricity_kwh, tank.heater_kw * held / 60.0)


def _sent_out(way: str) -> "tuple[Step, ...]":
    key = "burn_off.price" if way == "burn_off" else "strip.bought_in_price"

    def amounts(work: Work, setting: Setting) -> Amounts:
        parts = work.strip_parts.get(way, 0.0)
        return {"job": work.jobs * some(parts), "part": parts, "kg": work.strip_kg.get(way, 0.0)}

    def extras(work: Work, setting: Setting, use: Use) -> None:
        kg = work.strip_kg.get(way, 0.0)
        trips = work.jobs * some(kg)
        use.bought_in = kg * setting.book[key] + trips * setting.book["bought_in.transport"]
        use.keys += [key, "bought_in.transport"]
        use.detail |= {"kg": kg, "trips": trips}

    return (Step(f"strip_{way}", amounts, "", extras),)


STRIP_BLAST = Step("strip_blast", _blast, "cabinet", blast_air)
STRIP_CHEMICAL = Step("strip_chemical", _chemical, "tank", _tank_heat)
(STRIP_BURN_OFF,) = _sent_out("burn_off")
(STRIP_BOUGHT_IN,) = _sent_out("bought_in")
