"""The bar on top of every page: the other pages, what has changed since it was saved, undo and save.

Room     screens. Imports basis, show.
"""

from typing import Any

import anywidget
import traitlets

from pricing.basis.errors import BadInput
from pricing.show.desk import Desk
from pricing.show.look import script, style_sheet

PAGES = {
    "1_my_shop": "1 My shop",
    "2_one_job": "2 One job",
    "3_price_list": "3 Price list",
    "4_two_tone": "4 Two-tone",
    "5_break_even": "5 Break-even",
    "6_for_a_partner": "6 For a partner",
    "7_what_it_took": "7 What it took",
}
"""Title of each page by the name of its notebook."""


class Bar(anywidget.AnyWidget):
    """The bar of a page.

    Parameters
    ----------
    desk : Desk
        What is worked on.
    here : str
        Name of this page's notebook.
    saves : bool
        Whether this page changes the shop, so that undo and save make sense on it.
    """

    pages: Any = traitlets.List().tag(sync=True)
    told = traitlets.Dict().tag(sync=True)
    did = traitlets.Dict().tag(sync=True)

    _esm = script("bar.js", __file__)

    def __init__(self, desk: Desk, here: str, *, saves: bool = False) -> None:
        self._desk, self._saves, self._said = desk, saves, ""
        pages = [{"file": f"{name}.ipynb", "title": title, "here": name == here} for name, title in PAGES.items()]
        super().__init__(pages=pages)
        desk.on_change(self._changed)
        self.refresh()
        self.observe(lambda change: self.press(change["new"].get("key", "")), "did")

    @property
    def _css(self) -> str:
        return style_sheet()

    def press(self, key: str) -> None:
        """Do what a button says: ``undo``, ``save`` or ``again``."""
        try:
            if key == "undo":
                self._desk.undo()
            elif key == "save":
                names = self._desk.save()
                self.say(f"Saved: {', '.join(names)}" if names else "Saved")
            elif key == "again":
                self._desk.read_again()
        except BadInput as why:
            first = why.problems[0]
            self.say(f"Not saved. {first.field} is {first.value}. {first.mend}")

    def say(self, text: str) -> None:
        """Say something once, until the next change."""
        self._said = text
        self.refresh()

    def _changed(self) -> None:
        self._said = ""
        self.refresh()

    def refresh(self) -> None:
        """Send how things stand."""
        desk = self._desk
        name = desk.shop.front.name
        stale = desk.stale()
        state = name
        if desk.demo:
            state = f"{name} · the demo, nothing is saved"
        elif desk.read_only and not stale:
            state = f"{name} · as of {desk.read_at} · to look at: fields are for trying"
        elif self._said:
            state = self._said
        elif stale:
            state = f"{name} · changed on another page"
        elif desk.changed:
            state = f"Changed since saved: {', '.join(desk.changes())}"
        told: dict[str, Any] = {
            "state": state, "undo": desk.can_undo, "save": desk.changed and not desk.read_only, "again": stale,
            "shown_only": desk.read_only or not self._saves,
        }  # fmt: skip
        self.told = told
