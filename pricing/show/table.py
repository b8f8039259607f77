"""Tables that are edited in place, several of them behind tabs.

Gives    `EditTable`: `fill` sends rows; an edit is handed to whoever fills the table, who takes it or raises
         `Wrong` with the words to put under the cell.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import anywidget
import traitlets

from pricing.basis.tongue import Wrong
from pricing.show.look import script, style_sheet
from pricing.show.sheets import Row, Sheet

Edit = Callable[[str, str, str, str], None]
"""From sheet, row, column and what was given; raises `Wrong`."""


class EditTable(anywidget.AnyWidget):
    """Tables behind tabs.

    Parameters
    ----------
    sheets : sequence of Sheet
        The tabs.
    edit : callable
        Takes an edit, or raises `Wrong`.
    about : str
        What the tables are, for those who hear it.
    """

    sheets: Any = traitlets.List().tag(sync=True)
    cells = traitlets.Dict().tag(sync=True)
    shown = traitlets.Unicode().tag(sync=True)
    said = traitlets.Unicode().tag(sync=True)
    edit = traitlets.Dict().tag(sync=True)
    heard = traitlets.Int().tag(sync=True)
    about = traitlets.Unicode().tag(sync=True)

    _esm = script("edit_table.js")

    def __init__(self, sheets: Sequence[Sheet], edit: Edit, *, about: str) -> None:
        self._take = edit
        self._rows: dict[str, list[Row]] = {}
        self._sent: dict[str, Any] = {}
        self._wrong: dict[tuple[str, str, str], tuple[str, Wrong]] = {}  # texts not taken stay till they are mended
        super().__init__(sheets=[sheet.traits() for sheet in sheets], shown=sheets[0].key, about=about)
        self.observe(self._edited, "edit")

    @property
    def _css(self) -> str:
        return style_sheet()

    def fill(self, rows: Mapping[str, Sequence[Row]], said: str | None = None) -> None:
        """Send rows by sheet; only sheets that changed travel."""
        self._rows.update({key: list(found) for key, found in rows.items()})
        changed = {}
        for key in rows:
            made = [self._made(key, row) for row in self._rows[key]]
            if made != self._sent.get(key):
                changed[key] = self._sent[key] = made
        with self.hold_sync():
            if said is not None:
                self.said = said
            if changed:
                self.cells = changed

    def _made(self, sheet: str, row: Row) -> dict[str, Any]:
        cells = {}
        for column, cell in row.cells.items():
            wrong = self._wrong.get((sheet, row.key, column))
            made = cell.traits(str(wrong[1]) if wrong else "")
            cells[column] = made | {"text": wrong[0], "choices": list(wrong[1].choices)} if wrong else made
        return {"key": row.key, "label": row.label, "group": row.group, "mark": row.mark, "cells": cells}

    def get_state(self, key: Any = None, drop_defaults: bool = False) -> Any:
        """Return the whole state to a page that opens late, though messages carry only what changed."""
        state = super().get_state(key=key, drop_defaults=drop_defaults)
        if key is None:
            state["cells"] = self._sent
        return state

    def put(self, sheet: str, row: str, column: str, given: str) -> None:
        """Take an edit, as when it was typed.

        Parameters
        ----------
        given : str
            What stands there now; empty for a button.
        """
        place = (sheet, row, column)
        self._wrong.pop(place, None)
        try:
            self._take(sheet, row, column, given)
        except Wrong as why:
            self._wrong[place] = (given, why)
        if sheet in self._rows:
            self.fill({sheet: self._rows[sheet]})

    def _edited(self, change: Any) -> None:
        for one in change["new"].get("queue", ()):  # each edit once, in its order
            if one["n"] > self.heard:
                self.heard = one["n"]
                self.put(one["sheet"], one["row"], one["column"], one["given"])

    def text(self, sheet: str, row: str, column: str) -> str:
        """Write what stands in a cell."""
        return str(self._cell(sheet, row, column)["text"])

    def message(self, sheet: str, row: str, column: str) -> str:
        """Write what is wrong with a cell; empty where nothing is."""
        return str(self._cell(sheet, row, column)["message"])

    def _cell(self, sheet: str, row: str, column: str) -> dict[str, Any]:
        found: dict[str, Any] = next(made for made in self._sent[sheet] if made["key"] == row)["cells"][column]
        return found
