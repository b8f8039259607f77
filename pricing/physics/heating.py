"""Heating and cooling of a part in oven or shop air: bring-up time of its heaviest section.

Takes    a metal, the section's volume over area, air and wall temperatures; floats or arrays.
Gives    minutes to a metal temperature, the temperature after some minutes, the cure done meanwhile.
Numbers  none in this file: film coefficient and emissivity come in from ``data/facts.csv``.
Assumes  air and walls at constant temperatures. The lumped balance with radiation and c(T) is
         integrated exactly; a thick section is then put right by the plane wall's first term, which
         dies out as Biot's number falls (below 0.1 it is a few per cent).
"""

from math import log, pi
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from pricing.basis.checks import Floats, positive
from pricing.basis.errors import BadInput, Problem
from pricing.physics.cure import ZERO_DEGC_K
from pricing.physics.metals import Metal
from pricing.physics.surfaces import Exchange, radiation_of_K, settled_degC

_Array: TypeAlias = npt.NDArray[np.float64]
_GAUSS = np.polynomial.legendre.leggauss(6)
_NODES, _WEIGHTS = 0.5 + 0.5 * _GAUSS[0], 0.5 * _GAUSS[1]  # on (0, 1)
_QUARTER_TURN2 = pi * pi / 4.0


def heat_up_min(
    metal: Metal,
    section_m: Floats,
    *,
    from_degC: Floats,
    to_degC: Floats,
    air_degC: Floats,
    exchange: Exchange,
    walls_degC: Floats | None = None,
) -> Floats:
    """Minutes until the middle of a section is at least as hot as wanted.

    Source: lumped capacity with radiation, integrated by Gauss's rule, and the middle's lag by Biot's number;
    Incropera, DeWitt, Bergman and Lavine, Fundamentals of Heat and Mass Transfer, chapter 5.

    Parameters
    ----------
    metal : Metal
        The metal.
    section_m : float or array
        Volume over area of the heaviest section [m].
    from_degC, to_degC : float or array
        Metal temperature at the start and the one wanted [°C].
    air_degC : float or array
        Air round the part [°C].
    exchange : Exchange
        Film coefficient and emissivity.
    walls_degC : float or array, optional
        Walls round the part [°C]; the air's temperature when not given.

    Returns
    -------
    float or array
        Minutes; 0 where the metal is there already.

    Raises
    ------
    BadInput
        The metal would never get there, or a value is out of range.

    Notes
    -----
    With T* the settled temperature, ``u = ln((T* - T0)/(T* - T))`` turns
    ``dt = ρ c L dT / (h (Ta - T) + ε σ (Tw⁴ - T⁴))`` into an integral of a smooth function of u,
    which six Gauss points give within 0.02 %. The plane wall's first term then puts a thick
    section right: ``Bi/ζ² (1 + ln C / u)``, which tends to 1 with a small Biot number.

    Examples
    --------
    >>> aluminium = Metal(density_kg_per_m3=2770, conductivity_W_per_mK=177, emissivity=0.8, c0=875)
    >>> oven = Exchange(air_W_per_m2K=40.0, emissivity=0.8)
    >>> t = heat_up_min(aluminium, 0.0015, from_degC=25.0, to_degC=150.0, air_degC=175.0, exchange=oven)
    >>> round(60 * t)
    123
    """
    positive("heating", section_m=section_m)
    settled = air_degC if walls_degC is None else settled_degC(exchange, air_degC, walls_degC)
    span = _span(settled, from_degC, to_degC)
    return _minutes(metal, section_m, settled - from_degC, settled, span, exchange)


def _span(settled: Floats, start: Floats, wanted: Floats) -> Floats:
    """Work out u at the end, the logarithm of gap at start over gap left; 0 where it is there already."""
    before, after = settled - start, settled - wanted
    if isinstance(before, (float, int)) and isinstance(after, (float, int)):
        if after >= before:
            return 0.0
        if after > 0:
            return log(before / after)
        end, goal = settled, wanted
    else:
        gap, left = np.broadcast_arrays(np.asarray(before, dtype=np.float64), np.asarray(after, dtype=np.float64))
        never = (left <= 0) & (left < gap)
        if not never.any():
            there = left >= gap
            return np.where(there, 0.0, np.log(np.where(there, 1.0, gap) / np.where(there, 1.0, left)))
        ends, goals = np.broadcast_to(settled, gap.shape)[never], np.broadcast_to(wanted, gap.shape)[never]
        end, goal = float(ends.flat[0]), float(goals.flat[0])
    mend = "Set the oven hotter, or ask for less."
    problem = Problem("to_degC", abs(goal), f"short of {abs(end):.4g} °C, where the metal settles", mend)
    raise BadInput("heating", [problem])


def _along(metal: Metal, exchange: Exchange, settled: Floats, gap: Floats, span: Floats) -> _Array:
    """Return the metal temperatures at the Gauss points, points on a first axis of their own."""
    others = (span, gap, metal.c0, exchange.air_W_per_m2K, exchange.emissivity)
    axes = max(map(np.ndim, others))
    points = _NODES if axes == 0 else _NODES.reshape((6,) + (1,) * axes)
    return np.asarray(settled - gap * np.exp(-points * span))


def _mean(values: _Array) -> Floats:
    """Weigh the values at the Gauss points."""
    return _WEIGHTS @ values if values.ndim <= 2 else np.tensordot(_WEIGHTS, values, 1)


def _film(level: Floats, settled: Floats, exchange: Exchange) -> Floats:
    return exchange.air_W_per_m2K + radiation_of_K(exchange.emissivity, level + ZERO_DEGC_K, settled + ZERO_DEGC_K)


def _lag(metal: Metal, level: Floats, film: Floats) -> Floats:
    """Work out dt/du over ρ L: specific heat over film coefficient [m²·s/kg]."""
    return (metal.c0 + level * (metal.c1 + level * (metal.c2 + level * metal.c3))) / film


def _minutes(metal: Metal, section_m: Floats, gap: Floats, settled: Floats, span: Floats, exchange: Exchange) -> Floats:
    """Integrate dt/du over u and put a thick section right."""
    level = _along(metal, exchange, settled, gap, span)
    film = _film(level, settled, exchange)
    lag = _mean(np.asarray(_lag(metal, level, film))) * metal.density_kg_per_m3 * section_m / 60.0
    bi = _mean(np.asarray(film)) * section_m / metal.conductivity_W_per_mK
    square = bi * _QUARTER_TURN2 / (bi + _QUARTER_TURN2)  # ζ², a first guess within 4 %
    root = np.sqrt(square)
    for _ in range(2):  # Newton on ζ sin ζ = Bi cos ζ
        sin, cos = np.sin(root), np.cos(root)
        root = root - (root * sin - bi * cos) / ((1.0 + bi) * sin + root * cos)
    behind = np.log(4.0 * np.sin(root) / (2.0 * root + np.sin(2.0 * root)))
    minutes = lag * bi / (root * root) * np.where(np.asarray(span) > 0, span + behind, 0.0)
    return float(minutes) if np.ndim(minutes) == 0 else np.asarray(minutes)
