"""How a job's parts hang in an oven: how many in one load, and how many loads they make."""

from functools import lru_cache
from typing import TYPE_CHECKING

from pricing.basis.facts import fact
from pricing.parts.job import Job
from pricing.parts.part import Part
from pricing.physics.packing import HangingSpace, per_load_alike
from pricing.shop.machines import Oven

if TYPE_CHECKING:
    from pricing.physics.packing_mixed import PartKind


@lru_cache(maxsize=32)
def hanging_space(oven: Oven) -> HangingSpace:
    """Return the rails of an oven as the packing needs them."""
    return HangingSpace(
        rails=oven.rails,
        rail_mm=oven.inside_depth_mm - 2 * oven.clearance_mm,
        rail_pitch_mm=oven.inside_width_mm / oven.rails,
        depth_mm=oven.inside_width_mm,
        height_mm=oven.inside_height_mm - oven.clearance_mm,
        clearance_mm=oven.clearance_mm,
        hook_mm=fact("hanging.hook", "mm"),
        mass_limit_kg=oven.most_load_kg,
        tiers=oven.tiers,
    )


@lru_cache(maxsize=8192)
def parts_per_load(part: Part, oven: Oven) -> float:
    """How many of a part hang in one load; 0 where it does not fit."""
    return per_load_alike(
        hanging_space(oven),
        width_mm=part.width_mm,
        depth_mm=part.depth_mm,
        height_mm=part.height_mm,
        mass_kg=part.mass_kg,
    )


def whole_loads(job: Job, oven: Oven, *, castings: bool) -> float:
    """Loads a job needs by itself, or what of it is baked out: kinds of parts are packed together; 0 does not fit."""
    lots = [lot for lot in job.lots if lot.part.baked or not castings]
    rooms = [parts_per_load(lot.part, oven) for lot in lots]
    if not lots or not all(rooms):
        return 0.0
    if len(lots) == 1:
        return -(-lots[0].pieces // rooms[0])
    from pricing.physics.packing_mixed import PartKind

    kinds = tuple(
        PartKind(
            name=lot.part.name,
            count=lot.pieces,
            width_mm=lot.part.width_mm,
            depth_mm=lot.part.depth_mm,
            height_mm=lot.part.height_mm,
            mass_kg=lot.part.mass_kg,
        )
        for lot in lots
    )
    return _mixed_loads(hanging_space(oven), kinds)


@lru_cache(maxsize=8192)
def _mixed_loads(space: HangingSpace, kinds: "tuple[PartKind, ...]") -> float:
    from pricing.physics.packing_mixed import load_oven

    return float(load_oven(space, kinds).loads)
