"""What stands in a table that is edited in place, in records: columns, sheets, cells, rows."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Column:
    """A column: ``text`` and ``choice`` can be edited, ``plain`` is read, ``do`` is a button."""

    key: str
    label: str
    kind: str = "text"
    num: bool = False
    options: tuple[tuple[str, str], ...] = ()
    width: str = ""
    words: str = ""


@dataclass(frozen=True, slots=True)
class Sheet:
    """One tab: its columns (the first names the row), buttons under it, and a note."""

    key: str
    title: str
    columns: tuple[Column, ...]
    actions: tuple[tuple[str, str], ...] = ()
    note: str = ""

    def traits(self) -> dict[str, Any]:
        """Describe it as the browser reads it."""
        columns = [asdict(column) | {"words": column.words or column.label} for column in self.columns]
        actions = [{"key": key, "label": label} for key, label in self.actions]
        return {"key": self.key, "title": self.title, "columns": columns, "actions": actions, "note": self.note}


@dataclass(frozen=True, slots=True)
class Cell:
    """What stands in a cell; ``plain`` cells of an edited column are only read."""

    text: str
    changed: bool = False
    mark: str = ""
    plain: bool = False
    off: bool = False

    def traits(self, message: str) -> dict[str, Any]:
        """Describe it as the browser reads it, without what is as usual."""
        found: dict[str, Any] = {"text": self.text}
        for name in ("changed", "mark", "plain", "off"):
            if getattr(self, name):
                found[name] = getattr(self, name)
        return found | {"message": message}


@dataclass(frozen=True, slots=True)
class Row:
    """A row: key, name, cells by column; rows of one ``group`` stand together; ``mark`` is ``bad`` or ``low``."""

    key: str
    label: str
    cells: Mapping[str, Cell]
    group: str = ""
    mark: str = ""
