"""Capital recovery against numpy-financial; money against Babel's own tables."""

import numpy_financial as npf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pricing.basis.money import capital_recovery, show_money, yearly_capital_charge


@given(price=st.floats(100, 1e6), share=st.floats(0, 0.9), rate=st.floats(0.001, 0.4), years=st.integers(1, 40))
def test_charge_with_salvage_is_the_payment_of_numpy_financial(
    price: float, share: float, rate: float, years: int
) -> None:
    ours = yearly_capital_charge(price, salvage=price * share, rate_per_y=rate, years=years)
    assert ours == pytest.approx(npf.pmt(rate, years, -price, price * share), rel=1e-9)


def test_without_interest_it_is_straight_line() -> None:
    assert yearly_capital_charge(10_000, salvage=1_000, rate_per_y=0.0, years=9) == pytest.approx(1_000)
    assert capital_recovery(0.0, 8) == 0.125


@pytest.mark.parametrize(
    ("value", "currency", "locale", "text"),
    [
        (1234.5, "EUR", "en_IE", "€1,234.50"),
        (1234.5, "USD", "en_US", "$1,234.50"),
        (1234.5, "EUR", "de_DE", "1.234,50\xa0€"),
        (-3.0, "GBP", "en_GB", "−£3.00"),
        (float("inf"), "EUR", "en_IE", "n/a"),
    ],
)
def test_money_follows_the_locale(value: float, currency: str, locale: str, text: str) -> None:
    assert show_money(value, currency, locale) == text
