"""The price list as the owner saved it: which price stands for which item, finish and quantity.

Takes    ``price_list.csv`` in the shop's folder: item, column, quantity, price, saved_on.
Room     show. Imports basis, prices, shop.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from math import isfinite
from pathlib import Path
from typing import TypeAlias

from pricing.basis.errors import BadInput, Problem
from pricing.basis.files import read_table, table_text, write_safely
from pricing.prices.price_list import FINISHES

Place: TypeAlias = tuple[str, str, int]
"""Item, column (``single`` or ``two_tone``), units sold together."""
FILE = "price_list.csv"
_COLUMNS = ("item", "column", "quantity", "price", "currency", "saved_on")


@dataclass(frozen=True)
class Listed:
    """Prices of one unit as saved. [money]"""

    prices: Mapping[Place, float]
    saved_on: str = ""


def read_listed(folder: Path, currency: str) -> Listed:
    """Read the saved list; empty where none was saved yet.

    Parameters
    ----------
    folder : Path
        The shop's folder.
    currency : str
        Code of the shop's currency.

    Raises
    ------
    BadInput
        With every bad row.
    """
    path = folder / FILE
    if not path.exists():
        return Listed({})
    found: dict[Place, float] = {}
    bad: list[Problem] = []
    day = ""
    for row in read_table(path, _COLUMNS):
        line = f"line {row['#']}"
        try:
            price, quantity = float(row["price"]), int(row["quantity"])
        except ValueError:
            bad.append(Problem(f"{line}: price or quantity", f"{row['price']}, {row['quantity']}", "numbers"))
            continue
        if not (isfinite(price) and price > 0) or quantity < 1 or row["column"] not in FINISHES:
            bad.append(Problem(line, row["price"], "a price above 0 of single or two_tone"))
        if row["currency"] != currency:
            bad.append(Problem(f"{line}: currency", row["currency"], currency, "Save the list anew."))
        try:
            date.fromisoformat(row["saved_on"])
        except ValueError:
            bad.append(Problem(f"{line}: saved_on", row["saved_on"], "a day like 2026-11-25", "Save the list anew."))
        found[row["item"], row["column"], quantity] = price
        day = max(day, row["saved_on"])
    if bad:
        raise BadInput(str(path), bad)
    return Listed(found, day)


def save_listed(folder: Path, prices: Mapping[Place, float], currency: str) -> Listed:
    """Write the list; other quantities than those given stay as they were.

    Parameters
    ----------
    folder : Path
        The shop's folder.
    prices : mapping
        Price of one unit by item, column and quantity. [money]
    currency : str
        Code of the shop's currency.

    Raises
    ------
    BadInput
        The folder cannot be written.
    """
    today = date.today().isoformat()  # noqa: DTZ011  the owner's own day
    whole = {**read_listed(folder, currency).prices, **prices}
    rows = [
        {"item": item, "column": column, "quantity": str(quantity), "price": repr(price), "currency": currency,
         "saved_on": today}
        for (item, column, quantity), price in whole.items()
    ]  # fmt: skip
    write_safely(folder / FILE, table_text(_COLUMNS, rows))
    return Listed(whole, today)
