"""Numbers that remember how they were worked out, as a spreadsheet writes it.

Takes    the functions of the model as they stand; they are run once on such numbers.
Gives    for every figure its value and the formula that a spreadsheet recomputes it with, so the workbook
         holds the model itself and not a copy that somebody typed.
Safe     a function that asks for the number itself (a branch, a sort, a search) is refused: what it did
         could not be written as a formula.
Room     papers. Imports nothing of ours.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Any, NamedTuple, TypeAlias, Union

import numpy as np
from numpy.lib.mixins import NDArrayOperatorsMixin

Input: TypeAlias = Union["Formula", float]

_BINARY: Mapping[np.ufunc, tuple[str, int]] = {
    np.add: ("+", 2), np.subtract: ("-", 2), np.multiply: ("*", 3), np.divide: ("/", 3), np.power: ("^", 4),
    np.greater: (">", 1), np.less: ("<", 1), np.greater_equal: (">=", 1), np.less_equal: ("<=", 1),
}  # fmt: skip
_CALLED: Mapping[np.ufunc, str] = {
    np.maximum: "MAX({})", np.minimum: "MIN({})", np.ceil: "-INT(-({}))", np.exp: "EXP({})", np.log: "LN({})",
    np.square: "({})^2",
}  # fmt: skip
_WHOLE = 5


class Place(NamedTuple):
    """Where a figure stands: a cell of a sheet, and its name if it has one."""

    sheet: str
    row: int
    column: int
    name: str = ""

    def seen_from(self, sheet: str) -> str:
        """Write it as a formula on a sheet does."""
        if self.name:
            return self.name
        cell = f"{column_name(self.column)}{self.row + 1}"
        return cell if sheet == self.sheet else f"'{self.sheet.replace(chr(39), chr(39) * 2)}'!{cell}"


def column_name(column: int) -> str:
    """Give the letters of a column, counted from 0.

    >>> column_name(0), column_name(25), column_name(26), column_name(701)
    ('A', 'Z', 'AA', 'ZZ')
    """
    letters = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


class Formula(NDArrayOperatorsMixin):
    """A number with the sum behind it.

    Parameters
    ----------
    pool : Pool
        Where equal sums are one.
    op : ufunc, 'where' or None
        What made it; None for a number that stands in a cell of its own.
    inputs : tuple of Formula or float
        Of what.
    value : float
        What it comes to.
    """

    ndim = 1
    symbolic = True  # what `pricing.basis.checks.is_symbol` asks for
    __slots__ = ("inputs", "op", "place", "pool", "value")

    def __init__(self, pool: "Pool", op: Any, inputs: tuple[Input, ...], value: float) -> None:
        self.pool, self.op, self.inputs, self.value = pool, op, inputs, value
        self.place: Place | None = None

    def __array_ufunc__(self, ufunc: np.ufunc, method: str, *inputs: Any, **options: Any) -> Any:
        """Note what was done; nothing is computed but the value."""
        if method != "__call__" or options:
            raise TypeError(f"{ufunc.__name__}.{method} has no formula")
        plain = tuple(value if isinstance(value, Formula) else float(value) for value in inputs)
        if ufunc is np.isnan:
            return False  # a number that stands in a cell is a number
        if ufunc is np.negative:
            return self.pool.made(np.subtract, (0.0, *plain))
        if ufunc not in _BINARY and ufunc not in _CALLED:
            raise TypeError(f"{ufunc.__name__} has no formula")
        return self.pool.made(ufunc, plain)

    def __array_function__(self, function: Callable[..., Any], _types: Any, inputs: Sequence[Any], options: Any) -> Any:
        """Know `numpy.where` and `numpy.ndim`."""
        if function is np.ndim:
            return 1
        if function is np.where and len(inputs) == 3 and not options:
            condition, one, other = inputs
            if not isinstance(condition, Formula):
                return one if condition else other
            parts = tuple(value if isinstance(value, Formula) else float(value) for value in (condition, one, other))
            return self.pool.made("where", parts)
        raise TypeError(f"{function.__name__} has no formula")

    def _refuse(self, *_: object) -> Any:
        raise TypeError("a formula is asked for its number; what depends on it could not be recomputed")

    __array__ = __float__ = __bool__ = __int__ = __iter__ = __len__ = __getitem__ = _refuse
    __hash__ = object.__hash__

    def written(self, sheet: str) -> str:
        """Write the sum for a cell of a sheet, without the sign of equality; its parts by their places.

        Parameters
        ----------
        sheet : str
            Where it is written.
        """
        if self.op is None:
            raise TypeError("a number that was put in has no sum behind it")
        return self._text(sheet)[0]

    def _text(self, sheet: str) -> tuple[str, int]:
        if self.op in _BINARY:
            sign, rank = _BINARY[self.op]
            one, other = self.inputs
            left, right = _shown(one, sheet), _shown(other, sheet)
            if sign == "-" and not isinstance(one, Formula) and one == 0.0:
                return f"-{_bracketed(right, 3)}", 2
            # evaluation keeps the order of the model, to the last bit
            return f"{_bracketed(left, rank + (sign == '^'))}{sign}{_bracketed(right, rank + 1)}", rank
        texts = [_shown(value, sheet)[0] for value in self.inputs]
        if self.op == "where":
            return f"IF({','.join(texts)})", _WHOLE
        text = _CALLED[self.op].format(",".join(texts))
        return text, 2 if text.startswith("-") else _WHOLE


def _shown(value: Input, sheet: str) -> tuple[str, int]:
    if isinstance(value, Formula):
        if value.place is not None:
            return value.place.seen_from(sheet), _WHOLE
        return value._text(sheet)  # noqa: SLF001  its own class
    return literal(value), _WHOLE if value >= 0 else 2


def _bracketed(shown: tuple[str, int], least: int) -> str:
    text, rank = shown
    return text if rank >= least else f"({text})"


def literal(value: float) -> str:
    """Write a number as a formula does.

    >>> literal(12.0), literal(0.27), literal(1e-9)
    ('12', '0.27', '1E-09')
    """
    return repr(float(value)).removesuffix(".0").upper()


class Pool:
    """Where formulas are made; the same sum made twice is one, so that it can have one cell."""

    def __init__(self) -> None:
        self._known: dict[Any, Formula] = {}

    def number(self, value: float) -> Formula:
        """Give a number that will stand in a cell of its own."""
        return Formula(self, None, (), float(value))

    def afresh(self) -> None:
        """Forget the sums made so far, so that the next sheet writes its own and does not point at another."""
        self._known.clear()

    def made(self, op: Any, inputs: tuple[Input, ...]) -> Input:
        """Give the formula of a sum, or a plain number where nothing is left to recompute."""
        values = [value.value if isinstance(value, Formula) else value for value in inputs]
        with np.errstate(all="ignore"):
            value = float(values[1] if values[0] else values[2]) if op == "where" else float(op(*values))
        if not any(isinstance(part, Formula) for part in inputs):
            return value
        simpler = _simpler(op, inputs)
        if simpler is not None:
            return simpler
        key = (op, tuple(id(part) if isinstance(part, Formula) else part for part in inputs))
        found = self._known.get(key)
        if found is None:
            found = self._known[key] = Formula(self, op, inputs, value)
        return found


def _simpler(op: Any, inputs: tuple[Input, ...]) -> Input | None:
    """Leave out what changes nothing: times one, plus nothing."""
    if len(inputs) != 2:
        return None
    one, other = inputs
    plain_one = not isinstance(one, Formula)
    plain_other = not isinstance(other, Formula)
    nothing = (plain_one and one == 0.0, plain_other and other == 0.0)
    if (op is np.multiply and any(nothing)) or (op is np.divide and nothing[0]):
        return 0.0
    same_left = {np.multiply: 1.0, np.add: 0.0}
    same_right = {np.multiply: 1.0, np.divide: 1.0, np.add: 0.0, np.subtract: 0.0}
    if plain_one and op in same_left and one == same_left[op]:
        return other
    if plain_other and op in same_right and other == same_right[op]:
        return one
    return None
