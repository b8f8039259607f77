"""Every number that a workbook offers to be changed, moved down and up, and what the library says then."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from pricing.costing.graph import Symbol
from pricing.papers.live_job import PartCells
from pricing.papers.live_shop import LiveShop
from pricing.parts.items import Item
from tests.papers.books import costs_of, shop_of

DOWN, UP = 0.8, 1.3
_FIELD = {"area": "area_m2", "mass": "mass_kg", "edge": "edge_m", "line": "line_m", "spots": "spots", "plugs": "plugs"}


@dataclass
class Offered:
    """A workbook's cells: those of the shop, and those of each item."""

    live: LiveShop
    items: Mapping[str, Item]
    cells: dict[str, PartCells] = field(default_factory=dict)

    def scenarios(self) -> Iterator[tuple[str, dict[Symbol, float]]]:
        """One number after the other; the three points of a rate move together, since only their mean is used."""
        for rate in self.live.rates:
            if rate.key in self.live.book.read and rate.key not in self.live.deaf:
                for by in (DOWN, UP):
                    yield f"{rate.key} x {by}", {point: point.value * by for point in rate.points}
        for own in self.live.own:
            for by in (DOWN, UP) if not own.fixed else ():
                yield f"{own.group}, {own.label} x {by}", {own.cell: own.cell.value * by}
        for key, part in self.cells.items():
            for name, cell in part.cells.items():
                moves = (2.0, 0.5) if name == "pieces" else (DOWN, UP)
                for by in moves if cell is not None else ():
                    if name != "pieces" or cell.value * by >= 1:
                        yield f"{key}, {name} x {by}", {cell: cell.value * by}

    def library(self, changes: Mapping[Symbol, float], quantities: tuple[int, ...]) -> Any:
        """What a shop and items with those numbers come to."""
        items = {}
        for key, item in self.items.items():
            moved = {
                name: changes[cell] / cell.value
                for name, cell in self.cells[key].cells.items()
                if cell is not None and cell in changes
            }
            part = item.part.model_copy(
                update={
                    _FIELD[name]: getattr(item.part, _FIELD[name]) * by for name, by in moved.items() if name in _FIELD
                }
            )
            items[key] = item.model_copy(update={"part": part, "pieces": item.pieces * moved.get("pieces", 1.0)})
        return costs_of(shop_of(self.live, changes), items, quantities).ravel()
