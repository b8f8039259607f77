"""How fast a quote and a price list are, as ratios inside one interleaved run.

    python tests/benchmarks/quote_and_list.py            quote, list, growth, imports
    python tests/benchmarks/quote_and_list.py --sheet    the same list in a spreadsheet, recalculated hard

The spreadsheet holds one formula for each step of each row, with the amounts as numbers and every rate as a cell, so
that its sums are those of the model; LibreOffice runs headless and is driven by its own Python (package python3-uno).
"""

import argparse
import random
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from pricing.costing.sheet import cost, cost_of_work
from pricing.parts.items import Item, read_items
from pricing.parts.job import read_job
from pricing.parts.work import work_of_rows
from pricing.prices.price_list import price_list
from pricing.shop.folder import open_shop
from pricing.shop.shop import Shop

ROOT = Path(__file__).parents[2]
QUANTITIES = (1, 2, 5, 10, 20, 50)


def interleaved(cases: dict[str, Callable[[], object]], rounds: int, repeat: int) -> dict[str, list[float]]:
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
            "area_m2": part.area_m2 * f, "mass_kg": part.mass_kg * f, "edge_m": part.edge_m * f,
            "line_m": part.line_m * f, "thickness_mm": part.thickness_mm * rng.uniform(0.7, 1.2),
        }  # fmt: skip
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


def bare(shop: Shop, job: object) -> Callable[[], list[BareLine]]:
    """Give the same sums as plain Python on numbers at hand: no checks, no sums in words, no choice of oven."""
    sheet = cost(shop, job)  # type: ignore[arg-type]
    book = dict(sheet.book)
    plan = []
    for line in sheet.lines:
        hands = [(float(t.amount), t.key) for u in line.uses for t in u.terms if t.gives == "hands"]
        supplies = [(float(t.amount), t.key) for u in line.uses for t in u.terms if t.gives == "supplies"]
        held = [(float(minutes), f"hour.{name}") for name, minutes in line.machine_min.items()]
        kilos = [
            (float(m.kg), f"price.{m.name}" if m.name in shop.powders else m.keys[-1])
            for u in line.uses
            for m in u.materials
        ]
        share = float(line.helper_min / line.minutes) if line.minutes else 0.0
        plan.append((line.id, hands, supplies, held, kilos, share, float(line.electricity_kwh), float(line.gas_kwh)))

    def run() -> list[BareLine]:
        lines = []
        rest, owner, helper = 1 + book["rest.allowance"], book["hour.owner"] / 60, book["hour.helper"] / 60
        overhead, electricity, gas = book["hour.overhead"] / 60, book["tariff.electricity"], book["tariff.gas"]
        for name, hands, supplies, held, kilos, share, kwh, gas_kwh in plan:
            minutes = rest * sum(amount * book[key] for amount, key in hands)
            cash = sum(amount * book[key] for amount, key in supplies) + sum(kg * book[key] for kg, key in kilos)
            cash += kwh * electricity + gas_kwh * gas + minutes * share * helper
            machines = sum(m * book[key] / 60 for m, key in held)
            lines.append(BareLine(name, cash, minutes * (1 - share) * owner, machines, minutes * overhead))
        return lines

    assert abs(sum(l.cash + l.labour + l.machines + l.overhead for l in run()) - float(sheet.total)) < 1e-6
    return run


def report(name: str, times: list[float], scale: float, unit: str) -> None:
    """Print median and spread."""
    low, middle, high = min(times), statistics.median(times), max(times)
    print(f"{name:44s} {middle * scale:9.2f} {unit}   [{low * scale:.2f} to {high * scale:.2f}]")


def quote_and_list(shop: Shop, items: dict[str, Item]) -> None:
    """Time one quote against bare Python, and lists of 500 and of 50 items."""
    job = read_job(ROOT / "data" / "jobs" / "sign_letters.toml", shop, items)
    plain = bare(shop, job)
    times = interleaved({"quote with lines and provenance": lambda: cost(shop, job), "bare": plain}, 15, 100)
    for name, seconds in times.items():
        report(name, seconds, 1e6, "us")
    ratios = [a / b for a, b in zip(times["quote with lines and provenance"], times["bare"], strict=True)]
    print(f"quote over bare: {statistics.median(ratios):.1f} times")
    long, short = many_items(items, 500), many_items(items, 50)
    cases = {
        "list, 500 x 2 x 6": lambda: price_list(shop, long, quantities=QUANTITIES),
        "list, 50 x 2 x 6": lambda: price_list(shop, short, quantities=QUANTITIES),
    }
    times = interleaved(cases, 15, 5)
    for name, seconds in times.items():
        report(name, seconds, 1e3, "ms")
    ratios = [a / (10 * b) for a, b in zip(*times.values(), strict=True)]
    print(f"time a row, 6,000 rows over 600 rows: {statistics.median(ratios):.2f} times")


def processes() -> None:
    """Time whole processes: imports and the command line."""
    cases = {
        "python -c 'import numpy'": ["-c", "import numpy"],
        "python -c 'import pricing'": ["-c", "import pricing"],
        "python -m pricing --version": ["-m", "pricing", "--version"],
        "python -m pricing quote": ["-m", "pricing", "quote", "sign_letters"],
    }
    runs = {
        name: (lambda words=words: subprocess.run([sys.executable, *words], cwd=ROOT, capture_output=True, check=True))
        for name, words in cases.items()
    }
    for name, seconds in interleaved(runs, 7, 1).items():
        report(name, seconds, 1e3, "ms")


def write_sheet(path: Path, shop: Shop, items: dict[str, Item]) -> int:
    """Write the list as a spreadsheet of live formulas; gives how many."""
    import xlsxwriter

    book = dict(shop.book)
    cell = {key: f"$rates.$B${at + 1}".replace("$rates.", "rates!") for at, key in enumerate(book)}
    with xlsxwriter.Workbook(str(path)) as out:
        listed, rates = out.add_worksheet("list"), out.add_worksheet("rates")
        for at, (key, value) in enumerate(book.items()):
            rates.write_row(at, 0, [key, value])
        row = count = 0
        for column in ("single", "two_tone"):
            finish = shop.finishes[getattr(next(iter(items.values())), column)]
            powders = [shop.powders[name] for name in ("jet black", "signal white")]
            rows = [item for item in items.values() for _ in QUANTITIES]
            counts = np.tile(np.asarray(QUANTITIES, dtype=float), len(items))
            sheet = cost_of_work(shop, work_of_rows(rows, counts, shop), finish, powders)
            for n in range(len(rows)):
                formulas = [_formula(use, line, n, cell, shop) for line in sheet.lines for use in line.uses]
                formulas = [text for text in formulas if text]
                for at, text in enumerate(formulas):
                    listed.write_formula(row, at + 3, f"={text}")
                last = len(formulas) + 2
                listed.write_formula(row, 0, f"=SUM(D{row + 1}:{_letters(last)}{row + 1})")
                listed.write_formula(row, 1, f"=CEILING(MAX(A{row + 1}/0.75,60)/{counts[n]:.0f},5)")
                count += len(formulas) + 2
                row += 1
    return count


def _letters(at: int) -> str:
    return (chr(64 + at // 26) if at >= 26 else "") + chr(65 + at % 26)


def _formula(use: object, line: object, n: int, cell: dict[str, str], shop: Shop) -> str:
    def at(value: object) -> float:
        return float(np.broadcast_to(value, (n + 1,))[n]) if np.ndim(value) == 0 else float(value[n])  # type: ignore[index]

    terms = [(t.gives, at(t.amount), cell[t.key]) for t in use.terms]  # type: ignore[attr-defined]
    hands = "+".join(f"{amount!r}*{key}" for gives, amount, key in terms if gives == "hands" and amount)
    parts = [f"{amount!r}*{key}" for gives, amount, key in terms if gives == "supplies" and amount]
    station = [name for name in use.machine_min if name not in {o.name for o in shop.machines.oven}]  # type: ignore[attr-defined]
    if hands:
        per = "+".join(f"{cell[f'hour.{name}']}/60" for name in ("owner", "overhead", *station[:1]))
        parts.append(f"({hands})*(1+{cell['rest.allowance']})*({per})")
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
for _ in range(120):
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


def spreadsheet(shop: Shop, items: dict[str, Item], rounds: int = 9) -> None:
    """Time LibreOffice's hard recalculation of the list against ours, in turn."""
    long = many_items(items, 500)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "list.xlsx"
        count = write_sheet(path, shop, long)
        print(f"{count} formulas over 6,000 rows")
        price_list(shop, long, quantities=QUANTITIES)
        there = subprocess.Popen(
            ["/usr/bin/python3", "-c", UNO, str(path), str(rounds), "20021", f"{folder}/profile"],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        )  # fmt: skip
        assert there.stdin
        assert there.stdout
        ratios, ours, theirs = [], [], []
        for _ in range(rounds):
            theirs.append(float(there.stdout.readline()))
            ours += interleaved({"": lambda: price_list(shop, long, quantities=QUANTITIES)}, 5, 1)[""][-5:]
            ratios.append(theirs[-1] / statistics.median(ours[-5:]))
            there.stdin.write("\n")
            there.stdin.flush()
        there.wait(60)
    report("hard recalculation in the spreadsheet", theirs, 1e3, "ms")
    report("price list here", ours, 1e3, "ms")
    print(f"here {statistics.median(ratios):.0f} times faster [{min(ratios):.0f} to {max(ratios):.0f}]")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sheet", action="store_true")
    demo = open_shop()
    if parser.parse_args().sheet:
        spreadsheet(demo, read_items(demo))
    else:
        quote_and_list(demo, read_items(demo))
        processes()
