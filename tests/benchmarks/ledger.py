"""Speed and truth of the calibration together, on ledgers of a million rows.

Run it by hand: ``python -m tests.benchmarks.ledger``; it takes some minutes and is no part of the tests.
A ledger has 40 steps with a set-up time and a rate each, log-normal noise, and 5 % gross overruns.

speed      our fit against statsmodels' RLM on the same columns, interleaved, median of the ratios
memory     peak of a process that makes the ledger and fits it
coverage   how often the 95 % intervals of the 40 rates hold the truth, over repeated ledgers
"""

import gc
import resource
import subprocess
import sys
import time
import warnings
from typing import NamedTuple

import numpy as np

from pricing.ledger.fit import Guess, StepFit, fit_step

STEPS, ROWS = 40, 1_000_000
GUESSES = [[Guess("job", 5.0, 10.0, 20.0), Guess("line_m", 1.0, 4.0, 10.0)]] * STEPS


class Made(NamedTuple):
    """A ledger and the truth it was made with."""

    steps: np.ndarray
    minutes: np.ndarray
    amounts: np.ndarray
    rates: np.ndarray


def make(seed: int, rows: int = ROWS, *, odd: float = 0.05, odd_kind: str = "overruns") -> Made:
    """Make a ledger; ``odd_kind`` is overruns (3 to 10 times as long) or typos (as often as short)."""
    draw = np.random.default_rng(seed)
    rates = np.stack([draw.uniform(3, 20, STEPS), draw.uniform(1, 10, STEPS)], axis=1)
    spread = np.log(draw.uniform(1.2, 1.6, STEPS))
    steps = draw.integers(STEPS, size=rows)
    amounts = np.stack([np.ones(rows), draw.lognormal(0, 0.6, rows)], axis=1)
    minutes = (amounts * rates[steps]).sum(axis=1) * np.exp(spread[steps] * draw.standard_normal(rows))
    factor = draw.uniform(3, 10, rows)
    if odd_kind == "typos":
        factor = np.where(draw.random(rows) < 0.5, factor, 1 / factor)
    return Made(steps, np.where(draw.random(rows) < odd, minutes * factor, minutes), amounts, rates)


def ours(made: Made) -> list[StepFit]:
    """Fit all steps from columns, without a record per row."""
    order = np.argsort(made.steps.astype(np.uint8), kind="stable")  # a radix sort, one pass
    minutes, amounts = np.take(made.minutes, order), np.take(made.amounts, order, axis=0)
    ends = np.cumsum([0, *np.bincount(made.steps, minlength=STEPS)])
    return [
        fit_step(minutes[first:last], amounts[first:last], mine)
        for mine, first, last in zip(GUESSES, ends[:-1], ends[1:], strict=True)
    ]


def theirs(made: Made) -> list[np.ndarray]:
    """Fit all steps by robust linear regression of the library."""
    from statsmodels.api import RLM

    found = []
    for step in range(STEPS):
        rows = made.steps == step
        found.append(RLM(made.minutes[rows], made.amounts[rows]).fit().params)
    return found


def held(made: Made) -> np.ndarray:
    """Tell whether the 95 % intervals of set-ups and rates (40, 2) hold the truth."""
    ends = np.array([fit.rate_interval(0.95) for fit in ours(made)])
    return (ends[:, 0] < made.rates) & (made.rates < ends[:, 1])


def speed(rounds: int = 7) -> None:
    """Print both times and their ratio."""
    made, told = make(1), []
    ours(made)
    gc.disable()
    for _ in range(rounds):
        clock = [time.perf_counter()]
        for run in (ours, theirs):
            run(made)
            clock.append(time.perf_counter())
        told.append(np.diff(clock))
    gc.enable()
    mine, other = np.array(told).T
    ratio = np.median(other / mine)
    print(f"speed: ours {np.median(mine):.3f} s, RLM {np.median(other):.2f} s, ratio {ratio:.1f} (goal 10)")


def memory() -> None:
    """Print the peak of a process of its own."""
    code = "from tests.benchmarks.ledger import make, ours; ours(make(1))"
    subprocess.run([sys.executable, "-c", code], check=True)
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    print(f"memory: {peak:.0f} MB at most, the ledger included (goal 1024)")


def coverage(ledgers: int, rows: int, odd: float, odd_kind: str) -> None:
    """Print how often the intervals held the truth."""
    inside = np.mean([held(make(seed, rows, odd=odd, odd_kind=odd_kind)) for seed in range(ledgers)], axis=(0, 1))
    error = 100 * np.sqrt(0.95 * 0.05 / (ledgers * STEPS))
    words = f"{rows} rows, {odd:.0%} {odd_kind}, {ledgers} ledgers"
    print(
        f"coverage: set-ups {inside[0]:.1%}, rates {inside[1]:.1%} (goal 93 to 97 %, give or take {error:.1f}); {words}"
    )


def main() -> None:
    """Run all three."""
    warnings.simplefilter("ignore")
    memory()
    speed()
    for rows, ledgers in ((ROWS, 40), (100_000, 100), (20_000, 200)):
        for odd, odd_kind in ((0.05, "overruns"), (0.05, "typos"), (0.0, "overruns")):
            coverage(ledgers, rows, odd, odd_kind)


if __name__ == "__main__":
    main()
