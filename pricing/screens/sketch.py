"""A sketch of a part with its outlines, to look at and to mark: outlines off, edges not seen, nooks, corners.

Under the outlines of a picture lies the picture itself, straightened.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import anywidget
import numpy as np
import traitlets

from pricing.parts.curves import Points
from pricing.parts.preview import Under
from pricing.parts.reading import Seen
from pricing.parts.stretches import drawn
from pricing.show.look import script, style_sheet

_FINE = 1 / 1200  # of the longer side: no finer than can be seen
_MOST = 600  # outlines drawn
_MOST_STRETCHES = 6000


@dataclass(frozen=True, slots=True, kw_only=True)
class SketchLines:
    """An outline as it is drawn and marked.

    Parameters
    ----------
    id : int
        Its number.
    role : str
        As of `Seen`.
    stretches : sequence of ((n, 2) array, bool)
        One after the other: points [mm], and whether its edge is seen.
    corners : bool
        Whether the ends of stretches are corners that can be dragged.
    """

    id: int
    role: str
    stretches: Sequence[tuple[Points, bool]]
    corners: bool = False

    @classmethod
    def of(cls, seen: Seen) -> "SketchLines":
        """Take an outline as it was read; the lines of a mesh are one stretch."""
        found = drawn(seen.outline) if seen.outline else [(seen.points, bool(seen.lined))]
        return cls(id=seen.id, role=seen.role, corners=len(found) > 1, stretches=found)


class Sketch(anywidget.AnyWidget):
    """The sketch and its tools.

    A click is told to listeners as a mapping: ``tool`` is ``off``, ``seen``, ``nook``, ``corner`` or ``mark``;
    ``outline`` and ``at`` are the number of an outline and of its stretch or corner; ``x`` and ``y`` a place [mm].
    """

    view = traitlets.Dict().tag(sync=True)
    image = traitlets.Bytes().tag(sync=True)
    done = traitlets.Dict().tag(sync=True)
    heard = traitlets.Int().tag(sync=True)

    _esm = script("sketch.js", __file__)

    def __init__(self) -> None:
        self._told: list[Callable[[Mapping[str, Any]], None]] = []
        super().__init__()
        self.observe(self._marked, "done")
        self.clear()

    @property
    def _css(self) -> str:
        return style_sheet()

    def on_mark(self, heard: Callable[[Mapping[str, Any]], None]) -> None:
        """Say who hears of clicks and drags."""
        self._told.append(heard)

    def _marked(self, change: Any) -> None:
        done = change["new"]
        if done.get("n", 0) > self.heard:
            self.heard = done["n"]
            for heard in self._told:
                heard(done)

    def clear(self) -> None:
        """Show nothing."""
        self.show_lines([])
        self.layout.display = "none"

    def show_plan(self, svg: str) -> None:
        """Show a drawing with its dimensions as SVG, with words escaped already; it has no tools."""
        with self.hold_sync():
            self.image = b""
            self.view = {"plan": svg, "lines": [], "at": [], "tools": [], "said": ""}
            self.layout.display = ""

    def show_lines(
        self,
        lines: Sequence[SketchLines],
        *,
        spots: Points | None = None,
        under: Under | None = None,
        tools: Sequence[str] = (),
        said: str = "",
        marks: Sequence[tuple[float, float]] = (),
    ) -> None:
        """Show outlines.

        Parameters
        ----------
        lines : sequence of SketchLines
            The outlines.
        spots : (n, 2) array, optional
            Nooks [mm].
        under : Under, optional
            The picture under them.
        tools : sequence of str
            What clicks may do, in the order of the buttons.
        said : str
            What the lines mean, for people.
        marks : sequence of (float, float)
            Ends of a known length [mm].
        """
        shown = sorted(lines, key=_size, reverse=True)[:_MOST]
        while sum(len(one.stretches) for one in shown) > _MOST_STRETCHES and len(shown) > 1:
            del shown[-1]
        ends = [np.array([under.low, under.high])] if under else []
        every = np.concatenate([*(points for one in shown for points, _ in one.stretches), *ends, np.zeros((0, 2))])
        low, high = (every.min(axis=0), every.max(axis=0)) if len(every) else (np.zeros(2), np.ones(2))
        fine = float((high - low).max()) * _FINE
        margin = 0.0 if under else 0.03 * float((high - low).max())
        with self.hold_sync():
            self.image = under.jpeg if under else b""
            self.view = {
                "low": (low - margin).tolist(),
                "high": (high + margin).tolist(),
                "at": [*under.low, *under.high] if under else [],
                "lines": [_spec(one, fine) for one in shown],
                "spots": [] if spots is None else np.round(spots, 2).tolist(),
                "marks": [list(mark) for mark in marks],
                "tools": list(tools),
                "said": said,
            }
            self.layout.display = "" if len(every) else "none"


def _size(one: SketchLines) -> float:
    return max(float(np.ptp(points, axis=0).max()) for points, _ in one.stretches)


def _spec(one: SketchLines, fine: float) -> dict[str, Any]:
    import shapely  # heavy: only where a sketch is drawn

    def thin(points: Points) -> list[list[float]]:
        line = shapely.simplify(shapely.linestrings(points), fine, preserve_topology=False)
        return [[round(x, 3), round(y, 3)] for x, y in shapely.get_coordinates(line).tolist()]

    return {
        "id": one.id,
        "role": one.role,
        "corners": one.corners,
        "stretches": [{"points": thin(points), "seen": seen} for points, seen in one.stretches],
    }
