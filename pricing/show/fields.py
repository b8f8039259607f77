"""Inputs that take what people type, and say or ask at once, beside the field, what is wrong or meant.

A field holds the last good value: while what stands in it is wrong, the page goes on with that value and says
so. Nothing here needs a browser; `pricing.screens.form` draws fields.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from pricing.basis.errors import BadInput, choices, nearest
from pricing.basis.records import Name, Record, read_record
from pricing.basis.tongue import Choice as Reading
from pricing.basis.tongue import Range, Tongue, Wrong
from pricing.basis.typed import read
from pricing.shop.rates import Assumption
from pricing.shop.visit import NOT_KNOWN, is_unknown

_UNKNOWN = "I don't know"


class Field:
    """One input: its key for the page, its label for people, its value, and what is wrong with what stands in it."""

    kind = "text"

    def __init__(self, key: str, label: str, value: Any) -> None:
        self.key, self.label, self._value = key, label, value
        self.stood = value  # before somebody began to type
        self.message = ""
        self.choices: tuple[Reading, ...] = ()
        self._text: str | None = None

    @property
    def value(self) -> Any:
        """Last good value, in the unit of the model."""
        return self._value

    @value.setter
    def value(self, value: Any) -> None:
        self._value = self.stood = value
        self._text, self.message, self.choices = None, "", ()

    @property
    def text(self) -> str:
        """What stands in the field."""
        return self.write(self._value) if self._text is None else self._text

    def write(self, value: Any) -> str:
        """Turn a value into text."""
        return str(value)

    def read(self, given: Any) -> Any:
        """Turn what was given into a value; `Wrong` says what to put beside the field."""
        return given

    def give(self, given: Any, *, live: bool = False) -> bool:
        """Take what was typed or chosen; True when it is a new good value.

        While somebody is still typing (``live``), what stood before goes on to count as what stands there.
        """
        stood = self.stood
        try:
            found = self.read(given)
        except Wrong as why:
            self._text, self.message, self.choices = str(given), str(why), why.choices
            return False
        changed = bool(found != self._value)
        self.value = found
        if live:
            self.stood = stood
        return changed

    def spec(self) -> dict[str, Any]:
        """What the browser needs to draw it, once."""
        return {"key": self.key, "label": self.label, "kind": self.kind}

    def state(self) -> dict[str, Any]:
        """What stands in it now."""
        return {"text": self.text, "message": self.message, "choices": list(self.choices)}


class QuantityField(Field):
    """A number, with its unit or without: ``12``, ``12 ft``, ``3.5 min/m``, ``€0.27``.

    Value and bounds are in ``unit``, that of the model; ``above`` is itself left out. Where what stands there is the
    owner's (``known``), a value far off it is asked about.
    """

    def __init__(  # noqa: PLR0913  bounds stand beside what they bound
        self,
        key: str,
        label: str,
        value: float,
        unit: str,
        tongue: Tongue,
        *,
        least: float = 0.0,
        most: float = 1e7,
        above: float = float("-inf"),
        known: bool = True,
    ) -> None:
        super().__init__(key, label, value)
        self.unit, self.tongue, self.known = unit, tongue, known
        self.least, self.most, self.above = least, most, above

    def write(self, value: Any) -> str:
        """Write it in the shop's units."""
        return self.tongue.show(float(value), self.unit)

    def read(self, given: Any) -> float:
        """Read it, as `pricing.basis.typed.read` does."""
        if str(given).strip() == self.write(self._value):
            return float(self._value)  # what is shown is rounded; leaving it alone must not change the number
        now = float(self.stood) if self.known else None
        return read(given, self.unit, self.tongue, now=now, within=Range(self.least, self.most, self.above))


class WantedField(QuantityField):
    """A number that is asked for: empty, and None, until somebody types; `NOT_KNOWN` for who says so.

    The ``guess`` stands until then; a value far off it is asked about.
    """

    def __init__(self, key: str, label: str, guess: float, unit: str, tongue: Tongue, within: Range) -> None:
        super().__init__(key, label, guess, unit, tongue)
        self.guess, self.within, self._value = guess, within, None

    def write(self, value: Any) -> str:
        """Write nothing where nothing was said."""
        if value is None or value == NOT_KNOWN:
            return "" if value is None else _UNKNOWN
        return super().write(value)

    def read(self, given: Any) -> Any:
        """Take nothing, and "I don't know", as well."""
        typed = str(given).strip()
        if is_unknown(typed):
            return NOT_KNOWN
        return read(typed, self.unit, self.tongue, now=self.guess, within=self.within) if typed else None

    def spec(self) -> dict[str, Any]:
        """The guess as well."""
        return super().spec() | {"hint": f"guess: {self.tongue.show(self.guess, self.unit, 3)}"}


class ShareField(QuantityField):
    """A part of a whole from 0 to ``most``, written as per cent."""

    def __init__(self, key: str, label: str, value: float, tongue: Tongue, *, most: float = 1.0) -> None:
        super().__init__(key, label, value, "share", tongue, most=most)


class Whole(QuantityField):
    """A whole number."""

    def __init__(
        self, key: str, label: str, value: int, tongue: Tongue, *, least: int = 0, most: int = 100_000
    ) -> None:
        super().__init__(key, label, value, "whole", tongue, least=least, most=most)

    def write(self, value: Any) -> str:
        """Write its digits."""
        return str(int(value))

    def read(self, given: Any) -> int:
        """Read a whole number."""
        return int(super().read(given))


class ChoiceField(Field):
    """One of several: ``options`` are words by value."""

    kind = "choice"

    def __init__(self, key: str, label: str, value: str, options: Mapping[str, str]) -> None:
        super().__init__(key, label, value)
        self.options = dict(options)

    def read(self, given: Any) -> str:
        """Take one of the values."""
        if given not in self.options:
            raise Wrong(f"Must be {choices(self.options)}. {nearest(given, self.options)}".rstrip())
        return str(given)

    def spec(self) -> dict[str, Any]:
        """The choices as well."""
        return super().spec() | {"options": list(self.options.items())}


class CheckField(Field):
    """Yes or no."""

    kind = "check"

    def read(self, given: Any) -> bool:
        """Take yes or no."""
        return bool(given)

    def state(self) -> dict[str, Any]:
        """Whether it is ticked."""
        return {"checked": bool(self._value), "message": self.message}


class _Named(Record):
    name: Name


class WordsField(Field):
    """A name or a line of text that can be printed and stored."""

    def read(self, given: Any) -> str:
        """Take a printable text."""
        try:
            return read_record(_Named, {"name": str(given).strip()}, self.label).name
        except BadInput as why:
            raise Wrong(f"Must be {why.problems[0].accepts}. {why.problems[0].mend}".rstrip()) from None


class LinesField(Field):
    """Several lines of text, typed or pasted."""

    kind = "lines"


_BEYOND = 20  # times the high
_ANY_PRICE = 1e7


class Slider(QuantityField):
    """A number that is moved, with its low, likely and high marked; typed as well.

    It runs from ``least`` to ``most``; where ``typed`` allows more, these ends follow. Its ``marks`` are places with
    their words: low, likely and high of an assumption.
    """

    kind = "slider"

    marks: Sequence[tuple[float, str]] = ()

    def __init__(  # noqa: PLR0913  bounds stand beside what they bound
        self,
        key: str,
        label: str,
        value: float,
        unit: str,
        tongue: Tongue,
        *,
        least: float,
        most: float,
        typed: tuple[float, float] | None = None,
    ) -> None:
        super().__init__(key, label, value, unit, tongue, least=least, most=most, known=False)
        self.step, self.typed = (most - least) / 200, typed

    @classmethod
    def price(cls, key: str, label: str, tongue: Tongue) -> "Slider":
        """Make the slider of a price: its page says how far it runs, and any price may be typed."""
        return cls(key, label, 0.0, "money", tongue, least=0.0, most=1.0, typed=(0.0, _ANY_PRICE))

    @classmethod
    def of(cls, label: str, row: Assumption, tongue: Tongue, *, value: float | None = None) -> "Slider":
        """Make the slider of an uncertain number: it runs beyond low and high, and starts at the mean."""
        wide = max(row.high - row.low, 0.02 * max(row.high, 1e-9))
        least, most = max(0.0, row.low - 0.25 * wide), row.high + 0.25 * wide
        if row.unit == "share":
            most = min(most, 0.99)
        typed = (0.0, most if row.unit == "share" else _BEYOND * max(row.high, most))
        start = row.mean if value is None else value
        made = cls(row.key, label, start, row.unit, tongue, least=least, most=most, typed=typed)
        made.marks = ((row.low, "low"), (row.likely, "likely"), (row.high, "high"))
        return made

    def read(self, given: Any) -> float:
        """Read it; more may be typed than the slider's ends."""
        ends = self.least, self.most
        self.least, self.most = self.typed or ends
        try:
            return super().read(given)
        finally:
            self.least, self.most = ends

    def reach(self, place: float) -> None:
        """Let the slider run to a place that was typed, or that the page talks about."""
        if self.typed:
            place = min(max(place, self.typed[0]), self.typed[1])
            self.least, self.most = min(self.least, place), max(self.most, place)
            self.step = (self.most - self.least) / 200

    def mark(self, at: float) -> str:
        """Write a marked place, short and without its unit."""
        return self.tongue.number(at, self.unit, 3) + (" %" if self.unit == "share" else "")

    def give(self, given: Any, *, live: bool = False) -> bool:
        """Take a place of the slider, or typed text."""
        if isinstance(given, (int, float)) and not isinstance(given, bool):
            self.reach(float(given))  # a mark of a chart may be dragged beyond the slider's ends
            found = min(max(float(given), self.least), self.most)
            changed = bool(found != self._value)
            self.value = found
            return changed
        return super().give(given, live=live)

    def state(self) -> dict[str, Any]:
        """Its place, its ends and its marks as well."""
        self.reach(float(self._value))
        marks = [(at, word, self.mark(at)) for at, word in self.marks]
        ends = {"least": self.least, "most": self.most, "step": self.step}
        return super().state() | {"at": float(self._value), "marks": marks} | ends
