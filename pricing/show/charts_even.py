"""Charts of break-even: price against batch size, what is left against any one number, a month of work.

Takes    the shop's currency, and the name of the number with its unit.
"""

from functools import cache

from pricing.show.blocks import Spec
from pricing.show.charts import (
    AMOUNTS,
    across,
    alt,
    by_place,
    coloured,
    dots_at,
    finished,
    on,
    side_colour,
    up,
    words_at,
)
from pricing.show.look import GAIN, INK, LOSS, SIDES, SOFT, TWO_TONE

STATES = ("pays", "loses money")
_COLOURS = dict(zip(STATES, (GAIN, LOSS), strict=True))


@cache
def batch(code: str) -> Spec:
    """Steps of what one piece costs at each batch size, and what is asked of it.

    Data: ``curve``, ``teeth``, ``price``, ``room``.
    """
    x = across("n", "pieces in the batch", {"nice": False}, tickCount=8, format="d")
    y = up("each", f"cost and price of one [{code}]", {"zero": False}, tickCount=5, format=AMOUNTS)
    line = on("curve").mark_line(color="#b9b2a3", strokeWidth=1.5).encode(x=x, y=y)
    shape = alt.Shape("state:N", scale=alt.Scale(domain=list(STATES), range=["circle", "triangle-up"]))
    dots = on("curve").mark_point(size=36, filled=True, opacity=1)
    dots = dots.encode(x=x, y=y, color=coloured("state", _COLOURS), shape=shape, tooltip="why:N")
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
    area = area.encode(x=x, y=y, y2=alt.datum(0), color=coloured("state", _COLOURS))
    line = on("gain").mark_line(color=INK, strokeWidth=2).encode(x=x, y=y)
    zero = on("zero").mark_rule(color=SOFT, aria=False).encode(y="gain:Q")
    turns = dots_at("turns", x, y, color=INK)
    words = words_at("turns", x, y, align="left", dx=8, dy=-9, fontWeight="bold")
    now = on("now").mark_rule(color=TWO_TONE, strokeDash=[4, 3], aria=False).encode(x=x)
    told = words_at("now", x, alt.value("height"), align="left", dx=4, baseline="bottom", dy=-4, color=TWO_TONE)
    about = f"Line: what is left of the price against {title}"
    return finished(alt.layer(area, zero, line, now, told, turns, words), about)


@cache
def month_chart(code: str) -> Spec:
    """Line of what a month leaves against the orders in it; data ``line``, ``marks``, ``even``, ``zero``."""
    x = across("orders", "orders a month, mixed as your week", {"nice": False}, tickCount=6)
    y = up("left", f"a month leaves [{code}]", tickCount=5, format=AMOUNTS)
    line = on("line").mark_line(color=INK).encode(x=x, y=y)
    zero = on("zero").mark_rule(color=SOFT, aria=False).encode(y="left:Q")
    marks = dots_at("marks", x, y, {"color": coloured("state", _COLOURS, legend=False)})
    words = words_at("marks", x, y, align="right", dx=-9, dy=-7)
    even = dots_at("even", x, y, color=INK)
    told = words_at("even", x, y, align="left", dx=8, dy=11)
    about = "Line: what a month leaves against the orders in it"
    return finished(alt.layer(zero, line, marks, words, even, told), about)


@cache
def price_and_band(code: str) -> Spec:
    """Bands of what items may cost, with what is charged for them; data ``bands``."""
    x = across("low", f"for one [{code}]", tickCount=5, format=AMOUNTS)
    offset = alt.YOffset("side:N", sort=list(SIDES), scale=alt.Scale(paddingInner=0.15))
    place = {"y": by_place(), "yOffset": offset, "tooltip": "why:N"}
    bands = on("bands").mark_bar(opacity=0.45, cornerRadius=3)
    bands = bands.encode(x=x, x2="high:Q", color=side_colour(), **place)
    even = on("bands").mark_tick(thickness=2.5, height={"band": 1.0}).encode(x="cost:Q", color=side_colour(), **place)
    price = on("bands").mark_point(shape="diamond", size=70, filled=True, opacity=1, color=INK)
    price = price.encode(x="price:Q", **place)
    about = "Bands: 9 of 10 such jobs cost this much; ticks: mean; diamonds: price"
    return finished(alt.layer(bands, even, price), about)
