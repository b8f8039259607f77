"""How fast the first visit finds hidden shops: ``python -m tests.benchmarks.first_visit``.

A hidden shop is the demo's with every uncertain number, and every fact of the first visit, drawn anew, all inside what
is held for possible, or a share of them outside it, beyond either end. Its owner knows, or errs by 10 to 20 % where the
number is a judgement, the same in whatever order it is asked. Asked is in the order of the visit, and in that of the
files. Told is the share of the rows of the list (one and ten pieces) whose cost is within 5 and 10 % of the truth after
so many questions, each with the one to three numbers of a breath, or with ``--numbers`` one number each. With
``--facts`` pay, hours, bills and machines are known beforehand, and no questions.
"""

import argparse
from collections.abc import Callable, Mapping
from dataclasses import replace
from zlib import crc32

import numpy as np

import pricing
from pricing.costing.strata import STRATA, strata
from pricing.parts.items import Item
from pricing.prices.firmness import ORDERS, firmness
from pricing.prices.first_visit import VisitQuestion, questions
from pricing.prices.row_costs import groups, log_costs
from pricing.shop.own_prices import COLUMNS
from pricing.shop.shop import Shop

TOLD = (0, 6, 12, 24)
EXACT = 1e-6
JUDGED = 0.05
"""Answers whose doubt is larger are judgements; the others are read from a bill."""
Breath = tuple[str, ...]
Pick = Callable[[Shop, Mapping[str, Item], float | None, bool], Breath]


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
    return np.concatenate(
        [
            log_costs(shop, tuple(listed[at] for at in places), finish, ORDERS, book).ravel()
            for column in COLUMNS
            for finish, places in groups(shop, listed, column).items()
        ]
    )


def by_visit(now: Shop, items: Mapping[str, Item], doubt: float | None, alone: bool) -> Breath:
    """Ask what firms most, with answers as sure as they are."""
    found = firmness(now, items, doubt=doubt)
    return found.order[:1] if alone else found.breaths[0]


def by_file(now: Shop, _items: Mapping[str, Item], _doubt: float | None, alone: bool) -> Breath:
    """Ask in the order of the files."""
    left = [(key, question.lead) for key, question in questions(now).items() if not question.asked(now)]
    return tuple(key for key, lead in left[: 1 if alone else None] if lead == left[0][1])


def said(question: VisitQuestion, key: str, truth: float, errs: int | None) -> tuple[float, float | None]:
    """Answer as the owner does: the number, and its doubt where that is not the question's own."""
    value, doubt = truth, EXACT
    if errs is not None and question.doubt > JUDGED:
        rng = np.random.default_rng([errs, crc32(key.encode())])
        value, doubt = value * float(np.exp(rng.normal(0.0, rng.uniform(0.10, 0.20)))), None
    return min(value, question.within.most), doubt


def answered(
    now: Shop,
    items: Mapping[str, Item],
    goal: np.ndarray,
    truth: Mapping[str, float],
    pick: Pick,
    errs: int | None,
    alone: bool,
) -> dict[int, tuple[float, float, int]]:
    """Answer question after question; after some, the shares of rows within 5 and 10 %, and numbers said."""
    told, numbers = {}, 0
    for count in range(max(TOLD) + 1):
        if count in TOLD:
            off = np.abs(np.expm1(costs(now, items, {}) - goal))
            told[count] = (float((off < 0.05).mean()), float((off < 0.10).mean()), numbers)
        for key in pick(now, items, EXACT if errs is None else None, alone):
            question = questions(now)[key]
            value, doubt = said(question, key, truth[key], errs)
            visited = {**now.visited, key: f"{value:g}"}
            now, numbers = replace(now, **question.put(now, value, doubt=doubt), visited=visited), numbers + 1
    return told


def _facts_known(shop: Shop, truth: Mapping[str, float]) -> Shop:
    for key, question in questions(shop).items():
        if not question.of_book:
            tables = question.put(shop, truth[key], doubt=EXACT)
            shop = replace(shop, **tables, visited={**shop.visited, key: f"{truth[key]:g}"})
    return shop


def main() -> None:
    """Tell the shares of rows, and how often the visit falls behind the order of the files."""
    words = argparse.ArgumentParser()
    words.add_argument("--shops", type=int, default=20)
    words.add_argument("--seed", type=int, default=1)
    words.add_argument("--outside", type=float, default=0.0)
    words.add_argument("--facts", action="store_true")
    words.add_argument("--numbers", action="store_true")
    asked = words.parse_args()
    shop = pricing.open_shop()
    items = pricing.read_items(shop)
    for name, err in (("exact answers", False), ("judgements off by 10 to 20 %", True)):
        found: dict[str, list[dict[int, tuple[float, float, int]]]] = {"visit": [], "files": []}
        for number in range(asked.shops):
            true, truth = hidden(shop, np.random.default_rng([asked.seed, number]), asked.outside)
            goal = costs(true, items, {key: value for key, value in truth.items() if key.startswith("film.")})
            begun = _facts_known(shop, truth) if asked.facts else shop
            for way, pick in (("visit", by_visit), ("files", by_file)):
                errs = 1000 * asked.seed + number if err else None
                found[way].append(answered(begun, items, goal, truth, pick, errs, asked.numbers))
        print(f"{name}, {asked.shops} shops: share of rows within 5 %, 10 %; within 5 % in the shop at one tenth")
        for way, runs in found.items():
            for count in TOLD:
                five, ten, numbers = np.array([run[count] for run in runs]).T
                print(
                    f"  {way} {count:2d} ({numbers.mean():.0f} numbers): {five.mean():.0%} {ten.mean():.0%}; "
                    f"{np.quantile(five, 0.1):.0%}",
                    flush=True,
                )
        last = max(TOLD)
        good = np.mean([run[last][0] >= 0.95 for run in found["visit"]])
        worse = [sum(a[n][0] < b[n][0] for a, b in zip(*found.values(), strict=True)) for n in TOLD[1:]]
        print(f"  95 % of rows within 5 % after {last}: {good:.0%} of shops; behind the files in {worse} shops")


if __name__ == "__main__":
    main()
