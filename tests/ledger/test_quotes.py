"""An old quote is shown again to the cent, whatever became of the rates."""

from dataclasses import replace

import pytest

from pricing.basis.errors import BadInput
from pricing.costing.sheet import cost
from pricing.ledger.entries import Quoted
from pricing.ledger.quotes import LOOPS, freeze, quoted_amounts, thaw
from pricing.ledger.store import Ledger
from pricing.parts.job import Job
from pricing.shop.shop import Shop
from tests.ledger.conftest import DAY


def test_the_quote_comes_back_to_the_last_bit_after_the_rates_have_changed(
    ledger: Ledger, shop: Shop, letters: Job
) -> None:
    before = cost(shop, letters)
    ledger.add("quotes", freeze(cost(shop, letters), letters, 431.5, on=DAY, name="letters 1", version="0.1.0"))
    wipe = shop.rates["wipe.line_m.hands"]
    dearer = replace(shop, rates={**shop.rates, wipe.key: replace(wipe, likely=4.0)})
    assert float(cost(dearer, letters).total) > float(before.total) + 1.0
    (row,) = ledger.rows("quotes")
    old = thaw(row)
    assert (old.price, old.cost) == (431.5, float(before.total))
    assert [(line.name, line.total) for line in old.lines] == [(line.id, float(line.total)) for line in before.lines]
    assert (old.job, old.on, old.finish, old.currency, old.version) == (
        "letters 1",
        "2026-11-25",
        letters.finish,
        "EUR",
        "0.1.0",
    )
    job = Job.model_validate(row["sheet"]["job"])
    assert float(cost(dearer, job, book=old.book).total) == float(before.total), "from its own numbers, costed again"


def test_minutes_and_amounts_are_those_of_the_steps(shop: Shop, letters: Job) -> None:
    fact = freeze(cost(shop, letters), letters, 400.0, on=DAY)
    sheet = cost(shop, letters)
    rest = 1 + shop.book["rest.allowance"]
    for step, minutes in fact.minutes.items():
        assert minutes * rest == pytest.approx(sum(float(line.minutes) for line in sheet.lines if line.step == step))
    assert not set(fact.minutes) & set(LOOPS)
    amounts = quoted_amounts([{"job": fact.job, "sheet": fact.sheet}])[letters.title]
    assert amounts["wipe"]["line_m"] == pytest.approx(9 * 2.7)
    assert fact.parts == 9


def test_a_quote_without_a_sheet_says_so(ledger: Ledger) -> None:
    ledger.add("quotes", Quoted(job="old", on=DAY, finish="single", price=100.0, cost=80.0, currency="EUR"))
    with pytest.raises(BadInput, match=r"cost sheet is 'missing'; it must be kept with the quote"):
        thaw(ledger.rows("quotes")[0])
