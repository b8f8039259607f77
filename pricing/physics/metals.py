"""Metals: how much heat a kilogram takes, and the numbers that heating needs.

Takes    temperatures in °C, floats or arrays; a metal's numbers as a ``Metal`` record.
Gives    specific heat and heat per kilogram, by the closed integral of a polynomial.
Numbers  none in this file: rows ``steel.density``, ``steel.conductivity``, ``steel.emissivity``,
         ``steel.cp.c0`` ... ``steel.cp.c3``, ``steel.cp.to`` of ``data/facts.csv`` come in by name.
Assumes  the metal does not melt or change phase below the polynomial's upper end.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields

import numpy as np
import numpy.typing as npt

from pricing.basis.checks import Floats
from pricing.basis.errors import BadInput, Problem

_COLDEST_DEGC = -273.15


@dataclass(frozen=True, slots=True, kw_only=True)
class Metal:
    """One metal; each number may be an array, one value a part or a draw.

    Parameters
    ----------
    density_kg_per_m3 : float or array
        Density [kg/m³].
    conductivity_W_per_mK : float or array
        Thermal conductivity at oven temperature [W/(m·K)].
    emissivity : float or array
        Of the bare, blasted surface; a powder film has its own (fact ``coated.emissivity``).
    c0, c1, c2, c3 : float or array
        Specific heat ``c0 + c1 T + c2 T² + c3 T³`` [J/(kg·K)], T in °C.
    to_degC : float or array
        Highest temperature that the polynomial holds for [°C].

    Examples
    --------
    >>> steel = Metal(density_kg_per_m3=7850, conductivity_W_per_mK=50, emissivity=0.6,
    ...               c0=425, c1=0.773, c2=-1.69e-3, c3=2.22e-6, to_degC=600)
    >>> round(heat_J_per_kg(steel, 19.5, 20.5), 1)
    439.8
    """

    density_kg_per_m3: Floats
    conductivity_W_per_mK: Floats
    emissivity: Floats
    c0: Floats
    c1: Floats = 0.0
    c2: Floats = 0.0
    c3: Floats = 0.0
    to_degC: Floats = 300.0


def metal_of(name: str, numbers: Mapping[str, Floats]) -> Metal:
    """Collect a metal's numbers from the table of facts (or from draws of it).

    Coefficients that have no row are 0.

    Parameters
    ----------
    name : str
        Such as ``steel``, ``aluminium``, ``stainless``, ``cast_iron``, ``zinc``, ``copper``, ``brass``.
    numbers : mapping of str to float or array
        Facts by name, each in the unit of its row.

    Examples
    --------
    >>> rows = {"tin.density": 7290.0, "tin.conductivity": 60.0, "tin.emissivity": 0.2,
    ...         "tin.cp.c0": 230.0, "tin.cp.to": 200.0}
    >>> metal_of("tin", rows).c0
    230.0
    """
    return Metal(
        density_kg_per_m3=numbers[f"{name}.density"],
        conductivity_W_per_mK=numbers[f"{name}.conductivity"],
        emissivity=numbers[f"{name}.emissivity"],
        c0=numbers[f"{name}.cp.c0"],
        c1=numbers.get(f"{name}.cp.c1", 0.0),
        c2=numbers.get(f"{name}.cp.c2", 0.0),
        c3=numbers.get(f"{name}.cp.c3", 0.0),
        to_degC=numbers[f"{name}.cp.to"],
    )


def pick_metal(metals: Sequence[Metal], which: npt.ArrayLike) -> Metal:
    """Make one record of arrays for a list of parts of several metals.

    Parameters
    ----------
    metals : sequence of Metal
        The metals met.
    which : int array
        For each part the index of its metal.

    Returns
    -------
    Metal
        Each number an array of the shape of ``which``.

    Examples
    --------
    >>> tin = Metal(density_kg_per_m3=7290, conductivity_W_per_mK=60, emissivity=0.2, c0=230)
    >>> lead = Metal(density_kg_per_m3=11340, conductivity_W_per_mK=35, emissivity=0.3, c0=130)
    >>> pick_metal([tin, lead], [0, 1, 1]).c0.tolist()
    [230.0, 130.0, 130.0]
    """
    index = np.asarray(which, dtype=np.intp)
    return Metal(
        **{f.name: np.array([getattr(m, f.name) for m in metals], dtype=np.float64)[index] for f in fields(Metal)}
    )


def heat_J_per_kg(metal: Metal, from_degC: Floats, to_degC: Floats) -> Floats:
    """Heat that warms a kilogram from one temperature to another; negative when it cools.

    Source: integral of ``c(T)``: steel en_1993_1_2, aluminium en_1999_1_2, others heat_library; keys
    ``<metal>.cp.c0`` to ``c3``.

    Parameters
    ----------
    metal : Metal
        The metal.
    from_degC, to_degC : float or array
        Temperatures [°C].

    Returns
    -------
    float or array
        Heat [J/kg], the closed integral of the specific heat.

    Raises
    ------
    BadInput
        A temperature is above the polynomial's upper end, or not finite.

    Examples
    --------
    >>> aluminium = Metal(density_kg_per_m3=2700, conductivity_W_per_mK=160, emissivity=0.3, c0=903, c1=0.41)
    >>> round(100 * heat_J_per_kg(aluminium, 20.0, 200.0) / 3.6e6, 4)
    4.7405
    """
    _in_range(metal, from_degC=from_degC, to_degC=to_degC)
    return _content(metal, to_degC) - _content(metal, from_degC)


def _content(metal: Metal, metal_degC: Floats) -> Floats:
    """Heat above 0 °C [J/kg]."""
    t = metal_degC
    return t * (metal.c0 + t * (metal.c1 / 2.0 + t * (metal.c2 / 3.0 + t * metal.c3 / 4.0)))


def _in_range(metal: Metal, **temperatures_degC: Floats) -> None:
    bad = []
    for name, value in temperatures_degC.items():
        if isinstance(value, (float, int)) and isinstance(metal.to_degC, (float, int)):
            if _COLDEST_DEGC < value <= metal.to_degC:
                continue
            bad.append((name, value, metal.to_degC))
            continue
        level, top = np.broadcast_arrays(np.asarray(value, dtype=np.float64), metal.to_degC)
        wrong = ~((level > _COLDEST_DEGC) & (level <= top))
        if wrong.any():
            bad.append((name, float(level[wrong].flat[0]), float(top[wrong].flat[0])))
    if bad:
        problems = [Problem(name, value, f"at most {top:g} °C for this metal") for name, value, top in bad]
        raise BadInput("heat of a metal", problems)
