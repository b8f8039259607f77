"""Charts of a job: its steps and what is left of its price, single-tone beside two-tone, batches, oven visits.

Takes    the shop's currency and units, for the titles of the axes.
"""

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
from pricing.show.look import GAIN, HEAT_COLOURS, INK, MONEY_COLOURS, PAY_COLOURS, SIDES, SOFT, TWO_TONE

_FREE = {"zero": False, "nice": False}
_KNOWN = {"guess": "#dd9f3d", "published": "#6c9f95", "measured": "#1f4460"}
_ZONES = {"loses money": "#efc4be", "below your margin": "#f6e3b4", "keeps your margin": "#cfe5da"}


@cache
def cost_by_step(code: str) -> Spec:
    """Bars of every step, split into the four kinds of money; data ``steps``."""
    x = across("cost", f"cost of the step [{code}]", tickCount=5, format=AMOUNTS).stack("zero")
    chart = bars_of("steps", x, 0.78, color=coloured("kind", MONEY_COLOURS), order="rank:Q")
    return finished(chart, "Bars: cost of each step by kind of money")


def _side_or_one(sides: bool) -> tuple[dict[str, Any], dict[str, Any]]:
    """Work out the colour of lines, and of words, which need no legend of their own."""
    if not sides:
        return ({"color": alt.value(INK)},) * 2
    return {"color": side_colour()}, {"color": side_colour(legend=False)}


@cache
def margin_against_price(code: str, *, sides: bool) -> Spec:
    """Lines of the margin left at each price, of two sides or one job; data ``line``, ``marks``, ``now``, ``want``."""
    x = across("price", f"price without tax [{code}]", _FREE, tickCount=6, format=AMOUNTS)
    y = up("margin", "margin, share of the price", _FREE, format=".0%", tickCount=5)
    colour, quiet = _side_or_one(sides)
    line = on("line").mark_line(clip=True).encode(x=x, y=y, **colour)
    zero = on("zero").mark_rule(color=SOFT, aria=False).encode(y="margin:Q")
    want = on("want").mark_rule(color=GAIN, strokeDash=[5, 4], aria=False).encode(y="margin:Q")
    want_text = words_at("want", alt.value(0), "margin:Q", align="left", dx=4, dy=-7, color=GAIN)
    marks = dots_at("marks", x, y, colour, size=85, strokeWidth=1.5)
    words = words_at("marks", x, y, quiet, align="left", dx=7, dy=14, clip=False)
    now = on("now").mark_rule(strokeWidth=2.5, cursor="ew-resize").encode(x=x, **colour)
    edge: Any = {"baseline": "top", "dy": 1} if sides else {"baseline": "bottom", "dy": -4}
    at = alt.value(0 if sides else "height")
    now_text = words_at("now", x, at, quiet, align="left", dx=5, fontWeight="bold", **edge)
    chart = alt.layer(zero, want, want_text, line, now, now_text, marks, words)
    return finished(chart, "Lines: share of the price that is left as margin, against the price")


@cache
def loss_against_price(code: str, *, sides: bool) -> Spec:
    """Curves of the chance that a price does not cover the cost, sides as before; data ``curve``, ``now``."""
    x = across("price", f"price without tax [{code}]", _FREE, tickCount=5, format=AMOUNTS)
    y = up("chance", "chance of loss", {"domain": [0, 1]}, format=".0%", tickCount=4)
    colour, quiet = _side_or_one(sides)
    curve = on("curve").mark_line(interpolate="monotone", clip=True).encode(x=x, y=y, **colour)
    now = on("now").mark_rule(cursor="ew-resize").encode(x=x, **colour)
    dot = dots_at("now", x, y, colour, size=85)
    words = words_at("now", x, y, quiet, align="left", dx=6, dy=-9, fontWeight="bold")
    return finished(alt.layer(curve, now, dot, words), "Curves: chance that the cost is above the price")


@cache
def what_matters(code: str) -> Spec:
    """Bars from low to high of each uncertain number, longest first; data ``bars``, ``now``."""
    x = across("low", f"full cost of the job [{code}]", {"zero": False}, tickCount=5, format=AMOUNTS)
    bars = bars_of("bars", x, x2="high:Q", color=coloured("kind", _KNOWN))
    now = on("now").mark_rule(color=INK, strokeWidth=2).encode(x="cost:Q")
    about = "Bars: cost with each number at its low and at its high, all else at its mean"
    return finished(alt.layer(bars, now), about)


@cache
def cost_of_two_sides(code: str) -> Spec:
    """Bars of groups of steps, single-tone above two-tone; data ``steps``."""
    x = across("cost", f"cost [{code}]", tickCount=5, format=AMOUNTS)
    y = by_place(scale=alt.Scale(paddingInner=0.22, paddingOuter=0.1))
    offset = alt.YOffset("side:N", sort=list(SIDES), scale=alt.Scale(paddingInner=0.05))
    chart = on("steps").mark_bar().encode(x=x, y=y, yOffset=offset, color=side_colour(), tooltip="why:N")
    return finished(chart, "Bars: cost of each group of steps, single-tone beside two-tone")


@cache
def extra_against_line(code: str, unit: str) -> Spec:
    """The extra against metres of line, with its band; data ``band``, ``line``, ``now``."""
    x = across("line", f"line between the colours, whole job [{unit}]", {"nice": False}, tickCount=5)
    y = up("extra", f"extra for the job [{code}]", tickCount=4, format=AMOUNTS)
    band = on("band").mark_area(color=TWO_TONE, opacity=0.2).encode(x=x, y=y, y2="high:Q")
    line = on("line").mark_line(color=TWO_TONE).encode(x=x, y=y)
    dot = dots_at("now", x, y, color=TWO_TONE)
    words = words_at("now", x, y, align="right", dx=-9, dy=-6, color=TWO_TONE, fontWeight="bold")
    about = "Line: extra that keeps the margin, against metres of line; band: 8 of 10 jobs"
    return finished(alt.layer(band, line, dot, words), about)


@cache
def extra_map(code: str, unit: str) -> Spec:
    """Zones of what is left, over wiping minutes and extra; data ``zones``, ``names``, ``slow``, ``now``."""
    x = across("wipe", f"wiping [{unit}]", {"nice": False, "zero": False}, tickCount=6)
    y = up("extra", f"extra you charge [{code}]", {"nice": False}, tickCount=5, format=AMOUNTS)
    scale = alt.Scale(domain=list(_ZONES), range=list(_ZONES.values()))
    zone = alt.Color("zone:N", legend=None, scale=scale)
    areas = on("zones").mark_area(clip=True).encode(x=x, y=y, y2="top:Q", color=zone)
    ink = {"text": "zone:N", "color": alt.Color("ink:N", scale=None)}
    names = words_at("names", x, y, ink, clip=True, fontWeight="bold")
    slow = on("slow").mark_rule(color=SOFT, strokeDash=[3, 3], aria=False).encode(x=x)
    slow_text = words_at("slow", x, alt.value("height"), color=INK, align="left", dx=3, baseline="bottom")
    dot = dots_at("now", x, y, size=130, color=INK, strokeWidth=2, cursor="move")
    about = "Zones: whether an extra keeps the margin, by minutes of wiping"
    return finished(alt.layer(areas, slow, slow_text, names, dot), about)


@cache
def batch(code: str) -> Spec:
    """Steps of what one piece costs at each batch size, and what is asked of it.

    Data: ``curve``, ``teeth``, ``price``, ``room``.
    """
    x = across("n", "pieces in the batch", {"nice": False}, tickCount=8, format="d")
    y = up("each", f"cost and price of one [{code}]", {"zero": False}, tickCount=5, format=AMOUNTS)
    line = on("curve").mark_line(color="#b9b2a3", strokeWidth=1.5).encode(x=x, y=y)
    shape = alt.Shape("state:N", scale=alt.Scale(domain=list(PAY_COLOURS), range=["circle", "triangle-up"]))
    dots = on("curve").mark_point(size=36, filled=True, opacity=1)
    dots = dots.encode(x=x, y=y, color=coloured("state", PAY_COLOURS), shape=shape, tooltip="why:N")
    teeth = on("teeth").mark_rule(color=SOFT, strokeDash=[2, 3], aria=False).encode(x=x)
    words = words_at("teeth", x, alt.value(1), align="left", dx=3, baseline="top", color=SOFT)
    price = on("price").mark_line(color=INK, strokeWidth=2.5, cursor="ns-resize").encode(x=x, y=y)
    told = words_at("price", alt.value("width"), "each:Q", align="right", dy=-8, color=INK, fontWeight="bold")
    room = on("room").mark_point(opacity=0, aria=False).encode(y="each:Q")
    about = "Steps: full cost of one piece against the batch size; where a new oven load or pack begins it jumps up"
    return finished(alt.layer(room, teeth, words, line, dots, price, told), about)


@cache
def left_over(code: str, title: str) -> Spec:
    """Line of what is left against one number, named with its unit; data ``gain``, ``turns``, ``now``, ``zero``."""
    x = across("value", title, {"nice": False}, tickCount=6)
    y = up("gain", f"left over [{code}]", tickCount=5, format=AMOUNTS)
    area = on("gain").mark_area(opacity=0.35, clip=True)
    area = area.encode(x=x, y=y, y2=alt.datum(0), color=coloured("state", PAY_COLOURS))
    line = on("gain").mark_line(color=INK, strokeWidth=2).encode(x=x, y=y)
    zero = on("zero").mark_rule(color=SOFT, aria=False).encode(y="gain:Q")
    turns = dots_at("turns", x, y, color=INK)
    words = words_at("turns", x, y, align="left", dx=8, dy=-9, fontWeight="bold")
    now = on("now").mark_rule(color=TWO_TONE, strokeDash=[4, 3], aria=False).encode(x=x)
    told = words_at("now", x, alt.value("height"), align="left", dx=4, baseline="bottom", dy=-4, color=TWO_TONE)
    about = f"Line: what is left of the price against {title}"
    return finished(alt.layer(area, zero, line, now, told, turns, words), about)


@cache
def heat_by_visit() -> Spec:
    """Bars of the heat of each oven visit, by where it goes; data ``heat``."""
    x = across("kwh", "this job's share of the load [kWh]", tickCount=6).stack("zero")
    bars = bars_of("heat", x, color=coloured("part", HEAT_COLOURS, columns=4), order="rank:Q")
    return finished(bars, "Bars: where the heat of each oven visit of the job goes")
