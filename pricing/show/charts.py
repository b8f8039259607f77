"""How every chart of the pages is described: by Altair, with one theme, and with data that are fed later.

Gives    what the charts of `charts_job`, `charts_sides` and `charts_shop` share. They give
         Vega-Lite as a mapping. Data have names and no rows: `pricing.show.live_chart` feeds them, a report
         fills them. Rows may hold ``why``, the words of a tooltip, and ``why_key``, which a click asks for.
Room     show. Imports show.look.
"""

from collections.abc import Mapping, Sequence
from typing import Any

import altair as alt

from pricing.show.look import SIDES, SINGLE, TWO_TONE, chart_theme

Spec = Mapping[str, Any]


def finished(chart: Any, about: str) -> Spec:
    """Put the theme and a description on a chart.

    Parameters
    ----------
    chart : altair chart
        Single or layered.
    about : str
        What it shows, for those who hear it.
    """
    made: dict[str, Any] = chart.properties(description=about).configure(**chart_theme()).to_dict()
    made["config"]["legend"]["layout"] = {"top": {"anchor": "end"}}  # Vega takes it, Altair does not know it yet
    return made


def data(name: str) -> alt.Data:
    """Give data that are fed later."""
    return alt.NamedData(name=name)


def side_colour(*, legend: bool = True) -> alt.Color:
    """Give the colour of single-tone and two-tone."""
    return alt.Color(
        "side:N", scale=alt.Scale(domain=list(SIDES), range=[SINGLE, TWO_TONE]),
        legend=alt.Legend() if legend else alt.Undefined,
    )  # fmt: skip


def money_axis(field: str, title: str, **axis: Any) -> alt.X:
    """Give an axis of money; it begins at 0 and has few labels."""
    return alt.X(f"{field}:Q", title=title, axis=alt.Axis(tickCount=5, format=",~r", **axis))


def names_in(spec: Spec) -> Sequence[str]:
    """Give the names of the data a chart is fed with.

    >>> names_in({"layer": [{"data": {"name": "curve"}}, {"data": {"name": "now"}}, {"data": {"name": "curve"}}]})
    ['curve', 'now']
    """
    found = [spec["data"]["name"]] if "name" in spec.get("data", {}) else []
    for layer in spec.get("layer", ()):
        found += names_in(layer)
    return list(dict.fromkeys(found))
