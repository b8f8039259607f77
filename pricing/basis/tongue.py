"""How a shop writes numbers, what a field takes, and what is said of a text that cannot be taken."""

from dataclasses import dataclass
from typing import NamedTuple

from pricing.basis.numerals import localized
from pricing.basis.units import System, readable, shown, sig

LARGEST = 1e12
"""Any number above it is a slip; sums of such numbers stay finite."""
COUNTED = "a number that can be counted with"
PURE = frozenset({"", "number", "whole", "dimensionless"})
"""Units of what is a plain number."""


@dataclass(frozen=True, slots=True)
class Tongue:
    """What a shop counts in, thinks in, and how it writes numbers.

    Parameters
    ----------
    currency : str
        Code of its currency.
    units : {'metric', 'us'}
        What it thinks in.
    locale : str
        Where it is: says which mark is the decimal one.
    """

    currency: str = ""
    units: System = "metric"
    locale: str = "en"

    def number(self, value: float, unit: str, digits: int = 4) -> str:
        """Write a value of the model in the shop's unit, without it."""
        if unit == "share":
            value = 100 * value
        elif unit not in PURE:
            value = shown(value, unit, self.units).value
        return localized(sig(value, digits), self.locale)

    def show(self, value: float, unit: str, digits: int = 4) -> str:
        """Write a value of the model in the shop's units, so that it can be read again."""
        return f"{self.number(value, unit, digits)} {self.unit(unit)}".rstrip()

    def unit(self, unit: str) -> str:
        """Write the unit that the shop sees a value in."""
        if unit in PURE:
            return ""
        return "%" if unit == "share" else readable(shown(1.0, unit, self.units).unit, self.currency)


PLAIN = Tongue()


@dataclass(frozen=True, slots=True)
class Range:
    """What a value may be, in the unit of the field; ``above`` is itself left out."""

    least: float = -LARGEST
    most: float = LARGEST
    above: float = float("-inf")

    def holds(self, value: float) -> bool:
        """Tell whether a value is in it."""
        return self.above < value and self.least <= value <= self.most

    def words(self, unit: str, tongue: Tongue) -> str:
        """Say what may stand there, as 'it must be ...'."""
        most = f"at most {tongue.show(self.most, unit)}" if self.most < LARGEST else ""
        if self.above > -LARGEST:
            return f"above {tongue.show(self.above, unit)}" + (f" and {most}" if most else "")
        if self.least > -LARGEST:
            return f"{tongue.show(self.least, unit)} or more" + (f" and {most}" if most else "")
        return most or COUNTED


ANY = Range()


class Choice(NamedTuple):
    """One reading: what to write for it, and how it is shown."""

    given: str
    words: str


class Wrong(ValueError):
    """What was typed cannot be taken: why, the readings where it has several, what a bound that is passed takes."""

    def __init__(self, why: str, choices: tuple[Choice, ...] = (), accepts: str = "") -> None:
        super().__init__(why)
        self.choices, self.accepts = choices, accepts

    @property
    def told(self) -> str:
        """The whole of it in words, for a file or a command, where nothing can be clicked."""
        if not self.choices:
            return str(self)
        ways = [
            f"'{one.given}'"
            if one.given == one.words
            else f"'{one.given}' {'to' if one.words.startswith('leave ') else 'for'} {one.words}"
            for one in self.choices
        ]
        return f"{self} Write {' or '.join(ways)}."
