"""Charts of the log: actual against quoted minutes, step by step, and what prices win."""

from functools import cache

from pricing.show.blocks import Spec
from pricing.show.charts import across, alt, bars_of, by_place, coloured, finished, on, up
from pricing.show.look import INK, LOSS, SINGLE, SOFT, TWO_TONE

_STATES = {"as expected": SINGLE, "out of its range": TWO_TONE}
_DECADES = [0.3, 1, 3, 10, 30, 100, 300, 1000, 3000]
_AXIS = {"values": _DECADES, "format": "~r", "labelOverlap": "greedy", "labelSeparation": 8}


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
