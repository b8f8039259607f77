"""Numbers as people write them: decimal comma or point, thousands marks, fractions.

Takes    text: ``1,250.5``, ``1.250,5``, ``1 250,5``, ``3 1/2``, ``3-1/2``, ``3½``.
Gives    every value that it can stand for, the shop's own habit first: ``10.800`` is 10.8 to one and 10,800 to another.
Why      babel knows the habits of each locale, and refuses a number whose groups are not whole.
"""

import re
import unicodedata
from functools import lru_cache
from typing import NamedTuple

_WHOLE_AND_PART = r"(?:(\d+)(?:\s*-\s*|\s+))?(\d+)\s*[/⁄]\s*(\d+)"
_DIGITS = r"(?:\d{1,3}(?:[ ']\d{3})+(?:[.,]\d+)?(?![\d/:])|\d+(?:[.,]\d+)*\.?|[.,]\d+)(?:[eE][-+]?\d+)?"
NUMBER = rf"[-+]?\s*(?:{_WHOLE_AND_PART.replace('(', '(?:').replace('(?:?:', '(?:')}|{_DIGITS})"
"""A number at the start of a text, as a pattern without groups."""

_PLAIN = re.compile(r"[-+]?(?:\d+(?:\.(?:\d{1,2}|\d{4,})?)?|0?\.\d+)(?:[eE][-+]?\d+)?")
_PLAIN_ZERO = re.compile(r"[-+]?0*\.\d+")
_FRACTION = re.compile(rf"([-+]?)\s*{_WHOLE_AND_PART}")
_SPACED = re.compile(r"[-+]?\d{1,3}(?:[ ']\d{3})+(?:[.,]\d+)?")
_TWO_WAYS = re.compile(r"[-+]?[1-9]\d{0,2}\.\d{3}")
_VULGAR = re.compile(r"(?<=\d)(?=[¼-¾⅐-⅞])")
_SAME = str.maketrans({"−": "-", "–": "-", "‘": "'", "’": "'", "′": "'", "“": '"', "”": '"', "″": '"', "Δ": "∆"})


class Reading(NamedTuple):
    """What a number can stand for; ``usual`` where the shop's own habit says so."""

    value: float
    usual: bool


def tidy(text: str) -> str:
    r"""Write a text in the plain characters of its signs: wide digits, odd spaces, dashes, quotes, built fractions.

    >>> tidy("３½″"), tidy("42.000\u202f€")
    ('3 1/2"', '42.000 €')
    """
    text = _VULGAR.sub(" ", text.translate(_SAME))
    return re.sub(r"\s+", " ", unicodedata.normalize("NFKC", text)).replace("⁄", "/").strip()


def readings(text: str, locale: str = "en", *, file: bool = False) -> tuple[Reading, ...]:
    """Collect what a number can stand for, none where it is no number; the shop's habit comes first.

    Parameters
    ----------
    text : str
        The number alone, tidied.
    locale : str
        Where the shop is: ``de_DE`` groups by points and has a decimal comma.
    file : bool
        Files are written with a decimal point, whatever the shop's habit.

    Examples
    --------
    >>> [r.value for r in readings("3-1/2")], [r.value for r in readings("1,250")]
    ([3.5], [1250.0])
    >>> [r.value for r in readings("10.800", "en_IE")], [r.value for r in readings("10.800", "de_DE")]
    ([10.8, 10800.0], [10800.0])
    """
    if _PLAIN.fullmatch(text) or _PLAIN_ZERO.fullmatch(text):
        return (Reading(float(text), usual=True),)
    if part := _FRACTION.fullmatch(text):
        if int(part[4]) == 0:
            return ()
        value = float(part[2] or 0) + float(part[3]) / float(part[4])
        return (Reading(-value if part[1] == "-" else value, usual=True),)
    if _SPACED.fullmatch(text):
        return (Reading(float(text.replace(" ", "").replace("'", "").replace(",", ".")), usual=True),)
    mark, group = _marks(locale)
    kinds = ("en", "de") if mark == "." else ("de", "en")
    tried = ((kind, _strict(text, kind)) for kind in kinds)
    found = {kind: value for kind, value in tried if value is not None}
    if len(set(found.values())) < 2:
        return tuple(Reading(value, usual=True) for value in [*found.values()][:1])
    if group in text and not (file and group == "."):
        return (Reading(max(found.values(), key=abs), usual=True),)
    return tuple(Reading(value, usual=mark in text and kind == kinds[0]) for kind, value in found.items())


def spelled(value: float, locale: str = "en") -> str:
    """Write a number so that it can be read in one way only: no thousands marks, and never three decimals.

    >>> spelled(10.8), spelled(3.125), spelled(3.125, "de_DE"), spelled(36000.0)
    ('10.8', '3.1250', '3,1250', '36000')
    """
    text = repr(float(value)).removesuffix(".0")
    return localized(f"{text}0" if _TWO_WAYS.fullmatch(text) else text, locale)


def localized(text: str, locale: str) -> str:
    """Put a locale's decimal mark into a number that is written with a point.

    >>> localized("3.658", "de_DE"), localized("3.658", "en_IE")
    ('3,658', '3.658')
    """
    mark = _marks(locale)[0]
    return text if mark == "." else text.replace(".", mark)


def signed(text: str) -> str:
    """Write a number for readers: its sign is a minus, as charts have it, and no hyphen.

    >>> signed("-37.6%"), signed("37.6%")
    ('−37.6%', '37.6%')
    """
    return text.replace("-", "−")


def grouped(value: float, locale: str = "en") -> str:
    """Write a number as it stands in a sentence of the locale, with its thousands marked.

    >>> grouped(10800.0, "en_IE"), grouped(10800.0, "de_DE"), grouped(10.8, "fr_FR")
    ('10,800', '10.800', '10,8')
    """
    from babel.numbers import format_decimal

    return str(format_decimal(value, format="#,##0.######", locale=locale or "en"))


@lru_cache(maxsize=32)
def _marks(locale: str) -> tuple[str, str]:
    """Collect the decimal mark of a locale, and its mark of thousands."""
    if locale in {"", "en", "en_IE", "en_US", "en_GB"}:
        return ".", ","  # what most shops have, without loading babel
    from babel import Locale, UnknownLocaleError
    from babel.numbers import get_decimal_symbol, get_group_symbol

    try:
        at = Locale.parse(locale)
    except (UnknownLocaleError, ValueError):
        return ".", ","
    return str(get_decimal_symbol(at)), str(get_group_symbol(at))


def _strict(text: str, locale: str) -> float | None:
    from babel.numbers import NumberFormatError, parse_decimal

    if not re.fullmatch(r"[-+]?(?:\d+(?:[.,]\d+)*\.?|[.,]\d+)", text):
        return None
    sign, digits = (text[0], text[1:]) if text[0] in "+-" else ("", text)
    try:
        value = float(parse_decimal(digits if digits[0].isdigit() else f"0{digits}", locale=locale, strict=True))
    except (NumberFormatError, ValueError):
        return None
    return -value if sign == "-" else value
