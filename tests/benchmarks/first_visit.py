"""How fast the first visit finds hidden shops: ``python -m tests.benchmarks.first_visit``.

A hidden shop is the demo's with every uncertain number, and every fact of the first visit, drawn anew, all inside what
is held for possible, or a share of them outside it, beyond either end. With ``--facts`` the facts are known beforehand. An owner who knows, or errs by 10 to 20 %
where the number is a judgement, answers in the order of the visit, and in that of the files. What is told: the share of the rows
of the list (one and ten pieces) whose cost is within 5 and 10 % of the truth.
"""

import argparse
from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np

import pricing
from pricing.costing.strata import STRATA, strata
from pricing.parts.items import Item
from pricing.prices.firmness import ORDERS, firmness
from pricing.prices.first_visit import Question, questions
from pricing.prices.row_costs import groups, log_costs
from pricing.shop.own_prices import COLUMNS
from pricing.shop.shop import Shop

TOLD = (0, 6, 12, 24)
EXACT = 1e-6
JUDGED = 0.05
"""Answers whose doubt is larger are judgements; the others are read from a bill."""
Pick = Callable[[Shop, Mapping[str, Item], float | None], list[str]]


def hidden(shop: Shop, rng: np.random.Generator, outside: float) -> tuple[Shop, dict[str, float]]:
    """Draw a shop, and what its owner would truly answer."""
    truth: dict[str, float] = {}
    for key, points in shop.uncertain.items():
        drawn = float(strata(points)[rng.integers(STRATA)])
        if rng.random() < outside:
            low, high = points.low, points.high
            drawn = low * rng.uniform(0.7, 1.0) if rng.random() < 0.5 else high * rng.uniform(1.0, 1.3)
        truth[key] = min(drawn, 0.95) if points.unit == "share" else drawn
    asked = questions(shop)
    facts = {}
    for key, question in asked.items():
        if not question.of_book:
            factor = question.low + (question.high - question.low) * rng.beta(3, 3)
            if rng.random() < outside:
                factor = (
                    question.low * rng.uniform(0.85, 1) if rng.random() < 0.5 else question.high * rng.uniform(1, 1.15)
                )
            facts[key] = min(question.value(shop) * factor, 0.98 * question.within.most)
    for question in asked.values():  # what the plan comes to is part of the fact that settles it
        for key in question.settles:
            facts[question.key] = min(facts[question.key] * truth[key], 0.98 * question.within.most)
            truth[key] = 1.0
    made = shop
    for key, value in {**{k: v for k, v in truth.items() if k in asked}, **facts}.items():
        made = replace(made, **asked[key].put(made, value, doubt=EXACT))
    films = {key: value for key, value in truth.items() if key.startswith("film.")}
    return made, {key: q.value(made) for key, q in questions(made).items()} | films


def costs(shop: Shop, items: Mapping[str, Item], films: Mapping[str, float]) -> np.ndarray:
    """Logarithms of the cost of every row and order."""
    book = {**shop.book, **films}
    listed = tuple(items.values())
    return np.concatenate([
        log_costs(shop, tuple(listed[at] for at in places), finish, ORDERS, book).ravel()
        for column in COLUMNS
        for finish, places in groups(shop, listed, column).items()
    ])  # fmt: skip


def by_visit(shop: Shop, items: Mapping[str, Item], doubt: float | None) -> list[str]:
    """Order of the page: what firms most first, with answers as sure as they are."""
    return list(firmness(shop, items, doubt=doubt).order)


def by_file(shop: Shop, _items: Mapping[str, Item], _doubt: float | None) -> list[str]:
    """Order of the files."""
    return [key for key, question in questions(shop).items() if not question.asked(shop)]


def answered(
    shop: Shop, items: Mapping[str, Item], true: Shop, truth: Mapping[str, float], pick: Pick, err: np.random.Generator | None,
) -> dict[int, tuple[float, float]]:  # fmt: skip
    """Answer question after question; the shares of rows within 5 and 10 % after some of them."""
    films = {key: value for key, value in truth.items() if key.startswith("film.")}
    goal, now, told, order = costs(true, items, films), shop, {}, []
    for count in range(max(TOLD) + 1):
        if count in TOLD:
            off = np.abs(np.expm1(costs(now, items, {}) - goal))
            told[count] = (float((off < 0.05).mean()), float((off < 0.10).mean()))
        if count % 2 == 0 or not order:
            order = pick(now, items, EXACT if err is None else None)
        key = order.pop(0)
        question: Question = questions(now)[key]
        value, doubt = truth[key], EXACT
        if err is not None and question.doubt > JUDGED:
            size = err.uniform(0.10, 0.20)
            value, doubt = value * float(np.exp(err.normal(0.0, size))), None
        value = min(value, question.within.most)
        now = replace(now, **question.put(now, value, doubt=doubt), visited={**now.visited, key: f"{value:g}"})
    return told


def _facts_known(shop: Shop, truth: Mapping[str, float]) -> Shop:
    for key, question in questions(shop).items():
        if not question.of_book:
            tables = question.put(shop, truth[key], doubt=EXACT)
            shop = replace(shop, **tables, visited={**shop.visited, key: f"{truth[key]:g}"})
    return shop


def main() -> None:
    """Tell the shares of rows, and how often the visit does not fall behind the order of the files."""
    words = argparse.ArgumentParser()
    words.add_argument("--shops", type=int, default=20)
    words.add_argument("--seed", type=int, default=1)
    words.add_argument("--outside", type=float, default=0.0)
    words.add_argument("--facts", action="store_true")
    asked = words.parse_args()
    shop = pricing.open_shop()
    items = pricing.read_items(shop)
    for name, errs in (("exact answers", False), ("judgements off by 10 to 20 %", True)):
        found: dict[str, list[dict[int, tuple[float, float]]]] = {"visit": [], "files": []}
        for number in range(asked.shops):
            true, truth = hidden(shop, np.random.default_rng([asked.seed, number]), asked.outside)
            begun = _facts_known(shop, truth) if asked.facts else shop
            for way, pick in (("visit", by_visit), ("files", by_file)):
                err = np.random.default_rng([asked.seed, number, 7]) if errs else None
                found[way].append(answered(begun, items, true, truth, pick, err))
        print(f"{name}, {asked.shops} shops: share of rows within 5 %, 10 %; a tenth of the shops is below")
        for way, runs in found.items():
            for count in TOLD:
                five, ten = np.array([run[count] for run in runs]).T
                print(
                    f"  {way} {count:2d}: {five.mean():.0%} {ten.mean():.0%}; {np.quantile(five, 0.1):.0%}", flush=True
                )
        last = max(TOLD)
        good = np.mean([run[last][0] >= 0.95 for run in found["visit"]])
        worse = sum(a[n][0] < b[n][0] for a, b in zip(found["visit"], found["files"], strict=True) for n in TOLD)
        print(
            f"  95 % of rows within 5 % after {last}: {good:.0%} of shops; behind the files {worse} times in {asked.shops * len(TOLD)}"
        )


if __name__ == "__main__":
    main()
