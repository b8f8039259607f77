"""The command ``shape``: a part from its measures, without a drawing."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from pricing.basis.errors import BadInput, Problem
from pricing.basis.files import write_safely
from pricing.commands.shell import JSON, SHOP, echo_json, plain_errors, tongue_of

if TYPE_CHECKING:
    from pricing.parts.shaped import Shaped


@click.command("shape")
@click.argument("kind")
@click.argument("measures", nargs=-1, metavar="MEASURE=LENGTH...")
@click.option(
    "--material", required=True, help="mild steel, stainless steel, cast iron, aluminium, zinc, brass, copper."
)
@click.option("--name", help="Name of the part; the shape's own words without it.")
@click.option("--upright", is_flag=True, help="It hangs with its longer side down, not along the rail.")
@click.option("--svg", type=click.Path(path_type=Path), help="Draw it with its dimensions into this file.")
@click.option("--job", help="Append it to this job's file.")
@click.option("--item", nargs=2, metavar="KEY LIKE", help="Append to the shop's items as KEY, sold as item LIKE is.")
@SHOP
@JSON
@plain_errors
def shape_command(  # noqa: PLR0913, PLR0917  one option each
    kind: str,
    measures: tuple[str, ...],
    material: str,
    name: str | None,
    svg: Path | None,
    job: str | None,
    item: tuple[str, str] | None,
    folder: str | None,
    *,
    upright: bool,
    as_json: bool,
) -> None:
    """Area, edges, mass and how it hangs of a KIND of shape: plate width="30 cm" height="8 in" thickness="3 mm"."""
    from pricing.commands.part_append import append_parts
    from pricing.commands.part_table import part_figures, show_one
    from pricing.parts.shape_sketch import sketch
    from pricing.parts.shaped import titles
    from pricing.shop.folder import open_shop
    from pricing.show.words import Words

    shaped = _shaped(kind, measures, folder, upright=upright)
    part = shaped.part(name or titles()[kind].split(",")[0], material)
    if svg:
        if svg.suffix.lower() != ".svg":
            raise BadInput("shape", [Problem("--svg", str(svg), "a file that ends in .svg")])
        words = Words(open_shop(folder))
        write_safely(svg, sketch(shaped, lambda mm: words.measure(mm, "mm")))
    append_parts([(part, 1)], job, item, folder)
    if as_json:
        echo_json(part_figures(part))
    else:
        show_one(part, folder)


def _shaped(kind: str, measures: tuple[str, ...], folder: str | None, *, upright: bool) -> "Shaped":
    from pricing.parts.measures import shape_of

    given: dict[str, object] = {"kind": kind, "upright": upright}
    for text in measures:
        name, equals, value = text.partition("=")
        if not equals:
            raise BadInput("shape", [Problem("a measure", text, "a name and a length, as width='30 cm'")])
        given[name.strip()] = value.strip()
    return shape_of(given, "shape", tongue_of(folder))
