"""A record with one thing in it changed, added or taken away, checked as a whole.

Takes    a record, and where something stands in it: ``("price_points", 0, "step")``.
"""

from typing import Any, TypeVar

from pricing.basis.records import Record
from pricing.basis.tongue import Tongue, Wrong
from pricing.shop.usual_week import Ordered
from pricing.show.cells import changed_record
from pricing.show.record_fields import FieldPath

_R = TypeVar("_R", bound=Record)


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
