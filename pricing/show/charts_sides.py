"""Charts of single-tone beside two-tone: what both cost, and what the second colour must cost extra.

Takes    the shop's currency and units, for the titles of the axes.
"""

from functools import cache

from pricing.show.blocks import Spec
from pricing.show.charts import alt, data, finished, money_axis, side_colour
from pricing.show.look import INK, SIDES, SOFT, TWO_TONE


@cache
def cost_of_two_sides(code: str) -> Spec:
    """Bars of groups of steps, single-tone above two-tone; data ``steps``."""
    chart = (
        alt.Chart(data("steps"))
        .mark_bar()
        .encode(
            x=money_axis("cost", f"cost [{code}]"),
            y=alt.Y(
                "title:N",
                title=None,
                sort=alt.EncodingSortField("place", op="min", order="ascending"),
                scale=alt.Scale(paddingInner=0.22, paddingOuter=0.1),
            ),
            yOffset=alt.YOffset("side:N", sort=list(SIDES), scale=alt.Scale(paddingInner=0.05)),
            color=side_colour(),
            tooltip=alt.Tooltip("why:N"),
        )
    )
    return finished(chart, "Bars: cost of each group of steps, single-tone beside two-tone")


@cache
def extra_against_line(code: str, unit: str) -> Spec:
    """The extra against metres of line, with its band; data ``band``, ``line``, ``now``, ``rule``.

    Parameters
    ----------
    code, unit : str
        Currency, and the unit of length the shop reads.
    """
    x = alt.X(
        "line:Q",
        title=f"line between the colours, whole job [{unit}]",
        axis=alt.Axis(tickCount=5),
        scale=alt.Scale(nice=False),
    )
    y = alt.Y("extra:Q", title=f"extra for the job [{code}]", axis=alt.Axis(tickCount=4, format=",~r"))
    band = alt.Chart(data("band")).mark_area(color=TWO_TONE, opacity=0.2).encode(x=x, y=y, y2="high:Q")
    line = alt.Chart(data("line")).mark_line(color=TWO_TONE).encode(x=x, y=y)
    dot = (
        alt.Chart(data("now"))
        .mark_point(size=90, filled=True, opacity=1, color=TWO_TONE, stroke="white")
        .encode(x=x, y=y, tooltip=alt.Tooltip("why:N"))
    )
    words = (
        alt.Chart(data("now"))
        .mark_text(align="right", dx=-9, dy=-6, color=TWO_TONE, fontWeight="bold")
        .encode(x=x, y=y, text="text:N")
    )
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
    y = alt.Y(
        "extra:Q",
        title=f"extra you charge [{code}]",
        axis=alt.Axis(tickCount=5, format=",~r"),
        scale=alt.Scale(nice=False),
    )
    zone = alt.Color(
        "zone:N",
        legend=None,
        scale=alt.Scale(
            domain=["loses money", "below your margin", "keeps your margin"], range=["#efc4be", "#f6e3b4", "#cfe5da"]
        ),
    )
    areas = alt.Chart(data("zones")).mark_area(clip=True).encode(x=x, y=y, y2="top:Q", color=zone)
    names = (
        alt.Chart(data("names"))
        .mark_text(clip=True, fontWeight="bold")
        .encode(x=x, y=y, text="zone:N", color=alt.Color("ink:N", scale=None))
    )
    slow = alt.Chart(data("slow")).mark_rule(color=SOFT, strokeDash=[3, 3], aria=False).encode(x=x)
    slow_text = (
        alt.Chart(data("slow"))
        .mark_text(color=INK, align="left", dx=3, baseline="bottom")
        .encode(x=x, y=alt.value("height"), text="text:N")
    )
    dot = (
        alt.Chart(data("now"))
        .mark_point(size=130, filled=True, opacity=1, color=INK, stroke="white", strokeWidth=2, cursor="move")
        .encode(x=x, y=y, tooltip=alt.Tooltip("why:N"))
    )
    return finished(
        alt.layer(areas, slow, slow_text, names, dot), "Zones: whether an extra keeps the margin, by minutes of wiping"
    )
