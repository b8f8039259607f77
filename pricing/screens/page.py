"""How a page is laid out: the bar, and columns below it that fill one screen."""

import gc
import re
from collections.abc import Sequence

import ipywidgets as widgets

from pricing.screens.bar import Bar


def page_of(bar: Bar, columns: Sequence[widgets.Widget], widths: str, *, name: str) -> widgets.Box:
    """Lay a page out.

    Parameters
    ----------
    bar : Bar
        On top.
    columns : sequence of widget
        Side by side; each fills the height.
    widths : str
        As CSS takes them.
    name : str
        Name of the page, by which tests find it.
    """
    page = widgets.VBox([bar, side_by_side(columns, widths)])
    page.add_class("pp-page")
    page.add_class(f"pp-{name}")
    gc.collect()
    gc.freeze()  # libraries and the page stay; to look through them again takes a tenth of a second, mid-slide
    return page


def side_by_side(columns: Sequence[widgets.Widget], widths: str) -> widgets.Box:
    """Put columns side by side, each as high as there is room.

    Parameters
    ----------
    columns : sequence of widget
        From left to right.
    widths : str
        As CSS takes them.
    """
    body = widgets.Box(list(columns), layout={"display": "grid", "grid_template_columns": grown(widths)})
    body.add_class("pp-columns")
    return body


def stacked(parts: Sequence[widgets.Widget], heights: str) -> widgets.Box:
    """Put parts one below the other in a column.

    Parameters
    ----------
    parts : sequence of widget
        From top to bottom.
    heights : str
        As CSS takes them.
    """
    column = widgets.Box(list(parts), layout={"display": "grid", "grid_template_rows": grown(heights)})
    column.add_class("pp-column")
    return column


def grown(sizes: str) -> str:
    """Let sizes grow with the text that stands in them.

    Parameters
    ----------
    sizes : str
        As CSS takes them.

    >>> grown("84px minmax(0, 1fr)")
    'calc(84px * var(--pp-text, 1)) minmax(0, 1fr)'
    """
    return re.sub(r"(\d+px)", r"calc(\1 * var(--pp-text, 1))", sizes)
