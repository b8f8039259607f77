"""A file that a part is read from, and what the owner marked on its outlines: drawing and picture have it alike."""

from abc import ABC, abstractmethod
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import hypot
from pathlib import Path
from typing import Any, Self, get_args

from pricing.basis.facts import data_folder, fact
from pricing.basis.tongue import Tongue
from pricing.parts.job import Job, Lot
from pricing.parts.part import Material, Part
from pricing.parts.reading import BadDrawing, Seen
from pricing.parts.stretches import StretchMarks
from pricing.screens.form import Plain
from pricing.show.desk import Desk
from pricing.show.fields import CheckField, ChoiceField, Field, QuantityField

TOOLS = ("off", "seen", "nook", "corner")
"""What clicks and drags in the sketch of a flat part may do."""
LEGEND = "Black: outline. Blue dashes: hole. Brown dots: hole to plug. Green: edge to sand and wipe. Crosses: nooks."
_ROLES = {"outer": "outline", "hole": "hole", "plug": "hole to plug", "off": "left out", "bad": "cannot be measured"}
_MOST = 40  # tick boxes; a sheet with more outlines is switched on the command line


def saved_files(desk: Desk, folder: str, endings: Sequence[str]) -> dict[str, Path]:
    """Collect the files of one kind in a folder of the shop's, or of the demo's, by file name."""
    at = (data_folder() if desk.demo else desk.folder) / folder
    found = sorted(at.iterdir()) if at.is_dir() else []
    return {path.name: path for path in found if path.suffix.lower() in endings}


@dataclass(frozen=True)
class Marked(ABC):
    """A file, and what was chosen and marked.

    Parameters
    ----------
    path : Path
        The file.
    sheet_mm : float
        Thickness of a flat part [mm].
    metal : str
        Material of the part.
    piece : int
        Which kind of piece, from 1.
    without : frozenset of int
        Outlines that do not count.
    marks : StretchMarks
        Edges not seen, corners dragged, nooks added.
    """

    path: Path
    sheet_mm: float = field(default_factory=lambda: fact("drawing.sheet", "mm"))
    metal: str = "mild steel"
    piece: int = 1
    without: frozenset[int] = frozenset()
    marks: StretchMarks = field(default_factory=StretchMarks)

    @property
    def stamp(self) -> int:
        """When the file was changed last [ns]."""
        return self.path.stat().st_mtime_ns if self.path.exists() else 0

    @abstractmethod
    def read(self) -> Any:
        """Read the file as marked; raises `BadInput` with every problem of the file or of a choice."""

    @abstractmethod
    def _part(self, title: str) -> tuple[Part, int]:
        """Make a part of the chosen piece, and tell how many there are of it."""

    def job(self, desk: Desk, like: Job | None = None) -> Job:
        """Make a job of it, or put it into a job that was begun; raises as `read`."""
        title = self.path.stem.replace("_", " ")
        part, quantity = self._part(title)
        return job_with(desk, part, title, quantity, like)

    def piece_fields(self, told: Sequence[str]) -> list[Field]:
        """Ask which piece it is, where there are several; ``told`` describes each."""
        options = {f"{at}": f"{at}: {words}" for at, words in enumerate(told, 1)}
        at = f"{min(self.piece, len(told))}"
        return [ChoiceField("drawn.piece", "Piece", at, options)] if len(told) > 1 else []

    def outline_fields(self, seen: Sequence[Seen], tongue: Tongue) -> list[Field | Plain]:
        """Ask which outlines count."""
        shown = [(one.id, outline_words(one, tongue), one.id not in self.without) for one in seen]
        return ticks("out", f"Outlines that count ({len(seen)})", shown)

    def after(self, key: str, value: Any) -> Self:
        """Return it after a field of it, such as ``drawn.metal`` or the tick ``drawn.out.3``, has changed."""
        name, _, number = key.removeprefix("drawn.").partition(".")
        if name == "out":
            return replace(self, without=ticked(self.without, number, on=not value))
        held = f"{name}_mm" if hasattr(self, f"{name}_mm") else name
        changes: Any = {held: int(value) if name == "piece" else value}
        return replace(self, **changes)

    def marked(self, done: Mapping[str, Any]) -> Self:
        """Return it after a click or a drag in its sketch, as `Sketch` tells it."""
        marks = self.marks
        if done["tool"] == "off":
            return replace(self, without=self.without ^ {int(done["outline"])})
        if done["tool"] == "seen":
            return replace(self, marks=replace(marks, unseen=marks.unseen ^ {(int(done["outline"]), int(done["at"]))}))
        x, y = float(done["x"]), float(done["y"])
        if done["tool"] == "corner":
            at = int(done["outline"]), int(done["at"])
            corners = (*(old for old in marks.corners if old[0] != at), (at, (x, y)))
            moved = replace(self, marks=replace(marks, corners=corners))
            try:
                moved.read()
            except BadDrawing:  # its outline would cross itself: the corner stays
                return self
            return moved
        far = tuple(s for s in marks.spots if hypot(s[0] - x, s[1] - y) >= float(done["near"]))
        spots = far if len(far) < len(marks.spots) else (*marks.spots, (x, y))
        return replace(self, marks=replace(marks, spots=spots))


def job_with(desk: Desk, part: Part, title: str, quantity: int, like: Job | None) -> Job:
    """Make a job of a part, or put it into a job that was begun, whose finish, powders and quantity are kept."""
    if like is not None:
        return like.model_copy(update={"lots": (Lot(part=part, quantity=like.lots[0].quantity),)})
    finish = next((key for key, f in desk.shop.finishes.items() if f.line != "none"), next(iter(desk.shop.finishes)))
    powders = tuple(desk.shop.powders)[: desk.shop.finishes[finish].colours]
    return Job(title=title, finish=finish, powders=powders, lots=(Lot(part=part, quantity=quantity),))


def ticked(held: frozenset[int], number: str, *, on: bool) -> frozenset[int]:
    """Put the number of an outline among others, or take it away."""
    return held | {int(number)} if on else held - {int(number)}


def length_field(name: str, label: str, mm: float, tongue: Tongue, *, least: float = 0.0, most: float) -> Field:
    """Ask a length of a part that is measured or drawn."""
    return QuantityField(f"drawn.{name}", label, mm, "mm", tongue, least=least, most=most, known=False)


def metal_field(metal: str) -> Field:
    """Ask the metal of a part."""
    return ChoiceField("drawn.metal", "Its metal", metal, {word: word for word in get_args(Material)})


def ticks(name: str, label: str, shown: Iterable[tuple[int, str, bool]]) -> list[Field | Plain]:
    """Ask of outlines, folded away: number, words, and whether its box is ticked."""
    boxes = [CheckField(f"drawn.{name}.{number}", words, on) for number, words, on in list(shown)[:_MOST]]
    return [Plain("more", label), *boxes, Plain("end")]


def outline_words(seen: Seen, tongue: Tongue) -> str:
    """Name an outline, with its length where it has one."""
    around = f", {tongue.show(seen.length_mm, 'mm', 3)} round" if seen.length_mm else ""
    return f"{seen.id}: {_ROLES[seen.role]}{around}"


def size_words(width_mm: float, height_mm: float, tongue: Tongue) -> str:
    """Write how large a flat piece is."""
    return f"{tongue.number(width_mm, 'mm', 3)} × {tongue.show(height_mm, 'mm', 3)}"
