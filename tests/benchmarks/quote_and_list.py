"""How fast a quote and a price list are, as ratios inside one interleaved run.

    python -m tests.benchmarks.quote_and_list                      quote, list, growth, imports
    python -m tests.benchmarks.quote_and_list --sheet --items 500  the same list in a spreadsheet, recalculated hard

A quote is all of it: cost sheet, tariff, price, marks, deposit. Plain Python makes the same sums on numbers at hand, the
tariff of a row of the list among them where rates have moved. The spreadsheet holds one formula for each step of each
row and number of units that a tariff is laid on, with the amounts as numbers and every rate as a cell, so that its sums
are those of the model; it lays a line through the ends of the range only, which is less than we do. LibreOffice runs
headless and is driven by its own Python (package python3-uno).
"""

import argparse
import math
import random
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from pricing.costing.sheet import CostSheet, cost, cost_of_work
from pricing.parts.items import Item, read_items
from pricing.parts.job import Job, read_job
from pricing.parts.work import work_of_rows
from pricing.prices.marks import walk_away
from pricing.prices.price_list import price_list
from pricing.prices.quote import quote
from pricing.prices.row_costs import base_colours
from pricing.prices.tariff_fit import counts_of
from pricing.shop.folder import open_shop
from pricing.shop.policy import PricePoint
from pricing.shop.shop import Book, Shop

ROOT = Path(__file__).parents[2]
QUANTITIES = (1, 2, 5, 10, 20, 50)


def interleaved(cases: Mapping[str, Callable[[], object]], rounds: int, repeat: int) -> dict[str, list[float]]:
    """Time cases A, B, C, A, B, C ... in seconds."""
    times: dict[str, list[float]] = {name: [] for name in cases}
    for _ in range(rounds):
        for name, run in cases.items():
            start = time.perf_counter()
            for _ in range(repeat):
                run()
            times[name].append((time.perf_counter() - start) / repeat)
    return times


def many_items(items: dict[str, Item], count: int) -> dict[str, Item]:
    """Make a long list: the demo's items with their measures varied, in two stock powders."""
    rng, base, made = random.Random(7), list(items.values()), {}
    for n in range(count):
        item = rng.choice(base)
        part, f = item.part, rng.uniform(0.6, 1.3)
        changes = {
            "area_m2": part.area_m2 * f,
            "mass_kg": part.mass_kg * f,
            "edge_m": part.edge_m * f,
            "line_m": part.line_m * f,
            "thickness_mm": part.thickness_mm * rng.uniform(0.7, 1.2),
        }
        key = f"{item.key}_{n}"
        made[key] = item.model_copy(
            update={"key": key, "part": part.model_copy(update=changes), "powders": ("jet black", "signal white")}
        )
    return made


@dataclass(frozen=True)
class BareLine:
    """A line of the bare computation: a name and four kinds of money."""

    step: str
    cash: float
    labour: float
    machines: float
    overhead: float


Plain = Callable[[], list[BareLine]]


def bare(shop: Shop, sheet: CostSheet, at: int = 0) -> Plain:
    """Return the sums of one sheet, or of one row of many, as plain Python on numbers at hand: no checks, no words."""
    book: dict[str, float] = {key: float(value) for key, value in sheet.book.items()}

    def of(value: Any) -> float:
        return float(value[at]) if np.ndim(value) else float(value)

    plan = []
    for line in sheet.lines:
        hands = [(of(t.amount), t.key) for u in line.uses for t in u.terms if t.gives == "hands"]
        supplies = [(of(t.amount), t.key) for u in line.uses for t in u.terms if t.gives == "supplies"]
        held = [(of(minutes), f"hour.{name}") for name, minutes in line.machine_min.items()]
        kilos = [
            (of(m.kg), f"price.{m.name}" if m.name in shop.powders else m.keys[-1])
            for u in line.uses
            for m in u.materials
        ]
        minutes = of(line.minutes)
        share, waited = (
            of(line.helper_min) / minutes if minutes else 0.0,
            sum(of(u.detail.get("waiting_min", 0.0)) for u in line.uses),
        )
        energy = of(line.electricity_kwh), of(line.gas_kwh)
        plan.append((line.id, hands, waited, supplies, held, kilos, share, *energy))

    def run() -> list[BareLine]:
        lines = []
        rest, owner, helper = 1 + book["rest.allowance"], book["hour.owner"] / 60, book["hour.helper"] / 60
        overhead, electricity, gas = book["hour.overhead"] / 60, book["tariff.electricity"], book["tariff.gas"]
        for name, hands, waited, supplies, held, kilos, share, kwh, gas_kwh in plan:
            minutes = rest * sum(amount * book[key] for amount, key in hands) + waited
            cash = sum(amount * book[key] for amount, key in supplies) + sum(kg * book[key] for kg, key in kilos)
            cash += kwh * electricity + gas_kwh * gas + minutes * share * helper
            machines = sum(m * book[key] / 60 for m, key in held)
            lines.append(BareLine(name, cash, minutes * (1 - share) * owner, machines, minutes * overhead))
        return lines

    assert abs(whole(run()) - of(sheet.total)) < 1e-6 * of(sheet.total)
    return run


def whole(lines: list[BareLine]) -> float:
    """Add up all four kinds of money."""
    return sum(line.cash + line.labour + line.machines + line.overhead for line in lines)


def up(price: float, points: tuple[PricePoint, ...]) -> float:
    """Round up to price points."""
    step = next((point.step for point in points if price <= point.up_to), points[-1].step)
    return math.ceil(price / step - 1e-9) * step


def bare_tariff(shop: Shop, job: Job, column: str, book: Book) -> Callable[[], tuple[float, float]]:
    """Find first and each further of the job's row as plain Python: costs of all numbers, the hull, the rounding."""
    policy, item = shop.policy, job.lots[0].item
    assert item is not None
    counts, key = counts_of(policy), getattr(item, column)
    work = work_of_rows([item] * len(counts), np.asarray(counts, dtype=float), shop)
    sheets = [cost_of_work(shop, work, shop.finishes[key], p, book=book) for p in base_colours(shop, key)]
    plans = [[bare(shop, sheet, at) for sheet in sheets] for at in range(len(counts))]
    near, keep = policy.list_up_to, 1 - policy.target_margin

    def run() -> tuple[float, float]:
        target = [max(whole(plan()) for plan in of_count) / keep for of_count in plans]
        weights = [1 / amount for amount in target[:near]]
        middle = sum(w * n for w, n in zip(weights, counts, strict=False)) / sum(weights)
        best, each = -math.inf, 0.0
        for at, left in enumerate(counts[:near]):
            for to in range(at + 1, len(counts)):
                if left <= middle < counts[to]:
                    slope = (target[to] - target[at]) / (counts[to] - left)
                    height = target[at] + slope * (middle - left)
                    if height > best:
                        best, each = height, slope
        each = max(each, (target[-1] - target[-2]) / (counts[-1] - counts[-2]))
        setup = max(amount - each * n for amount, n in zip(target, counts, strict=True))
        return up(setup + each, policy.price_points), up(each, policy.each_points)

    return run


def bare_quote(shop: Shop, job: Job, book: Book | None) -> Callable[[], tuple[float, ...]]:
    """Find price, four marks and deposit of a job of one listed part; its tariff is known, or laid where rates moved."""
    found, policy = quote(shop, job, book=book), shop.policy
    sheet, line = found.sheet, found.lines[0]
    sums, early = bare(shop, sheet), walk_away(sheet)
    column = "two_tone" if found.finish == (job.lots[0].item and job.lots[0].item.two_tone) else "single"
    laid = bare_tariff(shop, job, column, book) if book is not None else None
    scarce_h = float(sheet.hours_of(policy.scarce.resource))

    def run() -> tuple[float, ...]:
        lines = sums()
        first, each = laid() if laid else (line.tariff.first, line.tariff.each)
        price = max(first + (line.count - 1) * each, policy.minimum_charge)
        total, cash = whole(lines), sum(one.cash for one in lines)
        least = min(price, up(max(price * policy.deposit, early), policy.price_points))
        return (
            price,
            cash,
            total,
            total / (1 - policy.target_margin),
            cash + scarce_h * policy.scarce.worth_per_h,
            least,
        )

    marks = found.marks
    asked = [float(x) for x in (found.net, marks.cash_floor, marks.break_even, marks.target, marks.scarce)]
    assert np.allclose(run(), [*asked, found.deposit]), (run(), asked)
    return run


def report(name: str, times: list[float], scale: float, unit: str) -> None:
    """Print median and spread."""
    low, middle, high = min(times), statistics.median(times), max(times)
    print(f"{name:44s} {middle * scale:9.2f} {unit}   [{low * scale:.2f} to {high * scale:.2f}]")


def quote_and_list(shop: Shop, items: dict[str, Item]) -> None:
    """Time whole quotes against plain Python, and lists of 500 and of 50 items."""
    job = read_job(ROOT / "data" / "jobs" / "sign_letters.toml", shop, items)
    moved = {**shop.book, "wipe.line_m.hands": 1.1 * shop.book["wipe.line_m.hands"]}

    def asked(book: Book | None = None) -> object:
        found = quote(shop, job, book=book)
        return found.net, found.marks, found.deposit, found.margin_share

    for name, book, repeat in (
        ("its row of the list known", None, 100),
        ("a rate moved, its row laid anew", moved, 10),
    ):
        cases: dict[str, Callable[[], object]] = {
            f"quote, {name}": partial(asked, book),
            "  in plain Python": bare_quote(shop, job, book),
            "  the cost sheet alone": partial(cost, shop, job, book=book),
        }
        ours, plain, sheet = (times := interleaved(cases, 15, repeat)).values()
        for told, seconds in times.items():
            report(told, seconds, 1e6, "us")
        over, of_it = (statistics.median(a / b for a, b in zip(ours, other, strict=True)) for other in (plain, sheet))
        print(f"  quote over plain Python: {over:.1f} times; over its cost sheet: {of_it:.2f} times")
    long, short = many_items(items, 500), many_items(items, 50)
    lists: dict[str, Callable[[], object]] = {
        "list with tariffs, 500 x 2": lambda: price_list(shop, long, quantities=QUANTITIES),
        "list with tariffs, 50 x 2": lambda: price_list(shop, short, quantities=QUANTITIES),
        "list with tariffs, the demo's": lambda: price_list(shop, items, quantities=QUANTITIES),
    }
    times = interleaved(lists, 15, 3)
    for name, seconds in times.items():
        report(name, seconds, 1e3, "ms")
    ratios = [a / (10 * b) for a, b in zip(*list(times.values())[:2], strict=True)]
    print(f"time a row, 1,000 rows over 100 rows: {statistics.median(ratios):.2f} times")


def processes() -> None:
    """Time whole processes: imports and the command line."""
    cases = {
        "python -c 'import numpy'": ["-c", "import numpy"],
        "python -c 'import pricing'": ["-c", "import pricing"],
        "python -m pricing --version": ["-m", "pricing", "--version"],
        "python -m pricing quote": ["-m", "pricing", "quote", "sign_letters"],
    }
    run = partial(subprocess.run, cwd=ROOT, capture_output=True, check=True)
    runs = {name: partial(run, [sys.executable, *words]) for name, words in cases.items()}
    for name, seconds in interleaved(runs, 7, 1).items():
        report(name, seconds, 1e3, "ms")


def write_sheet(path: Path, shop: Shop, items: dict[str, Item]) -> int:
    """Write the list with its tariffs as a spreadsheet of live formulas; gives how many."""
    import xlsxwriter

    book, counts, policy = dict(shop.book), counts_of(shop.policy), shop.policy
    cell = {key: f"rates!$B${at + 1}" for at, key in enumerate(book)}
    with xlsxwriter.Workbook(str(path), {"constant_memory": True}) as out:
        rates, listed = out.add_worksheet("rates"), out.add_worksheet("list")
        for at, (key, value) in enumerate(book.items()):
            rates.write_row(at, 0, [key, value])
        row = written = 0
        for column in ("single", "two_tone"):
            finish = shop.finishes[getattr(next(iter(items.values())), column)]
            powders = base_colours(shop, getattr(next(iter(items.values())), column))[0]
            rows = [item for item in items.values() for _ in counts]
            numbers = np.tile(np.asarray(counts, dtype=float), len(items))
            sheet = cost_of_work(shop, work_of_rows(rows, numbers, shop), finish, powders)
            for n in range(len(rows)):
                first = row - n % len(counts) + 1  # of the same item, counted from 1
                formulas = [text for line in sheet.lines for use in line.uses if (text := _formula(use, n, cell, shop))]
                last = len(formulas) + 2
                made = [f"SUM(D{row + 1}:{_letters(last)}{row + 1})", f"A{row + 1}/{1 - policy.target_margin}"]
                if n % len(counts) == policy.list_up_to - 1:
                    made.append(f"CEILING((B{row + 1}-B{first})/{policy.list_up_to - 1},1)")
                else:
                    made.append(f"CEILING(B{row + 1},5)")
                for at, text in enumerate([*made, *formulas]):
                    listed.write_formula(row, at, f"={text}")
                written += len(formulas) + len(made)
                row += 1
    return written


def _letters(at: int) -> str:
    return (chr(64 + at // 26) if at >= 26 else "") + chr(65 + at % 26)


def _formula(use: object, n: int, cell: dict[str, str], shop: Shop) -> str:
    def at(value: Any) -> float:
        return float(value[n]) if np.ndim(value) else float(value)

    terms = [(t.gives, at(t.amount), cell[t.key]) for t in use.terms]  # type: ignore[attr-defined]
    hands = "+".join(f"{amount!r}*{key}" for gives, amount, key in terms if gives == "hands" and amount)
    parts = [f"{amount!r}*{key}" for gives, amount, key in terms if gives == "supplies" and amount]
    station = [name for name in use.machine_min if name not in {o.name for o in shop.machines.oven}]  # type: ignore[attr-defined]
    if hands:
        per = "+".join(f"{cell[f'hour.{name}']}/60" for name in ("owner", "overhead", *station[:1]))
        waited = at(use.detail.get("waiting_min", 0.0))  # type: ignore[attr-defined]
        parts.append(f"(({hands})*(1+{cell['rest.allowance']})+{waited!r})*({per})")
    for name, held in use.machine_min.items():  # type: ignore[attr-defined]
        if name not in station[:1] and at(held):
            parts.append(f"{at(held)!r}*{cell[f'hour.{name}']}/60")
    for material in use.materials:  # type: ignore[attr-defined]
        key = f"price.{material.name}" if material.name in shop.powders else material.keys[-1]
        parts.append(f"{at(material.kg)!r}*{cell[key]}")
    for kwh, key in ((use.electricity_kwh, "tariff.electricity"), (use.gas_kwh, "tariff.gas")):  # type: ignore[attr-defined]
        if at(kwh):
            parts.append(f"{at(kwh)!r}*{cell[key]}")
    return "+".join(parts)


UNO = """
import sys, time, subprocess, uno
from com.sun.star.beans import PropertyValue
path, rounds = sys.argv[1], int(sys.argv[2])
office = subprocess.Popen(['soffice', '--headless', '--norestore', '--accept=socket,host=127.0.0.1,port=%s;urp;' % sys.argv[3],
                           '-env:UserInstallation=file://' + sys.argv[4]], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
local = uno.getComponentContext()
resolver = local.ServiceManager.createInstanceWithContext('com.sun.star.bridge.UnoUrlResolver', local)
for _ in range(600):
    try:
        there = resolver.resolve('uno:socket,host=127.0.0.1,port=%s;urp;StarOffice.ComponentContext' % sys.argv[3]); break
    except Exception: time.sleep(0.5)
desk = there.ServiceManager.createInstanceWithContext('com.sun.star.frame.Desktop', there)
hidden = PropertyValue(); hidden.Name = 'Hidden'; hidden.Value = True
book = desk.loadComponentFromURL('file://' + path, '_blank', 0, (hidden,))
book.calculateAll()
for _ in range(rounds):
    start = time.perf_counter(); book.calculateAll(); print(time.perf_counter() - start, flush=True)
    sys.stdin.readline()
book.close(True); desk.terminate()
"""


def spreadsheet(shop: Shop, items: dict[str, Item], many: int, rounds: int = 7) -> None:
    """Time LibreOffice's hard recalculation of the list against ours, in turn."""
    long = many_items(items, many)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "list.xlsx"
        count = write_sheet(path, shop, long)
        print(
            f"{count:,} formulas for {many} items in two finishes, {len(counts_of(shop.policy))} numbers of units each"
        )
        price_list(shop, long)
        there = subprocess.Popen(
            ["/usr/bin/python3", "-c", UNO, str(path), str(rounds), "20021", f"{folder}/profile"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        assert there.stdin
        assert there.stdout
        ratios, ours, theirs = [], [], []
        for _ in range(rounds):
            theirs.append(float(there.stdout.readline()))
            ours += interleaved({"": lambda: price_list(shop, long)}, 5, 1)[""][-5:]
            ratios.append(theirs[-1] / statistics.median(ours[-5:]))
            there.stdin.write("\n")
            there.stdin.flush()
        there.wait(60)
    report("hard recalculation in the spreadsheet", theirs, 1e3, "ms")
    report("price list with tariffs here", ours, 1e3, "ms")
    print(f"here {statistics.median(ratios):.0f} times faster [{min(ratios):.0f} to {max(ratios):.0f}]")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sheet", action="store_true")
    parser.add_argument("--items", type=int, default=500)
    demo, given = open_shop(), parser.parse_args()
    if given.sheet:
        spreadsheet(demo, read_items(demo), given.items)
    else:
        quote_and_list(demo, read_items(demo))
        processes()
