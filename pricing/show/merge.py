"""Two people change one shop: what each has changed is kept, and of one field the later change stands."""

from collections.abc import Mapping
from dataclasses import fields, is_dataclass, replace
from typing import Any, TypeVar

from pricing.basis.records import Record

_T = TypeVar("_T")
_GONE = object()


def merged_rows(base: _T, mine: _T, theirs: _T) -> _T:
    """Put my changes of a value upon theirs; where both changed one field, mine is the later.

    Takes records, mappings or plain values, and what both began from.

    >>> merged_rows({"a": 1, "b": 2, "c": 3}, {"a": 5, "b": 2, "c": 3}, {"a": 1, "b": 7})
    {'a': 5, 'b': 7}
    >>> merged_rows(1, 2, 3)
    2
    """
    if mine == base:
        return theirs
    if theirs == base:
        return mine
    found: Any = mine
    if isinstance(base, Mapping) and isinstance(mine, Mapping) and isinstance(theirs, Mapping):
        values = {
            key: merged_rows(base.get(key, _GONE), mine.get(key, _GONE), theirs.get(key, _GONE))
            for key in {**theirs, **mine}
        }
        found = {key: value for key, value in values.items() if value is not _GONE}
    elif isinstance(base, Record) and type(base) is type(mine) is type(theirs):
        names = type(base).model_fields
        found = type(base).model_validate(
            {name: merged_rows(getattr(base, name), getattr(mine, name), getattr(theirs, name)) for name in names}
        )
    elif is_dataclass(base) and type(base) is type(mine) is type(theirs):
        parts = [one.name for one in fields(base) if one.init and one.compare]
        found = replace(
            theirs,  # type: ignore[type-var]  # it is a dataclass, as its type is the base's
            **{name: merged_rows(getattr(base, name), getattr(mine, name), getattr(theirs, name)) for name in parts},
        )
    elif (
        isinstance(base, tuple)
        and isinstance(mine, tuple)
        and isinstance(theirs, tuple)
        and len(base) == len(mine) == len(theirs)
    ):
        found = tuple(merged_rows(*three) for three in zip(base, mine, theirs, strict=True))
    return found  # type: ignore[no-any-return]  # of the same type as what was given
