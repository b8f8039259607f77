"""Page 3: the list against today's costs; flagged rows, typed prices, locked and hidden rows, saving."""

from pathlib import Path

import pytest

from pricing.basis.errors import BadInput
from pricing.basis.tongue import Tongue
from pricing.parts.job import job_of_item
from pricing.prices.price_list import price_list
from pricing.prices.quote import quote
from pricing.screens.panel_list import ListPanel
from pricing.shop.folder import open_shop
from pricing.shop.own_prices import OwnPrice, read_own_prices, save_own_prices
from pricing.show.desk import Desk
from tests.screens.texts import plain


@pytest.fixture
def panel(own: Path) -> ListPanel:
    return ListPanel(Desk(own, read_only=False))


def test_the_list_is_that_of_the_model(panel: ListPanel) -> None:
    for row in price_list(panel.desk.shop, panel.desk.items).rows:
        assert row.tariff is not None
        shown = [float(panel.table.text("list", row.item.key, f"{row.column}.{part}")) for part in ("first", "each")]
        assert shown == [row.tariff.first, row.tariff.each]


def test_a_saved_list_stands_still_while_rates_move_and_rows_are_flagged(panel: ListPanel, own: Path) -> None:
    panel.form.put("save", given=True)
    price = panel.table.text("list", "gate_single", "two_tone.first")
    panel.form.put("hour.owner", 45.0)
    assert panel.table.text("list", "gate_single", "two_tone.first") == price
    assert panel.table.text("list", "gate_single", "two_tone.asked").startswith("▲")
    assert panel.table.text("list", "gate_single", "say") == "under your margin from 1"
    panel.form.put("hour.owner", 69.0)
    assert panel.table.text("list", "gate_single", "say") == "LOSES MONEY from 1"
    assert "Rows that lose money" in plain(panel.board.words_of("answers"))
    assert read_own_prices(own, Tongue("EUR"))["gate_single", "two_tone"].first == float(price)


def test_a_typed_price_is_tried_refused_and_saved_and_every_quote_follows(panel: ListPanel, own: Path) -> None:
    panel.table.put("list", "bench_end", "two_tone.first", "cheap")
    assert panel.table.message("list", "bench_end", "two_tone.first") == "'cheap' is no number. Write it like 255 EUR."
    panel.table.put("list", "bench_end", "two_tone.each", "900")
    assert panel.table.message("list", "bench_end", "two_tone.each") == "Not more than the first."
    panel.table.put("list", "bench_end", "two_tone.each", "120")
    panel.table.put("list", "bench_end", "two_tone.first", "150")
    assert panel.table.text("list", "bench_end", "say") == "LOSES MONEY from 1"
    panel.form.put("save", given=True)
    assert read_own_prices(own, Tongue("EUR"))["bench_end", "two_tone"].first == 150
    job = job_of_item(panel.desk.items["bench_end"], units=3)
    assert quote(panel.desk.shop, job).net == quote(open_shop(own), job).net == 150 + 2 * 120
    again = ListPanel(Desk(own, read_only=False))
    assert again.table.text("list", "bench_end", "two_tone.first") == "150"
    again.table.put("list", "bench_end", "two_tone.first", "")
    assert float(again.table.text("list", "bench_end", "two_tone.first")) > 200


def test_taking_the_advised_prices_says_how_many_and_leaves_locked_rows(panel: ListPanel) -> None:
    panel.form.put("save", given=True)
    panel.table.put("list", "gate_single", "state", "locked")
    kept = panel.table.text("list", "gate_single", "single.first")
    panel.form.put("hour.owner", 45.0)
    stood = panel.table.text("list", "bench_end", "single.first")
    panel.form.put("all", given=True)
    assert panel.form.state["said"]["text"] == "32 prices would change. Locked rows stay."
    assert len(panel.board.answer["lines"]) == 1 + 32 + 1
    assert panel.board.answer["lines"][-1] == "2 locked prices stay as they are"
    assert panel.table.text("list", "bench_end", "single.first") == stood, "shown first, not done"
    assert not panel.form.state["take"]["hidden"]
    panel.form.put("leave", given=True)
    assert panel.form.state["take"]["hidden"]
    assert panel.table.text("list", "bench_end", "single.first") == stood
    panel.form.put("all", given=True)
    panel.form.put("take", given=True)
    assert panel.form.state["said"]["text"].startswith("32 advised prices stand in the list")
    assert panel.table.text("list", "gate_single", "single.first") == kept
    assert not panel.table.text("list", "bench_end", "single.asked").startswith("▲")


def test_a_hidden_row_is_saved_as_hidden(panel: ListPanel, own: Path) -> None:
    panel.table.put("list", "tool_box", "state", "hidden")
    panel.form.put("save", given=True)
    saved = read_own_prices(own, Tongue("EUR"))
    assert saved["tool_box", "single"].hidden
    assert not saved["bench_end", "single"].hidden


def test_an_order_of_any_size_is_added_up(panel: ListPanel) -> None:
    panel.form.put("quantity", "20")
    assert "Margin of an order of 20" in plain(panel.board.words_of("answers"))


def test_the_margin_you_want_is_in_the_draft_that_page_1_shows_and_moves_what_one_must_cost(
    panel: ListPanel, own: Path
) -> None:
    from pricing.screens.panel_shop import ShopPanel

    first = ShopPanel(Desk(own, read_only=False))
    must = [row["cost"] for row in first.board.rows_of("items", "items")]
    before = float(panel.table.text("list", "gate_single", "single.first"))
    panel.form.put("target_margin", "40 %")
    assert float(panel.table.text("list", "gate_single", "single.first")) > before
    first.desk.look()
    assert first.form["policy.target_margin"].value == 0.4
    rows = first.board.rows_of("items", "items")
    assert [row["cost"] for row in rows] == pytest.approx([0.75 / 0.6 * cost for cost in must], abs=0.02)
    assert [row["saved"] for row in rows] == must
    assert open_shop(own).policy.target_margin == 0.25, "a draft, until it is saved"


def test_the_list_and_a_quote_are_written_for_customers_with_a_link_that_opens_them(
    panel: ListPanel, own: Path
) -> None:
    from urllib.parse import unquote

    from pricing.screens.panel_job import JobPanel

    job = JobPanel(Desk(own, read_only=False))
    for page in (panel, job):
        page.form.put("paper", given=True)
        said = page.form.state["paper.said"]
        assert said["text"] == "Written into hand-outs/customers."
        path = own / unquote(said["link"]["href"]).removeprefix("/files/")
        assert path.suffix == ".html"
        assert path.with_name(f"{path.stem}-a4.pdf").exists()
    price = quote(job.desk.shop, job.job).must_price().printed
    assert f"{price:,.2f}" in path.read_text("utf-8")
    job.form.put("begun", "job:wheels_three_coats")
    job.form.put("paper", given=True)
    assert job.form.state["paper.said"]["text"].startswith("Not written.")
    shown = ListPanel(Desk(own, read_only=True))
    shown.form.put("paper", given=True)
    assert shown.form.state["paper.said"]["text"] == "Only shown here: nothing is written."


def test_rows_that_may_not_be_quoted_have_no_price(own: Path) -> None:
    text = (own / "shop.toml").read_text("utf-8").replace("most_heat_cycles = 3", "most_heat_cycles = 2")
    (own / "shop.toml").write_text(text, "utf-8")
    panel = ListPanel(Desk(own, read_only=False))
    assert panel.table.text("list", "wheel_set", "two_tone.first") == "do not quote"
    assert panel.table.text("list", "wheel_set", "two_tone.margin") == ""
    panel.form.put("save", given=True)
    assert not read_own_prices(own, Tongue("EUR"))["wheel_set", "two_tone"].priced


def test_a_spoiled_list_is_told_line_by_line(own: Path) -> None:
    save_own_prices(own, {("bench_end", "single"): OwnPrice(165.0, 80.0, 80.0)}, Tongue("EUR"))
    text = (own / "prices.csv").read_text("utf-8")
    (own / "prices.csv").write_text(text.replace("165", "-4").replace("EUR", "USD"), "utf-8")
    with pytest.raises(BadInput) as caught:
        open_shop(own)
    told = [problem.field for problem in caught.value.problems]
    assert told == ["prices.csv: line 2: currency", "prices.csv: line 2: first, each_further, each_beyond"]


def test_a_row_that_did_not_change_keeps_its_day(own: Path) -> None:
    saved = save_own_prices(own, {("bench_end", "single"): OwnPrice(165.0, 80.0, 80.0)}, Tongue("EUR"))
    text = (own / "prices.csv").read_text("utf-8")
    day = saved["bench_end", "single"].saved_on
    (own / "prices.csv").write_text(text.replace(day, "2026-01-02"), "utf-8")
    again = save_own_prices(
        own,
        {("bench_end", "single"): OwnPrice(165.0, 80.0, 80.0), ("tool_box", "single"): OwnPrice(9.0, 2.0, 1.0)},
        Tongue("EUR"),
    )
    assert again["bench_end", "single"].saved_on == "2026-01-02"
    assert again["tool_box", "single"].saved_on == day
    assert read_own_prices(own, Tongue("EUR")) == again


def test_the_app_saves_nothing(own: Path) -> None:
    panel = ListPanel(Desk(own, read_only=True))
    panel.form.put("save", given=True)
    assert not (own / "prices.csv").exists()
    assert panel.form.state["said"]["text"] == "Only shown here: nothing is saved."


def test_a_list_of_an_older_version_is_told_with_what_to_do(own: Path) -> None:
    assert ListPanel(Desk(own, read_only=False)).form.state["said"]["text"] == ""
    old = "item,column,quantity,price,currency,saved_on\nbench_end,two_tone,1,150.0,EUR,2026-11-20\n"
    (own / "price_list.csv").write_text(old, "utf-8")
    told = ListPanel(Desk(own, read_only=False)).form.state["said"]["text"]
    assert told.startswith("price_list.csv was saved by an older version")
    assert "delete price_list.csv" in told
    assert open_shop(own).own_prices == {}
