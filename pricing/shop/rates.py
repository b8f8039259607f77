"""The rate book: every uncertain number of the trade with its three points and its source.

``rates.csv`` holds time equations, one row per step, driver and what it gives: ``hands``
(attended minutes), ``machine`` (minutes a machine is held while nobody works) or ``supplies``
(money for consumables). ``assumptions.csv`` holds the rest under plain names.

Three points are a beta-PERT (mean (low + 4 likely + high)/6), or a log-normal when the row was
measured (low and high then are the 5th and 95th percentile, likely the median).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from math import exp, log
from pathlib import Path
from typing import Literal

from pricing.basis.errors import Problem, gathered, nearest, not_known
from pricing.basis.facts import FactKind, Source
from pricing.basis.files import read_table
from pricing.basis.tongue import LARGEST, Range, Tongue, Wrong
from pricing.basis.typed import problem, read, read_cell
from pricing.basis.units import COUNT_UNITS

RATE_COLUMNS = ("step", "driver", "gives", "low", "likely", "high", "unit", "source", "where", "read_on", "note")
ASSUMPTION_COLUMNS = ("name", "low", "likely", "high", "unit", "source", "where", "read_on", "note")
OPTIONAL = ("shape", "doubt")
GIVES = ("hands", "machine", "supplies")
DRIVERS: dict[str, str] = dict.fromkeys(COUNT_UNITS[:10], "") | {
    "m2": "m**2",
    "edge_m": "m",
    "repair_m": "m",
    "line_m": "m",
    "tape_m": "m",
    "kg": "kg",
}
"""What drives a step, with the unit it is counted in; counts are counted in themselves."""

Z95 = 1.6448536269514722  # 95th percentile of the standard normal
_Shape = Literal["pert", "lognormal"]
_SHAPES: dict[str, _Shape] = {"pert": "pert", "lognormal": "lognormal"}


@dataclass(frozen=True, slots=True)
class Assumption:
    """One uncertain number: three points, unit, and where it comes from.

    A rate from the log is a log-normal whose points say how jobs differ; ``doubt`` then is the geometric standard
    deviation of its mean, above 1.
    """

    key: str
    low: float
    likely: float
    high: float
    unit: str
    source: Source
    where: str
    read_on: str
    note: str
    shape: _Shape = "pert"
    doubt: float = 1.0

    @property
    def mean(self) -> float:
        """Mean of the three points; the point quote is built on means, not on good days."""
        if self.shape == "lognormal":
            return self.likely * exp(self.log_sd**2 / 2)
        return (self.low + 4 * self.likely + self.high) / 6

    @property
    def log_sd(self) -> float:
        """Standard deviation on the log scale, for a log-normal."""
        return log(self.high / self.low) / (2 * Z95)

    @property
    def kind(self) -> FactKind:
        """How well it is known."""
        return self.source.kind


def read_rates(
    path: Path, sources: Mapping[str, Source], steps: Mapping[str, Sequence[str]], tongue: Tongue
) -> dict[str, Assumption]:
    """Read ``rates.csv`` by ``step.driver.gives``: minutes and money per driver unit of the model.

    ``steps`` are those that exist, with the drivers each may have.

    Raises
    ------
    BadInput
        With every bad row of the table.
    """
    found: dict[str, Assumption] = {}
    with gathered(path) as bad:
        for row in read_table(path, RATE_COLUMNS, optional=OPTIONAL):
            step, driver, gives = key = (row["step"], row["driver"], row["gives"])
            words = (("step", steps), ("driver", steps.get(step, DRIVERS)), ("gives", GIVES))
            wrong = [not_known(f"line {row['#']}: {f}", row[f], w) for f, w in words if row[f] not in w]
            bad.extend(wrong)
            if not wrong:
                unit = f"{'money' if gives == 'supplies' else 'min'}/{DRIVERS[driver] or driver}"
                _add(found, bad, ".".join(key), unit, row, sources, tongue)
    return found


def read_assumptions(path: Path, sources: Mapping[str, Source], tongue: Tongue) -> dict[str, Assumption]:
    """Read ``assumptions.csv`` by name, each in the unit of `ASSUMED` for that name.

    Raises
    ------
    BadInput
        With every bad row, and every name that is missing or not known.
    """
    found: dict[str, Assumption] = {}
    with gathered(path) as bad:
        for row in read_table(path, ASSUMPTION_COLUMNS, optional=OPTIONAL):
            name = row["name"]
            by_class = "share" if name.startswith(("reject.", "warranty.")) else None
            if unit := (ASSUMED | MAY_BE_ASSUMED).get(name, by_class):
                _add(found, bad, name, unit, row, sources, tongue)
            else:
                names = [*ASSUMED, *MAY_BE_ASSUMED, "warranty.<class>", "reject.<class>.<wrought or casting>"]
                bad.append(Problem(f"line {row['#']}: name", name, "a known name", nearest(name, names)))
        for name in ASSUMED:
            if name not in found and not any(name in str(problem.field) for problem in bad):
                bad.append(Problem("name", f"{name} missing", "there", "Copy the row from the demo shop."))
    return found


ASSUMED: dict[str, str] = {
    "rest.allowance": "share",
    "enquiries.per_job": "number",
    "oven.fill": "share",
    "oven.jobs_per_load": "number",
    "oven.cold_starts": "share",
    "oven.idle": "min",
    "oven.door": "min",
    "oven.air_above_metal": "delta_degC",
    "oven.bring_up_factor": "number",
    "oven.energy_factor": "number",
    "outgas.above_cure": "delta_degC",
    "outgas.hold": "min",
    "partial.share_of_dwell": "share",
    "spoil.wiped": "share",
    "powder.utilisation": "share",
    "powder.purge": "kg",
    "powder.hopper": "kg",
    "second.sprayed_over": "number",
    "edge.sound": "number",
    "edge.cut": "number",
    "edge.rough": "number",
    "blast.scale": "number",
    "strip.powder_over_paint": "number",
    "reblast.share": "share",
    "blast.media_per_m2": "kg/m**2",
    "blast.media_cycles": "number",
    "blast.media_price": "money/kg",
    "bought_in.transport": "money",
    "strip.bought_in_price": "money/kg",
    "burn_off.price": "money/kg",
}
"""Names that ``assumptions.csv`` must hold, and the unit each is kept in."""

MAY_BE_ASSUMED: dict[str, str] = {
    "outgas.second": "share",
    "own_powder.rejects": "number",
    "plan.booked_share": "number",
    "plan.weeks": "number",
    "plan.hours": "number",
    "spread.job": "number",
    "spread.owner": "number",
}
"""Names it may hold: without them there is no second bake, no more rejects, all hours come as planned, and how unlike
jobs and hands are is taken from the facts."""

DIVISORS = {"oven.fill", "oven.jobs_per_load", "blast.media_cycles", "powder.utilisation"}
DIVISORS |= {"plan.booked_share", "plan.weeks", "plan.hours"}
"""Names by whose number something is divided, so that it must be above 0."""


def _add(
    found: dict[str, Assumption],
    bad: list[Problem],
    key: str,
    unit: str,
    row: Mapping[str, str],
    sources: Mapping[str, Source],
    tongue: Tongue,
) -> None:
    line = f"line {row['#']}"
    told = len(bad)
    points = []
    for name in ("low", "likely", "high"):
        try:
            points.append(_number(row[name], row["unit"], key, unit, tongue))
        except Wrong as why:
            pure = unit in {"share", "number"}
            given = (row[name] if pure else f"{row[name]} {row['unit']}".strip()) if row[name] else "empty"
            bad.append(problem(f"{line}: {name} of {key}", given, unit, tongue, why))
    if len(points) == 3 and not points[0] <= points[1] <= points[2]:
        given = f"{row['low']}, {row['likely']}, {row['high']}"
        mend = "low, likely and high stand in this order; swap them."
        bad.append(Problem(f"{line}: points of {key}", given, "rising", mend))
    if row["source"] not in sources:
        near = nearest(row["source"], sources)
        bad.append(Problem(f"{line}: source of {key}", row["source"], "a key of sources.csv", near))
    try:
        date.fromisoformat(row["read_on"])
    except ValueError:
        bad.append(Problem(f"{line}: read_on of {key}", row["read_on"], "a date like 2026-11-25"))
    shape = row.get("shape") or "pert"
    if shape not in _SHAPES:
        bad.append(Problem(f"{line}: shape of {key}", shape, "pert or lognormal"))
    elif shape == "lognormal" and points and not points[0] > 0:
        bad.append(Problem(f"{line}: low of {key}", row["low"], "above 0 for a log-normal"))
    doubt = read_cell(bad, f"{line}: doubt of {key}", row.get("doubt") or "1", "number", tongue, Range(least=1.0))
    if key in found:
        bad.append(Problem(line, key, "there once", "It is there twice; keep one."))
    if len(bad) == told:
        source = sources[row["source"]]
        low, likely, high = points
        found[key] = Assumption(
            key, low, likely, high, unit, source, row["where"], row["read_on"], row["note"], _SHAPES[shape], doubt
        )


def _number(text: str, unit_text: str, key: str, unit: str, tongue: Tongue) -> float:
    """Read one of the three points; its unit stands in a column of its own, and a share of 0.3 may be written 30 %."""
    plain = unit in {"share", "number"}
    if plain and unit_text not in {unit, "", "-", "%"}:
        raise Wrong(f"This row has no unit; write '{unit}' in the unit column.")
    if plain or not text:
        written = f"{text} %" if unit_text == "%" and not text.endswith("%") else text
    else:
        written = f"{text} {unit_text}"
    within = Range(most=1.0 if unit == "share" else LARGEST, **{"above" if key in DIVISORS else "least": 0.0})
    return read(written, unit, tongue, within=within, file=True)
