"""Charts of the log: actual against quoted minutes, step by step, and what prices win."""

from functools import cache

from pricing.show.blocks import Spec
from pricing.show.charts import alt, data, finished
from pricing.show.look import INK, LOSS, SINGLE, SOFT, TWO_TONE

_DECADES = [0.3, 1, 3, 10, 30, 100, 300, 1000, 3000]
_AXIS = alt.Axis(values=_DECADES, format="~r", labelOverlap="greedy", labelSeparation=8)


@cache
def actual_against_quoted() -> Spec:
    """Dots of jobs, minutes they took against minutes in their quote, each on its range; data ``jobs``, ``same``."""
    scale = alt.Scale(type="log", nice=True)
    x = alt.X("quoted:Q", title="minutes in the quote [min]", scale=scale, axis=_AXIS)
    y = alt.Y("actual:Q", title="minutes it took [min]", scale=scale, axis=_AXIS)
    states = ["as expected", "out of its range"]
    dots = (
        alt.Chart(data("jobs"))
        .mark_point(size=42, filled=True, opacity=0.75)
        .encode(
            x=x,
            y=y,
            color=alt.Color("state:N", scale=alt.Scale(domain=states, range=[SINGLE, TWO_TONE]), legend=alt.Legend()),
            shape=alt.Shape("state:N", scale=alt.Scale(domain=states, range=["circle", "triangle-up"])),
            tooltip=alt.Tooltip("why:N"),
        )
    )
    same = alt.Chart(data("same")).mark_line(color=SOFT, strokeDash=[4, 4], aria=False).encode(x=x, y=y)
    ranges = alt.Chart(data("jobs")).mark_rule(color=SOFT, opacity=0.4, aria=False).encode(x=x, y="low:Q", y2="high:Q")
    return finished(
        alt.layer(same, ranges, dots),
        "Dots: minutes each job took against the minutes in its quote; upright lines: the range of 9 jobs in 10, "
        "from the jobs before it; dashed line: as quoted",
    )


@cache
def step_by_step() -> Spec:
    """Bars of how much longer or shorter than quoted each step takes; data ``steps``, ``even``."""
    y = alt.Y(
        "title:N",
        title=None,
        sort=alt.EncodingSortField("place", op="min", order="ascending"),
        axis=alt.Axis(labelLimit=175),
    )
    x = alt.X("off:Q", title="taken against quoted", axis=alt.Axis(format="+.0%", tickCount=5))
    bars = (
        alt.Chart(data("steps"))
        .mark_bar(height={"band": 0.7})
        .encode(
            x=x,
            y=y,
            color=alt.Color(
                "state:N", legend=alt.Legend(), scale=alt.Scale(domain=["slower", "quicker"], range=[TWO_TONE, SINGLE])
            ),
            tooltip=alt.Tooltip("why:N"),
        )
    )
    even = alt.Chart(data("even")).mark_rule(color=INK, aria=False).encode(x="off:Q")
    return finished(alt.layer(bars, even), "Bars: how much longer or shorter than quoted each step takes")


@cache
def win_chart() -> Spec:
    """Curve of the chance to win a job against its price over its cost, with a band; data ``curve``, ``tries``."""
    x = alt.X(
        "ratio:Q",
        title="price over full cost",
        axis=alt.Axis(tickCount=4, format=".1f", labelOverlap="greedy"),
        scale=alt.Scale(zero=False),
    )
    y = alt.Y(
        "chance:Q",
        title="share of quotes won",
        axis=alt.Axis(format=".0%", values=[0, 0.25, 0.5, 0.75, 1]),
        scale=alt.Scale(domain=[-0.04, 1.08], nice=False),
    )
    band = alt.Chart(data("curve")).mark_area(color=SINGLE, opacity=0.2).encode(x=x, y="low:Q", y2="high:Q")
    line = alt.Chart(data("curve")).mark_line(color=SINGLE).encode(x=x, y=y)
    ticks = (
        alt.Chart(data("tries"))
        .mark_tick(thickness=1.5, size=9, opacity=0.6)
        .encode(
            x=x,
            y=y,
            color=alt.Color(
                "state:N", scale=alt.Scale(domain=["won", "lost"], range=[SINGLE, LOSS]), legend=alt.Legend()
            ),
        )
    )
    return finished(alt.layer(band, line, ticks), "Curve: chance to win a quote against its price over its cost")
