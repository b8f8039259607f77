"""Parts read from files, put into a job or into the price list's items; all of them or none."""

import csv
import io
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path

import click
import tomlkit

from pricing.basis.errors import BadInput, Problem, nearest
from pricing.basis.facts import data_folder
from pricing.basis.files import read_text, read_toml, write_safely
from pricing.basis.numerals import spelled
from pricing.commands.shell import read_shop
from pricing.parts.items import Item, read_item_rows
from pricing.parts.job import find_job, job_of
from pricing.parts.part import Part
from pricing.shop.shop import Shop
from pricing.show.words import counted

_SOLD = ("sold_by", "pieces", "single", "two_tone", "powder", "second_powder", "clear_powder")


def append_parts(
    parts: Sequence[tuple[Part, int]], job: str | None, item: tuple[str, str] | None, folder: str | None
) -> None:
    """Append parts, each with how many of it, to a job or to the items sold like another, and tell it.

    Raises
    ------
    BadInput
        As `append_job` and `append_items`.
    """
    if not (job or item):
        return
    shop, items = read_shop(folder)
    if job:
        path = find_job(job, shop.folder)
        append_job(path, parts, shop, items)
        click.echo(f"{path}: {counted(len(parts), 'kind', 'kinds')} of part appended.", err=True)
    if item:
        append_items([part for part, _ in parts], *item, shop)
        click.echo(f"{shop.folder}/items.csv: {counted(len(parts), 'row', 'rows')} appended.", err=True)


def append_job(
    path: Path,
    parts: Sequence[tuple[Part, int]],
    shop: Shop,
    items: Mapping[str, Item],
    *,
    comments: Sequence[str] = (),
) -> None:
    """Append parts to a job's file, which keeps its words and comments.

    Parameters
    ----------
    path : Path
        The job, TOML.
    shop, items
        As for `read_job`: the job must be whole before and after.
    comments : sequence of str
        A line of words above each part.

    Raises
    ------
    BadInput
        The job is missing or bad, belongs to the demo shop, or would be bad with these parts; it is
        left as it was.
    """
    if data_folder() in path.resolve().parents:
        raise BadInput(str(path), [Problem("--job", path.name, "a job of your own", "Copy it, then name the copy.")])
    job_of(read_toml(path), shop, items, where=str(path))
    text = read_text(path)
    tables = tomlkit.aot()
    for at, (part, quantity) in enumerate(parts):
        table = tomlkit.table()
        if at < len(comments):
            table.add(tomlkit.comment(comments[at]))
        table.update(_fields(part) | {"pieces": quantity})
        tables.append(table)
    added = tomlkit.document()
    added.add("part", tables)
    whole = f"{text.rstrip()}\n\n{tomlkit.dumps(added)}"
    job_of(tomlkit.parse(whole).unwrap(), shop, items, where=str(path))
    write_safely(path, whole)


def append_items(parts: Sequence[Part], key: str, like: str, shop: Shop) -> None:
    """Append parts to the shop's ``items.csv``, sold as another item is.

    Parameters
    ----------
    key : str
        Key of the new item; with several parts a number is added to it.
    like : str
        Item whose way of selling, finishes and powders are taken over.
    shop : Shop
        Read from a folder of the owner's.

    Raises
    ------
    BadInput
        The item to follow is not there, or the table would be bad with these rows; it is left as it was.
    """
    if shop.folder is None:
        raise BadInput("items.csv", [Problem("the shop", "made in code", "read from a folder")])
    path = shop.folder / "items.csv"
    text = read_text(path)
    rows = list(csv.DictReader(io.StringIO(text)))
    follow = next((row for row in rows if row["item"] == like), None)
    if follow is None:
        keys = [row["item"] for row in rows]
        raise BadInput(str(path), [Problem("--item", like, "an item of items.csv", nearest(like, keys))])
    columns = list(rows[0])
    out = io.StringIO()
    writer = csv.DictWriter(out, columns, lineterminator="\n", restval="")
    for number, part in enumerate(parts, 1):
        fields = {name: "yes" if value is True else value for name, value in _fields(part).items()}
        own = {"item": key if len(parts) == 1 else f"{key}_{number}", "title": fields.pop("name")}
        row = own | {name: follow.get(name, "") for name in _SOLD} | fields
        missing = [name for name in row if name not in columns and row[name] != ""]
        if missing:
            raise BadInput(
                str(path), [Problem("column", name, "there", "Add it to the first line.") for name in missing]
            )
        writer.writerow({name: row.get(name, "") for name in columns})
    whole = text.rstrip("\n") + "\n" + out.getvalue()
    with tempfile.TemporaryDirectory() as folder:
        trial = Path(folder) / "items.csv"
        trial.write_text(whole, encoding="utf-8")
        try:
            read_item_rows(trial, shop)
        except BadInput as why:
            raise BadInput(str(path), why.problems) from None
    write_safely(path, whole)


def _fields(part: Part) -> dict[str, str | int | bool]:
    """Write a part as a file does, measures with six digits and their unit, without what is usual."""
    found: dict[str, str | int | bool] = {}
    for name, value in part.model_dump(exclude_defaults=True).items():
        number, _, unit = value.partition(" ") if isinstance(value, str) else ("", "", "")
        is_quantity = unit and number.replace(".", "").replace("e-", "").replace("e+", "").isdecimal()
        if isinstance(value, float):
            found[name] = f"{value:.4g}"
        else:
            found[name] = f"{spelled(float(f'{float(number):.6g}'))} {unit}" if is_quantity else value
    return found
