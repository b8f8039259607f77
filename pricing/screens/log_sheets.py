"""The tables of page 7: new rates, odd minutes, quotes, what to time next, trend and season."""

from math import isnan
from pathlib import Path
from typing import TYPE_CHECKING

from pricing.basis.files import read_toml
from pricing.basis.units import sig
from pricing.show.cells import Measure
from pricing.show.labels import short
from pricing.show.log_view import title_of
from pricing.show.sheets import Cell, Column, Row, Sheet
from pricing.show.words import Words

if TYPE_CHECKING:
    from pricing.ledger.review import Review

_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_MOST_ROWS = 60
_VAGUE = 2.0  # a range of change wider than this says nothing
OPEN, WON, LOST = "open", "won", "lost"


def log_tables() -> list[Sheet]:
    """Collect the tabs."""
    found = []
    for key, told in read_toml(Path(__file__).with_name("log_sheets.toml")).items():
        columns = [Column(**column) for column in told["columns"]]
        if key == "season":
            columns += [Column(month, month, "plain", num=True) for month in _MONTHS]
        actions = tuple((name, label) for name, label in told.get("actions", ()))
        found.append(Sheet(key, told["title"], tuple(columns), actions, told["note"]))
    return found


def table_rows(review: "Review", *, takes: bool, writes: bool) -> dict[str, list[Row]]:
    """Collect the rows of the tabs; whether proposals can be taken here, and facts written."""
    words = Words(review.shop)
    return {
        "rates": _rate_rows(review, takes=takes),
        "odd": _odd_rows(review, writes=writes),
        "quotes": _quote_rows(review, words, writes=writes),
        "time": _time_rows(review, words),
        "season": _season_rows(review),
        "these": _these_rows(review, words),
        "people": _people_rows(review),
    }


def _rate_rows(review: "Review", *, takes: bool) -> list[Row]:
    shop, rows = review.shop, []
    for one in sorted(review.proposals, key=lambda proposal: -abs(proposal.change)):
        measure = Measure(one.old.unit, shop.tongue)
        points = " · ".join(sig(float(measure.write(at)), 3) for at in (one.new.low, one.new.likely, one.new.high))
        first, _, last = one.new.where.partition(" from ")[2].partition(" to ")
        cells = {
            "now": Cell(measure.write(one.old.mean)),
            "log": Cell(measure.write(one.new.mean)),
            "change": Cell(f"{one.change:+.0%}", mark="thin" if abs(one.change) > 0.1 else "soft"),
            "points": Cell(points),
            "jobs": Cell(str(one.jobs)),
            "days": Cell(f"{first[:7]} – {last[:7]}", mark="soft when"),
            "take": Cell("Take it", off=not takes),
            "note": Cell(" ".join(one.notes), mark="soft"),
        }
        unit = f" [{measure.heading}]" if measure.heading else ""
        rows.append(Row(one.key, f"{short(shop, one.key)}{unit}", cells))
    return rows


def _odd_rows(review: "Review", *, writes: bool) -> list[Row]:
    rows = []
    for doubt in review.calibration.doubtful[:_MOST_ROWS]:
        cells = {
            "step": Cell(title_of(doubt.step)),
            "day": Cell(doubt.day),
            "took": Cell(sig(doubt.minutes), plain=not writes),
            "expected": Cell(sig(doubt.expected)),
            "so": Cell("It was so", off=not writes),
            "rule": Cell("counted as an overrun" if doubt.counted else "set aside", mark="soft"),
        }
        rows.append(Row(f"{doubt.step}|{doubt.job}", doubt.job, cells))
    return rows


def _quote_rows(review: "Review", words: Words, *, writes: bool) -> list[Row]:
    told = {row["job"]: row for row in review.outcomes}
    rows: dict[str, Row] = {}
    for quote in reversed(review.quotes):
        if quote["job"] in rows or len(rows) == _MOST_ROWS:
            continue
        became = told.get(quote["job"])
        now, paid = (became["result"], became["price_paid"]) if became else (OPEN, None)
        asked = quote["price"] if paid is None else paid
        cells = {
            "day": Cell(quote["on"]),
            "asked": Cell(words.money(quote["price"])),
            "cost": Cell(words.money(quote["cost"])),
            "paid": Cell(f"{asked:.2f}" if now != LOST else "", plain=not writes or now == LOST),
            "won": Cell("Won", off=not writes or now == WON),
            "lost": Cell("Lost", off=not writes or now == LOST),
            "now": Cell(now, mark={WON: "gain", LOST: "loss"}.get(now, "soft")),
            "show": Cell("Show as it was", off=not quote["sheet"]),
        }
        rows[quote["job"]] = Row(quote["job"], quote["job"], cells)
    return list(rows.values())


def _these_rows(review: "Review", words: Words) -> list[Row]:
    rows = []
    for one in review.to_time:
        closer = 1 - 1 / one.parts
        cells = {
            "step": Cell(title_of(one.step)),
            "worth": Cell(words.money(one.worth)),
            "parts": Cell(f"{closer:.0%} closer" if closer >= 0.005 else "no better", mark="soft"),
        }
        rows.append(Row(f"{one.step}|{one.job}", one.job, cells))
    return rows


def _time_rows(review: "Review", words: Words) -> list[Row]:
    rows = []
    for one in review.worth:
        cells = {
            "jobs": Cell(str(one.jobs)),
            "unsure": Cell(f"{one.unsure:.0%}"),
            "timing": Cell(words.money(one.timing)),
            "knowing": Cell(words.money(one.knowing), mark="soft"),
        }
        rows.append(Row(one.step, title_of(one.step), cells))
    return rows


def _people_rows(review: "Review") -> list[Row]:
    rows = []
    for one in review.people:
        known = not isnan(one.pace)  # before two jobs
        cells = {
            "who": Cell(one.worker),
            "jobs": Cell(str(one.jobs)),
            "part": Cell(f"{one.part:.0%}"),
            "pace": Cell(_signed(one.pace - 1) if known else "–", mark=_mark(one.low - 1, one.high - 1)),
            "sure": Cell(_between(one.low - 1, one.high - 1) if known else "too few jobs", mark="soft when"),
        }
        rows.append(Row(f"{one.step}|{one.worker}", title_of(one.step), cells))
    return rows


def _season_rows(review: "Review") -> list[Row]:
    from pricing.ledger.drift import SURE_OF_DRIFT, drift, months

    rows = []
    for step, result in review.calibration.steps.items():
        trend, sure, by_month = drift(result), drift(result, SURE_OF_DRIFT), months(result, SURE_OF_DRIFT)
        if not by_month and trend is None:
            continue
        cells = {"year": Cell("–", mark="soft"), "sure": Cell("too few jobs to say", mark="soft when")}
        if trend and sure and trend.high - trend.low < _VAGUE:
            cells["year"] = Cell(_signed(trend.per_year), mark=_mark(sure.low, sure.high))
            cells["sure"] = Cell(_between(trend.low, trend.high), mark="soft when")
        cells |= dict.fromkeys(_MONTHS, Cell(""))
        for month in by_month:
            mark = _mark(month.low - 1, month.high - 1)
            cells[_MONTHS[month.month - 1]] = Cell(_signed(month.ratio - 1), mark=mark)
        rows.append(Row(step, title_of(step), cells))
    return rows


def _signed(share: float) -> str:
    return f"{share:+.0%}" if abs(share) >= 0.005 else "0%"


def _between(low: float, high: float) -> str:
    return f"{_signed(low)} to {_signed(high)}"


def _mark(low: float, high: float) -> str:
    return "sure loss" if low > 0 else "sure gain" if high < 0 else "soft"
