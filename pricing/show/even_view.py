"""Page 5 in rows and words: where a job and a batch begin to pay."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from html import escape
from itertools import pairwise
from typing import Any

import numpy as np

from pricing.basis.arrays import Array
from pricing.basis.errors import BadInput
from pricing.basis.identity import Same
from pricing.basis.units import readable, shown
from pricing.costing.draws import Known
from pricing.costing.job_cost import JobCost, known_of
from pricing.costing.odds import Reason, loss_reasons, odds
from pricing.costing.plan import Plan
from pricing.costing.risk import Risk
from pricing.costing.shares import variance_shares
from pricing.parts.job import Job
from pricing.prices.break_even import BreakEven, WholeBreakEven, whole_break_even
from pricing.prices.questions import QUESTIONS, break_even
from pricing.prices.quote import Quote
from pricing.shop.shop import Shop
from pricing.show.blocks import Answer, Rows
from pricing.show.loss_words import loss_words
from pricing.show.tiles import graded, tile, tile_number, tiles, told_list
from pricing.show.what_if import moved
from pricing.show.words import Words, between_words, counted

ASKED = ("wipe", "line", "reject", "powder", "hour", "batch", "jobs")
SMOOTH = ("wipe", "line", "reject", "powder", "hour")
_MOST_BATCH = 60
_TALLEST = 1.7
_CROWDED = 3


def moved_shop(shop: Shop, numbers: Mapping[str, float]) -> Shop:
    """Return the shop with uncertain numbers moved to new means."""
    rates, assumed = dict(shop.rates), dict(shop.assumptions)
    for key, value in numbers.items():
        table = rates if key in rates else assumed
        table[key] = moved(table[key], value)
    return replace(shop, rates=rates, assumptions=assumed) if numbers else shop


@dataclass(frozen=True)
class Even:
    """A job, a net price for it, and everything that is asked about where it begins to pay. [money]

    ``quote`` is not refused, and holds what is moved; ``costed`` is what batches of the job cost and bring by their
    tariff.
    """

    quote: Quote
    price: float
    costed: WholeBreakEven

    @classmethod
    def of(cls, found: Quote, price: float) -> "Even":
        """Cost the batches of a job; `BadInput` where it is refused."""
        batches = break_even(found.shop, found.job, "batch", reach=(1, _MOST_BATCH))
        if not isinstance(batches, WholeBreakEven):
            raise TypeError(type(batches))
        return cls(found, price, batches)

    @property
    def shop(self) -> Shop:
        """With what is moved."""
        return self.quote.shop

    @property
    def job(self) -> Job:
        """What is asked about."""
        return self.quote.job

    @property
    def words(self) -> Words:
        """How the shop writes."""
        return Words(self.shop)

    def at(self, price: float) -> "Even":
        """Return the same at another price; batches are not costed again."""
        return replace(self, price=price)

    def found(self, over: str) -> BreakEven | WholeBreakEven | str:
        """Solve one question, or say why it cannot be asked of this job."""
        if over == "batch":
            return self.batch
        try:
            return break_even(self.shop, self.job, over, price=self.price)
        except BadInput as why:
            return f"{QUESTIONS[over].what}: {why.problems[0].value}"

    def gain_words(self, over: str) -> str:
        """Say what the marks of the chart of one number are, or why it is empty."""
        found = self.found(over)
        return escape(f"Empty: {found}") if isinstance(found, str) else "Dot: breaks even. Dashed: where you are."

    def asked_of(self, count: int) -> float:
        """Work out what is asked of one in a batch: by the tariff, moved as far as the job's price is. [money]"""
        at = count - int(self.costed.counts[0])
        listed = float(self.costed.gains[at]) / count + float(self.costed.each[at])
        return listed * self.price / self.quote.net

    def price_for(self, count: int, each: float) -> float:
        """Work out the price of the job at which one in a batch of so many is asked an amount. [money]"""
        return self.price * each / self.asked_of(count)

    @cached_property
    def batch(self) -> WholeBreakEven:
        """Which batch sizes pay at this price."""
        costs = dict(zip(self.costed.counts.tolist(), self.costed.each.tolist(), strict=True))
        return whole_break_even(
            lambda n: n * (self.asked_of(n) - costs[n]),
            lambda n: costs[n],
            self.costed.what,
            most=int(self.costed.counts[-1]),
        )


def even_title(shop: Shop, over: str) -> str:
    """Name a question with the unit the shop reads it in."""
    question = QUESTIONS[over]
    if question.unit == "share":
        return f"{question.what} [%]"
    unit = shown(1.0, question.unit, shop.front.units).unit if question.unit else ""
    return f"{question.what} [{readable(unit, shop.currency)}]" if unit else question.what


def _scale(shop: Shop, over: str) -> float:
    unit = QUESTIONS[over].unit
    return 100.0 if unit == "share" else shown(1.0, unit, shop.front.units).value


def batch_rows(even: Even) -> dict[str, Rows]:
    """Collect what one piece costs at each batch size, where new loads or packs begin, and the price."""
    found, words = even.batch, even.words
    counts = found.counts.tolist()
    asked = [even.asked_of(n) for n in counts]
    here = even.job.lots[0].quantity if len(even.job.lots) == 1 else 1
    here = min(max(here, counts[0]), counts[-1])
    top = max(_TALLEST * float(found.each.min()), 1.1 * even.asked_of(here))  # the first would flatten all steps
    curve: list[dict[str, Any]] = []
    price: list[dict[str, Any]] = []
    for n, each, gain, ask in zip(counts, found.each.tolist(), found.gains.tolist(), asked, strict=True):
        state = "pays" if gain >= 0 else "loses money"
        if each <= top or state == "loses money":  # who loses money is seen, if only at the edge
            told = f"{counted(n)}: {words.money(each)} each, asked {words.money(ask)}, {words.money(gain)} left in all"
            curve.append({"n": n, "each": round(min(each, 1.06 * top), 3), "state": state, "why": told})
        if ask <= 1.06 * top:
            price.append({"n": n, "each": round(ask, 3), "text": ""})
    near = {b for a, b in pairwise(found.teeth) if b - a < _CROWDED}  # their numbers would lie on each other
    teeth = [{"n": n, "text": "" if n in near else f"{n}"} for n in found.teeth]
    if price:
        price[-1]["text"] = f"you ask {words.money(price[-1]['each'])}"
    room = [{"each": 1.06 * max([row["each"] for row in (*curve, *price)], default=1.0)}]
    return {"curve": curve, "teeth": teeth, "price": price, "room": room}


def batch_words(even: Even) -> str:
    """Say what one piece alone costs, and what the marks of the chart are."""
    alone = escape(even.words.money(float(even.costed.each[0])))
    losing = [n for n, gain in zip(even.batch.counts.tolist(), even.batch.gains.tolist(), strict=True) if gain < 0]
    told = f"Batches that lose money: {_runs(losing)}" if losing else "No batch size loses money"
    return f"{told}. One alone costs {alone}. Line: what you ask of each. Dashed: a new oven load or pack. Drag it."


def _runs(numbers: Sequence[int]) -> str:
    """Write numbers that rise, those that follow each other as one.

    >>> _runs([1, 2, 3, 7, 9, 10])
    '1 to 3, 7, 9 to 10'
    """
    ends: list[list[int]] = []
    for n in numbers:
        if ends and n == ends[-1][1] + 1:
            ends[-1][1] = n
        else:
            ends.append([n, n])
    return ", ".join(f"{low}" if low == high else f"{low} to {high}" for low, high in ends)


def gain_rows(even: Even, over: str) -> dict[str, Rows]:
    """Collect what is left of the price against one number."""
    found, scale = even.found(over), _scale(even.shop, over)
    if not isinstance(found, BreakEven):
        return dict.fromkeys(("gain", "turns", "now", "zero"), ())
    values = np.linspace(found.low, found.high, 61)
    cuts = sorted({*values.tolist(), *(turn.value for turn in found.turns)})
    gains = _gain_at(even, over, np.array(cuts))
    rows = []
    for value, gain in zip(cuts, gains.tolist(), strict=True):
        row = {"value": value * scale, "gain": round(gain, 3)}
        near = abs(gain) < 1e-6 * max(1.0, float(np.abs(gains).max()))
        rows += [
            row | {"state": state}
            for state in (("pays", "loses money") if near else ("pays",) if gain >= 0 else ("loses money",))
        ]
    turns = [
        {
            "value": turn.value * scale,
            "gain": 0.0,
            "text": even.words.sig(turn.value * scale),
            "why": f"breaks even at {even.words.sig(turn.value * scale, 4)} {even_title(even.shop, over)}",
        }
        for turn in found.turns
    ]
    here = _here(even, over)
    now = [{"value": here * scale, "text": "now"}] if here is not None and found.low <= here <= found.high else []
    return {"gain": rows, "turns": turns, "now": now, "zero": [{"gain": 0.0}]}


def _gain_at(even: Even, over: str, values: Array) -> Array:
    model = JobCost.of(even.shop, even.job)
    if over == "line":
        costs = model.with_line(values)(even.shop.book)
    else:
        costs = model({**even.shop.book, **dict.fromkeys(_keys(even, over), values)})
    return np.broadcast_to(even.price - np.asarray(costs, dtype=np.float64), values.shape)


def _keys(even: Even, over: str) -> list[str]:
    finish = even.shop.finishes[even.job.finish]
    if over == "reject":
        return [f"reject.{finish.rejects}.{kind}" for kind in ("wrought", "casting")]
    if over == "powder":
        return [f"price.{even.job.powders[finish.coats[-1].powder - 1]}"]
    return {"wipe": ["wipe.line_m.hands"], "hour": ["hour.owner"]}[over]


def _here(even: Even, over: str) -> float | None:
    if over == "line":
        return sum(lot.pieces * lot.part.line_m for lot in even.job.lots)
    return float(even.shop.book[_keys(even, over)[0]])


@lru_cache(maxsize=2)
def _drawn(found: Same[Quote]) -> tuple[Plan, Known, Risk, tuple[Reason, ...]]:
    """What no price moves."""
    model = JobCost.of(found.thing.shop, found.thing.job, finish=found.thing.finish)
    known = known_of(found.thing.shop, model)
    plan = Plan(model, known)
    answer = found.thing.risk()
    return plan, known, answer, loss_reasons(variance_shares(plan, known, seed=answer.seed))


def sure_words(even: Even) -> str:
    """Say how many of a hundred such jobs would lose at the price, and why."""
    plan, known, answer, why_so = _drawn(Same(even.quote))
    return told_list("How sure that is", loss_words(even.shop, odds(plan, known, answer, even.price, why_so)))


def sentences(even: Even) -> str:
    """Write every answer in words."""
    found = [answer for over in ASKED if not isinstance(answer := even.found(over), str)]
    told = [even.words.break_even(answer) for answer in found]
    return told_list(f"Where it begins to pay, at {even.words.money(even.price)}", told)


def even_tiles(even: Even, cost: float) -> str:
    """Write the tiles of the page."""
    words, batch = even.words, even.batch
    margin = (even.price - cost) / even.price if even.price > 0 else float("-inf")
    left, (style, _) = words.share(margin, 1), graded(margin, even.shop.policy.target_margin)
    first = f"from {batch.first}" if batch.first else "none"
    always = f"every size from {batch.always_from}" if batch.always_from else f"up to {int(batch.counts[-1])} looked at"
    told = between_words(words, even.quote)
    left_open = f"; advised {told}" if told else ""
    asked, pieces = escape(words.money(even.price)), f"the job, {counted(even.job.pieces)}"
    return tiles(
        [
            tile("Breaks even at", tile_number(words.money(cost), "cost"), pieces, style="main"),
            tile("Your price leaves", tile_number(left, "margin", style=style), f"of {asked}{escape(left_open)}"),
            tile(
                "Batches that pay",
                tile_number(first, "batch"),
                escape(f"{always} pays" if batch.always_from else always),
            ),
        ]
    )


def even_answer(even: Even, cost: float, key: str) -> Answer | None:
    """Return the sum behind a number of the page."""
    words, left = even.words, even.price - cost
    match key:
        case "cost":
            told = ["the full cost: you paid, machines and bills covered", "page 2 takes it apart step by step"]
            return Answer(f"Break-even {words.money(cost)}", told)
        case "margin":
            told = [f"{words.money(even.price)} − {words.money(cost)} = {words.money(left)}"]
            told += [f"{words.share(left / even.price, 1)} of the price"] if even.price else []
            return Answer("What your price leaves", told)
        case "batch":
            steps = "whole oven loads and packs make steps: a larger batch is not always cheaper each"
            return Answer("Batches that pay", [even.batch.say(even.shop.currency), steps])
    return None
