"""The families of the price list: what is sold by the piece, the set or the metre."""

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated

from pydantic import Field

from pricing.basis.errors import BadInput, Problem, nearest
from pricing.basis.files import read_table, table_text
from pricing.basis.records import Name, Quantity, Record, read_record
from pricing.basis.tongue import Tongue
from pricing.parts.part import Part
from pricing.shop.shop import Shop

_SOLD = ("item", "title", "sold_by", "pieces", "single", "two_tone", "powder", "second_powder", "clear_powder")
_PART = tuple(field.alias or name for name, field in Part.model_fields.items() if name != "name")
ITEM_COLUMNS = (*_SOLD, *_PART, "note")


class Item(Record):
    """One row of the price list: a part, how it is sold, and in which finishes it is listed."""

    key: str = Field(pattern=r"^[a-z][a-z0-9_]{0,60}$")
    title: Name
    sold_by: Name
    pieces: Annotated[int, Quantity("whole", at_least=1, at_most=1000)]
    single: str
    two_tone: str
    powders: tuple[str, ...]
    part: Part
    note: str = ""

    @property
    def sold_note(self) -> str:
        """How it is sold, where the title does not say it; else nothing."""
        return "" if self.sold_by in {"each", "metre", "foot"} or self.sold_by in self.title else self.sold_by

    @property
    def sold_title(self) -> str:
        """Its title, with how it is sold."""
        return f"{self.title}, {self.sold_note}" if self.sold_note else self.title


def read_items(shop: Shop) -> dict[str, Item]:
    """Read ``items.csv`` of the shop's folder.

    Parameters
    ----------
    shop : Shop
        Read from a folder.

    Returns
    -------
    dict
        By key, in the order of the file.

    Raises
    ------
    BadInput
        With every bad row.
    """
    if shop.folder is None:
        raise BadInput("items.csv", [Problem("the shop", "made in code", "read from a folder")])
    return read_item_rows(shop.folder / "items.csv", shop)


def read_item_rows(path: Path, shop: Shop) -> dict[str, Item]:
    """Read a table of items.

    Parameters
    ----------
    path : Path
        A CSV file with the columns `ITEM_COLUMNS`; cells that may stay empty take the usual value.
    shop : Shop
        For its powders and finishes.

    Raises
    ------
    BadInput
        With every bad row.
    """
    found: dict[str, Item] = {}
    bad: list[Problem] = []
    for row in read_table(path, ("item", "title", "sold_by", "pieces"), optional=[*_SOLD[4:], *_PART, "note"]):
        line = f"line {row['#']}"
        try:
            item = _item(row, shop.tongue)
        except BadInput as why:
            bad += [Problem(f"{line}: {p.field}", p.value, p.accepts, p.mend) for p in why.problems]
            continue
        if item.key in found:
            bad.append(Problem(f"{line}: item", item.key, "there once", "It is there twice; keep one."))
        for name in (item.single, item.two_tone):
            if name not in shop.finishes:
                accepts = "a finish of finishes.toml"
                bad.append(Problem(f"{line}: finish", name, accepts, nearest(name, shop.finishes)))
        for name in item.powders:
            if name not in shop.powders:
                accepts = "a powder of powders.csv"
                bad.append(Problem(f"{line}: powder", name, accepts, nearest(name, shop.powders)))
        found[item.key] = item
    if bad:
        raise BadInput(str(path), bad)
    return found


def items_text(path: Path, items: Mapping[str, Item], old: Mapping[str, Item]) -> str:
    """Write ``items.csv`` with other items; rows that did not change keep the owner's own words and units.

    Parameters
    ----------
    path : Path
        The table as it stands.
    items, old : mapping of Item
        What shall stand in it, and what stands in it.

    Raises
    ------
    BadInput
        The table cannot be read.
    """
    rows = {row["item"]: row for row in read_table(path, ITEM_COLUMNS[:4], optional=ITEM_COLUMNS[4:])}
    out = [rows[key] if old.get(key) == item else _row(item) for key, item in items.items()]
    return table_text(ITEM_COLUMNS, out)


def _row(item: Item) -> dict[str, str]:
    part = item.part.model_dump(exclude={"name"})
    cells = {name: _cell(value) for name, value in part.items()}
    powders = dict(zip(("powder", "second_powder", "clear_powder"), item.powders, strict=False))
    sold = {
        "item": item.key,
        "title": item.title,
        "sold_by": item.sold_by,
        "pieces": str(item.pieces),
        "single": item.single,
        "two_tone": item.two_tone,
        "note": item.note,
    }
    return cells | powders | sold


def _cell(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else ""
    return str(value)


def _item(row: dict[str, str], tongue: Tongue) -> Item:
    problems: list[Problem] = []
    part = None
    cells = {name: row[name] for name in _PART if row[name] != ""}
    try:
        part = read_record(Part, {"name": row["title"]} | _typed(cells), "part", tongue)
    except BadInput as why:
        problems += why.problems
    powders = tuple(row[name] for name in ("powder", "second_powder", "clear_powder") if row[name])
    sold = {
        "key": row["item"],
        "title": row["title"],
        "sold_by": row["sold_by"],
        "pieces": row["pieces"],
        "single": row["single"],
        "two_tone": row["two_tone"],
        "powders": powders,
        "part": part,
        "note": row["note"],
    }
    try:
        return read_record(Item, sold | {"part": part or _ANY}, "item", tongue)
    except BadInput as why:
        problems += why.problems
        raise BadInput("item", problems) from None
    finally:
        if problems and part is None:
            raise BadInput("item", problems)


def _typed(cells: dict[str, str]) -> dict[str, object]:
    """CSV has only text: yes and no are read here, the rest by the record."""
    flags = {"yes": True, "true": True, "no": False, "false": False}
    return {name: flags.get(text.casefold(), text) for name, text in cells.items()}


_ANY = Part(
    name="any", material="mild steel", thickness_mm=1, mass_kg=1, area_m2=1, width_mm=1, height_mm=1, depth_mm=1
)
