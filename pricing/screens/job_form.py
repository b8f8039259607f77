"""The form of a job: it starts from an item of the price list or from a job's file, and can be saved as one.

Room     screens. Imports basis, papers, parts, show, screens.
"""

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import tomlkit
from pydantic import ValidationError

from pricing.basis.errors import BadInput, Problem
from pricing.basis.facts import data_folder
from pricing.basis.files import write_safely
from pricing.basis.ranges import ends_of
from pricing.basis.records import problems
from pricing.basis.switch import locked
from pricing.basis.tongue import Tongue
from pricing.papers.outfiles import file_stem, made_folder
from pricing.parts.job import Job, Lot, read_job
from pricing.parts.part import Part
from pricing.parts.shaped import titles
from pricing.screens.drawn import Drawn, saved_drawings
from pricing.screens.form import Plain
from pricing.screens.shot import Shot, saved_photos
from pricing.screens.taped import Taped
from pricing.shop.shop import Shop
from pricing.show.desk import Desk
from pricing.show.fields import Check, Choice, Field, Words
from pricing.show.ranged_fields import Count
from pricing.show.record_fields import named, places
from pricing.show.word_fields import Text

_FIRST = ("area_m2", "line_m", "edge_m", "edge_quality", "old_coating")
_SHOWN = tuple(name for name in Part.model_fields if named(Part, name).shown_as != "hidden")
_FLAGS = ("new_pair", "alone", "rush", "repeat", "trade")
_WORDS = ("customer", "note")


def saved_jobs(desk: Desk) -> dict[str, Path]:
    """Give the job files of the shop's folder, or the demo's, by name."""
    folder = data_folder() / "jobs" if desk.demo else desk.folder / "jobs"
    return {path.stem: path for path in sorted(folder.glob("*.toml"))} if folder.is_dir() else {}


def open_job(desk: Desk, name: str) -> Job:
    """Read a saved job.

    Parameters
    ----------
    desk : Desk
        The shop.
    name : str
        As in `saved_jobs`.

    Raises
    ------
    BadInput
        With every problem of its file.
    """
    return read_job(saved_jobs(desk)[name], desk.shop, desk.items)


def sold_words(lot: Lot) -> str:
    """Ask how many, in what the part is sold by."""
    if lot.per_unit > 1:
        return f"How many {lot.sold_by}s of {lot.per_unit}"
    return "How many pieces" if lot.sold_by == "each" else f"How many {lot.sold_by}s"


def job_entries(desk: Desk, job: Job, begun: str, drawn: Drawn | Shot | Taped | None = None) -> list[Field | Plain]:
    """Give the fields of a job.

    Parameters
    ----------
    desk : Desk
        The shop.
    job : Job
        To begin with.
    begun : str
        What it began from: ``item:KEY``, ``job:NAME``, ``drawing:FILE``, ``photo:FILE`` or ``shape:KIND``.
    drawn : Drawn, Shot or Taped, optional
        The drawing, picture or shape it began from, and what was chosen for it.
    """
    shop, tongue = desk.shop, desk.tongue
    begin = {f"item:{key}": item.title for key, item in desk.items.items()}
    begin |= {f"job:{name}": f"saved: {name.replace('_', ' ')}" for name in saved_jobs(desk)}
    begin |= {f"drawing:{name}": f"drawing: {name}" for name in saved_drawings(desk)}
    begin |= {f"photo:{name}": f"picture: {name}" for name in saved_photos(desk)}
    begin |= {f"shape:{kind}": f"measured: {title}" for kind, title in titles().items()}
    finishes = {key: finish.title for key, finish in shop.finishes.items()}
    powders = {name: name for name in shop.powders}
    entries: list[Field | Plain] = [
        Choice("begun", "Start from", begun, begin),
        *(drawn.entries(desk) if drawn else ()),
        Choice("finish", "Finish", job.finish, finishes),
    ]
    wanted = shop.finishes[job.finish].colours
    spare = [*job.powders, *powders]
    for at in range(wanted):
        label = "Powder" if wanted == 1 else f"Powder {at + 1}"
        entries.append(Choice(f"powder.{at}", label, spare[at], powders))
        own = named(Job, "own_powders").label
        entries.append(Check(f"own.{at}", f"{own} it", spare[at] in job.own_powders))
    if len(job.lots) > 1:
        entries.append(Plain("note", "", "lots"))
    else:
        entries += _part_entries(job.lots[0], tongue)
    return [
        *entries,
        Plain("more", "About the job"),
        Words("title", "Called", job.title),
        *(Check(name, named(Job, name).label, getattr(job, name)) for name in _flags(shop)),
        *(Text(name, named(Job, name).label, getattr(job, name)) for name in _WORDS),
        Plain("end"),
    ]


def _flags(shop: Shop) -> list[str]:
    """Give what is ticked of a job; the trade's list only where there is one."""
    return [name for name in _FLAGS if name != "trade" or shop.policy.trade]


def _part_entries(lot: Lot, tongue: Tongue) -> list[Field | Plain]:
    fields = {str(place.at[0]): place.field for place in places(lot.part, "", tongue) if place.field}
    return [
        Count("quantity", sold_words(lot), lot.quantity, tongue, least=1, most=5000),
        *(fields.pop(name) for name in _FIRST),
        Plain("more", "More about the part"),
        *fields.values(),
        Plain("end"),
    ]


def job_of_fields(job: Job, values: dict[str, Any]) -> Job:
    """Give the job as its fields describe it.

    Parameters
    ----------
    job : Job
        As it was.
    values : dict
        By key of the fields.

    Raises
    ------
    BadInput
        It is no such job.
    """
    powders = tuple(values[key] for key in sorted(values) if key.startswith("powder."))
    lots = job.lots
    try:
        if "quantity" in values:
            fields = {name: values[name] for name in _SHOWN}
            part = Part.model_validate({**dict(lots[0].part), **fields})
            lots = (lots[0].model_copy(update={"part": part, "quantity": values["quantity"]}),)
        changes = {name: values[name] for name in ("title", "finish", *_FLAGS, *_WORDS) if name in values}
        own = tuple(dict.fromkeys(name for at, name in enumerate(powders) if values.get(f"own.{at}")))
        return Job.model_validate({**dict(job), **changes, "powders": powders, "own_powders": own, "lots": lots})
    except ValidationError as why:
        raise BadInput(job.title, problems(Part, why)) from None


class NameTaken(BadInput):
    """Another job's file has the name."""


def save_job(desk: Desk, job: Job, items: Sequence[str] = (), *, mine: bytes = b"", anyway: str = "") -> Path:
    """Write a job's file into the shop's folder; another job's file is not replaced unasked.

    Parameters
    ----------
    desk : Desk
        The shop.
    job : Job
        The job.
    items : sequence of str
        Key of the item each lot began from, or ''.
    mine : bytes
        What stood in the file when this page read or wrote it: that may be replaced.
    anyway : {'', 'replace', 'beside'}
        What to do where the name is taken, once the owner has said so.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    NameTaken
        A file of that name is there, and holds something else.
    BadInput
        Nothing can be saved here, or the folder cannot be written.
    """
    if desk.read_only:
        raise BadInput("the job", [Problem("the shop", "only shown", "your own folder", "Open your own copy of it.")])
    folder = made_folder(desk.folder / "jobs")
    stem = re.sub(r"[\s.,()-]+", "_", file_stem(job.title).casefold()).strip("_")
    with locked(desk.folder):
        path, number = folder / f"{stem}.toml", 1
        while path.exists() and path.read_bytes() != mine and anyway != "replace":
            if not anyway:
                mend = "Replace it, keep both, or give this job another title."
                raise NameTaken(str(path), [Problem(f"jobs/{path.name}", "there already", "a new name", mend)])
            number += 1
            path = folder / f"{stem}_{number}.toml"
        write_safely(path, _text(desk, job, items))
    return path


def _text(desk: Desk, job: Job, items: Sequence[str]) -> str:
    document = tomlkit.document()
    document.update({"title": job.title, "finish": job.finish, "powders": list(job.powders)})
    for name in _FLAGS:
        if getattr(job, name):
            document[name] = True
    if job.own_powders:
        document["own_powders"] = list(job.own_powders)
    for name in _WORDS:
        if getattr(job, name):
            document[name] = getattr(job, name)
    parts = tomlkit.aot()
    for at, lot in enumerate(job.lots):
        table = tomlkit.table()
        key = lot.item.key if lot.item and lot.item.key in desk.items else items[at] if at < len(items) else ""
        like = desk.items[key].part.model_dump() if key in desk.items else {}
        if like:
            table["item"] = key
        for name, value in lot.part.model_dump().items():
            if name not in like or like[name] != value:
                table[name] = value
        table["quantity"] = lot.quantity if ends_of(lot.quantity) is None else str(lot.quantity)
        parts.append(table)
    document["part"] = parts
    return tomlkit.dumps(document)
