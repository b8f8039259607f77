"""Two jobs worked by hand: every line of the cost sheet, the price, the extra and the deposit, to the cent.

The hand side reads the data files itself (csv, tomllib) and follows the rules as README, DEVELOPERS and the docstrings
of the steps tell them, written down anew for these two jobs; it imports nothing of steps, costing or prices. Only the
oven visit, its minutes and kilowatt-hours at the shop's mean numbers, is taken from ``pricing.physics.visit`` with what
describes oven, metal and air there: `tests/physics` and `tests/published` hold that against outside sources.
"""

import csv
import tomllib
from collections.abc import Callable, Iterator
from functools import lru_cache
from itertools import product
from math import ceil, floor, pi, sqrt
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pytest
from scipy.optimize import linprog

from pricing.basis.facts import numbers
from pricing.parts.items import Item
from pricing.parts.job import read_job
from pricing.physics.air import air_of
from pricing.physics.burner import available_share, fuel_of
from pricing.physics.heating import Exchange
from pricing.physics.metals import heat_J_per_kg, metal_of
from pricing.physics.oven import OvenModel, Wall, shell_degC_after
from pricing.physics.visit import Cure, OvenLoad, visit
from pricing.prices.quote import quote
from pricing.shop.shop import Shop

DATA = Path(__file__).parents[2] / "data"
CENT = 1e-6  # far below one


def rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def of(text: str, unit: str) -> float:
    """A number in the unit that the demo's files have it in; another unit is not converted but told."""
    number, _, has = text.partition(" ")
    assert has == unit, (text, unit)
    return float(number)


def mean(row: dict[str, str]) -> float:
    return (float(row["low"]) + 4 * float(row["likely"]) + float(row["high"])) / 6


FACTS = {row["name"]: float(row["value"]) for row in rows("facts.csv")}
TOML = tomllib.loads((DATA / "shop" / "shop.toml").read_text("utf-8"))
RATES = {(row["step"], row["driver"], row["gives"]): mean(row) for row in rows("shop/rates.csv")}
ASSUMED = {row["name"]: mean(row) for row in rows("shop/assumptions.csv")}
POWDERS = {row["name"]: row for row in rows("shop/powders.csv")}
ITEMS = {row["item"]: row for row in rows("shop/items.csv")}
POLICY, MACHINES, HELPER = TOML["policy"], TOML["machines"], TOML["helper"]
OVENS = {oven["name"]: oven for oven in MACHINES["oven"]}
SHOP_DEGC = of(TOML["shop"]["air"], "degC")


# --- what an hour costs ------------------------------------------------------------------------------------------


def booked_h(person: dict[str, Any]) -> float:
    return float(person["weeks"] * of(person["hours_per_week"], "h") * person["billable"])


def machine_rate(machine: dict[str, Any]) -> float:
    """Capital recovery with salvage, plus upkeep, over practical hours."""
    price, salvage, years = of(machine["price"], "EUR"), of(machine["salvage"], "EUR"), of(machine["life"], "year")
    interest = POLICY["interest"]
    recovery = interest * (1 + interest) ** years / ((1 + interest) ** years - 1)
    yearly = (price - salvage) * recovery + salvage * interest + of(machine["upkeep"], "EUR/year")
    return float(yearly / of(machine["practical_hours"], "h"))


def yearly(bill: dict[str, str]) -> float:
    return 12 * of(bill["cost"], "EUR/month") if "month" in bill["cost"] else of(bill["cost"], "EUR/year")


AS_BOOKED = ASSUMED["plan.booked_share"] * ASSUMED["plan.weeks"] * ASSUMED["plan.hours"]
OWNER = of(TOML["owner"]["draw"], "EUR/year") * (1 + TOML["owner"]["on_cost"]) / booked_h(TOML["owner"]) / AS_BOOKED
OVERHEAD = sum(map(yearly, TOML["fixed"])) / (booked_h(TOML["owner"]) + booked_h(HELPER)) / AS_BOOKED
WAGE = of(HELPER["wage"], "EUR/h") * (1 + HELPER["on_cost"]) / HELPER["billable"]
ELECTRICITY, GAS = of(TOML["tariffs"]["electricity"], "EUR/kWh"), of(TOML["tariffs"]["gas"], "EUR/kWh")
HOUR = {name: machine_rate(oven) for name, oven in OVENS.items()} | {
    name: machine_rate(MACHINES[name]) for name in ("booth", "cabinet", "compressor", "tank", "bench")
}
REST = 1 + ASSUMED["rest.allowance"]


# --- one use of a step, and its money ----------------------------------------------------------------------------


class Use:
    """Rate times amount for each driver of a step, with the rest allowance; what else it takes is added by hand."""

    def __init__(self, step: str, at: str = "", **amounts: float) -> None:
        self.step, self.kwh, self.gas_kwh, self.powder = step, 0.0, 0.0, 0.0
        self.held: dict[str, float] = {}
        self.minutes = REST * sum(RATES.get((step, driver, "hands"), 0.0) * n for driver, n in amounts.items())
        self.supplies = sum(RATES.get((step, driver, "supplies"), 0.0) * n for driver, n in amounts.items())
        self.unattended = sum(RATES.get((step, driver, "machine"), 0.0) * n for driver, n in amounts.items())
        if at:
            self.hold(at, self.minutes + self.unattended)

    def hold(self, machine: str, minutes: float) -> None:
        self.held[machine] = self.held.get(machine, 0.0) + minutes

    def money(self) -> np.ndarray:
        """Attended minutes, then cash, labour, machines, overhead."""
        helped = self.minutes * HELPER["share"] if self.step in HELPER["steps"] else 0.0
        cash = self.supplies + self.powder + self.kwh * ELECTRICITY + self.gas_kwh * GAS + helped * WAGE / 60
        labour = (self.minutes - helped) * OWNER / 60
        machines = sum(minutes * HOUR[name] / 60 for name, minutes in self.held.items())
        return np.array([self.minutes, cash, labour, machines, self.minutes * OVERHEAD / 60])


def in_booth(step: str, **amounts: float) -> Use:
    use = Use(step, "booth", **amounts)
    use.kwh = of(MACHINES["booth"]["fan"], "kW") * use.minutes / 60
    return use


def blasted(step: str, job: float, parts: float, m2: float) -> Use:
    """A choked nozzle takes air by its bore and absolute pressure; what the compressor cannot give, it does not get."""
    cabinet, compressor = MACHINES["cabinet"], MACHINES["compressor"]
    pressure = 1e5 * of(cabinet["pressure"], "bar") + FACTS["air.pressure"]
    k, kelvin = FACTS["air.heat_ratio"], SHOP_DEGC + 273.15
    choked = sqrt(k / (FACTS["air.gas_constant"] * kelvin)) * (2 / (k + 1)) ** ((k + 1) / (2 * (k - 1)))
    bore_m2 = pi / 4 * (of(cabinet["nozzle_bore"], "mm") / 1000) ** 2
    free_air = FACTS["air.pressure"] / (FACTS["air.gas_constant"] * kelvin)
    wanted = 60 * FACTS["nozzle.discharge"] * bore_m2 * pressure * choked / free_air
    given = of(compressor["free_air"], "m3/min")
    assert wanted > given  # in the demo the compressor is the limit
    use = Use(step, "cabinet", job=job, part=parts, m2=m2)
    thrown = m2 * ASSUMED["blast.media_per_m2"]
    throwing = thrown / (FACTS["blasting.thrown_per_air"] * given) / cabinet["air_on"]
    waiting = max(throwing - use.minutes, 0.0)
    use.minutes += waiting
    use.hold("cabinet", waiting)
    open_min = use.minutes * cabinet["air_on"]
    use.hold("compressor", open_min)
    motor = of(compressor["motor"], "kW") / FACTS["motor.efficiency"]
    use.kwh = (of(cabinet["fan"], "kW") * use.minutes + motor * open_min) / 60
    use.powder = thrown / ASSUMED["blast.media_cycles"] * ASSUMED["blast.media_price"]
    return use


def film_kg(powder: str, m2: float) -> float:
    row = POWDERS[powder]
    film = sum(w * of(row[f"film_{n}"], "um") for w, n in ((1, "low"), (4, "likely"), (1, "high"))) / 6
    return m2 * film / 1000 * of(row["density"], "g/cm3") / ASSUMED["powder.utilisation"]


def price_of(powder: str) -> float:
    assert POWDERS[powder]["way"] == "stocked"  # so that no rest of a pack is paid
    return of(POWDERS[powder]["price"], "EUR/kg")


def changed_colour(powder: str, jobs: float) -> Use:
    use = in_booth("colour_change", colour=jobs)
    use.powder = jobs * ASSUMED["powder.purge"] * price_of(powder)
    return use


def sprayed(powder: str, jobs: float, parts: float, m2: float) -> Use:
    use = in_booth("coat", coat=jobs, part=parts, m2=m2)
    use.powder = film_kg(powder, m2) * price_of(powder)
    return use


# --- the parts, and how they hang --------------------------------------------------------------------------------


class Lot(NamedTuple):
    """So many pieces of a row of items.csv; none of these two jobs' parts is a casting, was coated or comes apart."""

    row: dict[str, str]
    n: float

    def all(self, name: str, unit: str) -> float:
        return self.n * of(self.row[name], unit)

    def number(self, name: str) -> float:
        return self.n * float(self.row[name] or 0)


def lots_of(*wanted: tuple[str, float]) -> tuple[Lot, ...]:
    for key, _ in wanted:
        plain = ("casting", "old_coating", "apart", "safety_critical", "bake_out", "scars", "repair", "strip_by")
        assert not any(ITEMS[key][name] for name in plain)
        assert ITEMS[key]["pieces"] == "1"
        assert ITEMS[key]["edge_quality"] == "cut"
        assert ITEMS[key]["material"] == "mild steel"
    return tuple(Lot(ITEMS[key], n) for key, n in wanted)


def hung(row: dict[str, str], oven: dict[str, Any]) -> int:
    """Parts on the rails of one load: side by side, on each rail or every second, one below the other, by mass."""
    gap, rails = of(oven["clearance"], "mm"), oven["rails"]
    wide, high, deep = (of(oven[f"inside_{side}"], "mm") for side in ("width", "height", "depth"))
    pitch, rail = wide / rails, deep - 2 * gap
    most = 0
    for along, across in ((row["width"], row["depth"]), (row["depth"], row["width"])):
        beside = floor((rail + gap) / (of(along, "mm") + gap) + 1e-9)
        wall = (wide - (rails - 1) * pitch) / 2
        near = ceil(max(0.0, of(across, "mm") / 2 + gap - wall) / pitch - 1e-9)
        every = ceil((of(across, "mm") + gap) / pitch - 1e-9)
        most = max(most, beside * ceil(max(0, rails - 2 * near) / every))
    tiers = min(oven["tiers"], floor((high - gap) / (of(row["height"], "mm") + FACTS["hanging.hook"]) + 1e-9))
    return min(int(most * tiers), floor(of(oven["most_load"], "kg") / of(row["mass"], "kg") + 1e-9))


class Loads(NamedTuple):
    """Loads that a job fills, by the room its parts take, and whole ones where nothing else shares them."""

    full: float
    whole: float


def loads_of(lots: tuple[Lot, ...], oven: str) -> Loads:
    rooms = [hung(lot.row, OVENS[oven]) for lot in lots]
    full = sum(lot.n / room for lot, room in zip(lots, rooms, strict=True))
    if len(lots) == 1:
        return Loads(full, ceil(full - 1e-9))
    # were each as bulky and heavy as the bulkiest, they would still hang in as many loads as the room they take makes
    widest = dict(lots[0].row)
    for name, lot in ((name, lot) for name in ("width", "height", "depth", "mass") for lot in lots):
        widest[name] = max(widest[name], lot.row[name], key=lambda text: float(text.split()[0]))
    whole = ceil(sum(lot.n for lot in lots) / hung(widest, OVENS[oven]))
    assert whole == ceil(full)
    return Loads(full, whole)


# --- the oven ----------------------------------------------------------------------------------------------------


class Stay(NamedTuple):
    """Figures of one visit from `pricing.physics`: next to empty, and what the heaviest load adds."""

    bring: float
    more: float
    kwh: float
    more_kwh: float
    metal_kwh_per_kg: float
    hold_kw: float
    available: float


@lru_cache
def stay_of(thickness: str, name: str, metal_degC: float, dwell: float) -> Stay:
    oven, n = OVENS[name], numbers()
    air_degC = metal_degC + ASSUMED["oven.air_above_metal"]
    wide, high, deep = (of(oven[f"inside_{side}"], "mm") / 1000 for side in ("width", "height", "depth"))
    area = 2 * (wide * high + high * deep + deep * wide)
    share = 1.0
    if oven["fuel"] == "gas":
        fuel, excess = fuel_of("methane", n), n["burner.excess_air"]
        share = float(available_share(fuel, air_degC, excess_air=excess, air_degC=SHOP_DEGC))
    wall = Wall(
        area_m2=area,
        insulation_mm=of(oven["panel"], "mm"),
        conductivity_W_per_mK=n["oven.insulation.conductivity"],
        conductivity_per_K=n["oven.insulation.conductivity_slope"],
        inside_W_per_m2K=n["oven.inside_film"],
        outside_W_per_m2K=n["oven.outside_film"],
        bridging=oven["bridging"],
    )
    place = OvenModel(
        wall=wall,
        air=air_of(n),
        inside_m3=wide * high * deep,
        shell_kJ_per_K=3600 * of(oven["shell"], "kWh/K"),
        exhaust_m3_per_h=of(oven["exhaust"], "m3/h"),
        door_width_m=wide,
        door_height_m=high,
        door_discharge=n["door.discharge"],
        door_W_per_m2K=n["door.film"],
        fan_kW=of(oven["fan"], "kW"),
        fan_heat_share=n["fan.heat_share"],
        fuel=oven["fuel"],
        heater_kW=of(oven["heater"], "kW"),
        available_share=share,
    )
    steel, half = metal_of("steel", n), of(thickness, "mm") / 2000
    warm = float(shell_degC_after(place, idle_min=ASSUMED["oven.idle"], shell_degC=air_degC, shop_degC=SHOP_DEGC))
    cure = Cure(metal_degC=metal_degC, dwell_min=dwell, oven_degC=air_degC)
    told = []
    for kg in (of(oven["most_load"], "kg") / 1000, of(oven["most_load"], "kg")):
        load = OvenLoad(
            mass_kg=kg,
            area_m2=kg / (steel.density_kg_per_m3 * half),
            section_m=half,
            metal=steel,
            exchange=Exchange(air_W_per_m2K=n["oven.air_film"], emissivity=n["coated.emissivity"]),
            rack_kg=of(oven["rack"], "kg"),
            rack_metal=steel,
        )
        bring = kwh = 0.0
        for start, often in ((SHOP_DEGC, ASSUMED["oven.cold_starts"]), (warm, 1 - ASSUMED["oven.cold_starts"])):
            heat = visit(place, load, cure, shop_degC=SHOP_DEGC, shell_degC=start, door_min=ASSUMED["oven.door"])
            bring += often * float(heat.bring_up_min)
            besides = heat.racks_kWh + heat.shell_kWh + heat.wall_kWh + heat.exhaust_kWh + heat.door_kWh
            kwh += often * float(besides)
        told.append((bring, kwh))
    loss = sum(map(float, place.loss_W_per_K(air_degC, SHOP_DEGC))) * (air_degC - SHOP_DEGC) / 1000
    (bring, kwh), (slow, much) = told
    metal = float(heat_J_per_kg(steel, SHOP_DEGC, air_degC)) / 3.6e6
    return Stay(bring, slow - bring, kwh, much - kwh, metal, loss, share)


class Baking(NamedTuple):
    """The oven of a job, and what the job pays of its loads."""

    name: str
    paid: float

    def baked(self, step: str, thickness: str, kg: float, powder: str, partial: bool) -> Use:
        """Hands a load; held from loading to unloading; heat by loads paid and by the job's own kilograms."""
        oven, row = OVENS[self.name], POWDERS[powder]
        dwell = of(row["dwell"], "min") * (ASSUMED["partial.share_of_dwell"] if partial else 1.0)
        at = stay_of(thickness, self.name, of(row["cure"], "degC"), dwell)
        use = Use(step, load=self.paid)
        heaviest = kg / of(oven["most_load"], "kg")
        computed = self.paid * at.bring + heaviest * at.more
        held = computed * ASSUMED["oven.bring_up_factor"] + self.paid * dwell
        use.hold(self.name, held + use.minutes)
        longer = (held - computed - self.paid * dwell) / 60 * at.hold_kw
        fan = held / 60 * of(oven["fan"], "kW")
        heat = kg * at.metal_kwh_per_kg + self.paid * at.kwh + heaviest * at.more_kwh + longer
        billed = max(heat - fan * FACTS["fan.heat_share"], 0.0) / at.available * ASSUMED["oven.energy_factor"]
        use.kwh, use.gas_kwh = (fan, billed) if oven["fuel"] == "gas" else (fan + billed, 0.0)
        return use


def oven_for(loads: Loads, name: str, *, alone: bool, again: float | None) -> Baking:
    """Loads a job pays for: the share it fills, by how full loads are; a small job its part of one; alone, whole."""
    whole = loads.whole if again is None else max(loads.full, again)
    if alone:
        return Baking(name, whole)
    least = (1.0 if again is None else again) / ASSUMED["oven.jobs_per_load"]
    return Baking(name, min(whole, max(loads.full / ASSUMED["oven.fill"], least)))


# --- the whole sheet ---------------------------------------------------------------------------------------------

Sheet = dict[str, np.ndarray]
WAY = {"single": ("plain", False), "two_tone_wiped": ("wiped", True)}


def sheet_in(oven: str, lots: tuple[Lot, ...], finish: str, colours: tuple[str, ...], *, alone: bool) -> Sheet:
    """Every line of the sheet in one oven: minutes, cash, labour, machines, overhead."""
    rejects, two = WAY[finish]
    n, kg, m2 = sum(lot.n for lot in lots), total(lots, "mass", "kg"), total(lots, "area", "m2")
    edge = total(lots, "edge", "m") * ASSUMED["edge.cut"]
    line, spots, plugs = (
        total(lots, "line", "m"),
        *(sum(lot.number(name) for lot in lots) for name in ("spots", "plugs")),
    )
    scale = sum(x.all("area", "m2") for x in lots if x.row["surface"] == "scale")
    second = sum(x.all("area", "m2") * float(x.row["second_share"]) for x in lots)
    loads = loads_of(lots, oven)
    (thickness,) = {lot.row["thickness"] for lot in lots}

    def bare(jobs: float, of_all: float, scaled_m2: float) -> Iterator[tuple[str, Use]]:
        extra = (ASSUMED["blast.scale"] - 1) * scaled_m2
        yield "blast", blasted("blast", jobs, of_all * n, of_all * m2 + extra)
        if edge:
            yield "sand_edges", Use("sand_edges", "bench", edge_m=of_all * edge, part=of_all * n)
        yield "pretreat", Use("pretreat", "bench", job=jobs, m2=of_all * m2)
        if plugs:
            yield "plug", Use("plug", "bench", plug=of_all * plugs)
        yield "hang", Use("hang", "bench", job=jobs, part=of_all * n)

    def coats(jobs: float, of_all: float, at: Baking) -> Iterator[tuple[str, Use]]:
        areas = (m2, second * ASSUMED["second.sprayed_over"]) if two else (m2,)
        for number, (powder, area) in enumerate(zip(colours, areas, strict=False), 1):
            yield f"colour_change.{number}", changed_colour(powder, jobs)
            yield f"coat.{number}", sprayed(powder, jobs, of_all * n, of_all * area)
            if number == 2:
                yield "wipe.2", wiped(jobs, of_all)
            cure = "partial_cure" if two and number == 1 else "full_cure"
            yield f"{cure}.{number}", at.baked(cure, thickness, of_all * kg, powder, cure == "partial_cure")
        yield "cool", Use("cool", "bench", load=at.paid)
        yield "inspect", Use("inspect", "bench", job=jobs, part=of_all * n)
        if plugs:
            yield "unmask", Use("unmask", "bench", plug=of_all * plugs)

    def wiped(jobs: float, of_all: float) -> Use:
        return in_booth("wipe", job=jobs, line_m=of_all * line, spot=of_all * spots, part=of_all * n)

    lines = {
        "enquiry": Use("enquiry", enquiry=ASSUMED["enquiries.per_job"], part=n),
        "intake": Use("intake", job=1, part=n),
        "degrease": Use("degrease", "bench", job=1, part=n, m2=m2),
    }
    lines |= dict(bare(1, 1, scale)) | dict(coats(1, 1, oven_for(loads, oven, alone=alone, again=None)))
    lines |= {"pack": Use("pack", "bench", job=1, part=n), "hand_over": Use("hand_over", job=1)}
    sheet = {name: use.money() for name, use in lines.items()}

    if two:  # p / (1 - p) of the lines are spoiled before cure: blown off, sprayed and wiped again, with no set-up
        p = ASSUMED["spoil.wiped"]
        share = p / (1 - p)
        blown = in_booth("blow_off", part=share * n, m2=share * second)
        again = sprayed(colours[1], 0, share * n, share * second * ASSUMED["second.sprayed_over"])
        sheet["respray"] = np.sum([use.money() for use in (blown, again, wiped(0, share))], axis=0)

    # rejects after cure: stripped in the tank, then all that follows; a set-up with the chance that there is one
    p = ASSUMED[f"reject.{rejects}.wrought"]
    share, chance = p / (1 - p), 1 - (1 - p) ** n
    strip = Use(
        "strip_chemical",
        "tank",
        job=chance,
        part=share * n,
        m2=share * m2 * ASSUMED["strip.powder_over_paint"],
        load=share * kg / of(MACHINES["tank"]["batch"], "kg"),
    )
    strip.kwh = of(MACHINES["tank"]["heater"], "kW") * strip.held["tank"] / 60
    at = oven_for(Loads(share * loads.full, 0.0), oven, alone=alone, again=chance)
    redone = [strip, *dict(bare(chance, share, 0.0)).values(), *dict(coats(chance, share, at)).values()]
    sheet["redo"] = np.sum([use.money() for use in redone], axis=0)
    return sheet


def total(lots: tuple[Lot, ...], name: str, unit: str) -> float:
    return sum(lot.all(name, unit) for lot in lots)


def money(sheet: Sheet) -> float:
    return float(sum(line[1:].sum() for line in sheet.values()))


def sheet_of(lots: tuple[Lot, ...], finish: str, colours: tuple[str, ...], *, alone: bool = False) -> Sheet:
    """Into the oven in which it costs least."""
    both = [sheet_in(oven, lots, finish, colours, alone=alone) for oven in OVENS]
    return min(both, key=money)


# --- the price ---------------------------------------------------------------------------------------------------


def up(amount: float, points: list[dict[str, str]]) -> float:
    step = next((p["step"] for p in points if amount <= of(p["up_to"], "EUR") + 1e-9), points[-1]["step"])
    return ceil(amount / of(step, "EUR") - 1e-9) * of(step, "EUR")


class Tariff(NamedTuple):
    first: float
    each: float

    def order(self, n: int) -> float:
        return self.first + (n - 1) * self.each


def tariff(cost: Callable[[int], float]) -> Tariff:
    """Least mean excess over the targets of 1 to 20, nowhere under them, and each not under what one more brings."""
    up_to = POLICY["list_up_to"]
    counts = [*range(1, 3 * up_to + 1), *(3 * up_to * far for far in (2, 5, 20, 1000))]
    target = np.array([cost(n) / (1 - POLICY["target_margin"]) for n in counts])
    at = np.array(counts, dtype=float)
    weight = 1 / target[:up_to]
    last = (target[-1] - target[-2]) / (at[-1] - at[-2])
    found = linprog(
        [weight.sum(), (weight * at[:up_to]).sum()],
        A_ub=-np.column_stack([np.ones(len(at)), at]),
        b_ub=-target,
        bounds=[(0, None), (last, None)],
    )
    assert found.x is not None
    setup, each = found.x
    return Tariff(up(setup + each, POLICY["price_points"]), up(each, POLICY["each_points"]))


def listed(key: str, finish: str) -> Tariff:
    """A row of the list holds for all colours in stock: laid on the dearest pair."""
    stock = [p for p, row in POWDERS.items() if row["way"] == "stocked" and row["kind"] != "clear"]
    sets = list(product(stock, repeat=2 if WAY[finish][1] else 1))
    return tariff(lambda n: max(money(sheet_of(lots_of((key, n)), finish, colours)) for colours in sets))


def deposit(price: float, sheet: Sheet) -> float:
    """A share of the price, and at least what was done before the first coat; on a price point, never above it."""
    late = {"cool", "inspect", "unmask", "pack", "hand_over", "respray", "redo"}
    before = sum(line[1:].sum() for name, line in sheet.items() if "." not in name and name not in late)
    return min(price, up(max(price * POLICY["deposit"], before), POLICY["price_points"]))


# --- held against the library ------------------------------------------------------------------------------------


def assert_sheet(found: Any, by_hand: Sheet) -> None:
    told = {
        line.id: [float(x) for x in (line.minutes, line.cash, line.labour, line.machines, line.overhead)]
        for line in found.sheet.lines
    }
    assert list(told) == sorted(by_hand, key=list(told).index)
    for name, line in by_hand.items():
        assert told[name] == pytest.approx(list(line), abs=CENT), name
    assert found.cost == pytest.approx(money(by_hand), abs=CENT)


def test_nine_two_tone_letters(shop: Shop, items: dict[str, Item]) -> None:
    job = tomllib.loads((DATA / "jobs" / "sign_letters.toml").read_text("utf-8"))
    (part,), colours = job["part"], tuple(job["powders"])
    key, n = part["item"], part["quantity"]
    sheet = sheet_of(lots_of((key, n)), job["finish"], colours)
    found = quote(shop, read_job("sign_letters", shop, items))
    assert_sheet(found, sheet)
    least = of(POLICY["minimum_charge"], "EUR")
    price, plain = (max(listed(key, finish).order(n), least) for finish in ("two_tone_wiped", "single"))
    assert found.net == price
    assert found.extra == price - plain
    assert found.deposit == deposit(price, sheet)


def test_a_gate_and_six_metres_of_railing_in_loads_of_their_own(shop: Shop, items: dict[str, Item]) -> None:
    job = tomllib.loads((DATA / "jobs" / "gate_and_railing.toml").read_text("utf-8"))
    assert job["alone"]
    assert job["finish"] == "single"
    colours, wanted = tuple(job["powders"]), [(part["item"], part["quantity"]) for part in job["part"]]
    sheet = sheet_of(lots_of(*wanted), "single", colours, alone=True)
    found = quote(shop, read_job("gate_and_railing", shop, items))
    assert_sheet(found, sheet)

    def laid(key: str) -> Tariff:
        return tariff(lambda n: money(sheet_of(lots_of((key, n)), "single", colours, alone=True)))

    # it shares no load, so it is on no list: each kind by a tariff of its own, the largest set-up once
    by_kind = [(laid(key), n) for key, n in wanted]
    setups = sorted((one.first - one.each for one, _ in by_kind), reverse=True)
    further = of(POLICY["further_kind"], "EUR")
    price = sum(n * one.each for one, n in by_kind)
    price += setups[0] + sum(min(further, setup) for setup in setups[1:])
    assert found.net == max(price, of(POLICY["minimum_charge"], "EUR"))
    assert found.extra == 0.0
    assert found.deposit == deposit(found.net, sheet)
