"""What a paper may print: plain text in which nothing steers a printer, numbers, money and days in one locale.

Papers are written in English. A shop whose language is another one prints English month names in the order of its
country, and numbers and money with the signs of its own locale.
"""

import re
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from pricing.basis.money import separators
from pricing.show.words import Words

_STEERING = re.compile(
    "[\x00-\x09\x0b-\x1f\x7f-\x9f\xad\u0600-\u0605\u061c\u06dd\u070f\u180e\u200b\u200e\u200f\u2028-\u202e\u2060-\u206f"
    "\ud800-\udfff\ue000-\uf8ff\ufeff\ufff9-\ufffb\U000e0000-\U000e0fff\U000f0000-\U0010ffff]+"
)  # control signs but the line feed, format signs but the two joiners, halves of signs, private signs
_GAPS = "\t\u2028\u2029"


def clean(text: str) -> str:
    r"""Take out what is not seen but steers: control signs, marks of direction, halves of signs, private signs.

    Persian and the scripts of India cannot be written without the two joiners; these stay. The wide yen sign, which
    few fonts have, becomes the narrow one.

    >>> clean("Gate\x1b[31m \u202eexe.fdp\u2066"), clean("\u0645\u06cc\u200c\u062e"), clean("two\nlines\tand a tab")
    ('Gate[31m exe.fdp', '\u0645\u06cc\u200c\u062e', 'two\nlines and a tab')
    """
    return _STEERING.sub(lambda found: " " if set(found.group()) & set(_GAPS) else "", text).replace("\uffe5", "¥")


class TypstText(str):
    """A text of our own that goes into a page as it is."""

    __slots__ = ()

    def __html__(self) -> str:
        return self


def cleaned(value: Any) -> Any:
    """Clean every text in mappings, records and sequences; scripts and all else stay as they are."""
    if isinstance(value, str):
        return value if isinstance(value, TypstText) else clean(value)
    if isinstance(value, Mapping):
        return {key: cleaned(one) for key, one in value.items()}
    if isinstance(value, tuple):
        parts = [cleaned(one) for one in value]
        return type(value)(*parts) if hasattr(value, "_fields") else tuple(parts)
    return [cleaned(one) for one in value] if isinstance(value, list) else value


def plain(value: Any) -> Any:
    """Return a value of a paper as JSON knows it, every text in it cleaned.

    Parameters
    ----------
    value : Any
        Text, number, day, or mappings, records and sequences of them.
    """
    if isinstance(value, str):
        return clean(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Mapping):
        return {clean(str(key)): plain(one) for key, one in value.items()}
    if hasattr(value, "_asdict"):
        return plain(value._asdict())
    if isinstance(value, Sequence):
        return [plain(one) for one in value]
    if value is None or isinstance(value, (bool, int)):
        return value
    number = float(value)
    return number if number == number and abs(number) < float("inf") else None  # noqa: PLR0124  NaN


_SHARE = re.compile(r"\d+\.\d+(?= ?%)")


def local_rows(rows: Any, locale: str) -> Any:
    """Return the rows of a chart with the locale's decimal sign in the shares that their words tell.

    Money in them is written in the locale already; names are the owner's own.
    """
    decimal, _ = separators(locale)
    if decimal == ".":
        return rows

    def swap(text: str) -> str:
        return _SHARE.sub(lambda found: found.group().replace(".", decimal), text)

    words = {"text", "why"}
    return [{k: swap(v) if k in words and isinstance(v, str) else v for k, v in row.items()} for row in rows]


class PaperWords(Words):
    """How a shop writes money and measures on paper: all of it in the shop's locale."""

    __slots__ = ()

    def local(self, text: str) -> str:
        """Write a text without money in it with the decimal sign of the locale in its numbers."""
        return local(text, self.shop.front.locale)

    def day(self, day: date) -> str:
        """Write a day in words."""
        return day_words(day, self.shop.front.locale)


def day_words(day: date, locale: str) -> str:
    """Write a day with an English month, in the order of the locale's country.

    >>> from datetime import date
    >>> [day_words(date(2026, 11, 25), locale) for locale in ("en_IE", "en_US", "de_DE", "ja_JP")]
    ['25 November 2026', 'November 25, 2026', '25 November 2026', '25 November 2026']
    """
    from babel.dates import format_date
    from babel.localedata import exists

    language, _, country = locale.partition("_")
    wanted = (locale if language == "en" else "", f"en_{country}", "en_001")
    return str(format_date(day, format="long", locale=next(name for name in wanted if name and exists(name))))


def local(text: str, locale: str) -> str:
    """Write the numbers of an English text the signs of a locale; there must be no money in it.

    >>> local("0.366 to 1,234.5 m, 25%", "de_DE"), local("6.26 min/m", "en_US")
    ('0,366 to 1.234,5 m, 25%', '6.26 min/m')
    """
    decimal, group = separators(locale)
    if (decimal, group) == (".", ","):
        return text

    def swap(found: re.Match[str]) -> str:
        return found.group().replace(",", "\0").replace(".", decimal).replace("\0", group)

    return re.sub(r"\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d+\.\d+", swap, text)
