"""Reading a workbook by the words on it."""

from io import BytesIO
from typing import Any

import openpyxl


def opened(content: bytes, *, values: bool) -> Any:
    return openpyxl.load_workbook(BytesIO(content), data_only=values)


def row_of(sheet: Any, text: str, column: int = 1) -> int:
    found = [row for row in range(1, sheet.max_row + 1) if sheet.cell(row, column).value == text]
    assert len(found) == 1, (sheet.title, text, found)
    return found[0]


def rate_row(sheet: Any, name: str) -> int:
    """Row of a rate, by its name in formulas: the last column of the sheet."""
    return row_of(sheet, name, sheet.max_column)


def prices(book: Any) -> dict[tuple[str, int], tuple[Any, ...]]:
    """Cost and price, single-tone and two-tone, by family and quantity."""
    sheet = book["Prices"]
    found = {}
    for row in range(5, sheet.max_row + 1):
        cells = [sheet.cell(row, column).value for column in (4, 6, 9, 11)]
        found[sheet.cell(row, 1).value, sheet.cell(row, 3).value] = tuple(cells)
    return found


def job_figures(book: Any) -> dict[str, list[float]]:
    """Figures under the steps, by their words, one for each finish."""
    sheet = book["Job"]
    found = {}
    for row in range(row_of(sheet, "Full cost: the break-even price"), sheet.max_row + 1):
        cells = [sheet.cell(row, column).value for column in range(2, sheet.max_column + 1)]
        found[sheet.cell(row, 1).value] = [cell for cell in cells if cell is not None]
    return found
