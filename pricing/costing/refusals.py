"""When the answer is no price: heat cycles of tempered and safety-critical parts, closed volumes."""

from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from pricing.basis.checks import Floats
from pricing.basis.identity import Same
from pricing.costing.limits import SetPoints, cures, set_points, shown_text
from pricing.parts.loads import parts_per_load
from pricing.parts.part import Part
from pricing.parts.work import Hot, strip_way
from pricing.shop.finishes import Finish
from pricing.shop.powders import Powder
from pricing.shop.shop import Shop

ASK = "do not quote: ask the maker"


class Planned(NamedTuple):
    """What is said of a job's oven visits, whatever the numbers are.

    Parameters
    ----------
    cycles : float or array
        Oven visits of one part as planned; the most of any kind of the job.
    baked : float or array
        1 where gas is baked out before the coats; the most of any kind of the job.
    refused : tuple of str
        Every reason of every kind of part why no price may be given.
    """

    cycles: Floats
    baked: Floats
    refused: tuple[str, ...]


@lru_cache(maxsize=256)
def planned_visits(
    hot: Same[Hot], finish: Same[Finish], powders: tuple[Same[Powder], ...], shop: Same[Shop]
) -> Planned:
    """Count oven visits, and collect what forbids a price."""
    parts, used = hot.thing.parts, [powder.thing for powder in powders]
    visits = np.array([float(part.baked + part.earlier_visits) for part in parts]) + cures(finish.thing)
    return Planned(
        hot.thing.spread(visits),
        hot.thing.spread(np.array([float(part.baked) for part in parts])),
        tuple(reason for part in parts for reason in reasons(part, finish.thing, shop.thing, used)),
    )


def reasons(part: Part, finish: Finish, shop: Shop, powders: Sequence[Powder]) -> tuple[str, ...]:
    """Why a part gets no price in a finish; empty where it may have one.

    Parameters
    ----------
    part : Part
        One piece.
    finish : Finish
        How it would be coated.
    shop : Shop
        For its limit, its ovens and its ways to strip.
    powders : sequence of Powder
        In the order of the finish's colours.
    """
    found = _too_hot(part, set_points(finish, powders, shop), shop)
    planned = int(part.baked) + cures(finish) + part.earlier_visits
    most = shop.policy.most_heat_cycles
    if part.guarded and planned > most:
        why = "a safety-critical part" if part.safety_critical else "heat-treated aluminium"
        counted = f"with {part.earlier_visits} earlier ones" if part.earlier_visits else "planned"
        found.append(f"{part.name}: {planned} oven visits {counted}, {most} are the limit for {why}; {ASK}")
    if part.old_coating != "none" and strip_way(part, shop.policy) == "burn_off":
        found += _burn_off(part)
    if part.closed_volume:
        found.append(f"{part.name}: a closed volume can burst in the oven; do not quote until it is vented")
    return tuple(found)


def _too_hot(part: Part, points: SetPoints, shop: Shop) -> list[str]:
    asked = points.hottest_degC(baked=part.baked)
    takes = [oven for oven in shop.machines.oven if parts_per_load(part, oven)]
    if not takes or not all(asked > oven.hottest_degC for oven in takes):
        return []
    ovens = ", ".join(f"{oven.name} {shown_text(oven.hottest_degC, 'degC', shop)}" for oven in takes)
    what = "the outgas bake" if asked > points.cure_degC else "the cure"
    return [f"{part.name}: {what} needs air at {shown_text(asked, 'degC', shop)}; the most that is allowed is {ovens}"]


def _burn_off(part: Part) -> list[str]:
    if part.heat_treated:
        # aged far below the oven's temperature (ageing_handbook), and how much strength is left is not told here
        return [f"{part.name}: heat-treated metal never goes to a burn-off oven; {ASK}"]
    if part.material == "zinc":  # it melts; burnoff_guide in data/sources.csv
        return [f"{part.name}: {part.material} does not stand a burn-off oven; strip it another way"]
    return []
