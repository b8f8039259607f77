"""Charts on paper and in a page that stands alone: the same charts as on the screen, with their rows inside.

Takes    charts of `charts`, `charts_job`, `charts_sides`, `charts_shop` and `charts_even`, and their rows.
Gives    vectors for print, and specifications for a page that draws them itself.
Room     papers. Imports show.
"""

import json
from base64 import b64encode
from collections.abc import Mapping, Sequence
from typing import Any, Final, NamedTuple

from pricing.show.look import FONT

PRINT_FONT: Final = "'Liberation Sans', Arial, Helvetica, sans-serif"
"""Type that a printer's machine is sure to have; the font of the screen may be any."""


_PAPER_HIGH = 176


class Figure(NamedTuple):
    """One chart with its heading, the sentence below it, and its size. [px]"""

    key: str
    title: str
    told: str
    spec: Mapping[str, Any]
    width: int = 385
    height: int = 235


def figure(
    key: str, title: str, told: str, spec: Mapping[str, Any], rows: Mapping[str, Sequence[Mapping[str, Any]]]
) -> Figure:
    """Put the rows of a chart into it.

    Parameters
    ----------
    key : str
        Name of the chart within the page.
    title, told : str
        Its heading, and the sentence below.
    spec : mapping
        From one of the modules of charts.
    rows : mapping
        Rows by name of its data.
    """
    from pricing.show.charts import names_in

    empty: dict[str, Any] = {name: [] for name in names_in(spec)}
    return Figure(key, title, told, {**spec, "datasets": empty | {name: list(r) for name, r in rows.items()}})


def spec_of(one: Figure) -> dict[str, Any]:
    """Give a chart as a page draws it; the marks of a board, which ask why, are left out."""
    made: dict[str, Any] = json.loads(json.dumps(one.spec))
    if "hconcat" not in made and "vconcat" not in made:
        made |= {"width": one.width, "height": one.height, "autosize": {"type": "fit", "contains": "padding"}}
    for rows in made["datasets"].values():
        for row in rows:
            row.pop("why_key", None)
    return made


def svg_of(one: Figure) -> str:
    """Draw a chart as vectors."""
    import vl_convert  # heavy: only where a chart is drawn

    text = json.dumps(spec_of(one)).replace(FONT, PRINT_FONT)
    return str(vl_convert.vegalite_to_svg(text))


def on_paper(one: Figure) -> Figure:
    """Give a chart as flat as paper needs it: four rows of charts stand on a page, of Letter too."""
    return one._replace(height=_PAPER_HIGH) if one.height == Figure._field_defaults["height"] else one


def picture_of(one: Figure) -> str:
    """Give a chart as the address of a picture that holds it."""
    return "data:image/svg+xml;base64," + b64encode(svg_of(one).encode()).decode()


def embedded(value: Any) -> str:
    r"""Write data into a page so that nothing in it can end the script it stands in.

    >>> embedded({"title": "</script><b>"})
    '{"title": "\\u003c/script\\u003e\\u003cb\\u003e"}'
    """
    text = json.dumps(value)
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")
