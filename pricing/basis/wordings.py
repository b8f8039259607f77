"""The words and signs around a number: money before or behind it, "a month", "per foot", feet with inches."""

import re
from collections.abc import Mapping
from functools import lru_cache

from pricing.basis.numerals import NUMBER, readings

KIN: Mapping[str, tuple[str, ...]] = {
    "money/year": ("money/month", "money/week"),
    "money/h": ("money/year", "money/min"),
    "min": ("h",),
    "h": ("min",),
    "mm": ("cm", "m", "in", "ft"),
    "m": ("mm", "cm", "in", "ft"),
    "um": ("mm", "thou"),
    "kg": ("g", "lb", "t"),
    "degC": ("degF",),
    "m**2": ("cm**2", "ft**2"),
    "year": ("month",),
    "kw": ("W",),
    "kWh": ("Wh",),
}
"""Other units in which people write a value without saying so."""

_OFTEN = {
    "monthly": "/month",
    "weekly": "/week",
    "yearly": "/year",
    "annually": "/year",
    "hourly": "/h",
    "daily": "/day",
    "p.a": "/year",
    "pa": "/year",
}
_PER = re.compile(r"\b(?:per|an?|each|every)\s+(?=[A-Za-z])", re.IGNORECASE)
_DEGREES = re.compile(r"\bdeg(?:ree)?s?\.?\s*([CF])\b")
_CODE = re.compile(r"\b[A-Z]{3}\b")
_HOURS, _MINUTES = {"h", "hr", "hrs", "hour", "hours"}, {"min", "mins", "minute", "minutes"}
_PAIRS = (
    (_HOURS, "h", {"", "m", *_MINUTES}, 60),
    (_MINUTES, "min", {"", "s", "sec", "secs", "second", "seconds"}, 60),
    ({"'", "ft", "foot", "feet"}, "ft", {"", '"', "''", "in", "inch", "inches"}, 12),
    ({"lb", "lbs", "pound", "pounds"}, "lb", {"", "oz", "ounce", "ounces"}, 16),
)
_FIRST = r"(?:hrs?|h|min)(?=\s*\d)|[A-Za-z]+(?=[\s.,])|'"  # "2h30", but "3 ft2" is an area
_TWO = re.compile(rf"({NUMBER})\s*({_FIRST})\.?,?\s*(?:and\s+)?({NUMBER})\s*([A-Za-z]*|\"|'')\.?")


def two_units(text: str) -> tuple[float, str] | None:
    r"""Read what is told in two units, the second within the first; None where it is not.

    >>> two_units("5' 4 1/2\""), two_units("2 h 30"), two_units("3 lb 8 oz"), two_units("3 m2")
    ((5.375, 'ft'), (2.5, 'h'), (3.5, 'lb'), None)
    """
    match = _TWO.fullmatch(text)
    for first, unit, second, count in _PAIRS if match else ():
        if match and match[2].casefold() in first and match[4].casefold() in second:
            whole, rest = readings(match[1]), readings(match[3])
            if len(whole) == len(rest) == 1 and 0 <= rest[0].value < count:
                return whole[0].value + rest[0].value / count * (-1 if match[1].startswith("-") else 1), unit
    return None


@lru_cache(maxsize=512)
def unit_words(text: str) -> str:
    """Write the words behind a number as a unit.

    >>> unit_words("a month"), unit_words("per sq. ft"), unit_words("in."), unit_words("weekly"), unit_words("kWh")
    ('/month', '/sq ft', 'in', '/week', 'kWh')
    """
    text = re.sub(r"(?<=[A-Za-z])\.(?=\W|$)", "", text.strip()) if text.casefold() not in {"p.a."} else "pa"
    if often := _OFTEN.get(text.casefold()):
        return often
    text = _DEGREES.sub(r"deg\1", text)
    text = _PER.sub("/", text)
    text = {"'": "ft", "''": "in", '"': "in"}.get(text, text)
    return re.sub(r"\s*/\s*", "/", text)


def money_apart(text: str, currency: str, locale: str) -> str:
    """Take the shop's own money sign out of a text.

    >>> money_apart("€35/h", "EUR", "en_IE"), money_apart("35 dollars a week", "USD", "en_US")
    ('35/h', '35 a week')
    """
    if not currency:
        return text
    left, count = re.subn(rf"\b{currency}\b|\bmoney\b", "", text)
    if not count and re.search(r"[^\W\d_]|[^\x00-\x7f]|\$", text):
        for sign in _signs(currency, locale):
            word = r"(?<![^\W\d_])" if sign[0].isalpha() else "", r"(?![^\W\d_])" if sign[-1].isalpha() else ""
            left, more = re.subn(f"{word[0]}{re.escape(sign)}{word[1]}", "", left, flags=re.I)
            count += more
            if count:
                break
    return re.sub(r"\s+", " ", left).replace("- ", "-").strip()


def other_money(text: str, currency: str) -> str:
    """Name money that is not the shop's, in a text whose own was taken out; empty where there is none."""
    import unicodedata

    if sign := next((char for char in text if unicodedata.category(char) == "Sc"), ""):
        return sign
    codes = [code for code in _CODE.findall(text) if code != currency]
    if not codes:
        return ""
    from babel.core import get_global  # heavy: only where there is such a word

    return next((code for code in codes if code in get_global("all_currencies")), "")


@lru_cache(maxsize=16)
def _signs(currency: str, locale: str) -> tuple[str, ...]:
    """Write the ways a currency is written: its signs and its names, in English and where the shop is."""
    from babel import Locale, UnknownLocaleError
    from babel.numbers import get_currency_name, get_currency_symbol

    try:
        here = [str(Locale.parse(locale or "en")), "en"]
    except (UnknownLocaleError, ValueError):
        here = ["en"]
    signs = {get_currency_symbol(currency, at).replace("￥", "¥") for at in (*here, "en_001")} | {currency}
    signs |= {mark for sign in signs if (mark := sign.strip("ABCDEFGHIJKLMNOPQRSTUVWXYZ"))}
    names = {get_currency_name(currency, count=n, locale=at).split()[-1] for n in (1, 2) for at in here}
    return tuple(sorted(signs | names, key=len, reverse=True))
