"""Money as the shop prints it, and what a machine costs a year."""

import re
from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from pricing.basis.checks import Floats, is_symbol, nonneg, positive
from pricing.basis.numerals import signed


def show_money(value: float, currency: str, locale: str, *, cents: bool = True) -> str:
    """Write money in the shop's currency (ISO 4217) and locale; without cents, in whole units.

    >>> show_money(1234.5, "EUR", "en_IE"), show_money(1234.5, "USD", "en_US", cents=False)
    ('€1,234.50', '$1,234')
    """
    if not np.isfinite(value):
        return "n/a"
    from babel.numbers import format_currency  # heavy: only where money is shown

    if cents:
        return signed(str(format_currency(value, currency, locale=locale)))
    whole = _whole(locale)
    return signed(str(format_currency(round(value), currency, format=whole, locale=locale, currency_digits=False)))


def show_amount(value: float, currency: str, locale: str) -> str:
    """Write money without its sign, for a table whose head names the currency: as many decimals as that has.

    >>> show_amount(1234.5, "EUR", "de_DE"), show_amount(1234.5, "JPY", "ja_JP"), show_amount(1234.5, "USD", "en_US")
    ('1.234,50', '1,234', '1,234.50')
    """
    if not np.isfinite(value):
        return "n/a"
    from babel.numbers import format_decimal, get_currency_precision

    pattern = _pattern("#,##0.00", get_currency_precision(currency))
    return signed(str(format_decimal(value, format=pattern, locale=locale)))


def show_rate(value: float, currency: str, locale: str) -> str:
    r"""Write money per unit with four digits where it has them, so that a product with it comes out as printed.

    >>> show_rate(0.0933333, "EUR", "en_IE"), show_rate(0.27, "EUR", "de_DE"), show_rate(34.972, "JPY", "ja_JP")
    ('€0.09333', '0,27\xa0€', '￥34.97')
    """
    if not np.isfinite(value) or value == 0:
        return show_money(value, currency, locale)
    from babel import Locale
    from babel.numbers import format_currency, get_currency_precision

    least = get_currency_precision(currency)
    most = min(max(least, _DIGITS - 1 - int(np.floor(np.log10(abs(value))))), 8)
    pattern = _pattern(Locale.parse(locale).currency_formats["standard"].pattern, least, most)
    return signed(str(format_currency(value, currency, format=pattern, locale=locale, currency_digits=False)))


_DIGITS = 4


def _pattern(pattern: str, least: int, most: int = 0) -> str:
    """Put another number of decimals into a locale's pattern, which has two."""
    decimals = "0" * least + "#" * (most - least)
    return pattern.replace("0.00", f"0.{decimals}" if decimals else "0")


@lru_cache(maxsize=8)
def separators(locale: str) -> tuple[str, str]:
    """Collect the decimal sign that a locale writes money with, and its sign between thousands.

    >>> separators("de_DE"), separators("en_IE")
    ((',', '.'), ('.', ','))
    """
    digits = re.findall(r"\d([^\d])\d", show_money(1234567.5, "XXX", locale))
    return (digits[-1], digits[0]) if len(digits) > 1 else (".", ",")


@lru_cache(maxsize=8)
def minor_digits(currency: str) -> int:
    """Work out how many digits a currency (ISO 4217) has after its unit.

    >>> minor_digits("EUR"), minor_digits("JPY")
    (2, 0)
    """
    from babel.core import get_global

    table = get_global("currency_fractions")
    return int(table.get(currency, table["DEFAULT"])[0])


@lru_cache(maxsize=8)
def _whole(locale: str) -> str:
    from babel import Locale

    return _pattern(str(Locale.parse(locale).currency_formats["standard"].pattern), 0)


def capital_recovery(rate_per_y: Floats, years: Floats) -> Floats:
    """Work out the yearly share that pays a sum back with interest.

    Parameters
    ----------
    rate_per_y : float or array
        Interest a year, 0.08 for 8 %. Zero is straight-line.
    years : float or array
        Life.

    Returns
    -------
    float or array
        Annuity factor ``i (1+i)^n / ((1+i)^n - 1)``. [1/y]

    Raises
    ------
    BadInput
        The rate is negative or the life is not above zero.

    Source: ``engineering_economy``.

    Examples
    --------
    >>> round(capital_recovery(0.35, 5), 4), capital_recovery(0.0, 4)
    (0.4505, 0.25)
    """
    nonneg("capital recovery", rate_per_y=rate_per_y)
    positive("capital recovery", years=years)
    rate, life = (v if is_symbol(v) else np.asarray(v, dtype=np.float64) for v in (rate_per_y, years))
    growth = (1 + rate) ** life
    with np.errstate(divide="ignore", invalid="ignore"):
        factor = np.where(growth > 1, rate * growth / (growth - 1), 1 / life)
    return float(factor) if factor.ndim == 0 else factor


def present_value(flows: Sequence[float], rate_per_y: float) -> float:
    """Work out what money that comes and goes over the years is worth today.

    Parameters
    ----------
    flows : sequence of float
        Today, after one year, after two ...; what is spent is negative. [money]
    rate_per_y : float
        Interest a year, 0.08 for 8 %.

    Returns
    -------
    float
        ``sum of flow / (1 + i)^year``, the net present value. [money]

    Raises
    ------
    BadInput
        The rate is negative.

    Source: ``engineering_economy``.

    Examples
    --------
    >>> round(present_value([-40_000, 5_000, 8_000, 12_000, 30_000], 0.08), 2)
    3065.22
    """
    nonneg("present value", rate_per_y=rate_per_y)
    return float(sum(flow / (1 + rate_per_y) ** year for year, flow in enumerate(flows)))


def payback_y(spent: float, yearly: float) -> float:
    """Work out the years until what was spent [money] has come back [money/y], without interest; inf where never.

    Source: ``common_practice``.

    >>> payback_y(12_000, 3_000), payback_y(12_000, 0.0)
    (4.0, inf)
    """
    return spent / yearly if yearly > 0 else np.inf


def yearly_capital_charge(price: Floats, *, salvage: Floats, rate_per_y: Floats, years: Floats) -> Floats:
    """Work out what owning a machine costs a year: capital recovery on the loss, interest on the rest.

    Parameters
    ----------
    price, salvage : float or array
        Bought for, sold for at the end.
    rate_per_y, years : float or array
        As in `capital_recovery`.

    Returns
    -------
    float or array
        ``(price - salvage) x factor + salvage x rate``. [money/y]

    Raises
    ------
    BadInput
        A sum is negative, or as in `capital_recovery`.

    Source: ``engineering_economy``.

    Examples
    --------
    >>> round(yearly_capital_charge(12_000, salvage=1_500, rate_per_y=0.08, years=10), 2)
    1684.81
    """
    nonneg("capital charge", price=price, salvage=salvage)
    return (price - salvage) * capital_recovery(rate_per_y, years) + salvage * rate_per_y
