"""Fields of a form from the records themselves: whatever a file of the shop may hold can be set on a page, and checked.

Takes    a record of the shop, and where something stands in it: ``("price_points", 0, "step")``.
Gives    one field for each number, word, tick and choice in it, with its words from ``field_words.csv``; and the record
         with one thing in it changed, added or taken away, checked as a whole.
"""

import types
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Annotated, Any, Literal, TypeVar, Union, get_args, get_origin

from pydantic.fields import FieldInfo

from pricing.basis.files import read_table
from pricing.basis.records import Quantity as InUnit
from pricing.basis.records import Record
from pricing.basis.tongue import LARGEST, Range, Tongue, Wrong
from pricing.shop.usual_week import Ordered
from pricing.show.cells import changed_record
from pricing.show.fields import CheckField, ChoiceField, Field, QuantityField, ShareField, Whole
from pricing.show.open_fields import Amount, CountField, Listed, Maybe, TextField

_R = TypeVar("_R", bound=Record)
FieldPath = tuple[str | int, ...]
"""Where something stands in a record: names of fields, and numbers in a list."""
Offers = Mapping[tuple[str, str], Mapping[str, str]]
"""Words by value of fields whose choices the shop itself holds, by record and field; ``""`` is nothing."""


@dataclass(frozen=True, slots=True)
class Named:
    """What a page calls a field, what it is shown as, and words for its choices."""

    label: str
    shown_as: str
    choices: Mapping[str, str]


@cache
def _table() -> Mapping[tuple[str, str], Named]:
    rows = read_table(Path(__file__).with_name("field_words.csv"), ("record", "field", "label", "as", "choices"))
    found = {}
    for row in rows:
        pairs = [text.partition("=") for text in row["choices"].split("|") if text]
        found[row["record"], row["field"]] = Named(row["label"], row["as"], {value: words for value, _, words in pairs})
    return found


def named_field(record: type[Record], name: str) -> Named:
    """Return the words of a field; one that all machines share is told once.

    A KeyError says that it belongs into ``field_words.csv``.
    """
    names = [kind.__name__ for kind in record.__mro__]
    return _table()[next((one for one in names if (one, name) in _table()), record.__name__), name]


def _key(start: str, at: FieldPath) -> str:
    """Write the key of a field: where it begins, and its place."""
    return ".".join([*([start] if start else []), *map(str, at)])


@dataclass(frozen=True, slots=True)
class FieldPlace:
    """One thing that stands in a record: a field, or a record or list of records inside it."""

    at: FieldPath
    label: str
    value: Any
    field: Field | None = None
    optional: bool = False
    many: bool = False


def field_places(
    record: Record, start: str, tongue: Tongue, offers: Offers | None = None, at: FieldPath = ()
) -> Iterator[FieldPlace]:
    """Go through everything a record holds, in its order, what is inside it too.

    Keys of its fields begin with ``start``; ``at`` is where the record itself stands in a larger one.
    """
    kind = type(record)
    for name, info in kind.model_fields.items():
        here: FieldPath = (*at, name)
        value, (base, optional) = getattr(record, name), _bare(info.annotation)
        words = named_field(kind, name)
        if words.shown_as == "hidden":  # a file's own, such as the key of a row
            continue
        options = (offers or {}).get((kind.__name__, name))
        if _is_record(base):
            yield FieldPlace(here, words.label, value, optional=optional)
            if value is not None:
                yield from field_places(value, start, tongue, offers, here)
        elif get_origin(base) is tuple and _is_record(_bare(get_args(base)[0])[0]):
            yield FieldPlace(here, words.label, value, many=True)
            for number, one in enumerate(value):
                yield FieldPlace((*here, number), f"{number + 1}", one)
                yield from field_places(one, start, tongue, offers, (*here, number))
        elif options is not None and get_origin(base) is tuple:
            yield FieldPlace(here, words.label, value)
            for word, told in options.items():
                yield FieldPlace(
                    (*here, word), told, word in value, CheckField(_key(start, (*here, word)), told, word in value)
                )
        else:
            yield FieldPlace(here, words.label, value, _field(_key(start, here), info, value, words, tongue, options))


def _field(
    key: str, info: FieldInfo, value: Any, words: Named, tongue: Tongue, options: Mapping[str, str] | None
) -> Field:
    base, optional = _bare(info.annotation)
    if options is not None or get_origin(base) is Literal:
        told = options or {word: words.choices.get(word, word) for word in get_args(base)}
        return ChoiceField(key, words.label, value, {value: value, **told} if value not in told else told)
    if base is bool:
        return CheckField(key, words.label, value)
    if get_origin(base) is tuple:
        return Listed(key, words.label, value)
    if base is str:
        return TextField(key, words.label, value, optional=optional)
    made = _number(key, info, value or 0, words, tongue)
    return Maybe(made, value) if optional else made


def _number(key: str, info: FieldInfo, value: Any, words: Named, tongue: Tongue) -> Field:
    about = [*info.metadata, *_inside(info.annotation)]
    mark = next((one for one in about if isinstance(one, InUnit)), None)
    within = mark.within if mark else Range(_bound(about, "ge", 0.0), _bound(about, "le", LARGEST))
    unit = mark.unit if mark else "whole" if _bare(info.annotation)[0] is int else words.shown_as
    least = max(within.least, -LARGEST)
    if unit == "share":
        return ShareField(key, words.label, value, tongue, most=within.most)
    ranged = mark is not None and mark.ranged
    if unit == "whole":
        whole = CountField if ranged else Whole
        return whole(key, words.label, value, tongue, least=int(least), most=int(within.most))
    amount = Amount if ranged else QuantityField
    return amount(key, words.label, value, unit, tongue, least=least, most=within.most, above=within.above)


def _bound(about: list[Any], name: str, usual: float) -> float:
    return next((float(found) for one in about if (found := getattr(one, name, None)) is not None), usual)


def _inside(annotation: Any) -> list[Any]:
    """Collect what is said of the number in an optional field."""
    inner = [one for one in get_args(annotation) if get_origin(one) is Annotated]
    return list(inner[0].__metadata__) if inner else []


def _bare(annotation: Any) -> tuple[Any, bool]:
    """Collect what a field holds, and whether it may hold nothing."""
    if get_origin(annotation) in {Union, types.UnionType}:
        inner = [one for one in get_args(annotation) if one is not type(None)]
        return _bare(inner[0])[0], True
    return (get_args(annotation)[0], False) if get_origin(annotation) is Annotated else (annotation, False)


def _is_record(base: Any) -> bool:
    return isinstance(base, type) and issubclass(base, Record)


def place_of(key: str, start: str) -> FieldPath:
    """Return the place in a record that a key names.

    >>> place_of("policy.price_points.0.step", "policy")
    ('price_points', 0, 'step')
    """
    steps = key.removeprefix(f"{start}.").split(".")
    return tuple(int(step) if step.isdecimal() else step for step in steps)


def changed_at(record: _R, at: FieldPath, value: Any, tongue: Tongue) -> _R:
    """Return a record with one thing in it changed, checked as a whole; `Wrong` says what is accepted.

    The name of a choice behind a list of words ticks it on or off.
    """
    name, *rest = at
    if not rest:
        return changed_record(record, str(name), value, tongue)
    inner = getattr(record, str(name))
    if isinstance(inner, tuple):
        new: Any
        if isinstance(rest[0], str):  # a word of a list, ticked or not
            new = tuple(word for word in inner if word != rest[0]) + ((rest[0],) if value else ())
        else:
            number = rest[0]
            one = value if len(rest) == 1 else changed_at(inner[number], tuple(rest[1:]), value, tongue)
            new = (*inner[:number], one, *inner[number + 1 :])
    else:
        new = changed_at(inner, tuple(rest), value, tongue)
    return changed_record(record, str(name), new, tongue)


def inside_record(record: Any, at: FieldPath) -> Any:
    """Return what stands at a place of a record."""
    for step in at:
        record = record[step] if isinstance(step, int) else getattr(record, step)
    return record


def grown_record(record: _R, at: FieldPath, tongue: Tongue) -> _R:
    """Return a record with one more at the end of a list in it, like the last; `Wrong` where that cannot stand."""
    held = inside_record(record, at)
    last = held[-1]
    steps = {"up_to": last.up_to * 2} if hasattr(last, "up_to") else {}
    if isinstance(last, Ordered):  # no line of a week stands there twice
        steps = {"units_per_order": max(line.units_per_order for line in held) + 1}
    return changed_at(record, at, (*held, last.model_copy(update=steps)), tongue)


def without(record: _R, at: FieldPath, tongue: Tongue) -> _R:
    """Return a record without one of a list in it; `Wrong` where one must stay."""
    *where, number = at
    held = inside_record(record, tuple(where))
    if len(held) == 1:
        raise Wrong("One must stay.")
    return changed_at(record, tuple(where), tuple(one for n, one in enumerate(held) if n != number), tongue)
