"""What a job begins from, and where it is saved: items of the price list, files, drawings and pictures."""

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Final

import tomlkit

from pricing.basis.errors import BadInput, Problem
from pricing.basis.files import write_safely
from pricing.basis.ranges import ends_of
from pricing.basis.switch import locked
from pricing.papers.outfiles import file_stem, made_folder
from pricing.parts.job import Job, Lot, job_of_item, read_job
from pricing.parts.shaped import titles
from pricing.screens.drawing_form import Drawn, saved_drawings
from pricing.screens.marked import saved_files
from pricing.screens.photo_form import Shot, saved_photos
from pricing.screens.taped import Taped
from pricing.show.desk import Desk

FLAGS: Final = ("new_pair", "alone", "rush", "repeat", "trade")
WORDS: Final = ("customer", "note")
"""Fields of a job that are ticked, and that are written."""
PartSource = Drawn | Shot | Taped
"""A drawing, picture or shape that a part is made of."""


def saved_jobs(desk: Desk) -> dict[str, Path]:
    """Collect the job files of the shop's folder, or the demo's, by name."""
    return {path.stem: path for path in saved_files(desk, "jobs", [".toml"]).values()}


def file_options(desk: Desk) -> dict[str, str]:
    """Collect the drawings and pictures that a part may begin from, in words."""
    drawings = {f"drawing:{name}": f"drawing: {name}" for name in saved_drawings(desk)}
    return drawings | {f"photo:{name}": f"picture: {name}" for name in saved_photos(desk)}


def begin_options(desk: Desk, begun: str = "") -> dict[str, str]:
    """Collect what a job may begin from, in words; what it has begun from is among them, whatever became of it."""
    options = {f"item:{key}": item.title for key, item in desk.items.items()}
    options |= {f"job:{name}": f"saved: {name.replace('_', ' ')}" for name in saved_jobs(desk)}
    options |= file_options(desk)
    options |= {f"shape:{kind}": f"measured: {title}" for kind, title in titles().items()}
    return options if begun != "bench:" else {"bench:": "the job on the bench"} | options


def drawn_of(desk: Desk, begun: str) -> PartSource | None:
    """Return the drawing, picture or shape that a job begins from, or None."""
    kind, _, name = begun.partition(":")
    if kind == "drawing":
        return Drawn(saved_drawings(desk)[name])
    if kind == "photo":
        return Shot(saved_photos(desk)[name])
    return Taped(name, desk.tongue) if kind == "shape" else None


def begin(desk: Desk, begun: str) -> Job:
    """Begin a job from ``item:KEY``, ``job:NAME``, ``drawing:FILE``, ``photo:FILE`` or ``shape:KIND``.

    Raises
    ------
    BadInput
        With every problem of the file.
    """
    kind, _, name = begun.partition(":")
    if drawn := drawn_of(desk, begun):
        return drawn.job(desk)
    return read_job(saved_jobs(desk)[name], desk.shop, desk.items) if kind == "job" else job_of_item(desk.items[name])


def job_like(desk: Desk, like: str, pieces: int) -> Job:
    """Make a job of so many pieces, as they are counted in the shop, of what `begin` begins with; raises as that."""
    job = begin(desk, like)
    return job.model_copy(update={"lots": (Lot(part=job.lots[0].part, quantity=pieces),)})


class NameTaken(BadInput):
    """Another job's file has the name."""


def save_job(desk: Desk, job: Job, items: Sequence[str] = (), *, mine: bytes = b"", anyway: str = "") -> Path:
    """Write a job's file into the shop's folder; another job's file is not replaced unasked.

    Parameters
    ----------
    desk, job
        The shop and its job.
    items : sequence of str
        Key of the item each lot began from, or ''.
    mine : bytes
        What stood in the file when this page read or wrote it: that may be replaced.
    anyway : {'', 'replace', 'beside'}
        What to do where the name is taken, once the owner has said so.

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
        write_safely(path, job_text(desk, job, items))
    return path


def job_text(desk: Desk, job: Job, items: Sequence[str] = ()) -> str:
    """Write a job as its file holds it; ``items`` as in `save_job`."""
    document = tomlkit.document()
    document.update({"title": job.title, "finish": job.finish, "powders": list(job.powders)})
    for name in FLAGS:
        if getattr(job, name):
            document[name] = True
    if job.own_powders:
        document["own_powders"] = list(job.own_powders)
    for name in WORDS:
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
