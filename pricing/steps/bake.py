"""Oven visits: outgas bake, partial cure, full cure, and the rack that is held while parts cool.

An oven is used as long as it is full, whether or not anybody works: load, bring-up of the heaviest
section, dwell at metal temperature, unload. A job pays for the share of the load it fills, or for
the whole load when nothing else can share it; what a load's mass adds to bring-up and heat is paid by
the kilograms that make it, so that a bulkier or heavier part is never cheaper.
"""

from collections.abc import Callable

import numpy as np

from pricing.basis.checks import Floats, added, least, lifted, most, plus
from pricing.parts.work import Work
from pricing.shop.machines import Oven
from pricing.shop.shop import Book
from pricing.steps.oven_visit import VisitAsked, VisitKey, visit_of
from pricing.steps.step import Amounts, Setting, Step, Use, some


def paid_loads(work: Work, setting: Setting, *, castings: bool = False) -> dict[str, Floats]:
    """Loads a job pays for, by oven; 0 where that oven is not used.

    Parameters
    ----------
    work : Work
        Amounts, with its oven marked.
    setting : Setting
        For the usual filling of shared loads.
    castings : bool
        Count only the castings.
    """
    filled, wholes = (work.cast_fill, work.cast_whole) if castings else (work.fill, work.whole)
    share_of_one = 1.0 / setting.book["oven.jobs_per_load"]
    loads: dict[str, Floats] = {}
    for name, mark in work.oven.items():
        full, any_of_it = filled[name], some(filled[name])
        if not isinstance(full, float):
            full = np.where(full > 0, full, 0.0)  # what does not fit this oven goes into the other
        whole = wholes[name] if _first(work) else most(full, any_of_it * work.again)
        if work.alone:
            loads[name] = whole * mark
            continue
        smallest = any_of_it * work.again * share_of_one
        loads[name] = least(whole, most(full / setting.book["oven.fill"], smallest)) * mark
    return {name: share * _bakes(setting.book) for name, share in loads.items()} if castings else loads


def _bakes(book: Book) -> Floats:
    """Outgas bakes to be expected: some metal still blisters after the first."""
    return 1.0 + second_bakes(book)


def second_bakes(book: Book) -> Floats:
    """Chance of a second outgas bake; 0 where the shop has no row for it."""
    return book.get("outgas.second", 0.0)


def _first(work: Work) -> bool:
    return isinstance(work.again, float) and work.again == 1.0


def _amounts(castings: bool) -> Callable[[Work, Setting], Amounts]:
    def amounts(work: Work, setting: Setting) -> Amounts:
        loads = paid_loads(work, setting, castings=castings)
        return {"load": sum(loads.values(), 0.0)}

    return amounts


def schedule(setting: Setting, kind: str, book: Book) -> tuple[float, Floats]:
    """Metal temperature and dwell of a visit.

    Parameters
    ----------
    setting : Setting
        For the powder.
    kind : {'outgas', 'partial_cure', 'full_cure'}
        Which visit.
    book : mapping
        Numbers, drawn or mean.

    Returns
    -------
    (float, float or array)
        Metal temperature [°C] and minutes held there [min].
    """
    powder = setting.powder
    if kind == "outgas":
        # the bake's temperature sets the physics, which is worked out at the mean
        return powder.cure_degC + float(setting.shop.book["outgas.above_cure"]), book["outgas.hold"]
    if kind == "partial_cure":
        return powder.cure_degC, powder.dwell_min * book["partial.share_of_dwell"]
    return powder.cure_degC, powder.dwell_min


def _bake(kind: str) -> Callable[[Work, Setting, Use], None]:
    castings = kind == "outgas"

    def extras(work: Work, setting: Setting, use: Use) -> None:
        book = setting.book
        metal_degC, dwell_min = schedule(setting, kind, book)
        mean_min = float(schedule(setting, kind, setting.shop.book)[1])
        use.keys += _KEYS
        if kind != "full_cure":
            use.keys += _OUTGAS_KEYS if castings else ["partial.share_of_dwell"]
        for name, paid in paid_loads(work, setting, castings=castings).items():
            if isinstance(paid, float) and paid == 0.0:
                continue
            oven = next(oven for oven in setting.shop.machines.oven if oven.name == name)
            key = VisitKey(name, metal_degC, mean_min, castings)
            visit = lifted(book, key, visit_of(work, setting, key))
            mark = 1.0 if isinstance(paid, float) else np.where(paid > 0, 1.0, 0.0)
            kg = (work.cast_kg * _bakes(book) if castings else work.kg) * mark
            bring_up_min, heat = _hold(use, oven, visit, paid, kg, dwell_min, book)
            use.hold(name, use.minutes * mark)
            if work.hot.rows is None:  # a list of thousands of rows is not asked where the heat goes
                use.detail |= {f"kWh {term}": kwh for term, kwh in heat.items()}
                use.detail |= {"loads": paid, "bring_up_min": bring_up_min / most(paid, _NONE)}
        use.detail["dwell_min"] = dwell_min
        use.detail["metal_degC"] = metal_degC

    return extras


_OUTGAS_KEYS = ("outgas.hold", "outgas.above_cure", "outgas.second")
_KEYS = (
    *("oven.fill", "oven.jobs_per_load", "oven.bring_up_factor", "oven.energy_factor"),
    *("oven.air_above_metal", "oven.cold_starts", "oven.idle", "oven.door"),
)
_NONE = 1e-12  # loads: a draw may pay none


def _hold(
    use: Use, oven: Oven, visit: VisitAsked, paid: Floats, kg: Floats, dwell_min: Floats, book: Book
) -> tuple[Floats, dict[str, Floats]]:
    """Hold an oven for the loads paid, next to empty, and what the job's own kilograms add to them; bill its energy.

    Gives the minutes of bring-up, and where the heat goes by term. [kWh]
    """
    heaviest = kg / visit.most_kg
    as_computed = paid * visit.bring_up_min + heaviest * visit.more_min
    bring_up_min = as_computed * book["oven.bring_up_factor"]
    held_min = bring_up_min + paid * dwell_min
    kwh = {term: paid * empty + heaviest * visit.more_kwh[term] for term, empty in visit.kwh.items()}
    # what bring-up and dwell take beyond those the visit was worked out for: holding the oven
    kwh["longer stay"] = (held_min - as_computed - paid * visit.dwell_min) / 60.0 * visit.hold_kw
    use.hold(oven.name, held_min)
    metal, stay_h = kg * visit.load_kwh_per_kg, held_min / 60.0
    taken = metal + added(kwh.values()) - stay_h * visit.fan_heat_kw
    fan = stay_h * visit.fan_kw
    heat = np.maximum(taken, 0.0)
    billed = heat / visit.available * book["oven.energy_factor"]
    if oven.fuel == "gas":
        use.gas_kwh = plus(use.gas_kwh, billed)
        use.electricity_kwh = plus(use.electricity_kwh, fan)
    else:
        use.electricity_kwh = plus(use.electricity_kwh, billed + fan)
    return bring_up_min, {"metal": metal, **kwh, "fan": fan, "flue and meter": billed - heat}


OUTGAS = Step("outgas", _amounts(castings=True), "oven", _bake("outgas"))
PARTIAL_CURE = Step("partial_cure", _amounts(castings=False), "oven", _bake("partial_cure"))
FULL_CURE = Step("full_cure", _amounts(castings=False), "oven", _bake("full_cure"))
COOL = Step("cool", _amounts(castings=False), "bench")
