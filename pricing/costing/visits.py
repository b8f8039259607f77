"""A job's oven visits in a table, and the heat that each coat has seen."""

from dataclasses import dataclass

from pricing.basis.facts import fact
from pricing.costing.sheet import CostSheet
from pricing.physics.cure import Heat, heat_history

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


@dataclass(frozen=True, slots=True)
class CoatHeat:
    """All heat that a coat has seen, held against its powder's schedule.

    Parameters
    ----------
    coat : int
        Which.
    powder : str
        Its powder.
    visits : int
        Times in the oven since it was sprayed.
    worth_min : float
        Minutes at the schedule's metal temperature that they are worth together. [min]
    schedule_min : float
        What the schedule asks for. [min]
    """

    coat: int
    powder: str
    visits: int
    worth_min: float
    schedule_min: float


def oven_visits(sheet: CostSheet) -> list[OvenVisit]:
    """Collect the oven visits of one job in order, without rework.

    Parameters
    ----------
    sheet : CostSheet
        Of one job (floats, not arrays).
    """
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


def coat_heats(sheet: CostSheet, powders: tuple[str, ...]) -> list[CoatHeat]:
    """Collect what each coat has seen in the oven by the end, on the careful side: metal as hot as planned.

    Parameters
    ----------
    sheet : CostSheet
        Of one job.
    powders : tuple of str
        The job's powders.

    Returns
    -------
    list of CoatHeat
        One a coat. The worth follows Arrhenius with the activation energy of ``data/facts.csv``, and
        holds only within the powder sheet's window.
    """
    cures = [visit for visit in oven_visits(sheet) if visit.coat]
    energy = fact("cure.activation_energy", "kJ/mol")
    heats = []
    for number, coat in enumerate(sheet.finish.coats, 1):
        powder = sheet.shop.powder(powders[coat.powder - 1])
        seen = [Heat(metal_degC=v.metal_degC, dwell_min=v.dwell_min) for v in cures if v.coat >= number]
        history = heat_history(
            seen, schedule_degC=powder.cure_degC, schedule_min=powder.dwell_min, activation_kJ_per_mol=energy
        )
        heats.append(CoatHeat(number, powder.name, history.cycles, float(history.worth_min), powder.dwell_min))
    return heats
