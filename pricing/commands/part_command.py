"""The command ``part``: a cut file or a mesh in, the part's measures out, or into a job or the items."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pricing.basis.errors import BadInput, Problem
from pricing.basis.files import write_safely
from pricing.basis.tongue import Range
from pricing.basis.typed import read_field
from pricing.commands.shell import JSON, SHOP, echo_json, plain_errors, tongue_of

if TYPE_CHECKING:
    from pricing.parts.part import Part
    from pricing.parts.reading import DrawingReading


def _length_mm(given: dict[str, Any], name: str, text: str | None = None) -> float:
    return read_field(
        given[name] if text is None else text, "mm", f"--{name}", tongue_of(given["folder"]), _NONE_OR_MORE
    )


_NONE_OR_MORE = Range(least=0.0)


@click.command("part")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--thickness", help="Of the sheet, with its unit: '3 mm'. For a mesh, its heaviest section.")
@click.option("--material", help="mild steel, stainless steel, cast iron, aluminium, zinc, brass or copper.")
@click.option("--name", help="Name of the part; the file's name without it.")
@click.option("--units", default="", help="Unit of the file where it does not say: mm, cm, m, in or ft.")
@click.option("--layer", "layers", multiple=True, help="Read only this layer; may be given again.")
@click.option("--visible", multiple=True, help="Edges of this layer are seen: sand and wipe only those.")
@click.option("--without", multiple=True, type=int, help="Leave out the outline of this number; see --svg.")
@click.option("--gap", help="Close gaps up to this: '0.5 mm'.")
@click.option("--finger", help="Radius of a fingertip in its cloth; sharper inner corners are spots.")
@click.option("--plug", nargs=2, metavar="LEAST MOST", help="Diameters of holes that get a plug: '3 mm' '30 mm'.")
@click.option("--closed", is_flag=True, help="Read closed outlines only: leave out every line that stays open.")
@click.option("--keep", multiple=True, type=int, help="The outline of this number is metal, not the edge of a sheet.")
@click.option("--mass", help="Of one piece, with its unit: '2.4 kg'; an open mesh needs it, or its thickness.")
@click.option("--hidden", help="Surface that is not coated: '0.2 m2'.")
@click.option("--casting", is_flag=True, help="The part is cast.")
@click.option("--repair", is_flag=True, help="Mend a damaged file; it is told what was done.")
@click.option("--piece", type=int, default=None, help="Only this kind of piece, numbered as printed.")
@click.option("--svg", type=click.Path(path_type=Path), help="Draw what was read into this file.")
@click.option("--job", help="Append the pieces to this job's file.")
@click.option("--item", nargs=2, metavar="KEY LIKE", help="Append to the shop's items as KEY, sold as item LIKE is.")
@SHOP
@JSON
@plain_errors
def part_command(file: Path, *, as_json: bool, **given: Any) -> None:
    """Area, edges, line, spots, plugs, size and mass of a part from its FILE (DXF, STL, OBJ, PLY, 3MF)."""
    from pricing.commands.part_append import append_parts
    from pricing.commands.part_table import figures, show_part
    from pricing.parts.preview import picture

    _check(given)
    reading = _read(file, given)
    parts = _parts(reading, file, given)
    if given["svg"]:
        write_safely(given["svg"], picture(reading))
    append_parts([(part, count) for _, part, count in parts], given["job"], given["item"], given["folder"])
    if as_json:
        echo_json(figures(reading, parts))
    else:
        show_part(reading, parts, given["folder"])


def _check(given: dict[str, Any]) -> None:
    """Refuse what can be refused before a large file is read."""
    bad = []
    if given["svg"] and given["svg"].suffix.lower() != ".svg":
        bad.append(Problem("--svg", str(given["svg"]), "a file that ends in .svg"))
    if given["material"] is None:
        mend = "A file does not tell the metal; name it, for example --material 'mild steel'."
        bad.append(Problem("--material", "missing", "given", mend))
    if given["item"] and given["folder"] is None:
        mend = "Make your own with: new FOLDER; then name it with --shop FOLDER."
        bad.append(Problem("--item", given["item"][0], "for a shop's folder of your own", mend))
    if bad:
        raise BadInput("part", bad)


def _read(file: Path, given: dict[str, Any]) -> "DrawingReading":
    from pricing.parts.part_file import read_part_file
    from pricing.parts.preview import draw
    from pricing.parts.reading import BadDrawing, Choices

    lengths: dict[str, Any] = {}
    for option, field in (("gap", "gap_mm"), ("finger", "finger_mm")):
        if given[option] is not None:
            lengths[field] = _length_mm(given, option)
    if given["plug"]:
        lengths["plug_least_mm"], lengths["plug_most_mm"] = (_length_mm(given, "plug", text) for text in given["plug"])
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
    thickness = None if given["thickness"] is None else _length_mm(given, "thickness")
    try:
        reading = read_part_file(file, thickness, chosen=chosen)
    except BadDrawing as why:
        if given["svg"] and why.seen:
            write_safely(given["svg"], draw(why.seen, title=file.name))
            click.echo(f"The outlines that cannot be measured are drawn in {given['svg']}.", err=True)
        raise
    if reading.kind == "mesh" and thickness is None and reading.pieces[0].volume_m3:
        note = "Thickness: twice volume over area stands in; name the heaviest section with --thickness."
        return replace(reading, notes=(*reading.notes, note))
    return reading


def _parts(reading: "DrawingReading", file: Path, given: dict[str, Any]) -> list[tuple[int, "Part", int]]:
    """Work out (number of the kind, part, how many of it)."""
    hidden = 0.0
    if given["hidden"]:
        hidden = read_field(given["hidden"], "m**2", "--hidden", tongue_of(given["folder"]), _NONE_OR_MORE)
    more: dict[str, Any] = {"casting": True} if given["casting"] else {}
    if given["thickness"] is not None:
        more["thickness_mm"] = _length_mm(given, "thickness")
    if given["mass"] is not None:
        more["mass_kg"] = read_field(given["mass"], "kg", "--mass", tongue_of(given["folder"]), Range(above=0.0))
    wanted = [given["piece"]] if given["piece"] is not None else range(1, len(reading.pieces) + 1)
    name = given["name"] or file.stem
    parts = []
    for number in wanted:
        own = name if len(reading.pieces) == 1 else f"{name} {number}"
        part = reading.part(number, own, given["material"], hidden_m2=hidden, **more)
        parts.append((number, part, reading.pieces[number - 1].count))
    return parts
