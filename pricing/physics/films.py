"""Film coefficients of air, for an owner who would rather estimate them than guess.

Takes    sizes, speeds and temperatures, floats or arrays; air's transport numbers as a record.
Gives    W/(m²·K), to be used as ``Exchange.air_W_per_m2K`` or as a wall's outside film.
Numbers  properties of air come in from ``data/facts.csv``; the constants here are the published
         correlations themselves.
Room     physics. Imports air, cure, basis. Imported by steps.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from pricing.basis.checks import Floats, nonneg, positive
from pricing.basis.errors import BadInput, Problem
from pricing.physics.air import GRAVITY_M_PER_S2
from pricing.physics.cure import ZERO_DEGC_K


@dataclass(frozen=True, slots=True, kw_only=True)
class Flowing:
    """Air as it flows past a surface, at film temperature.

    Parameters
    ----------
    conductivity_W_per_mK : float or array
        Thermal conductivity [W/(m·K)].
    viscosity_m2_per_s : float or array
        Kinematic viscosity [m²/s].
    prandtl : float or array
        Prandtl's number.

    Raises
    ------
    BadInput
        A value is not above 0.
    """

    conductivity_W_per_mK: Floats
    viscosity_m2_per_s: Floats
    prandtl: Floats

    def __post_init__(self) -> None:
        positive(
            "flowing air",
            conductivity_W_per_mK=self.conductivity_W_per_mK,
            viscosity_m2_per_s=self.viscosity_m2_per_s,
            prandtl=self.prandtl,
        )


def flowing_of(numbers: Mapping[str, float], air_degC: Floats) -> Flowing:
    """Give air's numbers at a temperature and the pressure of the place, from the table of facts.

    Parameters
    ----------
    numbers : mapping of str to float
        Facts by name: ``air.conductivity.c0`` ... ``c2``, ``air.viscosity.c0`` ... ``c2``,
        ``air.cp.c0`` ... ``c2``, ``air.gas_constant``, ``air.pressure``.
    air_degC : float or array
        Mean of surface and air temperature [°C].

    Returns
    -------
    Flowing
        The record.

    Raises
    ------
    BadInput
        A number is missing; every missing one is named.
    """
    needed = [f"air.{what}.c{i}" for what in ("conductivity", "viscosity", "cp") for i in range(3)]
    needed += ["air.gas_constant", "air.pressure"]
    missing = [Problem(key, None, "a row of facts.csv") for key in needed if key not in numbers]
    if missing:
        raise BadInput("flowing air", missing)
    conductivity, dynamic, heat = (
        numbers[f"air.{what}.c0"] + air_degC * (numbers[f"air.{what}.c1"] + air_degC * numbers[f"air.{what}.c2"])
        for what in ("conductivity", "viscosity", "cp")
    )
    density = numbers["air.pressure"] / (numbers["air.gas_constant"] * (air_degC + ZERO_DEGC_K))
    return Flowing(
        conductivity_W_per_mK=conductivity,
        viscosity_m2_per_s=dynamic / density,
        prandtl=dynamic * heat / conductivity,
    )


def still_air_W_per_m2K(flowing: Flowing, height_m: Floats, *, surface_degC: Floats, air_degC: Floats) -> Floats:
    """Film of still air on an upright surface: an oven's outside, a part on the cooling rack.

    Parameters
    ----------
    flowing : Flowing
        Air at the mean of both temperatures.
    height_m : float or array
        Height of the surface [m].
    surface_degC, air_degC : float or array
        Temperatures [°C].

    Returns
    -------
    float or array
        Film coefficient without radiation [W/(m²·K)].

    Raises
    ------
    BadInput
        The height is not above 0.

    Notes
    -----
    ``Nu = (0.825 + 0.387 Ra^⅙ / (1 + (0.492/Pr)^(9/16))^(8/27))²``. Source: ``churchill_chu``.

    Examples
    --------
    >>> air = Flowing(conductivity_W_per_mK=0.02808, viscosity_m2_per_s=1.896e-5, prandtl=0.7202)
    >>> film = still_air_W_per_m2K(air, 0.6, surface_degC=90.0, air_degC=30.0)
    >>> round(film * 0.6 * 0.6 * 60.0, 1)
    114.5
    """
    positive("still air", height_m=height_m)
    middle_K = 0.5 * (surface_degC + air_degC) + ZERO_DEGC_K
    gap = ((surface_degC - air_degC) ** 2) ** 0.5
    grashof = GRAVITY_M_PER_S2 * gap * height_m**3 / (middle_K * flowing.viscosity_m2_per_s**2)
    damped = (1.0 + (0.492 / flowing.prandtl) ** (9.0 / 16.0)) ** (8.0 / 27.0)
    nusselt = (0.825 + 0.387 * (grashof * flowing.prandtl) ** (1.0 / 6.0) / damped) ** 2
    return nusselt * flowing.conductivity_W_per_mK / height_m


def moving_air_W_per_m2K(
    flowing: Flowing, size_m: Floats, *, speed_m_per_s: Floats, viscosity_ratio: Floats = 1.0
) -> Floats:
    """Film of moving air on a compact part, as on a ball of its size.

    Parameters
    ----------
    flowing : Flowing
        Air at its own temperature.
    size_m : float or array
        Diameter, or a part's size along the flow [m].
    speed_m_per_s : float or array
        Speed of the air [m/s].
    viscosity_ratio : float or array
        Dynamic viscosity in the stream over that at the surface.

    Returns
    -------
    float or array
        Film coefficient without radiation [W/(m²·K)].

    Raises
    ------
    BadInput
        The size or the ratio is not above 0, or the speed negative.

    Notes
    -----
    ``Nu = 2 + (0.4 Re^½ + 0.06 Re^⅔) Pr^0.4 (μ∞/μs)^¼``. Source: ``whitaker``.
    """
    positive("moving air", size_m=size_m, viscosity_ratio=viscosity_ratio)
    nonneg("moving air", speed_m_per_s=speed_m_per_s)
    reynolds = speed_m_per_s * size_m / flowing.viscosity_m2_per_s
    spread = 0.4 * reynolds**0.5 + 0.06 * reynolds ** (2.0 / 3.0)
    nusselt = 2.0 + spread * flowing.prandtl**0.4 * viscosity_ratio**0.25
    return nusselt * flowing.conductivity_W_per_mK / size_m
