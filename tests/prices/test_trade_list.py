"""The second list, for the trade: laid by its own margin and set-up, saved apart, charged to jobs that are marked."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from pricing.basis.errors import BadInput
from pricing.basis.tongue import Tongue
from pricing.commands.main import main
from pricing.parts.items import read_items
from pricing.parts.job import Job, read_job
from pricing.prices.price_list import price_list
from pricing.prices.price_rule import as_printed
from pricing.prices.quote import quote
from pricing.screens.panel_list import ListPanel
from pricing.shop.folder import open_shop
from pricing.shop.own_prices import TRADE_FILE, OwnPrice, save_own_prices
from pricing.shop.shop import Shop
from pricing.show.desk import Desk
from tests.conftest import ROOT


@pytest.fixture(scope="module")
def shop() -> Shop:
    return open_shop()


@pytest.fixture(scope="module")
def letters(shop: Shop) -> Job:
    return read_job(ROOT / "data" / "jobs" / "sign_letters.toml", shop, read_items(shop))


def for_trade(job: Job) -> Job:
    return job.model_copy(update={"trade": True})


def test_the_trades_list_keeps_its_own_margin_and_pays_no_enquiry(shop: Shop) -> None:
    assert shop.policy.trade
    trade = shop.selling(trade=True)
    assert trade is shop.selling(trade=True) is trade.selling(trade=True)
    items = dict(list(read_items(shop).items())[:4])
    ours, theirs = price_list(shop, items), price_list(trade, items)
    for mine, row in zip(ours.rows, theirs.rows, strict=True):
        assert mine.tariff
        assert row.tariff
        assert row.tariff.first < mine.tariff.first
        assert np.all(row.total < mine.total), "no enquiry is paid"
        margins = row.margins(as_printed(trade.policy))
        assert margins.min() >= shop.policy.trade.target_margin - 1e-9
        assert margins.min() < shop.policy.target_margin


def test_a_job_of_the_trade_is_quoted_by_its_list(shop: Shop, letters: Job) -> None:
    found, usual = quote(shop, for_trade(letters)), quote(shop, letters)
    trade = shop.selling(trade=True)
    row = price_list(trade, {key: item for key, item in read_items(shop).items() if key == "sign_letter_300"}).rows[1]
    assert row.tariff
    assert found.origin == "list"
    assert found.net == row.tariff.total(9) < usual.net
    assert not any(line.step == "enquiry" for line in found.sheet.lines)
    assert float(found.marks.target) == pytest.approx(found.cost / (1 - trade.policy.target_margin))
    assert found.risk(draws=16_384).point == pytest.approx(found.cost)


def test_a_share_of_the_set_up_may_be_left_to_the_year(shop: Shop, letters: Job) -> None:
    assert shop.policy.trade
    less = shop.policy.trade.model_copy(update={"setup_charged": 0.5})
    other = replace(shop, policy=shop.policy.model_copy(update={"trade": less}))
    whole, half = (quote(one, for_trade(letters)) for one in (shop, other))
    assert half.lines[0].tariff.setup < 0.65 * whole.lines[0].tariff.setup  # both are rounded up
    assert half.lines[0].tariff.each == whole.lines[0].tariff.each
    assert half.under_margin, "and it is told"


def test_without_its_table_the_trade_gets_no_price(shop: Shop, letters: Job) -> None:
    without = replace(shop, policy=shop.policy.model_copy(update={"trade": None}))
    assert quote(without, letters).price
    with pytest.raises(BadInput, match=r"\[policy.trade\]"):
        quote(without, for_trade(letters))


def test_the_page_and_the_commands_show_and_save_it_apart(own: Path) -> None:
    desk = Desk(own, read_only=False)
    panel = ListPanel(desk)
    mine = panel.standing.entries["house_number", "single"].tariff
    panel.form.put("list", "trade")
    assert panel.form["target_margin"].value == desk.shop.policy.trade.target_margin
    assert panel.standing.entries["house_number", "single"].tariff.first < mine.first
    panel.form.put("save", given=True)
    shop = open_shop(own)
    assert not shop.own_prices
    assert shop.trade_prices
    set_apart = {("sign_letter_300", "two_tone"): OwnPrice(99.0, 30.0, 30.0)}
    save_own_prices(own, set_apart, Tongue(shop.currency), TRADE_FILE)
    job = own / "jobs" / "sign_letters.toml"
    job.write_text("trade = true\n" + job.read_text("utf-8"), "utf-8")
    shop = open_shop(own)
    found = quote(shop, read_job(job, shop, read_items(shop)))
    assert found.net == 99.0 + 8 * 30.0
    assert found.lines[0].own
    told = CliRunner().invoke(main, ["price-list", "--trade", "--shop", str(own)]).output
    assert "Price list for the trade" in told
    assert "€99" in told
    assert "€99" not in CliRunner().invoke(main, ["price-list", "--shop", str(own)]).output
    printed = CliRunner().invoke(
        main, ["print-list", "--trade", "--format", "csv", "--shop", str(own), "--out", str(own / "out")]
    )
    assert printed.exit_code == 0, printed.output
    (table,) = (own / "out").glob("price list for the trade *.csv")
    assert ",99.00,30.00," in table.read_text("utf-8")
