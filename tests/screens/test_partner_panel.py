"""Page 6: one screen for a partner, from the same model as the other pages."""

import re
from pathlib import Path

import pytest

from pricing.prices.hire_buy_drop import with_helpers
from pricing.prices.questions import fixed_per_month
from pricing.prices.week import plan_of, week_hours
from pricing.screens.panel_partner import PartnerPanel
from pricing.show.desk import Desk
from tests.screens.texts import plain


@pytest.fixture
def panel(own: Path) -> PartnerPanel:
    return PartnerPanel(Desk(own, read_only=False))


def test_the_price_is_that_of_the_two_tone_page(panel: PartnerPanel, own: Path) -> None:
    from pricing.screens.panel_two_tone import TwoTonePanel

    other = TwoTonePanel(Desk(own, read_only=False))
    assert panel.sides.price == other.sides.price
    assert f"€{panel.sides.price:,.0f}" in plain(panel.board.words_of("answers"))


def test_bands_hold_their_mean_and_nine_in_ten(panel: PartnerPanel) -> None:
    bands = panel.board.rows_of("bands", "bands")
    assert len(bands) == 12
    assert all(row["low"] < row["cost"] < row["high"] for row in bands)


def test_the_three_longest_swings_are_named(panel: PartnerPanel) -> None:
    swings = panel.sides.fancy.swings()
    widths = [abs(high - low) for _, low, high in swings]
    assert widths == sorted(widths, reverse=True)
    assert plain(panel.board.words_of("unsure")).count("): cost €") == 3
    assert "Wipe the line clean" in plain(panel.board.words_of("unsure"))


def test_a_year_is_the_weeks_at_work_less_what_a_year_costs(panel: PartnerPanel) -> None:
    shop = panel.desk.shop
    week = plan_of(shop, panel.wanted)
    draw = shop.owner.draw_per_y * (1 + shop.owner.on_cost)
    machines = sum(machine.yearly_cost(shop.policy.interest) for machine in shop.machines.all())
    wages = shop.helper.wages_per_y if shop.helper else 0.0
    left = week.earned * shop.owner.weeks - draw - wages - shop.overhead_per_y - machines
    assert f"€{left:,.0f}" in plain(panel.board.words_of("money"))


def test_sliders_move_everything_and_go_back(panel: PartnerPanel) -> None:
    before = {block: panel.board.words_of(block) for block in ("answers", "unsure", "money")}
    panel.form.put("wipe.line_m.hands", 5.0)
    assert panel.board.words_of("answers") != before["answers"]
    assert panel.board.words_of("money") != before["money"]
    panel.form.put("back", given=True)
    assert {block: panel.board.words_of(block) for block in before} == before


def test_every_number_of_the_page_has_a_why(panel: PartnerPanel) -> None:
    keys = [
        key for block in ("answers", "money") for key in re.findall(r'data-why="([^"]+)"', panel.board.words_of(block))
    ]
    keys += [row["why_key"] for row in panel.board.rows_of("build", "steps")]
    assert len(set(keys)) > 20
    for at, key in enumerate(dict.fromkeys(keys)):
        panel.board.asked = {"key": key, "n": at}
        assert panel.board.answer["n"] == at, key
        assert panel.board.answer["lines"], key


def test_a_second_helper_or_none_is_the_pages_choice(panel: PartnerPanel) -> None:
    price, years = panel.sides.price, {}
    for helpers in ("1", "0", "2"):
        panel.form.put("helpers", helpers)
        staff = with_helpers(panel.desk.shop, int(helpers))
        best = plan_of(panel.desk.shop, panel.wanted, hours=week_hours(staff))
        assert panel.mix.week.earned == pytest.approx(best.earned)
        assert ("helper" in {row.name for row in panel.mix.week.resources}) == (helpers != "0")
        fixed = fixed_per_month(staff)
        assert f"€{fixed:,.0f}" in plain(panel.board.words_of("answers"))
        years[helpers] = best.earned * staff.owner.weeks - 12 * fixed
        assert f"€{years[helpers]:,.0f}" in plain(panel.board.words_of("money"))
    assert len(set(years.values())) == 3
    panel.form.put("back", given=True)
    assert panel.form["helpers"].value == "1"
    assert panel.sides.price == price
