"""Charts of single-tone beside two-tone: what both cost, and what the second colour must cost extra.

Takes    the shop's currency and units, for the titles of the axes.
"""

from functools import cache

from pricing.show.blocks import Spec
from pricing.show.charts import AMOUNTS, across, alt, by_place, dots_at, finished, on, side_colour, up, words_at
from pricing.show.look import INK, SIDES, SOFT, TWO_TONE

_ZONES = {"loses money": "#efc4be", "below your margin": "#f6e3b4", "keeps your margin": "#cfe5da"}


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
