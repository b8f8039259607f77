"""Two people change one shop: what each has changed is kept, and of one field the later change stands."""

from collections.abc import Iterable, Mapping
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
    three: tuple[Any, Any, Any] = (base, mine, theirs)
    kind: Any = type(base)
    alike = type(mine) is type(theirs) is kind

    def by_name(names: Iterable[str]) -> dict[str, Any]:
        return {name: merged_rows(*(getattr(one, name) for one in three)) for name in names}

    found: Any = mine
    if all(isinstance(one, Mapping) for one in three):
        values = {key: merged_rows(*(one.get(key, _GONE) for one in three)) for key in {**three[2], **three[1]}}
        found = {key: value for key, value in values.items() if value is not _GONE}
    elif alike and issubclass(kind, Record):
        found = kind.model_validate(by_name(kind.model_fields))
    elif alike and is_dataclass(kind):
        found = replace(three[2], **by_name(one.name for one in fields(kind) if one.init and one.compare))
    elif alike and kind is tuple and len(three[0]) == len(three[1]) == len(three[2]):
        found = tuple(merged_rows(*each) for each in zip(*three, strict=True))
    return found  # type: ignore[no-any-return]  # of the same type as what was given
