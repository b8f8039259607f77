"""A file that a part is read from, and what the owner marked on its outlines: drawing and picture have it alike."""

from abc import ABC, abstractmethod
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import hypot
from pathlib import Path
from typing import Any, Self, get_args

from pricing.basis.facts import fact
from pricing.basis.tongue import Tongue
from pricing.parts.part import Material
from pricing.parts.reading import BadDrawing, Seen
from pricing.parts.stretches import StretchMarks
from pricing.screens.form import Plain
from pricing.show.fields import CheckField, ChoiceField, Field, QuantityField

TOOLS = ("off", "seen", "nook", "corner")
"""What clicks and drags in the sketch of a flat part may do."""
_ROLES = {"outer": "outline", "hole": "hole", "plug": "hole to plug", "off": "left out", "bad": "cannot be measured"}
_MOST = 40  # tick boxes; a sheet with more outlines is switched on the command line


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
        """Read the file as marked.

        Raises
        ------
        BadInput
            With every problem of the file or of a choice.
        """

    @property
    def title(self) -> str:
        """What its job is called: the file's name, in words."""
        return self.path.stem.replace("_", " ")

    def piece_fields(self, told: Sequence[str]) -> list[Field]:
        """Ask which piece it is, where there are several; ``told`` describes each."""
        options = {f"{at}": f"{at}: {words}" for at, words in enumerate(told, 1)}
        at = f"{min(self.piece, len(told))}"
        return [ChoiceField("drawn.piece", "Piece", at, options)] if len(told) > 1 else []

    def outline_fields(self, seen: Sequence[Seen], tongue: Tongue) -> list[Field | Plain]:
        """Ask which outlines count."""
        shown = [(one.id, outline_words(one, tongue), one.id not in self.without) for one in seen]
        return ticks("out", f"Outlines that count ({len(seen)})", shown)

    def ticked(self, name: str, *, counts: bool) -> Self:
        """Return it after the tick of an outline (``out.3``) has changed."""
        number = frozenset({int(name.removeprefix("out."))})
        return replace(self, without=self.without - number if counts else self.without | number)

    def marked(self, done: Mapping[str, Any]) -> Self:
        """Return it after a click or a drag in its sketch.

        Parameters
        ----------
        done : mapping
            As `Sketch` tells it.
        """
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
