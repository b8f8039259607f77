"""The charts of the summary, in the order of the argument: as on the screen, with their rows inside.

Gives    descriptions in Vega-Lite: a page draws them with Vega itself, paper by ``chart.typ``.
"""

import json
from collections.abc import Mapping, Sequence
from functools import cache
from importlib import import_module
from importlib.metadata import version
from importlib.util import find_spec
from pathlib import Path
from typing import Any, NamedTuple

from pricing.basis.files import read_text
from pricing.basis.units import readable, shown
from pricing.papers.report import Report
from pricing.papers.told import local_rows
from pricing.show import look
from pricing.show.blocks import names_in
from pricing.show.bundle import kept_as_bundle
from pricing.show.even_view import batch_rows, batch_words
from pricing.show.job_view import matter_rows
from pricing.show.list_view import list_margin_rows
from pricing.show.shop_view import hour_rows
from pricing.show.sides_view import side_rows
from pricing.show.words import Words

_PAPER_HIGH = 176


class PrintedFigure(NamedTuple):
    """One chart with its heading, the sentence below it, and its size. [px]"""

    key: str
    title: str
    told: str
    spec: Mapping[str, Any]
    width: int = 385
    height: int = 235


def figure(
    key: str, title: str, told: str, spec: Mapping[str, Any], rows: Mapping[str, Sequence[Mapping[str, Any]]]
) -> PrintedFigure:
    """Put the rows of a chart into it."""
    empty: dict[str, Any] = {name: [] for name in names_in(spec)}
    return PrintedFigure(key, title, told, {**spec, "datasets": empty | {name: list(r) for name, r in rows.items()}})


def spec_of(one: PrintedFigure) -> dict[str, Any]:
    """Describe a chart as a page draws it; the marks of a board, which ask why, are left out."""
    made: dict[str, Any] = json.loads(json.dumps(one.spec))
    if "hconcat" not in made and "vconcat" not in made:
        made |= {"width": one.width, "height": one.height, "autosize": {"type": "fit", "contains": "padding"}}
    for rows in made["datasets"].values():
        for row in rows:
            row.pop("why_key", None)
    return made


def on_paper(one: PrintedFigure) -> dict[str, Any]:
    """Make a chart as paper draws it, as flat as paper needs it: four rows of charts stand on a page, of Letter too."""
    high = _PAPER_HIGH if one.height == PrintedFigure._field_defaults["height"] else one.height
    spec = {key: value for key, value in spec_of(one).items() if key not in {"config", "$schema", "autosize"}}
    about = str(one.spec.get("description", one.told))
    return {"key": one.key, "title": one.title, "told": one.told, "about": about, "high": high, "spec": spec}


def described(module: str, chart: str, *given: Any, **more: Any) -> Mapping[str, Any]:
    """Collect the description of a chart, kept between runs: to make one anew takes Altair, a second in all.

    Parameters
    ----------
    module, chart : str
        Where in the project, such as ``show.charts_shop``, and the name of the function that describes it.
    *given, **more
        What the function takes; texts, numbers and truth values.
    """

    def make() -> str:
        return json.dumps(getattr(import_module(f"pricing.{module}"), chart)(*given, **more))

    about = json.dumps([version("altair"), _written(module), module, chart, given, more], sort_keys=True)
    try:
        found: dict[str, Any] = json.loads(kept_as_bundle(chart, ".json", about, make))
    except ValueError:  # what was kept is damaged
        found = json.loads(make())
    return found


@cache
def _written(module: str) -> str:
    """All that charts are described in: the module itself, and those that they share."""
    spec = find_spec(f"pricing.{module}")
    here = Path(spec.origin if spec and spec.origin else __file__)
    shared = sorted(Path(look.__file__).parent.glob("charts*.py"))
    return "".join(read_text(path) for path in (here, *shared, Path(look.__file__)))


def embedded(value: Any) -> str:
    r"""Write data into a page so that nothing in it can end the script it stands in.

    >>> embedded({"title": "</script><b>"})
    '{"title": "\\u003c/script\\u003e\\u003cb\\u003e"}'
    """
    text = json.dumps(value)
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


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
    made, locale = [], shop.front.locale
    for one in found:
        sets = {name: local_rows(rows, locale) for name, rows in one.spec["datasets"].items()}
        made.append(one._replace(spec={**one.spec, "datasets": sets}))
    return made


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
