"""The bar on top of every page: the other pages, what has changed since it was saved, undo, redo and save."""

from contextlib import suppress
from datetime import date
from typing import Any

import anywidget
import traitlets

from pricing.basis.errors import BadInput
from pricing.screens.deferred import Every
from pricing.screens.form import first_words
from pricing.screens.on_bench import OnBench
from pricing.show.desk import Desk
from pricing.show.look import script, style_sheet

PAGES = {
    "0_first_visit": "0 First visit",
    "1_my_shop": "1 My shop",
    "2_one_job": "2 One job",
    "3_price_list": "3 Price list",
    "4_two_tone": "4 Two-tone",
    "5_break_even": "5 Break-even",
    "6_for_a_partner": "6 For a partner",
    "7_what_it_took": "7 What it took",
}
"""Title of each page by the name of its notebook."""
_LOOK_EACH_S = 0.7


class Bar(anywidget.AnyWidget):
    """The bar of the page ``here``, whose links carry the job on the bench along."""

    pages: Any = traitlets.List().tag(sync=True)
    told = traitlets.Dict().tag(sync=True)
    did = traitlets.Dict().tag(sync=True)

    _esm = script("bar.js", __file__)

    def __init__(self, desk: Desk, here: str, on_bench: OnBench) -> None:
        self._desk, self._said, self._on_bench = desk, "", on_bench
        pages = [{"file": f"{name}.ipynb", "title": title, "here": name == here} for name, title in PAGES.items()]
        super().__init__(pages=pages)
        desk.on_change(self._changed)
        self._on_bench.on_put(self.refresh)
        self.refresh()
        self.observe(lambda change: self.press(change["new"].get("key", "")), "did")
        self._every = Every(self._look, _LOOK_EACH_S)

    @property
    def _css(self) -> str:
        return style_sheet()

    def press(self, key: str) -> None:
        """Do what a button says: ``undo``, ``redo``, ``save``, ``discard`` or ``back:DAY``."""
        desk = self._desk
        try:
            if key == "undo":
                desk.undo()
            elif key == "redo":
                desk.redo()
            elif key == "discard":
                desk.discard()
                self.say("Back to what is saved. Undo brings the draft again.")
            elif key == "save":
                names = desk.save()
                self.say(f"Saved: {', '.join(names)}" if names else "Saved")
            elif key.startswith("back:"):
                day = date.fromisoformat(key.removeprefix("back:"))
                desk.bring_back(day)
                self.say(f"As it was on {desk.words.day(day)}. Save keeps it, Undo takes it back.")
        except BadInput as why:
            self.say(f"{'Not saved. ' if key == 'save' else ''}{first_words(why, accepts=False)}")

    def say(self, text: str) -> None:
        """Say something once, until the next change."""
        self._said = text
        self.refresh()

    def _look(self) -> None:
        """See what other pages have done; a folder that is half-way through another program's hands is seen later."""
        with suppress(BadInput):
            self._desk.look()

    def _changed(self) -> None:
        self._said = ""
        self.refresh()

    def refresh(self) -> None:
        """Send how things stand."""
        desk = self._desk
        undo, redo = desk.can
        days = [[day.isoformat(), desk.words.day(day)] for day in desk.days]
        self.told = {
            "state": self._said or desk.told or self._standing(),
            "undo": undo,
            "redo": redo,
            "save": desk.changed and not desk.read_only,
            "shown_only": desk.read_only,
            "days": days,
            "carried": self._on_bench.query,
        }

    def _standing(self) -> str:
        desk, name = self._desk, self._desk.shop.front.name
        if desk.demo:
            return f"{name} · the demo, nothing is saved"
        if desk.read_only:
            return f"As of {desk.read_at}, fields are for trying · {name}"
        return f"Draft, kept until you save: {', '.join(desk.changes())}" if desk.changed else name
