"""Air and flue gas against reference libraries."""

from dataclasses import replace

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from ovens import AIR, METHANE

from pricing.basis.errors import BadInput
from pricing.physics import air, burner, metals

T = np.linspace(0, 300, 31)


def reference(what: str, fluid: str, degC: np.ndarray, p: float = 101325.0) -> np.ndarray:
    return np.asarray(PropsSI(what, "T", degC + 273.15, "P", p, fluid))


def test_air_agrees_with_coolprop() -> None:
    heat = reference("H", "Air", T) - PropsSI("H", "T", 293.15, "P", 101325, "Air")
    np.testing.assert_allclose(air.air_heat_J_per_kg(AIR, 20.0, T), heat, rtol=1e-3, atol=50)
    np.testing.assert_allclose(air.air_density_kg_per_m3(AIR, T), reference("D", "Air", T), rtol=1e-3)


@pytest.mark.parametrize("gas", ["CarbonDioxide", "Nitrogen", "Oxygen"])
def test_flue_gas_heat_agrees_with_coolprop(gas: str) -> None:
    cubic = METHANE.heats[{"CarbonDioxide": 0, "Oxygen": 2, "Nitrogen": 3}[gas]]
    hot = np.linspace(50, 900, 18)
    c = metals.Metal(
        density_kg_per_m3=1,
        conductivity_W_per_mK=1,
        emissivity=0,
        c0=cubic[0],
        c1=cubic[1],
        c2=cubic[2],
        c3=cubic[3],
        to_degC=1000,
    )
    ours = metals.heat_J_per_kg(c, 25.0, hot)  # J/mol here: the same closed integral
    np.testing.assert_allclose(
        ours, reference("HMOLAR", gas, hot, 1e3) - PropsSI("HMOLAR", "T", 298.15, "P", 1e3, gas), rtol=4e-3
    )


def test_door_flow_agrees_with_integration_up_the_door() -> None:
    ours = air.door_kg_per_s(AIR, width_m=1.5, height_m=2.0, inside_degC=200.0, outside_degC=20.0, discharge=0.65)
    inside, outside = (float(air.air_density_kg_per_m3(AIR, t)) for t in (200.0, 20.0))
    plane = 2.0 / (1.0 + (outside / inside) ** (1 / 3))  # where as much flows in as out

    def mass(top: float, density: float) -> float:
        z = np.linspace(0, top, 200_001)
        speed = np.sqrt(2 * 9.80665 * z * (outside - inside) / density)
        return 0.65 * 1.5 * density * float(np.trapezoid(speed, z))

    assert ours == pytest.approx(mass(plane, outside), rel=1e-5)
    assert ours == pytest.approx(mass(2.0 - plane, inside), rel=1e-5)


def test_higher_ground_carries_less_air() -> None:
    up = replace(AIR, pressure_Pa=90e3)
    here, there = (air.fresh_air_kg_per_s(a, 100.0, at_degC=20.0) for a in (AIR, up))
    assert there / here == pytest.approx(90e3 / 101325)


def test_available_heat_falls_with_flue_and_excess_air() -> None:
    flue = np.linspace(20, 900, 23)
    share = burner.available_share(METHANE, flue, excess_air=0.1, air_degC=20.0)
    assert (np.diff(share) < 0).all()
    assert (burner.available_share(METHANE, flue[5:], excess_air=0.5, air_degC=20.0) < share[5:]).all()


def test_a_flue_hotter_than_the_flame_is_refused() -> None:
    with pytest.raises(BadInput, match=r"flue_degC is 2500\.0; it must be below the flame's own temperature"):
        burner.available_share(METHANE, 2500.0, excess_air=0.1, air_degC=20.0)


def test_excess_air_that_comes_in_as_hot_as_the_flue_costs_nothing() -> None:
    """A balance: it carries in what it carries out."""
    for flue in (200.0, 400.0):
        bare, more = (burner.available_share(METHANE, flue, excess_air=x, air_degC=flue) for x in (0.0, 0.5))
        assert more == pytest.approx(bare, rel=1e-12)


def test_available_heat_is_the_balance_of_one_mole_of_methane() -> None:
    """By hand: CH4 + 2 O2 makes CO2 + 2 H2O; heats above 25 degC from numpy's integral of each specific heat."""
    flue, incoming, excess = 260.0, 60.0, 0.3
    cp = [np.polynomial.Polynomial(c).integ() for c in METHANE.heats]
    co2, h2o, o2, n2 = (lambda t, p=p: p(t) - p(25.0) for p in cp)
    nitrogen = (1 - METHANE.oxygen_share) / METHANE.oxygen_share
    out = co2(flue) + 2 * h2o(flue) + 2 * excess * o2(flue) + 2 * (1 + excess) * nitrogen * n2(flue)
    come = 2 * (1 + excess) * (o2(incoming) + nitrogen * n2(incoming))
    lost = 2 * 1e3 * METHANE.latent_kJ_per_mol + out - come
    share = burner.available_share(METHANE, flue, excess_air=excess, air_degC=incoming)
    assert share == pytest.approx(1 - lost / (1e3 * METHANE.gross_kJ_per_mol), rel=1e-9)
