"""In the booth: colour change, the coat, and blowing off a coat whose wiped line is spoiled."""

from pricing.basis.checks import Floats, plus
from pricing.parts.work import Work
from pricing.physics.film import powder_kg
from pricing.steps.step import Amounts, MaterialUse, Setting, Step, Use, straight


def sprayed_m2(work: Work, setting: Setting) -> Floats:
    """Area the gun covers: a second colour is sprayed over more than it keeps."""
    if setting.coat.over == "all":
        return work.m2
    return work.second_m2 * setting.book["second.sprayed_over"]


def _change(work: Work, setting: Setting) -> Amounts:
    # a powder of the customer's is kept apart: the gun is cleaned for it, and once more after it
    return {"colour": work.jobs * (2.0 if setting.powder.name in work.own else 1.0)}


def _price(work: Work, setting: Setting) -> Floats:
    return 0.0 if setting.powder.name in work.own else setting.book[f"price.{setting.powder.name}"]


def booth_air(work: Work, setting: Setting, use: Use) -> None:
    """Add the power of the booth's fan while somebody works in it."""
    use.electricity_kwh = plus(use.electricity_kwh, setting.shop.machines.booth.fan_kw * use.minutes / 60.0)


def _purge(work: Work, setting: Setting, use: Use) -> None:
    booth_air(work, setting, use)
    name = setting.powder.name
    kg = work.jobs * setting.book["powder.purge"]
    use.materials.append(MaterialUse(name, kg, _price(work, setting), ("powder.purge", f"price.{name}")))


def _coat(work: Work, setting: Setting) -> Amounts:
    return {"coat": work.jobs, "part": work.parts, "m2": sprayed_m2(work, setting)}


def _powder(work: Work, setting: Setting, use: Use) -> None:
    booth_air(work, setting, use)
    book, powder = setting.book, setting.powder
    area, film = sprayed_m2(work, setting), book[f"film.{powder.name}"]
    kg = powder_kg(
        area, film_um=film, density_g_per_cm3=powder.density_g_per_cm3, utilisation=book["powder.utilisation"]
    )
    keys = (f"film.{powder.name}", "powder.utilisation", f"price.{powder.name}")
    use.materials.append(MaterialUse(powder.name, kg, _price(work, setting), keys))
    use.detail |= {"area_m2": area, "film_um": film, "utilisation": book["powder.utilisation"]}


COLOUR_CHANGE = Step("colour_change", _change, "booth", _purge)
COAT = Step("coat", _coat, "booth", _powder)
BLOW_OFF = Step("blow_off", straight(part="parts", m2="second_m2"), "booth", booth_air)
