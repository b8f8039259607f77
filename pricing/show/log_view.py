"""Page 7 in rows and words: what jobs really took, and what that says about the rates.

Room     show. Imports basis, ledger, shop, show.cells, show.edit_table, show.labels, show.tiles, show.words.
"""

from html import escape
from typing import TYPE_CHECKING, Any

import numpy as np

from pricing.basis.units import sig
from pricing.shop.folder import known_steps
from pricing.show.cells import Measure
from pricing.show.edit_table import Cell, Column, Row, Sheet
from pricing.show.fields import Tongue
from pricing.show.labels import short
from pricing.show.live_chart import Answer, Rows
from pricing.show.tiles import number, tile, tiles
from pricing.show.words import Words

if TYPE_CHECKING:
    from pricing.ledger.review import Review

ALL = "all"
"""Stands for all steps of a job together."""
_MOST_DOTS = 250
_MOST_STEPS = 11


def title_of(step: str) -> str:
    """Name a step."""
    steps = known_steps()
    return steps[step].title if step in steps else step


def job_rows(review: "Review", step: str) -> dict[str, Rows]:
    """Give minutes taken against minutes quoted, job by job; the newest where there are very many.

    Parameters
    ----------
    review : Review
        Of the log.
    step : str
        A step, or `ALL`.
    """
    rows: list[dict[str, Any]] = []
    if step == ALL:
        from pricing.ledger.thenandnow import job_totals

        for total in job_totals(review.compared):
            told = f"{total.job}, {total.day}: {sig(total.actual)} min, quoted {sig(total.quoted)}"
            rows.append({"quoted": total.quoted, "actual": total.actual, "state": "as expected", "why": told})
    else:
        for one in review.compared:
            if one.step != step or not one.quoted:
                continue
            state = "as expected" if one.inside else "out of its range"
            told = (
                f"{one.job}, {one.day}: {sig(one.actual)} min, quoted {sig(one.quoted)}\n"
                f"range from the jobs before it: {sig(one.low)} to {sig(one.high)} min"
            )
            rows.append({"quoted": one.quoted, "actual": one.actual, "state": state, "why": told})
    rows = [row for row in rows[-_MOST_DOTS:] if row["quoted"] > 0 and row["actual"] > 0]
    ends = [min((row[name] for row in rows), default=1.0) for name in ("quoted", "actual")]
    tops = [max((row[name] for row in rows), default=10.0) for name in ("quoted", "actual")]
    low, high = max(min(ends), 0.05), max(tops)
    return {"jobs": rows, "same": [{"quoted": at, "actual": at} for at in (low, high)]}


def step_rows(review: "Review") -> dict[str, Rows]:
    """Give how much longer or shorter than quoted each step takes in sum."""
    sums: dict[str, list[float]] = {}
    for one in review.compared:
        if one.quoted:
            at = sums.setdefault(one.step, [0.0, 0.0, 0.0])
            at[0], at[1], at[2] = at[0] + one.quoted, at[1] + one.actual, at[2] + 1
    off = {step: taken / quoted - 1 for step, (quoted, taken, _) in sums.items() if quoted > 0}
    rows = []
    shown = sorted(off, key=lambda name: -abs(off[name]))[:_MOST_STEPS]
    for place, step in enumerate(sorted(shown, key=lambda name: -off[name])):
        quoted, taken, jobs = sums[step]
        told = f"{title_of(step)}: {sig(taken)} min taken, {sig(quoted)} quoted, {jobs:.0f} jobs"
        rows.append({"title": title_of(step), "place": place, "off": round(off[step], 4), "why": told,
                     "state": "slower" if off[step] > 0 else "quicker", "why_key": f"step:{step}"})  # fmt: skip
    return {"steps": rows, "even": [{"off": 0.0}]}


def win_rows(review: "Review") -> tuple[dict[str, Rows], str]:
    """Give the chance to win against price over cost, and what it says."""
    found = review.winning
    if isinstance(found, str):
        return {"curve": (), "tries": ()}, escape(found)
    quoted = {row["job"]: row["price"] / row["cost"] for row in review.quotes if row["cost"] > 0 and row["price"] > 0}
    tries = [
        {"ratio": round(quoted[row["job"]], 3), "state": row["result"], "chance": float(row["result"] == "won")}
        for row in review.outcomes
        if row["job"] in quoted
    ][-_MOST_DOTS:]  # fmt: skip
    ratios = np.linspace(min(t["ratio"] for t in tries), max(t["ratio"] for t in tries), 31)
    middle, low, high = found.chance(ratios)
    curve = [
        {"ratio": round(r, 3), "chance": round(c, 4), "low": round(lo, 4), "high": round(hi, 4)}
        for r, c, lo, hi in zip(ratios.tolist(), middle.tolist(), low.tolist(), high.tolist(), strict=True)
    ]
    return {"curve": curve, "tries": tries}, escape(found.words)


def sheets() -> list[Sheet]:
    """Give the tabs: rates the log would have otherwise, odd minutes, what to time next."""
    rates = (
        Column("name", "Rate", "plain"), Column("unit", "unit", "plain"), Column("now", "mean now", "plain", num=True),
        Column("log", "log says", "plain", num=True), Column("change", "change", "plain", num=True),
        Column("range", "9 of 10 jobs", "plain", num=True), Column("jobs", "jobs", "plain", num=True),
        Column("take", "", "do", words="Take it"), Column("note", "mind", "plain"),
    )  # fmt: skip
    odd = (
        Column("name", "Job", "plain"), Column("step", "step", "plain"), Column("day", "day", "plain"),
        Column("took", "minutes", "plain", num=True), Column("expected", "expected about", "plain", num=True),
        Column("rule", "so far", "plain"),
    )  # fmt: skip
    time = (
        Column("name", "Step", "plain"), Column("jobs", "jobs logged", "plain", num=True),
        Column("unsure", "unsure by", "plain", num=True), Column("timing", "five more are worth", "plain", num=True),
    )  # fmt: skip
    return [
        Sheet("rates", "Rates the log proposes", rates, note="What stood before stays in rates_history.csv."),
        Sheet(
            "odd", "Was it so?", odd, note="Minutes that look wrong. Correct them with `log correct`, or confirm them."
        ),
        Sheet("time", "What to time next", time, note="By what it is worth on a year's quotes to know a step better."),
    ]


def table_rows(review: "Review", *, takes: bool) -> dict[str, list[Row]]:
    """Give the rows of the tabs.

    Parameters
    ----------
    review : Review
        Of the log.
    takes : bool
        Whether proposals can be taken here.
    """
    shop = review.shop
    words, tongue = Words(shop), Tongue(shop.currency, shop.front.units)
    rates, odd = [], []
    for one in sorted(review.proposals, key=lambda proposal: -abs(proposal.change)):
        measure = Measure(one.old.unit, tongue)
        cells = {
            "unit": Cell(measure.heading), "now": Cell(measure.write(one.old.mean)),
            "log": Cell(measure.write(one.new.mean)),
            "change": Cell(f"{one.change:+.0%}", mark="thin" if abs(one.change) > 0.1 else "soft"),
            "range": Cell(f"{_brief(measure, one.new.low)}–{_brief(measure, one.new.high)}"),
            "jobs": Cell(str(one.jobs)),
            "take": Cell("Take it", off=not takes), "note": Cell("; ".join(one.notes), mark="soft"),
        }  # fmt: skip
        rates.append(Row(one.key, short(shop, one.key), cells))
    for at, doubt in enumerate(review.calibration.doubtful[:40]):
        cells = {
            "step": Cell(title_of(doubt.step)), "day": Cell(doubt.day), "took": Cell(sig(doubt.minutes)),
            "expected": Cell(sig(doubt.expected)),
            "rule": Cell("counted as an overrun" if doubt.counted else "set aside"),
        }  # fmt: skip
        odd.append(Row(f"{at}", doubt.job, cells))
    time = [
        Row(row.step, title_of(row.step), {
            "jobs": Cell(str(row.jobs)), "unsure": Cell(f"{row.unsure:.0%}"), "timing": Cell(words.money(row.timing)),
        })
        for row in review.worth
    ]  # fmt: skip
    return {"rates": rates, "odd": odd, "time": time}


def _brief(measure: Measure, value: float) -> str:
    return sig(float(measure.write(value)), 3)


def log_tiles(review: "Review", *, invented: bool) -> str:
    """Give the tiles of the page."""
    jobs = len({row["job"] for row in review.times})
    cover = review.coverage
    share = f"{cover.share:.0%}" if cover.jobs else "–"
    quoted = sum(one.quoted or 0.0 for one in review.compared)
    taken = sum(one.actual for one in review.compared if one.quoted)
    off = f"{taken / quoted - 1:+.0%}" if quoted else "–"
    mine = tile("These jobs are", "invented", "your own log is empty yet", style="main")
    first = mine if invented else tile("Jobs logged", str(jobs), f"{len(review.times)} steps timed", style="main")
    changed = sum(abs(one.change) > 0.1 for one in review.proposals)
    return tiles(
        [
            first,
            tile("Minutes against quotes", number(off, "off"), "in sum, rest left out"),
            tile("Kept to their range", number(share, "cover"), f"of {cover.jobs} steps; promised 90%"),
            tile("Rates off by over 10%", str(changed), f"of {len(review.proposals)} the log can tell"),
            tile("Quotes", str(len(review.quotes)), f"{sum(row['result'] == 'won' for row in review.outcomes)} won"),
        ]
    )  # fmt: skip


def answer(review: "Review", key: str) -> Answer | None:
    """Give the sum behind a number of the page."""
    kind, _, step = key.partition(":")
    if kind == "cover":
        return Answer("Kept to their range", [review.coverage.words,
                      "each range was made from the jobs before it alone, so this is no hindsight"])  # fmt: skip
    if kind == "off":
        quoted = sum(one.quoted or 0.0 for one in review.compared)
        taken = sum(one.actual for one in review.compared if one.quoted)
        return Answer("Minutes against quotes", [f"{taken:,.0f} min taken", f"{quoted:,.0f} min quoted, without rest"])
    if kind == "step" and step in review.calibration.steps:
        result = review.calibration.steps[step]
        return Answer(title_of(step), [f"{len(result.seen.jobs)} jobs logged", *result.words])
    return None
