"""Numbers or arrays of numbers, and the checks that guard the physics."""

from collections.abc import Callable, Hashable, Iterable
from typing import TypeAlias, TypeVar

import numpy as np
import numpy.typing as npt

from pricing.basis.errors import BadInput, Problem

_R = TypeVar("_R")
Floats: TypeAlias = float | npt.NDArray[np.float64]
"""A plain float or a float64 array; numpy's broadcasting rules hold."""


def is_symbol(value: object) -> bool:
    """Tell a symbol, which stands for numbers that are put in later, from a number or an array.

    A cost is run once on symbols before it is run on draws (`pricing.costing.tape`); a check that looks
    at the numbers lets symbols pass, and a question such as "is there any?" takes them for yes.
    """
    return getattr(value, "symbolic", False) is True


def lifted(book: object, key: Hashable, record: _R) -> _R:
    """Return a record worked out beforehand as the book of a run wants it.

    A book with a ``lift``, such as a workbook's, puts its own symbols into the record, which ``key`` tells from others.
    """
    lift: Callable[[Hashable, _R], _R] | None = getattr(book, "lift", None)
    return record if lift is None else lift(key, record)


def plus(one: Floats, other: Floats) -> Floats:
    """Add, without touching an array for a plain zero: most lines of a list have most resources at 0.

    >>> plus(0.0, 3.0), plus(2.0, 3.0)
    (3.0, 5.0)
    """
    if one.__class__ is float and not one:
        return other
    if other.__class__ is float and not other:
        return one
    return one + other


def added(values: Iterable[Floats]) -> Floats:
    """Add many up as ``sum`` does, without a new array for each.

    >>> added([1.0, 2.0]), added([np.ones(2), 0.0, 3.0])
    (3.0, array([4., 4.]))
    """
    total: Floats = 0.0
    for value in values:
        total = onto(total, value)
    return total


def onto(total: Floats, value: Floats) -> Floats:
    """Add to a total that began with 0.0 and was made by this alone: its array is our own, and is added into."""
    if value.__class__ is float and not value:
        return total
    if isinstance(total, np.ndarray) and (
        isinstance(value, float) or (isinstance(value, np.ndarray) and value.shape == total.shape)
    ):
        total += value
        return total
    return total + value


def most(one: Floats, other: Floats) -> Floats:
    """Work out the larger, as a plain float where both are.

    >>> most(1.0, 2.0)
    2.0
    """
    if one.__class__ is float and other.__class__ is float:
        return max(one, other)
    return np.maximum(one, other)


def least(one: Floats, other: Floats) -> Floats:
    """Work out the smaller, as a plain float where both are.

    >>> least(1.0, 2.0)
    1.0
    """
    if one.__class__ is float and other.__class__ is float:
        return min(one, other)
    return np.minimum(one, other)


def nonneg(where: str, **values: Floats) -> None:
    """Refuse values below zero, infinite or not a number, all at once, in what is being computed."""
    _refuse(where, values, "0 or more", strict=False)


def positive(where: str, **values: Floats) -> None:
    """Refuse values that are zero, negative or not finite, all at once, in what is being computed."""
    _refuse(where, values, "above 0", strict=True)


def _refuse(where: str, values: dict[str, Floats], accepts: str, *, strict: bool) -> None:
    bad = []
    for name, value in values.items():
        if is_symbol(value):
            continue
        if isinstance(value, (float, int)):
            if not (0 < value < np.inf if strict else 0 <= value < np.inf):
                bad.append(Problem(name, value, accepts))
            continue
        array = np.asarray(value, dtype=np.float64)
        good = np.isfinite(array) & ((array > 0) if strict else (array >= 0))
        if not good.all():
            bad.append(Problem(name, float(array[~good].flat[0]), accepts))
    if bad:
        raise BadInput(where, bad)
