"""How fast the first visit finds hidden shops: ``python -m tests.benchmarks.first_visit``.

A hidden shop is the demo's with every uncertain number, and every fact of the first visit, drawn anew, all inside what
is held for possible, or a share of them outside it, beyond either end. Its owner knows, or errs by 10 to 20 % where the
number is a judgement, the same in whatever order it is asked. Asked is in the order of the visit, and in that of the
files. Told is the share of the rows of the list (one and ten pieces) whose cost is within 5 and 10 % of the truth after
so many questions, each with the one to three numbers of a breath, or with ``--numbers`` one number each. With
``--facts`` pay, hours, bills and machines are known beforehand, and no questions. The ceiling asks who knows the truth:
the questions whose answers move the rows most in this very shop first; ``all`` asks everything.
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
Run = dict[int, tuple[float, float, int]]


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


def by_truth(shop: Shop, items: Mapping[str, Item], truth: Mapping[str, float], alone: bool) -> Pick:
    """Ask what moves the rows most in this shop, which only who knows the truth can do."""
    stands = costs(shop, items, {})
    breaths: dict[str, Breath] = {}
    for key, question in questions(shop).items():
        if not question.asked(shop):
            lead = key if alone else question.lead
            breaths[lead] = (*breaths.get(lead, ()), key)

    def moved(keys: Breath) -> float:
        now = shop
        for key in keys:
            now = replace(now, **questions(now)[key].put(now, truth[key], doubt=EXACT))
        return float(np.abs(costs(now, items, {}) - stands).mean())

    left = iter(sorted(breaths.values(), key=moved, reverse=True))
    return lambda *_: next(left)


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
) -> Run:
    """Answer question after question; after some, the shares of rows within 5 and 10 %, and numbers said."""
    told: Run = {}
    numbers = 0
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


def share_of_all(
    now: Shop, items: Mapping[str, Item], goal: np.ndarray, truth: Mapping[str, float], errs: int | None
) -> float:
    """Answer everything: the share of rows within 5 %."""
    for key in questions(now):
        question = questions(now)[key]
        value, doubt = said(question, key, truth[key], errs)
        now = replace(now, **question.put(now, value, doubt=doubt), visited={**now.visited, key: f"{value:g}"})
    return float((np.abs(np.expm1(costs(now, items, {}) - goal)) < 0.05).mean())


def _of(values: np.ndarray) -> str:
    return f"{values.mean():5.1%} ± {values.std(ddof=1) / np.sqrt(len(values)):.1%}"


def _told(found: Mapping[str, list[Run]]) -> None:
    shares = {way: {n: np.array([run[n] for run in runs]).T for n in TOLD} for way, runs in found.items()}
    for way, by_count in shares.items():
        for count, (five, ten, numbers) in by_count.items():
            good = np.mean(five >= 0.95)
            print(
                f"  {way:7s} {count:2d} ({numbers.mean():.0f} numbers): {_of(five)}, {_of(ten)}; "
                f"shops with 95 % of rows within 5 %: {good:.0%} ± {np.sqrt(good * (1 - good) / len(five)):.0%}",
                flush=True,
            )
    for way in ("visit", "ceiling"):
        for count in TOLD[1:]:
            five, ten = (shares[way][count] - shares["files"][count])[:2]
            behind = f"behind in {(five < 0).sum()} and {(ten < 0).sum()} shops"
            print(f"  {way} ahead of files after {count:2d}: {_of(five)}, {_of(ten)}; {behind}", flush=True)


def main() -> None:
    """Tell the shares of rows, with their standard errors, and how often the visit falls behind the files."""
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
        found: dict[str, list[Run]] = {"visit": [], "files": [], "ceiling": []}
        everything = []
        for number in range(asked.shops):
            true, truth = hidden(shop, np.random.default_rng([asked.seed, number]), asked.outside)
            goal = costs(true, items, {key: value for key, value in truth.items() if key.startswith("film.")})
            begun = _facts_known(shop, truth) if asked.facts else shop
            errs = 1000 * asked.seed + number if err else None
            ceiling = by_truth(begun, items, truth, asked.numbers)
            for way, pick in (("visit", by_visit), ("files", by_file), ("ceiling", ceiling)):
                found[way].append(answered(begun, items, goal, truth, pick, errs, asked.numbers))
            everything.append(share_of_all(begun, items, goal, truth, errs))
        print(f"{name}, {asked.shops} shops: share of rows within 5 %, 10 %, each with its standard error")
        _told(found)
        print(f"  all: {_of(np.array(everything))} within 5 %", flush=True)


if __name__ == "__main__":
    main()
