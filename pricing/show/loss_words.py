"""The chance of loss in words: of a hundred such jobs, how many, and why."""

from pricing.costing.odds import Odds, Reason
from pricing.shop.folder import known_steps
from pricing.shop.shop import Shop
from pricing.show.naming import Names
from pricing.show.words import Words

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


def _reason(shop: Shop, reason: Reason) -> str:
    step = known_steps().get(reason.key.partition(".")[2] or reason.key)
    match reason.kind:
        case "steps differ":
            return "no two jobs are alike" + (f", most of all in: {step.title.lower()}" if step else "")
        case "minutes":
            return f"minutes not well known, most of all {Names(shop).of(reason.key)}"
        case _:
            return Names(shop).of(reason.key)
