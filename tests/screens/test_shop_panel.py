"""Page 1: every number can be changed, is checked, undone, saved and read back."""

from datetime import date
from pathlib import Path

import pytest

from pricing.basis.errors import BadInput
from pricing.parts.items import read_items
from pricing.screens.panel_shop import ShopPanel
from pricing.shop.folder import open_shop
from pricing.show.desk import Desk
from tests.screens.texts import plain


@pytest.fixture
def panel(own: Path) -> ShopPanel:
    return ShopPanel(Desk(own, read_only=False))


def test_the_demo_can_be_tried_and_not_saved() -> None:
    desk = Desk()
    panel = ShopPanel(desk)
    panel.form.put("owner.draw_per_y", "40000 EUR/year")
    assert desk.changed
    assert panel.bar.told["save"] is False
    with pytest.raises(BadInput, match="only shown"):
        desk.save()


def test_an_hour_follows_the_owners_pay(panel: ShopPanel) -> None:
    before = panel.desk.shop.hour_rates["owner"]
    panel.form.put("owner.draw_per_y", "72000 EUR/year")
    after = panel.desk.shop.hour_rates["owner"]
    assert after == pytest.approx(2 * before)  # the draw is doubled, the hours stay
    assert f"€{after:.2f}" in plain(panel.board.words_of("answers"))
    owner = [row for row in panel.board.rows_of("hours", "sums") if row["title"] == "owner's hour"]
    assert owner[0]["cost"] == pytest.approx(after + panel.desk.shop.hour_rates["overhead"])


def test_what_is_changed_is_told_undone_and_saved(panel: ShopPanel, own: Path) -> None:
    panel.form.put("owner.weeks", "44")
    panel.table.put("rates", "wipe.line_m.hands", "high", "6")
    assert panel.bar.told["state"] == "Draft, kept until you save: people, 1 rate"
    panel.bar.press("undo")
    assert panel.table.text("rates", "wipe.line_m.hands", "high") == "5"
    assert panel.bar.told["state"] == "Draft, kept until you save: people"
    panel.table.put("rates", "wipe.line_m.hands", "high", "6")
    panel.bar.press("save")
    assert panel.bar.told["state"] == "Saved: rates.csv, shop.toml"
    again = open_shop(own)
    assert again.owner.weeks == 44
    assert again.rates["wipe.line_m.hands"].high == 6
    assert again.rates["wipe.line_m.hands"].source.key == "owner_guess"
    assert "# what the owner takes home" in (own / "shop.toml").read_text("utf-8")


@pytest.mark.parametrize(
    ("sheet", "row", "column", "given", "told"),
    [
        ("rates", "wipe.line_m.hands", "low", "fast", "'fast' is no number. Write it like 1.2 min/m."),
        ("rates", "wipe.line_m.hands", "low", "4", "Low, likely and high must rise in this order."),
        ("rates", "wipe.line_m.hands", "low", "-1", "Must be 0 min/m or more."),
        ("assumptions", "oven.fill", "high", "130", "Must be at most 100 %."),
        ("machines", "spray booth", "life_y", "0", "Must be above 0 year."),
        ("powders", "jet black", "density_g_per_cm3", "9", "Must be at most 4 g/cm³."),
        ("powders", "jet black", "remove", "", "Still used by Sign letter, 200 mm, Sign letter, 300 mm, House number"),
        ("items", "bench_end", "area_m2", "0", "Must be above 0 m²."),
        ("items", "bench_end", "spots", "2.5", "Must be a whole number."),
        ("bills", "rent", "cost_per_y", "-5", "Must be 0 EUR/year or more."),
        ("bills", "rent", "name", "van", "Another one is called so."),
    ],
)
def test_a_bad_edit_is_told_under_its_cell_and_changes_nothing(
    panel: ShopPanel, sheet: str, row: str, column: str, given: str, told: str
) -> None:
    panel.table.put(sheet, row, column, given)
    assert panel.table.message(sheet, row, column).startswith(told)
    assert not panel.desk.changed


def test_edits_in_other_units_and_of_every_table_are_saved(panel: ShopPanel, own: Path) -> None:
    panel.table.put("items", "bench_end", "line_m", "20 ft")
    panel.table.put("items", "bench_end", "title", "Bench end, old")
    panel.table.put("items", "tool_box", "apart", "")
    panel.table.put("items", "bench_end", "third", "signal white")
    panel.table.put("items", "bench_end", "value", "400")
    panel.table.put("powders", "jet black", "price_per_kg", "4 EUR/lb")
    panel.table.put("powders", "silver metallic", "name", "silver")
    panel.table.put("bills", "rent", "cost_per_y", "1200 EUR/month")
    panel.table.put("bills", "", "add", "")
    panel.table.put("machines", "small oven", "practical_hours_h", "800")
    assert not panel.form.messages
    panel.bar.press("save")
    shop = open_shop(own)
    items = read_items(shop)
    assert items["bench_end"].part.line_m == pytest.approx(6.096)  # 20 x 0.3048 m
    assert items["bench_end"].title == items["bench_end"].part.name == "Bench end, old"
    assert not items["tool_box"].part.apart
    assert items["bench_end"].part.value == 400
    assert shop.powders["jet black"].price_per_kg == pytest.approx(
        4 / 0.45359237
    )  # a pound in kilograms, by definition
    assert "silver metallic" not in shop.powders
    assert items["bench_end"].powders == ("jet black", "silver", "signal white")
    assert {bill.name: bill.cost_per_y for bill in shop.fixed}["rent"] == pytest.approx(14400)
    assert shop.machines.oven[0].practical_hours_h == 800
    untouched = [
        line for line in (own / "items.csv").read_text("utf-8").splitlines() if line.startswith("bicycle_frame")
    ]
    demo = [
        line
        for line in (Path(__file__).parents[2] / "data/shop/items.csv").read_text("utf-8").splitlines()
        if line.startswith("bicycle_frame")
    ]
    assert untouched == demo  # rows that did not change keep the owner's own words


def test_feet_and_metres_show_the_same_shop(panel: ShopPanel) -> None:
    numbers = dict(panel.desk.shop.book)
    panel.form.put("front.units", "us")
    assert panel.table.text("rates", "wipe.line_m.hands", "unit") == "min/ft"
    assert float(panel.table.text("rates", "wipe.line_m.hands", "high")) == pytest.approx(5 * 0.3048)
    assert dict(panel.desk.shop.book) == numbers


def test_a_page_hears_what_another_page_did(own: Path) -> None:
    one, other = ShopPanel(Desk(own, read_only=False)), ShopPanel(Desk(own, read_only=False))
    one.form.put("owner.weeks", "40")
    other.desk.look()
    assert other.form["owner.weeks"].value == 40
    assert other.bar.told["state"] == "Changed on another page: people"
    assert other.bar.told["undo"] is True
    one.bar.press("save")
    other.desk.look()
    assert other.bar.told["save"] is False
    assert [day for day, _ in other.bar.told["days"]] == [date.today().isoformat()]  # noqa: DTZ011


def test_every_number_of_the_page_has_a_why(panel: ShopPanel) -> None:
    import re

    keys = re.findall(r'data-why="([^"]+)"', panel.board.words_of("answers"))
    keys += [row["why_key"] for row in panel.board.rows_of("hours", "hours")]
    assert len(set(keys)) >= 12
    for key in set(keys):
        panel.board.asked = {"key": key, "n": len(key)}
        assert panel.board.answer["lines"], key


def test_names_from_outside_are_escaped(own: Path) -> None:
    text = (own / "powders.csv").read_text("utf-8").replace("jet black", "<script>x</script>")
    (own / "powders.csv").write_text(text, "utf-8")
    items = (own / "items.csv").read_text("utf-8").replace("jet black", "<script>x</script>")
    (own / "items.csv").write_text(items, "utf-8")
    from pricing.screens.panel_two_tone import TwoTonePanel

    panel = TwoTonePanel(Desk(own, read_only=False))
    for block in ("answers", "sure", "build", "margin", "map", "line"):
        assert "<script" not in panel.board.words_of(block)
