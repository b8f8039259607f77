"""A job from TOML: parts, how many, which finish in which powders."""

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field

from pricing.basis.errors import BadInput, Problem, choices, nearest, not_known, told_at
from pricing.basis.facts import data_folder
from pricing.basis.files import read_toml
from pricing.basis.ranges import Ends, WholeBetween, ends_of, read_between, says_range
from pricing.basis.records import Name, Quantity, Record, read_record
from pricing.basis.tongue import Range, Tongue, Wrong
from pricing.parts.items import Item, read_items
from pricing.parts.part import ANY_PART, Part
from pricing.shop.shop import Shop

MOST_PIECES = 100_000
"""Pieces of one part that a job may have."""


class Lot(Record):
    """So many of one part, counted as it is sold: pieces, sets, metres, columns.

    ``item`` is the row of the price list that it was taken from; its part may have been changed since.
    """

    part: Part
    quantity: Annotated[int, Quantity("whole", at_least=1, at_most=MOST_PIECES, ranged=True)]
    item: Item | None = None

    @property
    def per_unit(self) -> int:
        """Pieces in one unit sold."""
        return self.item.pieces if self.item else 1

    @property
    def pieces(self) -> int:
        """Pieces in all."""
        return self.quantity * self.per_unit

    @property
    def listed(self) -> bool:
        """Whether it is a row of the price list as it stands there."""
        return self.item is not None and self.item.part == self.part

    @property
    def sold_by(self) -> str:
        """What is counted: each, set, metre."""
        return self.item.sold_by if self.item else "each"

    @property
    def ranges(self) -> dict[str, Ends]:
        """What of it is only known from where to where, by field: ``quantity``, or one of its part."""
        fields = {"quantity": self.quantity} | dict(self.part)
        return {name: ends for name, value in fields.items() if (ends := ends_of(value)) is not None}

    def at(self, end: Literal["low", "high"]) -> "Lot":
        """Return it at one end of its ranges; a row of the price list keeps its part, whose price is the list's."""
        count = getattr(self.quantity, end) if isinstance(self.quantity, WholeBetween) else self.quantity
        if self.listed:
            return self.model_copy(update={"quantity": count})
        moved = {name: getattr(value, end) for name, value in dict(self.part).items() if ends_of(value)}
        # its own part stands for the row's, so that an end which is alike is not taken for the row
        item = self.item.model_copy(update={"part": self.part}) if self.item and moved else self.item
        return Lot(part=self.part.model_copy(update=moved), quantity=count, item=item)


class Job(Record):
    """What a customer wants done.

    ``alone`` says that nothing else can share its oven loads; ``new_pair`` that this pair of powders
    has not been tried yet, so that a test panel is made first; ``repeat`` that it comes without an enquiry; ``trade``
    that it is sold by the list for the trade.
    ``own_powders`` are those of ``powders`` that the customer brings.
    """

    title: Name
    finish: str
    powders: tuple[str, ...]
    lots: Annotated[tuple[Lot, ...], Field(min_length=1)]
    alone: bool = False
    new_pair: bool = False
    rush: bool = False
    repeat: bool = False
    trade: bool = False
    own_powders: tuple[str, ...] = ()
    customer: str = Field(default="", max_length=200)
    note: str = Field(default="", max_length=2000)

    @property
    def pieces(self) -> int:
        """Parts in all."""
        return sum(lot.pieces for lot in self.lots)

    @property
    def fixed_at_intake(self) -> bool:
        """Whether amounts that make its price are only known from where to where."""
        return any(set(lot.ranges) & ({"quantity"} if lot.listed else {*lot.ranges}) for lot in self.lots)

    def at(self, end: Literal["low", "high"]) -> "Job":
        """Return it at one end of all its ranges."""
        return self.model_copy(update={"lots": tuple(lot.at(end) for lot in self.lots)})


def read_job(path: Path | str, shop: Shop, items: Mapping[str, Item] | None = None) -> Job:
    """Read a job's file.

    Parameters
    ----------
    path : path
        TOML with ``title``, ``finish``, ``powders`` and one ``[[part]]`` per kind of part; or its bare
        name in the folder ``jobs`` of the shop or of the demo. A part may start from an item of the
        price list (``item = "bench_end"``) or give a ``shape``. ``quantity`` counts what is sold (sets,
        metres), ``pieces`` counts pieces. Counts, lengths, areas and masses may be ranges (``"20 to 30"``,
        ``"5 to 9 m"``).
    shop : Shop
        For its powders and finishes.
    items : mapping, optional
        Items of the price list by key; without it, those of the shop's folder.

    Raises
    ------
    BadInput
        With every problem of the file; no job has that bare name.
    """
    found = find_job(path, shop.folder)
    return job_of(read_toml(found), shop, items if items is not None else read_items(shop), where=str(found))


def find_job(name: Path | str, folder: Path | None) -> Path:
    """Return the file of a job named by its path, which is given back as it is, or as `job_file` names it.

    Raises
    ------
    BadInput
        No job has that bare name.
    """
    path, text = Path(name), str(name)
    if path.is_file():
        return path
    places, found = _job_folders(folder), job_file(text, folder)
    if found is None and path.name == text and not text.endswith(".toml"):
        known = sorted({file.stem for place in places for file in place.glob("*.toml")})
        lie = next((place for place in places if place.is_dir()), places[-1])
        mend = f"{nearest(text, known)} Jobs lie in {lie}.".strip()
        raise BadInput("the job", [Problem("its name", text, f"{choices(known)}, or the path of a file", mend)])
    return found or path


def job_file(name: str, folder: Path | None) -> Path | None:
    """Return the file of a job by its bare name, from the shop's jobs or the demo's; None if there is none."""
    return next((file for place in _job_folders(folder) if (file := place / f"{name}.toml").is_file()), None)


def _job_folders(folder: Path | None) -> list[Path]:
    """Collect where jobs lie: in the shop's folder, then in the demo's."""
    return [place / "jobs" for place in (folder, data_folder()) if place]


def job_of(data: Mapping[str, Any], shop: Shop, items: Mapping[str, Item], *, where: str) -> Job:
    """Make a job from what a file or a form holds; ``where`` names it in the message.

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
        with told_at(f"part {number}.", bad):
            lot, item = _lot(raw, items, shop.tongue)
            lots.append(lot)
            first = first or item
    if first is not None:
        table.setdefault("powders", list(first.powders))
    key = table.get("finish")
    if isinstance(key, str) and key not in shop.finishes:
        bad.append(not_known("finish", key, shop.finishes))
    powders = table.get("powders", [])
    if isinstance(powders, list):
        bad += [not_known("powders", name, shop.powders) for name in powders if name not in shop.powders]
    if isinstance(own := table.get("own_powders", []), (list, tuple)):
        theirs = f"one of the job's powders: {choices(powders or ['none is named'])}"
        bad += [Problem("own_powders", name, theirs) for name in own if name not in powders]
    finish = shop.finishes.get(str(key))
    if finish and isinstance(powders, list) and len(powders) < finish.colours:
        mend = f"{finish.title} takes {finish.colours}: one for each colour, in the order of the coats."
        bad.append(Problem("powders", f"{len(powders)} given", f"{finish.colours} powders", mend))
    try:
        job = read_record(Job, table | {"lots": lots or [Lot(part=ANY_PART, quantity=1)]}, where, shop.tongue)
    except BadInput as why:
        told = {problem.field for problem in bad}
        bad += [problem for problem in why.problems if problem.field not in told]
        raise BadInput(where, bad) from None
    if bad:
        raise BadInput(where, bad)
    return job


def job_of_item(item: Item, *, units: int = 1, column: str = "two_tone") -> Job:
    """Return a row of the price list as a job: so many units sold together, in the finish of one of its columns.

    Raises
    ------
    BadInput
        The column is neither ``single`` nor ``two_tone``.
    """
    finishes = {"single": item.single, "two_tone": item.two_tone}
    if column not in finishes:
        raise BadInput(item.title, [not_known("finish", column, finishes)])
    lots = (Lot(part=item.part, quantity=units, item=item),)
    return Job(title=item.title, finish=finishes[column], powders=item.powders, lots=lots)


def _lot(raw: Any, items: Mapping[str, Item], tongue: Tongue) -> tuple[Lot, Item | None]:
    """Read one kind of part, and the row of the price list that it starts from."""
    if not isinstance(raw, Mapping):
        raise BadInput("part", [Problem("part", raw, "a table of its own")])
    fields = dict(raw)
    quantity, pieces = fields.pop("quantity", None), fields.pop("pieces", None)
    key, shape = fields.pop("item", None), fields.pop("shape", None)
    bad: list[Problem] = []
    item = part = None
    if key is not None and key not in items:
        bad.append(Problem("item", key, "an item of items.csv", nearest(key, items)))
    elif key is not None:
        item = items[str(key)]
        fields = item.part.model_dump() | fields
    if shape is not None:
        from pricing.parts.shaped import shape_of  # only where a part is given by its measures

        with told_at("", bad):
            fields = shape_of(shape, tongue).written(str(fields.get("material", ""))) | fields
    if quantity is not None and pieces is not None:
        mend = "quantity counts what is sold (sets, metres), pieces counts pieces."
        bad.append(Problem("quantity and pieces", f"{quantity} and {pieces}", "one of the two", mend))
    bad += _counted("quantity" if pieces is None else "pieces", quantity if pieces is None else pieces)
    told = {problem.field for problem in bad}
    if any(field.startswith(("shape", "material")) for field in told):
        told |= {"area", "mass", "thickness"}  # missing only because the shape is wrong
    if "item" not in told:
        of_part: list[Problem] = []
        with told_at("", of_part):
            part = read_record(Part, fields, "part", tongue)
        bad += [problem for problem in of_part if problem.field not in told]
    if bad or part is None:
        raise BadInput("part", bad)
    if pieces is not None:  # a broken set is no row of the list
        found = _count(pieces)
        sold = item if item is not None and all(n % item.pieces == 0 for n in ends_of(found) or (found,)) else None
        return Lot(part=part, quantity=_units(found, sold.pieces) if sold else found, item=sold), item
    return Lot(part=part, quantity=quantity, item=item), item


def _count(given: Any) -> int:
    return int(given) if isinstance(given, int) else read_between(given, "whole", within=Range(1, MOST_PIECES))  # type: ignore[return-value]


def _units(pieces: int, each: int) -> int:
    ends = ends_of(pieces)
    return pieces // each if ends is None else WholeBetween(*(int(ends[at]) // each for at in (0, 2, 1)))


def _counted(field: str, value: Any) -> list[Problem]:
    if value is None:
        return [Problem(field, "missing", "a whole number, 1 or more")]
    if says_range(value) or isinstance(value, WholeBetween):
        try:
            read_between(value, "whole", within=Range(1, MOST_PIECES))
        except Wrong as why:
            return [Problem(field, value, "a whole number, or a range such as '20 to 30'", why.told)]
        return []
    if isinstance(value, bool) or not isinstance(value, int) or value < 1:
        return [Problem(field, value, "a whole number, 1 or more")]
    if value > MOST_PIECES:
        return [Problem(field, f"{value:,}", f"at most {MOST_PIECES:,}", "Quote such an order in several jobs.")]
    return []
