"""What stands on papers for customers besides the work and its price: address, numbers, how to pay."""

from datetime import date
from typing import Annotated

from pydantic import AfterValidator, Field

from pricing.basis.records import Record, refuse

_LONGEST = 120


def _line(text: str) -> str:
    if not text.strip() or len(text) > _LONGEST or not text.isprintable():
        raise refuse(f"a line of 1 to {_LONGEST} printable characters", "Leave the field out where there is nothing.")
    return text.strip()


LetterheadLine = Annotated[str, AfterValidator(_line)]


class Letterhead(Record):
    """The table ``[letterhead]`` of ``shop.toml``; every field may be left out."""

    address: Annotated[tuple[LetterheadLine, ...], Field(max_length=6)] = ()
    phone: LetterheadLine | None = None
    email: LetterheadLine | None = None
    tax_number: LetterheadLine | None = None
    quote_prefix: Annotated[str, Field(pattern=r"^[A-Za-z0-9-]{1,12}$")] | None = None
    payment: LetterheadLine | None = None

    @property
    def lines(self) -> list[str]:
        """What stands in the corner of every paper for customers, line by line."""
        reached = " · ".join(text for text in (self.phone, self.email) if text)
        return [*self.address, *([reached] if reached else [])]

    def quote_number(self, day: date, place: int) -> str:
        """Write the number of a quote: prefix, day, and which quote of the day; '' where there is no prefix.

        >>> Letterhead(quote_prefix="Q").quote_number(date(2026, 11, 25), 2), Letterhead().quote_number(date.min, 1)
        ('Q20261125-2', '')
        """
        return f"{self.quote_prefix}{day:%Y%m%d}-{place}" if self.quote_prefix else ""
