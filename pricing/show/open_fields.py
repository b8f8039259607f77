"""Inputs that may stay empty or hold several words, and amounts known only from where to where: ``5 to 9 m``."""

from typing import Any

from pricing.basis.ranges import Between, ends_of, read_between, says_range
from pricing.basis.tongue import Range
from pricing.show.fields import Field, QuantityField, Whole


class TextField(Field):
    """A line of words; it may be empty, and the record says what may stand there."""

    def __init__(self, key: str, label: str, value: str | None, *, optional: bool = False) -> None:
        super().__init__(key, label, value)
        self.optional = optional

    def write(self, value: Any) -> str:
        """Write nothing for nothing."""
        return "" if value is None else str(value)

    def read(self, given: Any) -> str | None:
        """Take a text without the space around it."""
        return str(given).strip() or (None if self.optional else "")


class Listed(Field):
    """Several lines of words, with semicolons between them."""

    def write(self, value: Any) -> str:
        """Write them in one line."""
        return "; ".join(value)

    def read(self, given: Any) -> tuple[str, ...]:
        """Take each line."""
        return tuple(line.strip() for line in str(given).split(";") if line.strip())


class Maybe(Field):
    """A field that may stay empty, and hold None; ``inner`` is what it is where it does not."""

    def __init__(self, inner: Field, value: Any) -> None:
        super().__init__(inner.key, inner.label, value)
        self.inner = inner

    def write(self, value: Any) -> str:
        """Write nothing for nothing."""
        return "" if value is None else self.inner.write(value)

    def read(self, given: Any) -> Any:
        """Read nothing as nothing."""
        return None if not str(given).strip() else self.inner.read(given)


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
