"""Said and lost: does a chance of loss keep its word in worlds that the tests make?

    python -m tests.benchmarks.how_sure            all worlds (about ten minutes)
    python -m tests.benchmarks.how_sure --few      fewer shops

A world is many shops. Each has true rates of its own, a spread of its own for each step, with or without a factor that
a whole job shares; its minutes are gamma or log-normal, not always as the workbook draws them. ``as known`` takes true
rates from the very doubt the owner has; ``right``, ``slow``, ``fast`` put them on the means, 30 % above, 30 % below,
which no owner knows. A shop logs 0, 30, 100 or 300 jobs and takes what the log proposes; then it quotes, at prices from
far under to far over cost, and the share that lost is held against the chance that was said, in ten bins.
"""

import argparse
import sys
from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from pricing.costing.draws import BLOCK, Sampler
from pricing.costing.job_cost import JobCost, known_of
from pricing.costing.plan import Plan
from pricing.costing.risk import plan_risk
from pricing.costing.sheet import cost
from pricing.costing.spread import SPREADS, spread_row
from pricing.costing.strata import STRATA, strata
from pricing.ledger.calibrate import calibrate
from pricing.ledger.proposals import propose, with_row
from pricing.ledger.quotes import amounts_of
from pricing.ledger.spreads import learn_spreads
from pricing.parts.items import read_items
from pricing.parts.job import Job, job_of_item
from pricing.shop.folder import open_shop
from pricing.shop.shop import Shop
from pricing.steps.uneven import SHARED_JOB, SHARED_OWNER, VARY

Array = npt.NDArray[np.float64]
BINS = np.linspace(0, 1, 11)
LOGGED = (0, 30, 100, 300)
TRIALS = 2048  # jobs that are really done of each kind quoted
KINDS = 10


class World(NamedTuple):
    """How its shops are made."""

    name: str
    shared: float  # log spread of a job's factor
    speed: float | None  # times the minutes of the means; None takes it from what is believed
    steps: tuple[float, float] = (0.22, 0.36)  # log spread of a step, between
    gamma: bool = False

    def factor(self, draw: np.random.Generator, spread: Any, size: int) -> Array:
        """Factors with a mean of 1."""
        if self.gamma:
            shape = 1 / np.expm1(np.square(spread))
            return draw.gamma(shape, 1 / shape, size)
        return np.exp(spread * draw.standard_normal(size) - np.square(spread) / 2)


WORLDS = (
    World("as known, jobs share a factor", 0.18, None),
    World("as known, gamma", 0.18, None, gamma=True),
    World("as known, jobs share nothing", 0.0, None),
    World("rates right, jobs share a factor", 0.18, 1.0),
    World("rates right, jobs share nothing", 0.0, 1.0),
    World("30 % slower, jobs share a factor", 0.18, 1.3),
    World("30 % slower, jobs share nothing", 0.0, 1.3),
    World("30 % faster, jobs share a factor", 0.18, 1 / 1.3),
)


class Truth(NamedTuple):
    """One shop as it really is."""

    book: dict[str, float]
    steps: dict[str, float]
    speed: float


def truths_of(world: World, shop: Shop, shops: int, draw: np.random.Generator) -> list[Truth]:
    """Make true rates and spreads of all shops of a world: each number evenly over what it may be (Latin hypercube)."""
    known = known_of(shop)
    spread = {
        key: strata(row)[((draw.permutation(shops) + 0.5) / shops * STRATA).astype(int)]
        for key, row in known.drawn.items()
        if key in shop.book or key == SHARED_OWNER
    }
    names = sorted({key.split(".")[0] for key in shop.rates})
    found = []
    for at in range(shops):
        own = {key: float(values[at]) for key, values in spread.items()} if world.speed is None else {}
        speed = own.pop(SHARED_OWNER, world.speed or 1.0)
        found.append(Truth(dict(shop.book) | own, {name: float(draw.uniform(*world.steps)) for name in names}, speed))
    return found


class Real(dict[str, Any]):
    """The book of jobs as they really go: true rates, factors of the world, luck."""

    def __init__(self, world: World, truth: Truth, draw: np.random.Generator, rows: int) -> None:
        super().__init__(truth.book)
        self._made = lambda key: (
            world.factor(draw, truth.steps[key.removeprefix(VARY)], rows) if key.startswith(VARY) else draw.random(rows)
        )
        self[SHARED_OWNER] = truth.speed
        self[SHARED_JOB] = world.factor(draw, world.shared, rows) if world.shared else np.ones(rows)

    def __contains__(self, key: object) -> bool:
        return super().__contains__(key) or str(key).startswith(("luck.", VARY))

    def __missing__(self, key: str) -> Any:
        self[key] = self._made(key)
        return self[key]


def log_of(
    world: World, truth: Truth, shop: Shop, jobs: Sequence[Job], count: int, draw: np.random.Generator
) -> list[dict[str, Any]]:
    """Log the minutes of some jobs, as the ledger's rows."""
    rows: list[dict[str, Any]] = []
    for at in range(count):
        job = jobs[int(draw.integers(len(jobs)))]
        job = job.model_copy(update={"lots": (job.lots[0].model_copy(update={"quantity": int(draw.integers(1, 12))}),)})
        shared = truth.speed * (float(world.factor(draw, world.shared, 1)[0]) if world.shared else 1.0)
        day = (date(2026, 1, 1) + timedelta(days=at)).isoformat()
        for step, amounts in amounts_of(cost(shop, job)).items():
            minutes = sum(amount * truth.book[f"{step}.{driver}.hands"] for driver, amount in amounts.items())
            minutes *= shared * float(world.factor(draw, truth.steps[step], 1)[0])
            if minutes > 0:
                rows.append(
                    {
                        "job": f"{at:03d}",
                        "on": day,
                        "step": step,
                        "minutes": max(minutes, 0.1),
                        "worker": "",
                        "how": "stopwatch",
                        "confirmed": False,
                        "amounts": dict(amounts),
                    }
                )
    return rows


def taught(shop: Shop, rows: list[dict[str, Any]]) -> Shop:
    """Return the shop that accepts what its log proposes."""
    if not rows:
        return shop
    calibration = calibrate(rows, shop.rates)
    beliefs = {key: spread_row(shop, key) for key in SPREADS}
    for proposal in propose(shop, calibration, {}, learn_spreads(calibration, beliefs)):
        shop = with_row(shop, proposal.new)
    return shop


def said_and_lost(world: World, count: int, shops: int, seed: int) -> tuple[Array, Array]:
    """Work out chances said and shares lost, by shop and price."""
    base = open_shop()
    items = read_items(base)
    jobs = [job_of_item(item, units=2, column=column) for item in items.values() for column in ("single", "two_tone")]
    said: list[Array] = []
    lost: list[Array] = []
    for number, truth in enumerate(truths_of(world, base, shops, np.random.default_rng(seed))):
        draw = np.random.default_rng([seed, number, count])
        shop = taught(base, log_of(world, truth, base, jobs, count, draw))
        known = known_of(shop)
        for at in draw.choice(len(jobs), min(KINDS, len(jobs)), replace=False):
            model = JobCost.of(shop, jobs[int(at)])
            answer = plan_risk(Plan(model, known), known, seed=1, draws=4 * BLOCK)
            prices = answer.point * np.exp(draw.normal(0.0, 0.4, 40))
            real = np.broadcast_to(np.asarray(model(Real(world, truth, draw, TRIALS))), (TRIALS,))
            said.append(np.asarray(answer.chance_of_loss(prices)))
            lost.append((real[:, None] > prices).mean(axis=0))
    return np.reshape(said, (shops, -1)), np.reshape(lost, (shops, -1))


def in_bins(said: Array, lost: Array) -> list[tuple[int, float, float, float]]:
    """Work out how many, the mean said, the mean lost and the standard error of their gap, by bin of what was said.

    Prices of one shop share its luck with rates, so that the error counts shops, not prices.
    """
    place = np.clip(np.digitize(said, BINS) - 1, 0, 9)
    found = []
    for at in range(10):
        here = place == at
        if not here.any():
            continue
        gap = float((said - lost)[here].mean())
        off = np.where(here, said - lost - gap, 0.0).sum(axis=1)
        error = float(np.sqrt(np.square(off).sum()) / here.sum())
        found.append((int(here.sum()), float(said[here].mean()), float(lost[here].mean()), error))
    return found


def main() -> None:
    options = argparse.ArgumentParser()
    options.add_argument("--few", action="store_true")
    options.add_argument("--world", type=int, default=None)
    given = options.parse_args()
    shops = 16 if given.few else 48
    Sampler(known_of(open_shop()), 1)
    worst_known = 0.0
    for world in WORLDS if given.world is None else (WORLDS[given.world],):
        print(f"\n{world.name}")
        for count in LOGGED:
            told = in_bins(*said_and_lost(world, count, shops, seed=7))
            gap, of_it = max((abs(said - lost), error) for n, said, lost, error in told if n >= 20)
            mean = sum(n * abs(said - lost) for n, said, lost, _ in told) / sum(n for n, *_ in told)
            if world.speed is None and (
                world.shared or count >= LOGGED[1]
            ):  # that jobs share nothing only a log can tell
                worst_known = max(worst_known, mean)
            row = "  ".join(f"{100 * said:3.0f}:{100 * lost:3.0f}" for _, said, lost, _ in told)
            print(
                f"  {count:3d} jobs logged, said:lost % {row}   worst {100 * gap:.1f}"
                f" (standard error {100 * of_it:.1f}), mean {100 * mean:.1f} points",
                flush=True,
            )
    print(f"\nwhere rates are as known: at most {100 * worst_known:.1f} points apart in the mean over the bins")
    sys.exit(worst_known > 0.03)


if __name__ == "__main__":
    main()
