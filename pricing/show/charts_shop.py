"""Charts of the shop: what an hour costs, the list, a week and a month of work, and what the log says."""

from functools import cache
from typing import Any

from pricing.show.blocks import Spec
from pricing.show.charts import (
    AMOUNTS,
    across,
    alt,
    bars_of,
    by_place,
    coloured,
    dots_at,
    finished,
    on,
    side_colour,
    up,
    words_at,
)
from pricing.show.look import HOUR_COLOURS, INK, LOSS, PAY_COLOURS, SIDES, SINGLE, SOFT, TWO_TONE

_HOURS = {"taken on": "#6c9f95", "wanted, no time": "#e3b9b0"}
_STATES = {"as expected": SINGLE, "out of its range": TWO_TONE}
_DECADES = [0.3, 1, 3, 10, 30, 100, 300, 1000, 3000]
_AXIS = {"values": _DECADES, "format": "~r", "labelOverlap": "greedy", "labelSeparation": 8}


@cache
def hour_costs(code: str) -> Spec:
    """Bars of what an hour of each resource costs, by what makes it; data ``hours``, ``sums``."""
    x = across("cost", f"an hour costs [{code}/h]", tickCount=5, format=AMOUNTS).stack("zero")
    bars = bars_of("hours", x, 0.72, color=coloured("part", HOUR_COLOURS), order="rank:Q")
    sums = words_at("sums", "cost:Q", by_place(), align="left", dx=5, fontWeight="bold")
    edge = on("sums").mark_point(opacity=0, aria=False).encode(x="edge:Q", y=by_place())
    return finished(alt.layer(bars, edge, sums), "Bars: what an hour of each person and machine costs, before energy")


def _side_by_side(padding: float) -> dict[str, Any]:
    """Place single-tone above two-tone in the line of an item."""
    offset = alt.YOffset("side:N", sort=list(SIDES), scale=alt.Scale(paddingInner=padding))
    return {"y": by_place(), "yOffset": offset, "tooltip": "why:N"}


@cache
def list_now_and_saved(code: str) -> Spec:
    """Bars of what each item must cost now, with a tick where it stood when saved; data ``items``."""
    x = across("cost", f"one, to leave your margin [{code}]", tickCount=5, format=AMOUNTS)
    place = _side_by_side(0.05)
    bars = on("items").mark_bar().encode(x=x, color=side_colour(), **place)
    ticks = on("items").mark_tick(color=INK, thickness=2.5, height={"band": 1.0}).encode(x="saved:Q", **place)
    return finished(alt.layer(bars, ticks), "Bars: price of items that leaves the margin wanted, now; ticks: as saved")


@cache
def list_margins(*, beside: bool = False) -> Spec:
    """Dots of the margin of every price; data ``dots``, ``want``, ``zero``.

    Names stand ``beside`` the chart for a wide page, otherwise above each line.
    """
    y = by_place(axis=alt.Axis(grid=True, labels=beside, labelLimit=190, tickSize=0))
    x = across("margin", "margin", {"zero": False}, format=".1~%", tickCount=4)
    zero = on("zero").mark_rule(color=LOSS, strokeWidth=2, aria=False).encode(x="margin:Q")
    want = on("want").mark_rule(color=SOFT, strokeDash=[5, 4], aria=False).encode(x="margin:Q")
    dots = dots_at("dots", x, y, {"color": side_colour()}, size=75)
    look = {"align": "left", "dx": 5, "dy": -10, "color": INK, "aria": False}
    names = [] if beside else [words_at("dots", alt.value(0), y, {"text": "name:N"}, **look)]
    about = "Dots: margin of each price of the list, against the wanted margin"
    return finished(alt.layer(zero, want, *names, dots), about)


@cache
def unsure() -> Spec:
    """What the questions that would firm the list most move; data ``unsure``."""
    x = across("share", "moves your prices by, either way", format=".1~%", tickCount=4)
    bars = on("unsure").mark_bar(height={"band": 0.7}, color=SOFT)
    name = r"split(length(datum.label) > 32 ? replace(datum.label, ': ', ':\n') : datum.label, '\n')"
    axis = alt.Axis(labelLimit=290, labelExpr=name, labelLineHeight=12, labelOverlap=False)  # a long one on two lines
    bars = bars.encode(x=x, y=by_place(axis=axis), tooltip="why:N")
    return finished(bars, "Bars: what each open question moves, the one that firms the list most first")


@cache
def hours_by_resource() -> Spec:
    """Bars of hours wanted against the hours there are; data ``used``, ``there``."""
    y = by_place()
    x = across("hours", "hours a week [h]", tickCount=6)
    bars = bars_of("used", x, color=coloured("state", _HOURS), order="rank:Q")
    there = on("there").mark_tick(color=LOSS, thickness=3, height={"band": 0.95})
    there = there.encode(x="hours:Q", y=y, tooltip="why:N")
    text = words_at("there", "end:Q", y, align="left", dx=6, color=SOFT)
    edge = on("there").mark_point(opacity=0, aria=False).encode(x="edge:Q", y=y)
    about = "Bars: hours of each resource that work takes; marks: hours there are"
    return finished(alt.layer(bars, edge, there, text), about)


@cache
def month_chart(code: str) -> Spec:
    """Line of what a month leaves against the orders in it; data ``line``, ``marks``, ``even``, ``zero``."""
    x = across("orders", "orders a month, mixed as your week", {"nice": False}, tickCount=6)
    y = up("left", f"a month leaves [{code}]", tickCount=5, format=AMOUNTS)
    line = on("line").mark_line(color=INK).encode(x=x, y=y)
    zero = on("zero").mark_rule(color=SOFT, aria=False).encode(y="left:Q")
    marks = dots_at("marks", x, y, {"color": coloured("state", PAY_COLOURS, legend=False)})
    words = words_at("marks", x, y, align="right", dx=-9, dy=-7)
    even = dots_at("even", x, y, color=INK)
    told = words_at("even", x, y, align="left", dx=8, dy=11)
    about = "Line: what a month leaves against the orders in it"
    return finished(alt.layer(zero, line, marks, words, even, told), about)


@cache
def price_and_band(code: str) -> Spec:
    """Bands of what items may cost, with what is charged for them; data ``bands``."""
    x = across("low", f"for one [{code}]", tickCount=5, format=AMOUNTS)
    place = _side_by_side(0.15)
    bands = on("bands").mark_bar(opacity=0.45, cornerRadius=3)
    bands = bands.encode(x=x, x2="high:Q", color=side_colour(), **place)
    even = on("bands").mark_tick(thickness=2.5, height={"band": 1.0}).encode(x="cost:Q", color=side_colour(), **place)
    price = on("bands").mark_point(shape="diamond", size=70, filled=True, opacity=1, color=INK)
    price = price.encode(x="price:Q", **place)
    about = "Bands: 9 of 10 such jobs cost this much; ticks: mean; diamonds: price"
    return finished(alt.layer(bands, even, price), about)


@cache
def actual_against_quoted() -> Spec:
    """Dots of jobs, minutes they took against minutes in their quote, each on its range; data ``jobs``, ``same``."""
    x = across("quoted", "minutes in the quote [min]", {"type": "log", "nice": True}, **_AXIS)
    y = up("actual", "minutes it took [min]", {"type": "log", "nice": True}, **_AXIS)
    shape = alt.Shape("state:N", scale=alt.Scale(domain=list(_STATES), range=["circle", "triangle-up"]))
    dots = on("jobs").mark_point(size=42, filled=True, opacity=0.75)
    dots = dots.encode(x=x, y=y, color=coloured("state", _STATES), shape=shape, tooltip="why:N")
    same = on("same").mark_line(color=SOFT, strokeDash=[4, 4], aria=False).encode(x=x, y=y)
    ranges = on("jobs").mark_rule(color=SOFT, opacity=0.4, aria=False).encode(x=x, y="low:Q", y2="high:Q")
    return finished(
        alt.layer(same, ranges, dots),
        "Dots: minutes each job took against the minutes in its quote; upright lines: the range of 9 jobs in 10, "
        "from the jobs before it; dashed line: as quoted",
    )


@cache
def step_by_step() -> Spec:
    """Bars of how much longer or shorter than quoted each step takes; data ``steps``, ``even``."""
    x = across("off", "taken against quoted", format="+.0%", tickCount=5)
    colour = coloured("state", {"slower": TWO_TONE, "quicker": SINGLE})
    bars = bars_of("steps", x, y=by_place(axis=alt.Axis(labelLimit=175)), color=colour)
    even = on("even").mark_rule(color=INK, aria=False).encode(x="off:Q")
    return finished(alt.layer(bars, even), "Bars: how much longer or shorter than quoted each step takes")


@cache
def win_chart() -> Spec:
    """Curve of the chance to win a job against its price over its cost, with a band; data ``curve``, ``tries``."""
    x = across("ratio", "price over full cost", {"zero": False}, tickCount=4, format=".1f", labelOverlap="greedy")
    shares, ends = [0, 0.25, 0.5, 0.75, 1], {"domain": [-0.04, 1.08], "nice": False}
    y = up("chance", "share of quotes won", ends, format=".0%", values=shares)
    band = on("curve").mark_area(color=SINGLE, opacity=0.2).encode(x=x, y="low:Q", y2="high:Q")
    line = on("curve").mark_line(color=SINGLE).encode(x=x, y=y)
    ticks = on("tries").mark_tick(thickness=1.5, size=9, opacity=0.6)
    ticks = ticks.encode(x=x, y=y, color=coloured("state", {"won": SINGLE, "lost": LOSS}))
    return finished(alt.layer(band, line, ticks), "Curve: chance to win a quote against its price over its cost")
