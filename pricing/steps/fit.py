"""Fit an oven of the shop to its own tests, and put the result into the shop."""

from dataclasses import replace

from pricing.basis.errors import BadInput, not_known
from pricing.basis.facts import fact
from pricing.physics.fit_oven import OvenFit, ReadingErrors, Readings, fit_oven
from pricing.shop.shop import Shop
from pricing.steps.oven_visit import oven_of


def fit_shop_oven(shop: Shop, name: str, readings: Readings) -> OvenFit:
    """Fit wall and shell of one of the shop's ovens.

    Raises
    ------
    BadInput
        There is no such oven, a reading is impossible, or the log shows no curve.
    """
    ovens = {oven.name: oven for oven in shop.machines.oven}
    if name not in ovens:
        raise BadInput("fit-oven", [not_known("OVEN", name, ovens)])
    place = oven_of(ovens[name], readings.oven_degC, readings.shop_degC)
    meter_kWh = readings.took_kwh * fact("fit.meter_error")
    errors = ReadingErrors(meter_kWh, fact("fit.thermometer_error"), fact("fit.exhaust_error"))
    return fit_oven(place, readings, errors)


def with_fit(shop: Shop, name: str, fit: OvenFit) -> Shop:
    """Return the shop with an oven's fitted factors; nothing is written."""
    update = {"bridging": fit.bridging, "shell_kwh_per_K": fit.shell_kJ_per_K / 3600.0}
    ovens = tuple(o.model_copy(update=update) if o.name == name else o for o in shop.machines.oven)
    return replace(shop, machines=shop.machines.model_copy(update={"oven": ovens}))
