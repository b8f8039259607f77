"""Charts of a job: what each step costs, what is left of a price, how sure that is, what matters most.

Takes    the shop's currency, for the titles of the axes.
"""

from functools import cache
from typing import Any

from pricing.show.blocks import Spec
from pricing.show.charts import (
    AMOUNTS,
    across,
    alt,
    bars_of,
    coloured,
    dots_at,
    finished,
    on,
    side_colour,
    up,
    words_at,
)
from pricing.show.look import GAIN, INK, MONEY_COLOURS, SOFT

_FREE = {"zero": False, "nice": False}
_KNOWN = {"guess": "#dd9f3d", "published": "#6c9f95", "measured": "#1f4460"}


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
