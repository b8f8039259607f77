"""The families of the price list: what is sold by the piece, the set or the metre."""

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated

from pydantic import Field

from pricing.basis.errors import BadInput, Problem, nearest, told_at
from pricing.basis.files import read_table, table_text
from pricing.basis.records import Name, Quantity, Record, read_record
from pricing.basis.tongue import Tongue
from pricing.parts.part import ANY_PART, Part
from pricing.shop.shop import Shop

_SAME = ("title", "sold_by", "pieces", "single", "two_tone", "note")
_POWDERS = ("powder", "second_powder", "clear_powder")
_SOLD = ("item", *_SAME[:-1], *_POWDERS)
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
    """Read ``items.csv`` of the shop's folder: by key, in the order of the file.

    Raises
    ------
    BadInput
        With every bad row.
    """
    if shop.folder is None:
        raise BadInput("items.csv", [Problem("the shop", "made in code", "read from a folder")])
    return read_item_rows(shop.folder / "items.csv", shop)


def read_item_rows(path: Path, shop: Shop) -> dict[str, Item]:
    """Read a CSV file with the columns `ITEM_COLUMNS`; cells that may stay empty take the usual value.

    Raises
    ------
    BadInput
        With every bad row.
    """
    found: dict[str, Item] = {}
    bad: list[Problem] = []
    for row in read_table(path, ("item", "title", "sold_by", "pieces"), optional=[*_SOLD[4:], *_PART, "note"]):
        line = f"line {row['#']}"
        with told_at(f"{line}: ", bad):
            item = _item(row, shop.tongue)
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
    """Write ``items.csv`` with items in place of the ``old`` ones of the table at ``path``.

    Rows that did not change keep the owner's own words and units; a table that cannot be read is refused.
    """
    rows = {row["item"]: row for row in read_table(path, ITEM_COLUMNS[:4], optional=ITEM_COLUMNS[4:])}
    out = [rows[key] if old.get(key) == item else _row(item) for key, item in items.items()]
    return table_text(ITEM_COLUMNS, out)


def _row(item: Item) -> dict[str, str]:
    flags = {True: "yes", False: ""}
    part = item.part.model_dump(exclude={"name"})
    cells = {name: flags[value] if isinstance(value, bool) else str(value) for name, value in part.items()}
    powders = dict(zip(_POWDERS, item.powders, strict=False))
    return cells | powders | {"item": item.key} | {name: str(getattr(item, name)) for name in _SAME}


def _item(row: dict[str, str], tongue: Tongue) -> Item:
    bad: list[Problem] = []
    flags = {"yes": True, "true": True, "no": False, "false": False}  # a CSV has only text; the record reads the rest
    cells = {name: flags.get(row[name].casefold(), row[name]) for name in _PART if row[name] != ""}
    sold = {name: row[name] for name in _SAME} | {"key": row["item"], "part": ANY_PART}
    with told_at("", bad):
        sold["part"] = read_record(Part, {"name": row["title"]} | cells, "part", tongue)
    with told_at("", bad):
        item = read_record(Item, sold | {"powders": [row[name] for name in _POWDERS if row[name]]}, "item", tongue)
    if bad:
        raise BadInput("item", bad)
    return item
