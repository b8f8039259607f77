"""A job's oven visits in a table."""

from dataclasses import dataclass

from pricing.costing.sheet import CostSheet

OVEN_STEPS = ("outgas", "partial_cure", "full_cure")


@dataclass(frozen=True, slots=True)
class OvenVisit:
    """One visit of one job.

    Parameters
    ----------
    step : str
        ``outgas``, ``partial_cure`` or ``full_cure``.
    coat : int
        Coat that it cures; 0 for the bake before.
    oven : str
        Which oven.
    loads_paid, loads_alone : float
        Share of loads the job pays for, and the loads it would need with nothing else in them.
    metal_degC : float
        Metal temperature from which the dwell counts. [°C]
    bring_up_min, dwell_min, held_min : float
        Until the heaviest section is there, at temperature, and minutes of oven the job pays. [min]
    heat_kwh : dict
        Where the heat goes, by term; what is billed beyond it (flue, meter) is a term of its own. [kWh]
    electricity_kwh, gas_kwh : float
        What is billed. [kWh]
    cost : float
        Of the visit, hands included. [money]
    """

    step: str
    coat: int
    oven: str
    loads_paid: float
    loads_alone: float
    metal_degC: float
    bring_up_min: float
    dwell_min: float
    held_min: float
    heat_kwh: dict[str, float]
    electricity_kwh: float
    gas_kwh: float
    cost: float


def oven_visits(sheet: CostSheet) -> list[OvenVisit]:
    """Collect the oven visits of one job (floats, not arrays) in order, without rework."""
    found = []
    ovens = {oven.name for oven in sheet.shop.machines.oven}
    for line in sheet.lines:
        if line.step not in OVEN_STEPS:
            continue
        detail = {key: float(value) for key, value in line.uses[0].detail.items()}
        oven = next(name for name in line.machine_min if name in ovens)
        alone = sheet.work.cast_whole if line.step == "outgas" else sheet.work.whole
        heat = {key.removeprefix("kWh "): value for key, value in detail.items() if key.startswith("kWh ")}
        found.append(
            OvenVisit(
                line.step,
                line.coat,
                oven,
                detail["loads"],
                float(alone[oven]),
                detail["metal_degC"],
                detail["bring_up_min"],
                detail["dwell_min"],
                float(line.machine_min[oven]),
                heat,
                float(line.electricity_kwh),
                float(line.gas_kwh),
                float(line.total),
            )
        )
    return found
