"""Powder is bought by the pack: who pays for what is left in it.

Rule     a stocked colour's rest is used up by other work. A colour passed on is bought for the job, which pays the
         whole rest. A shared one is bought for the job too, but its rest goes on to the uses that are expected
         before it spoils, and what is then still lost is borne by all that came out of the pack, by the kilogram.
"""

from collections.abc import Mapping
from math import exp

import numpy as np

from pricing.basis.checks import Floats, least, most
from pricing.shop.powders import Powder, Way

_NONE = 1e-12  # kg


def chance_of_reuse(asked_per_y: float, keeps_y: float) -> float:
    """Work out the chance that a colour is asked for again before its powder spoils.

    Parameters
    ----------
    asked_per_y : float
        How often a year it is asked for, at random. [1/y]
    keeps_y : float
        Shelf life. [y]

    Examples
    --------
    >>> round(chance_of_reuse(0.5, 2.0), 3)
    0.632
    """
    return 1 - exp(-asked_per_y * keeps_y)


def used_later_kg(powder: Powder, rest_kg: Floats) -> Floats:
    """Work out how much of a rest is expected to be used before it spoils. [kg].

    Notes
    -----
    The lesser of what is asked for within the shelf life and of the rest times the chance that it is asked for at
    all. With jobs that come at random the mean lies a little below it where the two are alike, and on it elsewhere.
    """
    asked = powder.uses * powder.each_kg * powder.shelf_y
    return least(chance_of_reuse(powder.uses, powder.shelf_y) * rest_kg, asked)


def rest_to_pay_kg(powder: Powder, used_kg: Floats, need_kg: Floats, way: Way | None = None) -> Floats:
    """Work out the kilograms left in a pack that a job must pay for. [kg].

    Parameters
    ----------
    powder : Powder
        As it is bought.
    used_kg, need_kg : float or array
        What the job uses up, and what must be there to begin (the hopper's least). [kg]
    way : {'stocked', 'passed_on', 'shared'}, optional
        Another way than the powder's own.

    Returns
    -------
    float or array
        0 for a stocked colour.
    """
    way = way or powder.way
    if way == "stocked":
        return 0.0
    rest = np.ceil(most(need_kg, used_kg) / powder.pack_kg - 1e-9) * powder.pack_kg - used_kg
    if way == "passed_on":
        return rest
    later = used_later_kg(powder, rest)
    return (rest - later) * used_kg / most(used_kg + later, _NONE)


def ways_to_pay(powder: Powder, used_kg: float, hopper_kg: float) -> Mapping[Way, float]:
    """Set the three ways side by side: what a job pays for its powder and for the rest. [money].

    Parameters
    ----------
    powder : Powder
        As it is bought.
    used_kg, hopper_kg : float
        What the job uses up, and the least that feeds the gun. [kg]

    Examples
    --------
    >>> from pricing.shop.folder import open_shop
    >>> powder = open_shop().powders["moss green"].model_copy(update={"uses": 0.5, "each_kg": 2.0, "keeps_y": 2.0})
    >>> {way: round(money, 2) for way, money in ways_to_pay(powder, 2.0, 0.6).items()}
    {'stocked': 27.0, 'passed_on': 67.5, 'shared': 34.65}
    """
    ways: tuple[Way, ...] = ("stocked", "passed_on", "shared")
    return {
        way: powder.price_per_kg * (used_kg + float(rest_to_pay_kg(powder, used_kg, hopper_kg, way))) for way in ways
    }
