"""The chart a partner plays with: a price, a finish, and what is left; it works without Python behind it.

Takes    the finishes of a job with their costs, and the chance of loss at each price.
Gives    a chart with two parameters, a slider and a switch, and all its numbers inside.
"""

from typing import Any

import numpy as np

from pricing.costing.lines import MONEY
from pricing.papers.customer_quote import choices_of
from pricing.papers.report import Report
from pricing.papers.report_charts import PrintedFigure, described
from pricing.prices.marks import marks_of
from pricing.show.what_if import Trial, WhatIf
from pricing.show.words import Words

ASKED, FINISH = "asked", "finish"
"""Names of the two parameters: a price, and the title of a finish."""


def live_price(report: Report) -> PrintedFigure:
    """Return the chart of one job: slider of the price, switch of the finish."""
    code = report.shop.currency
    facts, curve, marks = _rows(report)
    step = _step(max(row["printed"] for row in facts))
    prices = sorted({row["price"] for row in curve})
    chosen = next(row for row in facts if row["chosen"])
    asked = {
        "name": ASKED,
        "value": round(chosen["printed"] / step) * step,
        "bind": {
            "input": "range",
            "min": prices[0],
            "max": prices[-1],
            "step": step,
            "name": f"Price without tax [{code}] ",
        },
    }
    finishes = [row["finish"] for row in facts]
    finish = {
        "name": FINISH,
        "value": chosen["finish"],
        "bind": {"input": "radio", "options": finishes, "name": "Finish "},
    }
    target = report.shop.policy.target_margin
    rows = {
        "facts": facts,
        "curve": curve,
        "marks": marks,
        "one": [{}],
        "zero": [{"margin": 0.0}],
        "want": [{"margin": target}],
    }
    made = described("papers.live_layout", "layout", code, step)
    told = "Move the price, switch the finish: margin, chance of loss and where the money goes follow."
    return PrintedFigure("live", "Try a price", told, {**made, "params": [asked, finish], "datasets": rows})


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
        trial = known.get(report.shop.finishes[choice.key].title) or WhatIf(report.shop).trial(job, choice.key, {})
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
        )
        chances = np.asarray(trial.risk.chance_of_loss(prices))
        curve += [
            {
                "finish": name,
                "price": round(float(p), 2),
                "margin": round(float((p - trial.total) / p), 4),
                "chance": round(float(c), 4),
            }
            for p, c in zip(prices, chances, strict=True)
        ]
        marks += _marks(trial, name, price)
    if not any(row["chosen"] for row in facts):
        facts[-1]["chosen"] = True
    return facts, curve, marks


def _marks(trial: Trial, name: str, printed: float) -> list[dict[str, Any]]:
    words, target = Words(trial.shop), float(marks_of(trial.sheet).target)
    told = (("break-even", trial.total), ("leaves the margin wanted", target), ("printed", printed))
    return [
        {
            "finish": name,
            "price": price,
            "margin": (price - trial.total) / price,
            "text": text,
            "why": f"{text}: {words.money(price)}",
        }
        for text, price in told
    ]
