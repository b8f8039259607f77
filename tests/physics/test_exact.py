"""Ovens and loads simple enough to be solved exactly: no radiation, one specific heat, so all balances are linear.

The solution of ``y' = A y + b`` is the exponential of a matrix (any textbook of differential equations), here
scipy's; what a visit takes then follows term by term. Nothing of it is stepped, so it holds to many digits.
"""

from dataclasses import asdict, fields, replace

import numpy as np
import numpy.typing as npt
import pytest
from ovens import ALUMINIUM, COATED, ELECTRIC_OVEN, GAS_OVEN, NUMBERS, STEEL
from scipy.integrate import quad, solve_ivp
from scipy.linalg import expm
from scipy.optimize import brentq

from pricing.basis.checks import Floats
from pricing.physics.firing import Firing, _mean_heat, at_full_power
from pricing.physics.heating import Exchange, heat_up_min
from pricing.physics.metals import Metal, heat_J_per_kg
from pricing.physics.oven import OvenModel
from pricing.physics.visit import Cure, OvenLoad, visit

# conducts so well that its middle is as hot as its skin
PLAIN = Metal(density_kg_per_m3=7850.0, conductivity_W_per_mK=1e9, emissivity=0.5, c0=500.0, to_degC=1000.0)
AIR_ONLY = Exchange(air_W_per_m2K=20.0, emissivity=0.0)
BEFORE_SET = Firing(
    power_W=30e3,
    loss_W_per_K=60.0,
    store_J_per_K=250e3,
    shop_degC=18.0,
    start_degC=40.0,
    set_degC=200.0,
    load_degC=18.0,
    metal=PLAIN,
    exchange=AIR_ONLY,
    mass_kg=80.0,
    area_m2=8.0,
    section_m=0.004,
    metal_degC=190.0,
    dwell_min=10.0,
)


class Linear:
    """Oven, load, section and the integral of the oven's temperature, after any time at full power."""

    def __init__(self, f: Firing) -> None:
        give = f.exchange.air_W_per_m2K * f.area_m2
        load = give / (f.mass_kg * f.metal.c0)
        section = f.exchange.air_W_per_m2K / (f.metal.density_kg_per_m3 * f.metal.c0 * f.section_m)
        self.matrix = np.zeros((5, 5))
        self.matrix[0] = (
            np.array([-f.loss_W_per_K - give, give, 0, 0, f.power_W + f.loss_W_per_K * f.shop_degC]) / f.store_J_per_K
        )
        self.matrix[1, :2] = load, -load
        self.matrix[2, [0, 2]] = section, -section
        self.matrix[3, 0] = 1.0
        self.begin = np.array([f.start_degC, f.load_degC, f.load_degC, 0.0, 1.0])

    def at(self, seconds: Floats) -> npt.NDArray[np.float64]:
        return np.asarray(expm(self.matrix * seconds) @ self.begin)[:4]

    def when(self, which: int, degC: Floats, after: float = 0.0) -> float:
        return float(brentq(lambda s: self.at(s)[which] - degC, after, 2e4, xtol=1e-8))


@pytest.mark.parametrize(
    ("changes", "ends"),
    [
        ({}, "at set"),
        ({"start_degC": 18.0, "loss_W_per_K": 150.0}, "at set"),
        ({"metal_degC": 60.0, "dwell_min": 1.0}, "held"),
        ({"metal_degC": 60.0, "dwell_min": 1000.0}, "at set"),
        ({"start_degC": 204.0, "power_W": 16e3, "mass_kg": 300.0}, "dipped"),
        ({"start_degC": 205.0, "power_W": 60e3}, "at once"),
        ({"section_m": 0.012, "load_degC": 90.0}, "at set"),
    ],
)
def test_full_power_is_the_exponential_of_the_matrix(changes: dict[str, float], ends: str) -> None:
    firing = replace(BEFORE_SET, **changes)  # type: ignore[arg-type]
    exact, ours = Linear(firing), at_full_power(firing)
    lowest = 0.0
    if ends == "dipped":
        lowest = min(np.arange(0.0, 2000.0, 40.0), key=lambda s: exact.at(s)[0])
        assert exact.at(lowest)[0] < firing.set_degC
    reached = exact.when(2, firing.metal_degC)
    seconds = {
        "at set": lambda: exact.when(0, firing.set_degC),
        "dipped": lambda: exact.when(0, firing.set_degC, lowest),
        "held": lambda: reached + 60 * firing.dwell_min,
        "at once": lambda: 0.0,
    }[ends]()
    assert ours.seconds == pytest.approx(seconds, rel=1e-6, abs=1e-9)
    oven, load, section, area = exact.at(seconds)
    assert ours.oven_degC == pytest.approx(oven, abs=1.1e-3)
    assert (ours.load_degC, ours.section_degC) == pytest.approx((load, section), abs=2e-3)
    assert ours.oven_Ks == pytest.approx(area, rel=1e-6, abs=1e-9)
    assert ours.reached_s == pytest.approx(reached if reached <= seconds else np.inf, rel=1e-6)


ORDINARY = replace(BEFORE_SET, metal=STEEL, exchange=COATED, metal_degC=150.0)


@pytest.mark.parametrize(
    "firing",
    [
        ORDINARY,
        replace(ORDINARY, metal=ALUMINIUM, mass_kg=30.0),
        replace(ORDINARY, power_W=20e3, mass_kg=200.0, area_m2=12.0),
        replace(ORDINARY, start_degC=150.0, section_m=0.001, metal_degC=190.0),
        replace(ORDINARY, start_degC=205.0, mass_kg=200.0),  # dips below its set point first
        replace(ORDINARY, metal_degC=100.0, dwell_min=3.0),  # over before the set point
    ],
)
def test_with_radiation_and_a_heat_that_rises_it_is_within_a_seventh_of_a_per_cent(firing: Firing) -> None:
    """An adaptive solver of the same balances, far tighter than needed."""
    f, metal, ex = firing, firing.metal, firing.exchange

    def gain(air: float, level: float) -> float:
        radiant = 5.670374419e-8 * ex.emissivity * ((air + 273.15) ** 4 - (level + 273.15) ** 4)
        return float(ex.air_W_per_m2K * (air - level) + radiant)

    def rates(_s: float, y: npt.NDArray[np.float64]) -> list[float]:
        oven, load, section, _ = y
        to_load, loss = f.area_m2 * gain(oven, load), f.loss_W_per_K * (oven - f.shop_degC)
        heat, other = (float(metal.c0 + t * (metal.c1 + t * (metal.c2 + t * metal.c3))) for t in (load, section))
        own = gain(oven, section) / (metal.density_kg_per_m3 * f.section_m * other)
        return [(f.power_W - loss - to_load) / f.store_J_per_K, to_load / (f.mass_kg * heat), own, oven]

    def at_set(_s: float, y: npt.NDArray[np.float64]) -> float:
        return float(y[0] - f.set_degC)

    def hot(_s: float, y: npt.NDArray[np.float64]) -> float:
        return float(y[2] - f.metal_degC)

    at_set.terminal, at_set.direction = True, 1  # type: ignore[attr-defined]
    begin = [f.start_degC, f.load_degC, f.load_degC, 0.0]
    solved = solve_ivp(rates, [0, 1e5], begin, "LSODA", dense_output=True, events=[at_set, hot], rtol=1e-9, atol=1e-7)
    reached = next(iter(solved.t_events[1]), np.inf)
    end = min(solved.t[-1], reached + 60 * f.dwell_min)
    ours = at_full_power(f)
    _oven, load, section, area = solved.sol(end)
    assert (ours.seconds, ours.oven_Ks) == pytest.approx((end, area), rel=1.4e-3)
    assert (ours.load_degC, ours.section_degC) == pytest.approx((load, section), abs=0.2)
    assert ours.reached_s == pytest.approx(reached, rel=2e-3)


WITH_RACKS = OvenLoad(
    mass_kg=80.0, area_m2=8.0, section_m=0.004, metal=PLAIN, exchange=AIR_ONLY, rack_kg=30.0, rack_metal=PLAIN
)
EVERY_DAY = Cure(metal_degC=190.0, dwell_min=12.0, oven_degC=200.0)


@pytest.mark.parametrize("oven", [GAS_OVEN, ELECTRIC_OVEN], ids=["gas", "electric"])
@pytest.mark.parametrize(
    ("cure", "shell_degC"),
    [
        (EVERY_DAY, 70.0),
        (Cure(metal_degC=90.0, dwell_min=12.0, oven_degC=200.0), 18.0),  # at temperature before the oven is at its own
        (Cure(metal_degC=60.0, dwell_min=0.5, oven_degC=200.0), 18.0),  # and over before
        (Cure(metal_degC=180.0, dwell_min=3.0, oven_degC=185.0), 185.0),
    ],
)
def test_every_term_of_a_visit(oven: OvenModel, cure: Cure, shell_degC: float) -> None:
    shop, load = 18.0, WITH_RACKS
    to, hot, dwell_s = float(cure.oven_degC), float(cure.metal_degC), 60 * float(cure.dwell_min)
    wall, exhaust = (float(loss) for loss in oven.loss_W_per_K(to, shop))
    fan_W = 1000 * float(oven.fan_kW) * float(oven.fan_heat_share)
    shell, racks = 1000 * float(oven.shell_kJ_per_K), 30.0 * 500.0
    firing = replace(
        BEFORE_SET,
        power_W=1000 * float(oven.heater_kW) * float(oven.available_share) + fan_W,
        loss_W_per_K=wall + exhaust,
        store_J_per_K=shell + racks,
        start_degC=(shell * shell_degC + racks * shop) / (shell + racks),
    )
    exact = Linear(firing)
    at_set, reached = exact.when(0, to), exact.when(2, hot)
    full = min(at_set, reached + dwell_s)
    air, hung, section, area = exact.at(full)
    lag = 7850 * 500 * 0.004 / 20
    rest = lag * np.log((to - section) / (to - hot))
    bring_up = reached if reached <= full else full + rest
    end = bring_up + dwell_s
    hung = to - (to - hung) * np.exp(-(end - full) * 20 * 8.0 / (80.0 * 500))
    over = area + air * (end - full) - shop * end  # K s
    joules = {
        "load_kWh": 80 * 500 * (hung - shop),
        "racks_kWh": racks * (air - shop),
        "shell_kWh": shell * (air - shell_degC),
        "wall_kWh": wall * over,
        "exhaust_kWh": exhaust * over,
        "door_kWh": 0.0,
    }
    heater = sum(joules.values()) - fan_W * end
    joules |= {"fan_kWh": fan_W * end, "heater_kWh": heater}
    wanted = {name: joule / 3.6e6 for name, joule in joules.items()}
    wanted |= {"bring_up_min": bring_up / 60, "full_power_min": full / 60}
    wanted |= {"oven_degC": air, "load_degC": hung}
    found = visit(oven, load, cure, shop_degC=shop, shell_degC=shell_degC)
    assert asdict(found) == pytest.approx(wanted, rel=2e-5, abs=1e-9)


@pytest.mark.parametrize("minutes", [0.0, 0.02, 0.3, 600.0])
def test_an_open_door_takes_the_air_the_shell_s_heat_and_no_more_than_that(minutes: float) -> None:
    """Orifice flow until the oven's own air is out; the opening all along; the shell's heat at most."""
    shop, shell_degC, seconds = 18.0, 170.0, 60 * minutes
    light, heavy = (101325 / (287.05 * (t + 273.15)) for t in (shell_degC, shop))
    neutral = (1 + (heavy / light) ** (1 / 3)) ** 1.5
    discharge, film = NUMBERS["door.discharge"], NUMBERS["door.film"]
    flow = 2 / 3 * discharge * 1.5 * 2.0**1.5 * (2 * 9.80665 * heavy * (heavy - light)) ** 0.5 / neutral
    air = [NUMBERS[f"air.cp.c{i}"] for i in range(3)]
    per_kg = sum(c * (shell_degC**n - shop**n) / n for n, c in enumerate(air, 1))
    out = min(flow * seconds, 9.0 * light) * per_kg
    joules = min(out + film * 3.0 * (shell_degC - shop) * seconds, 200e3 * (shell_degC - shop))
    found = visit(GAS_OVEN, WITH_RACKS, EVERY_DAY, shop_degC=shop, shell_degC=shell_degC, door_min=minutes)
    assert found.door_kWh == pytest.approx(joules / 3.6e6, rel=2e-5)
    shut = visit(GAS_OVEN, WITH_RACKS, EVERY_DAY, shop_degC=shop, shell_degC=shell_degC)
    assert found.shell_kWh == pytest.approx(shut.shell_kWh)  # from where it was to where it ends; the door stands apart
    assert found.heater_kWh >= shut.heater_kWh


CUBIC = replace(PLAIN, c0=425.0, c1=0.773, c2=-1.69e-3, c3=2.22e-6)  # steel of EN 1993-1-2


@pytest.mark.parametrize("exchange", [AIR_ONLY, Exchange(air_W_per_m2K=12.0, emissivity=0.85)])
@pytest.mark.parametrize("section_m", [0.001, 0.01])
def test_a_section_takes_the_integral_of_its_balance(exchange: Exchange, section_m: float) -> None:
    """``dt = ρ L c(T) dT / (h (Ta - T) + ε σ (Ta⁴ - T⁴))``, by an integrator."""

    def slow(t: float) -> float:
        heat = 425.0 + 0.773 * t - 1.69e-3 * t**2 + 2.22e-6 * t**3
        film = float(exchange.air_W_per_m2K)
        radiant = float(exchange.emissivity) * 5.670374419e-8 * (473.15**4 - (t + 273.15) ** 4)
        return 7850 * section_m * heat / (film * (200 - t) + radiant) / 60

    ours = heat_up_min(CUBIC, section_m, from_degC=15.0, to_degC=190.0, air_degC=200.0, exchange=exchange)
    assert ours == pytest.approx(quad(slow, 15.0, 190.0, epsrel=1e-10)[0], rel=2e-5)


@pytest.mark.parametrize(("a", "b"), [(18.0, 200.0), (200.0, 18.0), (150.0, 151.0)])
def test_the_mean_heat_of_a_step_is_the_integral_over_its_width(a: float, b: float) -> None:
    """Worked out without the division, which loses its digits in a short step."""
    assert _mean_heat(CUBIC, a, b) == pytest.approx(heat_J_per_kg(CUBIC, a, b) / (b - a), rel=1e-12)
    degrees = np.linspace(a, b, 10001)
    cubic = np.polynomial.Polynomial([425.0, 0.773, -1.69e-3, 2.22e-6])
    assert _mean_heat(CUBIC, a, b) == pytest.approx(np.trapezoid(cubic(degrees), degrees) / (b - a), rel=1e-8)


@pytest.mark.parametrize("name", [field.name for field in fields(Firing)])
def test_any_one_number_of_a_firing_may_be_an_array(name: str) -> None:
    """Each row is then what the row by itself gives."""
    value = getattr(ORDINARY, name)
    if isinstance(value, float):
        cases = [({name: np.array([value, 1.01 * value])}, [{name: value}, {name: 1.01 * value}])]
    else:
        parts = {field.name: getattr(value, field.name) for field in fields(value)}
        cases = [
            (
                {name: replace(value, **{part: np.array([number, 1.01 * number])})},
                [{name: value}, {name: replace(value, **{part: 1.01 * number})}],
            )
            for part, number in parts.items()
            if part not in {"to_degC", "conductivity_W_per_mK"}
        ]
    for together, alone in cases:
        both = at_full_power(replace(ORDINARY, **together))
        each = [at_full_power(replace(ORDINARY, **change)) for change in alone]
        for column, rows in zip(both, zip(*each, strict=True), strict=True):
            assert np.broadcast_to(column, 2) == pytest.approx(rows, rel=1e-9)
