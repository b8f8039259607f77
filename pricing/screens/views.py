"""Views of a page behind tabs: one is shown, and each is made when it is first asked for."""

from collections.abc import Callable, Mapping
from typing import Any

import anywidget
import ipywidgets as widgets
import traitlets

from pricing.screens.page import stacked
from pricing.show.look import script, style_sheet

Make = Callable[[], widgets.Widget]


class _Tabs(anywidget.AnyWidget):
    names: Any = traitlets.List().tag(sync=True)
    shown = traitlets.Unicode().tag(sync=True)
    about = traitlets.Unicode().tag(sync=True)

    _esm = script("views.js", __file__)

    @property
    def _css(self) -> str:
        return style_sheet()


class Views:
    """Several views, of which one is shown.

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
