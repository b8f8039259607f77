"""Cells of a record: shown in the shop's units, read with or without their unit, checked by the record itself.

Room     show. Imports basis, show.edit_table, show.fields.
"""

from dataclasses import dataclass
from typing import Any, TypeVar

from pydantic import ValidationError

from pricing.basis.records import Record, problems
from pricing.basis.units import convert, readable, shown, sig
from pricing.show.edit_table import Cell
from pricing.show.fields import Tongue, Wrong

R = TypeVar("R", bound=Record)


@dataclass(frozen=True, slots=True)
class Measure:
    """A number of a record or of the rate book, as a cell shows it.

    Parameters
    ----------
    unit : str
        Unit of the model; ``share`` for a part of a whole, ``number`` or '' for a plain number.
    tongue : Tongue
        The shop's money and measures.
    """

    unit: str
    tongue: Tongue

    @property
    def plain(self) -> bool:
        """Whether it has no unit."""
        return self.unit in {"", "number", "share"}

    @property
    def heading(self) -> str:
        """The unit as it is shown."""
        if self.unit == "share":
            return "%"
        if self.plain:
            return ""
        return readable(shown(1.0, self.unit, self.tongue.units).unit, self.tongue.currency)

    def write(self, value: float, *, digits: int = 4) -> str:
        """Write the number in the shop's unit, without it."""
        if self.unit == "share":
            return sig(100 * value, digits)
        return sig(value if self.plain else shown(value, self.unit, self.tongue.units).value, digits)

    def read(self, given: str, now: float | None = None) -> float:
        """Read a bare number in the unit shown, or a number with any unit of its kind.

        Parameters
        ----------
        given : str
            What was typed.
        now : float, optional
            What stands there: left as it is when its rounded text is given back.

        Raises
        ------
        Wrong
            It cannot be read.
        """
        text = given.strip()
        if now is not None and text == self.write(now):
            return now
        try:
            number = float(text.removesuffix("%").strip() if self.unit == "share" else text)
        except ValueError:
            number = float("nan")
        if number == number and abs(number) < float("inf"):  # noqa: PLR0124  NaN
            if self.unit == "share":
                return number / 100
            if self.plain:
                return number
            text = f"{number!r} {self._typed_unit()}"
        if self.plain:
            raise Wrong(
                "Write a number, for example 1.5." if self.unit != "share" else "Write a share, for example 25 %."
            )
        found = convert(text, self.unit, currency=self.tongue.currency)
        if isinstance(found, str):
            raise Wrong(f"Write it like {self.write(now or 1.0)} {self.heading}.")
        return found

    def _typed_unit(self) -> str:
        unit = shown(1.0, self.unit, self.tongue.units).unit
        return unit.replace("money", self.tongue.currency)


def changed_record(record: R, name: str, value: Any, *, currency: str = "") -> R:
    """Give a record with one field changed, checked as a whole.

    Parameters
    ----------
    record : Record
        As it stands.
    name : str
        The field, with its unit.
    value : object
        In the unit of the field.
    currency : str
        Code of the shop's currency, for the words.

    Raises
    ------
    Wrong
        What is accepted, and how to mend it.
    """
    try:
        return type(record).model_validate({**dict(record), name: value}, context={"currency": currency})
    except ValidationError as why:
        told = problems(type(record), why)[0]
        raise Wrong(f"Must be {told.accepts}. {told.mend}".rstrip()) from None


def cell(text: str, before: str | None) -> Cell:
    """Give a cell that is marked when it differs from what is saved."""
    return Cell(text, changed=before is not None and text != before)


def pick(given: str, options: Any) -> str:
    """Take one of the options.

    Raises
    ------
    Wrong
        It is none of them.
    """
    if given not in dict(options):
        raise Wrong(f"Must be one of {', '.join(dict(options).values())}.")
    return given
