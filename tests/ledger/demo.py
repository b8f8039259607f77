"""The invented log of the demo shop: a year of quotes, jobs, minutes, loads and mishaps.

Nothing here was measured. ``python -m tests.ledger.demo`` writes ``data/ledger``; the seed and the
true rates below make every row.
"""

import csv
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from pricing.costing.sheet import CostSheet, cost
from pricing.parts.items import Item, read_items
from pricing.parts.job import Job, Lot
from pricing.prices.quote import quote
from pricing.shop.folder import open_shop
from pricing.shop.shop import Shop

SEED = 20261125
FOLDER = Path(__file__).parents[2] / "data" / "ledger"
FIRST, LAST = date(2025, 11, 24), date(2026, 11, 20)
QUOTES = 245
TRUE_GSD = {"wipe": 1.45, "tape": 1.4, "blast": 1.3, "strip_chemical": 1.6, "disassemble": 1.6, "coat": 1.2}
OTHER_GSD = 1.35
TRUE_FACTOR = {"wipe": 1.3, "sand_edges": 0.8, "tape": 1.15, "inspect": 1.5, "hang": 1.2, "coat": 0.9}
"""Median of the true rate over the mean of the guess that the demo shop holds."""
OVERRUNS = 0.025
TIMED = 0.62
TRUE_REJECTS = {"wrought": 0.025, "casting": 0.06}
TRUE_SPOILED = 0.05
CAUSES = ("thin film", "dirt", "fisheyes", "pinholes", "line ragged", "handling")
Table = dict[str, list[dict[str, Any]]]


def demo(shop: Shop, items: dict[str, Item], seed: int = SEED) -> Table:
    """Make all tables."""
    draw = np.random.default_rng(seed)
    tables: Table = {
        kind: [] for kind in ("quotes", "outcomes", "jobs", "times", "loads", "meters", "powder", "rework")
    }
    span = (LAST - FIRST).days - 30  # the last jobs are done by the last day
    days = np.sort(draw.integers(0, span, QUOTES))
    keys = [key for key in items if key != "wheel_set"]  # the maker's leave is not in a demo
    for number, day in enumerate(days, 1):
        item = items[keys[int(draw.integers(len(keys)))]]
        quantity = int(np.clip(round(draw.lognormal(np.log(6), 0.9)), 1, 40))
        finish = str(draw.choice([item.single, item.two_tone, "two_tone_masked"], p=[0.45, 0.42, 0.13]))
        lot = Lot(part=item.part, quantity=quantity * item.pieces)
        job = Job(title=f"{number:03d} {item.key}", finish=finish, powders=item.powders, lots=(lot,))
        _one(tables, draw, cost(shop, job), job, FIRST + timedelta(days=int(day)))
    _meters(tables, draw)
    _more(tables, shop, np.random.default_rng(seed + 1))
    return tables


def _more(tables: Table, shop: Shop, draw: np.random.Generator) -> None:
    """Add what was asked for later, from a stream of its own, so that the rows before it stay as they were."""
    for load in tables["loads"]:
        if draw.random() < 0.7:
            load["jobs"] = 1 + int(draw.poisson(1.1))
            load["fill"] = f"{float(np.clip(draw.choice([0.25, 0.5, 0.5, 0.75, 1.0]), 0.25, 1)):g}"
    opened: dict[str, float] = {}
    for row in tables["powder"]:
        powder = shop.powders[row["powder"]]
        opened[row["powder"]] = opened.get(row["powder"], 0.0) + float(row["used_kg"])
        if draw.random() < 0.4:
            row["film_um"] = f"{shop.book[f'film.{powder.name}'] * 1.1 * draw.lognormal(0, 0.1):.0f}"
        if draw.random() < 0.5:
            row["left_kg"] = f"{0.5 * draw.lognormal(0, 0.25):.2f}"
        film = float(row.get("film_um", shop.book[f"film.{powder.name}"]))
        purged = max(float(row["used_kg"]) - 0.1, 0.02)
        row["coated_m2"] = f"{purged * 0.5 / (film * powder.density_g_per_cm3 * 1e-3) * draw.lognormal(0, 0.15):.2f}"
    for name, used in opened.items():
        packs = int(np.ceil(used / shop.powders[name].pack_kg))
        thrown = f"{0.3 * max(packs * shop.powders[name].pack_kg - used, 0.0):.1f}"
        tables.setdefault("packs", []).append({"powder": name, "on": LAST, "opened": packs, "thrown_kg": thrown})


def _one(tables: Table, draw: np.random.Generator, sheet: CostSheet, job: Job, on: date) -> None:
    shop, total = sheet.shop, float(sheet.total)
    asked = quote(shop, job).net
    price = round(asked * float(draw.uniform(0.85, 1.3)) / 5) * 5.0
    amounts = _amounts(sheet)
    planned = {
        step: sum(float(shop.book[f"{step}.{driver}.hands"]) * n for driver, n in some.items())
        for step, some in amounts.items()
    }
    tables["quotes"].append(
        {
            "job": job.title,
            "on": on,
            "finish": job.finish,
            "parts": job.pieces,
            "price": f"{price:.2f}",
            "cost": f"{total:.2f}",
            "currency": shop.currency,
            "version": "0.1.0",
        }
        | {f"minutes_{step}": f"{minutes:.2f}" for step, minutes in planned.items()}
    )
    won = draw.random() < 1 / (1 + np.exp(5.0 * np.log(price / total) - 2.6))
    decided = on + timedelta(days=int(draw.integers(1, 12)))
    paid = f"{price:.2f}" if won else ""
    tables["outcomes"].append({"job": job.title, "on": decided, "result": "won" if won else "lost", "price_paid": paid})
    if won:
        _made(tables, draw, sheet, job, decided + timedelta(days=int(draw.integers(2, 15))), amounts)


def _amounts(sheet: CostSheet) -> dict[str, dict[str, float]]:
    found: dict[str, dict[str, float]] = {}
    for line in sheet.lines:
        for use in line.uses:
            for term in use.terms:
                if term.gives == "hands" and line.step not in {"respray", "redo", "pack_rest", "enquiry"}:
                    mine = found.setdefault(line.step, {})
                    mine[term.driver] = mine.get(term.driver, 0.0) + float(term.amount)
    return found


def _made(
    tables: Table,
    draw: np.random.Generator,
    sheet: CostSheet,
    job: Job,
    done: date,
    amounts: dict[str, dict[str, float]],
) -> None:
    book, pieces, title = sheet.shop.book, job.pieces, job.title
    casting = job.lots[0].part.casting
    wiped = pieces if sheet.finish.line == "wiped" else 0
    tables["jobs"].append(
        {
            "job": title,
            "on": done,
            "finish": job.finish,
            "substrate": "casting" if casting else "wrought",
            "parts": pieces,
            "wiped_parts": wiped,
        }
    )
    for step, drivers in amounts.items():
        if draw.random() > TIMED:
            continue
        typical = sum(float(book[f"{step}.{d}.hands"]) * n for d, n in drivers.items()) * TRUE_FACTOR.get(step, 1.0)
        minutes = typical * np.exp(np.log(TRUE_GSD.get(step, OTHER_GSD)) * draw.standard_normal())
        if draw.random() < OVERRUNS:
            minutes *= draw.uniform(2.5, 6.0)
        watched = draw.random() < 0.7
        shown = f"{max(minutes, 0.2):.1f}" if watched else f"{max(round(minutes * 2) / 2, 0.5):.1f}"
        tables["times"].append(
            {
                "job": title,
                "on": done,
                "step": step,
                "minutes": shown,
                "worker": str(draw.choice(["owner", "helper"], p=[0.8, 0.2])),
                "how": "stopwatch" if watched else "by hand",
            }
            | {f"amount_{driver}": f"{n:.4g}" for driver, n in drivers.items()}
        )
    _mishaps(tables, draw, title, done, pieces, wiped, TRUE_REJECTS["casting" if casting else "wrought"])
    for line in sheet.lines:
        if line.step in {"outgas", "partial_cure", "full_cure"}:
            oven = next(iter(line.machine_min), "small oven")
            cure = {"outgas": "outgas", "partial_cure": "partial", "full_cure": "full"}[line.step]
            tables["loads"].append(
                {
                    "job": title,
                    "on": done,
                    "oven": oven,
                    "cure": cure,
                    "minutes": f"{draw.uniform(35, 80):.0f}",
                    "mass_kg": f"{job.lots[0].part.mass_kg * pieces:.1f}",
                    "peak_degC": f"{draw.normal(196, 4):.0f}",
                }
            )
    for line in sheet.lines:
        for material in line.materials:
            if line.step == "coat" and draw.random() < 0.5:
                tables["powder"].append(
                    {
                        "job": title,
                        "on": done,
                        "powder": material.name,
                        "used_kg": f"{max(float(material.kg) * draw.lognormal(0.08, 0.15), 0.01):.2f}",
                    }
                )


def _mishaps(
    tables: Table, draw: np.random.Generator, title: str, done: date, pieces: int, wiped: int, rejects: float
) -> None:
    bad_day = 4.0 if draw.random() < 0.06 else 0.8
    for found, tries, chance in (("before cure", wiped, TRUE_SPOILED), ("after cure", pieces, rejects)):
        failed = int(draw.binomial(tries, min(chance * bad_day, 0.6)))
        if failed:
            cause = "line bled" if found == "before cure" else str(draw.choice(CAUSES))
            tables["rework"].append({"job": title, "on": done, "parts": failed, "found": found, "cause": cause})


def _meters(tables: Table, draw: np.random.Generator) -> None:
    electricity, gas = 41200.0, 1830.0
    for month in range(13):
        on = (FIRST.replace(day=28) + timedelta(days=31 * month)).replace(day=1)
        electricity += draw.uniform(900, 1400)
        gas += draw.uniform(70, 190)
        tables["meters"] += [
            {"meter": "main", "on": on, "reading": f"{electricity:.0f}", "unit": "kWh", "carrier": "electricity"},
            {"meter": "large oven", "on": on, "reading": f"{gas:.0f}", "unit": "m3", "carrier": "gas"},
        ]


def mistyped(tables: Table) -> Table:
    """Put two slips of the pen into the log, for the screen that asks about them."""
    times = tables["times"]
    slips = [
        next(i for i, row in enumerate(times) if row["step"] == step and float(row["minutes"]) > 8)
        for step in ("wipe", "blast")
    ]
    for i, factor in zip(slips, (10.0, 0.02), strict=True):
        times[i] = times[i] | {"minutes": f"{float(times[i]['minutes']) * factor:.1f}"}
    return tables


def write(tables: Table, folder: Path) -> None:
    """Write one CSV for each table."""
    folder.mkdir(exist_ok=True)
    for kind, rows in tables.items():
        columns = list(dict.fromkeys(name for row in rows for name in row))
        with (folder / f"{kind}.csv").open("w", encoding="utf-8", newline="") as out:
            writer = csv.DictWriter(out, columns, lineterminator="\n", restval="")
            writer.writeheader()
            writer.writerows(rows)


if __name__ == "__main__":
    the_shop = open_shop()
    write(mistyped(demo(the_shop, read_items(the_shop))), FOLDER)
