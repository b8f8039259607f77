"""The charts of the summary, in the order of the argument; on paper and in the page the same."""

import json
from collections.abc import Mapping
from typing import Any

from pricing.basis.units import readable, shown
from pricing.papers.print_charts import PrintedFigure, described, figure
from pricing.papers.report import Report
from pricing.papers.told import local_rows
from pricing.show.even_view import batch_rows, batch_words
from pricing.show.job_view import matter_rows
from pricing.show.list_view import list_margin_rows
from pricing.show.shop_view import hour_rows
from pricing.show.sides_view import side_rows
from pricing.show.words import Words

_TITLES = {
    "hours": ("What an hour costs", "People with their share of the bills; machines whether used or idle."),
    "build": ("What the job costs, one colour beside two", "Full cost by stage of the work."),
    "margin": ("What is left at each price", "Dots: break-even. Lines: prices, {asked} in two colours."),
    "loss": ("How sure a price is", "Chance that the cost turns out above the price."),
    "extra": ("The extra against the line", "Line: keeps the margin. Band: 8 of 10 such jobs."),
    "map": ("What wiping may take", "Dot: where we stand."),
    "matters": ("What matters most", "Full cost with one number at its low and at its high, all else as is."),
    "batch": ("What one piece costs, by batch", "{batch}"),
    "week": ("Hours of the usual week", "{week}"),
    "month": ("A month of orders", "{month}"),
}


def figures_of(report: Report) -> list[PrintedFigure]:
    """Collect the charts of a summary."""
    shop, sides, words = report.shop, report.sides, Words(report.shop)
    code = shop.currency
    rows = side_rows(sides, drawn=False) | side_rows(sides, drawn=True)
    length = readable(shown(1.0, "m", shop.front.units).unit)
    rate = readable(shown(1.0, "min/m", shop.front.units).unit)
    asked = words.money(sides.price, cents=False)
    specs = {
        "hours": (described("show.charts_shop", "hour_costs", code), _hours(report)),
        "build": (described("show.charts_job", "cost_of_two_sides", code), rows["build"]),
        "margin": (_with_room(described("show.charts_job", "margin_against_price", code, sides=True)), rows["margin"]),
        "loss": (described("show.charts_job", "loss_against_price", code, sides=True), rows["loss"]),
        "extra": (described("show.charts_job", "extra_against_line", code, length), rows["line"]),
        "map": (described("show.charts_job", "extra_map", code, rate), rows["map"]),
        "matters": (described("show.charts_job", "what_matters", code), matter_rows(sides.fancy)),
        "batch": (described("show.charts_job", "batch", code), batch_rows(report.even)),
    }
    told = {"asked": asked, "batch": batch_words(report.even).split(" Drag")[0]}
    if report.mix is not None:
        told["week"], told["month"] = report.mix.say()
        specs["week"] = described("show.charts_shop", "hours_by_resource"), report.mix.hours_rows()
        specs["month"] = described("show.charts_shop", "month_chart", code), report.mix.month_rows()
    found = [figure(key, _TITLES[key][0], _TITLES[key][1].format(**told), *specs[key]) for key in specs]
    found += _margins(report)
    locale = shop.front.locale
    return [one._replace(spec={**one.spec, "datasets": _written(one.spec["datasets"], locale)}) for one in found]


def _written(sets: Mapping[str, Any], locale: str) -> dict[str, Any]:
    return {name: local_rows(rows, locale) for name, rows in sets.items()}


def _margins(report: Report) -> list[PrintedFigure]:
    """The chart of all prices, as tall as the list is long; a long list is cut so that each chart fits a page."""
    spec, rows = described("show.charts_shop", "list_margins", beside=True), list_margin_rows(report.standing)
    titles = list(dict.fromkeys(dot["title"] for dot in rows["dots"]))
    found = []
    for first in range(0, len(titles), _MOST_TITLES):
        mine = titles[first : first + _MOST_TITLES]
        dots = [dot for dot in rows["dots"] if dot["title"] in mine]
        part = f", {first + 1} to {first + len(mine)}" if len(titles) > _MOST_TITLES else ""
        one = figure(
            f"list{first or ''}",
            f"The margin of every price{part}",
            "Dashed: the margin that is wanted.",
            spec,
            {**rows, "dots": dots},
        )
        found.append(one._replace(height=max(235, 60 + 15 * len(mine))))
    return found


_MOST_TITLES = 40


def _hours(report: Report) -> Mapping[str, Any]:
    """What an hour costs, with more room for the words behind the bars than a wide page needs."""
    rows = hour_rows(report.shop)
    edge = 1.3 * max(float(row["cost"]) for row in rows["sums"])
    return rows | {"sums": [{**row, "edge": edge} for row in rows["sums"]]}


def _with_room(spec: Mapping[str, Any]) -> Mapping[str, Any]:
    """Leave room above the lines for the prices that are written there."""
    made: dict[str, Any] = json.loads(json.dumps(spec))
    for layer in made["layer"]:
        y = layer["encoding"].get("y", {})
        if y.get("field") == "margin":
            y["scale"] = {**y.get("scale", {}), "domainMax": 0.75}
    return made
