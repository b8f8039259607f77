"""One page of answers: what an hour costs, what we charge, why two-tone costs more, where we break even."""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from pricing.basis.units import sig
from pricing.papers.last_summary import changes
from pricing.papers.report import Report
from pricing.papers.told import PaperWords
from pricing.prices.questions import fixed_per_month
from pricing.show.labels import short
from pricing.show.loss_words import chance_words, loss_words, swing_words
from pricing.show.sides import by_stage
from pricing.show.words import counted, hour_words, line_words

_REASONS = 4


class AnswerCard(NamedTuple):
    """One answer: the question, the figure that answers it, and the sentences behind it."""

    question: str
    figure: str
    lines: tuple[str, ...]


def answers(report: Report) -> list[AnswerCard]:
    """Collect the answers of a summary, in the order a partner asks."""
    made: tuple[Callable[[Report], AnswerCard], ...] = (_hour, _charge, _two_tone, _even, _scarce, _unsure, _since)
    return [make(report) for make in made]


def should(report: Report) -> str:
    """Say in one sentence what follows from the figures: the price, the list, what to take on, what to time."""
    words, sides, policy = PaperWords(report.shop), report.sides, report.shop.policy
    price, extra = (words.money(value, cents=False) for value in (sides.price, sides.extra))
    said = [f"charge {price} for a job like “{report.job.title}”, {extra} of it for the second colour"]
    low = [entry for entry in report.standing.entries.values() if not entry.refused and report.standing.low(entry)]
    if low:
        those = counted(len(low), "price", "prices")
        said.append(
            f"raise the {those} of the list that {'leaves' if len(low) == 1 else 'leave'} less than"
            f" {policy.target_margin:.0%}"
        )
    if report.mix is not None and report.mix.week.scarce:
        best = next((row.name for row in report.mix.week.ranked() if row.wanted > 0), "")
        said.append(f"take on “{best}” first while the hours of the {report.mix.week.scarce.name} run out")
    elif report.bank is not None and report.bank.left < 0:
        said.append("find more work or spend less, since a month does not pay")
    guesses = [key for key, _, _ in sides.fancy.swings() if report.shop.kind_of(key) == "guess"]
    if guesses:
        said.append(f"time “{short(report.shop, guesses[0])}”, the guess that moves the cost most")
    return f"So we should {', '.join(said[:-1])}{' and ' if said[1:] else ''}{said[-1]}."


def _hour(report: Report) -> AnswerCard:
    shop, words = report.shop, PaperWords(report.shop)
    rates = dict(shop.hour_rates)
    owner, bills, helper = rates.pop("owner"), rates.pop("overhead"), rates.pop("helper")
    hours = words.local(f"{shop.billable_hours:,.0f} hours a year that are booked on jobs")
    lines = [f"Of it the owner {words.money(owner)} and the bills {words.money(bills)}; for {hours}."]
    if shop.helper:
        lines.append(f"The helper costs {words.money(helper)}, the same bills on top.")
    held = ", ".join(f"{name} {words.money(rate)}" for name, rate in sorted(rates.items(), key=lambda r: -r[1])[:4])
    lines.append(f"An hour a machine is held, working or not, before energy: {held}.")
    return AnswerCard("What must an hour bring?", words.money(owner + bills), tuple(lines))


def _charge(report: Report) -> AnswerCard:
    words, sides, policy = PaperWords(report.shop), report.sides, report.shop.policy
    entries = [entry for entry in report.standing.entries.values() if entry.tariff is not None]
    low = [entry for entry in entries if report.standing.low(entry)]
    one = words.money(sides.plain_price, cents=False)
    lines = [f"For {report.job.title}, {counted(report.job.pieces)}, in two colours; in one {one}."]
    lines[0] += f" {sides.margin:.0%} of the price is left over."
    spans = []
    for column, name in (("single", "one colour"), ("two_tone", "two colours")):
        orders = [report.prices.order(entry.row, 1) for entry in entries if entry.place[1] == column]
        prices = [float(order.printed) for order in orders if order is not None]
        if prices:
            ends = [words.money(price, cents=False) for price in (min(prices), max(prices))]
            spans.append(f"{name} {ends[0]} to {ends[1]}")
    lines.append(f"The list runs, for one of each: {', '.join(spans)}.")
    worst = min(entries, key=report.standing.margin)
    told = f"{len(low)} of its {len(entries)} prices leave less than the {policy.target_margin:.0%} that is wanted"
    if not low:
        told = f"All its {len(entries)} prices leave the {policy.target_margin:.0%} that is wanted"
    lines.append(f"{told}; least leaves {worst.title}: {words.share(report.standing.margin(worst), 1)}.")
    return AnswerCard("What do we charge?", words.money(sides.price, cents=False), tuple(lines))


def _two_tone(report: Report) -> AnswerCard:
    words, sides = PaperWords(report.shop), report.sides
    one, two = by_stage(sides.plain.sheet), by_stage(sides.fancy.sheet)
    more = sorted(((two.get(s, 0.0) - one.get(s, 0.0), s) for s in {**one, **two}), reverse=True)
    reasons = ", ".join(f"{stage.lower()} {words.money(add)}" for add, stage in more[:_REASONS] if add > 0.5)
    rule = sides.extras.rule
    _, first = rule.lines[0]
    per_m, scarce = line_words(words, rule), report.shop.policy.scarce.resource
    hours, sure = words.money(sides.extras.keeping_hours), words.money(sides.extras.keeping_chance)
    lines = [
        f"It costs {words.money(sides.fancy.total - sides.plain.total)} more to make: {reasons}.",
        f"As a rule {words.money(first.first)} more for the first, {words.money(first.each)} each further; {per_m}.",
        f"For {hour_words(scarce)} to bring as much it would be {hours}; to be as sure, {sure}.",
    ]
    return AnswerCard(
        "What does the second colour add, and why?", f"+ {words.money(sides.extra, cents=False)}", tuple(lines)
    )


def _even(report: Report) -> AnswerCard:
    words, sides, shop = PaperWords(report.shop), report.sides, report.shop
    way = "Wiping" if sides.fancy.sheet.finish.line == "wiped" else "Taping"
    lines = []
    if 0 < sides.slowest < float("inf"):
        lines.append(
            f"{way} may take up to {words.measure(sides.slowest, 'min/m')} at this price; counted are"
            f" {words.measure(sides.speed, 'min/m')}."
        )
    batch = report.even.batch
    if batch.first is None:
        lines.append("At this list no batch pays.")
    elif batch.always_from == batch.first:
        lines.append(f"By this list batches of {batch.first} and more pay.")
    else:
        lines.append(f"By this list batches from {batch.first} pay, all of them from {batch.always_from}.")
    if report.mix is not None:
        month = report.mix.month
        fixed = words.money(fixed_per_month(shop), cents=False)
        if np.isfinite(month.break_even_quantity):
            pay = f"{np.ceil(month.break_even_quantity - 1e-9):.0f} orders of the usual mix pay it"
            lines.append(f"A month costs {fixed} before any job; {pay}, {month.quantity:.0f} are wanted.")
    return AnswerCard("Where do we break even?", words.money(sides.fancy.total, cents=False), tuple(lines))


def _scarce(report: Report) -> AnswerCard:
    words = PaperWords(report.shop)
    if report.mix is None:
        return AnswerCard(
            "What runs out first?", "not told", ("What a usual week brings is not said yet: page 1, All settings.",)
        )
    week = report.mix.week
    first, load = week.runs_out_first()
    lines = [f"The week that is wanted would take {load:.0%} of the hours there are."]
    scarce = week.scarce
    if scarce:
        lines.append(f"One more hour of the {scarce.name} a week is worth {words.money(scarce.one_more_hour)}.")
        best = [row.name for row in week.ranked() if row.wanted > 0][:2]
        lines.append(f"For each of these hours most is left by: {'; '.join(best)}.")
    others = sorted(
        ((r.used / r.hours, r.name) for r in week.resources if r.hours > 0 and r.name != first), reverse=True
    )
    lines.append(f"Next: {', '.join(f'{name} {share:.0%}' for share, name in others[:3])}.")
    return AnswerCard("What runs out first?", f"the {first}", tuple(lines))


def _unsure(report: Report) -> AnswerCard:
    words, sides, shop = PaperWords(report.shop), report.sides, report.shop
    low, high = (words.money(float(end)) for end in np.asarray(sides.fancy.risk.quantile([0.05, 0.95])))
    guessed = sides.fancy.sheet.guessed_share()
    lost, *reasons = loss_words(shop, sides.fancy.odds(sides.price))
    lines = [f"{lost} 9 of 10 cost {low} to {high}.", *reasons[:1]]
    lines.append(f"{guessed:.0%} of the cost rests on guesses. Three numbers matter most:")
    lines += [f"• {name}, {told}" for name, told in swing_words(words, sides.fancy)]
    return AnswerCard("How sure are we?", words.local(chance_words(sides.chances()[1])), tuple(lines))


def _since(report: Report) -> AnswerCard:
    question = "What changed since last time?"
    if report.before is None:
        return AnswerCard(
            question, "first summary", ("Its figures are kept beside it; the next one says what changed.",)
        )
    told = changes(report.shop, report.before, report.snapshot)
    day = PaperWords(report.shop).day(report.before.day)
    if not told:
        return AnswerCard(question, "nothing", (f"All figures are as on {day}.",))
    figure = sig(len(told)) + (" thing" if len(told) == 1 else " things")
    return AnswerCard(question, figure, (f"Since {day}:", *told[:7]))
