"""A part from its drawing on the job's page: which file, which sheet, which outlines count, and its picture."""

import re
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

from pricing.basis.errors import BadInput
from pricing.basis.tongue import Tongue
from pricing.parts.drawing import read_part_file
from pricing.parts.part import Part
from pricing.parts.reading import BadDrawing, Choices, DrawingReading
from pricing.parts.stretches import StretchMarks
from pricing.screens.form import Form, Plain
from pricing.screens.marked import (
    LEGEND,
    TOOLS,
    Marked,
    length_field,
    metal_field,
    outline_words,
    saved_files,
    size_words,
    ticked,
    ticks,
)
from pricing.screens.sketch import Sketch, SketchLines
from pricing.show.desk import Desk
from pricing.show.fields import CheckField, ChoiceField, Field

_KINDS = (".dxf", ".stl", ".obj", ".ply", ".3mf")
_UNITS = {"": "as the file says", "mm": "mm", "cm": "cm", "m": "m", "in": "inches", "ft": "feet"}


def saved_drawings(desk: Desk) -> dict[str, Path]:
    """Collect the drawings of the shop's folder, or the demo's, by file name."""
    return saved_files(desk, "drawings", _KINDS)


@dataclass(frozen=True)
class Drawn(Marked):
    """A drawing, and what the owner chose for it, besides what `Marked` holds.

    Parameters
    ----------
    units : str
        Units of the file where it does not say them.
    keep : frozenset of int
        Outlines that are metal, not the edge of the sheet they lie on.
    closed : bool
        Whether lines that stay open are left out.
    """

    units: str = ""
    keep: frozenset[int] = frozenset()
    closed: bool = False

    @property
    def flat(self) -> bool:
        """Whether it is a drawing of sheet; a mesh has its own thickness."""
        return self.path.suffix.lower() == _KINDS[0]

    def read(self) -> DrawingReading:
        """Read the file as chosen."""
        chosen = Choices(
            units=self.units, without=self.without, keep=self.keep, closed_only=self.closed, marks=self.marks
        )
        return _read(self.path, self.stamp, self.sheet_mm if self.flat else None, chosen)

    def _part(self, title: str) -> tuple[Part, int]:
        reading = self.read()
        piece = min(self.piece, len(reading.pieces))
        return reading.part(piece, title, self.metal), reading.pieces[piece - 1].count

    def after(self, key: str, value: Any) -> "Drawn":
        """Return it after a field of it has changed; other units draw it anew."""
        name, _, number = key.removeprefix("drawn.").partition(".")
        if name == "keep":
            return replace(self, keep=ticked(self.keep, number, on=value))
        if name == "units":
            return replace(self, units=value, without=frozenset(), keep=frozenset(), marks=StretchMarks())
        return super().after(key, value)

    def entries(self, desk: Desk) -> list[Field | Plain]:
        """Collect its fields: sheet, metal, units, and a tick for each outline."""
        try:
            whole = replace(self, without=frozenset()).read()  # an outline that is off keeps its tick
            seen, pieces = whole.seen, whole.pieces
        except BadDrawing as why:
            seen, pieces = tuple(why.seen), ()
        except BadInput:
            seen, pieces = (), ()
        told = [f"{p.count} of {size_words(p.width_mm, p.height_mm, desk.tongue)}" for p in pieces]
        fields: list[Field | Plain] = [
            *([length_field("sheet", "Sheet", self.sheet_mm, desk.tongue, least=0.05, most=500)] if self.flat else []),
            metal_field(self.metal),
            ChoiceField("drawn.units", "Drawn in", self.units, _UNITS),
            *self.piece_fields(told),
        ]
        if self.flat:
            fields.append(CheckField("drawn.closed", "Closed outlines only: leave out every open line", self.closed))
        if self.flat and seen:
            fields += self.outline_fields(seen, desk.tongue)
            metal = [(s.id, f"{outline_words(s, desk.tongue)}: is metal", s.id in self.keep) for s in seen]
            fields += ticks("keep", "Metal, not the edge of a sheet", metal)
        return [*fields, Plain("note", "", "drawn.said")]

    def said(self, _tongue: Tongue) -> str:
        """Write what the reader assumed, closed or left out, in its own words."""
        try:
            told = " ".join(self.read().notes)
            return re.sub(r"If it is metal: --keep \d+\.", "If it is metal, tick it under “Metal” above.", told)
        except BadInput:
            return ""

    def sketch(self, sketch: Sketch) -> None:
        """Show its outlines, of what cannot be measured too; nothing where nothing can be seen."""
        try:
            reading = self.read()
        except BadDrawing as why:
            sketch.show_lines([SketchLines.of(s) for s in why.seen], tools=("off",), said=LEGEND)
        except BadInput:
            sketch.clear()
        else:
            lines = [SketchLines.of(s) for s in reading.seen]
            sketch.show_lines(lines, spots=reading.spots_at, tools=TOOLS if self.flat else (), said=LEGEND)


@lru_cache(maxsize=8)
def _read(path: Path, _stamp: int, sheet_mm: float | None, chosen: Choices) -> DrawingReading:
    """Read a file once for its choices; ``_stamp`` is when it was changed last."""
    return read_part_file(path, sheet_mm, chosen=chosen)


def tell_beside(form: Form, why: BadInput, key: str) -> None:
    """Tell what is wrong with a drawing beside the field it belongs to, else beside the one that was changed."""
    found = next(name for name in (_field_of(why), key, "begun") if name in form)
    form.wrong(found, " ".join(map(str, why.problems)))


def _field_of(why: BadInput) -> str:
    words = " ".join(problem.field for problem in why.problems)
    if words.startswith("shape"):
        return ""  # the measure that was typed
    if "marks" in words or "cards" in words:
        return "drawn.length"
    if "unit" in words:
        return "drawn.units"
    return "drawn.sheet" if "thickness" in words else "begun"
