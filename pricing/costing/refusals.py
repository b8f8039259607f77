"""When the answer is no price: heat cycles of tempered and safety-critical parts, closed volumes.

Room     costing. Imports basis, parts, shop.
"""

from functools import lru_cache

import numpy as np

from pricing.basis.checks import Floats
from pricing.basis.errors import BadInput
from pricing.basis.same import Same
from pricing.parts.part import Part, metal
from pricing.parts.work import Hot, Work, strip_way
from pricing.physics.burnoff import may_burn_off
from pricing.shop.finishes import Finish
from pricing.shop.shop import Shop

ASK = "do not quote: ask the maker"


def cures(finish: Finish) -> int:
    """Oven visits of a part for its coats alone."""
    return sum(coat.cure != "none" for coat in finish.coats)


def heat_cycles(work: Work, finish: Finish, *, only_outgas: bool = False) -> Floats:
    """Oven visits of one part as planned; the most of any kind of the job.

    Parameters
    ----------
    work : Work
        Whose parts.
    finish : Finish
        For its cures.
    only_outgas : bool
        Count the bake before the coats alone, which a redo does not repeat.
    """
    return _cycles(Same(work.hot), 0 if only_outgas else cures(finish))


@lru_cache(maxsize=512)
def _cycles(hot: Same[Hot], cures_each: int) -> Floats:
    return hot.thing.spread(np.array([float(part.casting) for part in hot.thing.parts]) + cures_each)


def reasons(part: Part, finish: Finish, shop: Shop) -> tuple[str, ...]:
    """Why a part gets no price in a finish; empty where it may have one.

    Parameters
    ----------
    part : Part
        One piece.
    finish : Finish
        How it would be coated.
    shop : Shop
        For its limit and its ways to strip.
    """
    found = []
    planned = int(part.casting) + cures(finish)
    most = shop.policy.most_heat_cycles
    if part.guarded and planned > most:
        why = "a safety-critical part" if part.safety_critical else "heat-treated aluminium"
        found.append(f"{part.name}: {planned} oven visits planned, {most} are the limit for {why}; {ASK}")
    if part.old_coating != "none" and strip_way(part, shop.policy) == "burn_off":
        found += _burn_off(part)
    if part.closed_volume:
        found.append(f"{part.name}: a closed volume can burst in the oven; do not quote until it is vented")
    return tuple(found)


def _burn_off(part: Part) -> list[str]:
    if part.heat_treated:
        return [f"{part.name}: heat-treated metal never goes to a burn-off oven; {ASK}"]
    try:
        may_burn_off(metal(part.material), heat_treated=part.heat_treated)
    except BadInput:
        return [f"{part.name}: {part.material} does not stand a burn-off oven; strip it another way"]
    return []


def refusals(work: Work, finish: Finish, shop: Shop) -> tuple[str, ...]:
    """Every reason of every kind of part in the work."""
    return _refusals(Same(work.hot), Same(finish), Same(shop))


@lru_cache(maxsize=512)
def _refusals(hot: Same[Hot], finish: Same[Finish], shop: Same[Shop]) -> tuple[str, ...]:
    return tuple(reason for part in hot.thing.parts for reason in reasons(part, finish.thing, shop.thing))
