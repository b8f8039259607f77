"""Page 5: where a job, a batch and a month begin to pay; held to the solver that the command line uses."""

import asyncio
import re
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest

from pricing.costing.job_cost import JobCost
from pricing.prices.questions import break_even, fixed_per_month
from pricing.prices.week import month_of, plan_of
from pricing.screens.panel_break_even import BreakEvenPanel
from pricing.show.desk import Desk
from tests.screens.texts import plain


@pytest.fixture
def panel(own: Path) -> BreakEvenPanel:
    panel = BreakEvenPanel(Desk(own, read_only=False))
    panel.form.put("begun", "item:bistro_table")  # few go into an oven: whole loads show
    panel.form.put("quantity", "8")
    return panel


def test_what_is_left_turns_where_the_solver_says(panel: BreakEvenPanel) -> None:
    panel.form.put("asked", panel.cost * 1.05)
    for over in ("wipe", "line", "reject", "powder", "hour"):
        panel.form.put("over", over)
        found = break_even(panel.desk.shop, panel.job, over, price=panel.even.price)
        turns = panel.board.rows_of("gain", "turns")
        scale = 100 if over == "reject" else 1
        assert [row["value"] for row in turns] == pytest.approx([turn.value * scale for turn in found.turns]), over
        gains = panel.board.rows_of("gain", "gain")
        assert {row["state"] for row in gains if row["gain"] > 1e-6} <= {"pays"}, over
        assert {row["state"] for row in gains if row["gain"] < -1e-6} <= {"loses money"}, over


def test_batches_are_costed_one_by_one_and_whole_loads_show(panel: BreakEvenPanel) -> None:
    curve = {row["n"]: row["each"] for row in panel.board.rows_of("batch", "curve")}
    lot = panel.job.lots[0]
    for n in (6, 7, 13, 30):
        job = panel.job.model_copy(update={"lots": (lot.model_copy(update={"quantity": n}),)})
        each = float(JobCost.of(panel.desk.shop, job)(panel.desk.shop.book)) / n
        assert curve[n] == pytest.approx(each, abs=1e-3)
    teeth = [row["n"] for row in panel.board.rows_of("batch", "teeth")]
    assert len(teeth) >= 3
    assert all(curve[n] > curve[n - 1] for n in teeth)


def test_batches_that_lose_money_are_seen_and_said(panel: BreakEvenPanel) -> None:
    panel.form.put("asked", panel.cost * 0.9)
    losing = [n for n, gain in zip(panel.even.batch.counts.tolist(), panel.even.batch.gains, strict=True) if gain < 0]
    assert losing
    assert [row["n"] for row in panel.board.rows_of("batch", "curve") if row["state"] == "loses money"] == losing
    told = plain(panel.board.words_of("batch"))
    assert told.startswith("Batches that lose money: ")
    assert f"{losing[-1]}" in told.split(".")[0]


def test_a_dragged_price_line_sets_the_price(panel: BreakEvenPanel) -> None:
    before = {row["n"]: row["each"] for row in panel.board.rows_of("batch", "price")}
    panel.board.picked = {"chart": "batch", "x": 20.2, "y": 0.75 * before[20], "n": 1}
    after = {row["n"]: row["each"] for row in panel.board.rows_of("batch", "price")}
    assert after[20] == pytest.approx(0.75 * before[20], rel=5e-3)  # the field's step
    assert after[40] == pytest.approx(0.75 * before[40], rel=5e-3)
    told = panel.board.rows_of("batch", "curve")
    for row in told:
        if row["n"] in after and abs(after[row["n"]] - row["each"]) > 0.01:
            assert row["state"] == ("pays" if after[row["n"]] > row["each"] else "loses money"), row["n"]
    panel.board.picked = {"chart": "batch", "x": 20.2, "y": 0.5 * before[20], "n": 2}
    assert {row["state"] for row in panel.board.rows_of("batch", "curve")} == {"loses money"}


def test_the_month_and_the_week_are_those_of_the_model(panel: BreakEvenPanel) -> None:
    shop = panel.desk.shop
    month, week = month_of(shop, panel.wanted), plan_of(shop, panel.wanted)
    line = panel.board.rows_of("month", "line")
    assert line[0]["left"] == pytest.approx(-fixed_per_month(shop))
    assert panel.board.rows_of("month", "even")[0]["orders"] == pytest.approx(month.break_even_quantity)
    used = {row["title"]: row["hours"] for row in panel.board.rows_of("hours", "used") if row["state"] == "taken on"}
    for resource in week.resources:
        assert used[resource.name] == pytest.approx(resource.used, abs=1e-3)
    before = used["owner"]
    panel.form.put("times", 0.25)
    after = {row["title"]: row["hours"] for row in panel.board.rows_of("hours", "used")}
    assert after["owner"] < before


def test_the_week_is_worked_out_anew_where_it_rests_on_what_is_moved(panel: BreakEvenPanel) -> None:
    mix = panel.mix
    panel.form.put("quantity", "9")
    assert panel.mix is mix
    panel.form.put("wipe.line_m.hands", 5.0)
    assert panel.mix is not mix
    assert panel.mix.week.earned != pytest.approx(mix.week.earned, rel=1e-6)
    panel.form.put("wipe.line_m.hands", mix.shop.rates["wipe.line_m.hands"].mean)
    assert panel.mix.week.earned == pytest.approx(mix.week.earned)


def test_a_slower_wipe_moves_cost_and_charts(panel: BreakEvenPanel) -> None:
    cost, curve = panel.cost, panel.board.rows_of("batch", "curve")
    panel.form.put("wipe.line_m.hands", 5.0)
    assert panel.cost > cost
    assert panel.board.rows_of("batch", "curve") != curve
    assert panel.desk.shop.rates["wipe.line_m.hands"].mean < 3  # tried, not kept


def test_every_answer_is_a_sentence(panel: BreakEvenPanel) -> None:
    told = plain(panel.board.words_of("told"))
    for word in ("wiping time", "line", "reject rate", "powder price", "owner's hour", "batch size", "jobs a month"):
        assert word in told


def test_another_number_gets_its_own_axis(panel: BreakEvenPanel) -> None:
    panel.form.put("over", "powder")
    block = next(block for block in panel.board.blocks if block["key"] == "gain")
    assert "powder price [EUR/kg]" in str(block["spec"])


def test_no_break_even_where_no_price_may_be_given(panel: BreakEvenPanel) -> None:
    panel.form.put("begun", "job:wheels_three_coats")
    assert "Do not quote" in plain(panel.board.words_of("answers"))
    assert not panel.board.rows_of("batch", "curve")
    panel.form.put("begun", "item:bench_end")
    assert panel.board.rows_of("batch", "curve")


def test_a_folder_without_a_week_says_so(own: Path) -> None:
    (own / "week.csv").unlink(missing_ok=True)
    panel = BreakEvenPanel(Desk(own, read_only=False))
    assert "not said yet" in panel.board.words_of("month")


def test_every_number_of_the_page_has_a_why(panel: BreakEvenPanel) -> None:
    keys = re.findall(r'data-why="([^"]+)"', panel.board.words_of("answers"))
    assert len(keys) == 3
    for at, key in enumerate(keys):
        panel.board.asked = {"key": key, "n": at}
        assert panel.board.answer["lines"], key
    assert np.isfinite(panel.cost)


def test_a_range_opens_the_advised_price(panel: BreakEvenPanel) -> None:
    panel.form.put("quantity", "6 to 10")
    low, high = panel.even.quote.between
    told = plain(panel.board.words_of("answers"))
    assert f"advised from €{low.printed:,.2f} to €{high.printed:,.2f}, fixed at intake" in told


def test_what_takes_long_waits_until_the_page_stands_in_the_browser(own: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.undo()  # here it is about waiting

    async def opened() -> tuple[str, str]:
        panel = BreakEvenPanel(Desk(own, read_only=False))
        await asyncio.sleep(0.3)  # what waits for quiet alone would have begun
        before = panel.board.words_of("told")
        panel.board.seen = True
        while not panel.board.words_of("told"):
            await asyncio.sleep(0.05)
        return before, panel.board.words_of("told")

    with ThreadPoolExecutor(1) as apart:  # a browser test before this one may have left its loop in this thread
        before, after = apart.submit(lambda: asyncio.run(opened())).result()
    assert before == ""
    assert "pays" in after


def test_any_price_may_be_typed_on_any_job(panel: BreakEvenPanel) -> None:
    panel.form.put("asked", "9000 EUR")
    asked = panel.form["asked"]
    assert (panel.form.messages, asked.value, asked.most) == ({}, 9000.0, 9000.0)
    assert "of €9,000.00" in plain(panel.board.words_of("answers"))
