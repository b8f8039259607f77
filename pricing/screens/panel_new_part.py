"""New part, a view of page 1: a shape and a tape or a drawing, every fact that moves its price, and that price."""

import re
import unicodedata
from collections.abc import Mapping
from typing import Any

from ipywidgets import Widget
from pydantic import ValidationError

from pricing.basis.errors import BadInput
from pricing.basis.records import problems
from pricing.parts.part import Part
from pricing.parts.shaped import titles
from pricing.screens import job_file
from pricing.screens.drawing_form import tell_beside
from pricing.screens.form import Plain
from pricing.screens.layout import stacked
from pricing.screens.panel import Panel
from pricing.screens.panel_settings import thing_entries, with_field
from pricing.screens.sketch import Sketch
from pricing.screens.taped import Taped
from pricing.show import settings, shop_view
from pricing.show.blocks import Block
from pricing.show.fields import ChoiceField, Field
from pricing.show.record_fields import place_of
from pricing.show.settings import Thing
from pricing.show.tiles import stopped

_BY_TAPE = ("area_m2", "mass_kg", "edge_m", "line_m", "thickness_mm", "width_mm", "height_mm", "depth_mm")
_BY_FILE = (*_BY_TAPE, "spots", "plugs", "closed_volume")
_THING = Thing("item", "new")


class NewPartPanel(Panel):
    """The view where a part comes onto the list."""

    about, widths = "A new part", "330px minmax(0, 1fr)"
    areas, lines = ("found", "price"), "auto auto"

    def _begin(self) -> None:
        self.begun = "shape:plate"
        self.picture = Sketch()
        self.picture.on_mark(self._marked)
        self._open_file()

    def _blocks(self) -> list[Block]:
        return [Block("found"), Block("price")]

    def _parts(self) -> list[Widget]:
        return [self.form, stacked([self.board, self.picture], "auto minmax(0, 1fr)")]

    def _laid_out(self) -> Widget:
        view = super()._laid_out()
        view.add_class("pp-new")
        return view

    def _open_file(self) -> None:
        self.own: dict[str, Any] = {}
        self.drawn = job_file.drawn_of(self.desk, self.begun) or Taped("plate", self.desk.tongue)
        part = self.drawn.job(self.desk).lots[0].part
        self.item = settings.plain_item(self.desk, part, "new")

    @property
    def _told(self) -> tuple[str, ...]:
        """Fields of a part that the shape or the drawing tells."""
        return _BY_TAPE if isinstance(self.drawn, Taped) else _BY_FILE

    def _measured(self) -> None:
        """Take into the item what the shape or drawing says now, but for what was weighed or measured otherwise."""
        found = self.drawn.job(self.desk).lots[0].part
        told = {name: getattr(found, name) for name in (*self._told, "material")} | self.own
        try:
            part = Part.model_validate({**dict(self.item.part), **told})
        except ValidationError as why:
            raise BadInput("part", problems(Part, why)) from None
        self.item = self.item.model_copy(update={"part": part})

    def _entries(self) -> list[Field | Plain]:
        desk = self.desk
        begin = {f"shape:{kind}": title for kind, title in titles().items()} | job_file.file_options(desk)
        facts = thing_entries(desk, _THING, self.item)
        told = {f"{_THING.key}.part.{name}" for name in (*self._told, "material")}
        own = [one for one in facts if isinstance(one, Field) and one.key in told and not one.key.endswith(".material")]
        return [
            ChoiceField("begun", "Its shape", self.begun, begin),
            *self.drawn.entries(desk),
            Plain("heading", "How it is sold, and what else is true of it"),
            *(one for one in facts if isinstance(one, Field) and one.key not in told),
            Plain("more", "Weighed or measured otherwise"),
            *own,
            Plain("button", "Back to the shape's", "back"),
            Plain("end"),
            Plain("button", "Put it on the list", "add"),
            Plain("note", "", "said"),
        ]

    def _marked(self, done: Mapping[str, Any]) -> None:
        self.drawn = self.drawn.marked(done)
        self._again("begun")

    def _again(self, key: str) -> None:
        """Measure again; what is wrong is told beside its field."""
        try:
            self._measured()
        except BadInput as why:
            self.drawn.sketch(self.picture)
            tell_beside(self.form, why, key)
            self.board.show(words={"found": stopped([str(p) for p in why.problems], title="No part"), "price": ""})
            return
        for field in self.form:  # a measure that another one has mended
            if field.key.startswith("drawn."):
                field.message = ""
        self.show()

    def _take(self, key: str) -> None:
        self._say("")
        if key == "begun":
            self.begun = self.form["begun"].value
            self._open_file()
            self.show()
        elif key.startswith("drawn."):
            self.drawn = self.drawn.after(key, self.form[key].value)
            self._again(key)
        elif key == "back":
            self.own = {}
            self._again("begun")
        elif key == "add":
            self._add()
        else:
            self._fact(key)

    def _fact(self, key: str) -> None:
        at, value = place_of(key, _THING.key), self.form[key].value
        self.item = with_field(_THING, self.item, key, value, self.desk.tongue)
        if at[0] == "part" and at[1] in self._told:
            self.own[str(at[1])] = value
        self.show()

    def _add(self) -> None:
        title = self.item.title
        plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
        stem = re.sub(r"[^a-z0-9]+", "_", plain).strip("_")[:50] or "part"
        key = settings.free_key(self.desk, stem if stem[0].isalpha() else f"part_{stem}")
        settings.put(self.desk, Thing("item", key, title), self.item.model_copy(update={"key": key}))
        self._open_file()
        self.form.lay(self._entries())
        self._say(f"{title} is on the list, in the draft; change it under All settings, Items of the list.")

    def show(self) -> None:
        """Send everything that changed."""
        self.form.renew(self._entries())
        self.form.tell("drawn.said", text=self.drawn.said(self.desk.tongue))
        self.drawn.sketch(self.picture)
        shop, item = self.desk.shop, self.item
        self.board.show(words={"found": shop_view.part_tiles(shop, item), "price": shop_view.part_prices(shop, item)})
