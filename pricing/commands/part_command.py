"""The command ``part``: a cut file or a mesh in, the part's measures out, or into a job or the items."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pricing.basis.files import write_safely
from pricing.basis.tongue import Range
from pricing.commands.part_shell import ITEM, amount_of, length_mm, limits_mm, reads_parts, refuse_early, wanted_parts
from pricing.commands.shell import echo_figures

if TYPE_CHECKING:
    from pricing.parts.reading import DrawingReading


@click.command("part")
@click.option("--units", default="", help="Unit of the file where it does not say: mm, cm, m, in or ft.")
@click.option("--layer", "layers", multiple=True, help="Read only this layer; may be given again.")
@click.option("--visible", multiple=True, help="Edges of this layer are seen: sand and wipe only those.")
@click.option("--gap", help="Close gaps up to this: '0.5 mm'.")
@click.option("--closed", is_flag=True, help="Read closed outlines only: leave out every line that stays open.")
@click.option("--keep", multiple=True, type=int, help="The outline of this number is metal, not the edge of a sheet.")
@click.option("--mass", help="Of one piece, with its unit: '2.4 kg'; an open mesh needs it, or its thickness.")
@click.option("--hidden", help="Surface that is not coated: '0.2 m2'.")
@click.option("--casting", is_flag=True, help="The part is cast.")
@click.option("--repair", is_flag=True, help="Mend a damaged file; it is told what was done.")
@ITEM
@reads_parts
def part_command(file: Path, *, as_json: bool, **given: Any) -> None:
    """Area, edges, line, spots, plugs, size and mass of a part from its FILE (DXF, STL, OBJ, PLY, 3MF)."""
    from pricing.commands.part_append import append_parts
    from pricing.commands.part_table import parts_figures, show_parts
    from pricing.parts.preview import picture

    refuse_early("part", given, "A file")
    reading = _read(file, given)
    more: dict[str, Any] = {"casting": True} if given["casting"] else {}
    if given["hidden"]:
        more["hidden_m2"] = amount_of(given, "hidden", "m**2", Range(least=0.0))
    if given["thickness"] is not None:
        more["thickness_mm"] = length_mm(given, "thickness")
    if given["mass"] is not None:
        more["mass_kg"] = amount_of(given, "mass", "kg", Range(above=0.0))
    parts = wanted_parts(reading, file, given, **more)
    if given["svg"]:
        write_safely(given["svg"], picture(reading))
    append_parts([(part, count) for _, part, count in parts], given["job"], given["item"], given["folder"])
    if as_json:
        echo_figures(parts_figures(reading, parts), "")
    else:
        show_parts(reading, parts, given["folder"])


def _read(file: Path, given: dict[str, Any]) -> "DrawingReading":
    from pricing.parts.drawing import read_part_file
    from pricing.parts.preview import picture
    from pricing.parts.reading import BadDrawing, Choices, DrawingReading

    lengths = limits_mm(given)
    if given["gap"] is not None:
        lengths["gap_mm"] = length_mm(given, "gap")
    chosen = Choices(
        units=given["units"],
        layers=frozenset(given["layers"]),
        visible=frozenset(given["visible"]),
        without=frozenset(given["without"]),
        keep=frozenset(given["keep"]),
        closed_only=given["closed"],
        repair=given["repair"],
        open_surface=bool(given["thickness"] or given["mass"]),
        **lengths,
    )
    thickness = None if given["thickness"] is None else length_mm(given, "thickness")
    try:
        reading = read_part_file(file, thickness, chosen=chosen)
    except BadDrawing as why:
        if given["svg"] and why.seen:
            write_safely(given["svg"], picture(DrawingReading(source=file.name, seen=why.seen)))
            click.echo(f"The outlines that cannot be measured are drawn in {given['svg']}.", err=True)
        raise
    if reading.kind == "mesh" and thickness is None and reading.pieces[0].volume_m3:
        note = "Thickness: twice volume over area stands in; name the heaviest section with --thickness."
        return replace(reading, notes=(*reading.notes, note))
    return reading
