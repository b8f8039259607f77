"""The two-tone page in rows and words: what its charts are fed with, what its tiles say, and why."""

from html import escape
from typing import Any

import numpy as np

from pricing.basis.units import shown
from pricing.prices.marks import price_at_margin
from pricing.prices.quote import DRAWS
from pricing.show.blocks import Rows
from pricing.show.job_view import loss_line, margin_line
from pricing.show.look import SIDES
from pricing.show.loss_words import chance_words
from pricing.show.sides import STAGES, Sides, by_stage, stage_of
from pricing.show.tiles import fact_tiles, graded, stopped, tile, tile_number, tiles
from pricing.show.words import Words, hour_words

_POINTS = 41
_KEYS = ("plain", "fancy")
_NAMED = tuple(zip(_KEYS, SIDES, strict=True))


def side_rows(sides: Sides, *, drawn: bool) -> dict[str, dict[str, Rows]]:
    """Collect the rows of the charts: those that rest on draws and take longer, or the others."""
    if sides.refused:  # no price is shown, so no chart of prices either
        shut = ("loss", "line") if drawn else ("margin", "map")
        rows = {chart: dict.fromkeys(_NAMES[chart], _NONE) for chart in shut}
        return rows if drawn else rows | {"build": {"steps": _build(sides)}}
    if drawn:
        return {"loss": _loss(sides), "line": _line(sides)}
    return {"build": {"steps": _build(sides)}, "margin": _margin(sides), "map": _map(sides)}


_ZONE_INK = {"loses money": "#8a2620", "below your margin": "#664800", "keeps your margin": "#155a44"}
_NONE: Rows = ()
_NAMES = {
    "margin": ("line", "marks", "now", "want", "zero"),
    "loss": ("curve", "now"),
    "line": ("band", "line", "now"),
    "map": ("zones", "names", "slow", "now"),
}


def _build(sides: Sides) -> Rows:
    words = Words(sides.shop)
    rows = []
    for key, side in _NAMED:
        sheet = sides.trial(key).sheet
        for stage, cost in by_stage(sheet).items():
            told = f"{side}, {stage.lower()}: {words.money(cost)}"
            lines = [line for line in sheet.lines if stage_of(line.id) == stage and line.total]
            told += "".join(f"\n{words.title(line)}: {words.money(float(line.total))}" for line in lines)
            row = {"title": stage, "place": list(STAGES).index(stage), "side": side, "cost": round(cost, 2)}
            rows.append(row | {"why": told, "why_key": f"stage:{key}:{stage}"})
    return rows


def _prices(sides: Sides) -> np.ndarray:
    low = 0.75 * min(sides.plain.total, sides.fancy.total)
    return np.linspace(low, 1.25 * max(sides.price, sides.listed), _POINTS)


def _margin(sides: Sides) -> dict[str, Rows]:
    words, policy = Words(sides.shop), sides.shop.policy
    prices = _prices(sides)
    line, marks, now = [], [], []
    for key, side in _NAMED:
        trial, asked = sides.trial(key), sides.asked(key)
        line += margin_line(trial, prices, side=side)
        why = f"{side} breaks even at {words.money(trial.total)}: owner paid, machines and bills covered"
        mark = {"price": trial.total, "margin": 0.0, "text": words.money(trial.total, cents=False)}
        marks.append(mark | {"side": side, "why": why, "why_key": f"total:{key}"})
        now.append({"price": asked, "side": side, "text": words.money(asked, cents=False)})
    want = [{"margin": policy.target_margin, "text": f"wanted {policy.target_margin:.0%}"}]
    return {"line": line, "marks": marks, "now": now, "want": want, "zero": [{"margin": 0.0}]}


def _loss(sides: Sides) -> dict[str, Rows]:
    found: dict[str, list[Any]] = {"curve": [], "now": []}
    for key, side in _NAMED:
        trial, asked = sides.trial(key), sides.asked(key)
        before = f"{side} at {Words(sides.shop).money(asked)}:"
        for name, rows in loss_line(trial, _prices(sides), asked, before, f"chance:{key}", side=side).items():
            found[name] += rows
    return dict(found)


def _line(sides: Sides) -> dict[str, Rows]:
    band, words = sides.band, Words(sides.shop)
    scale = shown(1.0, "m", sides.shop.front.units).value
    here = float(sides.fancy.model.work.line_m)
    rows = [
        {"line": round(m * scale, 3), "extra": round(lo, 2), "high": round(hi, 2)}
        for m, lo, hi in zip(band.line_m.tolist(), band.low.tolist(), band.high.tolist(), strict=True)
    ]
    line = [
        {"line": rows[0]["line"], "extra": float(band.extra[0])},
        {"line": rows[-1]["line"], "extra": float(band.extra[-1])},
    ]
    told = f"At {words.measure(here, 'm')} of line the extra that keeps the margin is {words.money(sides.extras.exact)}"
    now = [
        {
            "line": here * scale,
            "extra": sides.extras.exact,
            "text": words.money(sides.extras.exact, cents=False),
            "why": told,
            "why_key": "rule",
        }
    ]
    return {"band": rows, "line": line, "now": now}


def _map(sides: Sides) -> dict[str, Rows]:
    row = sides.shop.uncertain[sides.speed_key]
    scale = shown(1.0, "min/m", sides.shop.front.units).value
    speeds = np.linspace(0.4 * row.low, max(1.35 * row.high, 1.1 * sides.speed), 15)
    costs = sides.cost_at(speeds)
    top = sides.most_extra
    even = np.clip(costs - sides.plain_price, 0.0, top)
    keep = np.clip(np.asarray(price_at_margin(costs, sides.shop.policy.target_margin)) - sides.plain_price, 0.0, top)
    zones, names = [], []
    for zone, low, high in (
        ("loses money", np.zeros_like(even), even),
        ("below your margin", even, keep),
        ("keeps your margin", keep, np.full_like(keep, top)),
    ):
        zones += [
            {"wipe": round(w * scale, 4), "extra": round(lo, 2), "top": round(hi, 2), "zone": zone}
            for w, lo, hi in zip(speeds.tolist(), low.tolist(), high.tolist(), strict=True)
        ]
        at = 5 if zone == "keeps your margin" else 10
        if high[at] - low[at] > 0.09 * top:
            middle = float(low[at] + high[at]) / 2
            names.append({"wipe": float(speeds[at]) * scale, "extra": middle, "zone": zone, "ink": _ZONE_INK[zone]})
    words = Words(sides.shop)
    slow = [{"wipe": point * scale, "text": word} for point, word in ((row.likely, "likely"), (row.high, "slow day"))]
    told = f"{words.measure(sides.speed, 'min/m')} and {words.money(sides.extra)} extra leave {sides.margin:.0%}"
    now = [{"wipe": sides.speed * scale, "extra": sides.extra, "why": told, "why_key": "slow"}]
    return {"zones": zones, "names": names, "slow": slow, "now": now}


def words_of(sides: Sides, *, drawn: bool) -> dict[str, str]:
    """Collect the tiles, and the line below each chart's heading, of what `side_rows` gives."""
    words = Words(sides.shop)
    if drawn:
        if sides.refused:
            return {"sure": "", "loss": _SHUT, "line": _SHUT}
        told = f"Played through {DRAWS:,} times with all that is not sure."
        return {"loss": told, "line": _rule(sides), "sure": tiles(_sure(sides))}
    plain, fancy = words.money(sides.plain.total), words.money(sides.fancy.total)
    build = f"Full cost: single-tone {tile_number(plain, 'total:plain', style='single')}, two-tone"
    build += f" {tile_number(fancy, 'total:fancy', style='two_tone')}. Click a bar for the sum."
    if sides.refused:
        return {"build": build, "answers": stopped(sides.refused), "margin": _SHUT, "map": _SHUT}
    asked = words.money(sides.price, cents=False)
    return {
        "build": build,
        "margin": f"Dots: break-even. Drag the line to change your extra. You ask {escape(asked)}.",
        "map": "Drag the dot: how fast you are, what you charge.",
        "answers": tiles(_tiles(sides)),
    }


_SHUT = "No price, no chart."


def _rule(sides: Sides) -> str:
    words, rule = Words(sides.shop), sides.extras.rule
    (_, line), per_m = rule.lines[0], words.measure(rule.per_m, "money/m")
    return escape(f"First + {words.money(line.first)}, each further + {words.money(line.each)}; line {per_m}")


def _tiles(sides: Sides) -> list[str]:
    words, policy = Words(sides.shop), sides.shop.policy
    margin = sides.margin
    left = words.share(margin, 1)
    style, verdict = graded(margin, policy.target_margin)
    high = sides.shop.uncertain[sides.speed_key].high
    slow = sides.margin_at_speed(high)
    way = "Wiping" if sides.fancy.sheet.finish.line == "wiped" else "Taping"
    slow_style, _ = graded(slow, policy.target_margin)
    slow_left = tile_number(f"{slow:.0%}", "slow", style=slow_style)
    slow_text = f"On a slow day ({escape(words.measure(high, 'min/m'))}) {slow_left} is left."
    limit_text = tile_number(words.measure(sides.slowest, "min/m"), "slow") if sides.slowest > 0 else "never"
    note = f"keeps {policy.target_margin:.0%}, rounded as you print it"
    if sides.advised_between:
        ends = " to ".join(escape(words.short(end)) for end in sides.advised_between)
        note = f"from {ends}, fixed at intake"
    return [
        tile("Charge extra", tile_number(words.money(sides.advised, cents=False), "advised"), note, style="main"),
        tile("Your extra leaves", tile_number(left, "margin", style=style), f"of the price: {verdict}"),
        tile(f"{way} still pays up to", limit_text, slow_text),
    ]


def _sure(sides: Sides) -> list[str]:
    words, policy = Words(sides.shop), sides.shop.policy
    chances, hours = sides.chances(), sides.per_scarce_hour()
    three = fact_tiles(
        [
            ["margin", tile_number(words.money(sides.extras.keeping_margin), "extra:margin")],
            [hour_words(policy.scarce.resource), tile_number(words.money(sides.extras.keeping_hours), "extra:hours")],
            ["chance of loss", tile_number(words.money(sides.extras.keeping_chance), "extra:chance")],
        ]
    )
    told = [tile_number(chance_words(chance), f"chance:{key}") for key, chance in zip(_KEYS, chances, strict=True)]
    pair = fact_tiles(
        [
            ["chance of loss", *told],
            [
                f"{hour_words(policy.scarce.resource)} brings",
                tile_number(words.money(hours[0]), "hour:plain"),
                tile_number(words.money(hours[1]), "hour:fancy"),
            ],
        ],
        head=["", "single", "two-tone"],
    )
    return [tile("What extra keeps the same …", sub=three), tile("Side by side", sub=pair)]
