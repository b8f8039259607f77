"""The command ``shape``: a part from its measures, without a drawing."""

from typing import TYPE_CHECKING, Any

import click

from pricing.basis.errors import BadInput, Problem
from pricing.basis.files import write_safely
from pricing.commands.part_shell import ITEM, makes_parts, refuse_early
from pricing.commands.shell import echo_figures, tongue_of

if TYPE_CHECKING:
    from pricing.parts.shaped import Shaped


@click.command("shape")
@click.argument("kind")
@click.argument("measures", nargs=-1, metavar="MEASURE=LENGTH...")
@click.option("--upright", is_flag=True, help="It hangs with its longer side down, not along the rail.")
@ITEM
@makes_parts
def shape_command(kind: str, measures: tuple[str, ...], *, upright: bool, as_json: bool, **given: Any) -> None:
    """Area, edges, mass and how it hangs of a KIND of shape: plate width="30 cm" height="8 in" thickness="3 mm"."""
    from pricing.commands.part_append import append_parts
    from pricing.commands.part_table import part_figures, show_part
    from pricing.parts.shape_sketch import sketch
    from pricing.parts.shaped import titles
    from pricing.shop.folder import open_shop
    from pricing.show.words import Words

    refuse_early("shape", given, "A shape")
    shaped = _shaped(kind, measures, given["folder"], upright=upright)
    part = shaped.part(given["name"] or titles()[kind].split(",")[0], given["material"])
    if given["svg"]:
        words = Words(open_shop(given["folder"]))
        write_safely(given["svg"], sketch(shaped, lambda mm: words.measure(mm, "mm")))
    append_parts([(part, 1)], given["job"], given["item"], given["folder"])
    if as_json:
        echo_figures(part_figures(part), "")
    else:
        show_part(part, given["folder"])


def _shaped(kind: str, measures: tuple[str, ...], folder: str | None, *, upright: bool) -> "Shaped":
    from pricing.parts.shaped import shape_of

    given: dict[str, object] = {"kind": kind, "upright": upright}
    for text in measures:
        name, equals, value = text.partition("=")
        if not equals:
            raise BadInput("shape", [Problem("a measure", text, "a name and a length, as width='30 cm'")])
        given[name.strip()] = value.strip()
    return shape_of(given, tongue_of(folder))
