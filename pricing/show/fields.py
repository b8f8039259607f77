"""Inputs that take text with its unit, and say at once, beside the field, what is wrong.

A field holds the last good value: while what stands in it is wrong, the page goes on with that value and says
so. Nothing here needs a browser; `pricing.screens.form` draws fields.

Room     show. Imports basis, shop.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from pricing.basis.errors import BadInput, choices, nearest
from pricing.basis.records import Name, Record, read_record
from pricing.basis.units import System, convert, readable, shown, sig
from pricing.shop.rates import Assumption


@dataclass(frozen=True, slots=True)
class Tongue:
    """What a shop counts in and thinks in."""

    currency: str
    units: System

    def show(self, value: float, unit: str, digits: int = 4) -> str:
        """Write a value of the model in the shop's units, so that it can be read again."""
        if not unit:
            return sig(value, digits)
        at = shown(value, unit, self.units)
        return f"{sig(at.value, digits)} {readable(at.unit, self.currency)}"


class Field:
    """One input: its key, its label, its value, and what is wrong with what stands in it.

    Parameters
    ----------
    key, label : str
        Name for the page, words for people.
    value : object
        To begin with.
    """

    kind = "text"

    def __init__(self, key: str, label: str, value: Any) -> None:
        self.key, self.label, self._value = key, label, value
        self.message = ""
        self._text: str | None = None

    @property
    def value(self) -> Any:
        """Last good value, in the unit of the model."""
        return self._value

    @value.setter
    def value(self, value: Any) -> None:
        self._value, self._text, self.message = value, None, ""

    @property
    def text(self) -> str:
        """What stands in the field."""
        return self.write(self._value) if self._text is None else self._text

    def write(self, value: Any) -> str:
        """Turn a value into text."""
        return str(value)

    def read(self, given: Any) -> Any:
        """Turn what was given into a value.

        Raises
        ------
        Wrong
            With the words to put beside the field.
        """
        return given

    def give(self, given: Any) -> bool:
        """Take what was typed or chosen; True when it is a new good value."""
        try:
            found = self.read(given)
        except Wrong as why:
            self._text, self.message = str(given), str(why)
            return False
        changed = bool(found != self._value)
        self.value = found
        return changed

    def spec(self) -> dict[str, Any]:
        """What the browser needs to draw it, once."""
        return {"key": self.key, "label": self.label, "kind": self.kind}

    def state(self) -> dict[str, Any]:
        """What stands in it now."""
        return {"text": self.text, "message": self.message}


class Wrong(ValueError):
    """What was typed cannot be taken; the text says what can."""


class Quantity(Field):
    """A number with its unit: ``12 ft``, ``3.5 min/m``, ``0.27 EUR/kWh``.

    Parameters
    ----------
    key, label, value
        As in `Field`; the value in ``unit``.
    unit : str
        Unit of the model.
    tongue : Tongue
        The shop's money and measures.
    least, most : float
        Bounds, in ``unit``.
    """

    def __init__(
        self, key: str, label: str, value: float, unit: str, tongue: Tongue, *, least: float = 0.0, most: float = 1e7
    ) -> None:  # fmt: skip
        super().__init__(key, label, value)
        self.unit, self.tongue, self.least, self.most = unit, tongue, least, most

    def write(self, value: Any) -> str:
        """Write it in the shop's units."""
        return self.tongue.show(float(value), self.unit)

    def read(self, given: Any) -> float:
        """Read text with its unit."""
        if str(given).strip() == self.write(self._value):
            return float(self._value)  # what is shown is rounded; leaving it alone must not change the number
        if not self.unit:
            try:
                found: float | str = float(str(given).strip())
            except ValueError:
                raise Wrong(f"Write a number, like {self.write(self._value)}.") from None
        else:
            found = convert(given, self.unit, currency=self.tongue.currency)
        if isinstance(found, str):
            reason = found.split("Write it with its unit")[0].strip()
            example = self.write(self._value)
            raise Wrong(f"{reason} Write it like {example}." if reason else f"Write the unit too, like {example}.")
        if not self.least <= found <= self.most:
            low, high = (self.tongue.show(bound, self.unit) for bound in (self.least, self.most))
            raise Wrong(f"Must be from {low} to {high}.")
        return found


class Share(Field):
    """A part of a whole, written as per cent.

    Parameters
    ----------
    key, label, value
        As in `Field`; the value from 0 to 1.
    most : float
        Largest share taken.
    """

    def __init__(self, key: str, label: str, value: float, *, most: float = 1.0) -> None:
        super().__init__(key, label, value)
        self.most = most

    def write(self, value: Any) -> str:
        """Write it as per cent."""
        return f"{sig(100 * float(value), 4)} %"

    def read(self, given: Any) -> float:
        """Read ``25 %``, ``25`` or ``0.25``."""
        text = str(given).strip()
        percent = text.endswith("%")
        try:
            number = float(text.rstrip("% "))
        except ValueError:
            raise Wrong("Write a share, for example 25 %.") from None
        share = number / 100 if percent or number > 1 else number
        if not 0 <= share <= self.most:
            raise Wrong(f"Must be from 0 % to {self.write(self.most)}.")
        return share


class Whole(Field):
    """A whole number.

    Parameters
    ----------
    key, label, value
        As in `Field`.
    least, most : int
        Bounds.
    """

    def __init__(self, key: str, label: str, value: int, *, least: int = 0, most: int = 100_000) -> None:
        super().__init__(key, label, value)
        self.least, self.most = least, most

    def read(self, given: Any) -> int:
        """Read digits."""
        text = str(given).strip()
        if not text.isascii() or not text.isdecimal() or not self.least <= int(text[:9]) <= self.most:
            raise Wrong(f"Must be a whole number from {self.least} to {self.most}.")
        return int(text[:9])


class Choice(Field):
    """One of several.

    Parameters
    ----------
    key, label, value
        As in `Field`.
    options : mapping
        Words by value.
    """

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


class Check(Field):
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


class Words(Field):
    """A name or a line of text that can be printed and stored."""

    def read(self, given: Any) -> str:
        """Take a printable text."""
        try:
            return read_record(_Named, {"name": str(given).strip()}, self.label).name
        except BadInput as why:
            raise Wrong(f"Must be {why.problems[0].accepts}. {why.problems[0].mend}".rstrip()) from None


class Slider(Quantity):
    """A number that is moved, with its low, likely and high marked; typed as well.

    Parameters
    ----------
    key, label, value, unit, tongue, least, most
        As in `Quantity`; the slider runs from ``least`` to ``most``.

    Its ``marks`` are places with their words: low, likely and high of an assumption.
    """

    kind = "slider"

    marks: Sequence[tuple[float, str]] = ()

    def __init__(
        self, key: str, label: str, value: float, unit: str, tongue: Tongue, *, least: float, most: float
    ) -> None:  # fmt: skip
        super().__init__(key, label, value, unit, tongue, least=least, most=most)
        self.step = (most - least) / 200

    @classmethod
    def of(cls, label: str, row: Assumption, tongue: Tongue, *, value: float | None = None) -> "Slider":
        """Make the slider of an uncertain number: it runs beyond low and high, and starts at the mean."""
        wide = max(row.high - row.low, 0.02 * max(row.high, 1e-9))
        least, most = max(0.0, row.low - 0.25 * wide), row.high + 0.25 * wide
        if row.unit == "share":
            most = min(most, 0.99)
        unit = "" if row.unit in {"number", "share"} else row.unit
        kind = _ShareSlider if row.unit == "share" else cls
        made = kind(row.key, label, row.mean if value is None else value, unit, tongue, least=least, most=most)
        made.marks = ((row.low, "low"), (row.likely, "likely"), (row.high, "high"))
        return made

    def mark(self, at: float) -> str:
        """Write a marked place, short and without its unit."""
        return sig(shown(at, self.unit, self.tongue.units).value if self.unit else at)

    def give(self, given: Any) -> bool:
        """Take a place of the slider, or typed text."""
        if isinstance(given, (int, float)) and not isinstance(given, bool):
            found = min(max(float(given), self.least), self.most)
            changed = bool(found != self._value)
            self.value = found
            return changed
        return super().give(given)

    def state(self) -> dict[str, Any]:
        """Its place, its ends and its marks as well."""
        marks = [(at, word, self.mark(at)) for at, word in self.marks]
        ends = {"least": self.least, "most": self.most, "step": self.step}
        return super().state() | {"at": float(self._value), "marks": marks} | ends


class _ShareSlider(Slider):
    def mark(self, at: float) -> str:
        return self.write(at)

    def write(self, value: Any) -> str:
        return f"{sig(100 * float(value), 3)} %"

    def read(self, given: Any) -> float:
        share = Share(self.key, self.label, self._value)
        found = share.read(given)
        if not self.least <= found <= self.most:
            raise Wrong(f"Must be from {self.write(self.least)} to {self.write(self.most)}.")
        return found
