"""Inputs of amounts that may be known only from where to where: ``5 to 9 m``, ``20 to 30``."""

from typing import Any

from pricing.basis.ranges import Between, ends_of, read_between, says_range
from pricing.basis.tongue import Range
from pricing.show.fields import QuantityField, Whole


class Amount(QuantityField):
    """A number with its unit, or a range of it."""

    def write(self, value: Any) -> str:
        """Write it in the shop's units."""
        if not isinstance(value, Between):
            return super().write(value)
        ends = f"{super().write(value.low)} to {super().write(value.high)}"
        return ends if value == Between(value.low, value.high) else f"{ends}, likely {super().write(float(value))}"

    def read(self, given: Any) -> float:
        """Read one amount, or two with ``to`` between them."""
        if isinstance(self._value, Between) and str(given).strip() == self.write(self._value):
            return self._value  # what is shown is rounded; leaving it alone must not change the ends
        if not says_range(given):
            return super().read(given)
        return read_between(given, self.unit, self.tongue, within=Range(self.least, self.most, self.above))


class CountField(Whole):
    """A whole number, or a range of them."""

    def write(self, value: Any) -> str:
        """Write its digits, or those of both ends."""
        return str(value) if ends_of(value) else super().write(value)

    def read(self, given: Any) -> int:
        """Read a whole number, or two with ``to`` between them."""
        if not says_range(given):
            return super().read(given)
        return read_between(given, self.unit, self.tongue, within=Range(self.least, self.most))  # type: ignore[return-value]
