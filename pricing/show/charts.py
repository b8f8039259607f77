"""Charts of a job, as Altair describes them: what it costs, what is left of a price, how sure that is.

Takes    the shop's currency and units, for the titles of the axes.
Gives    Vega-Lite as a mapping. Data have names and no rows: `pricing.show.live_chart` feeds them, a report fills
         them. Rows may hold ``why``, the words of a tooltip, and ``why_key``, which a click asks for.
Room     show. Imports show.look.
"""

from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

import altair as alt

from pricing.show.look import (
    GAIN,
    INK,
    MONEY_COLOURS,
    SIDES,
    SINGLE,
    SOFT,
    TWO_TONE,
    chart_theme,
)

Spec = Mapping[str, Any]


def finished(chart: Any, about: str) -> Spec:
    """Put the theme and a description on a chart.

    Parameters
    ----------
    chart : altair chart
        Single or layered.
    about : str
        What it shows, for those who hear it.
    """
    made: dict[str, Any] = chart.properties(description=about).configure(**chart_theme()).to_dict()
    made["config"]["legend"]["layout"] = {"top": {"anchor": "end"}}  # Vega takes it, Altair does not know it yet
    return made


def data(name: str) -> alt.Data:
    """Give data that are fed later."""
    return alt.NamedData(name=name)


def side_colour(*, legend: bool = True) -> alt.Color:
    """Give the colour of single-tone and two-tone."""
    return alt.Color(
        "side:N", scale=alt.Scale(domain=list(SIDES), range=[SINGLE, TWO_TONE]),
        legend=alt.Legend() if legend else alt.Undefined,
    )  # fmt: skip


def money_axis(field: str, title: str, **axis: Any) -> alt.X:
    """Give an axis of money; it begins at 0 and has few labels."""
    return alt.X(f"{field}:Q", title=title, axis=alt.Axis(tickCount=5, format=",~r", **axis))


@cache
def cost_by_step(code: str) -> Spec:
    """Bars of every step, split into the four kinds of money; data ``steps``."""
    chart = (
        alt.Chart(data("steps"))
        .mark_bar(height={"band": 0.78})
        .encode(
            x=money_axis("cost", f"cost of the step [{code}]").stack("zero"),
            y=alt.Y("title:N", title=None, sort=alt.EncodingSortField("place", op="min", order="ascending")),
            color=alt.Color(
                "kind:N", scale=alt.Scale(domain=list(MONEY_COLOURS), range=list(MONEY_COLOURS.values())),
                legend=alt.Legend(),
            ),
            order=alt.Order("rank:Q"),
            tooltip=alt.Tooltip("why:N"),
        )
    )  # fmt: skip
    return finished(chart, "Bars: cost of each step by kind of money")


@cache
def cost_of_two_sides(code: str) -> Spec:
    """Bars of groups of steps, single-tone above two-tone; data ``steps``."""
    chart = (
        alt.Chart(data("steps"))
        .mark_bar()
        .encode(
            x=money_axis("cost", f"cost [{code}]"),
            y=alt.Y(
                "title:N", title=None, sort=alt.EncodingSortField("place", op="min", order="ascending"),
                scale=alt.Scale(paddingInner=0.22, paddingOuter=0.1),
            ),
            yOffset=alt.YOffset("side:N", sort=list(SIDES), scale=alt.Scale(paddingInner=0.05)),
            color=side_colour(),
            tooltip=alt.Tooltip("why:N"),
        )
    )  # fmt: skip
    return finished(chart, "Bars: cost of each group of steps, single-tone beside two-tone")


def _side_or_one(sides: bool) -> dict[str, Any]:
    return {"color": side_colour()} if sides else {"color": alt.value(INK)}


@cache
def margin_against_price(code: str, *, sides: bool) -> Spec:
    """Lines of the margin left at each price, with marks; data ``line``, ``marks``, ``now``.

    Parameters
    ----------
    code : str
        Currency.
    sides : bool
        Whether single-tone and two-tone stand in it, or one job alone.
    """
    x = alt.X("price:Q", title=f"price without tax [{code}]", axis=alt.Axis(tickCount=6, format=",~r"),
              scale=alt.Scale(zero=False, nice=False))  # fmt: skip
    y = alt.Y("margin:Q", title="margin, share of the price", axis=alt.Axis(format=".0%", tickCount=5),
              scale=alt.Scale(nice=False, zero=False))  # fmt: skip
    colour = _side_or_one(sides)
    line = alt.Chart(data("line")).mark_line(clip=True).encode(x=x, y=y, **colour)
    zero = alt.Chart(data("zero")).mark_rule(color=SOFT).encode(y="margin:Q")
    want = alt.Chart(data("want")).mark_rule(color=GAIN, strokeDash=[5, 4]).encode(y="margin:Q")
    want_text = (
        alt.Chart(data("want")).mark_text(align="left", dx=4, dy=-7, color=GAIN).encode(
            x=alt.value(0), y="margin:Q", text="text:N")
    )  # fmt: skip
    dot: Any = {"size": 85, "filled": True, "opacity": 1, "stroke": "white", "strokeWidth": 1.5}
    quiet = {"color": side_colour(legend=False)} if sides else colour
    marks = alt.Chart(data("marks")).mark_point(**dot).encode(
        x=x, y=y, tooltip=alt.Tooltip("why:N"), **colour
    )  # fmt: skip
    words = alt.Chart(data("marks")).mark_text(align="left", dx=7, dy=9, clip=False).encode(
        x=x, y=y, text="text:N", **quiet
    )  # fmt: skip
    now = alt.Chart(data("now")).mark_rule(strokeWidth=2.5, cursor="ew-resize").encode(x=x, **colour)
    edge: Any = {"baseline": "top", "dy": 1} if sides else {"baseline": "bottom", "dy": -4}
    now_text = alt.Chart(data("now")).mark_text(align="left", dx=5, fontWeight="bold", **edge).encode(
        x=x, y=alt.value(0 if sides else "height"), text="text:N", **quiet
    )  # fmt: skip
    chart = alt.layer(zero, want, want_text, line, now, now_text, marks, words)
    return finished(chart, "Lines: share of the price that is left as margin, against the price")


@cache
def loss_against_price(code: str, *, sides: bool) -> Spec:
    """Curves of the chance that a price does not cover the cost; data ``curve``, ``now``.

    Parameters
    ----------
    code, sides
        As in `margin_against_price`.
    """
    x = alt.X("price:Q", title=f"price without tax [{code}]", axis=alt.Axis(tickCount=5, format=",~r"),
              scale=alt.Scale(zero=False, nice=False))  # fmt: skip
    y = alt.Y("chance:Q", title="chance of loss", axis=alt.Axis(format=".0%", tickCount=4),
              scale=alt.Scale(domain=[0, 1]))  # fmt: skip
    colour = _side_or_one(sides)
    quiet = {"color": side_colour(legend=False)} if sides else colour
    curve = alt.Chart(data("curve")).mark_line(interpolate="monotone", clip=True).encode(x=x, y=y, **colour)
    now = alt.Chart(data("now")).mark_rule(cursor="ew-resize").encode(x=x, **colour)
    dot = alt.Chart(data("now")).mark_point(size=85, filled=True, opacity=1, stroke="white").encode(
        x=x, y=y, tooltip=alt.Tooltip("why:N"), **colour
    )  # fmt: skip
    words = alt.Chart(data("now")).mark_text(align="left", dx=6, dy=-9, fontWeight="bold").encode(
        x=x, y=y, text="text:N", **quiet
    )  # fmt: skip
    return finished(alt.layer(curve, now, dot, words), "Curves: chance that the cost is above the price")


@cache
def what_matters(code: str) -> Spec:
    """Bars from low to high of each uncertain number, longest first; data ``bars``, ``now``."""
    x = alt.X("low:Q", title=f"full cost of the job [{code}]", axis=alt.Axis(tickCount=5, format=",~r"),
              scale=alt.Scale(zero=False))  # fmt: skip
    bars = (
        alt.Chart(data("bars"))
        .mark_bar(height={"band": 0.7}, color=MONEY_COLOURS["machines"])
        .encode(
            x=x, x2="high:Q",
            y=alt.Y("title:N", title=None, sort=alt.EncodingSortField("place", op="min", order="ascending")),
            color=alt.Color(
                "kind:N", legend=alt.Legend(),
                scale=alt.Scale(domain=["guess", "published", "measured"], range=["#dd9f3d", "#6c9f95", "#1f4460"]),
            ),
            tooltip=alt.Tooltip("why:N"),
        )
    )  # fmt: skip
    now = alt.Chart(data("now")).mark_rule(color=INK, strokeWidth=2).encode(x="cost:Q")
    return finished(
        alt.layer(bars, now), "Bars: cost with each number at its low and at its high, all else at its mean"
    )


@cache
def extra_against_line(code: str, unit: str) -> Spec:
    """The extra against metres of line, with its band; data ``band``, ``line``, ``now``, ``rule``.

    Parameters
    ----------
    code, unit : str
        Currency, and the unit of length the shop reads.
    """
    x = alt.X("line:Q", title=f"line between the colours, whole job [{unit}]", axis=alt.Axis(tickCount=5),
              scale=alt.Scale(nice=False))  # fmt: skip
    y = alt.Y("extra:Q", title=f"extra for the job [{code}]", axis=alt.Axis(tickCount=4, format=",~r"))
    band = alt.Chart(data("band")).mark_area(color=TWO_TONE, opacity=0.2).encode(x=x, y=y, y2="high:Q")
    line = alt.Chart(data("line")).mark_line(color=TWO_TONE).encode(x=x, y=y)
    dot = alt.Chart(data("now")).mark_point(size=90, filled=True, opacity=1, color=TWO_TONE, stroke="white").encode(
        x=x, y=y, tooltip=alt.Tooltip("why:N")
    )  # fmt: skip
    words = alt.Chart(data("now")).mark_text(align="right", dx=-9, dy=-6, color=TWO_TONE, fontWeight="bold").encode(
        x=x, y=y, text="text:N"
    )  # fmt: skip
    return finished(
        alt.layer(band, line, dot, words),
        "Line: extra that keeps the margin, against metres of line; band: 8 of 10 jobs",
    )


@cache
def extra_map(code: str, unit: str) -> Spec:
    """Zones of what is left, over wiping minutes and extra; data ``zones``, ``names``, ``slow``, ``now``.

    Parameters
    ----------
    code, unit : str
        Currency, and the unit of the wiping rate the shop reads.
    """
    x = alt.X("wipe:Q", title=f"wiping [{unit}]", axis=alt.Axis(tickCount=6), scale=alt.Scale(nice=False, zero=False))
    y = alt.Y("extra:Q", title=f"extra you charge [{code}]", axis=alt.Axis(tickCount=5, format=",~r"),
              scale=alt.Scale(nice=False))  # fmt: skip
    zone = alt.Color(
        "zone:N", legend=None,
        scale=alt.Scale(domain=["loses money", "below your margin", "keeps your margin"],
                        range=["#efc4be", "#f6e3b4", "#cfe5da"]),
    )  # fmt: skip
    areas = alt.Chart(data("zones")).mark_area(clip=True).encode(x=x, y=y, y2="top:Q", color=zone)
    names = alt.Chart(data("names")).mark_text(clip=True, fontWeight="bold").encode(
        x=x, y=y, text="zone:N", color=alt.Color("ink:N", scale=None)
    )  # fmt: skip
    slow = alt.Chart(data("slow")).mark_rule(color=SOFT, strokeDash=[3, 3]).encode(x=x)
    slow_text = alt.Chart(data("slow")).mark_text(color=INK, align="left", dx=3, baseline="bottom").encode(
        x=x, y=alt.value("height"), text="text:N"
    )  # fmt: skip
    dot = alt.Chart(data("now")).mark_point(size=130, filled=True, opacity=1, color=INK, stroke="white", strokeWidth=2,
                                            cursor="move").encode(x=x, y=y, tooltip=alt.Tooltip("why:N"))  # fmt: skip
    return finished(
        alt.layer(areas, slow, slow_text, names, dot), "Zones: whether an extra keeps the margin, by minutes of wiping"
    )


def names_in(spec: Spec) -> Sequence[str]:
    """Give the names of the data a chart is fed with.

    >>> sorted(names_in(loss_against_price("EUR", sides=True)))
    ['curve', 'now']
    """
    found = [spec["data"]["name"]] if "name" in spec.get("data", {}) else []
    for layer in spec.get("layer", ()):
        found += names_in(layer)
    return list(dict.fromkeys(found))
