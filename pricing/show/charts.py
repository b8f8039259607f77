"""How every chart of the pages is described: by Altair, with one theme, and with data that are fed later.

Gives    what the charts of `charts_job` and `charts_shop` share. They give Vega-Lite as a mapping. Data have names and
         no rows: `pricing.show.board` feeds them, a report fills them. Rows may hold ``why``, the words of a tooltip,
         and ``why_key``, which a click asks for.
"""

import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from pricing.show.blocks import Spec
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
    import altair

alt = altair
"""Altair, which the modules of charts take from here."""
AMOUNTS = ",~r"
"""Format of amounts on an axis."""


def finished(chart: Any, about: str) -> Spec:
    """Put the theme on a chart, and what it shows for those who hear it."""
    made: dict[str, Any] = chart.properties(description=about).configure(**chart_theme()).to_dict()
    made["config"]["legend"]["layout"] = {"top": {"anchor": "end"}}  # Vega takes it, Altair does not know it yet
    return made


def on(name: str) -> alt.Chart:
    """Begin a layer on data that are fed later."""
    return alt.Chart(alt.NamedData(name=name))


def across(field: str, title: str, scale: Mapping[str, Any] | None = None, **axis: Any) -> alt.X:
    """Return the axis along the bottom: a number, its title, and Altair's words for its scale and its axis."""
    return alt.X(f"{field}:Q", title=title, axis=alt.Axis(**axis), scale=alt.Scale(**scale) if scale else alt.Undefined)


def up(field: str, title: str, scale: Mapping[str, Any] | None = None, **axis: Any) -> alt.Y:
    """Return the axis at the side, as `across`."""
    return alt.Y(f"{field}:Q", title=title, axis=alt.Axis(**axis), scale=alt.Scale(**scale) if scale else alt.Undefined)


def by_place(**more: Any) -> alt.Y:
    """Return titles at the side, in the order of the rows' ``place``."""
    return alt.Y("title:N", title=None, sort=alt.EncodingSortField("place", op="min", order="ascending"), **more)


def coloured(field: str, colours: Mapping[str, str], *, legend: bool = True, **told: Any) -> alt.Color:
    """Return colours by word; ``told`` are Altair's words for the legend."""
    scale = alt.Scale(domain=list(colours), range=list(colours.values()))
    return alt.Color(f"{field}:N", scale=scale, legend=alt.Legend(**told) if legend else alt.Undefined)


def side_colour(*, legend: bool = True) -> alt.Color:
    """Return the colour of single-tone and two-tone."""
    return coloured("side", dict(zip(SIDES, (SINGLE, TWO_TONE), strict=True)), legend=legend)


def bars_of(name: str, x: alt.X, band: float = 0.7, **seen: Any) -> Any:
    """Draw a bar for each row, with its tooltip."""
    return on(name).mark_bar(height={"band": band}).encode(**{"x": x, "y": by_place(), "tooltip": "why:N"} | seen)


def dots_at(name: str, x: Any, y: Any, seen: Mapping[str, Any] | None = None, **mark: Any) -> Any:
    """Draw a dot with a white rim for each row, with its tooltip; ``seen`` are more encodings."""
    look: dict[str, Any] = {"size": 90, "filled": True, "opacity": 1, "stroke": "white"} | mark
    return on(name).mark_point(**look).encode(x=x, y=y, tooltip="why:N", **(seen or {}))


def words_at(name: str, x: Any, y: Any, seen: Mapping[str, Any] | None = None, **mark: Any) -> Any:
    """Write each row's ``text``; ``seen`` are more encodings."""
    return on(name).mark_text(**mark).encode(**{"x": x, "y": y, "text": "text:N"} | dict(seen or {}))
