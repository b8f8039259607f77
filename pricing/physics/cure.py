"""Cure: what a minute at one metal temperature is worth at another.

Assumes  one overall rate by Arrhenius. Do not extrapolate outside the window of the powder's sheet.
"""

import numpy as np

from pricing.basis.checks import Floats

GAS_CONSTANT_J_PER_MOLK = 8.314462618  # exact since the SI of 2019
ZERO_DEGC_K = 273.15  # definition of the Celsius scale


def cure_rate(metal_degC: Floats, *, reference_degC: Floats, activation_kJ_per_mol: Floats) -> Floats:
    """Speed of the cure over its speed at a reference temperature.

    Source: Arrhenius' law; ``cure.activation_energy`` in ``data/facts.csv`` is what paired schedules of powder sheets
    imply.

    Parameters
    ----------
    metal_degC : float or array
        Metal temperature [°C].
    reference_degC : float or array
        Temperature of the powder's schedule [°C].
    activation_kJ_per_mol : float or array
        Activation energy [kJ/mol] (fact ``cure.activation_energy``).

    Returns
    -------
    float or array
        1 at the reference temperature.

    Examples
    --------
    >>> round(cure_rate(200.0, reference_degC=180.0, activation_kJ_per_mol=61.8), 2)
    2.0
    """
    metal_K, reference_K = metal_degC + ZERO_DEGC_K, reference_degC + ZERO_DEGC_K
    exponent = activation_kJ_per_mol * (1e3 / GAS_CONSTANT_J_PER_MOLK) * (1.0 / reference_K - 1.0 / metal_K)
    rate = np.exp(exponent)
    return float(rate) if np.ndim(rate) == 0 else rate
