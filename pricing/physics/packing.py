"""How many identical parts hang in one oven load, in closed form.

Takes    an oven's hanging space and the envelope and mass of a part, floats or arrays.
Gives    parts per load and loads; mixed loads are the business of ``packing_mixed``.
Assumes  rails run the length of the oven, level and evenly spaced; parts hang upright, turn only
         about the vertical, and one load takes one kind of part. Airflow is not modelled: the
         clearance is the owner's.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pricing.basis.checks import Floats, nonneg, positive
from pricing.basis.errors import BadInput, Problem

_SLACK = 1e-9  # a part that fits exactly must not be lost to rounding


@dataclass(frozen=True, slots=True, kw_only=True)
class HangingSpace:
    """Rails of one oven and what they may carry.

    Parameters
    ----------
    rails : int
        Number of rails.
    rail_mm : float
        Usable length of each rail [mm].
    rail_pitch_mm : float
        Distance between neighbouring rails [mm].
    depth_mm : float
        Inside width of the oven across the rails [mm]; the rails stand centred in it.
    height_mm : float
        From the rail down to the lowest a part may hang [mm].
    clearance_mm : float
        Air left between parts, and between parts and walls [mm].
    hook_mm : float
        Drop of the hook above each part [mm].
    mass_limit_kg : float
        Most that may hang in one load, all rails together [kg].
    tiers : int
        Most parts hung one below the other.

    Raises
    ------
    BadInput
        Every measure that is not above 0 (clearance and hook may be 0), told at once.

    Examples
    --------
    >>> rack = HangingSpace(rails=3, rail_mm=2000, rail_pitch_mm=400, depth_mm=1200, height_mm=1500,
    ...                     clearance_mm=50, hook_mm=100, mass_limit_kg=200, tiers=2)
    >>> per_load_alike(rack, width_mm=350, depth_mm=100, height_mm=600, mass_kg=4.0)
    30.0
    """

    rails: int
    rail_mm: float
    rail_pitch_mm: float
    depth_mm: float
    height_mm: float
    clearance_mm: float
    hook_mm: float
    mass_limit_kg: float
    tiers: int = 1

    def __post_init__(self) -> None:
        above = ("rails", "rail_mm", "rail_pitch_mm", "depth_mm", "height_mm", "mass_limit_kg", "tiers")
        bad = [
            Problem(name, value, "above 0" if name in above else "0 or more")
            for name in self.__slots__
            if not (value := getattr(self, name)) >= 0 or (name in above and value == 0)
        ]
        if bad:
            raise BadInput("hanging space of an oven", bad)


def per_load_alike(
    space: HangingSpace,
    *,
    width_mm: Floats,
    depth_mm: Floats,
    height_mm: Floats,
    mass_kg: Floats,
    may_turn: bool | npt.NDArray[np.bool_] = True,
) -> Floats:
    """Most identical parts that one load takes.

    Source: counting of places on rails and tiers; clearances ``hanging.*`` in ``data/facts.csv`` (common_practice).

    Parameters
    ----------
    space : HangingSpace
        The oven's rails.
    width_mm, depth_mm, height_mm : float or array
        Envelope of the part as it hangs: along the rail, across the rails, downwards [mm].
    mass_kg : float or array
        Mass of one part [kg].
    may_turn : bool or bool array
        Whether it may hang turned by 90° about the vertical (width and depth swapped).

    Returns
    -------
    float or array
        Whole number of parts; 0 where the part does not fit at all.

    Raises
    ------
    BadInput
        A measure or mass is not above 0.

    Notes
    -----
    Along a rail n parts need ``n w + (n - 1) c``; downwards each tier needs hook and part. Across,
    a part deeper than the pitch allows uses every k-th rail, and rails too near the wall for half
    its depth and the clearance are left empty. The best of the allowed turns is taken.
    """
    positive("oven load", width_mm=width_mm, depth_mm=depth_mm, height_mm=height_mm, mass_kg=mass_kg)
    straight = _along(space, width_mm) * _rails_used(space, depth_mm)
    turned = _along(space, depth_mm) * _rails_used(space, width_mm)
    hung = np.where(may_turn, np.maximum(straight, turned), straight)
    tiers = np.minimum(space.tiers, (space.height_mm + _SLACK) // (height_mm + space.hook_mm))
    by_mass = (space.mass_limit_kg + _SLACK) // mass_kg
    most = np.minimum(hung * tiers, by_mass)
    return float(most) if most.ndim == 0 else most


def loads_alike(count: Floats, per_load: Floats) -> Floats:
    """Oven loads that identical parts need.

    Source: whole loads, rounded up, of `per_load_alike`.

    Parameters
    ----------
    count : float or array
        Number of parts.
    per_load : float or array
        Parts that one load takes, as ``per_load_alike`` tells.

    Returns
    -------
    float or array
        Whole loads; infinite where parts are to be hung and the oven takes none.

    Raises
    ------
    BadInput
        A value is negative or not finite.

    Examples
    --------
    >>> loads_alike(31, 30.0), loads_alike(0, 30.0), loads_alike(5, 0.0)
    (2.0, 0.0, inf)
    """
    nonneg("oven loads", count=count, per_load=per_load)
    parts, room = np.asarray(count, dtype=np.float64), np.asarray(per_load, dtype=np.float64)
    loads = np.where(room > 0, np.ceil(parts / np.maximum(room, 1.0)), np.where(parts > 0, np.inf, 0.0))
    return float(loads) if loads.ndim == 0 else loads


def _along(space: HangingSpace, width_mm: Floats) -> Floats:
    """Parts side by side on one rail."""
    gap = space.clearance_mm
    return (space.rail_mm + gap + _SLACK) // (width_mm + gap)


def places(space: HangingSpace, depth_mm: Floats) -> tuple[Floats, Floats]:
    """Where parts of a depth may hang across the rails, neighbours and walls kept clear.

    Source: counting of rails; clearance ``hanging.*`` in ``data/facts.csv`` (common_practice).

    Parameters
    ----------
    space : HangingSpace
        The oven's rails.
    depth_mm : float or array
        Of the part, across the rails [mm].

    Returns
    -------
    lost, every : float or array
        Rails too near the wall on either side; rails from one part to the next: 1 for each rail, 2 for
        every second.
    """
    pitch, gap = space.rail_pitch_mm, space.clearance_mm
    margin_mm = 0.5 * (space.depth_mm - (space.rails - 1) * pitch)  # wall to outermost rail
    lost = np.ceil(np.maximum(0.0, 0.5 * depth_mm + gap - margin_mm - _SLACK) / pitch)
    return lost, np.ceil((depth_mm + gap - _SLACK) / pitch)


def _rails_used(space: HangingSpace, depth_mm: Floats) -> Floats:
    """Rails that can carry a part of this depth."""
    lost, every = places(space, depth_mm)
    return -(-np.maximum(0.0, space.rails - 2.0 * lost) // every)
