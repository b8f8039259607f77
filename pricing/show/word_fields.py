"""Inputs for words that may be missing, for several of them, and for a field that may stay empty."""

from typing import Any

from pricing.show.fields import Field


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
