"""Burner: what share of a fuel's heat stays in the oven.

Takes    flue temperatures and excess air, floats or arrays; a fuel and its products as records.
Gives    the available share on the gross basis that gas bills use.
Numbers  none in this file: rows ``methane.*``, ``propane.*``, ``co2.cp.c0`` ... ``n2.cp.c3``,
         ``water.latent`` and ``air.oxygen_share`` of ``data/facts.csv`` come in by name.
Assumes  complete combustion, no dissociation, fuel at the reference temperature.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from pricing.basis.checks import Floats
from pricing.basis.errors import BadInput, Problem

_REFERENCE_DEGC = 25.0  # heating values are defined at 25 °C
_Cubic = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fuel:
    """A hydrocarbon fuel and the flue gas it makes.

    Parameters
    ----------
    carbon, hydrogen : float
        Atoms in the molecule: methane has 1 and 4.
    gross_kJ_per_mol : float
        Gross (higher) calorific value at 25 °C [kJ/mol].
    latent_kJ_per_mol : float
        Heat of evaporation of water at 25 °C [kJ/mol].
    oxygen_share : float
        Share of oxygen in air by volume.
    heats : tuple of 4 tuples
        For CO₂, H₂O, O₂ and N₂ the coefficients of ``c0 + c1 T + c2 T² + c3 T³`` [J/(mol·K)],
        T in °C.
    """

    carbon: float
    hydrogen: float
    gross_kJ_per_mol: float
    latent_kJ_per_mol: float
    oxygen_share: float
    heats: tuple[_Cubic, _Cubic, _Cubic, _Cubic]


def fuel_of(name: str, numbers: Mapping[str, float]) -> Fuel:
    """Collect a fuel's numbers from the table of facts.

    Parameters
    ----------
    name : str
        Such as ``methane`` or ``propane``; natural gas burns much as methane does.
    numbers : mapping of str to float
        Facts by name, each in the unit of its row.
    """
    co2, h2o, o2, n2 = (
        (numbers[f"{gas}.cp.c0"], numbers[f"{gas}.cp.c1"], numbers[f"{gas}.cp.c2"], numbers[f"{gas}.cp.c3"])
        for gas in ("co2", "h2o", "o2", "n2")
    )
    return Fuel(
        carbon=numbers[f"{name}.carbon"],
        hydrogen=numbers[f"{name}.hydrogen"],
        gross_kJ_per_mol=numbers[f"{name}.gross"],
        latent_kJ_per_mol=numbers["water.latent"],
        oxygen_share=numbers["air.oxygen_share"],
        heats=(co2, h2o, o2, n2),
    )


def available_share(fuel: Fuel, flue_degC: Floats, *, excess_air: Floats, air_degC: Floats) -> Floats:
    """Share of the gross heat that is left in the oven when the flue gas has gone.

    Source: heat balance of a flue gas, any handbook of industrial furnaces; heats of gases ``*.cp.c0`` to ``c3``
    (heat_library).

    Parameters
    ----------
    fuel : Fuel
        The fuel.
    flue_degC : float or array
        Temperature at which the flue gas leaves: the oven's own in a direct-fired oven [°C].
    excess_air : float or array
        Air beyond what burns the fuel, as a share: 0.1 is 10 %.
    air_degC : float or array
        Temperature of the combustion air [°C]; charts take 60 °F.

    Returns
    -------
    float or array
        Above 0 and below 1.

    Raises
    ------
    BadInput
        Nothing is left.

    Notes
    -----
    ``η = 1 - (latent + Σ n Δh(T_flue) - Σ n Δh(T_air)) / HHV``, all from 25 °C. In a direct-fired
    oven the products leave with the exhaust: then do not count their heat in the exhaust again.
    """
    oxygen = fuel.carbon + 0.25 * fuel.hydrogen
    air_share = (1.0 - fuel.oxygen_share) / fuel.oxygen_share
    moles = (fuel.carbon, 0.5 * fuel.hydrogen, oxygen * excess_air, oxygen * air_share * (1.0 + excess_air))
    flue_J = sum(n * _heat_J_per_mol(c, flue_degC) for n, c in zip(moles, fuel.heats, strict=True))
    supplied = oxygen * (1.0 + excess_air)
    air_J = supplied * (_heat_J_per_mol(fuel.heats[2], air_degC) + air_share * _heat_J_per_mol(fuel.heats[3], air_degC))
    lost_J = 500.0 * fuel.hydrogen * fuel.latent_kJ_per_mol + flue_J - air_J
    share = 1.0 - lost_J / (1e3 * fuel.gross_kJ_per_mol)
    if np.any(np.asarray(share) <= 0):
        worst = float(np.max(np.asarray(flue_degC)))
        raise BadInput("burner", [Problem("flue_degC", worst, "below the flame's own temperature")])
    return share


def _heat_J_per_mol(cubic: _Cubic, gas_degC: Floats) -> Floats:
    def content(t: Floats) -> Floats:
        c0, c1, c2, c3 = cubic
        return t * (c0 + t * (c1 / 2.0 + t * (c2 / 3.0 + t * c3 / 4.0)))

    return content(gas_degC) - content(_REFERENCE_DEGC)
