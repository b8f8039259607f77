"""Money as the shop prints it, and what a machine costs a year.

Room     basis. Imports checks.
"""

from functools import lru_cache

import numpy as np

from pricing.basis.checks import Floats, is_symbol, nonneg, positive


def show_money(value: float, currency: str, locale: str, *, cents: bool = True, fine: bool = False) -> str:
    r"""Write money in the shop's currency and locale.

    Parameters
    ----------
    value : float
        Amount in the shop's currency.
    currency : str
        ISO 4217 code.
    locale : str
        Locale such as ``en_IE`` or ``de_DE``.
    cents : bool
        False rounds to whole units.
    fine : bool
        Show a thousandth where there is one, as tariffs are printed.

    Examples
    --------
    >>> show_money(1234.5, "EUR", "en_IE"), show_money(1234.5, "USD", "en_US", cents=False)
    ('€1,234.50', '$1,234')
    >>> show_money(0.105, "EUR", "de_DE", fine=True), show_money(0.27, "USD", "en_US", fine=True)
    ('0,105\xa0€', '$0.27')
    """
    if not np.isfinite(value):
        return "n/a"
    from babel.numbers import format_currency  # heavy: only where money is shown

    if fine:
        pattern = _pattern(locale, "0.00#")
        return str(format_currency(value, currency, format=pattern, locale=locale, currency_digits=False))
    if cents:
        return str(format_currency(value, currency, locale=locale))
    whole = _pattern(locale, "0")
    return str(format_currency(round(value), currency, format=whole, locale=locale, currency_digits=False))


@lru_cache(maxsize=8)
def minor_digits(currency: str) -> int:
    """Give how many digits a currency has after its unit: 2 for EUR, 0 for JPY.

    Parameters
    ----------
    currency : str
        ISO 4217 code.

    Examples
    --------
    >>> minor_digits("EUR"), minor_digits("JPY")
    (2, 0)
    """
    from babel.core import get_global

    table = get_global("currency_fractions")
    return int(table.get(currency, table["DEFAULT"])[0])


@lru_cache(maxsize=8)
def _pattern(locale: str, digits: str) -> str:
    from babel import Locale

    pattern = Locale.parse(locale).currency_formats["standard"].pattern
    return str(pattern).replace("0.00", digits)


def capital_recovery(rate_per_y: Floats, years: Floats) -> Floats:
    """Give the yearly share that pays a sum back with interest.

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


def yearly_capital_charge(price: Floats, *, salvage: Floats, rate_per_y: Floats, years: Floats) -> Floats:
    """Give what owning a machine costs a year: capital recovery on the loss, interest on the rest.

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
