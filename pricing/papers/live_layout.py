"""How the chart a partner plays with is laid out: figures, margin, chance of loss, where the price goes."""

from typing import Any

from pricing.costing.lines import MONEY
from pricing.papers.live_price import ASKED, FINISH
from pricing.show.charts import AMOUNTS, across, alt, coloured, dots_at, on, up, words_at
from pricing.show.look import GAIN, INK, LINE, LOSS, MONEY_COLOURS, SOFT, chart_theme

_FREE = {"zero": False, "nice": False}
_WIDE, _NARROW, _HIGH = 425, 270, 215


def layout(code: str, step: float) -> dict[str, Any]:
    """Describe the chart without its rows and parameters.

    Parameters
    ----------
    step : float
        Step of the slider. [money]
    """
    mine = f"datum.finish == {FINISH}"
    chart = alt.vconcat(
        _figures(code, mine, step),
        alt.hconcat(_margin(code, mine), _loss(code, mine, step), spacing=18),
        _split(code, mine),
        spacing=14,
    ).resolve_scale(color="independent")
    made: dict[str, Any] = chart.configure(**chart_theme()).to_dict()
    return made


def _figures(code: str, mine: str, step: float) -> Any:
    """A row of figures: what is left, per owner hour, chance of loss."""
    base = on("facts").transform_filter(mine)
    told = [
        ("left of the price", f"format(({ASKED} - datum.cost) / {ASKED}, '.1%')"),
        (f"left over [{code}]", f"format({ASKED} - datum.cost, ',.2f')"),
        (f"an owner hour brings [{code}]", f"format(({ASKED} - datum.cash) / datum.hours, ',.2f')"),
    ]
    colour = alt.condition(f"{ASKED} >= datum.cost", alt.value(GAIN), alt.value(LOSS))
    layers = []
    for place, (title, words) in enumerate(told):
        x = 8 + 190 * place
        layers.append(
            base.mark_text(align="left", fontSize=12, color=SOFT, baseline="top").encode(
                x=alt.value(x), y=alt.value(0), text=alt.value(title)
            )
        )
        big = base.transform_calculate(words=words).mark_text(
            align="left", fontSize=24, fontWeight="bold", baseline="top"
        )
        layers.append(big.encode(x=alt.value(x), y=alt.value(16), text="words:N", color=colour))
    chance = on("curve").transform_filter(f"{mine} && abs(datum.price - {ASKED}) < {step / 2}")
    layers.append(
        chance.mark_text(align="left", fontSize=12, color=SOFT, baseline="top").encode(
            x=alt.value(578), y=alt.value(0), text=alt.value("chance of loss")
        )
    )
    layers.append(
        chance.transform_calculate(words="datum.chance < 0.006 ? 'under 0.6%' : format(datum.chance, '.1%')")
        .mark_text(align="left", fontSize=24, fontWeight="bold", baseline="top", color=INK)
        .encode(x=alt.value(578), y=alt.value(16), text="words:N")
    )
    return alt.layer(*layers).properties(width=_WIDE + _NARROW + 70, height=44)


def _rule(title: str, *, words: bool) -> list[Any]:
    one = on("one").transform_calculate(price=ASKED, words=f"format({ASKED}, ',.0f')")
    rule = one.mark_rule(color=INK, strokeWidth=2).encode(x=alt.X("price:Q", title=title))
    text = one.mark_text(dy=-4, fontWeight="bold", color=INK, baseline="bottom").encode(
        x="price:Q", y=alt.value(0), text="words:N"
    )
    return [rule, text] if words else [rule]


def _margin(code: str, mine: str) -> Any:
    title = f"price without tax [{code}]"
    x = across("price", title, _FREE, tickCount=6, format=AMOUNTS)
    y = up("margin", "margin, share of the price", {"domain": [-0.45, 0.7]}, format=".0%", tickCount=5)
    others = on("curve").mark_line(color=LINE, strokeWidth=1.5, clip=True).encode(x=x, y=y, detail="finish:N")
    own = on("curve").transform_filter(mine).mark_line(color=INK, clip=True).encode(x=x, y=y)
    zero = on("zero").mark_rule(color=SOFT).encode(y="margin:Q")
    want = on("want").mark_rule(color=GAIN, strokeDash=[5, 4]).encode(y="margin:Q")
    points = dots_at("marks", x, y, size=80, color=INK).transform_filter(mine)
    even = words_at("marks", x, y, {"text": "why:N"}, align="left", dx=8, dy=10)
    even = even.transform_filter(mine).transform_filter("datum.text == 'break-even'")
    layers = alt.layer(zero, want, others, own, points, even, *_rule(title, words=True))
    return layers.properties(width=_WIDE, height=_HIGH)


def _loss(code: str, mine: str, step: float) -> Any:
    title = f"price without tax [{code}]"
    x = across("price", title, _FREE, tickCount=4, format=AMOUNTS)
    y = up("chance", "chance of loss", {"domain": [0, 1]}, format=".0%", tickCount=4)
    own = on("curve").transform_filter(mine)
    line = own.mark_line(color=INK, interpolate="monotone").encode(x=x, y=y)
    dot = own.transform_filter(f"abs(datum.price - {ASKED}) < {step / 2}")
    dot = dot.mark_point(size=90, filled=True, opacity=1, color=LOSS, stroke="white").encode(x=x, y=y)
    return alt.layer(line, *_rule(title, words=False), dot).properties(width=_NARROW, height=_HIGH)


def _split(code: str, mine: str) -> Any:
    """One bar: where the price goes, and what is left of it."""
    kinds: list[Any] = [*MONEY, "left over"]
    told = "datum.kind + ': ' + format(datum.amount, ',.2f')"
    colours = dict(zip(kinds, (*MONEY_COLOURS.values(), GAIN), strict=True))
    bars = (
        on("facts")
        .transform_filter(mine)
        .transform_calculate(**{"left over": f"max(0, {ASKED} - datum.cost)"})
        .transform_fold(kinds, as_=["kind", "amount"])
        .transform_calculate(rank=f"indexof({kinds}, datum.kind)", why=told)
        .mark_bar(height=26)
    )
    x = across("amount", f"where the price goes [{code}]", tickCount=6, format=AMOUNTS).stack("zero")
    bars = bars.encode(x=x, color=coloured("kind", colours, orient="top"), order="rank:Q", tooltip="why:N")
    rule = on("one").transform_calculate(price=ASKED).mark_rule(color=INK, strokeWidth=2).encode(x="price:Q")
    return alt.layer(bars, rule).properties(width=_WIDE + _NARROW + 70, height=34)
