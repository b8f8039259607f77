"""How a page is laid out below its bar: columns that fill one screen, and views behind tabs, of which one is shown."""

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import anywidget
import ipywidgets as widgets
import traitlets

from pricing.show.look import script, style_sheet

Make = Callable[[], widgets.Widget]


def side_by_side(parts: Sequence[widgets.Widget], widths: str) -> widgets.Box:
    """Put parts from left to right, each as high as there is room, in widths as CSS takes them."""
    return _grid(parts, "pp-columns", grid_template_columns=grown(widths))


def stacked(parts: Sequence[widgets.Widget], heights: str) -> widgets.Box:
    """Put parts one below the other in a column, in heights as CSS takes them."""
    return _grid(parts, "pp-column", grid_template_rows=grown(heights))


def _grid(parts: Sequence[widgets.Widget], name: str, **sizes: str) -> widgets.Box:
    box = widgets.Box(list(parts), layout={"display": "grid", **sizes})
    box.add_class(name)
    return box


def grown(sizes: str) -> str:
    """Let sizes, as CSS takes them, grow with the text that stands in them.

    >>> grown("84px minmax(0, 1fr)")
    'calc(84px * var(--pp-text, 1)) minmax(0, 1fr)'
    """
    return re.sub(r"(\d+px)", r"calc(\1 * var(--pp-text, 1))", sizes)


class _Tabs(anywidget.AnyWidget):
    names: Any = traitlets.List().tag(sync=True)
    shown = traitlets.Unicode().tag(sync=True)
    about = traitlets.Unicode().tag(sync=True)

    _esm = script("views.js", __file__)

    @property
    def _css(self) -> str:
        return style_sheet()


class Views:
    """Several views, of which one is shown; each is made when it is first asked for.

    Parameters
    ----------
    views : mapping
        From a key to its words on the tab, and what makes it.
    about : str
        What the tabs are, for those who hear them.
    """

    def __init__(self, views: Mapping[str, tuple[str, Make]], *, about: str) -> None:
        self._make = {key: make for key, (_, make) in views.items()}
        self._made: dict[str, widgets.Widget] = {}
        first = next(iter(views))
        self.tabs = _Tabs(names=[(key, words) for key, (words, _) in views.items()], shown=first, about=about)
        self._box = widgets.Box([self._view(first)])
        self._box.add_class("pp-view")
        self.tabs.observe(lambda change: self.show(change["new"]), "shown")
        self.widget = stacked([self.tabs, self._box], "auto minmax(0, 1fr)")

    def _view(self, key: str) -> widgets.Widget:
        if key not in self._made:
            self._made[key] = self._make[key]()
        return self._made[key]

    def show(self, key: str) -> None:
        """Show a view."""
        self.tabs.shown = key
        self._box.children = [self._view(key)]
