"""What a part's file, picture or shape told, on the terminal and for programs."""

from collections.abc import Sequence
from typing import Any

from rich.table import Table

from pricing.commands.shell import picked
from pricing.commands.tables import grid, tell
from pricing.parts.part import Part
from pricing.parts.photo import PhotoReading
from pricing.parts.photo_doubt import Span
from pricing.parts.reading import DrawingReading, Piece
from pricing.shop.folder import open_shop
from pricing.show.words import Words

_MEASURES = (
    ("area coated", "area_m2", "m**2"),
    ("mass", "mass_kg", "kg"),
    ("edge to sand, all arrises", "edge_m", "m"),
    ("border of two colours", "line_m", "m"),
    ("width", "width_mm", "mm"),
    ("height, as it hangs", "height_mm", "mm"),
    ("depth", "depth_mm", "mm"),
    ("thickness, heaviest section", "thickness_mm", "mm"),
)
_FLAT = 6  # measures of a flat part that a picture tells
_COUNTS = (("spots: nooks that need a swab", "spots"), ("plugs", "plugs"))


def part_figures(part: Part) -> dict[str, Any]:
    """Describe a part for a program to read."""
    return picked(part, *type(part).model_fields)


def parts_figures(reading: DrawingReading | PhotoReading, parts: Sequence[tuple[int, Part, int]]) -> dict[str, Any]:
    """Describe a reading and its parts for a program: the number of the kind, how many of it, one of them."""
    made = [{"piece": kind, "count": count, **part_figures(part)} for kind, part, count in parts]
    return reading.as_dict() | {"parts": made}


def show_part(part: Part, folder: str | None) -> None:
    """Print one part in the shop's units."""
    tell(_table(f"{part.name}, {part.material}", _measures(part, Words(open_shop(folder)))))


def show_parts(reading: DrawingReading, parts: Sequence[tuple[int, Part, int]], folder: str | None) -> None:
    """Print the parts in the shop's units, and what was assumed."""
    words = Words(open_shop(folder))
    if len(parts) == 1:
        ((kind, part, count),) = parts
        counts = [(name, str(getattr(part, field))) for name, field in _COUNTS]
        rows = [*_measures(part, words), *counts, *_holes(reading.pieces[kind - 1], words)]
        tell(_table(f"{part.name}, {part.material}" + (f": {count} alike" if count > 1 else ""), rows))
    else:
        tell(_many(parts, words))
    tell(*reading.notes)


def show_photo(got: PhotoReading, parts: Sequence[tuple[int, Part, int]], folder: str | None) -> None:
    """Print the parts of a picture in the shop's units, each measure with its range, and what was assumed."""
    words = Words(open_shop(folder))
    for at, part, _ in parts:
        spans = got.doubts[at - 1].spans
        rows: list[tuple[str, ...]] = []
        for (name, told), (_, field, unit) in zip(_measures(part, words)[:_FLAT], _MEASURES, strict=False):
            span = spans["volume_m3" if field == "mass_kg" else field]
            rows.append((name, told, _between(span, getattr(part, field), unit, words)))
        for name, field in _COUNTS:
            rows.append((name, str(getattr(part, field)), f"{spans[field].low:.0f} … {spans[field].high:.0f}"))
        rows += [(*row, "") for row in _holes(got.reading.pieces[at - 1], words)]
        head = f"{part.name}, {part.material}, {words.measure(part.thickness_mm, 'mm')} thick"
        tell(_table(head, rows, "from … to …"))
    tell(*got.reading.notes)
    if got.traces.plane.cards and parts:
        reasons = got.doubts[parts[0][0] - 1].reasons
        first = max(reasons, key=lambda name: reasons[name])
        tell(f"Nine in ten truths lie in such ranges. Most of the doubt of edges comes from: {first}.")


def _table(head: str, rows: Sequence[Sequence[str]], *more: str) -> Table:
    return grid(head, ("measure", "of one piece", *more), rows)


def _measures(part: Part, words: Words) -> list[tuple[str, str]]:
    return [(name, words.measure(getattr(part, field), unit)) for name, field, unit in _MEASURES]


def _holes(piece: Piece, words: Words) -> list[tuple[str, str]]:
    return [(f"  round holes of {words.measure(size, 'mm')}", str(holes)) for size, holes in piece.holes]


def _between(span: Span, value: float, unit: str, words: Words) -> str:
    share = value / span.middle if span.middle else 0.0  # mass goes with volume
    return f"{words.measure(span.low * share, unit)} … {words.measure(span.high * share, unit)}"


def _many(parts: Sequence[tuple[int, Part, int]], words: Words) -> Table:
    rows = [[words.measure(getattr(part, field), unit) for _, field, unit in _MEASURES[:4]] for _, part, _ in parts]
    units = [text.rpartition(" ")[2] for text in rows[0]]  # of a column all the same: they stand in its head
    heads = [f"{name}, {unit}" for name, unit in zip(("area", "mass", "edge", "border"), units, strict=True)]
    pieces = sum(count for _, _, count in parts)
    names = ("kind", "pieces", *heads, "spots", "plugs", "box")
    table = grid(f"{parts[0][1].material}, {pieces} pieces; measures of one piece", names, left=0)
    for (kind, part, count), measures in zip(parts, rows, strict=True):
        numbers = [text.rpartition(" ")[0] for text in measures]
        box = [words.measure(getattr(part, side), "mm") for side in ("width_mm", "height_mm", "depth_mm")]
        table.add_row(str(kind), str(count), *numbers, str(part.spots), str(part.plugs), " ×\n".join(box))
    return table
