"""How every chart of the pages is described: by Altair, with one theme, and with data that are fed later.

Gives    what the charts of `charts_job`, `charts_sides` and `charts_shop` share. They give
         Vega-Lite as a mapping. Data have names and no rows: `pricing.show.live_chart` feeds them, a report
         fills them. Rows may hold ``why``, the words of a tooltip, and ``why_key``, which a click asks for.
"""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from pricing.show.blocks import Spec, names_in
from pricing.show.look import SIDES, SINGLE, TWO_TONE, chart_theme


@contextmanager
def _absent(name: str) -> Iterator[None]:
    """Let an optional package look as if it were not installed."""
    absent = name not in sys.modules
    if absent:
        sys.modules[name] = None  # type: ignore[assignment]  # the import system's own sign for "not there"
    try:
        yield
    finally:
        if absent:
            del sys.modules[name]


# jsonschema, where this is there, compiles a grammar of web addresses: twice the time that all else of Altair takes
with _absent("rfc3987_syntax"):
    import altair as alt

__all__ = ["Spec", "alt", "data", "finished", "money_axis", "names_in", "side_colour"]


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
    """Return data that are fed later."""
    return alt.NamedData(name=name)


def side_colour(*, legend: bool = True) -> alt.Color:
    """Return the colour of single-tone and two-tone."""
    return alt.Color(
        "side:N",
        scale=alt.Scale(domain=list(SIDES), range=[SINGLE, TWO_TONE]),
        legend=alt.Legend() if legend else alt.Undefined,
    )


def money_axis(field: str, title: str, **axis: Any) -> alt.X:
    """Return an axis of money; it begins at 0 and has few labels."""
    return alt.X(f"{field}:Q", title=title, axis=alt.Axis(tickCount=5, format=",~r", **axis))
