"""What a picture told, on the terminal and for programs: every measure with its range."""

from collections.abc import Sequence
from typing import Any

from rich import box
from rich.table import Table
from rich.text import Text

from pricing.commands.figures import number
from pricing.commands.tables import console, say
from pricing.parts.part import Part
from pricing.parts.photo import PhotoReading
from pricing.parts.photo_doubt import Span
from pricing.shop.folder import open_shop
from pricing.show.words import Words

_ROWS = (
    ("area coated", "area_m2", "area_m2", "m**2"),
    ("mass", "mass_kg", "volume_m3", "kg"),
    ("edge to sand, all arrises", "edge_m", "edge_m", "m"),
    ("border of two colours", "line_m", "line_m", "m"),
    ("width", "width_mm", "width_mm", "mm"),
    ("height, as it hangs", "height_mm", "height_mm", "mm"),
)
_COUNTS = (("spots: nooks that need a swab", "spots"), ("plugs", "plugs"))


def photo_figures(got: PhotoReading, parts: Sequence[tuple[int, Part]]) -> dict[str, Any]:
    """Describe the reading, its ranges and its parts for a program to read.

    Parameters
    ----------
    got : PhotoReading
        Of the picture.
    parts : sequence of (int, Part)
        Number of the piece, the part.
    """
    made = []
    for at, part in parts:
        fields = {name: getattr(part, name) for name in type(part).model_fields}
        plain = {name: number(v) if isinstance(v, float) else v for name, v in fields.items()}
        made.append({"piece": at, "count": 1, **plain})
    return got.as_dict() | {"parts": made}


def show_photo(got: PhotoReading, parts: Sequence[tuple[int, Part]], folder: str | None) -> None:
    """Print the parts in the shop's units, each measure with its range, and what was assumed.

    Parameters
    ----------
    got, parts
        As in `photo_figures`.
    folder : str or None
        The shop's folder, for its units.
    """
    words = Words(open_shop(folder))
    to = console()
    for at, part in parts:
        to.print(_one(got, at, part, words))
    for note in got.reading.notes:
        say(to, note)
    if got.plane.cards and parts:
        reasons = got.doubts[parts[0][0] - 1].reasons
        first, *_ = sorted(reasons, key=lambda name: -reasons[name])
        say(to, f"Nine in ten truths lie in such ranges. Most of the doubt of edges comes from: {first}.")


def _one(got: PhotoReading, at: int, part: Part, words: Words) -> Table:
    title = Text(f"{part.name}, {part.material}, {words.measure(part.thickness_mm, 'mm')} thick")
    table = Table(title=title, title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False, title_style="bold")
    table.add_column("measure")
    table.add_column("of one piece", justify="right")
    table.add_column("from … to …", justify="right")
    spans = got.doubts[at - 1].spans
    for name, of, span, unit in _ROWS:
        value = getattr(part, of)
        table.add_row(name, words.measure(value, unit), _between(spans[span], value, unit, words))
    for name, count in _COUNTS:
        table.add_row(name, str(getattr(part, count)), f"{spans[count].low:.0f} … {spans[count].high:.0f}")
    for size, holes in got.reading.pieces[at - 1].holes:
        table.add_row(f"  round holes of {words.measure(size, 'mm')}", str(holes), "")
    return table


def _between(span: Span, value: float, unit: str, words: Words) -> str:
    share = value / span.middle if span.middle else 0.0  # mass goes with volume
    return f"{words.measure(span.low * share, unit)} … {words.measure(span.high * share, unit)}"
