"""Charts of break-even: price against batch size, what is left against any one number, a month of work.

Takes    the shop's currency, and the name of the number with its unit.
"""

from functools import cache

from pricing.show.blocks import Spec
from pricing.show.charts import alt, data, finished, side_colour
from pricing.show.look import GAIN, INK, LOSS, SIDES, SOFT, TWO_TONE

STATES = ("pays", "loses money")


def _state(*, legend: bool) -> alt.Color:
    return alt.Color(
        "state:N",
        scale=alt.Scale(domain=list(STATES), range=[GAIN, LOSS]),
        legend=alt.Legend() if legend else alt.Undefined,
    )


@cache
def batch(code: str) -> Spec:
    """Steps of what one piece costs at each batch size, and what is asked of it.

    Data: ``curve``, ``teeth``, ``price``, ``room``.
    """
    x = alt.X("n:Q", title="pieces in the batch", axis=alt.Axis(tickCount=8, format="d"), scale=alt.Scale(nice=False))
    y = alt.Y(
        "each:Q",
        title=f"cost and price of one [{code}]",
        axis=alt.Axis(tickCount=5, format=",~r"),
        scale=alt.Scale(zero=False),
    )
    line = alt.Chart(data("curve")).mark_line(color="#b9b2a3", strokeWidth=1.5).encode(x=x, y=y)
    dots = (
        alt.Chart(data("curve"))
        .mark_point(size=36, filled=True, opacity=1)
        .encode(
            x=x,
            y=y,
            color=_state(legend=True),
            shape=alt.Shape("state:N", scale=alt.Scale(domain=list(STATES), range=["circle", "triangle-up"])),
            tooltip=alt.Tooltip("why:N"),
        )
    )
    teeth = alt.Chart(data("teeth")).mark_rule(color=SOFT, strokeDash=[2, 3], aria=False).encode(x=x)
    words = (
        alt.Chart(data("teeth"))
        .mark_text(align="left", dx=3, baseline="top", color=SOFT)
        .encode(x=x, y=alt.value(1), text="text:N")
    )
    price = alt.Chart(data("price")).mark_line(color=INK, strokeWidth=2.5, cursor="ns-resize").encode(x=x, y=y)
    told = (
        alt.Chart(data("price"))
        .mark_text(align="right", dy=-8, color=INK, fontWeight="bold")
        .encode(x=alt.value("width"), y="each:Q", text="text:N")
    )
    room = alt.Chart(data("room")).mark_point(opacity=0, aria=False).encode(y="each:Q")
    about = "Steps: full cost of one piece against the batch size; where a new oven load or pack begins it jumps up"
    return finished(alt.layer(room, teeth, words, line, dots, price, told), about)


@cache
def left_over(code: str, title: str) -> Spec:
    """Line of what is left of the price against one number, with the places where it turns; data ``gain``, ``turns``,
    ``now``.

    Parameters
    ----------
    code, title : str
        Currency; the number with its unit.
    """  # noqa: D205
    x = alt.X("value:Q", title=title, axis=alt.Axis(tickCount=6), scale=alt.Scale(nice=False))
    y = alt.Y("gain:Q", title=f"left over [{code}]", axis=alt.Axis(tickCount=5, format=",~r"))
    area = (
        alt.Chart(data("gain"))
        .mark_area(opacity=0.35, clip=True)
        .encode(x=x, y=y, y2=alt.datum(0), color=_state(legend=True))
    )
    line = alt.Chart(data("gain")).mark_line(color=INK, strokeWidth=2).encode(x=x, y=y)
    zero = alt.Chart(data("zero")).mark_rule(color=SOFT, aria=False).encode(y="gain:Q")
    turns = (
        alt.Chart(data("turns"))
        .mark_point(size=90, filled=True, opacity=1, color=INK, stroke="white")
        .encode(x=x, y=y, tooltip=alt.Tooltip("why:N"))
    )
    words = (
        alt.Chart(data("turns")).mark_text(align="left", dx=8, dy=-9, fontWeight="bold").encode(x=x, y=y, text="text:N")
    )
    now = alt.Chart(data("now")).mark_rule(color=TWO_TONE, strokeDash=[4, 3], aria=False).encode(x=x)
    told = (
        alt.Chart(data("now"))
        .mark_text(align="left", dx=4, baseline="bottom", dy=-4, color=TWO_TONE)
        .encode(x=x, y=alt.value("height"), text="text:N")
    )
    return finished(
        alt.layer(area, zero, line, now, told, turns, words), f"Line: what is left of the price against {title}"
    )


@cache
def month_chart(code: str) -> Spec:
    """Line of what a month leaves against the orders in it; data ``line``, ``marks``, ``even``, ``zero``."""
    x = alt.X(
        "orders:Q", title="orders a month, mixed as your week", axis=alt.Axis(tickCount=6), scale=alt.Scale(nice=False)
    )
    y = alt.Y("left:Q", title=f"a month leaves [{code}]", axis=alt.Axis(tickCount=5, format=",~r"))
    line = alt.Chart(data("line")).mark_line(color=INK).encode(x=x, y=y)
    zero = alt.Chart(data("zero")).mark_rule(color=SOFT, aria=False).encode(y="left:Q")
    marks = (
        alt.Chart(data("marks"))
        .mark_point(size=90, filled=True, opacity=1, stroke="white")
        .encode(x=x, y=y, color=_state(legend=False), tooltip=alt.Tooltip("why:N"))
    )
    words = alt.Chart(data("marks")).mark_text(align="right", dx=-9, dy=-7).encode(x=x, y=y, text="text:N")
    even = (
        alt.Chart(data("even"))
        .mark_point(size=90, filled=True, opacity=1, color=INK, stroke="white")
        .encode(x=x, y=y, tooltip=alt.Tooltip("why:N"))
    )
    told = alt.Chart(data("even")).mark_text(align="left", dx=8, dy=11).encode(x=x, y=y, text="text:N")
    return finished(
        alt.layer(zero, line, marks, words, even, told), "Line: what a month leaves against the orders in it"
    )


@cache
def price_and_band(code: str) -> Spec:
    """Bands of what items may cost, with what is charged for them; data ``bands``."""
    x = alt.X("low:Q", title=f"for one [{code}]", axis=alt.Axis(tickCount=5, format=",~r"))
    y = alt.Y("title:N", title=None, sort=alt.EncodingSortField("place", op="min", order="ascending"))
    offset = alt.YOffset("side:N", sort=list(SIDES), scale=alt.Scale(paddingInner=0.15))
    colour = side_colour()
    bands = (
        alt.Chart(data("bands"))
        .mark_bar(opacity=0.45, cornerRadius=3)
        .encode(x=x, x2="high:Q", y=y, yOffset=offset, color=colour, tooltip=alt.Tooltip("why:N"))
    )
    even = (
        alt.Chart(data("bands"))
        .mark_tick(thickness=2.5, height={"band": 1.0})
        .encode(x="cost:Q", y=y, yOffset=offset, color=colour, tooltip=alt.Tooltip("why:N"))
    )
    price = (
        alt.Chart(data("bands"))
        .mark_point(shape="diamond", size=70, filled=True, opacity=1, color=INK)
        .encode(x="price:Q", y=y, yOffset=offset, tooltip=alt.Tooltip("why:N"))
    )
    return finished(
        alt.layer(bands, even, price), "Bands: 9 of 10 such jobs cost this much; ticks: mean; diamonds: price"
    )
