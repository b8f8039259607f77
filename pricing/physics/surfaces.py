"""Surfaces: how heat gets between air, walls and the surface of a part.

Takes    film coefficients, emissivities and temperatures in °C, floats or arrays.
Gives    radiation as a coefficient, Biot's number, the settled temperature, the plane wall's series.
Numbers  none in this file: film coefficient and emissivity come in from ``data/facts.csv``.
Assumes  a small grey part in a large enclosure.
Room     physics. Imports cure, basis. Imported by heating, oven and steps.
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


def radiation_W_per_m2K(emissivity: Floats, surface_degC: Floats, walls_degC: Floats) -> Floats:
    """Radiation as a film coefficient: ``ε σ (T1 + T2)(T1² + T2²)``.

    Parameters
    ----------
    emissivity : float or array
        Of the surface.
    surface_degC, walls_degC : float or array
        Temperatures of surface and walls [°C].

    Returns
    -------
    float or array
        Coefficient [W/(m²·K)].

    Raises
    ------
    BadInput
        The emissivity is negative.

    Examples
    --------
    >>> round(radiation_W_per_m2K(0.8, 150.0, 175.0), 1)
    15.0
    """
    nonneg("radiation", emissivity=emissivity)
    return radiation_of_K(emissivity, surface_degC + ZERO_DEGC_K, walls_degC + ZERO_DEGC_K)


def biot(film_W_per_m2K: Floats, section_m: Floats, *, conductivity_W_per_mK: Floats) -> Floats:
    """Biot's number: resistance inside the section over resistance at its surface.

    Parameters
    ----------
    film_W_per_m2K : float or array
        Film coefficient with radiation [W/(m²·K)].
    section_m : float or array
        Volume over area: half the thickness of a plate heated on both sides [m].
    conductivity_W_per_mK : float or array
        Of the metal [W/(m·K)].

    Returns
    -------
    float or array
        Below 0.1 the section is at one temperature, near enough.

    Raises
    ------
    BadInput
        A value is not above 0.

    Examples
    --------
    >>> round(biot(80.0, 0.010, conductivity_W_per_mK=20.0), 3)
    0.04
    """
    positive("Biot's number", film=film_W_per_m2K, section_m=section_m, conductivity=conductivity_W_per_mK)
    return film_W_per_m2K * section_m / conductivity_W_per_mK


def settled_degC(exchange: Exchange, air_degC: Floats, walls_degC: Floats) -> Floats:
    """Temperature at which a part gains nothing any more, between air and walls.

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


def plane_wall_share(fourier: Floats, biot_number: Floats, place_share: Floats = 0.0, *, terms: int = 20) -> Floats:
    """Share of the temperature gap that a plane wall still has, by the exact series.

    Parameters
    ----------
    fourier : float or array
        Fourier's number, diffusivity times time over the square of the half thickness.
    biot_number : float or array
        Film coefficient times half thickness over conductivity.
    place_share : float or array
        Place from the middle (0) to the surface (1).
    terms : int
        Terms of the series.

    Returns
    -------
    float or array
        (T - T_air)/(T_start - T_air).

    Raises
    ------
    BadInput
        A number is not above 0 (Fourier's and the place may be 0).

    Examples
    --------
    >>> round(plane_wall_share(1.0, 1.0), 4)
    0.5339
    """
    nonneg("plane wall", fourier=fourier, place_share=place_share)
    positive("plane wall", biot_number=biot_number)
    bi, fo, place = (np.asarray(v, dtype=np.float64)[..., None] for v in (biot_number, fourier, place_share))
    low = np.arange(terms) * np.pi + np.zeros_like(bi)
    high = low + np.pi / 2.0
    for _ in range(54):  # halving to the last bit; the roots of ζ tan ζ = Bi lie one in each half period
        root = 0.5 * (low + high)
        short = root * np.sin(root) * np.cos(low) < bi * np.cos(root) * np.cos(low)
        low, high = np.where(short, root, low), np.where(short, high, root)
    factor = 4.0 * np.sin(root) / (2.0 * root + np.sin(2.0 * root))
    total = (factor * np.exp(-(root**2) * fo) * np.cos(root * place)).sum(axis=-1)
    return float(total) if total.ndim == 0 else np.asarray(total)


def radiation_of_K(emissivity: Floats, a_K: Floats, b_K: Floats) -> Floats:
    """Radiation as a film coefficient, temperatures in kelvin and unchecked."""
    return emissivity * STEFAN_BOLTZMANN_W_PER_M2K4 * (a_K + b_K) * (a_K * a_K + b_K * b_K)
