"""Page 4: what to charge extra, and what if one is slower; held to the model that the command line uses."""

import re
from pathlib import Path

import pytest

from pricing.prices.break_even import solved_break_even
from pricing.prices.extra import two_tone
from pricing.screens.panel_two_tone import TwoTonePanel
from pricing.show.desk import Desk
from tests.screens.texts import plain

WIPE = "wipe.line_m.hands"


@pytest.fixture
def panel(own: Path) -> TwoTonePanel:
    return TwoTonePanel(Desk(own, read_only=False))


def test_the_extras_are_those_of_the_model(panel: TwoTonePanel) -> None:
    sides = panel.sides
    assert sides
    found = two_tone(panel.desk.shop, panel.two_toned(), panel.way)  # what the command asks for
    assert sides.extras.answers == found.answers
    assert sides.extras.printed == found.printed
    assert sides.extras.rule == found.rule
    assert sides.advised == found.extra == sides.listed - sides.plain_price


def test_a_slower_wipe_leaves_less_of_the_extra_that_is_charged(panel: TwoTonePanel) -> None:
    extra, margin = panel.form["extra"].value, panel.sides.margin
    panel.form.put("extra", float(extra))  # mine from here on
    panel.form.put("extra", float(extra) + 1)
    panel.form.put(WIPE, 5.0)
    assert panel.form["extra"].value == extra + 1
    assert panel.sides.margin < margin - 0.05
    assert panel.sides.advised > extra
    assert "below your margin" in plain(panel.board.words_of("answers"))
    panel.form.put("advised", given=True)
    assert panel.form["extra"].value == panel.sides.advised


def test_the_slowest_wipe_that_pays_is_where_the_model_breaks_even(panel: TwoTonePanel) -> None:
    sides = panel.sides
    solved = solved_break_even(
        lambda speed: sides.price - sides.fancy.model({**sides.fancy.book, WIPE: speed}),
        "wiping",
        unit="min/m",
        low=0.0,
        high=40.0,
    )
    assert sides.slowest == pytest.approx(solved.value, rel=1e-9)
    assert sides.margin_at_speed(sides.slowest) == pytest.approx(0.0, abs=1e-9)


def test_the_place_where_the_loss_begins_can_be_tried(panel: TwoTonePanel) -> None:
    slowest = panel.sides.slowest
    panel.form.put("extra", float(panel.form["extra"].value))
    panel.form.put("extra", float(panel.form["extra"].value) + 1)  # mine from here on
    assert panel.form[WIPE].most >= panel.sides.slowest
    panel.form.put(WIPE, f"{1.02 * panel.sides.slowest:.3f} min/m")
    assert not panel.form.messages
    assert panel.sides.margin < 0
    assert panel.form[WIPE].value > slowest


def test_charts_follow_the_extra_and_marks_can_be_dragged(panel: TwoTonePanel) -> None:
    panel.board.picked = {"chart": "margin", "x": panel.sides.plain_price + 90.0, "n": 1}
    assert panel.form["extra"].value == pytest.approx(90.0)
    now = panel.board.rows_of("margin", "now")
    assert now[1]["price"] == pytest.approx(panel.sides.plain_price + 90.0)
    panel.board.picked = {"chart": "map", "x": 4.0, "y": 120.0, "n": 2}
    assert panel.form[WIPE].value == pytest.approx(4.0)
    assert panel.board.rows_of("map", "now")[0]["extra"] == pytest.approx(120.0)


def test_zones_meet_at_break_even_and_at_the_wanted_margin(panel: TwoTonePanel) -> None:
    zones = panel.board.rows_of("map", "zones")
    for wipe in {row["wipe"] for row in zones}:
        column = {row["zone"]: row for row in zones if row["wipe"] == wipe}
        assert column["loses money"]["top"] == column["below your margin"]["extra"]
        assert column["below your margin"]["top"] == column["keeps your margin"]["extra"]
    here = min(zones, key=lambda row: abs(row["wipe"] - panel.sides.speed))
    even = panel.sides.fancy.model({**panel.sides.fancy.book, WIPE: here["wipe"]}) - panel.sides.plain_price
    assert here["top"] == pytest.approx(float(even), abs=0.01)


def test_the_band_holds_the_line_and_grows_with_it(panel: TwoTonePanel) -> None:
    band = panel.sides.band
    assert (band.low < band.high).all()
    assert (band.extra > band.low).all()
    assert (band.extra < band.high).all()
    assert band.high[-1] - band.low[-1] > band.high[0] - band.low[0]


def test_masked_asks_for_tape_minutes(panel: TwoTonePanel) -> None:
    panel.form.put("way", "two_tone_masked")
    assert WIPE not in panel.form
    assert "tape.tape_m.hands" in panel.form
    assert "Taping still pays up to" in plain(panel.board.words_of("answers"))


def test_another_item_starts_with_its_own_measures(panel: TwoTonePanel) -> None:
    panel.form.put("extra", 33.0)
    panel.form.put("begun", "item:bench_end")
    assert panel.form["line_m"].value == panel.desk.items["bench_end"].part.line_m
    assert panel.form["extra"].value == panel.sides.advised != 33.0


def test_no_extra_where_no_price_may_be_given(own: Path) -> None:
    text = (own / "shop.toml").read_text("utf-8").replace("most_heat_cycles = 3", "most_heat_cycles = 1")
    (own / "shop.toml").write_text(text, "utf-8")
    panel = TwoTonePanel(Desk(own, read_only=False))
    panel.form.put("begun", "item:wheel_set")
    told = plain(panel.board.words_of("answers"))
    assert "Do not quote" in told
    assert "€" not in told
    assert panel.board.words_of("sure") == ""
    assert not panel.board.rows_of("map", "zones")
    panel.form.put("begun", "item:gate_single")
    assert "Charge extra" in plain(panel.board.words_of("answers"))
    assert panel.board.rows_of("map", "zones")


def test_every_number_of_the_page_has_a_why(panel: TwoTonePanel) -> None:
    keys = [
        key
        for block in ("answers", "sure", "build")
        for key in re.findall(r'data-why="([^"]+)"', panel.board.words_of(block))
    ]
    for chart, name in (("build", "steps"), ("margin", "marks"), ("loss", "now"), ("line", "now"), ("map", "now")):
        keys += [row["why_key"] for row in panel.board.rows_of(chart, name)]
    assert len(set(keys)) > 25
    for at, key in enumerate(dict.fromkeys(keys)):
        panel.board.asked = {"key": key, "n": at}
        assert panel.board.answer["n"] == at, key
        assert panel.board.answer["lines"], key


def test_feet_tell_the_same_story(own: Path) -> None:
    metric = TwoTonePanel(Desk(own, read_only=False))
    text = (own / "shop.toml").read_text("utf-8").replace('units = "metric"', 'units = "us"')
    (own / "shop.toml").write_text(text, "utf-8")
    us = TwoTonePanel(Desk(own, read_only=False))
    assert us.sides.advised == metric.sides.advised
    assert us.form["line_m"].text == "8.858 ft"
    assert "min/ft" in plain(us.board.words_of("answers"))
    us.board.picked = {"chart": "map", "x": 1.0, "y": 100.0, "n": 1}
    assert us.form[WIPE].value == pytest.approx(1 / 0.3048)


def test_a_range_opens_the_extra(panel: TwoTonePanel) -> None:
    panel.form.put("quantity", "7 to 11")
    low, high = panel.sides.advised_between
    assert low < panel.sides.advised < high
    assert f"from €{low:.0f} to €{high:.0f}, fixed at intake" in plain(panel.board.words_of("answers"))
    panel.form.put("quantity", "9")
    assert "fixed at intake" not in plain(panel.board.words_of("answers"))


def test_axes_write_numbers_as_the_tables_beside_them(own: Path) -> None:
    assert TwoTonePanel(Desk(own)).board.signs == [".", ","]
    front = own / "shop.toml"
    front.write_text(front.read_text("utf-8").replace("en_IE", "de_DE"), "utf-8")
    assert TwoTonePanel(Desk(own)).board.signs == [",", "."]
