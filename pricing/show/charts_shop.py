"""Charts of the shop: what an hour costs, what a change does to the list, hours against capacity."""

from functools import cache

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
    words_at,
)
from pricing.show.look import HEAT_COLOURS, HOUR_COLOURS, INK, LOSS, SIDES, SOFT

_HOURS = {"taken on": "#6c9f95", "wanted, no time": "#e3b9b0"}


@cache
def hour_costs(code: str) -> Spec:
    """Bars of what an hour of each resource costs, by what makes it; data ``hours``, ``sums``."""
    x = across("cost", f"an hour costs [{code}/h]", tickCount=5, format=AMOUNTS).stack("zero")
    bars = bars_of("hours", x, 0.72, color=coloured("part", HOUR_COLOURS), order="rank:Q")
    sums = words_at("sums", "cost:Q", by_place(), align="left", dx=5, fontWeight="bold")
    edge = on("sums").mark_point(opacity=0, aria=False).encode(x="edge:Q", y=by_place())
    return finished(alt.layer(bars, edge, sums), "Bars: what an hour of each person and machine costs, before energy")


@cache
def heat_by_visit() -> Spec:
    """Bars of the heat of each oven visit, by where it goes; data ``heat``."""
    x = across("kwh", "this job's share of the load [kWh]", tickCount=6).stack("zero")
    bars = bars_of("heat", x, color=coloured("part", HEAT_COLOURS, columns=4), order="rank:Q")
    return finished(bars, "Bars: where the heat of each oven visit of the job goes")


@cache
def list_now_and_saved(code: str) -> Spec:
    """Bars of what each item must cost now, with a tick where it stood when saved; data ``items``."""
    x = across("cost", f"one, to leave your margin [{code}]", tickCount=5, format=AMOUNTS)
    offset = alt.YOffset("side:N", sort=list(SIDES), scale=alt.Scale(paddingInner=0.05))
    place = {"y": by_place(), "yOffset": offset, "tooltip": "why:N"}
    bars = on("items").mark_bar().encode(x=x, color=side_colour(), **place)
    ticks = on("items").mark_tick(color=INK, thickness=2.5, height={"band": 1.0}).encode(x="saved:Q", **place)
    return finished(alt.layer(bars, ticks), "Bars: price of items that leaves the margin wanted, now; ticks: as saved")


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
    lines = r"split(replace(datum.label, regexp('(.{14,26}) ', 'g'), '$1\n'), '\n')"  # a long name on two or three
    axis = alt.Axis(labelLimit=230, labelExpr=lines, labelLineHeight=13)
    bars = bars.encode(x=x, y=by_place(axis=axis), tooltip="why:N")
    return finished(bars, "Bars: what each open question moves, the one that firms the list most first")
