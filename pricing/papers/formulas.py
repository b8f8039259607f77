"""A graph of sums written as formulas of cells, so that a workbook holds the model itself and not a copy of it."""

from typing import NamedTuple

import numpy as np
from xlsxwriter.utility import xl_rowcol_to_cell

from pricing.costing.graph import WHOLE, Script, Symbol, where

_SIGNS = {
    np.add: ("+", 2),
    np.subtract: ("-", 2),
    np.multiply: ("*", 3),
    np.divide: ("/", 3),
    np.power: ("^", 4),
    np.greater: (">", 1),
    np.less: ("<", 1),
    np.greater_equal: (">=", 1),
    np.less_equal: ("<=", 1),
}
_CALLS = {
    np.maximum: ("MAX({0},{1})", WHOLE),
    np.minimum: ("MIN({0},{1})", WHOLE),
    np.ceil: ("-INT(-({0}))", 2),
    np.exp: ("EXP({0})", WHOLE),
    np.log: ("LN({0})", WHOLE),
    np.square: ("({0})^2", WHOLE),
    np.absolute: ("ABS({0})", WHOLE),
    where: ("IF({0},{1},{2})", WHOLE),
}


class CellPlace(NamedTuple):
    """Where a figure stands: a cell of a sheet, and its name if it has one."""

    sheet: str
    row: int
    column: int
    name: str = ""

    def seen_from(self, sheet: str) -> str:
        """Write it as a formula on a sheet does."""
        if self.name:
            return self.name
        cell = xl_rowcol_to_cell(self.row, self.column)
        return cell if sheet == self.sheet else f"{self.quoted}!{cell}"

    @property
    def quoted(self) -> str:
        """Name of its sheet, as formulas write it."""
        return f"'{self.sheet.replace(chr(39), chr(39) * 2)}'"


def literal(value: float) -> str:
    """Write a number as a formula does.

    >>> literal(12.0), literal(0.27), literal(1e-9)
    ('12', '0.27', '1E-09')
    """
    return repr(float(value)).removesuffix(".0").upper()


def written(figure: Symbol, sheet: str) -> str:
    """Write the sum behind a figure for a cell of a sheet, without the sign of equality.

    Parameters
    ----------
    figure : Symbol
        What has a sum behind it; parts of it that have a place are pointed at.

    Raises
    ------
    TypeError
        It is a number that was put in, or a spreadsheet has no word for something in it.
    """
    return Script(_SIGNS, _CALLS, literal, lambda part: part.place and part.place.seen_from(sheet)).written(figure)
