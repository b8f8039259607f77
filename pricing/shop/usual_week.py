"""The orders of a usual week, as the owner expects them: ``week.csv`` of the shop's folder.

Takes    item, column (``single``, ``two_tone``), orders a week, units an order, note.
"""

from collections import Counter
from collections.abc import Collection
from pathlib import Path
from typing import Annotated, Literal

from pricing.basis.errors import Problem, gathered, nearest, told_at
from pricing.basis.files import read_table, table_text
from pricing.basis.numerals import spelled
from pricing.basis.records import Quantity, Record, read_record
from pricing.basis.tongue import Tongue

_COLUMNS = ("item", "column", "orders_per_week", "units_per_order", "note")


class Ordered(Record):
    """One line of the week: so many orders of so many units of an item."""

    item: str
    column: Literal["single", "two_tone"]
    orders_per_week: Annotated[float, Quantity("number", at_most=10_000, bare=True)]
    units_per_order: Annotated[int, Quantity("whole", at_least=1, at_most=100_000)] = 1
    note: str = ""

    @property
    def place(self) -> tuple[str, str, int]:
        """What no other line of the week may be."""
        return self.item, self.column, self.units_per_order


class UsualWeek(Record):
    """What is ordered in a usual week; nothing where the owner has not said."""

    orders: tuple[Ordered, ...] = ()


def read_orders(path: Path, tongue: Tongue, items: Collection[str] | None = None) -> UsualWeek:
    """Read a table of orders, of such items as are told; every bad row is refused at once."""
    found: list[Ordered] = []
    with gathered(path) as bad:
        for row in read_table(path, _COLUMNS[:3], optional=_COLUMNS[3:]):
            line = f"line {row.pop('#')}: "
            if items is not None and row["item"] not in items:
                bad.append(Problem(f"{line}item", row["item"], "an item of items.csv", nearest(row["item"], items)))
            given = {name: text for name, text in row.items() if text or name not in _COLUMNS[3:]}
            with told_at(line, bad):
                found.append(read_record(Ordered, given, str(path), tongue))
        names = Counter(", ".join(map(str, one.place)) for one in found)
        bad += [Problem("row", n, "there once", "Add the orders up.") for n in sorted(names) if names[n] > 1]
    return UsualWeek(orders=tuple(found))


def orders_text(week: UsualWeek) -> str:
    """Write the table."""
    rows = [
        {name: str(value) for name, value in one} | {"orders_per_week": spelled(one.orders_per_week)}
        for one in week.orders
    ]
    return table_text(_COLUMNS, rows)
