"""What a quote expects of oven and powder, kept with it, so that loads and weighings can be held against it."""

from collections.abc import Iterable, Mapping
from typing import Any

from pricing.costing.sheet import CostSheet
from pricing.costing.visits import oven_visits

LoggedFact = Mapping[str, Any]
"""A row of the ledger."""
_STEPS = {"outgas": "outgas", "partial": "partial_cure", "full": "full_cure"}


def expected_of(sheet: CostSheet) -> dict[str, Any]:
    """Describe what a quote expects of oven and powder, at factors of 1, to hold loads and weighings against.

    Returns
    -------
    dict
        ``oven``: for each visit its step, oven, metal temperature [°C], bring-up and dwell [min] and the heat that a
        whole load is billed for [kWh]; ``powder``: by name the area sprayed [m²] and the colour changes.
    """
    book = sheet.book
    ovens = [
        {
            "step": visit.step,
            "oven": visit.oven,
            "metal_degC": visit.metal_degC,
            "dwell_min": visit.dwell_min,
            "bring_up_min": visit.bring_up_min / float(book["oven.bring_up_factor"]),
            "kwh": (visit.gas_kwh or visit.electricity_kwh - visit.heat_kwh.get("fan", 0.0))
            / float(book["oven.energy_factor"])
            / visit.loads_paid,
        }
        for visit in oven_visits(sheet)
        if visit.loads_paid > 0
    ]
    powders: dict[str, dict[str, float]] = {}
    for line in sheet.lines:
        for use in line.uses if line.step in {"coat", "colour_change"} else ():
            for material in use.materials:
                mine = powders.setdefault(material.name, {"area_m2": 0.0, "changes": 0.0})
                mine["area_m2"] += float(use.detail.get("area_m2", 0.0))
                mine["changes"] += float(line.step == "colour_change")
    return {"oven": ovens, "powder": powders}


def expected_of_jobs(quotes: Iterable[LoggedFact]) -> dict[str, LoggedFact]:
    """Collect what the newest quote of each job expected of oven and powder, from rows of ``quotes`` that stand."""
    return {row["job"]: row["sheet"].get("expected") or {} for row in quotes}


def visit_of_load(load: LoggedFact, expected: Mapping[str, LoggedFact]) -> LoggedFact | None:
    """Return what `expected_of_jobs` tells of the visit that a load made; None where no quote says."""
    visits = expected.get(load["job"], {}).get("oven", ())
    step = _STEPS.get(load["cure"])
    return next((visit for visit in visits if visit["step"] == step), None)
