"""The chart a partner plays with: a price, a finish, and what is left; it works without Python behind it.

Takes    the finishes of a job with their costs, and the chance of loss at each price.
Gives    a chart of Altair with two parameters, a slider and a switch, and all its numbers inside.
Room     papers. Imports basis, costing, prices, show, papers.
"""

from typing import Any

import numpy as np

from pricing.basis.money import show_money
from pricing.costing.lines import MONEY
from pricing.papers.finish_choice import choices_of
from pricing.papers.print_charts import Figure
from pricing.papers.report import Report
from pricing.prices.marks import marks_of
from pricing.show.charts import alt, data
from pricing.show.look import GAIN, INK, LINE, LOSS, MONEY_COLOURS, SOFT, chart_theme
from pricing.show.trial import Bench, Trial

_POINTS = 96
_WIDE, _NARROW, _HIGH = 425, 270, 215
ASKED, FINISH = "asked", "finish"
"""Names of the two parameters."""


def live_price(report: Report) -> Figure:
    """Give the chart of one job: slider of the price, switch of the finish.

    Parameters
    ----------
    report : Report
        Of the summary.
    """
    code = report.shop.currency
    facts, curve, marks = _rows(report)
    step = _step(max(row["printed"] for row in facts))
    prices = sorted({row["price"] for row in curve})
    chosen = next(row for row in facts if row["chosen"])
    asked = alt.param(
        name=ASKED, value=round(chosen["printed"] / step) * step,
        bind=alt.binding_range(min=prices[0], max=prices[-1], step=step, name=f"Price without tax [{code}] "),
    )  # fmt: skip
    finish = alt.param(
        name=FINISH, value=chosen["finish"],
        bind=alt.binding_radio(options=[row["finish"] for row in facts], name="Finish "),
    )  # fmt: skip
    mine = f"datum.finish == {FINISH}"
    chart = alt.vconcat(
        _figures(code, mine, step), alt.hconcat(_margin(code, mine), _loss(code, mine, step), spacing=18),
        _split(code, mine), spacing=14,
    ).resolve_scale(color="independent")  # fmt: skip
    target = report.shop.policy.target_margin
    rows = {"facts": facts, "curve": curve, "marks": marks, "one": [{}], "zero": [{"margin": 0.0}],
            "want": [{"margin": target}]}  # fmt: skip
    made: dict[str, Any] = chart.configure(**chart_theme()).to_dict()
    params: list[Any] = [asked.param, finish.param]
    made["params"] = [one.to_dict() for one in params]  # add_params would copy every chart three times
    told = "Move the price, switch the finish: margin, chance of loss and where the money goes follow."
    return Figure("live", "Try a price", told, made | {"datasets": rows})


def _step(price: float) -> float:
    """Step of the slider: one, two or five of the coin that suits the price."""
    coin = 10.0 ** np.floor(np.log10(max(price, 1.0) / 100.0))
    return float(max(1.0, next(coin * n for n in (1, 2, 5, 10) if price / (coin * n) <= 250)))


def _rows(report: Report) -> tuple[list[dict[str, Any]], list[dict[str, Any]], list[dict[str, Any]]]:
    facts, curve, marks = [], [], []
    trials = []
    known = {trial.model.finish.title: trial for trial in (report.sides.plain, report.sides.fancy)}
    for choice in choices_of(report.shop, report.job):
        job = report.job.model_copy(update={"powders": choice.powders})
        trial = known.get(report.shop.finishes[choice.key].title) or Bench(report.shop).trial(job, choice.key, {})
        if not trial.sheet.refused:
            trials.append((trial, choice.key == report.job.finish))
    printed = [trial.quote.net for trial, _ in trials]
    step = _step(max(printed))
    low = np.floor(0.7 * min(trial.total for trial, _ in trials) / step) * step
    prices = np.arange(low, 1.3 * max(printed) + step, step)
    for (trial, chosen), price in zip(trials, printed, strict=True):
        name = trial.sheet.finish.title
        costs = {kind: round(float(getattr(trial.sheet, kind)), 3) for kind in MONEY}
        hours = float(trial.sheet.hours_of("owner"))
        facts.append(
            {"finish": name, "cost": round(trial.total, 3), "printed": price, "hours": hours, "chosen": chosen, **costs}
        )  # fmt: skip
        chances = np.asarray(trial.risk.chance_of_loss(prices))
        curve += [
            {"finish": name, "price": round(float(p), 2), "margin": round(float((p - trial.total) / p), 4),
             "chance": round(float(c), 4)}
            for p, c in zip(prices, chances, strict=True)
        ]  # fmt: skip
        marks += _marks(trial, name, price)
    if not any(row["chosen"] for row in facts):
        facts[-1]["chosen"] = True
    return facts, curve, marks


def _marks(trial: Trial, name: str, printed: float) -> list[dict[str, Any]]:
    target = float(marks_of(trial.sheet).target)
    told = (("break-even", trial.total), ("leaves the margin wanted", target), ("printed", printed))
    return [{"finish": name, "price": price, "margin": (price - trial.total) / price, "text": text,
             "why": f"{text}: {_money(trial, price)}"} for text, price in told]  # fmt: skip


def _money(trial: Trial, price: float) -> str:
    return show_money(price, trial.shop.currency, trial.shop.front.locale)


def _figures(code: str, mine: str, step: float) -> Any:
    """A row of figures: what is left, per owner hour, chance of loss."""
    base = alt.Chart(data("facts")).transform_filter(mine)
    told = [
        ("left of the price", f"format(({ASKED} - datum.cost) / {ASKED}, '.1%')"),
        (f"left over [{code}]", f"format({ASKED} - datum.cost, ',.2f')"),
        (f"an owner hour brings [{code}]", f"format(({ASKED} - datum.cash) / datum.hours, ',.2f')"),
    ]
    colour = alt.condition(f"{ASKED} >= datum.cost", alt.value(GAIN), alt.value(LOSS))
    layers = []
    for place, (title, words) in enumerate(told):
        x = 8 + 190 * place
        layers.append(base.mark_text(align="left", fontSize=12, color=SOFT, baseline="top").encode(
            x=alt.value(x), y=alt.value(0), text=alt.value(title)))  # fmt: skip
        big = base.transform_calculate(words=words).mark_text(
            align="left", fontSize=24, fontWeight="bold", baseline="top"
        )  # fmt: skip
        layers.append(big.encode(x=alt.value(x), y=alt.value(16), text="words:N", color=colour))
    chance = alt.Chart(data("curve")).transform_filter(f"{mine} && abs(datum.price - {ASKED}) < {step / 2}")
    layers.append(chance.mark_text(align="left", fontSize=12, color=SOFT, baseline="top").encode(
        x=alt.value(578), y=alt.value(0), text=alt.value("chance of loss")))  # fmt: skip
    layers.append(chance.transform_calculate(words="datum.chance < 0.006 ? 'under 0.6%' : format(datum.chance, '.1%')")
                  .mark_text(align="left", fontSize=24, fontWeight="bold", baseline="top", color=INK)
                  .encode(x=alt.value(578), y=alt.value(16), text="words:N"))  # fmt: skip
    return alt.layer(*layers).properties(width=_WIDE + _NARROW + 70, height=44)


def _rule(title: str, *, words: bool) -> list[Any]:
    one = alt.Chart(data("one")).transform_calculate(price=ASKED, words=f"format({ASKED}, ',.0f')")
    rule = one.mark_rule(color=INK, strokeWidth=2).encode(x=alt.X("price:Q", title=title))
    text = one.mark_text(dy=-4, fontWeight="bold", color=INK, baseline="bottom").encode(
        x="price:Q", y=alt.value(0), text="words:N"
    )  # fmt: skip
    return [rule, text] if words else [rule]


def _margin(code: str, mine: str) -> Any:
    title = f"price without tax [{code}]"
    x = alt.X("price:Q", title=title, axis=alt.Axis(tickCount=6, format=",~r"), scale=alt.Scale(zero=False, nice=False))
    y = alt.Y("margin:Q", title="margin, share of the price", axis=alt.Axis(format=".0%", tickCount=5),
              scale=alt.Scale(domain=[-0.45, 0.7]))  # fmt: skip
    others = alt.Chart(data("curve")).mark_line(color=LINE, strokeWidth=1.5, clip=True).encode(
        x=x, y=y, detail="finish:N"
    )  # fmt: skip
    own = alt.Chart(data("curve")).transform_filter(mine).mark_line(color=INK, clip=True).encode(x=x, y=y)
    zero = alt.Chart(data("zero")).mark_rule(color=SOFT).encode(y="margin:Q")
    want = alt.Chart(data("want")).mark_rule(color=GAIN, strokeDash=[5, 4]).encode(y="margin:Q")
    dots = alt.Chart(data("marks")).transform_filter(mine)
    points = dots.mark_point(size=80, filled=True, opacity=1, color=INK, stroke="white").encode(
        x=x, y=y, tooltip=alt.Tooltip("why:N")
    )  # fmt: skip
    even = dots.transform_filter("datum.text == 'break-even'").mark_text(align="left", dx=8, dy=10).encode(
        x=x, y=y, text="why:N"
    )  # fmt: skip
    return alt.layer(zero, want, others, own, points, even, *_rule(title, words=True)).properties(
        width=_WIDE, height=_HIGH
    )  # fmt: skip


def _loss(code: str, mine: str, step: float) -> Any:
    title = f"price without tax [{code}]"
    x = alt.X("price:Q", title=title, axis=alt.Axis(tickCount=4, format=",~r"), scale=alt.Scale(zero=False, nice=False))
    y = alt.Y("chance:Q", title="chance of loss", axis=alt.Axis(format=".0%", tickCount=4),
              scale=alt.Scale(domain=[0, 1]))  # fmt: skip
    own = alt.Chart(data("curve")).transform_filter(mine)
    line = own.mark_line(color=INK, interpolate="monotone").encode(x=x, y=y)
    dot = own.transform_filter(f"abs(datum.price - {ASKED}) < {step / 2}").mark_point(
        size=90, filled=True, opacity=1, color=LOSS, stroke="white"
    ).encode(x=x, y=y)  # fmt: skip
    return alt.layer(line, *_rule(title, words=False), dot).properties(width=_NARROW, height=_HIGH)


def _split(code: str, mine: str) -> Any:
    """One bar: where the price goes, and what is left of it."""
    kinds: list[Any] = [*MONEY, "left over"]
    told = "datum.kind + ': ' + format(datum.amount, ',.2f')"
    colours = [*MONEY_COLOURS.values(), GAIN]
    bars = (
        alt.Chart(data("facts"))
        .transform_filter(mine)
        .transform_calculate(**{"left over": f"max(0, {ASKED} - datum.cost)"})
        .transform_fold(kinds, as_=["kind", "amount"])
        .transform_calculate(rank=f"indexof({kinds}, datum.kind)", why=told)
        .mark_bar(height=26)
        .encode(
            x=alt.X("amount:Q", title=f"where the price goes [{code}]", stack="zero",
                    axis=alt.Axis(tickCount=6, format=",~r")),
            color=alt.Color("kind:N", scale=alt.Scale(domain=kinds, range=colours), legend=alt.Legend(orient="top")),
            order=alt.Order("rank:Q"), tooltip=alt.Tooltip("why:N"),
        )
    )  # fmt: skip
    rule = (
        alt.Chart(data("one")).transform_calculate(price=ASKED).mark_rule(color=INK, strokeWidth=2).encode(x="price:Q")
    )
    return alt.layer(bars, rule).properties(width=_WIDE + _NARROW + 70, height=34)
