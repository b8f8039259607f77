"""What is logged, what learns from it, and how far off it is after 10, 30, 100 and 300 jobs in simulated shops.

Run it by hand: ``python -m tests.benchmarks.what_teaches``; it takes a minute or two and is no part of the tests.
The truth of a shop is `TRUE` (and, for rates, each guess times a factor of its own); its log has the scatter of hand
work and 3 % of entries that overran or were mistyped.
"""

import sys
import tempfile
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np

from pricing.basis.facts import fact
from pricing.costing.packs import chance_of_reuse
from pricing.costing.sheet import cost
from pricing.ledger.calibrate import guesses_of
from pricing.ledger.entries import Done, Load, Meter, Outcome, Packed, Redone, Took, Weighed
from pricing.ledger.numbers import CARRIERS
from pricing.ledger.quotes import amounts_of, freeze
from pricing.ledger.review import Review, review
from pricing.ledger.store import Ledger, open_ledger
from pricing.parts.items import read_items
from pricing.parts.job import Job, Lot
from pricing.physics.film import powder_kg
from pricing.shop.folder import open_shop
from pricing.shop.shop import Shop

FIRST = date(2026, 1, 5)
TRUE = {
    "oven.fill": 0.45,
    "oven.jobs_per_load": 2.6,
    "oven.bring_up_factor": 1.25,
    "oven.air_above_metal": 16.0,
    "oven.energy_factor": 1.3,
    "powder.utilisation": 0.45,
    "powder.hopper": 0.8,
    "film.jet black": 85.0,
    "enquiries.per_job": 2.2,
    "helper.share": 0.6,
    "uses.jet black": 0.43,
}
IDLE_PER_DAY, ODD, PACE = 12.0, 0.03, {"owner": 0.93, "helper": 1.3}
LOGGED = {
    "oven.fill": "loads: how full",
    "oven.jobs_per_load": "loads: jobs in it",
    "oven.air_above_metal": "loads: set point",
    "oven.bring_up_factor": "loads: door to door",
    "oven.energy_factor": "meters",
    "powder.utilisation": "powder weighed",
    "powder.hopper": "left in the hopper",
    "film.jet black": "film gauged",
    "enquiries.per_job": "won and lost",
    "helper.share": "who",
    "uses.jet black": "packs, thrown away",
    "rates": "minutes",
    "reject and spoil": "pieces again",
    "pace of the helper": "who and minutes",
}
SIZES = (10, 30, 100, 300)


def buying_black(shop: Shop) -> Shop:
    """A shop that buys its black by the pack when it is asked for, and guesses how often that is."""
    black = shop.powders["jet black"].model_copy(update={"way": "shared", "uses": 2.0})
    return replace(shop, powders={**shop.powders, "jet black": black})


def filled(ledger: Ledger, shop: Shop, jobs: int, seed: int) -> dict[str, float]:
    """Log so many jobs of a shop with the truth above; gives the true typical rates by key."""
    draw = np.random.default_rng(seed)
    items = [item for item in read_items(shop).values() if "jet black" in item.powders]
    truth = {key: row.mean * float(draw.uniform(0.7, 1.5)) for key, row in shop.rates.items() if key.endswith(".hands")}
    kwh: dict[str, float] = {}
    fuel = {oven.name: CARRIERS[oven.fuel] for oven in shop.machines.oven}
    read, on = {"gas": 100.0, "electricity": 1000.0}, FIRST
    used_black = 0.0
    for carrier, reading in read.items():
        ledger.add("meters", _meter(carrier, on, reading))
    for number in range(jobs):
        on += timedelta(days=int(draw.integers(1, 3)))
        for _ in range(int(draw.geometric(1 / TRUE["enquiries.per_job"])) - 1):
            ledger.add("outcomes", Outcome(job=f"lost {number}", on=on, result="lost"))
        item = items[int(draw.integers(len(items)))]
        finish = item.two_tone if draw.random() < 0.6 else item.single
        job = Job(
            title=f"{number:03d} {item.key}",
            finish=finish,
            powders=item.powders,
            lots=(Lot(part=item.part, quantity=int(np.clip(draw.lognormal(1.5, 0.8), 1, 30))),),
        )
        sheet = cost(shop, job)
        quote = freeze(sheet, job, float(sheet.total) * 1.3, on=on)
        ledger.add("quotes", quote)
        ledger.add("outcomes", Outcome(job=job.title, on=on, result="won"))
        _times(ledger, draw, shop, amounts_of(sheet), job.title, on, truth)
        for visit in quote.sheet["expected"]["oven"]:
            kwh[fuel[visit["oven"]]] = kwh.get(fuel[visit["oven"]], 0.0) + visit["kwh"] * TRUE["oven.energy_factor"]
            ledger.add("loads", _load(draw, visit, job.title, on))
        used_black += _powder(ledger, draw, shop, quote.sheet["expected"]["powder"], job.title, on)
        if number % 5 == 4:
            for carrier, heat in kwh.items():
                days = (on - FIRST).days
                scatter = float(np.exp(0.03 * draw.standard_normal()))
                total = (heat + IDLE_PER_DAY * days) * scatter ** (1 / max(number, 1))
                per = fact("gas.gross_per_m3") if carrier == "gas" else 1.0
                ledger.add("meters", _meter(carrier, on, read[carrier] + total / per))
        redone = int(draw.binomial(job.pieces, 0.06))
        ledger.add("jobs", Done(job=job.title, on=on, finish=finish, parts=job.pieces))
        if redone:
            ledger.add("rework", Redone(job=job.title, on=on, parts=redone, found="after cure", cause="dirt"))
    pack = shop.powders["jet black"].pack_kg
    opened = int(np.ceil(used_black / pack / 0.6))
    thrown = (opened * pack - used_black) * (
        1 - chance_of_reuse(TRUE["uses.jet black"], shop.powders["jet black"].shelf_y)
    )
    ledger.add("packs", Packed(powder="jet black", on=on, opened=opened, thrown_kg=thrown))
    return truth


def _meter(carrier: str, on: date, reading: float) -> Meter:
    return Meter.model_validate(
        {
            "meter": carrier,
            "on": on,
            "reading": reading,
            "unit": "m3" if carrier == "gas" else "kWh",
            "carrier": carrier,
        }
    )


def _odd(draw: np.random.Generator) -> float:
    return float(draw.uniform(3, 8)) if draw.random() < ODD else 1.0


def _times(
    ledger: Ledger,
    draw: np.random.Generator,
    shop: Shop,
    amounts: dict[str, dict[str, float]],
    job: str,
    on: date,
    truth: dict[str, float],
) -> None:
    facts = []
    for step, drivers in amounts.items():
        may = shop.helper is not None and step in shop.helper.steps
        who = "helper" if may and draw.random() < _helped() else "owner"
        typical = sum(truth[f"{step}.{driver}.hands"] * n for driver, n in drivers.items())
        minutes = typical * PACE[who] * float(np.exp(np.log(1.35) * draw.standard_normal())) * _odd(draw)
        if minutes > 0:
            facts.append(Took(job=job, on=on, step=step, minutes=minutes, worker=who))
    ledger.add("times", *facts)


def _helped() -> float:
    """Chance of a job to be the helper's, so that the share of minutes is the true one."""
    share = TRUE["helper.share"]
    return share * PACE["owner"] / (share * PACE["owner"] + (1 - share) * PACE["helper"])


def _load(draw: np.random.Generator, visit: dict[str, float], job: str, on: date) -> Load:
    cure = {"outgas": "outgas", "partial_cure": "partial", "full_cure": "full"}[str(visit["step"])]
    scatter = 0.18
    bring_up = (
        visit["bring_up_min"]
        * TRUE["oven.bring_up_factor"]
        * float(np.exp(scatter * draw.standard_normal() - scatter**2 / 2))
    )
    above = TRUE["oven.air_above_metal"] * float(np.exp(0.2 * draw.standard_normal() - 0.02))
    full = 1 / TRUE["oven.fill"] * float(np.exp(0.25 * draw.standard_normal() - 0.25**2 / 2))
    return Load.model_validate(
        {
            "job": job,
            "on": on,
            "oven": visit["oven"],
            "cure": cure,
            "minutes": visit["dwell_min"] + bring_up * _odd(draw),
            "jobs": 1 + int(draw.poisson(TRUE["oven.jobs_per_load"] - 1)),
            "fill": min(1 / full, 1.0),
            "set_degC": visit["metal_degC"] + above,
        }
    )


def _powder(
    ledger: Ledger, draw: np.random.Generator, shop: Shop, expected: dict[str, dict[str, float]], job: str, on: date
) -> float:
    black = 0.0
    for name, quoted in expected.items():
        powder = shop.powders[name]
        film = TRUE["film.jet black"] if name == "jet black" else float(shop.book[f"film.{name}"])
        film *= float(np.exp(0.1 * draw.standard_normal() - 0.005))
        stays = powder_kg(quoted["area_m2"], film_um=film, density_g_per_cm3=powder.density_g_per_cm3, utilisation=1.0)
        used = float(stays) / TRUE["powder.utilisation"] * float(np.exp(0.2 * draw.standard_normal() - 0.02))
        used = used * _odd(draw) + float(shop.book["powder.purge"]) * quoted["changes"]
        left = TRUE["powder.hopper"] * float(np.exp(0.25 * draw.standard_normal() - 0.03))
        ledger.add("powder", Weighed(job=job, on=on, powder=name, used_kg=used, film_um=film, left_kg=left))
        black += used if name == "jet black" else 0.0
    return black


def errors(found: Review, truth: dict[str, float]) -> dict[str, float]:
    """Collect how far off each number is, as a share of the truth; for groups the mean of what was learned at all."""
    off = {one.key: abs(one.mean / TRUE[one.key] - 1) for one in found.numbers if one.key in TRUE}
    shares, mean_of_odd = [], 1 + ODD * 4.5
    pace = {"owner": PACE["owner"], "helper": PACE["helper"]}
    for step, result in found.calibration.steps.items():
        drivers = [guess.driver for guess in guesses_of(found.hands, step)]
        true = result.seen.amounts @ np.array([truth[f"{step}.{driver}.hands"] for driver in drivers])
        who = TRUE["helper.share"] if found.shop.helper and step in found.shop.helper.steps else 0.0
        mean = true * (who * pace["helper"] + (1 - who) * pace["owner"]) * np.exp(np.log(1.35) ** 2 / 2) * mean_of_odd
        told = result.seen.amounts @ result.fit.mean
        shares.append(abs(float(told.sum() / mean.sum()) - 1))
    off["rates"] = float(np.mean(shares))
    rejects = [abs(rate.mean / (0.06 / 1.06) - 1) for key, rate in found.rework.items() if key.startswith("reject")]
    off["reject and spoil"] = float(np.mean(rejects))
    by_step: dict[str, dict[str, float]] = {}
    for one in found.people:
        if not np.isnan(one.pace):
            by_step.setdefault(one.step, {})[one.worker] = one.pace
    ratios = [mine["helper"] / mine["owner"] for mine in by_step.values() if len(mine) == 2]
    off["pace of the helper"] = abs(float(np.mean(ratios)) / (PACE["helper"] / PACE["owner"]) - 1) if ratios else np.nan
    return off


def main(shops: int = 4) -> None:
    """Print the table."""
    shop = buying_black(open_shop())
    table: dict[str, dict[int, list[float]]] = {}
    for size in SIZES:
        for seed in range(shops):
            with tempfile.TemporaryDirectory() as name, open_ledger(Path(name)) as ledger:
                with ledger.at_once():
                    truth = filled(ledger, shop, size, seed=1000 * size + seed)
                found = review(ledger, shop, today=FIRST + timedelta(days=3 * size))
                for key, off in errors(found, truth).items():
                    table.setdefault(key, {}).setdefault(size, []).append(off)
    print(f"{shops} simulated shops a size; error of the mean, and of the guess before")
    print(f"{'what is logged':24}{'what learns':24}{'guess':>7}" + "".join(f"{size:>7}" for size in SIZES))
    for key, by_size in table.items():
        guess = _guess_error(shop, key)
        cells = "".join(f"{np.nanmedian(by_size[size]):>7.1%}" if size in by_size else f"{'–':>7}" for size in SIZES)
        print(f"{LOGGED[key]:24}{key:24}{guess:>7}{cells}")


def _guess_error(shop: Shop, key: str) -> str:
    from pricing.ledger.proposals import first_beliefs

    if key not in TRUE:
        return "–"
    return f"{abs(first_beliefs(shop)[key].mean / TRUE[key] - 1):.1%}"


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 4)
