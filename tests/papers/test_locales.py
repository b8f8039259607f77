"""What a shop reads is written in its own locale, with all the digits that a setting has."""

import subprocess
import sys
from dataclasses import replace

import pytest

import pricing
from pricing.prices.questions import break_even
from pricing.shop.shop import Shop
from pricing.show.words import Words


@pytest.fixture
def german(shop: Shop) -> Shop:
    """The demo shop with a decimal comma."""
    return replace(shop, front=shop.front.model_copy(update={"locale": "de_DE"}))


def test_measures_and_shares_have_the_decimal_mark_of_the_shop(shop: Shop, german: Shop) -> None:
    here, there = Words(shop), Words(german)
    assert (here.measure(0.366, "min/m"), there.measure(0.366, "min/m")) == ("0.366 min/m", "0,366 min/m")
    assert (here.share(0.0825), there.share(0.0825), there.share(0.25)) == ("8.25%", "8,25%", "25%")
    assert (there.share(0.2749, 1), there.number(27.25, 1)) == ("27,5%", "27,2")


def test_the_sum_behind_a_step_and_its_cautions_are_written_alike(german: Shop) -> None:
    sheet = pricing.cost(german, pricing.read_job("sign_letters", german))
    rows = pricing.why(sheet, "wipe")
    assert "  ".join(rows).count("2,5 min/m") == 1
    assert not any("2.5" in row for row in rows)
    assert any("4,95 bar" in text for _, text in sheet.told_cautions())


def test_a_break_even_is_looked_for_in_the_money_of_the_shop(shop: Shop) -> None:
    job = pricing.read_job("sign_letters", shop)
    owner = shop.book["hour.owner"]
    found = break_even(shop, job, "hour")
    assert (found.low, found.high) == (0.0, pytest.approx(8 * owner))


def test_a_quote_loads_nothing_that_only_draws_need() -> None:
    code = (
        "import sys; sys.argv = ['pricing', 'quote', 'sign_letters'];"
        "from pricing.commands.main import main; main(standalone_mode=False);"
        "print(sorted(name for name in sys.modules if name in {'pandas', 'scipy', 'pint', 'altair',"
        " 'pricing.costing.risk', 'pricing.prices.advice', 'pricing.prices.week', 'pricing.commands.figures'}))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.rstrip().endswith("[]"), done.stdout[-300:]
