"""Page 3: the list against today's costs; flagged rows, typed prices, saving."""

from pathlib import Path

import pytest

from pricing.basis.errors import BadInput
from pricing.prices.price_list import price_list
from pricing.screens.panel_list import ListPanel
from pricing.show.desk import Desk
from pricing.show.listed import read_listed, save_listed
from tests.screens.texts import plain


@pytest.fixture
def panel(own: Path) -> ListPanel:
    return ListPanel(Desk(own, read_only=False))


def test_the_list_is_that_of_the_model(panel: ListPanel) -> None:
    found = price_list(panel.desk.shop, panel.desk.items).side_by_side().set_index("item")
    for item in panel.desk.items:
        for column in ("single", "two_tone"):
            shown = float(panel.table.text("list", item, f"{column}.price"))
            assert shown == found.loc[item, f"{column}_price_EUR"]


def test_a_saved_list_stands_still_while_rates_move_and_rows_are_flagged(panel: ListPanel, own: Path) -> None:
    panel.form.put("save", given=True)
    price = panel.table.text("list", "gate_single", "two_tone.price")
    panel.form.put("hour.owner", 45.0)
    assert panel.table.text("list", "gate_single", "two_tone.price") == price
    assert panel.table.text("list", "gate_single", "two_tone.asked").startswith("▲")
    assert panel.table.text("list", "gate_single", "say") == "under your margin"
    panel.form.put("hour.owner", 69.0)
    assert panel.table.text("list", "gate_single", "say").startswith("LOSES MONEY")
    assert "Prices that lose money" in plain(panel.board.words_of("answers"))
    assert read_listed(own, "EUR").prices["gate_single", "two_tone", 1] == float(price)


def test_a_typed_price_is_tried_refused_and_saved(panel: ListPanel, own: Path) -> None:
    panel.table.put("list", "bench_end", "two_tone.price", "cheap")
    assert panel.table.message("list", "bench_end", "two_tone.price") == "Write a price, for example 125."
    panel.table.put("list", "bench_end", "two_tone.price", "150")
    assert panel.table.text("list", "bench_end", "say") == "LOSES MONEY"
    panel.form.put("save", given=True)
    assert read_listed(own, "EUR").prices["bench_end", "two_tone", 1] == 150
    again = ListPanel(Desk(own, read_only=False))
    assert again.table.text("list", "bench_end", "two_tone.price") == "150"
    again.table.put("list", "bench_end", "two_tone.price", "")
    assert float(again.table.text("list", "bench_end", "two_tone.price")) > 200


def test_every_quantity_has_its_own_list(panel: ListPanel, own: Path) -> None:
    panel.form.put("save", given=True)
    panel.form.put("quantity", "10")
    cheaper = float(panel.table.text("list", "sign_letter_200", "single.price"))
    panel.form.put("save", given=True)
    saved = read_listed(own, "EUR").prices
    assert saved["sign_letter_200", "single", 10] == cheaper < saved["sign_letter_200", "single", 1]


def test_policy_is_tried_without_changing_the_shop(panel: ListPanel) -> None:
    before = float(panel.table.text("list", "gate_single", "single.price"))
    panel.form.put("target_margin", "40 %")
    assert float(panel.table.text("list", "gate_single", "single.price")) > before
    assert panel.desk.shop.policy.target_margin == 0.25


def test_rows_that_may_not_be_quoted_have_no_price(own: Path) -> None:
    text = (own / "shop.toml").read_text("utf-8").replace("most_heat_cycles = 3", "most_heat_cycles = 2")
    (own / "shop.toml").write_text(text, "utf-8")
    panel = ListPanel(Desk(own, read_only=False))
    assert panel.table.text("list", "wheel_set", "two_tone.price") == "do not quote"
    assert panel.table.text("list", "wheel_set", "two_tone.margin") == ""
    panel.form.put("save", given=True)
    assert ("wheel_set", "two_tone", 1) not in read_listed(own, "EUR").prices


def test_a_spoiled_list_is_told_line_by_line(own: Path) -> None:
    save_listed(own, {("bench_end", "single", 1): 165.0}, "EUR")
    text = (own / "price_list.csv").read_text("utf-8")
    (own / "price_list.csv").write_text(text.replace("165.0", "-4").replace("EUR", "USD"), "utf-8")
    with pytest.raises(BadInput) as caught:
        read_listed(own, "EUR")
    assert [problem.field for problem in caught.value.problems] == ["line 2", "line 2: currency"]


def test_the_app_saves_nothing(own: Path) -> None:
    panel = ListPanel(Desk(own, read_only=True))
    panel.form.put("save", given=True)
    assert not (own / "price_list.csv").exists()
    assert panel.form.state["said"]["text"] == "Only shown here: nothing is saved."
