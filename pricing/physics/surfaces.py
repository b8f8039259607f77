"""Surfaces: how heat gets between air, walls and the surface of a part.

Takes    film coefficients, emissivities and temperatures in °C, floats or arrays.
Gives    radiation as a coefficient, Biot's number, the settled temperature, the plane wall's series.
Numbers  none in this file: film coefficient and emissivity come in from ``data/facts.csv``.
Assumes  a small grey part in a large enclosure.
"""

from dataclasses import dataclass

import numpy as np

from pricing.basis.checks import Floats, nonneg, positive
from pricing.basis.errors import BadInput, Problem
from pricing.physics.cure import ZERO_DEGC_K

STEFAN_BOLTZMANN_W_PER_M2K4 = 5.670374419e-8  # exact since the SI of 2019


@dataclass(frozen=True, slots=True, kw_only=True)
class Exchange:
    """How heat gets between air, walls and the surface of a part.

    Parameters
    ----------
    air_W_per_m2K : float or array
        Film coefficient of the moving air [W/(m²·K)].
    emissivity : float or array
        Of the part's surface, in an enclosure much larger than the part.

    Raises
    ------
    BadInput
        The film coefficient is not above 0, or the emissivity not from 0 to 1.

    Examples
    --------
    >>> Exchange(air_W_per_m2K=25.0, emissivity=0.9).emissivity
    0.9
    """

    air_W_per_m2K: Floats
    emissivity: Floats

    def __post_init__(self) -> None:
        positive("heat exchange", air_W_per_m2K=self.air_W_per_m2K)
        nonneg("heat exchange", emissivity=self.emissivity)
        if np.any(np.asarray(self.emissivity) > 1):
            worst = float(np.max(np.asarray(self.emissivity)))
            raise BadInput("heat exchange", [Problem("emissivity", worst, "from 0 to 1")])


def settled_degC(exchange: Exchange, air_degC: Floats, walls_degC: Floats) -> Floats:
    """Temperature at which a part gains nothing any more, between air and walls.

    Source: balance of convection and radiation; Incropera, DeWitt, Bergman and Lavine, Fundamentals of Heat and Mass
    Transfer, example 5.3 (incropera_5_3).

    Parameters
    ----------
    exchange : Exchange
        Film coefficient and emissivity.
    air_degC, walls_degC : float or array
        Temperatures of air and walls [°C].

    Returns
    -------
    float or array
        Temperature [°C]; Newton's method on ``h (Ta - T) + ε σ (Tw⁴ - T⁴) = 0``.

    Examples
    --------
    >>> round(float(settled_degC(Exchange(air_W_per_m2K=25.0, emissivity=0.9), 200.0, 160.0)), 1)
    183.3
    """
    air_K, walls_K = air_degC + ZERO_DEGC_K, walls_degC + ZERO_DEGC_K
    h, radiant = exchange.air_W_per_m2K, exchange.emissivity * STEFAN_BOLTZMANN_W_PER_M2K4
    level = np.maximum(air_K, walls_K)  # from above the convex sum falls to its root without overshoot
    for _ in range(5):  # doubles its digits each time; five are plenty between any two furnaces
        cube = radiant * level**3
        level = (h * air_K + radiant * walls_K**4 + 3.0 * cube * level) / (h + 4.0 * cube)
    return level - ZERO_DEGC_K


def radiation_of_K(emissivity: Floats, a_K: Floats, b_K: Floats) -> Floats:
    """Radiation as a film coefficient, temperatures in kelvin and unchecked.

    Source: Stefan-Boltzmann's law, linearised exactly; Incropera, DeWitt, Bergman and Lavine, Fundamentals of Heat
    and Mass Transfer, chapter 1.
    """
    return emissivity * STEFAN_BOLTZMANN_W_PER_M2K4 * (a_K + b_K) * (a_K * a_K + b_K * b_K)
