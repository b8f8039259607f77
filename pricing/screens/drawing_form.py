"""A part from its drawing on the job's page: which file, which sheet, which outlines count, and its picture."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

from pricing.basis.errors import BadInput
from pricing.basis.facts import data_folder
from pricing.basis.tongue import Tongue
from pricing.parts.job import Job, Lot
from pricing.parts.part import Part
from pricing.parts.part_file import read_part_file
from pricing.parts.reading import BadDrawing, Choices, DrawingReading
from pricing.parts.stretches import StretchMarks
from pricing.screens.form import Form, Plain
from pricing.screens.marked import TOOLS, Marked, length_field, metal_field, outline_words, ticks
from pricing.screens.sketch import Sketch, SketchLines
from pricing.show.desk import Desk
from pricing.show.fields import CheckField, ChoiceField, Field

KINDS = (".dxf", ".stl", ".obj", ".ply", ".3mf")
_UNITS = {"": "as the file says", "mm": "mm", "cm": "cm", "m": "m", "in": "inches", "ft": "feet"}
LEGEND = "Black: outline. Blue dashes: hole. Brown dots: hole to plug. Green: edge to sand and wipe. Crosses: nooks."


def saved_drawings(desk: Desk) -> dict[str, Path]:
    """Collect the drawings of the shop's folder, or the demo's, by file name."""
    folder = data_folder() / "drawings" if desk.demo else desk.folder / "drawings"
    found = sorted(folder.iterdir()) if folder.is_dir() else []
    return {path.name: path for path in found if path.suffix.lower() in KINDS}


@dataclass(frozen=True)
class Drawn(Marked):
    """A drawing, and what the owner chose for it.

    Parameters
    ----------
    path, sheet_mm, metal, piece, without, marks
        As of `Marked`; a mesh has its own thickness.
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

    def read(self) -> DrawingReading:
        """Read the file as chosen.

        Raises
        ------
        BadInput
            With every problem of the file or of a choice.
        """
        return _read(self.path, self.stamp, self.sheet_mm, self._choices)

    @property
    def _choices(self) -> Choices:
        return Choices(
            units=self.units, without=self.without, keep=self.keep, closed_only=self.closed, marks=self.marks
        )

    def job(self, desk: Desk, like: Job | None = None) -> Job:
        """Make a job of it, or put it into a job that was begun.

        Parameters
        ----------
        desk : Desk
            The shop.
        like : Job, optional
            Whose finish, powders and quantity are kept.

        Raises
        ------
        BadInput
            As `read`.
        """
        reading = self.read()
        piece = min(self.piece, len(reading.pieces))
        part = reading.part(piece, self.title, self.metal)
        return job_with(desk, part, self.title, reading.pieces[piece - 1].count, like)

    def after(self, key: str, value: Any) -> "Drawn":
        """Return it after a field of it has changed.

        Parameters
        ----------
        key : str
            Of the field: ``drawn.sheet``, ``drawn.metal``, ``drawn.units``, ``drawn.piece``, ``drawn.closed``,
            ``drawn.out.3``, ``drawn.keep.3``.
        value : object
            What stands in it now.
        """
        name = key.removeprefix("drawn.")
        if name.startswith("out."):
            return self.ticked(name, counts=value)
        if name.startswith("keep."):
            number = frozenset({int(name.removeprefix("keep."))})
            return replace(self, keep=self.keep | number if value else self.keep - number)
        anew = {"units": value, "without": frozenset[int](), "keep": frozenset[int](), "marks": StretchMarks()}
        changes: Mapping[str, Any] = {
            "sheet": {"sheet_mm": value},
            "metal": {"metal": value},
            "units": anew,
            "closed": {"closed": value},
            "piece": {"piece": int(value)} if name == "piece" else {},
        }[name]
        return replace(self, **changes)

    def entries(self, desk: Desk) -> list[Field | Plain]:
        """Collect its fields: sheet, metal, units, and a tick for each outline."""
        try:
            whole = replace(self, without=frozenset()).read()  # an outline that is off keeps its tick
            seen, pieces = whole.seen, whole.pieces
        except BadDrawing as why:
            seen, pieces = tuple(why.seen), ()
        except BadInput:
            seen, pieces = (), ()
        flat = self.path.suffix.lower() == KINDS[0]
        told = [f"{p.count} of {size_words(p.width_mm, p.height_mm, desk.tongue)}" for p in pieces]
        fields: list[Field | Plain] = [
            *([length_field("sheet", "Sheet", self.sheet_mm, desk.tongue, least=0.05, most=500)] if flat else []),
            metal_field(self.metal),
            ChoiceField("drawn.units", "Drawn in", self.units, _UNITS),
            *self.piece_fields(told),
        ]
        if flat:
            fields.append(CheckField("drawn.closed", "Closed outlines only: leave out every open line", self.closed))
        if flat and seen:
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
        flat = self.path.suffix.lower() == KINDS[0]
        try:
            reading = self.read()
        except BadDrawing as why:
            sketch.show_lines([SketchLines.of(s) for s in why.seen], tools=("off",), said=LEGEND)
        except BadInput:
            sketch.clear()
        else:
            tools = TOOLS if flat else ()
            sketch.show_lines(
                [SketchLines.of(s) for s in reading.seen], spots=reading.spots_at, tools=tools, said=LEGEND
            )


def job_with(desk: Desk, part: Part, title: str, quantity: int, like: Job | None) -> Job:
    """Make a job of a part, or put it into a job that was begun.

    Parameters
    ----------
    desk : Desk
        The shop.
    part : Part
        Of a drawing or a picture.
    title : str
        What the job is called.
    quantity : int
        How many, where none is begun.
    like : Job or None
        Whose finish, powders and quantity are kept.
    """
    if like is not None:
        return like.model_copy(update={"lots": (Lot(part=part, quantity=like.lots[0].quantity),)})
    finish = next((key for key, f in desk.shop.finishes.items() if f.line != "none"), next(iter(desk.shop.finishes)))
    powders = tuple(desk.shop.powders)[: desk.shop.finishes[finish].colours]
    return Job(title=title, finish=finish, powders=powders, lots=(Lot(part=part, quantity=quantity),))


def job_like(desk: Desk, like: str, pieces: int) -> Job:
    """Make a job of so many pieces of an item of the list (``item:KEY``) or of a drawing (``drawing:FILE``).

    Parameters
    ----------
    desk : Desk
        The shop.
    like : str
        Which.
    pieces : int
        How many pieces, as they are counted in the shop.

    Raises
    ------
    BadInput
        The drawing cannot be read.
    """
    kind, _, name = like.partition(":")
    if kind == "drawing":
        job = Drawn(saved_drawings(desk)[name]).job(desk)
        return job.model_copy(update={"lots": (Lot(part=job.lots[0].part, quantity=pieces),)})
    item = desk.items[name]
    return Job(
        title=item.title, finish=item.two_tone, powders=item.powders, lots=(Lot(part=item.part, quantity=pieces),)
    )


@lru_cache(maxsize=8)
def _read(path: Path, _stamp: int, sheet_mm: float, chosen: Choices) -> DrawingReading:
    """Read a file once for its choices; ``_stamp`` is when it was changed last."""
    flat = path.suffix.lower() == KINDS[0]
    return read_part_file(path, sheet_mm if flat else None, chosen=chosen)


def size_words(width_mm: float, height_mm: float, tongue: Tongue) -> str:
    """Write how large a flat piece is."""
    return f"{tongue.number(width_mm, 'mm', 3)} × {tongue.show(height_mm, 'mm', 3)}"


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
