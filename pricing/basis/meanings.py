"""What a typed text can mean: every reading of it, each in the unit of the field."""

import re
from collections.abc import Iterator
from functools import lru_cache
from typing import NamedTuple

from pricing.basis.errors import shorten
from pricing.basis.facts import fact
from pricing.basis.numerals import NUMBER, readings, spelled
from pricing.basis.tongue import PURE, Tongue, Wrong
from pricing.basis.units import readable, shown, turned
from pricing.basis.wordings import KIN, money_apart, other_money, two_units, unit_words

SURE = "!"
"""Ends a text that is meant as it stands, though it is far off what stood there."""
FIGURE = re.compile(rf"({NUMBER})\s*(.*)", re.DOTALL)
"""A number, and what stands behind it."""
_CLOCK = re.compile(r"(\d{1,3}):([0-5]\d)(?::([0-5]\d))?")


class FoundMeaning(NamedTuple):
    """One reading of a text: its value in the unit of the field, how to write it, and whether it is the usual one."""

    value: float
    given: str
    usual: bool
    bare: bool = False


@lru_cache(maxsize=4096)  # a shop's tables say the same many times over
def meanings(text: str, unit: str, tongue: Tongue, *, file: bool) -> tuple[FoundMeaning, ...]:
    """Collect every reading of a tidied text, the usual one first; one that has none is refused by `Wrong`."""
    if unit == "share" or unit in PURE:
        return tuple(_pure(text, unit, tongue, file=file))
    if (clock := _CLOCK.fullmatch(text)) and unit in {"min", "h"}:
        return tuple(_clock(clock, unit, text))
    text_left = money_apart(text, tongue.currency, tongue.locale) if "money" in unit else text
    if "money" in unit and (other := other_money(text_left, tongue.currency)):
        raise Wrong(f"The shop counts in {tongue.currency}; turn {other} into {tongue.currency} first.")
    if pair := two_units(text_left):
        return (FoundMeaning(_turned(pair[0], pair[1], unit, tongue), text, usual=True),)
    match = FIGURE.fullmatch(text_left)
    numbers = readings(match[1].replace(" -", "-"), tongue.locale, file=file) if match else ()
    if match is None or not numbers:
        raise Wrong(f"{shorten(text, 30)} is no number.")
    found = []
    for written, bare in _units(unit_words(match[2]), unit, tongue, file=file):
        for number in numbers:
            value = _turned(number.value, written, unit, tongue)
            name = readable(written, tongue.currency)
            found.append(FoundMeaning(value, f"{spelled(number.value, tongue.locale)} {name}", number.usual, bare))
    return tuple(found)


def _units(written: str, unit: str, tongue: Tongue, *, file: bool) -> Iterator[tuple[str, bool]]:
    """Yield the units that a number can be meant in, each with whether it was left out."""
    seen = shown(1.0, unit, tongue.units).unit
    over, _, under = seen.partition("/")
    if written in {"°", "deg"} and "deg" in seen:
        written = ""
    if written.startswith("/"):
        yield over + written, False
    elif written and "money" not in unit:
        alone = under and "/" not in written and isinstance(turned(1.0, written, unit), str)
        whole = alone and not isinstance(turned(1.0, written, unit.partition("/")[0]), str)
        yield f"{written}/{under}" if whole else written, False
    elif written:
        yield f"money {written}", False  # no unit of money: what it is told says so
    elif not file:
        yield seen, True
    else:  # beside a file stands no unit
        yield seen, True
        if seen != unit:
            yield unit, True
        if unit == "money/year":
            yield "money/month", True


def _turned(number: float, written: str, unit: str, tongue: Tongue) -> float:
    code = tongue.currency or "money"
    value = turned(number, written.replace("money", code), unit, currency=tongue.currency)
    if isinstance(value, str):
        raise Wrong(value)
    return value


def _clock(clock: re.Match[str], unit: str, text: str) -> list[FoundMeaning]:
    """Read 2:30, which is 2 h 30 min or 2 min 30 s in a field of minutes, and hours in a field of hours."""
    first, second, third = (int(part or 0) for part in clock.groups())
    hours = first * 60.0 + second + third / 60
    if unit == "h" or clock[3]:
        return [FoundMeaning(hours / 60 if unit == "h" else hours, text, usual=True)]
    return [
        FoundMeaning(hours, f"{first} h {second} min", usual=False),
        FoundMeaning(first + second / 60, f"{first} min {second} s", usual=False),
    ]


def _pure(text: str, unit: str, tongue: Tongue, *, file: bool) -> list[FoundMeaning]:
    """Read a plain number, a count, or a share."""
    match = FIGURE.fullmatch(text)
    rest = match[2].casefold() if match else ""
    percent = rest in {"%", "percent", "per cent", "pct"}
    numbers = readings(match[1].replace(" -", "-"), tongue.locale, file=file) if match else ()
    if match is None or not numbers or (rest and not percent and rest not in {"x", "×", "times"}):
        raise Wrong(f"{shorten(text, 30)} is no number.")
    found = []
    for number in numbers:
        said = spelled(number.value, tongue.locale)
        if percent:
            found.append(FoundMeaning(number.value / 100, f"{said} %", number.usual))
        elif unit != "share" or "/" in match[1] or number.value == 0:
            found.append(FoundMeaning(number.value, said, number.usual))
        else:
            part = FoundMeaning(number.value, f"{spelled(round(100 * number.value, 9), tongue.locale)} %", usual=True)
            found += [part, FoundMeaning(number.value / 100, f"{said} %", usual=number.value < 1 or number.value >= 2)]
            if 1 < number.value < 2:  # a whole and a part of it
                more = f"{spelled(round(100 * (number.value - 1), 9), tongue.locale)} %"
                found.append(FoundMeaning(number.value - 1, more, usual=False))
    return found


def kindred(bare: FoundMeaning, unit: str, tongue: Tongue, now: float | None) -> list[FoundMeaning]:
    """Collect a bare number in other units that people write such values in, where that is near what stood there."""
    match = FIGURE.fullmatch(bare.given)
    if not bare.bare or not now or match is None:
        return []
    (number,) = readings(match[1], tongue.locale)
    found = []
    for other in KIN.get(unit, ()):
        value = _turned(number.value, other, unit, tongue)
        if times(value, now) <= fact("typed.near"):
            found.append(FoundMeaning(value, f"{match[1]} {readable(other, tongue.currency)}", usual=False))
    return found


def times(value: float, now: float) -> float:
    """Work out by which factor a value is off another; endless where the signs differ.

    >>> times(50.0, 5.0), times(-1.0, 5.0)
    (10.0, inf)
    """
    return max(value / now, now / value) if value * now > 0 else float("inf")
