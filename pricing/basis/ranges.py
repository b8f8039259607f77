"""Amounts that are not known for sure yet: ``5 to 9 m``, ``20 to 30 parts``.

Takes    text with two ends, and the likely amount where it is not the middle: ``5 to 9 m, likely 6 m``.
Gives    a number that everything reckons with as the likely one, and that remembers its ends.
Why      one field stays one number: only who draws, or asks from where to where, looks at the ends.
"""

import re
from typing import Any, NamedTuple, Self

from pricing.basis.numerals import spelled
from pricing.basis.tongue import ANY, PLAIN, Range, Tongue, Wrong
from pricing.basis.typed import read

_RANGE = re.compile(r"\s*(?P<low>\S.*?)\s*(?:\bto\b|–|…)\s*(?P<high>\S.*?)(?:\s*,?\s+likely\s+(?P<likely>\S.*?))?\s*")
_BARE = re.compile(r"(?:[\d\s./]|(?<=\d)[eE][-+]?(?=\d))+")
_SECOND = re.compile(r"[\s'\"]\d")  # a second number behind a unit: 9 ft 6 in
_COUNTED = re.compile(r"(?<=\d)\s+[a-z]+$")


class Ends(NamedTuple):
    """The two ends of a range, and what is likely."""

    low: float
    likely: float
    high: float


class _Ended:
    """What both kinds of ranges share: two of them are the same only where their ends are."""

    low: float
    likely: float
    high: float

    def __eq__(self, other: object) -> bool:
        """Tell ranges apart by their ends too; a range is no plain number."""
        return ends_of(self) == ends_of(other) if isinstance(other, (int, float)) else NotImplemented

    def __ne__(self, other: object) -> bool:
        """Tell ranges apart, which numbers would do by the likely one alone."""
        equal = self.__eq__(other)
        return equal if equal is NotImplemented else not equal

    def __hash__(self) -> int:
        return hash((self.low, float(self.likely), self.high))

    def __reduce__(self) -> Any:
        """Travel whole."""
        return type(self), (self.low, self.high, self.likely)


class Between(_Ended, float):
    """An amount that is likely, the middle where it is not told, and the ends it may lie between.

    >>> line = Between(5.0, 9.0)
    >>> 2 * line, line.text("m"), line == 7.0
    (14.0, '5 to 9 m', False)
    """

    def __new__(cls, low: float, high: float, likely: float | None = None) -> Self:
        """Make the likely amount, with its ends."""
        made = super().__new__(cls, (low + high) / 2 if likely is None else likely)
        made.low, made.likely, made.high = float(low), float(made), float(high)
        return made

    def text(self, unit: str) -> str:
        """Write it so that reading it gives the same range."""
        told = self.likely != (self.low + self.high) / 2
        return f"{spelled(self.low)} to {spelled(self.high)} {unit}" + (
            f", likely {spelled(self.likely)} {unit}" if told else ""
        )


class WholeBetween(_Ended, int):
    """A count that is likely, the middle rounded up where it is not told, and the ends it may lie between.

    >>> WholeBetween(20, 30).text(), 4 * WholeBetween(20, 30)
    ('20 to 30', 100)
    """

    low: int
    likely: int
    high: int

    def __new__(cls, low: int, high: int, likely: int | None = None) -> Self:
        """Make the likely count, with its ends."""
        made = super().__new__(cls, (low + high + 1) // 2 if likely is None else likely)
        made.low, made.likely, made.high = int(low), int(made), int(high)
        return made

    def text(self, _unit: str = "") -> str:
        """Write it so that reading it gives the same range."""
        told = self.likely != (self.low + self.high + 1) // 2
        return f"{self.low} to {self.high}" + (f", likely {self.likely}" if told else "")

    def __str__(self) -> str:
        return self.text()


def ends_of(value: object) -> Ends | None:
    """Return the ends of a range; None for a plain number.

    >>> ends_of(7.0), ends_of(WholeBetween(20, 30))
    (None, Ends(low=20, likely=25, high=30))
    """
    return Ends(value.low, value.likely, value.high) if isinstance(value, (Between, WholeBetween)) else None


def says_range(text: object) -> bool:
    """Tell a text that means a range from one that means a single amount."""
    return isinstance(text, str) and _RANGE.fullmatch(text) is not None


def read_between(given: object, unit: str, tongue: Tongue = PLAIN, *, within: Range = ANY, file: bool = False) -> float:
    """Read a range, each end as any other value is read; where both ends are one, a plain number.

    Parameters
    ----------
    given : str or range
        Two values with ``to`` between them, of which the first may leave its unit to the second, and the likely one
        behind ``likely``; a count may have a word behind it.
    unit, tongue, within, file
        As in `pricing.basis.typed.read`.

    Raises
    ------
    Wrong
        An end cannot be read, or they do not rise.

    Examples
    --------
    >>> read_between("16 to 30 ft", "m").text("m"), float(read_between("5 to 9 m, likely 6 m", "m"))
    ('4.8768 to 9.1440 m', 6.0)
    >>> read_between("20 to 30 parts", "whole").text()
    '20 to 30'
    """
    if isinstance(given, (Between, WholeBetween)):  # in the unit of the field already
        if not (within.holds(given.low) and within.holds(given.high)):
            words = within.words(unit, tongue)
            raise Wrong(f"Must be {words}.", accepts=words)
        return given
    low, high, *likely = (read(end, unit, tongue, within=within, file=file) for end in _parts(str(given), unit))
    if low > high or not all(low <= one <= high for one in likely):
        raise Wrong("Write the smaller end first, and what is likely between the two.", accepts=_RISING)
    if low == high:
        return int(low) if unit == "whole" else low
    return WholeBetween(int(low), int(high), *map(int, likely)) if unit == "whole" else Between(low, high, *likely)


_RISING = "a range whose smaller end comes first, such as '5 to 9'"


def _parts(text: str, unit: str) -> list[str]:
    match = _RANGE.fullmatch(text)
    parts = [part for part in match.groups() if part is not None] if match else [text, text]
    if unit == "whole":
        return [_COUNTED.sub("", part) for part in parts]
    word = _BARE.sub("", parts[1], count=1) if _BARE.match(parts[1]) else ""
    if not word or _SECOND.search(word):
        return parts
    return [f"{part} {word}" if _BARE.fullmatch(part) else part for part in parts]
