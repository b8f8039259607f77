"""What the commands ``part``, ``photo`` and ``shape`` share: options, lengths, and the parts that are wanted."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pricing.basis.errors import BadInput, Problem
from pricing.basis.tongue import Range
from pricing.basis.typed import read_field
from pricing.commands.shell import JSON, SHOP, plain_errors, tongue_of

if TYPE_CHECKING:
    from pricing.parts.part import Part
    from pricing.parts.reading import DrawingReading

_READ = (
    click.argument("file", type=click.Path(path_type=Path)),
    click.option("--thickness", help="Of the part, with its unit: '3 mm'; of a mesh, its heaviest section."),
    click.option("--without", multiple=True, type=int, help="Leave out the outline of this number; see --svg."),
    click.option("--finger", help="Radius of a fingertip in its cloth; sharper inner corners are spots."),
    click.option("--plug", nargs=2, metavar="LEAST MOST", help="Diameters of holes that get a plug: '3 mm' '30 mm'."),
    click.option("--piece", type=int, default=None, help="Only this kind of piece, numbered as printed."),
)
_MADE = (
    click.option("--material", help="mild steel, stainless steel, cast iron, aluminium, zinc, brass or copper."),
    click.option("--name", help="Name of the part; without it that of the file, or the shape's own words."),
    click.option("--svg", type=click.Path(path_type=Path), help="Draw what was read into this file."),
    click.option("--job", help="Append the pieces to this job's file."),
    SHOP,
    JSON,
    plain_errors,
)
ITEM = click.option("--item", nargs=2, metavar="KEY LIKE", help="Append to the shop's items as KEY, sold as item LIKE.")


def makes_parts(command: Callable[..., None]) -> Callable[..., None]:
    """Add what every command takes that makes parts."""
    for option in reversed(_MADE):
        command = option(command)
    return command


def reads_parts(command: Callable[..., None]) -> Callable[..., None]:
    """Add what a command takes that reads parts from a file."""
    command = makes_parts(command)
    for option in reversed(_READ):
        command = option(command)
    return command


def refuse_early(command: str, given: dict[str, Any], tells_not: str, *more: Problem) -> None:
    """Refuse what can be refused before a large file is read.

    Raises
    ------
    BadInput
        With every problem of the options, and those that the command found itself.
    """
    bad = list(more)
    if given["svg"] and given["svg"].suffix.lower() != ".svg":
        bad.append(Problem("--svg", str(given["svg"]), "a file that ends in .svg"))
    if given["material"] is None:
        mend = f"{tells_not} does not tell the metal; name it, for example --material 'mild steel'."
        bad.append(Problem("--material", "missing", "given", mend))
    if given.get("item") and given["folder"] is None:
        mend = "Make your own with: new FOLDER; then name it with --shop FOLDER."
        bad.append(Problem("--item", given["item"][0], "for a shop's folder of your own", mend))
    if bad:
        raise BadInput(command, bad)


def length_mm(given: dict[str, Any], name: str, text: str | None = None) -> float:
    """Read a length of the options, or one of its texts."""
    return amount_of(given, name, "mm", Range(least=0.0), text)


def amount_of(given: dict[str, Any], name: str, unit: str, within: Range, text: str | None = None) -> float:
    """Read an amount of the options in the shop's words."""
    return read_field(given[name] if text is None else text, unit, f"--{name}", tongue_of(given["folder"]), within)


def limits_mm(given: dict[str, Any]) -> dict[str, Any]:
    """Collect what counts as a spot and a plug, where it was given."""
    found: dict[str, Any] = {} if given["finger"] is None else {"finger_mm": length_mm(given, "finger")}
    if given["plug"]:
        found["plug_least_mm"], found["plug_most_mm"] = (length_mm(given, "plug", text) for text in given["plug"])
    return found


def wanted_parts(
    reading: "DrawingReading", file: Path, given: dict[str, Any], **more: Any
) -> list[tuple[int, "Part", int]]:
    """Work out (number of the kind, part, how many of it)."""
    pieces, name = reading.pieces, given["name"] or file.stem
    wanted = [given["piece"]] if given["piece"] is not None else range(1, len(pieces) + 1)
    parts = []
    for number in wanted:
        own = name if len(pieces) == 1 else f"{name} {number}"
        part = reading.part(number, own, given["material"], **more)
        parts.append((number, part, pieces[number - 1].count))
    return parts
