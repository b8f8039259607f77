"""Cure: time at metal temperature, and what other temperatures are worth.

Takes    minutes and metal temperatures, floats or arrays; the activation energy as an argument.
Gives    equivalent dwells, and the heat that a part has seen in all its visits.
Assumes  one overall rate by Arrhenius. Do not extrapolate outside the window of the powder's sheet.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from pricing.basis.checks import Floats, nonneg, positive
from pricing.basis.errors import BadInput, Problem

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

    Raises
    ------
    BadInput
        The activation energy is not above 0, or a temperature not above absolute zero.

    Examples
    --------
    >>> round(cure_rate(200.0, reference_degC=180.0, activation_kJ_per_mol=61.8), 2)
    2.0
    """
    positive("cure rate", activation_kJ_per_mol=activation_kJ_per_mol)
    metal_K, reference_K = metal_degC + ZERO_DEGC_K, reference_degC + ZERO_DEGC_K
    positive("cure rate", metal_K=metal_K, reference_K=reference_K)
    exponent = activation_kJ_per_mol * (1e3 / GAS_CONSTANT_J_PER_MOLK) * (1.0 / reference_K - 1.0 / metal_K)
    rate = np.exp(exponent)
    return float(rate) if np.ndim(rate) == 0 else rate


def activation_kJ_per_mol(
    dwell_min: Floats, schedule_degC: Floats, *, other_dwell_min: Floats, other_degC: Floats
) -> Floats:
    """Activation energy that two schedules on one powder sheet imply.

    Source: Arrhenius' law solved for two schedules.

    Parameters
    ----------
    dwell_min, other_dwell_min : float or array
        Dwells of the two schedules [min].
    schedule_degC, other_degC : float or array
        Their metal temperatures [°C].

    Returns
    -------
    float or array
        Activation energy [kJ/mol].

    Raises
    ------
    BadInput
        A dwell is not above 0, or the hotter schedule is not the shorter one.

    Examples
    --------
    >>> round(activation_kJ_per_mol(10.0, 200.0, other_dwell_min=20.0, other_degC=180.0), 1)
    61.8
    """
    positive("cure schedules", dwell_min=dwell_min, other_dwell_min=other_dwell_min)
    inverse = 1.0 / (other_degC + ZERO_DEGC_K) - 1.0 / (schedule_degC + ZERO_DEGC_K)
    with np.errstate(divide="ignore", invalid="ignore"):
        energy = 1e-3 * GAS_CONSTANT_J_PER_MOLK * np.log(np.divide(other_dwell_min, dwell_min)) / np.asarray(inverse)
    if not np.all(energy > 0):
        worst = float(np.min(np.nan_to_num(energy, nan=0.0)))
        mend = "Of two schedules the hotter one must be the shorter one."
        raise BadInput("cure schedules", [Problem("activation_kJ_per_mol", worst, "above 0", mend)])
    return float(energy) if np.ndim(energy) == 0 else energy


@dataclass(frozen=True, slots=True, kw_only=True)
class Heat:
    """One time in the oven, as the metal lived it: outgas bake, partial cure, full cure, dry-off.

    Parameters
    ----------
    metal_degC : float or array
        Temperature of the metal meanwhile [°C]; the oven's set point is the careful choice.
    dwell_min : float or array
        Time at it [min].
    on_the_way_min : float or array
        What the bring-up was worth at that temperature [min].
    """

    metal_degC: Floats
    dwell_min: Floats
    on_the_way_min: Floats = 0.0

    def __post_init__(self) -> None:
        nonneg("heat of a part", dwell_min=self.dwell_min, on_the_way_min=self.on_the_way_min)


class History(NamedTuple):
    """All heat that a part has seen; a count of cycles and no word on its strength."""

    cycles: int
    hottest_degC: Floats
    worth_min: Floats  # at the reference temperature


def heat_history(
    heats: Sequence[Heat], *, schedule_degC: Floats, schedule_min: Floats, activation_kJ_per_mol: Floats
) -> History:
    """Add up the heats of one part across its visits to the oven.

    Source: additivity of cure at unlike temperatures, by Arrhenius' law as in `cure_rate`.

    Parameters
    ----------
    heats : sequence of Heat
        Every visit since the film in question was sprayed, or since the part was bare.
    schedule_degC, schedule_min : float or array
        The powder's schedule: metal temperature [°C] and dwell [min].
    activation_kJ_per_mol : float or array
        Activation energy [kJ/mol].

    Returns
    -------
    History
        Cycles, hottest temperature, and what all minutes are worth.

    Raises
    ------
    BadInput
        No heat is given, the schedule's dwell is not above 0, or as in `cure_rate`.

    Notes
    -----
    Colour and gloss of the first coat of a two-tone see every later cure. How much a heat-treated
    aluminium part may see is its maker's answer: count the cycles and ask.

    Examples
    --------
    >>> partial, full = Heat(metal_degC=190.0, dwell_min=5.0), Heat(metal_degC=190.0, dwell_min=10.0)
    >>> both = heat_history([partial, full], schedule_degC=190.0, schedule_min=10.0, activation_kJ_per_mol=62.0)
    >>> both.cycles, both.worth_min
    (2, 15.0)
    """
    if not heats:
        raise BadInput("heat history", [Problem("heats", [], "at least one heat")])
    positive("heat history", schedule_min=schedule_min)
    hottest, worth = heats[0].metal_degC, 0.0 * heats[0].dwell_min
    for heat in heats:
        rate = cure_rate(heat.metal_degC, reference_degC=schedule_degC, activation_kJ_per_mol=activation_kJ_per_mol)
        hottest = np.maximum(hottest, heat.metal_degC)
        worth = worth + (heat.dwell_min + heat.on_the_way_min) * rate
    top = float(hottest) if np.ndim(hottest) == 0 else hottest
    return History(len(heats), top, worth)
