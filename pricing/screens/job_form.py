"""The form of a job: it starts from an item of the price list or from a job's file, and can be saved as one.

Room     screens. Imports basis, papers, parts, show, screens.
"""

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final, get_args

import tomlkit
from pydantic import ValidationError

from pricing.basis.errors import BadInput, Problem
from pricing.basis.facts import data_folder
from pricing.basis.files import write_safely
from pricing.basis.ranges import ends_of
from pricing.basis.records import problems
from pricing.basis.switch import locked
from pricing.papers.outfiles import file_stem, made_folder
from pricing.parts.job import Job, Lot, read_job
from pricing.parts.part import Material, Part
from pricing.screens.drawn import Drawn, saved_drawings
from pricing.screens.form import Plain
from pricing.screens.shot import Shot, saved_photos
from pricing.show.desk import Desk
from pricing.show.fields import Check, Choice, Field, Quantity, Whole, Words
from pricing.show.ranged_fields import Amount, Count

EDGES: Final = {"sound": "sound, as sawn", "cut": "cut, with burr", "rough": "rough, with slag"}
"""Words for the quality of an edge."""
COATINGS: Final = {"none": "none, bare metal", "paint": "paint", "powder": "powder", "plating": "plating"}
SURFACES: Final = {"raw": "bare, as it comes: blasted", "clean": "clean: not blasted", "scale": "rust or scale"}
_MEASURES = ("area_m2", "line_m", "edge_m", "repair_m", "mass_kg", "thickness_mm")
_COUNTS = ("spots", "plugs", "scars", "earlier_visits")
_CHOICES = ("edge_quality", "old_coating", "surface", "material")
_FLAGS = ("casting", "bake_out", "apart", "heat_treated", "safety_critical", "closed_volume")
PART_FIELDS: Final = (*_MEASURES, *_COUNTS, *_CHOICES, *_FLAGS)
"""Fields of a part that the form shows."""


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


def job_entries(desk: Desk, job: Job, begun: str, drawn: Drawn | Shot | None = None) -> list[Field | Plain]:
    """Give the fields of a job.

    Parameters
    ----------
    desk : Desk
        The shop.
    job : Job
        To begin with.
    begun : str
        What it began from: ``item:KEY``, ``job:NAME`` or ``drawing:FILE``, ``photo:FILE``.
    drawn : Drawn or Shot, optional
        The drawing or picture it began from, and what was chosen for it.
    """
    shop, tongue = desk.shop, desk.tongue
    begin = {f"item:{key}": item.title for key, item in desk.items.items()}
    begin |= {f"job:{name}": f"saved: {name.replace('_', ' ')}" for name in saved_jobs(desk)}
    begin |= {f"drawing:{name}": f"drawing: {name}" for name in saved_drawings(desk)}
    begin |= {f"photo:{name}": f"picture: {name}" for name in saved_photos(desk)}
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
    if len(job.lots) > 1:
        entries.append(Plain("note", "", "lots"))
    else:
        entries += _part_entries(job.lots[0], tongue)
    return [
        *entries,
        Plain("more", "About the job"),
        Words("title", "Called", job.title),
        Check("new_pair", "Powders not tried together yet", job.new_pair),
        Check("alone", "Nothing else shares its oven loads", job.alone),
        Check("rush", "Rush", job.rush),
        *([Check("trade", "Sold by the list for the trade", job.trade)] if shop.policy.trade else []),
        Plain("end"),
    ]


def _part_entries(lot: Lot, tongue: Any) -> list[Field | Plain]:
    part = lot.part
    return [
        Count("quantity", sold_words(lot), lot.quantity, tongue, least=1, most=5000),
        Amount("area_m2", "Area, each", part.area_m2, "m**2", tongue, most=1000, above=0.0),
        Amount("line_m", "Line, each", part.line_m, "m", tongue, most=500),
        Amount("edge_m", "Edges to sand, each", part.edge_m, "m", tongue, most=1000),
        Choice("edge_quality", "Edges are", part.edge_quality, EDGES),
        Choice("old_coating", "Old coating", part.old_coating, COATINGS),
        Plain("more", "More about the part"),
        Choice("surface", "Surface", part.surface, SURFACES),
        Count("spots", "Nooks to swab", part.spots, tongue),
        Count("plugs", "Plugs", part.plugs, tongue),
        Count("scars", "Scars to grind out", part.scars, tongue),
        Amount("repair_m", "Old welds or filler to dress, each", part.repair_m, "m", tongue, most=100),
        Whole("earlier_visits", "Oven visits behind it", part.earlier_visits, tongue),
        Amount("mass_kg", "Mass", part.mass_kg, "kg", tongue, most=20_000, above=0.0),
        Quantity("thickness_mm", "Thickest section", part.thickness_mm, "mm", tongue, most=500, above=0.0),
        Choice("material", "Metal", part.material, {word: word for word in get_args(Material)}),
        Check("casting", "A casting: bake it out first", part.casting),
        Check("bake_out", "Galvanised, oily or repaired: bake it out", part.bake_out),
        Check("apart", "Comes to be taken apart", part.apart),
        Check("heat_treated", "Heat-treated", part.heat_treated),
        Check("safety_critical", "Safety hangs on it", part.safety_critical),
        Check("closed_volume", "Has a closed hollow", part.closed_volume),
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
            fields = {name: values[name] for name in PART_FIELDS}
            part = Part.model_validate({**dict(lots[0].part), **fields})
            lots = (lots[0].model_copy(update={"part": part, "quantity": values["quantity"]}),)
        names = ("title", "finish", "new_pair", "alone", "rush", "trade")
        changes = {name: values[name] for name in names if name in values}
        return Job.model_validate({**dict(job), **changes, "powders": powders, "lots": lots})
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
    for name in ("alone", "new_pair", "rush", "repeat", "trade"):
        if getattr(job, name):
            document[name] = True
    for name in ("customer", "note"):
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
