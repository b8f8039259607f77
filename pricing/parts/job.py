"""A job from TOML: parts, how many, which finish in which powders.

Room     parts. Imports basis, shop.
"""

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any

from pydantic import Field

from pricing.basis.errors import BadInput, Problem, choices, nearest
from pricing.basis.files import read_toml
from pricing.basis.records import Name, Record, read_record
from pricing.parts.items import Item
from pricing.parts.measures import measured
from pricing.parts.part import Part
from pricing.shop.shop import Shop

MOST = 100_000
"""Pieces of one part that a job may have."""


class Lot(Record):
    """So many of one part."""

    part: Part
    quantity: Annotated[int, Field(ge=1, le=MOST)]


class Job(Record):
    """What a customer wants done.

    ``alone`` says that nothing else can share its oven loads; ``new_pair`` that this pair of powders
    has not been tried yet, so that a test panel is made first.
    """

    title: Name
    finish: str
    powders: tuple[str, ...]
    lots: Annotated[tuple[Lot, ...], Field(min_length=1)]
    alone: bool = False
    new_pair: bool = False
    rush: bool = False
    customer: str = Field(default="", max_length=200)
    note: str = Field(default="", max_length=2000)

    @property
    def pieces(self) -> int:
        """Parts in all."""
        return sum(lot.quantity for lot in self.lots)


def read_job(path: Path | str, shop: Shop, items: Mapping[str, Item]) -> Job:
    """Read a job's file.

    Parameters
    ----------
    path : path
        TOML with ``title``, ``finish``, ``powders`` and one ``[[part]]`` per kind of part. A part may
        start from an item of the price list (``item = "bench_end"``) or give a ``shape``.
    shop : Shop
        For its powders and finishes.
    items : mapping
        Items of the price list by key.

    Raises
    ------
    BadInput
        With every problem of the file.
    """
    path = Path(path)
    return job_of(read_toml(path), shop, items, where=str(path))


def job_of(data: Mapping[str, Any], shop: Shop, items: Mapping[str, Item], *, where: str) -> Job:
    """Make a job from what a file or a form holds.

    Parameters
    ----------
    data : mapping
        As the file holds it.
    shop, items
        As in `read_job`.
    where : str
        For the message.

    Raises
    ------
    BadInput
        With every problem.
    """
    table = dict(data)
    bad: list[Problem] = []
    lots, first = [], None
    parts = table.pop("part", [])
    if not isinstance(parts, list) or not parts:
        bad.append(Problem("part", "missing", "one [[part]] table or more"))
        parts = []
    for number, raw in enumerate(parts, 1):
        try:
            lot, item = _lot(raw, items, f"part {number}")
            lots.append(lot)
            first = first or item
        except BadInput as why:
            bad += [Problem(f"part {number}.{p.field}", p.value, p.accepts, p.mend) for p in why.problems]
    if first is not None:
        table.setdefault("powders", list(first.powders))
    key = table.get("finish")
    if isinstance(key, str) and key not in shop.finishes:
        bad.append(Problem("finish", key, choices(shop.finishes), nearest(key, shop.finishes)))
    powders = table.get("powders", [])
    for name in powders if isinstance(powders, list) else []:
        if name not in shop.powders:
            bad.append(Problem("powders", name, choices(shop.powders), nearest(name, shop.powders)))
    finish = shop.finishes.get(str(key))
    if finish and isinstance(powders, list) and len(powders) < finish.colours:
        mend = f"{finish.title} takes {finish.colours}: one for each colour, in the order of the coats."
        bad.append(Problem("powders", f"{len(powders)} given", f"{finish.colours} powders", mend))
    try:
        job = read_record(Job, table | {"lots": lots or [Lot(part=_ANY, quantity=1)]}, where)
    except BadInput as why:
        told = {problem.field for problem in bad}
        bad += [problem for problem in why.problems if problem.field not in told]
        raise BadInput(where, bad) from None
    if bad:
        raise BadInput(where, bad)
    return job


def _lot(raw: Any, items: Mapping[str, Item], where: str) -> tuple[Lot, Item | None]:
    if not isinstance(raw, Mapping):
        raise BadInput(where, [Problem("part", raw, "a table of its own")])
    fields = dict(raw)
    quantity = fields.pop("quantity", None)
    key, shape = fields.pop("item", None), fields.pop("shape", None)
    bad = []
    item = None
    if key is not None and key not in items:
        bad.append(Problem("item", key, "an item of items.csv", nearest(key, items)))
    elif key is not None:
        item = items[str(key)]
        fields = item.part.model_dump() | fields
    if shape is not None:
        try:
            fields = measured(shape, str(fields.get("material", "")), where) | fields
        except BadInput as why:
            bad += why.problems
    if quantity is None:
        bad.append(Problem("quantity", "missing", "a whole number, 1 or more"))
    elif isinstance(quantity, bool) or not isinstance(quantity, int) or quantity < 1:
        bad.append(Problem("quantity", quantity, "a whole number, 1 or more"))
    elif quantity > MOST:
        bad.append(Problem("quantity", f"{quantity:,}", f"at most {MOST:,}", "Quote such an order in several jobs."))
    part = None
    if not any(problem.field == "item" for problem in bad):
        try:
            part = read_record(Part, fields, where)
        except BadInput as why:
            of_bad_shape = any(problem.field.startswith(("shape", "material")) for problem in bad)
            missing_of_shape = {"area", "mass", "thickness"} if of_bad_shape else set()
            missing_of_shape |= {problem.field for problem in bad}
            bad += [p for p in why.problems if p.field not in missing_of_shape]
    if bad or part is None:
        raise BadInput(where, bad)
    return Lot(part=part, quantity=quantity), item


_ANY = Part(
    name="any", material="mild steel", thickness_mm=1, mass_kg=1, area_m2=1, width_mm=1, height_mm=1, depth_mm=1
)  # fmt: skip
