"""A part from its picture on the job's page: thickness, ruler, what was marked, and the straightened picture."""

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import lru_cache
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np

from pricing.basis.errors import BadInput
from pricing.basis.facts import fact
from pricing.basis.tongue import Tongue
from pricing.parts.part import Part
from pricing.parts.photo import PhotoReading, Traces, look, photo_measured, straighten
from pricing.parts.photo_file import PICTURE_KINDS, Taken, read_photo_file
from pricing.parts.photo_plane import KnownLength
from pricing.parts.preview import Under
from pricing.parts.reading import Choices
from pricing.screens.form import Plain
from pricing.screens.marked import LEGEND, TOOLS, Marked, length_field, metal_field, saved_files, size_words
from pricing.screens.sketch import Sketch, SketchLines
from pricing.show.desk import Desk
from pricing.show.fields import Field

_SHOWN = 1200  # dots along the longer side of a picture without cards


def saved_photos(desk: Desk) -> dict[str, Path]:
    """Collect the pictures of the shop's folder ``photos``, or the demo's, by file name."""
    return saved_files(desk, "photos", PICTURE_KINDS)


@dataclass(frozen=True)
class Shot(Marked):
    """A picture, and what the owner said and marked, besides what `Marked` holds.

    Parameters
    ----------
    above_mm, ruler_mm : float
        Height over the cards, length of the printed ruler (0: not measured) [mm].
    ends : tuple of (float, float)
        Ends of a known length, as shares of width and height; only without cards.
    length_mm : float
        That length [mm].
    """

    above_mm: float = 0.0
    ruler_mm: float = 100.0
    ends: tuple[tuple[float, float], ...] = ()
    length_mm: float = 300.0

    def _traces(self, known: KnownLength | None = None) -> Traces | BadInput:
        taken = Taken(thickness_mm=self.sheet_mm, above_mm=self.above_mm, ruler_mm=self.ruler_mm)
        return _looked(self.path, self.stamp, taken, known)

    def read(self, *, whole: bool = False) -> PhotoReading:
        """Read the picture as marked; the ``whole`` of it with outlines that were left out, to list them all."""
        chosen = Choices(without=frozenset() if whole else self.without, marks=self.marks)
        known = KnownLength(*self.ends, self.length_mm) if len(self.ends) == 2 else None
        traces = self._traces(known)
        if isinstance(traces, BadInput):
            raise traces
        return photo_measured(traces, chosen=chosen)

    @property
    def cardless(self) -> bool:
        """Whether cards are missing, so that a known length is asked for."""
        traces = self._traces()
        return isinstance(traces, BadInput) and traces.problems[0].field == "cards"

    def _part(self, title: str) -> tuple[Part, int]:
        got = self.read()
        at = min(self.piece, len(got.reading.pieces))
        return got.doubts[at - 1].on(got.reading.part(at, title, self.metal)), 1

    def marked(self, done: Mapping[str, Any]) -> "Shot":
        """Return it after a click or a drag in its sketch."""
        if done["tool"] != "mark":
            return super().marked(done)
        place = self._share_of((float(done["x"]), float(done["y"])))
        return replace(self, ends=(*(self.ends if len(self.ends) < 2 else ()), place))

    def _share_of(self, place: tuple[float, float]) -> tuple[float, float]:
        """Work out a place in the sketch as shares of the picture: the sketch is in mm once two marks are set."""
        if len(self.ends) == 2:
            with suppress(BadInput):
                plane = self.read().traces.plane
                dot = (plane.to_px(np.array([place]))[0] + 0.5) / plane.size
                return float(dot[0]), float(dot[1])
        under = _plain(self.path, self.stamp)
        return place[0] / under.high[0], 1 - place[1] / under.high[1]

    def entries(self, desk: Desk) -> list[Field | Plain]:
        """Collect its fields: thickness, metal, height, ruler or known length, and a tick for each outline."""
        tongue = desk.tongue
        most = fact("photo.most_thickness", "mm")
        fields: list[Field | Plain] = [
            length_field("sheet", "Thickness", self.sheet_mm, tongue, least=0.05, most=most),
            metal_field(self.metal),
        ]
        if self.cardless or self.ends:
            fields.append(length_field("length", "Known length", self.length_mm, tongue, least=1, most=20_000))
        else:
            fields.append(length_field("above", "Above the cards", self.above_mm, tongue, most=most))
            fields.append(length_field("ruler", "Cards' ruler is", self.ruler_mm, tongue, least=80, most=125))
        try:
            reading = self.read(whole=True).reading
        except BadInput:
            return [*fields, Plain("note", "", "drawn.said")]
        fields += self.piece_fields([size_words(p.width_mm, p.height_mm, tongue) for p in reading.pieces])
        return [*fields, *self.outline_fields(reading.seen, tongue), Plain("note", "", "drawn.said")]

    def said(self, tongue: Tongue) -> str:
        """Write the ranges of its measures, and what was assumed."""
        try:
            got = self.read()
        except BadInput as why:
            return "Lay cards round the part, or click both ends of a known length." if self.cardless else str(why)
        at = min(self.piece, len(got.reading.pieces)) - 1
        spans = got.doubts[at].spans
        words = (("area", "area_m2", "m**2"), ("edges", "edge_m", "m"), ("line", "line_m", "m"))
        ranges = "; ".join(
            f"{word} {tongue.number(spans[n].low, unit, 3)} … {tongue.show(spans[n].high, unit, 3)}"
            for word, n, unit in words
        )
        return f"Nine in ten: {ranges}. " + " ".join(got.reading.notes)

    def sketch(self, sketch: Sketch) -> None:
        """Show picture and outlines, of what cannot be measured too."""
        try:
            got = self.read()
        except BadInput:
            self._bare(sketch)
            return
        lines = [SketchLines.of(seen) for seen in got.reading.seen]
        tools = (*TOOLS, "mark") if self.ends else TOOLS
        sketch.show_lines(lines, spots=got.reading.spots_at, under=straighten(got), tools=tools, said=LEGEND)

    def _bare(self, sketch: Sketch) -> None:
        try:
            under = _plain(self.path, self.stamp)
        except BadInput:
            sketch.clear()
            return
        marks = [(x * under.high[0], (1 - y) * under.high[1]) for x, y in self.ends]
        sketch.show_lines([], under=under, tools=("mark",) if self.cardless else (), marks=marks)


@lru_cache(maxsize=3)
def _looked(path: Path, _stamp: int, taken: Taken, known: KnownLength | None = None) -> Traces | BadInput:
    """Look at a picture once for how it was taken; ``_stamp`` is when it was changed last."""
    try:
        return look(path, taken, known)
    except BadInput as why:
        return why


@lru_cache(maxsize=1)
def _plain(path: Path, _stamp: int) -> Under:
    """Return a picture as it is, small enough to be shown; its places are dots."""
    from PIL import Image  # heavy: only where a picture is shown

    image = Image.fromarray(read_photo_file(path).dots)
    image.thumbnail((_SHOWN, _SHOWN))
    out = BytesIO()
    image.save(out, "JPEG", quality=82)
    return Under(out.getvalue(), (0.0, 0.0), (float(image.width), float(image.height)))
