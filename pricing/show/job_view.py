"""Page 2 in rows and words: what a job costs step by step, what is left of its price, how sure that is."""

from html import escape
from typing import Any

import numpy as np

from pricing.basis.arrays import Array
from pricing.costing.lines import MONEY
from pricing.prices.marks import deposit, margin_of, marks_of, walk_away, worth_per_hour
from pricing.shop.folder import known_steps
from pricing.show.blocks import Answer, Rows
from pricing.show.cells import Measure
from pricing.show.labels import short_with_unit
from pricing.show.loss_words import chance_words
from pricing.show.naming import Names
from pricing.show.sums import why
from pricing.show.tiles import fact_tiles, graded, stopped, tile, tile_number, tiles
from pricing.show.what_if import Trial
from pricing.show.words import MARKS, ORIGIN, Words, between_words, open_words, order_words, place

_POINTS = 41
_MOST_BARS = 7
_CROWDED = 0.25  # of the axis: names of marks nearer than this would lie on each other
_FOOT = -0.45  # least margin that is drawn
_RANK = {kind: rank for rank, kind in enumerate(MONEY)}


def step_rows(trial: Trial) -> Rows:
    """Return every step by kind of money, in the order of the work."""
    words, rows = Words(trial.shop), []
    for at, line in enumerate(sorted(trial.sheet.lines, key=place)):
        total = float(line.total)
        if total < 5e-3:
            continue
        parts = {kind: float(getattr(line, kind)) for kind in MONEY}
        split = ", ".join(f"{kind} {words.money(cost)}" for kind, cost in parts.items() if cost > 5e-3)
        told = f"{words.title(line)}: {words.money(total)}\n{words.sig(float(line.minutes))} min attended\n{split}"
        told += f"\nknown: {trial.sheet.kind(line)}"
        title = words.title(line).replace("Spoiled before cure: blow off, spray and wipe again", "Spoiled before cure")
        title = title.replace("Rejects after cure: strip and start again", "Rejects after cure")
        step = {"title": title, "place": at, "why": told, "why_key": f"line:{line.id}"}
        rows += [
            step | {"kind": kind, "rank": _RANK[kind], "cost": round(cost, 3)}
            for kind, cost in parts.items()
            if cost > 5e-3
        ]
    return rows


def marks_by_name(trial: Trial) -> dict[str, float]:
    """Collect the four marks of the job's price. [money]"""
    marks = marks_of(trial.sheet)
    return {
        "cash": float(marks.cash_floor),
        "even": float(marks.break_even),
        "target": float(marks.target),
        "scarce": float(marks.scarce),
    }


def margin_line(trial: Trial, prices: Array, **seen: str) -> list[dict[str, Any]]:
    """Collect the share that each price leaves, down to the foot of the chart."""
    pairs = zip(prices.tolist(), np.asarray(margin_of(prices, trial.total)).tolist(), strict=True)
    return [{"price": round(p, 2), "margin": round(m, 4), **seen} for p, m in pairs if m > _FOOT]


def margin_rows(trial: Trial, asked: float) -> dict[str, Rows]:
    """Collect margin against price with the four marks, and the price that is asked."""
    words, marks = Words(trial.shop), marks_by_name(trial)
    top = 1.55 * max(asked, *marks.values())  # with room for the name of the last mark
    prices = np.linspace(0.85 * min(marks["even"], asked), top, _POINTS)
    near = abs(marks["scarce"] - marks["target"]) < _CROWDED * (top - prices[0])
    shown = []
    for name, price in marks.items():
        margin = float(margin_of(price, trial.total))
        if margin > _FOOT and name != "cash":
            text = "" if near and name == "target" else MARKS[name]  # the line of the wanted margin names it too
            told = f"{MARKS[name]}: {words.money(price)}"
            shown.append({"price": price, "margin": margin, "text": text, "why": told, "why_key": f"mark:{name}"})
    target = trial.shop.policy.target_margin
    want = [{"margin": target, "text": f"wanted {target:.0%}"}]
    now = [{"price": asked, "text": f"you ask {words.money(asked, cents=False)}"}]
    line = margin_line(trial, prices)
    return {"line": line, "marks": shown, "now": now, "want": want, "zero": [{"margin": 0.0}]}


def loss_line(trial: Trial, prices: Array, asked: float, before: str, why_key: str, **seen: str) -> dict[str, Rows]:
    """Collect the chance of loss at each price, and at the one that is asked, with what stands before its words."""
    chances = np.asarray(trial.risk.chance_of_loss(prices)).tolist()
    pairs = zip(prices.tolist(), chances, strict=True)
    chance = float(trial.risk.chance_of_loss(asked))
    told = f"{before} the cost is above the price in {chance_words(chance)} of the cases"
    now = {"price": asked, "chance": round(chance, 4), "text": chance_words(chance), "why": told, "why_key": why_key}
    return {"curve": [{"price": round(p, 2), "chance": round(c, 4), **seen} for p, c in pairs], "now": [now | seen]}


def loss_rows(trial: Trial, asked: float) -> dict[str, Rows]:
    """Collect the chance of loss at each price."""
    low, high = (float(end) for end in np.asarray(trial.risk.quantile([0.01, 0.99])))
    prices = np.linspace(min(0.95 * low, 0.95 * asked), max(1.1 * high, 1.2 * asked), _POINTS)
    return loss_line(trial, prices, asked, f"At {Words(trial.shop).money(asked)}", "chance")


def matter_rows(trial: Trial) -> dict[str, Rows]:
    """Collect what matters most: the cost with each number at its low and its high."""
    words, names = Words(trial.shop), Names(trial.shop)
    tongue = trial.shop.tongue
    bars = []
    for at, (key, low, high) in enumerate(trial.swings()[:_MOST_BARS]):
        row = trial.uncertain[key]
        measure = Measure(row.unit, tongue)
        unit = f" {measure.heading}".rstrip()
        told = (
            f"{names.of(key)}\nat {measure.write(row.low)}{unit}: {words.money(low)}\n"
            f"at {measure.write(row.high)}{unit}: {words.money(high)}\n{row.source.title}"
        )
        bars.append(
            {
                "title": short_with_unit(trial.shop, key),
                "place": at,
                "low": round(low, 2),
                "high": round(high, 2),
                "kind": row.kind,
                "why": told,
                "why_key": f"number:{key}",
            }
        )
    return {"bars": bars, "now": [{"cost": trial.total}]}


def job_tiles(trial: Trial, asked: float) -> str:
    """Write the tiles of the page; no price where none may be given."""
    words, policy, sheet = Words(trial.shop), trial.shop.policy, trial.sheet
    quote = trial.quote
    if quote.price is None:
        return stopped(quote.refused)
    price, marks = quote.price, marks_by_name(trial)
    margin = float(margin_of(asked, trial.total))
    left = words.share(margin, 1)
    style, verdict = graded(margin, policy.target_margin)
    tax = "with" if policy.prices_include_tax else "without"
    note = escape(between_words(words, quote)) or f"{tax} tax, {ORIGIN[quote.origin]}"
    visits = f"of the cost · oven visits {float(sheet.cycles):.0f}"
    table = fact_tiles(
        [[MARKS[name], tile_number(words.money(marks[name]), f"mark:{name}")] for name in ("cash", "even", "scarce")]
    )
    return tiles(
        [
            tile("Price", tile_number(words.money(float(price.printed)), "price"), note, style="main"),
            tile("What you ask leaves", tile_number(left, "margin", style=style), f"of the price: {verdict}"),
            tile("From what price it …", sub=table),
            tile("Your hour", sub=_hours_table(trial, asked)),
            tile(
                "Ask ahead", tile_number(words.money(deposit(asked, sheet)), "deposit"), "covers what a walk-away costs"
            ),
            tile("Rests on guesses", f"{sheet.guessed_share():.0%}", visits),
        ]
    )


def _hours_table(trial: Trial, asked: float) -> str:
    """Write the three amounts an hour of the owner is told by, beside each other."""
    words, rates = Words(trial.shop), trial.shop.hour_rates
    brings = float(worth_per_hour(asked, trial.sheet, "owner"))
    return fact_tiles(
        [
            ["costs", tile_number(words.money(rates["owner"]), "hour")],
            ["must bring", tile_number(words.money(rates["owner"] + rates["overhead"]), "hour")],
            ["brings here", tile_number(words.money(brings), "hour")],
        ]
    )


def _hour_bridge(trial: Trial, asked: float) -> Answer:
    """Lead from what an hour costs to what it must bring, and from there to what it brings on this job."""
    words, sheet, rates = Words(trial.shop), trial.sheet, trial.shop.hour_rates
    hours = float(sheet.hours_of("owner"))
    brings = float(worth_per_hour(asked, sheet, "owner"))
    must = rates["owner"] + rates["overhead"]
    lines = [
        f"costs {words.money(rates['owner'])}: your pay and dues, an hour booked on jobs",
        f"must bring {words.money(must)}: with {words.money(rates['overhead'])} of the bills; page 1 takes both apart",
        (
            f"brings {words.money(brings)} on this job: (price {words.money(asked)} − cash"
            f" {words.money(float(sheet.cash))}) ÷ {words.sig(hours)} h of you"
        ),
    ]
    if hours > 0:
        parts = {
            "you": float(sheet.labour),
            "bills": float(sheet.overhead),
            "machines": float(sheet.machines),
            "left over": asked - float(sheet.total),
        }
        told = ", ".join(f"{name} {words.money(value / hours)}" for name, value in parts.items())
        lines.append(f"of what it brings, an hour: {told}")
    return Answer(f"Your hour brings {words.money(brings)} here", lines)


def caution_words(trial: Trial) -> str:
    """Write the cautions of the job's steps."""
    told = trial.sheet.told_cautions()
    rows = "".join(f"<li><b>{escape(title)}:</b> {escape(text)}</li>" for title, text in told)
    return (
        '<h3>Usual cautions</h3><p class="soft sub">Local codes, the safety data sheet and'
        f' licensed trades decide.</p><ul class="cautions">{rows}</ul>'
    )


def job_answer(trial: Trial, key: str, asked: float) -> Answer | None:
    """Return the sum behind a number of the page."""
    words, sheet, policy = Words(trial.shop), trial.sheet, trial.shop.policy
    kind, _, name = key.partition(":")
    marks = marks_by_name(trial)
    match kind:
        case "line":
            line = sheet.line(name)
            step = known_steps().get(line.step)
            told = (step.caution,) if step and step.caution else ()
            return Answer(f"{words.title(line)}: {words.money(float(line.total))}", why(sheet, line), told)
        case "mark":
            return Answer(f"{MARKS[name]}: {words.money(marks[name])}", _mark(trial, name, marks))
        case "price":
            quote = trial.quote
            if quote.price is None:
                return None
            lines = [*order_words(words, quote), f"{ORIGIN[quote.origin]}: {words.money(float(quote.price.printed))}"]
            if quote.between:
                lines += [between_words(words, quote), *open_words(words, trial.job)]
            if policy.prices_include_tax:
                lines.append(f"with {words.share(policy.sales_tax)} tax; without it {words.money(quote.net)}")
            keep = f"(1 − {policy.target_margin:.0%})"
            lines.append(
                f"your margin would be full cost {words.money(trial.total)} ÷ {keep} = {words.money(marks['target'])}"
            )
            return Answer(f"Price {words.money(float(quote.price.printed))}", lines)
        case "margin":
            left = asked - trial.total
            return Answer(
                f"Margin {float(margin_of(asked, trial.total)):.1%}",
                [
                    f"{words.money(asked)} − full cost {words.money(trial.total)} = {words.money(left)}",
                    "as a share of the price, not of the cost",
                ],
            )
        case "hour":
            return _hour_bridge(trial, asked)
        case "deposit":
            return Answer(
                f"Ask ahead {words.money(deposit(asked, sheet))}",
                [
                    f"{policy.deposit:.0%} of the price: {words.money(policy.deposit * asked)}",
                    f"spent before the first coat if the customer never returns: {words.money(walk_away(sheet))}",
                    "the larger of the two, rounded up to your price points, never above the price",
                ],
            )
        case "chance":
            ends = np.asarray(trial.risk.quantile([0.05, 0.5, 0.95]))
            low, middle, high = (words.money(float(end)) for end in ends)
            return Answer(
                f"Chance of loss {chance_words(float(trial.risk.chance_of_loss(asked)))}",
                [
                    f"the job played through {len(trial.risk.costs):,} times, with all that is not sure, and with luck",
                    f"9 of 10 such jobs cost between {low} and {high}, half of them under {middle}",
                ],
            )
        case "number":
            return _number(trial, name)
    return None


def _mark(trial: Trial, name: str, marks: dict[str, float]) -> list[str]:
    words, sheet, policy = Words(trial.shop), trial.sheet, trial.shop.policy
    if name == "cash":
        return [
            "what leaves the till because of this job: powder, supplies, energy, wages, bought-in work",
            "below it the job takes money out of the till",
        ]
    if name == "even":
        return [f"{kind}: {words.money(float(value))}" for kind, value in sheet.by_money().items()] + [
            "you paid, machines and bills covered, nothing over"
        ]
    if name == "target":
        return [f"{words.money(trial.total)} ÷ (1 − {policy.target_margin:.0%})"]
    scarce = policy.scarce
    hours = float(sheet.hours_of(scarce.resource))
    return [
        (
            f"cash {words.money(marks['cash'])} + {words.sig(hours)} h of the {scarce.resource} ×"
            f" {words.money(scarce.worth_per_h)}/h that they would bring elsewhere"
        )
    ]


def _number(trial: Trial, key: str) -> Answer:
    row = trial.uncertain[key]
    measure = Measure(row.unit, trial.shop.tongue)
    unit = f" {measure.heading}".rstrip()
    points = ", ".join(f"{p} {measure.write(getattr(row, p))}{unit}" for p in ("low", "likely", "high", "mean"))
    lines = [points, f"{row.kind}: {row.source.title}"] + [text for text in (row.where, row.note) if text]
    kept = "the job keeps it" if key in trial.model.amounts else "page 1 keeps it"
    return Answer(Names(trial.shop).of(key), [*lines, kept])
