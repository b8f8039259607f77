"""Fit an oven of the shop to its own tests, and put the result into the shop."""

from dataclasses import dataclass, replace

from pricing.basis.errors import BadInput, not_known
from pricing.basis.facts import fact
from pricing.physics.fit_oven import CoolDown, HoldingTest, OvenFit, fit_oven
from pricing.shop.shop import Shop
from pricing.steps.oven_visit import oven_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Readings:
    """What the owner wrote down at the two tests.

    Parameters
    ----------
    held_min, took_kwh : float
        Metered time of the empty oven at its set point [min], and what burner (gross) or elements took [kWh].
    oven_degC, shop_degC : float
        Mean temperatures meanwhile. [°C]
    times_min, cooling_degC : tuple of float
        Log of the cool-down, door shut, heat and exhaust off. [min, °C]
    """

    held_min: float
    took_kwh: float
    oven_degC: float
    shop_degC: float
    times_min: tuple[float, ...]
    cooling_degC: tuple[float, ...]


def fit_shop_oven(shop: Shop, name: str, readings: Readings) -> OvenFit:
    """Fit wall and shell of one of the shop's ovens.

    Parameters
    ----------
    shop : Shop
        The owner's shop.
    name : str
        Name of the oven in ``shop.toml``.
    readings : Readings
        Of both tests.

    Raises
    ------
    BadInput
        There is no such oven, a reading is impossible, or the log shows no curve.
    """
    ovens = {oven.name: oven for oven in shop.machines.oven}
    if name not in ovens:
        raise BadInput("fit-oven", [not_known("OVEN", name, ovens)])
    place = oven_of(ovens[name], readings.oven_degC, readings.shop_degC)
    holding = HoldingTest(
        minutes_min=readings.held_min,
        heater_kWh=readings.took_kwh,
        oven_degC=readings.oven_degC,
        shop_degC=readings.shop_degC,
        heater_error_kWh=readings.took_kwh * fact("fit.meter_error"),
        oven_error_K=fact("fit.thermometer_error"),
        exhaust_error_share=fact("fit.exhaust_error"),
    )
    cooling = CoolDown(times_min=readings.times_min, oven_degC=readings.cooling_degC, shop_degC=readings.shop_degC)
    return fit_oven(place, holding, cooling)


def with_fit(shop: Shop, name: str, fit: OvenFit) -> Shop:
    """Return the shop with an oven's fitted factors; nothing is written.

    Parameters
    ----------
    shop : Shop
        The owner's shop.
    name : str
        Name of the oven.
    fit : OvenFit
        As `fit_shop_oven` gives it.
    """
    update = {"bridging": fit.bridging, "shell_kwh_per_K": fit.shell_kJ_per_K / 3600.0}
    ovens = tuple(o.model_copy(update=update) if o.name == name else o for o in shop.machines.oven)
    return replace(shop, machines=shop.machines.model_copy(update={"oven": ovens}))
