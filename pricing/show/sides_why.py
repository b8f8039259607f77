"""The sums behind the numbers of the two-tone page."""

import numpy as np

from pricing.shop.folder import known_steps
from pricing.show.blocks import Answer
from pricing.show.loss_words import chance_words
from pricing.show.sides import Sides, by_stage, stage_of
from pricing.show.sums import why
from pricing.show.what_if import Trial
from pricing.show.words import Words, hour_words, order_words, rule_words


def two_tone_answer(sides: Sides, key: str) -> Answer | None:
    """Return the sum behind a number of the page."""
    words = Words(sides.shop)
    kind, _, rest = key.partition(":")
    if kind == "stage":
        side, _, stage = rest.partition(":")
        return _stage(sides.trial(side), stage)
    if kind == "total":
        trial = sides.trial(rest)
        lines = [f"{stage}: {words.money(cost)}" for stage, cost in by_stage(trial.sheet).items()]
        parts = [f"{kind} {words.money(float(value))}" for kind, value in trial.sheet.by_money().items()]
        return Answer(
            f"{trial.sheet.finish.title}: {words.money(trial.total)}",
            [*lines, f"of it {', '.join(parts)}", f"{trial.sheet.guessed_share():.0%} of it rests on guesses"],
        )
    found = {
        "advised": _advised,
        "margin": _margin_why,
        "extra": _extra_why,
        "chance": _chance_why,
        "hour": _hour_why,
        "slow": _slow_why,
        "rule": _rule_why,
    }.get(kind)
    return found(sides, rest) if found else None


def _stage(trial: Trial, stage: str) -> Answer:
    words = Words(trial.shop)
    lines: list[str] = []
    cautions: dict[str, str] = {}
    for line in trial.sheet.lines:
        if stage_of(line.id) != stage or not line.total:
            continue
        lines += [
            f"{words.title(line)}: {words.money(float(line.total))}",
            *(f"   {row}" for row in why(trial.sheet, line)),
        ]
        step = known_steps().get(line.step)
        if step and step.caution:
            cautions[step.title] = f"{step.title}: {step.caution}"
    return Answer(f"{trial.sheet.finish.title}: {stage.lower()}", lines, tuple(cautions.values()))


def _advised(sides: Sides, _: str) -> Answer:
    words, extras = Words(sides.shop), sides.extras
    lines = []
    for name, quote in (("two-tone", extras.fancy), ("single-tone", extras.plain)):
        lines += [f"{name}: {told}" for told in order_words(words, quote)]
        lines.append(
            f"{name}: {words.money(quote.net)} without tax; full cost {words.money(quote.cost)} and your margin would"
            f" be {words.money(float(quote.marks.target))}"
        )
    lines.append(f"the difference is {words.money(sides.advised)}; before rounding {words.money(extras.exact)}")
    return Answer(f"Extra {words.money(sides.advised)}", lines)


def _margin_why(sides: Sides, _: str) -> Answer:
    words = Words(sides.shop)
    left = sides.price - sides.fancy.total
    return Answer(
        f"Margin {words.share(sides.margin, 1)}",
        [
            f"{words.money(sides.plain_price)} + extra {words.money(sides.extra)} = {words.money(sides.price)}",
            f"less full cost {words.money(sides.fancy.total)} leaves {words.money(left)}",
            f"that is {words.share(sides.margin, 1)} of the price (a margin is a share of the price, not of the cost)",
        ],
    )


def _extra_why(sides: Sides, which: str) -> Answer:
    words, resource = Words(sides.shop), sides.shop.policy.scarce.resource
    if which == "margin":
        share = sides.extras.plain.margin_share
        return Answer(
            f"Extra {words.money(sides.extras.keeping_margin)}",
            [
                f"single-tone at {words.money(sides.plain_price)} leaves {words.share(share, 1)} of the price",
                f"two-tone does so at {words.money(sides.fancy.total)} ÷ (1 − {words.share(share, 1)})",
            ],
        )
    if which == "hours":
        hours = [float(t.sheet.hours_of(resource)) for t in (sides.plain, sides.fancy)]
        cash = [float(t.sheet.cash) for t in (sides.plain, sides.fancy)]
        worth = sides.per_scarce_hour()[0]
        return Answer(
            f"Extra {words.money(sides.extras.keeping_hours)}",
            [
                (
                    f"single-tone brings ({words.money(sides.plain_price)} − cash {words.money(cash[0])}) ÷ "
                    f"{words.sig(hours[0])} h of the {resource} = {words.money(worth)}/h"
                ),
                (
                    f"two-tone takes {words.sig(hours[1])} h and {words.money(cash[1])} cash: to bring the same it must"
                    f" cost {words.money(cash[1] + hours[1] * worth)}"
                ),
            ],
        )
    chance = sides.chances()[0]
    return Answer(
        f"Extra {words.money(sides.extras.keeping_chance)}",
        [
            f"single-tone at {words.money(sides.plain_price)} loses money in {chance_words(chance)} of the cases",
            f"two-tone does so as rarely at {words.money(sides.plain_price + sides.extras.keeping_chance)}",
            "both played through with the same luck, so that what they share cancels",
        ],
    )


def _chance_why(sides: Sides, which: str) -> Answer:
    words = Words(sides.shop)
    trial, asked = sides.trial(which), sides.asked(which)
    risk = trial.risk
    ends = risk.quantile([0.05, 0.5, 0.95])
    low, middle, high = (words.money(float(end)) for end in np.asarray(ends))
    return Answer(
        f"Chance of loss {chance_words(float(risk.chance_of_loss(asked)))}",
        [
            f"at {words.money(asked)}, played through {len(risk.costs):,} times with all that is not sure",
            f"9 of 10 jobs cost between {low} and {high}; half of them under {middle}",
        ],
    )


def _hour_why(sides: Sides, which: str) -> Answer:
    words, resource = Words(sides.shop), sides.shop.policy.scarce.resource
    trial, asked = sides.trial(which), sides.asked(which)
    hours, cash = float(trial.sheet.hours_of(resource)), float(trial.sheet.cash)
    return Answer(
        f"{words.money((asked - cash) / hours if hours else 0.0)} by {hour_words(resource)}",
        [f"(price {words.money(asked)} − cash {words.money(cash)}) ÷ {words.sig(hours)} h of the {resource}"],
    )


def _slow_why(sides: Sides, _: str) -> Answer:
    words, row = Words(sides.shop), sides.shop.uncertain[sides.speed_key]
    asked = words.money(sides.price)
    lines = [
        f"{word} {words.measure(value, 'min/m')}: {sides.margin_at_speed(value):.0%} of {asked} is left"
        for word, value in (("low", row.low), ("likely", row.likely), ("mean", row.mean), ("high", row.high))
    ]
    if sides.slowest > 0:
        lines.append(f"nothing is left at {words.measure(sides.slowest, 'min/m')}")
    lines.append(f"the rate is {row.kind}: {row.source.title}; {row.note}")
    return Answer("If you are slower than you think", lines)


def _rule_why(sides: Sides, _: str) -> Answer:
    words, rule = Words(sides.shop), sides.extras.rule
    told = "the difference of the two tariffs; it holds for every number ordered, before minimum charge, rush and tax"
    return Answer(f"Extra {words.money(sides.advised)} by the rule", [*rule_words(words, rule), told])
