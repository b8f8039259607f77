"""The command ``photo``: a picture in, a flat part's measures out, each with its range; and the cards to print."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pricing.basis.errors import Problem
from pricing.basis.files import write_safely
from pricing.commands.part_shell import length_mm, limits_mm, reads_parts, refuse_early, wanted_parts
from pricing.commands.shell import echo_figures, plain_errors, read_shop

if TYPE_CHECKING:
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
@click.option(
    "--unseen",
    nargs=2,
    type=int,
    multiple=True,
    metavar="OUTLINE STRETCH",
    help="A stretch of an outline that is not sanded or wiped, numbered from 1.",
)
@reads_parts
def read_command(file: Path, *, as_json: bool, **given: Any) -> None:
    """Measures of a flat part from the picture FILE (JPEG, PNG, HEIC), each with what it may be."""
    from pricing.commands.part_table import parts_figures, show_photo

    refuse_early("photo", given, "A picture", *_problems(given))
    got = _read(file, given)
    parts = wanted_parts(got.reading, file, given)
    if given["svg"]:
        _draw(got, given["svg"])
    if given["job"]:
        from pricing.commands.part_append import append_job
        from pricing.parts.job import find_job

        shop, items = read_shop(given["folder"])
        path = find_job(given["job"], shop.folder)
        told = ["From a picture: nine in ten truths lie between the two ends." for _ in parts]
        append_job(path, [(got.doubts[at - 1].on(part), 1) for at, part, _ in parts], shop, items, comments=told)
        click.echo(f"{path}: {len(parts)} kinds of part appended.", err=True)
    if as_json:
        echo_figures(parts_figures(got, parts), "")
    else:
        show_photo(got, parts, given["folder"])


def _problems(given: dict[str, Any]) -> list[Problem]:
    """Tell what a picture needs besides: it is read late, since it may be large."""
    bad = []
    if given["thickness"] is None:
        mend = "A picture from above does not show it; measure it, for example --thickness '3 mm'."
        bad.append(Problem("--thickness", "missing", "given with its unit", mend))
    if bool(given["marks"]) != bool(given["length"]) or len(given["marks"]) not in {0, 2}:
        mend = "Without cards mark both ends of a known length: --mark 0.2 0.5 --mark 0.8 0.5 --length '400 mm'."
        bad.append(Problem("--mark and --length", f"{len(given['marks'])} marks", "two marks and a length", mend))
    return bad


def _read(file: Path, given: dict[str, Any]) -> "PhotoReading":
    from pricing.parts.photo import look, photo_measured
    from pricing.parts.photo_file import Taken
    from pricing.parts.photo_plane import KnownLength
    from pricing.parts.reading import Choices
    from pricing.parts.stretches import StretchMarks

    marks = StretchMarks(unseen=frozenset((outline, stretch - 1) for outline, stretch in given["unseen"]))
    chosen = Choices(without=frozenset(given["without"]), marks=marks, **limits_mm(given))
    taken = Taken(
        thickness_mm=length_mm(given, "thickness"),
        above_mm=length_mm(given, "above"),
        ruler_mm=length_mm(given, "ruler") if given["ruler"] else 0.0,
    )
    known = None
    if given["marks"]:
        start, end = given["marks"]
        known = KnownLength(start, end, length_mm(given, "length"))
    return photo_measured(look(file, taken, known), chosen=chosen)


def _draw(got: "PhotoReading", path: Path) -> None:
    from pricing.parts.photo import straighten
    from pricing.parts.preview import picture

    write_safely(path, picture(got.reading, under=straighten(got)))
