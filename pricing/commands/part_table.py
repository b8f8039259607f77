"""What a part's file told, on the terminal and for programs."""

from collections.abc import Sequence
from typing import Any

from rich.table import Table

from pricing.commands.figures import number
from pricing.commands.tables import console, grid, say
from pricing.parts.part import Part
from pricing.parts.reading import DrawingReading
from pricing.shop.folder import open_shop
from pricing.show.words import Words

_ROWS = (
    ("area coated", "area_m2", "m**2"),
    ("mass", "mass_kg", "kg"),
    ("edge to sand, all arrises", "edge_m", "m"),
    ("border of two colours", "line_m", "m"),
    ("width", "width_mm", "mm"),
    ("height, as it hangs", "height_mm", "mm"),
    ("depth", "depth_mm", "mm"),
    ("thickness, heaviest section", "thickness_mm", "mm"),
)


def figures(reading: DrawingReading, parts: Sequence[tuple[int, Part, int]]) -> dict[str, Any]:
    """Describe the reading and its parts for a program to read.

    Parameters
    ----------
    reading : DrawingReading
        Of the file.
    parts : sequence of (int, Part, int)
        Number of the kind, the part, how many of it.
    """
    made = []
    for kind, part, count in parts:
        made.append({"piece": kind, "count": count, **part_figures(part)})
    return reading.as_dict() | {"parts": made}


def part_figures(part: Part) -> dict[str, Any]:
    """Describe a part for a program to read.

    Parameters
    ----------
    part : Part
        One piece.
    """
    fields = {name: getattr(part, name) for name in type(part).model_fields}
    return {name: number(v) if isinstance(v, float) else v for name, v in fields.items()}


def show_part(reading: DrawingReading, parts: Sequence[tuple[int, Part, int]], folder: str | None) -> None:
    """Print the parts in the shop's units, and what was assumed.

    Parameters
    ----------
    reading, parts
        As in `figures`.
    folder : str or None
        The shop's folder, for its units.
    """
    words = Words(open_shop(folder))
    to = console()
    if len(parts) == 1:
        to.print(_one(reading, *parts[0], words=words))
    else:
        to.print(_many(parts, words))
    for note in reading.notes:
        say(to, note)


def show_one(part: Part, folder: str | None) -> None:
    """Print one part in the shop's units.

    Parameters
    ----------
    part : Part
        One piece.
    folder : str or None
        The shop's folder, for its units.
    """
    console().print(_measures(f"{part.name}, {part.material}", part, Words(open_shop(folder))))


def _measures(head: str, part: Part, words: Words) -> Table:
    table = grid(head, ("measure", "of one piece"))
    for name, field, unit in _ROWS:
        table.add_row(name, words.measure(getattr(part, field), unit))
    return table


def _one(reading: DrawingReading, kind: int, part: Part, count: int, *, words: Words) -> Table:
    table = _measures(f"{part.name}, {part.material}" + (f": {count} alike" if count > 1 else ""), part, words)
    table.add_row("spots: nooks that need a swab", str(part.spots))
    table.add_row("plugs", str(part.plugs))
    for size, holes in reading.pieces[kind - 1].holes:
        table.add_row(f"  round holes of {words.measure(size, 'mm')}", str(holes))
    return table


def _many(parts: Sequence[tuple[int, Part, int]], words: Words) -> Table:
    rows = [[words.measure(getattr(part, field), unit) for _, field, unit in _ROWS[:4]] for _, part, _ in parts]
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
