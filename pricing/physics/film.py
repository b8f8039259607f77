"""Powder film: what a coat weighs, what it covers and how much powder it takes.

Takes    film thickness, powder density and areas as plain floats or arrays (numpy rules).
Gives    masses and coverages; what a kilogram costs is the business of costing.
Numbers  none in this file: densities and transfer shares come in from ``data/facts.csv``.
Assumes  the cured film is as dense as the powder's particles: no shrink term.
"""

import numpy as np

from pricing.basis.checks import Floats, is_symbol, nonneg, positive
from pricing.basis.errors import BadInput, Problem


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
    positive("powder", utilisation=utilisation)
    above = False if is_symbol(utilisation) else utilisation > 1.0
    if above if isinstance(above, bool) else above.any():
        most = float(np.max(np.asarray(utilisation)))
        raise BadInput("powder", [Problem("utilisation", most, "at most 1", "Write 60 % as 0.60.")])
    return area_m2 * film_um * density_g_per_cm3 * 1e-3 / utilisation
