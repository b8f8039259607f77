"""Read tables of outside cases and hold our functions to them.

A row names one of our functions (``model``), what it is given (JSON; texts carry their unit and are
read into the unit that the argument's name ends in), and the value printed outside with its unit,
tolerance and source.
"""

import csv
import json
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np

from pricing.basis.units import registry, turned

HERE = Path(__file__).parent
SUFFIXES = {
    "_um": "um",
    "_mm": "mm",
    "_m": "m",
    "_m2": "m**2",
    "_m3": "m**3",
    "_kg": "kg",
    "_g": "g",
    "_g_per_cm3": "g/cm**3",
    "_m2_per_kg": "m**2/kg",
    "_kg_per_m3": "kg/m**3",
    "_kg_per_m2": "kg/m**2",
    "_degC": "degC",
    "_K": "delta_degC",
    "_s": "s",
    "_min": "min",
    "_h": "h",
    "_kW": "kW",
    "_W": "W",
    "_kWh": "kWh",
    "_J_per_kgK": "J/kg/K",
    "_W_per_mK": "W/m/K",
    "_W_per_m2K": "W/m**2/K",
    "_W_per_m2": "W/m**2",
    "_m3_per_s": "m**3/s",
    "_m3_per_h": "m**3/h",
    "_m3_per_min": "m**3/min",
    "_MPa": "MPa",
    "_h_per_m": "h/m",
    "_kg_per_s": "kg/s",
    "_kg_per_h": "kg/h",
    "_Pa": "Pa",
    "_bar": "bar",
}

Models = dict[str, tuple[Callable[..., Any], str]]


def rows(name: str) -> list[dict[str, str]]:
    """Collect the rows of one table."""
    return list(csv.DictReader((HERE / name).read_text("utf-8").splitlines()))


def named(row: dict[str, str]) -> str:
    """Name a case in the test report."""
    return f"{row['id']}-{row['model']}"


def given(row: dict[str, str]) -> dict[str, Any]:
    """Describe the arguments of a row as plain numbers."""
    arguments = {}
    for name, value in json.loads(row["given"]).items():
        unit = next((SUFFIXES[s] for s in sorted(SUFFIXES, key=len, reverse=True) if name.endswith(s)), "")
        arguments[name] = _number(value, unit) if isinstance(value, str) and unit else value
    return arguments


def _number(text: str, unit: str) -> float:
    number, _, written = text.partition(" ")
    value = turned(float(Fraction(number)), written, unit)
    assert isinstance(value, float), value
    return value


def expected(row: dict[str, str], unit: str) -> tuple[float, float, float]:
    """Work out the printed value and the lowest and highest that are accepted, in our unit."""
    printed = float(row["expected"])
    kind, _, amount = row["tolerance"].partition(" ")
    if kind == "rel":
        half = abs(printed) * float(amount.rstrip("%")) / 100
    elif kind == "abs":
        half = float(amount)
    elif kind == "range":
        low, high = map(float, amount.split(".."))
        return tuple(_to(v, row["unit"], unit) for v in (printed, low, high))  # type: ignore[return-value]
    else:
        assert kind == "exact", row["tolerance"]
        half = 0.0
    return tuple(_to(v, row["unit"], unit) for v in (printed, printed - half, printed + half))  # type: ignore[return-value]


def _to(value: float, unit: str, target: str) -> float:
    ureg = registry()
    return float(ureg.Quantity(value, unit).to(target).magnitude)


def hold(row: dict[str, str], models: Models) -> None:
    """Compute our value and compare it with the printed one."""
    function, unit = models[row["model"]]
    ours = float(np.asarray(function(**given(row))))
    printed, low, high = expected(row, unit)
    slack = 1e-12 * max(1.0, abs(printed))
    assert low - slack <= ours <= high + slack, (
        f"{row['id']}: ours {ours:.6g} {unit}, printed {printed:.6g} ({row['tolerance']}): {row['source']}"
    )


def both_ways(row: dict[str, str], models: Models) -> None:
    """Return the same answer for a float and for arrays of the same number."""
    function, _ = models[row["model"]]
    arguments = given(row)
    numbers = {k: v for k, v in arguments.items() if isinstance(v, (int, float)) and not isinstance(v, bool)}
    arrays = {**arguments, **{k: np.full(3, float(v)) for k, v in numbers.items()}}
    np.testing.assert_allclose(function(**arrays), function(**arguments), rtol=1e-12)
