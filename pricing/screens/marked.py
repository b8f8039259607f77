"""A file that a part is read from, and what the owner marked on its outlines: drawing and picture have it alike."""

from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from math import hypot
from pathlib import Path
from typing import Any, Self

from pricing.basis.facts import fact
from pricing.parts.reading import BadDrawing
from pricing.parts.stretches import StretchMarks

TOOLS = ("off", "seen", "nook", "corner")
"""What clicks and drags in the sketch of a flat part may do."""


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
