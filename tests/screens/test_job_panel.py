"""Page 2: a job's price, its marks and its charts follow the form; no price where none may be given."""

import re
from pathlib import Path

import pytest

from pricing.costing.sheet import cost
from pricing.parts.items import read_items
from pricing.parts.job import read_job
from pricing.prices.quote import quote
from pricing.screens.panel_job import JobPanel
from pricing.shop.folder import open_shop
from pricing.show.desk import Desk
from tests.screens.texts import plain


@pytest.fixture
def panel(own: Path) -> JobPanel:
    return JobPanel(Desk(own, read_only=False))


def _price(panel: JobPanel) -> float:
    found = re.search(r"Price\s+€([\d,.]+)", plain(panel.board.words_of("answers")))
    assert found
    return float(found[1].replace(",", ""))


def test_the_page_says_what_the_command_line_says(panel: JobPanel, own: Path) -> None:
    shop = open_shop(own)
    job = read_job(own / "jobs" / "sign_letters.toml", shop, read_items(shop))
    sheet = cost(shop, job)
    assert _price(panel) == float(quote(shop, job).must_price().printed)
    bars = panel.board.rows_of("steps", "steps")
    assert sum(row["cost"] for row in bars) == pytest.approx(float(sheet.total), abs=0.05)


def test_more_line_costs_more_and_is_read_in_feet(panel: JobPanel) -> None:
    before = _price(panel)
    panel.form.put("line_m", "20 ft")
    assert panel.job.lots[0].part.line_m == pytest.approx(6.096)
    assert _price(panel) > before


def test_a_slider_moves_price_and_charts(panel: JobPanel) -> None:
    key = panel.moves[0]
    before, curve = _price(panel), panel.board.rows_of("loss", "curve")
    panel.form.put(key, panel.form[key].most)
    assert _price(panel) > before
    assert panel.board.rows_of("loss", "curve") != curve
    assert panel.board.rows_of("matters", "now")[0]["cost"] == pytest.approx(panel.trial.total)


def test_a_dragged_price_is_the_price_asked(panel: JobPanel) -> None:
    panel.board.picked = {"chart": "margin", "x": 350.0, "n": 1}
    assert panel.form["asked"].value == 350.0
    assert panel.board.rows_of("margin", "now")[0]["price"] == 350.0
    margin = 1 - panel.trial.total / 350.0
    assert f"{margin:.1%}" in plain(panel.board.words_of("answers"))
    panel.form.put("advised", given=True)
    assert panel.form["asked"].value == _price(panel)


def test_no_price_where_a_limit_is_passed(panel: JobPanel) -> None:
    panel.form.put("begun", "job:wheels_three_coats")
    told = plain(panel.board.words_of("answers"))
    assert "Do not quote" in told
    assert "ask the maker" in told
    assert "€" not in told
    assert not panel.board.rows_of("margin", "line")
    assert not panel.board.rows_of("loss", "curve")
    assert panel.board.rows_of("steps", "steps")


def test_a_closed_hollow_is_not_quoted_and_vented_it_is(panel: JobPanel) -> None:
    panel.form.put("begun", "item:bistro_table")
    panel.form.put("closed_volume", given=True)
    assert "until it is vented" in plain(panel.board.words_of("answers"))
    panel.form.put("closed_volume", given=False)
    assert "Price" in plain(panel.board.words_of("answers"))


def test_cautions_stand_at_their_steps(panel: JobPanel) -> None:
    assert "Coating powder ignites" in plain(panel.board.words_of("mind"))
    panel.board.asked = {"key": "line:coat.1", "n": 1}
    assert "Coating powder ignites" in panel.board.answer["cautions"][0]
    assert any(line.startswith("attended: ") for line in panel.board.answer["lines"])


@pytest.mark.parametrize(
    ("key", "given", "told"),
    [
        ("area_m2", "-1 m2", "Must be above 0 m²."),
        ("quantity", "0", "Must be 1 or more."),
        ("line_m", "long", "'long' is no number. Write it like 2.7 m."),
        ("title", "=1+1", "Must be a name that does not begin with"),
        ("mass_kg", "3 m", "m is not a unit of this kind."),
    ],
)
def test_a_bad_value_is_told_beside_its_field(panel: JobPanel, key: str, given: str, told: str) -> None:
    before = _price(panel)
    panel.form.put(key, given)
    assert panel.form.messages[key].startswith(told)
    assert _price(panel) == before


def test_a_rule_of_the_whole_part_is_told_too(panel: JobPanel) -> None:
    panel.form.put("begun", "item:bench_end")
    panel.form.put("material", "mild steel")
    assert panel.form.messages["material"].startswith("Must be a casting of another material than mild steel.")


def test_a_part_too_large_for_every_oven_is_told(panel: JobPanel) -> None:
    panel.form.put("mass_kg", "900 kg")
    assert panel.form.messages["mass_kg"].endswith("times what stood there, 1.6 kg.")
    panel.form.put("mass_kg", panel.form["mass_kg"].choices[0].given)
    assert "small enough for an oven" in plain(panel.board.words_of("answers"))
    panel.form.put("mass_kg", "9 kg!")
    assert "Price" in plain(panel.board.words_of("answers"))


def test_a_job_is_saved_and_read_back(panel: JobPanel, own: Path) -> None:
    panel.form.put("begun", "item:bench_end")
    panel.form.put("title", "Two benches")
    panel.form.put("quantity", "4")
    panel.form.put("line_m", "7.5 m")
    panel.form.put("rush", given=True)
    panel.form.put("save", given=True)
    shop = open_shop(own)
    again = read_job(own / "jobs" / "two_benches.toml", shop, read_items(shop))
    assert again == panel.job.model_copy(update={"lots": again.lots})
    assert again.lots[0].quantity == 4
    assert again.lots[0].part == panel.job.lots[0].part
    text = (own / "jobs" / "two_benches.toml").read_text("utf-8")
    assert 'item = "bench_end"' in text
    assert "thickness" not in text  # what the item says is not said again


def test_every_number_of_the_page_has_a_why(panel: JobPanel) -> None:
    keys = re.findall(r'data-why="([^"]+)"', panel.board.words_of("answers"))
    for chart, name in (("steps", "steps"), ("margin", "marks"), ("loss", "now"), ("matters", "bars")):
        keys += [row["why_key"] for row in panel.board.rows_of(chart, name)]
    assert len(set(keys)) > 25
    for at, key in enumerate(dict.fromkeys(keys)):
        panel.board.asked = {"key": key, "n": at}
        assert panel.board.answer["n"] == at, key
        assert panel.board.answer["lines"], key


def test_a_range_in_a_field_opens_the_price_and_is_saved(panel: JobPanel, own: Path) -> None:
    panel.form.put("quantity", "7 to 11")
    panel.form.put("line_m", "2 to 4 m")
    assert panel.form["line_m"].text == "2 m to 4 m"
    told = plain(panel.board.words_of("answers"))
    low, high = panel.trial.quote.between
    assert f"from €{low.printed:.0f} to €{high.printed:.0f}, fixed at intake" in told
    assert any(bar["title"] == "Line, each [m]" for bar in panel.board.rows_of("matters", "bars"))
    assert not any(key.startswith("amount.") for key in panel.moves)
    panel.form.put("line_m", "4 to 2 m")
    assert "smaller end first" in panel.form.messages["line_m"]
    panel.form.put("save", given=True)
    panel.form.put("replace", given=True)
    shop = open_shop(own)
    assert read_job(own / "jobs" / "bakery_sign_nine_letters_edges_black_faces_white.toml", shop).lots == panel.job.lots
