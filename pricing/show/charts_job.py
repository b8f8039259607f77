"""Charts of a job: what each step costs, what is left of a price, how sure that is, what matters most.

Takes    the shop's currency, for the titles of the axes.
"""

from functools import cache
from typing import Any

from pricing.show.blocks import Spec
from pricing.show.charts import alt, data, finished, money_axis, side_colour
from pricing.show.look import GAIN, INK, MONEY_COLOURS, SOFT


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
                "kind:N",
                scale=alt.Scale(domain=list(MONEY_COLOURS), range=list(MONEY_COLOURS.values())),
                legend=alt.Legend(),
            ),
            order=alt.Order("rank:Q"),
            tooltip=alt.Tooltip("why:N"),
        )
    )
    return finished(chart, "Bars: cost of each step by kind of money")


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
    x = alt.X(
        "price:Q",
        title=f"price without tax [{code}]",
        axis=alt.Axis(tickCount=6, format=",~r"),
        scale=alt.Scale(zero=False, nice=False),
    )
    y = alt.Y(
        "margin:Q",
        title="margin, share of the price",
        axis=alt.Axis(format=".0%", tickCount=5),
        scale=alt.Scale(nice=False, zero=False),
    )
    colour = _side_or_one(sides)
    line = alt.Chart(data("line")).mark_line(clip=True).encode(x=x, y=y, **colour)
    zero = alt.Chart(data("zero")).mark_rule(color=SOFT, aria=False).encode(y="margin:Q")
    want = alt.Chart(data("want")).mark_rule(color=GAIN, strokeDash=[5, 4], aria=False).encode(y="margin:Q")
    want_text = (
        alt.Chart(data("want"))
        .mark_text(align="left", dx=4, dy=-7, color=GAIN)
        .encode(x=alt.value(0), y="margin:Q", text="text:N")
    )
    dot: Any = {"size": 85, "filled": True, "opacity": 1, "stroke": "white", "strokeWidth": 1.5}
    quiet = {"color": side_colour(legend=False)} if sides else colour
    marks = alt.Chart(data("marks")).mark_point(**dot).encode(x=x, y=y, tooltip=alt.Tooltip("why:N"), **colour)
    words = (
        alt.Chart(data("marks"))
        .mark_text(align="left", dx=7, dy=14, clip=False)
        .encode(x=x, y=y, text="text:N", **quiet)
    )
    now = alt.Chart(data("now")).mark_rule(strokeWidth=2.5, cursor="ew-resize").encode(x=x, **colour)
    edge: Any = {"baseline": "top", "dy": 1} if sides else {"baseline": "bottom", "dy": -4}
    now_text = (
        alt.Chart(data("now"))
        .mark_text(align="left", dx=5, fontWeight="bold", **edge)
        .encode(x=x, y=alt.value(0 if sides else "height"), text="text:N", **quiet)
    )
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
    x = alt.X(
        "price:Q",
        title=f"price without tax [{code}]",
        axis=alt.Axis(tickCount=5, format=",~r"),
        scale=alt.Scale(zero=False, nice=False),
    )
    y = alt.Y(
        "chance:Q", title="chance of loss", axis=alt.Axis(format=".0%", tickCount=4), scale=alt.Scale(domain=[0, 1])
    )
    colour = _side_or_one(sides)
    quiet = {"color": side_colour(legend=False)} if sides else colour
    curve = alt.Chart(data("curve")).mark_line(interpolate="monotone", clip=True).encode(x=x, y=y, **colour)
    now = alt.Chart(data("now")).mark_rule(cursor="ew-resize").encode(x=x, **colour)
    dot = (
        alt.Chart(data("now"))
        .mark_point(size=85, filled=True, opacity=1, stroke="white")
        .encode(x=x, y=y, tooltip=alt.Tooltip("why:N"), **colour)
    )
    words = (
        alt.Chart(data("now"))
        .mark_text(align="left", dx=6, dy=-9, fontWeight="bold")
        .encode(x=x, y=y, text="text:N", **quiet)
    )
    return finished(alt.layer(curve, now, dot, words), "Curves: chance that the cost is above the price")


@cache
def what_matters(code: str) -> Spec:
    """Bars from low to high of each uncertain number, longest first; data ``bars``, ``now``."""
    x = alt.X(
        "low:Q",
        title=f"full cost of the job [{code}]",
        axis=alt.Axis(tickCount=5, format=",~r"),
        scale=alt.Scale(zero=False),
    )
    bars = (
        alt.Chart(data("bars"))
        .mark_bar(height={"band": 0.7}, color=MONEY_COLOURS["machines"])
        .encode(
            x=x,
            x2="high:Q",
            y=alt.Y("title:N", title=None, sort=alt.EncodingSortField("place", op="min", order="ascending")),
            color=alt.Color(
                "kind:N",
                legend=alt.Legend(),
                scale=alt.Scale(domain=["guess", "published", "measured"], range=["#dd9f3d", "#6c9f95", "#1f4460"]),
            ),
            tooltip=alt.Tooltip("why:N"),
        )
    )
    now = alt.Chart(data("now")).mark_rule(color=INK, strokeWidth=2).encode(x="cost:Q")
    return finished(
        alt.layer(bars, now), "Bars: cost with each number at its low and at its high, all else at its mean"
    )
