"""The oven from the command line."""

import json
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from pricing.commands.main import main
from pricing.costing.limits import coat_heats
from pricing.costing.sheet import cost
from pricing.costing.visits import oven_visits
from pricing.parts.items import Item
from pricing.parts.job import Job, read_job
from pricing.physics.oven import holding_kWh, shell_degC_after
from pricing.shop.folder import open_shop
from pricing.shop.shop import Shop
from pricing.steps.oven_visit import oven_of
from tests.conftest import ROOT

JOBS = ROOT / "data" / "jobs"


def run(*words: str) -> str:
    result = CliRunner().invoke(main, list(words))
    assert result.exit_code == 0, result.output
    return result.output


def test_the_visits_of_a_two_tone_casting_are_told_with_their_heat() -> None:
    told = json.loads(run("oven", str(JOBS / "bench_ends.toml"), "--json"))
    assert [visit["step"] for visit in told["visits"]] == ["outgas", "partial_cure", "full_cure"]
    for visit in told["visits"]:
        billed = visit["electricity_kWh"] + visit["gas_gross_kWh"]
        assert billed > 0
        assert visit["oven_min"] > visit["loads_paid"] * (visit["bring_up_min"] + visit["dwell_min"])
        assert {"metal", "racks", "shell", "wall", "exhaust", "door", "fan"} <= set(visit["heat_kWh"])


def test_the_first_coat_sees_every_later_cure(shop: Shop, items: dict[str, Item]) -> None:
    job = read_job(JOBS / "bench_ends.toml", shop, items)
    first, second = coat_heats(shop.finishes[job.finish], [shop.powders[name] for name in job.powders], shop)
    assert (first.visits, second.visits) == (2, 1)
    share = float(shop.book["partial.share_of_dwell"])
    assert first.worth_min == pytest.approx((1 + share) * first.schedule_min)
    assert second.worth_min == pytest.approx(second.schedule_min)


def test_the_terms_of_a_visit_close(shop: Shop, plates: Job) -> None:
    """Heat taken by metal, racks, shell, walls, exhaust, door and a longer stay, less what the fans give, is what
    the elements give before the meter's factor; both with the fan's own electricity are billed.
    """
    sheet = cost(shop, plates, finish="single")
    (visit,) = oven_visits(sheet)
    oven = next(o for o in shop.machines.oven if o.name == visit.oven)
    place = oven_of(oven, visit.metal_degC + float(shop.book["oven.air_above_metal"]), shop.front.air_degC)
    fan = visit.heat_kwh["fan"]
    taken = sum(kwh for name, kwh in visit.heat_kwh.items() if name not in {"fan", "flue and meter"})
    heater = (taken - fan * float(place.fan_heat_share)) / float(place.available_share)
    factor = float(shop.book["oven.energy_factor"])
    assert visit.electricity_kwh + visit.gas_kwh == pytest.approx(heater * factor + fan)


def test_several_jobs_are_hung_together_with_a_proof() -> None:
    text = run("oven", str(JOBS / "sign_letters.toml"), str(JOBS / "bench_ends.toml"))
    assert "Hung together in the larger oven the jobs need" in text
    figures = json.loads(run("oven", str(JOBS / "sign_letters.toml"), str(JOBS / "bench_ends.toml"), "--json"))
    assert figures["at_least"] <= figures["shared_loads"]


def _cooling(own: Path, shop: Shop, *, bridging: float, store: float) -> tuple[Path, str]:
    """What the meter and the thermometer would have shown of an oven with these factors."""
    oven = shop.machines.oven[0].model_copy(update={"bridging": bridging, "shell_kwh_per_K": store})
    place = oven_of(oven, 200.0, 18.0)
    electric = float(holding_kWh(place, hold_min=60.0, oven_degC=200.0, shop_degC=18.0)[1])
    took = electric - oven.fan_kw  # the elements' own meter: an hour, less the fan's electricity
    times = np.arange(0, 95, 5)
    temperatures = [float(shell_degC_after(place, idle_min=float(t), shell_degC=200.0, shop_degC=18.0)) for t in times]
    path = own / "cooling.csv"
    rows = "\n".join(f"{t} min,{c:.2f} degC" for t, c in zip(times, temperatures, strict=True))
    path.write_text(f"time,temperature\n{rows}\n", "utf-8")
    return path, f"{took:.4f} kWh"


def test_an_oven_is_fitted_to_its_own_tests_and_saved(own: Path) -> None:
    shop = open_shop(own)
    path, took = _cooling(own, shop, bridging=2.7, store=0.06)
    words = ["fit-oven", "small oven", "--held", "1 h", "--took", took, "--at", "200 degC", "--air", "18 degC"]
    words += ["--cooling", str(path), "--shop", str(own)]
    told = json.loads(run(*words, "--json"))
    assert told["bridging"] == pytest.approx(2.7, rel=0.02)
    assert told["shell_kWh_per_K"] == pytest.approx(0.06, rel=0.05)  # the walls lose less when cool
    assert told["bridging_low"] < 2.7 < told["bridging_high"]
    assert "walls lose 2.7 times what clean panels would" in run(*words, "--save")
    assert open_shop(own).machines.oven[0].bridging == pytest.approx(told["bridging"])


def test_a_fit_into_the_demo_shop_is_refused(own: Path) -> None:
    path, took = _cooling(own, open_shop(own), bridging=2.0, store=0.05)
    words = ["fit-oven", "small oven", "--held", "1 h", "--took", took, "--at", "200 degC", "--air", "18 degC"]
    result = CliRunner().invoke(main, [*words, "--cooling", str(path), "--save"])
    assert result.exit_code == 2
    assert "--save is 'the demo shop'; it must be used with your own folder." in result.output


def test_an_unknown_oven_is_answered(own: Path) -> None:
    path, took = _cooling(own, open_shop(own), bridging=2.0, store=0.05)
    words = ["fit-oven", "smal oven", "--held", "1 h", "--took", took, "--at", "200 degC", "--air", "18 degC"]
    result = CliRunner().invoke(main, [*words, "--cooling", str(path)])
    assert result.exit_code == 2
    assert "OVEN is 'smal oven'; it must be small oven or large oven. Did you mean 'small oven'?" in result.output
