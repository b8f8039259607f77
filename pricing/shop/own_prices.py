"""Prices that the owner has set: ``prices.csv`` in the shop's folder. What stands there is the price everywhere.

Takes    item, column (``single``, ``two_tone``), first, each further, each beyond the list's range, locked, hidden.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from math import isfinite, isnan, nan
from pathlib import Path
from typing import TypeAlias

from pricing.basis.errors import Problem, gathered, told_at
from pricing.basis.files import read_table, table_text, write_safely
from pricing.basis.numerals import spelled
from pricing.basis.switch import locked
from pricing.basis.tongue import Tongue
from pricing.basis.typed import read_cell

PRICES_FILE = "prices.csv"
TRADE_FILE = "prices_trade.csv"
"""The same for the list for the trade."""
OLD_FILE = "price_list.csv"
"""Where older versions kept a list: a price for one, and one for each of ten."""
COLUMNS = ("single", "two_tone")
"""The two columns of the list."""
PriceKey: TypeAlias = tuple[str, str]
"""Item and column."""
_AMOUNTS = ("first", "each_further", "each_beyond")
_CELLS = ("item", "column", *_AMOUNTS, "currency", "locked", "hidden", "saved_on")


@dataclass(frozen=True, slots=True)
class OwnPrice:
    """One row of the list as the owner has set it, as it is printed. [money]

    Parameters
    ----------
    first, each, beyond : float
        For the first of an order, for each further one, for each one beyond the list's range; NaN where the row
        is only locked or hidden and its price stays as it is worked out.
    locked : bool
        Whether "take what is advised" leaves the row alone.
    hidden : bool
        Whether the row is left out of the printed list.
    saved_on : str
        Day, such as 2026-11-25.
    """

    first: float
    each: float
    beyond: float
    locked: bool = False
    hidden: bool = False
    saved_on: str = ""

    @property
    def priced(self) -> bool:
        """Whether it sets a price."""
        return isfinite(self.first)


def read_own_prices(folder: Path, tongue: Tongue, file: str = PRICES_FILE) -> dict[PriceKey, OwnPrice]:
    """Read the owner's prices in one of the two lists of a folder; empty where none was saved yet.

    Raises
    ------
    BadInput
        With every bad row.
    """
    path = folder / file
    found: dict[PriceKey, OwnPrice] = {}
    if not path.exists():
        return found
    with gathered(path) as bad:
        for row in read_table(path, _CELLS[:4], optional=_CELLS[4:]):
            place = (row["item"], row["column"])
            with told_at(f"line {row['#']}: ", bad), gathered(path) as wrong:
                found[place] = _price_of_row(row, tongue, wrong, twice=place in found)
    return found


def _price_of_row(row: Mapping[str, str], tongue: Tongue, wrong: list[Problem], *, twice: bool) -> OwnPrice:
    wrong += _wrong(row, tongue.currency)
    told = len(wrong)
    first, each, beyond = (
        read_cell(wrong, name, row[name], "money", tongue) if row[name] else nan for name in _AMOUNTS
    )
    if row["each_beyond"] == "":
        beyond = each
    if not row["first"] and not row["each_further"]:
        first = each = beyond = nan
    elif len(wrong) == told and not (isfinite(first) and first > 0 and 0 <= each <= first and 0 <= beyond <= each):
        accepts = "amounts above 0 that do not rise: first, each further, each beyond"
        wrong.append(Problem(", ".join(_AMOUNTS), ", ".join(row[name] for name in _AMOUNTS), accepts))
    if twice:
        key = f"{row['item']}, {row['column']}"
        wrong.append(Problem("item and column", key, "there once", "Keep one of the two rows."))
    return OwnPrice(first, each, beyond, row["locked"] == "yes", row["hidden"] == "yes", row["saved_on"])


def old_list(folder: Path | None) -> str:
    """Say what to do with a list that an older version saved in a folder; empty where there is none."""
    if folder is None or not (folder / OLD_FILE).exists():
        return ""
    return (
        f"{OLD_FILE} was saved by an older version, with a price for one and one for each of ten: no price is taken"
        f" from it. Put what you want to keep of it into the list of page 3 as first and each further, save that list"
        f" ({PRICES_FILE}), and delete {OLD_FILE}."
    )


def _wrong(row: Mapping[str, str], currency: str) -> list[Problem]:
    bad = []
    if row["column"] not in COLUMNS:
        bad.append(Problem("column", row["column"], "single or two_tone"))
    if row["currency"] not in {"", currency}:
        bad.append(Problem("currency", row["currency"], currency, "Save the list anew."))
    bad += [
        Problem(name, row[name], "yes or empty") for name in ("locked", "hidden") if row[name] not in {"", "yes", "no"}
    ]
    if row["saved_on"]:
        try:
            date.fromisoformat(row["saved_on"])
        except ValueError:
            bad.append(Problem("saved_on", row["saved_on"], "a day like 2026-11-25", "Save the list anew."))
    return bad


def save_own_prices(
    folder: Path, prices: Mapping[PriceKey, OwnPrice], tongue: Tongue, file: str = PRICES_FILE
) -> dict[PriceKey, OwnPrice]:
    """Write the owner's prices, all that shall stand in one of the two lists; a row that did not change keeps its day.

    Raises
    ------
    BadInput
        The folder cannot be read or written.
    """
    today = date.today().isoformat()  # noqa: DTZ011  the owner's own day
    old = read_own_prices(folder, tongue, file)
    kept: dict[PriceKey, OwnPrice] = {}
    for place, price in prices.items():
        before = old.get(place)
        same = before is not None and _cells(before) == _cells(price)
        kept[place] = replace(price, saved_on=before.saved_on if same and before else today)
    rows = [
        {"item": item, "column": column, "currency": tongue.currency, "saved_on": price.saved_on, **_cells(price)}
        for (item, column), price in kept.items()
    ]
    with locked(folder, (file,)):
        write_safely(folder / file, table_text(_CELLS, rows))
    return kept


def _cells(price: OwnPrice) -> dict[str, str]:
    amounts = zip(_AMOUNTS, (price.first, price.each, price.beyond), strict=True)
    flags = {"locked": price.locked, "hidden": price.hidden}
    return {name: "" if isnan(amount) else spelled(amount) for name, amount in amounts} | {
        name: "yes" if flag else "" for name, flag in flags.items()
    }
