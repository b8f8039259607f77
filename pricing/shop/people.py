"""Who works, what the shop is and prints on its papers, what it pays every year whether or not a job comes in."""

from datetime import date
from typing import Annotated, Literal

from pydantic import AfterValidator, Field, field_validator

from pricing.basis.records import Name, Quantity, Record, Share, SomeShare, refuse


class Shopfront(Record):
    """What the shop is called, counts in and thinks in."""

    name: Name
    currency: str
    locale: str
    units: Literal["metric", "us"]
    air_degC: Annotated[float, Quantity("degC", at_least=-30.0, at_most=50.0)]

    @field_validator("currency")
    @classmethod
    def _known_currency(cls, code: str) -> str:
        from babel.core import get_global

        known = get_global("all_currencies")
        if code not in known:
            near = code[:3].upper()
            mend = f"Did you mean {near!r}?" if near in known else ""
            raise refuse("a currency code of ISO 4217, such as EUR or USD", mend)
        return code

    @field_validator("locale")
    @classmethod
    def _known_locale(cls, text: str) -> str:
        from babel.localedata import exists

        if not exists(text):
            raise refuse("a locale such as en_IE, en_US or de_DE")
        return text


class Owner(Record):
    """The owner's year: what must be drawn, and the hours that can be booked on jobs."""

    draw_per_y: Annotated[float, Quantity("money/year")]
    on_cost: Annotated[float, Quantity("share", at_most=3.0)]
    weeks: Annotated[float, Quantity("number", above=0.0, at_most=53.0)]
    hours_per_week_h: Annotated[float, Quantity("h", above=0.0, at_most=100.0)]
    billable: SomeShare

    @property
    def hours(self) -> float:
        """Hours at work a year. [h/y]"""
        return self.weeks * self.hours_per_week_h

    @property
    def billable_hours(self) -> float:
        """Hours a year that are booked on jobs. [h/y]"""
        return self.hours * self.billable


class Helper(Record):
    """A hand paid by the hour; ``steps`` are those the helper may do, ``heads`` how many such helpers there are."""

    wage_per_h: Annotated[float, Quantity("money/h")]
    on_cost: Annotated[float, Quantity("share", at_most=3.0)]
    weeks: Annotated[float, Quantity("number", above=0.0, at_most=53.0)]
    hours_per_week_h: Annotated[float, Quantity("h", above=0.0, at_most=100.0)]
    billable: SomeShare
    share: Share
    steps: tuple[str, ...]
    heads: Annotated[int, Quantity("whole", at_least=1, at_most=9)] = 1

    @property
    def wages_per_y(self) -> float:
        """Wages with on-costs of all hours paid, booked or not. [money/y]"""
        return self.heads * self.weeks * self.hours_per_week_h * self.wage_per_h * (1 + self.on_cost)

    @property
    def billable_hours(self) -> float:
        """Hours a year that are booked on jobs. [h/y]"""
        return self.heads * self.weeks * self.hours_per_week_h * self.billable

    @property
    def cost_per_h(self) -> float:
        """Wage with on-costs over the hours booked on jobs. [money/h]"""
        return self.wage_per_h * (1 + self.on_cost) / self.billable


class FixedCost(Record):
    """One bill that comes every year."""

    name: Name
    cost_per_y: Annotated[float, Quantity("money/year")]


class Tariffs(Record):
    """What energy costs; gas on its gross calorific value, as it is billed."""

    electricity_per_kwh: Annotated[float, Quantity("money/kWh")]
    gas_per_kwh: Annotated[float, Quantity("money/kWh")]


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
