"""Powder film: what a coat weighs, what it covers and how much powder it takes.

Takes    film thickness, powder density and areas as plain floats or arrays (numpy rules).
Gives    masses and coverages; what a kilogram costs is the business of costing.
Numbers  none in this file: densities and transfer shares come in from ``data/facts.csv``.
Assumes  the cured film is as dense as the powder's particles: no shrink term.
Room     physics. Imports basis. Imported by parts and steps.
"""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from pricing.basis.checks import Floats, is_symbol, nonneg, positive
from pricing.basis.errors import BadInput, Problem


def film_mass_kg_per_m2(film_um: Floats, density_g_per_cm3: Floats) -> Floats:
    """Mass of the film that stays on a square metre.

    Parameters
    ----------
    film_um : float or array
        Film thickness on the part [µm].
    density_g_per_cm3 : float or array
        Density of the powder's particles, as printed on its sheet [g/cm³].

    Returns
    -------
    float or array
        Film mass [kg/m²].

    Raises
    ------
    BadInput
        A value is negative or not finite.

    Notes
    -----
    The identity m = ρ t. ISO 8130-2 (gas pyknometer) is the referee method for ρ.

    Examples
    --------
    >>> round(film_mass_kg_per_m2(80, 1.5), 6)
    0.12
    """
    nonneg("film mass", film_um=film_um, density_g_per_cm3=density_g_per_cm3)
    return film_um * density_g_per_cm3 * 1e-3  # µm x g/cm³ = g/m²


def coverage_m2_per_kg(film_um: Floats, density_g_per_cm3: Floats, *, utilisation: Floats = 1.0) -> Floats:
    """Area that one kilogram of powder covers.

    Parameters
    ----------
    film_um : float or array
        Film thickness on the part [µm].
    density_g_per_cm3 : float or array
        Density of the powder's particles [g/cm³].
    utilisation : float or array
        Share of the powder that ends as film; 1 gives the theoretical coverage.

    Returns
    -------
    float or array
        Coverage [m²/kg].

    Raises
    ------
    BadInput
        A value is not above 0, or the utilisation is above 1.

    Notes
    -----
    The identity s = U / (ρ t). Trade constants (192.3 ft²/lb per mil) are this identity, rounded.

    Examples
    --------
    >>> round(coverage_m2_per_kg(60, 1.5), 3)
    11.111
    """
    positive("coverage", film_um=film_um, density_g_per_cm3=density_g_per_cm3)
    _share("coverage", above_zero=True, utilisation=utilisation)
    return utilisation * 1000.0 / (film_um * density_g_per_cm3)


def utilisation(transfer_share: Floats, reclaim_share: Floats = 0.0) -> Floats:
    """Share of the powder bought that ends as film on parts.

    Parameters
    ----------
    transfer_share : float or array
        Share of the sprayed powder that lands on the part: mass gained over mass sprayed.
    reclaim_share : float or array
        Share of the overspray that is caught and sprayed again; 0 when sprayed to waste.

    Returns
    -------
    float or array
        Utilisation, between the transfer share and 1.

    Raises
    ------
    BadInput
        The transfer share is not above 0 and at most 1, or the reclaim share not from 0 to 1.

    Notes
    -----
    Sum of the geometric series of sprayed-and-caught rounds: U = TE / (1 - (1 - TE) R).

    Examples
    --------
    >>> utilisation(0.6)
    0.6
    >>> round(utilisation(0.6, 0.95), 6)
    0.967742
    """
    _share("utilisation", above_zero=True, transfer_share=transfer_share)
    _share("utilisation", reclaim_share=reclaim_share)
    return transfer_share / (1.0 - (1.0 - transfer_share) * reclaim_share)


def powder_kg(area_m2: Floats, *, film_um: Floats, density_g_per_cm3: Floats, utilisation: Floats) -> Floats:
    """Powder that one coat takes, for the area really sprayed.

    Parameters
    ----------
    area_m2 : float or array
        Area sprayed [m²]; a wiped coat is sprayed over more than it keeps.
    film_um : float or array
        Film thickness [µm].
    density_g_per_cm3 : float or array
        Density of the powder's particles [g/cm³].
    utilisation : float or array
        Share of the powder that ends as film, above 0 and at most 1.

    Returns
    -------
    float or array
        Powder used [kg], before the hopper's minimum and whole packs.

    Raises
    ------
    BadInput
        A value is negative or not finite, or the utilisation is not above 0 and at most 1.

    Examples
    --------
    >>> round(powder_kg(10.0, film_um=80.0, density_g_per_cm3=1.5, utilisation=0.6), 6)
    2.0
    """
    nonneg("powder", area_m2=area_m2, film_um=film_um, density_g_per_cm3=density_g_per_cm3)
    _share("powder", above_zero=True, utilisation=utilisation)
    return area_m2 * film_um * density_g_per_cm3 * 1e-3 / utilisation


def transfer_share(sprayed_g: Floats, gained_g: Floats) -> Floats:
    """Transfer share that the owner measured: weigh the part and the hopper, before and after.

    Parameters
    ----------
    sprayed_g : float or array
        Powder that left the hopper [g].
    gained_g : float or array
        Mass that the part gained [g].

    Returns
    -------
    float or array
        Share of the sprayed powder that landed.

    Raises
    ------
    BadInput
        Nothing was sprayed, or the part gained less than nothing or more than was sprayed.

    Notes
    -----
    The definition in the scope of ISO 8130-10, which warns that a laboratory's figure is for
    comparison only: weigh in the own booth.

    Examples
    --------
    >>> transfer_share(100.0, 62.0)
    0.62
    """
    positive("transfer share", sprayed_g=sprayed_g)
    nonneg("transfer share", gained_g=gained_g)
    share = gained_g / sprayed_g
    if np.any(np.asarray(share) > 1):
        mend = "Weigh again: the part cannot gain more than was sprayed."
        worst = float(np.max(np.asarray(gained_g)))
        raise BadInput("transfer share", [Problem("gained_g", worst, "at most the powder sprayed", mend)])
    return share


def blend_density_g_per_cm3(mass_shares: Sequence[float], densities_g_per_cm3: Sequence[float]) -> float:
    """Density of a powder from its recipe: sum of masses over sum of volumes.

    Parameters
    ----------
    mass_shares : sequence of float
        Share of each part of the recipe by mass; they need not sum to 1.
    densities_g_per_cm3 : sequence of float
        Density of each part [g/cm³].

    Returns
    -------
    float
        Density of the blend [g/cm³].

    Raises
    ------
    BadInput
        The two lists differ in length or are empty, or a value is not above 0.

    Examples
    --------
    >>> round(blend_density_g_per_cm3([0.6, 0.4], [1.2, 2.8]), 4)
    1.5556
    """
    if not mass_shares or len(mass_shares) != len(densities_g_per_cm3):
        what = f"as many as there are mass shares ({len(mass_shares)}, at least 1)"
        raise BadInput("powder blend", [Problem("densities_g_per_cm3", list(densities_g_per_cm3), what)])
    shares, densities = np.asarray(mass_shares, float), np.asarray(densities_g_per_cm3, float)
    positive("powder blend", mass_shares=shares, densities_g_per_cm3=densities)
    return float(shares.sum() / (shares / densities).sum())


def film_accepted(readings_um: npt.ArrayLike, minimum_um: Floats, *, single_share: float) -> npt.NDArray[np.bool_]:
    """Tell whether spot readings of film thickness pass: the mean, and no spot far below it.

    Parameters
    ----------
    readings_um : array-like (..., n)
        Spot readings along the last axis [µm].
    minimum_um : float or array (...)
        Film asked for [µm].
    single_share : float
        Lowest single reading allowed, as a share of the minimum (fact
        ``film.single_reading_share``).

    Returns
    -------
    bool array (...)
        True where the mean is at least the minimum and no reading is below its share of it.

    Raises
    ------
    BadInput
        A reading is negative, or no readings are given.

    Examples
    --------
    >>> bool(film_accepted([75, 68, 63, 66, 56], 60, single_share=0.8))
    True
    >>> bool(film_accepted([85, 67, 71, 64, 44], 60, single_share=0.8))
    False
    """
    readings = np.asarray(readings_um, dtype=np.float64)
    if readings.size == 0:
        raise BadInput("film readings", [Problem("readings_um", [], "at least one reading")])
    nonneg("film readings", readings_um=readings, minimum_um=minimum_um, single_share=single_share)
    low, mean = readings.min(axis=-1), readings.mean(axis=-1)
    return np.asarray((mean >= minimum_um) & (low >= single_share * minimum_um))


def _share(where: str, *, above_zero: bool = False, **values: Floats) -> None:
    """Refuse shares above 1, or below 0 (or at 0)."""
    (positive if above_zero else nonneg)(where, **values)
    bad = [
        Problem(name, float(np.max(np.asarray(value))), "at most 1", "Write 60 % as 0.60.")
        for name, value in values.items()
        if not is_symbol(value)
        and (value > 1 if isinstance(value, (float, int)) else bool(np.any(np.asarray(value) > 1)))
    ]
    if bad:
        raise BadInput(where, bad)
