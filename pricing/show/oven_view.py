"""My oven in rows, words and to scale: an hour at temperature, the visits of a job, the fit to its own tests."""

from collections.abc import Sequence
from html import escape
from statistics import median

from pricing.basis.errors import BadInput
from pricing.basis.tongue import Tongue, Wrong
from pricing.basis.units import sig
from pricing.costing.sheet import cost
from pricing.costing.visits import OvenVisit, oven_visits
from pricing.parts.dimensioned import DimensionPlan
from pricing.parts.job import Job
from pricing.physics.fit_oven import CONFIDENCE, OvenFit
from pricing.shop.machines import Oven
from pricing.shop.shop import Shop
from pricing.show.blocks import Rows
from pricing.show.cells import Measure
from pricing.show.look import HEAT_COLOURS
from pricing.show.tiles import fact_tiles, stopped, tile, tile_number, tiles
from pricing.show.words import Words
from pricing.steps.oven_hour import hour_held

_MOST_RAILS = 50
_TERMS = {
    "metal": "parts",
    "racks": "racks",
    "shell": "the oven itself",
    "wall": "walls",
    "exhaust": "exhaust",
    "door": "door",
    "longer stay": "longer stay",
    "fan": "fans",
    "flue and meter": "flue and meter",
}


def usual_degC(shop: Shop) -> float:
    """Find the temperature an oven is usually set to: the middle of the powders' cures, and the air above the metal."""
    return median(powder.cure_degC for powder in shop.powders.values()) + float(shop.book["oven.air_above_metal"])


def hour_tiles(shop: Shop, oven: Oven, oven_degC: float) -> str:
    """Write what an hour at temperature takes."""
    words = Words(shop)
    try:
        held = hour_held(shop, oven, oven_degC)
    except BadInput as why:
        return stopped([str(problem) for problem in why.problems], title="No figure")
    billed = f"{words.sig(held.electric_kwh)} kWh electricity" + (
        f", {words.sig(held.gas_kwh)} kWh gas" if held.gas_kwh else ""
    )
    inside_m3 = oven.inside_width_mm * oven.inside_height_mm * oven.inside_depth_mm * 1e-9
    hot, heaviest = words.measure(oven_degC, "degC"), words.measure(oven.most_load_kg, "kg")
    mean = "the rest of it heats racks and parts"
    if held.share_of_heater > 1:
        mean = "more than the heater gives: it would not get there"
    return tiles(
        [
            tile(f"An hour at {hot}", tile_number(words.money(held.cost)), billed, style="main"),
            tile(
                "Of its heat, walls", tile_number(f"{words.sig(held.walls_kwh)} kWh"), "thicker panels, fewer bridges"
            ),
            tile(
                "Of its heat, exhaust",
                tile_number(f"{words.sig(held.exhaust_kwh)} kWh"),
                "no less than a code asks for",
            ),
            tile("Holding takes of the heater", tile_number(f"{held.share_of_heater:.0%}"), mean),
            tile("Room inside", tile_number(words.measure(inside_m3, "m**3")), f"at most {heaviest}"),
        ]
    )


def visits_of(shop: Shop, job: Job) -> list[OvenVisit]:
    """Collect the oven visits of a job, as the command ``oven`` does; `BadInput` where it cannot be costed."""
    return oven_visits(cost(shop, job))


def heat_by_part(visit: OvenVisit) -> dict[str, float]:
    """Sum up where the heat of a visit goes, what takes none left out. [kWh]"""
    parts: dict[str, float] = {}
    for term, kwh in visit.heat_kwh.items():
        if abs(kwh) > 1e-9:
            parts[_TERMS[term]] = parts.get(_TERMS[term], 0.0) + kwh
    return parts


def visit_rows(shop: Shop, visits: Sequence[OvenVisit]) -> dict[str, Rows]:
    """Collect where the heat of each visit goes."""
    words, rows = Words(shop), []
    for place, visit in enumerate(visits):
        title = words.step_title(visit.step, visit.coat)
        rows += [
            {
                "title": title,
                "place": place,
                "part": part,
                "rank": list(HEAT_COLOURS).index(part),
                "kwh": round(kwh, 3),
                "why": f"{title}: {part} {words.sig(kwh)} kWh",
            }
            for part, kwh in heat_by_part(visit).items()
        ]
    return {"heat": rows}


VISIT_HEAD = (
    "visit",
    "oven",
    "loads paid",
    "alone",
    "at metal",
    "bring-up min",
    "dwell min",
    "oven min",
    "kWh",
    "cost",
)
"""What is told of oven visits, in a terminal and on a page."""


def visit_cells(words: Words, visits: Sequence[OvenVisit]) -> list[tuple[str, ...]]:
    """Write the visits as rows under `VISIT_HEAD`: which oven, bring-up, dwell, what the job pays."""
    return [
        (
            words.step_title(visit.step, visit.coat),
            visit.oven,
            words.number(visit.loads_paid, 2),
            f"{visit.loads_alone:.0f}",
            words.measure(visit.metal_degC, "degC"),
            f"{visit.bring_up_min:.0f}",
            f"{visit.dwell_min:.0f}",
            f"{visit.held_min:.0f}",
            words.number(visit.electricity_kwh + visit.gas_kwh, 1),
            words.money(visit.cost),
        )
        for visit in visits
    ]


def visit_words(shop: Shop, job: Job, visits: Sequence[OvenVisit]) -> str:
    """Write the visits as a table of a page."""
    rows = [(name, *map(escape, cells)) for name, *cells in visit_cells(Words(shop), visits)]
    return f"<h3>{escape(job.title)}: its visits, times in minutes</h3>{fact_tiles(rows, head=VISIT_HEAD)}"


def cooling_of(text: str, tongue: Tongue) -> tuple[tuple[float, ...], tuple[float, ...]]:
    r"""Read a cool-down log, typed or pasted: on each line a time and a temperature, ``10 min, 168``. [min, °C]

    A heading is passed over; `Wrong` names a line that is no such pair.

    >>> cooling_of("time,temperature\n0, 200\n30 min, 120 degC", Tongue("EUR", "metric"))
    ((0.0, 30.0), (200.0, 120.0))
    """
    minutes, degrees = [], []
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    for at, line in enumerate(lines):
        cells = next((found for mark in (";", "\t", ",") if len(found := line.split(mark)) == 2), line.split())
        if at == 0 and not any(letter.isdigit() for letter in line):
            continue
        if len(cells) != 2:
            raise Wrong(f"Line {at + 1}, {line!r}, is no time and temperature. Write it like 10 min, 168.")
        try:
            minutes.append(Measure("min", tongue).read(cells[0]))
            degrees.append(Measure("degC", tongue).read(cells[1]))
        except Wrong as why:
            raise Wrong(f"Line {at + 1}, {line!r}: {why}") from None
    return tuple(minutes), tuple(degrees)


def fit_words(fit: OvenFit) -> str:
    """Say what a fit found, as the command ``fit-oven`` does."""
    return (
        f"walls lose {sig(fit.bridging)} times what clean panels would"
        f" ({CONFIDENCE:.0%} sure: {sig(fit.bridging_low)} to {sig(fit.bridging_high)});"
        f" the shell takes {sig(fit.shell_kJ_per_K / 3600)} kWh/K"
        f" ({sig(fit.shell_low_kJ_per_K / 3600)} to {sig(fit.shell_high_kJ_per_K / 3600)});"
        f" the log strays {sig(fit.misfit_K)} K from the curve."
    )


def oven_plan(oven: Oven, tongue: Tongue) -> str:
    """Draw an oven as SVG, with lengths as the shop writes them."""
    wide, high, deep, panel = oven.inside_width_mm, oven.inside_height_mm, oven.inside_depth_mm, oven.panel_mm
    gap = max(0.12 * (wide + deep), 2 * panel)
    plan = DimensionPlan(wide + deep + 4 * panel + gap, lambda mm: tongue.show(mm, "mm"))
    letter, top = plan.letter_mm, oven.clearance_mm
    for left, across in ((0.0, wide), (wide + 2 * panel + gap, deep)):
        plan.rect((left, 0), across + 2 * panel, high + 2 * panel)
        plan.opening((left + panel, panel), across, high)
        plan.across(left + panel, left + panel + across, high + 2 * panel + 0.6 * letter)
        for row in range(1, oven.tiers):
            y = panel + top + row * (high - top) / oven.tiers
            plan.path([(left + panel, y), (left + panel + across, y)], closed=False, dashed=True)
    pitch = wide / oven.rails
    for rail in range(min(oven.rails, _MOST_RAILS)):
        x = panel + (rail + 0.5) * pitch
        plan.circle((x, panel + top), max(0.012 * wide, 0.25 * letter))
    side = wide + 2 * panel + gap + panel
    plan.path([(side + top, panel + top), (side + deep - top, panel + top)], closed=False)
    plan.down(panel, panel + high, -0.6 * letter)
    plan.note((panel + wide / 2, -0.5 * letter), "from the door")
    plan.note((side + deep / 2, -0.5 * letter), "from the side")
    rows = f"{oven.rails} rails, {oven.tiers} {'row' if oven.tiers == 1 else 'rows'} of parts"
    for at, words in enumerate(rows.split(", ")):
        plan.note((panel + wide / 2, panel + high - (2.0 - 1.3 * at) * letter), words)
    plan.note((side + deep / 2, panel + high - 0.7 * letter), f"panels {plan.write(panel)}")
    return plan.svg(
        f"{oven.name}: {plan.write(wide)} wide, {plan.write(high)} high, {plan.write(deep)} deep inside; {rows}"
    )
