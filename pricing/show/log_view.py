"""Page 7 in rows and words: what jobs really took, and what of it goes into the rates, with the list kept."""

from collections.abc import Sequence
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from pricing.basis.units import sig
from pricing.shop.folder import known_steps, open_shop
from pricing.show.blocks import Answer, Rows
from pricing.show.cells import Measure
from pricing.show.labels import short
from pricing.show.tiles import tile, tile_number, tiles
from pricing.show.words import LOOP_WORDS, Words, counted

if TYPE_CHECKING:
    from pricing.ledger.calibrate import StepResult
    from pricing.ledger.proposals import Proposal
    from pricing.ledger.quotes import OldQuote
    from pricing.ledger.review import Review
    from pricing.prices.price_list import Fallen
    from pricing.shop.shop import Shop

ALL = "all"
"""Stands for all steps of a job together."""
_MOST_DOTS = 250
_MOST_STEPS = 11


def title_of(step: str) -> str:
    """Name a step."""
    steps = known_steps()
    return steps[step].title if step in steps else step


def change_words(shop: "Shop", proposal: "Proposal") -> str:
    """Say what a number was and what the log makes of it, in whole words."""
    measure = Measure(proposal.old.unit, shop.tongue)
    then, now = (measure.write(row.mean, digits=3) for row in (proposal.old, proposal.new))
    heading = measure.heading
    per = f", minutes per {heading[4:]}" if heading.startswith("min/") else f" [{heading}]" if heading else ""
    return f"{short(shop, proposal.key)}{per}: {then} → {now}"


def job_rows(review: "Review", step: str) -> dict[str, Rows]:
    """Collect minutes taken against minutes quoted of a step, or `ALL`, job by job; the newest of very many."""
    seen: list[tuple[Any, str, str, float, float]]
    if step == ALL:
        from pricing.ledger.expected_and_actual import job_totals

        seen = [(total, "as expected", "", total.actual, total.actual) for total in job_totals(review.compared)]
    else:
        seen = []
        for one in (one for one in review.compared if one.step == step and one.quoted):
            ends = f"\nrange from the jobs before it: {sig(one.low)} to {sig(one.high)} min"
            seen.append((one, "as expected" if one.inside else "out of its range", ends, one.low, one.high))
    rows: list[dict[str, Any]] = []
    for job, state, ends, low, high in seen[-_MOST_DOTS:]:
        why = f"{job.job}, {job.day}: {sig(job.actual)} min, quoted {sig(job.quoted)}{ends}"
        if job.quoted > 0 and job.actual > 0:
            row = {"quoted": job.quoted, "actual": job.actual, "state": state, "why": why}
            rows.append(row | {"low": low, "high": high})
    if not rows:
        return {"jobs": rows, "same": []}
    minutes = [row[name] for row in rows for name in ("quoted", "actual")]
    ends_of_line = (max(min(minutes), 0.05), max(minutes))
    return {"jobs": rows, "same": [{"quoted": at, "actual": at} for at in ends_of_line]}


def logged_step_rows(review: "Review") -> dict[str, Rows]:
    """Collect how much longer or shorter than quoted each step takes in sum."""
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
        state = "slower" if off[step] > 0 else "quicker"
        row = {"title": title_of(step), "place": place, "off": round(off[step], 4), "state": state}
        rows.append(row | {"why": told, "why_key": f"step:{step}"})
    return {"steps": rows, "even": [{"off": 0.0}]}


def win_rows(review: "Review") -> tuple[dict[str, Rows], str]:
    """Collect the chance to win against price over cost, and what it says."""
    found = review.winning
    if isinstance(found, str):
        return {"curve": (), "tries": ()}, f'<div class="pp-instead">{escape(found)}</div>'
    quoted = {row["job"]: row["price"] / row["cost"] for row in review.quotes if row["cost"] > 0 and row["price"] > 0}
    tries = [
        {"ratio": round(quoted[row["job"]], 3), "state": row["result"], "chance": float(row["result"] == "won")}
        for row in review.outcomes
        if row["job"] in quoted
    ][-_MOST_DOTS:]
    ratios = np.linspace(min(t["ratio"] for t in tries), max(t["ratio"] for t in tries), 31)
    middle, low, high = found.chance(ratios)
    curve = [
        {"ratio": round(r, 3), "chance": round(c, 4), "low": round(lo, 4), "high": round(hi, 4)}
        for r, c, lo, hi in zip(ratios.tolist(), middle.tolist(), low.tolist(), high.tolist(), strict=True)
    ]
    return {"curve": curve, "tries": tries}, escape(found.words)


def _minutes(review: "Review") -> tuple[float, float]:
    """Minutes quoted, and taken where a quote said some."""
    told = [one for one in review.compared if one.quoted]
    return sum(one.quoted or 0.0 for one in told), sum(one.actual for one in told)


def log_tiles(review: "Review", *, invented: bool) -> str:
    """Write the tiles of the page."""
    jobs = len({row["job"] for row in review.times})
    cover = review.coverage
    share = f"{cover.share:.0%}" if cover.jobs else "–"
    quoted, taken = _minutes(review)
    off = f"{taken / quoted - 1:+.0%}" if quoted else "–"
    mine = tile("These jobs are", "invented", "your own log is empty yet", style="main")
    first = (
        mine
        if invented
        else tile("Jobs logged", str(jobs), f"{counted(len(review.times), 'step', 'steps')} timed", style="main")
    )
    changed = sum(abs(one.change) > 0.1 for one in review.proposals)
    return tiles(
        [
            first,
            tile("Minutes against quotes", tile_number(off, "off" if quoted else ""), "in sum, rest left out"),
            tile(
                "Kept to their range",
                tile_number(share, "cover" if cover.jobs else ""),
                f"of {cover.jobs} steps; promised 90%",
            ),
            tile("Rates off by over 10%", str(changed), f"of {len(review.proposals)} the log can tell"),
            tile("Quotes", str(len(review.quotes)), f"{sum(row['result'] == 'won' for row in review.outcomes)} won"),
        ]
    )


def log_answer(review: "Review", key: str) -> Answer | None:
    """Return the sum behind a number of the page."""
    kind, _, step = key.partition(":")
    if kind == "cover":
        return Answer(
            "Kept to their range",
            [review.coverage.words, "each range was made from the jobs before it alone, so this is no hindsight"],
        )
    if kind == "off":
        quoted, taken = _minutes(review)
        return Answer("Minutes against quotes", [f"{taken:,.0f} min taken", f"{quoted:,.0f} min quoted, without rest"])
    if kind == "step" and step in review.calibration.steps:
        result = review.calibration.steps[step]
        return Answer(title_of(step), [f"{len(result.seen.jobs)} jobs logged", *result.words, *_trend(result)])
    return None


def _trend(result: "StepResult") -> list[str]:
    from pricing.ledger.drift import drift

    found = drift(result)
    if found is None:
        return ["the log is too short to say whether it gets slower"]
    way = "no change that is more than chance"
    if found.sure:
        way = "it gets slower" if found.per_year > 0 else "it gets quicker"
    return [f"{way}: {found.per_year:+.0%} a year, 95% sure from {found.low:+.0%} to {found.high:+.0%}"]


def old_quote(shop: "Shop", quote: "OldQuote") -> Answer:
    """Return a quote of the log as it was given, with its own numbers, line by line."""
    from pricing.basis.money import show_money

    def money(value: float) -> str:
        return show_money(value, quote.currency, shop.front.locale)

    words = Words(shop)
    told = [f"{money(quote.price)} asked, {money(quote.cost)} full cost; {quote.finish.replace('_', ' ')}"]
    for line in quote.lines:
        coat = line.name.rpartition(".")[2]
        title = words.step_title(line.step, int(coat) if coat.isdecimal() and line.step not in LOOP_WORDS else 0)
        told.append(f"{title}: {money(line.total)}, {sig(line.minutes)} min")
    made = f"made with version {quote.version} and {len(quote.book)} numbers of that day, which are kept with it"
    return Answer(f"{quote.job}, as quoted on {quote.on}", [*told, made])


def take(folder: Path, proposals: "Sequence[Proposal]", *, let_fall: bool = False) -> tuple[list[str], str]:
    """Take rows into the rate book; prices of the list that would fall are kept unless they are let.

    Gives the files that changed, and what became of the list, '' where nothing would fall.

    Raises
    ------
    BadInput
        As `pricing.ledger.proposals.accept`.
    """
    from pricing.ledger.proposals import accept, with_row
    from pricing.parts.items import read_items
    from pricing.prices.price_list import fallen, hold

    before = after = open_shop(folder)
    for proposal in proposals:
        after = with_row(after, proposal.new)
    lower = fallen(before, after, read_items(before)) if proposals else ()
    files = accept(folder, proposals)  # refuses what was changed since, before any price is kept
    if not let_fall:
        hold(before, lower)
    return files, _list_words(before, lower, let_fall=let_fall)


def _list_words(shop: "Shop", lower: "Sequence[Fallen]", *, let_fall: bool) -> str:
    if not lower:
        return ""
    most, words = max(lower, key=lambda row: row.by), Words(shop)
    what = f"{counted(len(lower), 'price', 'prices')} of the list, most {most.title}: {words.short(most.was.first)} to"
    what += (
        f" {words.short(most.now.first)} for the first, {words.short(most.was.each)} to {words.short(most.now.each)}"
    )
    if let_fall:
        return f"With them fell {what} each further."
    return (
        f"Cheaper to make now, but kept as they were: {what} each further. Page 3 shows what is asked beside yours;"
        " there you decide."
    )
