"""Heating of a part in oven air: how heat gets to its surface, and bring-up time of its heaviest section.

Takes    a metal, the section's volume over area, the air's temperature; floats or arrays.
Gives    minutes to a metal temperature; specific heat, and the film coefficient with radiation in it.
Numbers  none in this file: film coefficient and emissivity come in from ``data/facts.csv``.
Assumes  a small grey part, air and walls at one constant temperature. The lumped balance with radiation
         and c(T) is integrated exactly; a thick section is then put right by the plane wall's first term,
         which dies out as Biot's number falls (below 0.1 it is a few per cent).
"""

from dataclasses import dataclass
from math import log, pi

import numpy as np

from pricing.basis.checks import Floats, most
from pricing.physics.cure import ZERO_DEGC_K
from pricing.physics.metals import Metal

STEFAN_BOLTZMANN_W_PER_M2K4 = 5.670374419e-8  # exact since the SI of 2019
_GAUSS = np.polynomial.legendre.leggauss(6)
_NODES, _WEIGHTS = 0.5 + 0.5 * _GAUSS[0], 0.5 * _GAUSS[1]  # on (0, 1)
_QUARTER_TURN2 = pi * pi / 4.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Exchange:
    """How heat gets between air, walls and the surface of a part.

    Parameters
    ----------
    air_W_per_m2K : float or array
        Film coefficient of the moving air [W/(m²·K)].
    emissivity : float or array
        Of the part's surface, in an enclosure much larger than the part.
    """

    air_W_per_m2K: Floats
    emissivity: Floats


def radiation_of_K(emissivity: Floats, a_K: Floats, b_K: Floats) -> Floats:
    """Radiation as a film coefficient [W/(m²·K)], temperatures in kelvin.

    Source: Stefan-Boltzmann's law, linearised exactly; Incropera, DeWitt, Bergman and Lavine, Fundamentals of Heat
    and Mass Transfer, chapter 1.
    """
    return emissivity * STEFAN_BOLTZMANN_W_PER_M2K4 * (a_K + b_K) * (a_K * a_K + b_K * b_K)


def heat_and_film(metal: Metal, exchange: Exchange, air_degC: Floats, level_degC: Floats) -> tuple[Floats, Floats]:
    """Specific heat [J/(kg·K)] of a metal at ``level_degC``, and film coefficient with radiation [W/(m²·K)].

    Source: ``<metal>.cp.c0`` to ``c3`` in ``data/facts.csv``; `radiation_of_K`.
    """
    heat = metal.c0 + level_degC * (metal.c1 + level_degC * (metal.c2 + level_degC * metal.c3))
    radiant = radiation_of_K(exchange.emissivity, level_degC + ZERO_DEGC_K, air_degC + ZERO_DEGC_K)
    return heat, exchange.air_W_per_m2K + radiant


def heat_up_min(
    metal: Metal, section_m: Floats, *, from_degC: Floats, to_degC: Floats, air_degC: Floats, exchange: Exchange
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
        Metal temperature at the start and the one wanted, below the air's [°C].
    air_degC : float or array
        Air and walls round the part [°C].
    exchange : Exchange
        Film coefficient and emissivity.

    Returns
    -------
    float or array
        Minutes; 0 where the metal is there already.

    Notes
    -----
    ``u = ln((Ta - T0)/(Ta - T))`` turns ``dt = ρ c L dT / (h (Ta - T) + ε σ (Ta⁴ - T⁴))`` into an integral of a
    smooth function of u, which six Gauss points give within 0.02 %. The plane wall's first term then puts a thick
    section right: ``Bi/ζ² (1 + ln C / u)``, which tends to 1 with a small Biot number.

    Examples
    --------
    >>> aluminium = Metal(density_kg_per_m3=2770, conductivity_W_per_mK=177, emissivity=0.8, c0=875)
    >>> oven = Exchange(air_W_per_m2K=40.0, emissivity=0.8)
    >>> t = heat_up_min(aluminium, 0.0015, from_degC=25.0, to_degC=150.0, air_degC=175.0, exchange=oven)
    >>> round(60 * t)
    123
    """
    gap, left = air_degC - from_degC, air_degC - to_degC
    ratio = most(gap, left) / left
    span = log(ratio) if isinstance(ratio, float) else np.log(ratio)
    axes = max(map(np.ndim, (span, gap, metal.c0, exchange.air_W_per_m2K, exchange.emissivity)))
    points = _NODES if axes == 0 else _NODES.reshape((6,) + (1,) * axes)
    heat, film = heat_and_film(metal, exchange, air_degC, air_degC - gap * np.exp(-points * span))
    lag = _mean(heat / film) * metal.density_kg_per_m3 * section_m / 60.0
    bi = _mean(film) * section_m / metal.conductivity_W_per_mK
    square = bi * _QUARTER_TURN2 / (bi + _QUARTER_TURN2)  # ζ², a first guess within 4 %
    root = np.sqrt(square)
    for _ in range(2):  # Newton on ζ sin ζ = Bi cos ζ
        sin, cos = np.sin(root), np.cos(root)
        root = root - (root * sin - bi * cos) / ((1.0 + bi) * sin + root * cos)
    behind = np.log(4.0 * np.sin(root) / (2.0 * root + np.sin(2.0 * root)))
    minutes = lag * bi / (root * root) * np.where(np.asarray(span) > 0, span + behind, 0.0)
    return float(minutes) if np.ndim(minutes) == 0 else np.asarray(minutes)


def _mean(values: Floats) -> Floats:
    """Weigh the values at the Gauss points, which have the first axis."""
    points = np.asarray(values)
    return _WEIGHTS @ points if points.ndim <= 2 else np.tensordot(_WEIGHTS, points, 1)
