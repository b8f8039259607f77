"""Tables that are edited in place and what stands in them, by one name; the widget loads when it is asked for."""

from typing import TYPE_CHECKING, Any

from pricing.show.sheets import Cell, Column, Row, Sheet

if TYPE_CHECKING:
    from pricing.show.table import EditTable

__all__ = ["Cell", "Column", "EditTable", "Row", "Sheet"]


def __getattr__(name: str) -> Any:
    if name != "EditTable":
        raise AttributeError(name)
    from pricing.show.table import EditTable

    return EditTable
