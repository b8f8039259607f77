"""Powder film: what a coat weighs, what it covers and how much powder it takes.

Takes    film thickness, powder density and areas as plain floats or arrays (numpy rules).
Gives    masses and coverages; what a kilogram costs is the business of costing.
Numbers  none in this file: densities and transfer shares come in from ``data/facts.csv``.
Assumes  the cured film is as dense as the powder's particles: no shrink term.
"""

import numpy as np

from pricing.basis.checks import Floats, is_symbol, nonneg, positive
from pricing.basis.errors import BadInput, Problem


def utilisation(transfer_share: Floats, reclaim_share: Floats = 0.0) -> Floats:
    """Share of the powder bought that ends as film on parts.

    Source: geometric series of what is sprayed again; terms as in ISO 8130-14.

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

    Source: mass of a layer, ``A t ρ``, over the share that stays on; the trade's coverage of 192.3 ft²/lb at 1 mil
    is its inverse.

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

    Source: definition of transfer efficiency, as weighed in ISO 8130-10.

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
