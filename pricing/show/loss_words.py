"""The chance of loss in words: of a hundred such jobs, how many, and why."""

from typing import TYPE_CHECKING

from pricing.costing.odds import Odds, Reason
from pricing.shop.folder import known_steps
from pricing.shop.shop import Shop
from pricing.show.cells import Measure
from pricing.show.labels import short
from pricing.show.naming import Names
from pricing.show.words import Words

if TYPE_CHECKING:
    from pricing.show.what_if import Trial

_COUNT = ("none", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
_HUNDRED = 100


def of_a_hundred(chance: float) -> str:
    """Say how many of a hundred.

    >>> of_a_hundred(0.071), of_a_hundred(0.002), of_a_hundred(0.31), of_a_hundred(0.999)
    ('about seven', 'fewer than one', 'about 31', 'all but one or none')
    """
    count = round(_HUNDRED * chance)
    if count < 1:
        return "fewer than one"
    if count >= _HUNDRED:
        return "all but one or none"
    return f"about {_COUNT[count] if count < len(_COUNT) else count}"


def chance_words(share: float) -> str:
    """Write a chance no finer than the draws can tell.

    >>> chance_words(0.0), chance_words(0.023), chance_words(0.31)
    ('under 0.6%', '2.3%', '31%')
    """
    return "under 0.6%" if share < 0.0061 else f"{share:.0%}" if share >= 0.1 else f"{share:.1%}"


def loss_words(shop: Shop, odds: Odds) -> tuple[str, ...]:
    """Say how a price fares, in up to three sentences."""
    price = Words(shop).short(odds.price)
    told = [f"Of a hundred such jobs at {price}, {of_a_hundred(odds.chance)} would lose money."]
    if odds.reasons:
        why = "; ".join(f"{_reason(shop, reason)} ({reason.share:.0%})" for reason in odds.reasons)
        told.append(f"What makes such jobs cost more or less: {why}.")
    if odds.chance_slower is not None:
        lost = of_a_hundred(odds.chance_slower)
        told.append(
            f"If your minutes run {odds.slower - 1:.0%} over your rates in every job, {lost} would: time some jobs, and"
            " the doubt about your speed goes."
        )
    return tuple(told)


def swing_words(words: Words, trial: "Trial", most: int = 3) -> list[tuple[str, str]]:
    """Name the numbers that move the cost of a job most, each with where it lies, how it is known, what it does."""
    told = []
    for key, low, high in trial.swings()[:most]:
        row = trial.uncertain[key]
        measure = Measure(row.unit, words.shop.tongue)
        ends = f"{measure.write(row.low, digits=3)} to {measure.write(row.high, digits=3)}{measure.beside}"
        costs = f"{words.money(low, cents=False)} to {words.money(high, cents=False)}"
        told.append((short(words.shop, key), f"{ends} ({row.kind}): cost {costs}"))
    return told


def _reason(shop: Shop, reason: Reason) -> str:
    step = known_steps().get(reason.key.partition(".")[2] or reason.key)
    match reason.kind:
        case "steps differ":
            return "no two jobs are alike" + (f", most of all in: {step.title.lower()}" if step else "")
        case "minutes":
            return f"minutes not well known, most of all {Names(shop).of(reason.key)}"
        case _:
            return Names(shop).of(reason.key)
