"""What single steps take: amounts, stations, the air and the oven behind them."""

from dataclasses import replace

import numpy as np
import pytest

import pricing
from pricing.basis.errors import BadInput
from pricing.basis.facts import numbers
from pricing.basis.typed import read_field
from pricing.costing.sheet import cost
from pricing.parts.job import Job
from pricing.parts.work import work_of_job
from pricing.shop.folder import known_steps
from pricing.shop.machines import BurnOff
from pricing.shop.shop import Shop
from pricing.steps.blast import blast_rate_of
from pricing.steps.oven_hour import hour_held
from pricing.steps.oven_visit import OvenState, VisitKind, heat_of, oven_of
from pricing.steps.route import STEPS, route
from pricing.steps.step import Setting
from pricing.steps.strip import burn_off_heat
from tests.conftest import with_part, with_policy

BURN_OFF = BurnOff(
    name="burn-off oven",
    price=30_000,
    salvage=3_000,
    life_y=15,
    upkeep_per_y=900,
    practical_hours_h=800,
    inside_width_mm=1500,
    inside_height_mm=1500,
    inside_depth_mm=1800,
    panel_mm=150,
    bridging=2.0,
    exhaust_m3_per_h=150,
    shell_kwh_per_K=0.25,
    batch_kg=300,
)


def _machines(shop: Shop, **changes: object) -> Shop:
    return replace(shop, machines=shop.machines.model_copy(update=changes))


def test_a_step_asks_only_for_drivers_that_rates_may_have(shop: Shop, plates: Job) -> None:
    """Amounts and the table of steps name the same drivers, so that no rate is read over in silence."""
    job = with_part(plates, casting=True, material="cast iron", old_coating="paint", apart=True)
    work = work_of_job(job.model_copy(update={"new_pair": True}), shop)
    finish = shop.finishes["two_tone_masked"]
    powder = shop.powders["jet black"]
    setting = Setting(shop, shop.book, finish, finish.coats[1], 2, powder)
    for step in STEPS:
        assert set(step.amounts(work, setting)) == set(known_steps()[step.key].drivers), step.key


def test_the_route_follows_the_trade(shop: Shop, plates: Job) -> None:
    job = with_part(plates, casting=True, material="cast iron", old_coating="paint")
    names = [step.key for step, _ in route(work_of_job(job, shop), shop.finishes["two_tone_wiped"])]
    assert names == [
        "enquiry",
        "intake",
        "degrease",
        "strip_chemical",
        "blast",
        "outgas",
        "reblast",
        "sand_edges",
        "pretreat",
        "plug",
        "hang",
        "colour_change",
        "coat",
        "partial_cure",
        "colour_change",
        "coat",
        "wipe",
        "full_cure",
        "cool",
        "inspect",
        "unmask",
        "pack",
        "hand_over",
    ]


@pytest.mark.parametrize(
    ("finish", "coats", "visits", "changes"),
    [
        # coats, oven visits without outgas bake, colour changes inside the job (common practice, no source)
        ("single", 1, 1, 0),
        ("single_clear", 2, 2, 1),
        ("two_tone_masked", 2, 2, 1),
        ("two_tone_wiped", 2, 2, 1),
        ("two_tone_clear", 3, 3, 2),
    ],
)
def test_what_the_number_of_tones_does_to_the_resources(
    shop: Shop, plates: Job, finish: str, coats: int, visits: int, changes: int
) -> None:
    steps = [step.key for step, _ in route(work_of_job(plates, shop), shop.finishes[finish])]
    assert steps.count("coat") == coats
    assert sum(key.endswith("_cure") for key in steps) == visits
    assert steps.count("colour_change") == changes + 1


def test_the_compressor_limits_blasting_where_it_is_too_small(shop: Shop, plates: Job) -> None:
    small = shop.machines.compressor.model_copy(update={"free_air_m3_per_min": 0.4, "motor_kw": 2.75})
    limited = _machines(shop, compressor=small)
    ours, theirs = (cost(one, plates).line("blast") for one in (shop, limited))
    assert theirs.uses[0].detail["waiting_min"] > 0
    rate = blast_rate_of(shop.machines.cabinet, small, 18.0)
    assert rate.compressor_limits
    thrown = float(theirs.uses[0].detail["thrown_kg"])
    open_h = float(theirs.minutes) * shop.machines.cabinet.air_on / 60
    assert thrown / float(rate.thrown_kg_per_h) == pytest.approx(open_h)
    assert theirs.minutes > ours.minutes


def test_a_worn_nozzle_takes_more_air_by_the_square_of_its_bore(shop: Shop) -> None:
    """Flow of a choked nozzle goes with the area: bore squared (first principles)."""
    large = shop.machines.compressor.model_copy(update={"free_air_m3_per_min": 50.0, "motor_kw": 350.0})
    new, worn = (
        blast_rate_of(shop.machines.cabinet.model_copy(update={"nozzle_bore_mm": bore}), large, 18.0)
        for bore in (6.0, 7.5)
    )
    assert float(worn.wanted_m3_per_min / new.wanted_m3_per_min) == pytest.approx((7.5 / 6.0) ** 2)


def test_a_quarter_inch_nozzle_takes_what_the_tables_print(shop: Shop) -> None:
    """81 cfm at 100 psi through 1/4 in: blast-nozzle table reprinted by three suppliers (within 5 %)."""
    cabinet = shop.machines.cabinet.model_copy(
        update={"nozzle_bore_mm": read_field("1/4 in", "mm", "b"), "pressure_bar": read_field("100 psi", "bar", "p")}
    )
    large = shop.machines.compressor.model_copy(update={"free_air_m3_per_min": 50.0, "motor_kw": 350.0})
    air = float(blast_rate_of(cabinet, large, read_field("70 degF", "degC", "t")).wanted_m3_per_min)
    assert air == pytest.approx(read_field("81 cfm", "m**3/min", "a"), rel=0.05)


def test_burn_off_of_ones_own_costs_gas_and_hours_and_no_transport(shop: Shop, plates: Job) -> None:
    job = with_part(plates, old_coating="powder")
    sent = cost(with_policy(shop, strip_by="burn_off"), job).line("strip_burn_off")
    own = cost(_machines(with_policy(shop, strip_by="burn_off"), burn_off=BURN_OFF), job).line("strip_burn_off")
    assert sent.bought_in > 0
    assert sent.gas_kwh == 0
    assert own.bought_in == 0
    assert own.gas_kwh > 0
    assert own.machine_min["burn-off oven"] > 0


def test_burn_off_heats_steel_as_the_standard_says(shop: Shop) -> None:
    """100 kg of steel from 20 to 400 °C take 5.593 kWh (EN 1993-1-2 polynomial, integrated)."""
    heat = burn_off_heat(BURN_OFF.model_copy(update={"batch_kg": 100.0}), 20.0)
    assert float(heat.metal_kWh) == pytest.approx(5.593, rel=0.005)
    assert heat.gas_kWh > heat.metal_kWh


def test_burn_off_heats_its_own_shell_too(shop: Shop) -> None:
    heat = burn_off_heat(BURN_OFF, 20.0)
    assert heat.shell_kWh == pytest.approx(BURN_OFF.shell_kwh_per_K * (numbers()["burnoff.metal"] - 20.0))


def test_a_test_panel_is_made_once_for_a_new_pair(shop: Shop, plates: Job) -> None:
    tried, untried = cost(shop, plates), cost(shop, plates.model_copy(update={"new_pair": True}))
    assert "test_panel" not in {line.step for line in tried.lines}
    assert untried.line("test_panel").uses[0].terms[0].amount == 1.0
    single = cost(shop, plates.model_copy(update={"new_pair": True}), finish="single")
    assert "test_panel" not in {line.step for line in single.lines}, "single-tone has no pair to try"


def test_edges_take_longer_the_rougher_they_are(shop: Shop, plates: Job) -> None:
    minutes = [
        float(cost(shop, with_part(plates, edge_quality=quality)).line("sand_edges").minutes)
        for quality in ("sound", "cut", "rough")
    ]
    assert minutes == sorted(minutes)
    assert minutes[0] < minutes[2]


def test_the_cheaper_oven_is_taken(shop: Shop, plates: Job) -> None:
    few, many = (cost(shop, with_part(plates, n)).line("full_cure").machine_min for n in (2, 400))
    assert shop.machines.oven[0].name in few
    assert shop.machines.oven[1].name in many


def _in_oven(shop: Shop, job: Job, name: str) -> float:
    """What the job costs when the shop has only that oven; infinite where it does not take the parts."""
    only = tuple(oven for oven in shop.machines.oven if oven.name == name)
    try:
        return float(cost(_machines(shop, oven=only), job).total)
    except BadInput:
        return np.inf


@pytest.mark.parametrize("name", ["bench_ends", "sign_letters", "wheels_three_coats"])
@pytest.mark.parametrize("pieces", [1, 2, 4, 8, 16, 30])
def test_no_job_goes_into_the_dearer_oven(shop: Shop, name: str, pieces: int) -> None:
    """All visits of a job with their hands count, not one cure by itself."""
    job = with_part(pricing.read_job(f"data/jobs/{name}.toml", shop, pricing.read_items(shop)), pieces)
    taken = float(cost(shop, job).total)
    assert taken == pytest.approx(min(_in_oven(shop, job, oven.name) for oven in shop.machines.oven), rel=1e-12)


@pytest.mark.parametrize("name", ["bench_ends", "sign_letters", "wheels_three_coats"])
def test_a_dearer_kilowatt_hour_never_makes_a_job_cheaper(shop: Shop, name: str) -> None:
    def total(per_kwh: float) -> float:
        tariffs = shop.tariffs.model_copy(update={"electricity_per_kwh": per_kwh})
        return float(cost(replace(shop, tariffs=tariffs), job).total)

    job = pricing.read_job(f"data/jobs/{name}.toml", shop, pricing.read_items(shop))
    totals = [total(0.05 + 0.01 * step) for step in range(60)]
    assert totals == sorted(totals)


def test_thicker_panels_never_cost_more_energy(shop: Shop, plates: Job) -> None:
    def kwh(panel_mm: float) -> float:
        ovens = tuple(oven.model_copy(update={"panel_mm": panel_mm}) for oven in shop.machines.oven[:1])
        line = cost(_machines(shop, oven=ovens), plates, finish="single").line("full_cure")
        return float(line.electricity_kwh + line.gas_kwh)

    used = [kwh(panel) for panel in (50, 75, 100, 150, 200)]
    assert used == sorted(used, reverse=True)


def test_thick_metal_holds_the_oven_longer(shop: Shop, plates: Job) -> None:
    times = [
        float(cost(shop, with_part(plates, thickness_mm=t)).line("full_cure").uses[0].detail["bring_up_min"])
        for t in (1.0, 3.0, 8.0, 20.0)
    ]
    assert times == sorted(times)
    assert times[-1] > 2 * times[0]


def test_splitting_a_load_never_saves_energy(shop: Shop, plates: Job) -> None:
    alone = plates.model_copy(update={"alone": True})

    def kwh(pieces: int) -> float:
        line = cost(shop, with_part(alone, pieces), finish="single").line("full_cure")
        return float(line.electricity_kwh + line.gas_kwh)

    for whole in (8, 20, 40):
        assert 2 * kwh(whole // 2) >= kwh(whole)


def test_a_load_between_empty_and_heaviest_lies_on_the_chord(shop: Shop) -> None:
    """A job pays by the chord; the visit's own curve is never far below it and hardly ever above."""
    shares = np.array([0.05, 0.1, 0.2, 0.4, 0.6, 0.8])
    kinds = {(item.part.material, item.part.thickness_mm) for item in pricing.read_items(shop).values()}
    off = []
    for oven in shop.machines.oven:
        state = OvenState(
            190.0, 200.0, 12.0, 18.0, *(float(shop.book[f"oven.{key}"]) for key in ("cold_starts", "idle", "door"))
        )
        for material, thickness_mm in sorted(kinds):
            loads = tuple(VisitKind(material, thickness_mm, f * oven.most_load_kg) for f in (1e-3, *shares, 1.0))
            times = heat_of(oven, loads, state).bring_up_min
            off.append(times[0] + (times[-1] - times[0]) * shares - times[1:-1])
    assert np.min(off) > -0.5
    assert np.max(off) < 3.2


def test_burn_off_of_ones_own_holds_its_oven_for_cycle_and_handling(shop: Shop, plates: Job) -> None:
    """By hand: the job's share of a full load, for the hours of a load; and its share of a load's gas."""
    mine = _machines(with_policy(shop, strip_by="burn_off"), burn_off=BURN_OFF)
    line = cost(mine, with_part(plates, old_coating="powder")).line("strip_burn_off")
    loads = plates.pieces * plates.lots[0].part.mass_kg / BURN_OFF.batch_kg
    n = numbers()
    assert line.machine_min["burn-off oven"] == pytest.approx(loads * (n["burnoff.cycle"] + n["burnoff.handling"]))
    full = float(burn_off_heat(BURN_OFF, shop.front.air_degC).gas_kWh)
    assert line.gas_kwh == pytest.approx(loads * full * shop.book["oven.energy_factor"])


def test_an_oven_is_measured_inside_and_its_skin_is_guessed_where_no_shell_is_told(shop: Shop) -> None:
    oven = shop.machines.oven[0].model_copy(
        update={
            "inside_width_mm": 2000.0,
            "inside_height_mm": 1500.0,
            "inside_depth_mm": 3000.0,
            "shell_kwh_per_K": 0.0,
        }
    )
    n = numbers()
    place = oven_of(oven, 200.0, 18.0)
    assert place.inside_m3 == pytest.approx(9.0)
    assert place.wall.area_m2 == pytest.approx(2 * (3.0 + 4.5 + 6.0))
    assert (place.door_width_m, place.door_height_m) == (2.0, 1.5)
    assert place.shell_kJ_per_K == pytest.approx(27.0 * n["oven.skin"] * n["steel.cp.c0"] / 1000)
    told = oven_of(oven.model_copy(update={"shell_kwh_per_K": 0.05}), 200.0, 18.0)
    assert told.shell_kJ_per_K == pytest.approx(180.0)


def test_an_hour_held_costs_its_walls_exhaust_and_fans_at_the_tariffs(shop: Shop) -> None:
    for oven in shop.machines.oven:
        held = hour_held(shop, oven, 200.0)
        place = oven_of(oven, 200.0, shop.front.air_degC)
        wall, exhaust = place.loss_W_per_K(200.0, shop.front.air_degC)
        rise_K = 200.0 - shop.front.air_degC
        assert (held.walls_kwh, held.exhaust_kwh) == pytest.approx((wall * rise_K / 1000, exhaust * rise_K / 1000))
        needed = (held.walls_kwh + held.exhaust_kwh - place.fan_heat_share * oven.fan_kw) / place.available_share
        gas = needed if oven.fuel == "gas" else 0.0
        electric = oven.fan_kw + (0.0 if oven.fuel == "gas" else needed)
        assert (held.gas_kwh, held.electric_kwh) == pytest.approx((gas, electric))
        tariffs = shop.tariffs
        assert held.cost == pytest.approx(electric * tariffs.electricity_per_kwh + gas * tariffs.gas_per_kwh)
        assert held.share_of_heater == pytest.approx(needed / oven.heater_kw)


def test_walls_of_a_burn_off_oven_lose_by_the_area_of_its_six_sides(shop: Shop) -> None:
    def walls(wide: float, high: float, deep: float) -> float:
        sides = {"inside_width_mm": wide, "inside_height_mm": high, "inside_depth_mm": deep}
        return float(burn_off_heat(BURN_OFF.model_copy(update=sides), 18.0).wall_kWh)

    assert walls(2000.0, 1500.0, 3000.0) / walls(1000.0, 1000.0, 1000.0) == pytest.approx(27.0 / 6.0)
