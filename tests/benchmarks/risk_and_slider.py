"""How fast risk and a slider are, as ratios inside one interleaved run; and how exact.

    python tests/benchmarks/risk_and_slider.py             speed: a million draws, slider, shares
    python tests/benchmarks/risk_and_slider.py --exact     P50 and P95 against plain draws; noise with kept draws
    python tests/benchmarks/risk_and_slider.py --memory    peak memory of a million draws, in a process of its own

The floor of a million draws is drawing as many uniforms with SFC64, 8,192 at a time, in cache: one for each number
the job draws. All on one thread, NumPy only.
"""

import argparse
import gc
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from pricing.costing import strata
from pricing.costing.draws import LUCK, Known
from pricing.costing.job_cost import JobCost, known_of
from pricing.costing.plan import Plan
from pricing.costing.risk import Risk, plan_risk
from pricing.costing.shares import explain_mean, variance_shares
from pricing.parts.items import read_items
from pricing.parts.job import read_job
from pricing.prices.questions import WIPE_QUESTION
from pricing.shop import rates
from pricing.shop.folder import open_shop

ROOT = Path(__file__).parents[2]
MILLION = 1_000_000
KEPT = 16_384
CHUNK = 16_384


def interleaved(cases: dict[str, Callable[[], object]], rounds: int) -> dict[str, list[float]]:
    """Time cases A, B, C, A, B, C ... in seconds of the processor, with the garbage collector off.

    Time of the processor and not of the wall, since all runs on one thread and a neighbour must not count.
    """
    times: dict[str, list[float]] = {name: [] for name in cases}
    for run in cases.values():
        run()
    for _ in range(rounds):
        for name, run in cases.items():
            gc.collect()
            gc.disable()
            start = time.process_time()
            run()
            times[name].append(time.process_time() - start)
            gc.enable()
    return times


def show(times: dict[str, list[float]], floor: str) -> None:
    for name, each in times.items():
        ratios = [a / b for a, b in zip(each, times[floor], strict=True)]
        low, _, high = statistics.quantiles(ratios, n=4)
        print(
            f"{name:58s} {1e3 * statistics.median(each):9.2f} ms   {statistics.median(ratios):8.2f} x  [{low:.2f} - {high:.2f}]"
        )


def floor_of(streams: int) -> Callable[[], None]:
    rng, buffer = np.random.Generator(np.random.SFC64(1)), np.empty(8192)

    def run() -> None:
        for _ in range(streams * MILLION // 8192):
            rng.random(out=buffer)

    return run


def plain_draws(known: Known, key: str, rng: np.random.Generator, rows: int) -> Any:
    """Draw one number with NumPy's own distributions."""
    if key.startswith(LUCK):
        return rng.random(rows)
    p = known.uncertain[key]
    if p.shape == "lognormal":
        return rng.lognormal(np.log(p.likely), np.log(p.high / p.low) / (2 * rates.Z95), rows)
    mode = (p.likely - p.low) / (p.high - p.low)
    return p.low + (p.high - p.low) * rng.beta(1 + 4 * mode, 5 - 4 * mode, rows)


class PlainBook(dict[str, Any]):
    """The book with each number drawn by NumPy when it is read."""

    def __init__(self, known: Known, rng: np.random.Generator, rows: int) -> None:
        super().__init__({**known.certain, **known.means()})
        self._known, self._rng, self._rows = known, rng, rows
        self._drawn: set[str] = set()

    def __contains__(self, key: object) -> bool:
        return super().__contains__(key) or str(key).startswith(LUCK)

    def __getitem__(self, key: str) -> Any:
        points = self._known.uncertain.get(key)
        uncertain = key.startswith(LUCK) or (points is not None and points.low < points.high)
        if uncertain and key not in self._drawn:
            self[key] = plain_draws(self._known, key, self._rng, self._rows)
            self._drawn.add(key)
        return super().__getitem__(key)


def plainly(model: JobCost, known: Known, draws: int, seed: int = 1) -> Any:
    """Run the same functions on NumPy's own distributions, chunk by chunk."""
    rng = np.random.Generator(np.random.SFC64(seed))
    return np.concatenate(
        [np.asarray(model(PlainBook(known, rng, min(CHUNK, draws - at)))) for at in range(0, draws, CHUNK)]
    )


def speed() -> None:
    shop = open_shop()
    job = read_job(ROOT / "data" / "jobs" / "sign_letters.toml", shop, read_items(shop))
    known, model = known_of(shop), JobCost.of(shop, job)
    plan = Plan(model, known)
    assert plan.tape is not None
    streams = sum(atom.function is None for atom in plan.tape.atoms)
    answer = plan_risk(plan, known, seed=1, draws=MILLION)
    prices = np.linspace(float(answer.quantile(0.001)), float(answer.quantile(0.999)), 200)
    row = known.uncertain[WIPE_QUESTION]

    def ours() -> None:
        plan_risk(plan, known, seed=1, draws=MILLION).chance_of_loss(prices)

    def cold() -> None:
        for table in (strata._table, strata._pert, strata._lognormal):
            table.cache_clear()
        plan_risk(model, known, seed=1, draws=MILLION).chance_of_loss(prices)

    def as_it_is() -> None:
        untaped = Plan(model, known)
        untaped.tape = None
        plan_risk(untaped, known, seed=1, draws=MILLION).chance_of_loss(prices)

    def numpy_and_sort() -> None:
        costs = np.sort(plainly(model, known, MILLION))
        _ = 1 - np.searchsorted(costs, prices, side="right") / MILLION

    print(f"a million draws of the two-tone sign: {streams} numbers drawn, chance of loss at 200 prices")
    cases = {
        "floor: as many SFC64 uniforms": floor_of(streams),
        "ours, plan kept": ours,
        "ours, everything made anew": cold,
    }
    show(
        interleaved({**cases, "ours without the tape": as_it_is, "NumPy's distributions, sort": numpy_and_sort}, 7),
        "floor: as many SFC64 uniforms",
    )

    steps = iter(range(10_000))

    def slider() -> None:
        high = row.high * (1 + 0.001 * next(steps))
        moved = Known({**known.uncertain, WIPE_QUESTION: Points(row.low, row.likely, high)}, known.certain)
        found = plan_risk(plan.at(moved), moved, seed=1, draws=KEPT)
        found.quantile([0.05, 0.5, 0.95])
        found.chance_of_loss(prices)

    def bill() -> None:
        moved = known.fixed({"hour.owner": shop.book["hour.owner"] * (1 + 0.001 * next(steps))})
        plan_risk(plan.at(moved), moved, seed=1, draws=KEPT).chance_of_loss(prices)

    print(f"\na slider on {KEPT:,} kept draws, quantiles and 200 prices with it")
    kept = plan_risk(plan, known, seed=1, draws=KEPT)
    show(
        interleaved(
            {
                "an assumption moves": slider,
                "a bill or hour rate moves (new plan)": bill,
                "what matters most (all shares)": lambda: variance_shares(plan, known, seed=1),
                "why the mean is not the point quote": lambda: explain_mean(plan, known, kept),
            },
            15,
        ),
        "an assumption moves",
    )


class Points:
    """Three points of a moved slider."""

    shape = "pert"

    def __init__(self, low: float, likely: float, high: float) -> None:
        self.low, self.likely, self.high = low, likely, high


def exact() -> None:
    shop = open_shop()
    job = read_job(ROOT / "data" / "jobs" / "sign_letters.toml", shop, read_items(shop))
    known, model = known_of(shop), JobCost.of(shop, job)
    ours: Risk = plan_risk(model, known, seed=1, draws=MILLION)
    plain = np.concatenate([plainly(model, known, MILLION, seed=seed) for seed in range(1, 5)])
    print("quantiles of a million draws against four million plain ones; difference in standard errors")
    for share in (0.05, 0.5, 0.95):
        blocks = plain.reshape(40, -1)
        error = float(np.quantile(blocks, share, axis=1).std(ddof=1) / np.sqrt(40))
        both = error * np.sqrt(1 + len(plain) / MILLION)
        gap = float(ours.quantile(share)) - float(np.quantile(plain, share))
        print(
            f"  P{100 * share:g}: ours {float(ours.quantile(share)):.3f}, plain {np.quantile(plain, share):.3f}, {gap / both:+.2f} SE"
        )
    single = JobCost.of(shop, job, finish="single")
    both_plans = [Plan(m, known) for m in (model, single)]
    row = known.uncertain[WIPE_QUESTION]
    slower = Known(
        {**known.uncertain, WIPE_QUESTION: Points(row.low * 1.05, row.likely * 1.05, row.high * 1.05)}, known.certain
    )
    same, apart, moved, fresh = [], [], [], []
    for seed in range(200):
        two, one = (plan_risk(p, known, seed=seed, draws=8192).mean for p in both_plans)
        other = plan_risk(both_plans[1], known, seed=seed + 10_000, draws=8192).mean
        same.append(two - one)
        apart.append(two - other)
        after = both_plans[0].at(slower)
        moved.append(plan_risk(after, slower, seed=seed, draws=8192).mean - two)
        fresh.append(plan_risk(after, slower, seed=seed + 20_000, draws=8192).mean - two)
    print(f"two-tone less single-tone: variance {np.var(apart) / np.var(same):.1f} times lower on the same draws")
    print(f"a slider moved by 5 %: variance {np.var(fresh) / np.var(moved):.0f} times lower on kept draws")


def memory() -> None:
    code = (
        "import resource; from pricing.shop.folder import open_shop; from pricing.parts.items import read_items;"
        "from pricing.parts.job import read_job; from pricing.costing.job_cost import JobCost, known_of;"
        "from pricing.costing.risk import plan_risk; import numpy as np; shop = open_shop();"
        "job = read_job('data/jobs/sign_letters.toml', shop, read_items(shop)); known = known_of(shop);"
        "model = JobCost.of(shop, job); risk(model, known, seed=1, draws=16384).quantile(0.5);"
        "before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss;"
        "risk(model, known, seed=1, draws=1_000_000).chance_of_loss(np.linspace(200, 400, 200));"
        "print(before / 1024, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    before, peak = map(float, done.stdout.split())
    print(f"peak memory of the process {peak:.0f} MB, of which {peak - before:.0f} MB for the million draws")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--exact", action="store_true")
    parser.add_argument("--memory", action="store_true")
    wanted = parser.parse_args()
    if wanted.memory:
        memory()
    elif wanted.exact:
        exact()
    else:
        speed()
