"""Charts of the shop: what an hour costs, what a change does to the list, hours against capacity."""

from functools import cache

from pricing.show.blocks import Spec
from pricing.show.charts import alt, data, finished, money_axis, side_colour
from pricing.show.look import HEAT_COLOURS, HOUR_COLOURS, INK, LOSS, SIDES, SOFT


@cache
def hour_costs(code: str) -> Spec:
    """Bars of what an hour of each resource costs, by what makes it; data ``hours``, ``sums``."""
    y = alt.Y("title:N", title=None, sort=alt.EncodingSortField("place", op="min", order="ascending"))
    bars = (
        alt.Chart(data("hours"))
        .mark_bar(height={"band": 0.72})
        .encode(
            x=money_axis("cost", f"an hour costs [{code}/h]").stack("zero"),
            y=y,
            color=alt.Color(
                "part:N",
                scale=alt.Scale(domain=list(HOUR_COLOURS), range=list(HOUR_COLOURS.values())),
                legend=alt.Legend(),
            ),
            order=alt.Order("rank:Q"),
            tooltip=alt.Tooltip("why:N"),
        )
    )
    sums = (
        alt.Chart(data("sums")).mark_text(align="left", dx=5, fontWeight="bold").encode(x="cost:Q", y=y, text="text:N")
    )
    edge = alt.Chart(data("sums")).mark_point(opacity=0, aria=False).encode(x="edge:Q", y=y)
    return finished(alt.layer(bars, edge, sums), "Bars: what an hour of each person and machine costs, before energy")


@cache
def heat_by_visit() -> Spec:
    """Bars of the heat of each oven visit, by where it goes; data ``heat``."""
    bars = (
        alt.Chart(data("heat"))
        .mark_bar(height={"band": 0.7})
        .encode(
            x=alt.X("kwh:Q", title="this job's share of the load [kWh]", axis=alt.Axis(tickCount=6)).stack("zero"),
            y=alt.Y("title:N", title=None, sort=alt.EncodingSortField("place", op="min", order="ascending")),
            color=alt.Color(
                "part:N",
                scale=alt.Scale(domain=list(HEAT_COLOURS), range=list(HEAT_COLOURS.values())),
                legend=alt.Legend(columns=4),
            ),
            order=alt.Order("rank:Q"),
            tooltip=alt.Tooltip("why:N"),
        )
    )
    return finished(bars, "Bars: where the heat of each oven visit of the job goes")


@cache
def list_now_and_saved(code: str) -> Spec:
    """Bars of what each item must cost now, with a tick where it stood when saved; data ``items``."""
    y = alt.Y("title:N", title=None, sort=alt.EncodingSortField("place", op="min", order="ascending"))
    offset = alt.YOffset("side:N", sort=list(SIDES), scale=alt.Scale(paddingInner=0.05))
    bars = (
        alt.Chart(data("items"))
        .mark_bar()
        .encode(
            x=money_axis("cost", f"one, to leave your margin [{code}]"),
            y=y,
            yOffset=offset,
            color=side_colour(),
            tooltip=alt.Tooltip("why:N"),
        )
    )
    ticks = (
        alt.Chart(data("items"))
        .mark_tick(color=INK, thickness=2.5, height={"band": 1.0})
        .encode(x="saved:Q", y=y, yOffset=offset, tooltip=alt.Tooltip("why:N"))
    )
    return finished(alt.layer(bars, ticks), "Bars: price of items that leaves the margin wanted, now; ticks: as saved")


@cache
def hours_by_resource() -> Spec:
    """Bars of hours wanted against the hours there are; data ``used``, ``there``."""
    y = alt.Y("title:N", title=None, sort=alt.EncodingSortField("place", op="min", order="ascending"))
    bars = (
        alt.Chart(data("used"))
        .mark_bar(height={"band": 0.7})
        .encode(
            x=alt.X("hours:Q", title="hours a week [h]", axis=alt.Axis(tickCount=6)),
            y=y,
            color=alt.Color(
                "state:N",
                legend=alt.Legend(),
                scale=alt.Scale(domain=["taken on", "wanted, no time"], range=["#6c9f95", "#e3b9b0"]),
            ),
            order=alt.Order("rank:Q"),
            tooltip=alt.Tooltip("why:N"),
        )
    )
    there = (
        alt.Chart(data("there"))
        .mark_tick(color=LOSS, thickness=3, height={"band": 0.95})
        .encode(x="hours:Q", y=y, tooltip=alt.Tooltip("why:N"))
    )
    text = alt.Chart(data("there")).mark_text(align="left", dx=6, color=SOFT).encode(x="end:Q", y=y, text="text:N")
    edge = alt.Chart(data("there")).mark_point(opacity=0, aria=False).encode(x="edge:Q", y=y)
    return finished(
        alt.layer(bars, edge, there, text), "Bars: hours of each resource that work takes; marks: hours there are"
    )


@cache
def list_margins(*, beside: bool = False) -> Spec:
    """Dots of the margin of every price; data ``dots``, ``want``, ``zero``.

    Parameters
    ----------
    beside : bool
        Names stand beside the chart, for a wide page; otherwise above each line.
    """
    y = alt.Y(
        "title:N",
        title=None,
        sort=alt.EncodingSortField("place", op="min", order="ascending"),
        axis=alt.Axis(grid=True, labels=beside, labelLimit=190, tickSize=0),
    )
    x = alt.X("margin:Q", title="margin", axis=alt.Axis(format=".1~%", tickCount=4), scale=alt.Scale(zero=False))
    zero = alt.Chart(data("zero")).mark_rule(color=LOSS, strokeWidth=2, aria=False).encode(x="margin:Q")
    want = alt.Chart(data("want")).mark_rule(color=SOFT, strokeDash=[5, 4], aria=False).encode(x="margin:Q")
    dots = (
        alt.Chart(data("dots"))
        .mark_point(size=75, filled=True, opacity=1, stroke="white")
        .encode(x=x, y=y, color=side_colour(), tooltip=alt.Tooltip("why:N"))
    )
    names = (
        alt.Chart(data("dots"))
        .mark_text(align="left", dx=5, dy=-10, color=INK, aria=False)
        .encode(x=alt.value(0), y=y, text="name:N")
    )
    return finished(
        alt.layer(zero, want, *([] if beside else [names]), dots),
        "Dots: margin of each price of the list, against the wanted margin",
    )


@cache
def unsure() -> Spec:
    """What the questions that would firm the list most move; data ``unsure``."""
    bars = (
        alt.Chart(data("unsure"))
        .mark_bar(height={"band": 0.7}, color=SOFT)
        .encode(
            x=alt.X("share:Q", title="moves your prices by, either way", axis=alt.Axis(format=".1~%", tickCount=4)),
            y=alt.Y(
                "title:N",
                title=None,
                sort=alt.EncodingSortField("place", op="min", order="ascending"),
                axis=alt.Axis(labelLimit=230),
            ),
            tooltip=alt.Tooltip("why:N"),
        )
    )
    return finished(bars, "Bars: what each open question moves, the one that firms the list most first")
