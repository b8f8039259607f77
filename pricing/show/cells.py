"""Cells of a record: shown in the shop's units, read with or without their unit, checked by the record itself."""

from dataclasses import dataclass
from typing import Any, TypeVar

from pydantic import ValidationError

from pricing.basis.records import Record, problems
from pricing.basis.tongue import ANY, PLAIN, Range, Tongue, Wrong
from pricing.basis.typed import read
from pricing.show.sheets import Cell

_R = TypeVar("_R", bound=Record)


@dataclass(frozen=True, slots=True)
class Measure:
    """A number of a record or of the rate book, as a cell shows it.

    Parameters
    ----------
    unit : str
        Unit of the model; ``share`` for a part of a whole, ``number`` or '' for a plain number.
    tongue : Tongue
        The shop's money and measures.
    within : Range
        What it may be.
    """

    unit: str
    tongue: Tongue
    within: Range = ANY

    @property
    def heading(self) -> str:
        """The unit as it is shown."""
        return self.tongue.unit(self.unit)

    @property
    def beside(self) -> str:
        """The unit as it stands behind a number."""
        return "%" if self.heading == "%" else f" {self.heading}".rstrip()

    def write(self, value: float, *, digits: int = 4) -> str:
        """Write the number in the shop's unit, without it."""
        return self.tongue.number(value, self.unit, digits)

    def read(self, given: str, now: float | None = None) -> float:
        """Read a number, which is in the unit shown where it stands alone.

        Parameters
        ----------
        now : float, optional
            What stands there: left as it is when its rounded text is given back.

        Raises
        ------
        Wrong
            It cannot be read, or is to be asked.
        """
        return read(given, self.unit, self.tongue, now=now, within=self.within)


def changed_record(record: _R, name: str, value: Any, tongue: Tongue = PLAIN) -> _R:
    """Return a record with one field, named with its unit, changed and the whole checked.

    Raises
    ------
    Wrong
        What is accepted, and how to mend it.
    """
    try:
        return type(record).model_validate({**dict(record), name: value}, context={"tongue": tongue})
    except ValidationError as why:
        told = problems(type(record), why)[0]
        raise Wrong(f"Must be {told.accepts}. {told.mend}".rstrip()) from None


def cell(text: str, before: str | None) -> Cell:
    """Return a cell that is marked when it differs from what is saved."""
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
