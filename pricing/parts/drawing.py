"""A part's file of any kind; and parts cut from sheet, read from their cut file: DXF, text or binary.

Takes    a file, the sheet's thickness and the owner's choices.
Gives    a `DrawingReading`: coated area, arrises to sand, border of two colours, spots, plugs, smallest box,
         for each kind of piece on the sheet.
Rules    the unit is in the file or asked for, never guessed. What cannot be measured is refused with
         its place in the drawing.
"""

import logging
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Self

import numpy as np

from pricing.basis.errors import BadInput, Problem
from pricing.basis.facts import fact
from pricing.parts.bounds import Bounds, need, open_file
from pricing.parts.entities import FoundCurve, read_entities
from pricing.parts.mesh import MESH_KINDS, read_mesh
from pricing.parts.nesting import nest, sheet_edges
from pricing.parts.outlines import Joined, Outline, join
from pricing.parts.plates import measure, switched_on
from pricing.parts.reading import Choices, DrawingReading, unit_of
from pricing.parts.stretches import marked

if TYPE_CHECKING:
    from ezdxf.document import Drawing

_BINARY = b"AutoCAD Binary DXF\r\n\x1a\x00"
_OTHERS = {
    b"AC10": "a DWG drawing",
    b"%PDF": "a PDF",
    b"PK\x03\x04": "a packed file",
    b"\x89PNG": "a picture",
    b"\xff\xd8\xff": "a picture",
    b"<svg": "an SVG",
    b"<?xml": "an XML file",
    b"solid ": "a mesh (STL)",
}
_SAVE_AS = "Save it as DXF from the program it was drawn in."


def read_part_file(path: Path, thickness_mm: float | None = None, *, chosen: Choices | None = None) -> DrawingReading:
    """Read a drawing (DXF), which needs the sheet's thickness [mm], or a mesh (STL, OBJ, PLY, 3MF).

    Raises
    ------
    BadInput
        As `read_drawing` and `read_mesh`, or a drawing came without thickness.
    """
    if path.suffix.lower().removeprefix(".") in MESH_KINDS:
        return read_mesh(path, chosen=chosen)
    if thickness_mm is None:
        mend = "A drawing is flat; name the sheet's thickness, for example --thickness '3 mm'."
        raise BadInput(str(path), [Problem("thickness", "missing", "given with its unit", mend)])
    return read_drawing(path, thickness_mm, chosen=chosen)


def read_drawing(path: Path, thickness_mm: float, *, chosen: Choices | None = None) -> DrawingReading:
    """Read a DXF drawing, text or binary, of any version, cut from a sheet of so much [mm].

    Raises
    ------
    BadInput
        The file cannot be read, has no unit, is too large, or its outlines cannot be measured; then it
        is a `BadDrawing`, which carries the outlines for a picture.
    """
    chosen = chosen or Choices()
    need(str(path), "ezdxf", "shapely")
    raw, bounds = open_file(path)
    most = fact("drawing.most_size", "millimeter")
    if not 0 < thickness_mm <= most:
        bounds.refuse("thickness", f"{thickness_mm:g} mm", f"above 0 mm and at most {most:g} mm", "")
    has_unit = b"$INSUNITS" in raw
    _sniff(raw, bounds)
    del raw
    doc, mended = _load(path, bounds, repair=chosen.repair)
    unit, scale, notes = _unit(doc, chosen.units, bounds, known=has_unit)
    found = read_entities(doc, scale, chosen.layers, bounds)
    del doc
    if not found.curves:
        told = f"without outlines ({_left_out(found) or 'empty'})"
        bounds.refuse("the drawing", told, "lines, arcs or curves that close", "Export the outlines as DXF.")
    joined = join(
        found.curves,
        same_mm=fact("drawing.same_point", "millimeter"),
        gap_mm=chosen.gap_mm,
        most_meeting=int(fact("drawing.most_meeting")),
        where=bounds.where,
    )
    joined = replace(joined, outlines=tuple(marked(outline, chosen.marks) for outline in joined.outlines))
    _check_size(joined.outlines, unit, bounds)
    on = switched_on(joined.outlines, chosen, bounds, lambda x, y: f"({x / scale:.6g}, {y / scale:.6g}) {unit}")
    if not on:
        bounds.refuse("the drawing", "left out altogether", "an outline or more", "Name fewer with --without.")
    notes += mended + _notes(found, joined, on, chosen)
    plates = nest(on, bounds)
    sheets = [number for number in sheet_edges(plates) if number not in chosen.keep]
    if sheets:
        plates = nest([outline for outline in on if outline.id not in sheets], bounds)
        numbers = ", ".join(map(str, sheets))
        notes.append(
            f"Read as the edge of a sheet, not of a part: outline {numbers}. If it is metal: --keep {sheets[0]}."
        )
    reading = measure(joined.outlines, plates, thickness_mm, chosen=chosen, bounds=bounds)
    return replace(reading, source=path.name, notes=(*notes, *reading.notes))


def _sniff(raw: bytes, bounds: Bounds) -> None:
    """Refuse other formats by name, and drawings whose count of records would take too much memory."""
    if raw.startswith(_BINARY):
        if len(raw) > (most := fact("drawing.most_binary")):
            mend = "Save it as text DXF, or only the part to be coated."
            bounds.refuse("the file", f"a binary DXF of {len(raw) / 1e6:.3g} MB", f"at most {most / 1e6:g} MB", mend)
        return
    other = next((name for magic, name in _OTHERS.items() if raw.lstrip().startswith(magic)), "")
    if other:
        bounds.refuse("the file", other, "a DXF drawing", _SAVE_AS)
    line_ends = np.flatnonzero(np.frombuffer(raw, dtype=np.uint8) == ord("\n"))
    bounds.count("group codes", len(line_ends) / 2, "drawing.most_tags")


def _load(path: Path, bounds: Bounds, *, repair: bool) -> tuple["Drawing", list[str]]:
    heard = _Heard()
    try:
        from ezdxf import filemanagement, recover  # heavy: only where a drawing is read

        with heard:
            if not repair:
                return filemanagement.readfile(path), []
            doc, auditor = recover.readfile(path)
        faults_found = len(auditor.fixes) + len(auditor.errors) + len(heard.told)
        lost = "what could not be read is missing or 0: look at the picture"
        return doc, [f"Read as a damaged file, as you asked: {faults_found} faults found; {lost}."]
    except BadInput:
        raise
    except Exception as why:  # a damaged file breaks the reader in ways it does not list
        told = "not a DXF drawing" if isinstance(why, OSError) else f"damaged ({str(why)[:120]})"
        mend = _SAVE_AS if repair or isinstance(why, OSError) else "Save it again, or read what is left with --repair."
        raise BadInput(bounds.where, [Problem("the file", told, "a whole DXF drawing", mend)]) from why


class _Heard(logging.Handler):
    """Keep what the DXF library says of a file, which else would run over the owner's screen."""

    def __init__(self) -> None:
        super().__init__()
        self.told: list[str] = []
        self.logger = logging.getLogger("ezdxf")

    def emit(self, record: logging.LogRecord) -> None:
        """Keep one sentence."""
        self.told.append(record.getMessage())

    def __enter__(self) -> Self:
        self.logger.addHandler(self)
        self.propagate, self.logger.propagate = self.logger.propagate, False
        return self

    def __exit__(self, *_: object) -> None:
        self.logger.removeHandler(self)
        self.logger.propagate = self.propagate


def _unit(doc: "Drawing", asked: str, bounds: Bounds, *, known: bool) -> tuple[str, float, list[str]]:
    from ezdxf import units  # heavy: only where a drawing is read
    from ezdxf.enums import InsertUnits

    code = int(doc.header.get("$INSUNITS", 0)) if known else 0
    try:
        factor = float(units.conversion_factor(InsertUnits(code), InsertUnits.Millimeters)) if code else 0.0
        name = str(units.decode(code)) if code else ""
    except (ValueError, TypeError, IndexError, KeyError):  # a unit without a length, or none known
        factor, name = 0.0, ""
    return unit_of(asked, name, factor, bounds, "Name the unit it was drawn in, for example --units mm.")


def _check_size(outlines: Sequence[Outline], unit: str, bounds: Bounds) -> None:
    corners = np.array([(o.points.min(axis=0), o.points.max(axis=0)) for o in outlines])
    size = float((corners[:, 1].max(axis=0) - corners[:, 0].min(axis=0)).max()) if len(corners) else 0.0
    if size > (most := fact("drawing.most_size", "millimeter")):
        mend = f"It was read in {unit}; name the right unit with --units."
        bounds.refuse("the drawing", f"{size / 1000:.4g} m long", f"at most {most / 1000:g} m", mend)


def _left_out(found: FoundCurve) -> str:
    kinds = [f"{n} {kind}" for kind, n in sorted(found.left_out.items())]
    return ", ".join(kinds + ([f"{found.hidden} on layers not read"] if found.hidden else []))


def _notes(found: FoundCurve, joined: Joined, on: Sequence[Outline], chosen: Choices) -> list[str]:
    notes = []
    gaps = [gap for outline in on for gap in outline.gaps_mm]
    if gaps:
        notes.append(
            f"Gaps closed: {len(gaps)}, the largest {max(gaps):.2g} mm; up to {chosen.gap_mm:g} mm are closed."
        )
    if joined.twice:
        notes.append(f"Drawn twice and counted once: {joined.twice}.")
    if joined.points_dropped:
        notes.append(f"Lines without length dropped: {joined.points_dropped}.")
    if left_out := _left_out(found):
        notes.append(f"Left out: {left_out}.")
    if joined.shared:
        notes.append(
            f"Lines that two pieces share: {joined.shared}. Each piece has them as its own edge, as after the cut."
        )
    loose = [o for o in joined.outlines if not o.closed and o.id not in chosen.without] if chosen.closed_only else []
    if loose:
        length = sum(outline.length_mm for outline in loose) / 1e3
        notes.append(f"Left out because they stay open, as you asked: {len(loose)} outlines, {length:.3g} m.")
    if off := len(joined.outlines) - len(on) - len(loose):
        notes.append(f"Outlines switched off: {off}.")
    return notes
