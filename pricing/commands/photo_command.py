"""The command ``photo``: a picture in, a flat part's measures out, each with its range; and the cards to print."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pricing.basis.errors import BadInput, Problem
from pricing.basis.files import write_safely
from pricing.basis.tongue import Range
from pricing.basis.typed import read_field
from pricing.commands.shell import JSON, SHOP, echo_json, plain_errors, read_shop, tongue_of

if TYPE_CHECKING:
    from pricing.parts.part import Part
    from pricing.parts.photo import PhotoReading


class _CardsOrFile(click.Group):
    """``photo cards`` prints cards; ``photo FILE`` reads a picture."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Take whatever is no word of the group for a picture and its options."""
        if args and args[0] not in {*self.commands, *ctx.help_option_names}:
            args = ["read", *args]
        return super().parse_args(ctx, args)


@click.group("photo", cls=_CardsOrFile)
def photo_commands() -> None:
    """Area, edges and line of a flat part from a phone's picture: ``photo cards`` first, then ``photo FILE``.

    Pictures stay on this machine; where they were taken is not kept.
    """


@photo_commands.command("cards")
@click.option("--out", type=click.Path(path_type=Path), default=Path(), help="Folder for the pages; here without it.")
@plain_errors
def cards_command(out: Path) -> None:
    """Write the cards to print at true size (PDF for A4 and Letter), with a ruler to check the printer."""
    from pricing.papers.printed_cards import write_cards

    for path in write_cards(out):
        click.echo(str(path))
    click.echo("Print at 100 %, measure the ruler on the page, cut the cards out, lay them flat round the part.")


@photo_commands.command("read")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--thickness", help="Of the part, with its unit: '3 mm'.")
@click.option("--material", help="mild steel, stainless steel, cast iron, aluminium, zinc, brass or copper.")
@click.option("--name", help="Name of the part; the file's name without it.")
@click.option("--above", default="0 mm", help="Height of the part's lower face over the cards: '0 mm'.")
@click.option("--ruler", help="Length of the ruler on the cards' page, as you measured it: '99.4 mm'.")
@click.option(
    "--mark",
    "marks",
    nargs=2,
    type=float,
    multiple=True,
    metavar="X Y",
    help="Without cards: an end of a known length, as shares of width and height; give two.",
)
@click.option("--length", help="Without cards: the known length between the two marks: '400 mm'.")
@click.option("--without", multiple=True, type=int, help="Leave out the outline of this number; see --svg.")
@click.option(
    "--unseen",
    nargs=2,
    type=int,
    multiple=True,
    metavar="OUTLINE STRETCH",
    help="A stretch of an outline that is not sanded or wiped, numbered from 1.",
)
@click.option("--finger", help="Radius of a fingertip in its cloth; sharper inner corners are spots.")
@click.option("--plug", nargs=2, metavar="LEAST MOST", help="Diameters of holes that get a plug: '3 mm' '30 mm'.")
@click.option("--piece", type=int, default=None, help="Only this piece, numbered as printed.")
@click.option("--svg", type=click.Path(path_type=Path), help="Draw the straightened picture and outlines into this.")
@click.option("--job", help="Append the pieces to this job's file.")
@SHOP
@JSON
@plain_errors
def read_command(file: Path, *, as_json: bool, **given: Any) -> None:
    """Measures of a flat part from the picture FILE (JPEG, PNG, HEIC), each with what it may be."""
    from pricing.commands.photo_table import photo_figures, show_photo

    _check(given)
    got = _read(file, given)
    parts = _parts(got, file, given)
    if given["svg"]:
        _draw(got, given["svg"])
    if given["job"]:
        from pricing.commands.part_append import append_job
        from pricing.parts.job import find_job

        shop, items = read_shop(given["folder"])
        path = find_job(given["job"], shop.folder)
        told = ["From a picture: nine in ten truths lie between the two ends." for _ in parts]
        append_job(path, [(got.doubts[at - 1].on(part), 1) for at, part in parts], shop, items, comments=told)
        click.echo(f"{path}: {len(parts)} kinds of part appended.", err=True)
    if as_json:
        echo_json(photo_figures(got, parts))
    else:
        show_photo(got, parts, given["folder"])


def _check(given: dict[str, Any]) -> None:
    """Refuse what can be refused before a large picture is read."""
    bad = []
    if given["svg"] and given["svg"].suffix.lower() != ".svg":
        bad.append(Problem("--svg", str(given["svg"]), "a file that ends in .svg"))
    if given["material"] is None:
        mend = "A picture does not tell the metal; name it, for example --material 'mild steel'."
        bad.append(Problem("--material", "missing", "given", mend))
    if given["thickness"] is None:
        mend = "A picture from above does not show it; measure it, for example --thickness '3 mm'."
        bad.append(Problem("--thickness", "missing", "given with its unit", mend))
    if bool(given["marks"]) != bool(given["length"]) or len(given["marks"]) not in {0, 2}:
        mend = "Without cards mark both ends of a known length: --mark 0.2 0.5 --mark 0.8 0.5 --length '400 mm'."
        bad.append(Problem("--mark and --length", f"{len(given['marks'])} marks", "two marks and a length", mend))
    if bad:
        raise BadInput("photo", bad)


def _mm(given: dict[str, Any], name: str, text: str | None = None) -> float:
    return read_field(
        given[name] if text is None else text, "mm", f"--{name}", tongue_of(given["folder"]), _NONE_OR_MORE
    )


_NONE_OR_MORE = Range(least=0.0)


def _read(file: Path, given: dict[str, Any]) -> "PhotoReading":
    from pricing.parts.photo import Taken, read_photo
    from pricing.parts.photo_rough import KnownLength, look_roughly, measured_roughly
    from pricing.parts.reading import Choices
    from pricing.parts.stretches import StretchMarks

    lengths: dict[str, Any] = {}
    if given["finger"] is not None:
        lengths["finger_mm"] = _mm(given, "finger")
    if given["plug"]:
        lengths["plug_least_mm"], lengths["plug_most_mm"] = (_mm(given, "plug", text) for text in given["plug"])
    marks = StretchMarks(unseen=frozenset((outline, stretch - 1) for outline, stretch in given["unseen"]))
    chosen = Choices(without=frozenset(given["without"]), marks=marks, **lengths)
    taken = Taken(
        thickness_mm=_mm(given, "thickness"),
        above_mm=_mm(given, "above"),
        ruler_mm=_mm(given, "ruler") if given["ruler"] else 0.0,
    )
    if not given["marks"]:
        return read_photo(file, taken, chosen=chosen)
    start, end = given["marks"]
    traces = look_roughly(file, taken, KnownLength(start, end, _mm(given, "length")))
    return measured_roughly(traces, taken, chosen=chosen)


def _parts(got: "PhotoReading", file: Path, given: dict[str, Any]) -> "list[tuple[int, Part]]":
    wanted = [given["piece"]] if given["piece"] is not None else range(1, len(got.reading.pieces) + 1)
    name = given["name"] or file.stem
    several = len(got.reading.pieces) > 1
    return [(n, got.reading.part(n, f"{name} {n}" if several else name, given["material"])) for n in wanted]


def _draw(got: "PhotoReading", path: Path) -> None:
    from pricing.parts.photo_straight import straighten
    from pricing.parts.preview import picture

    write_safely(path, picture(got.reading, under=straighten(got)))
