"""The first visit's page: asks, takes answers into the draft, keeps guesses, follows what is sold."""

from pathlib import Path

import pytest

from pricing.screens.panel_visit import VisitPanel
from pricing.shop.folder import open_shop
from pricing.shop.visit import NOT_KNOWN
from pricing.show.desk import Desk
from tests.screens.texts import plain


@pytest.fixture
def panel(own: Path) -> VisitPanel:
    return VisitPanel(Desk(own, read_only=False))


def test_answers_firm_the_list_and_are_saved(panel: VisitPanel, own: Path) -> None:
    first, before = panel.found.breaths[0], panel.found.within
    assert first == ("owner.weeks", "owner.hours_per_week_h", "owner.billable")
    panel.form.put("say", given=True)
    assert "press “I don't know”" in panel.form[f"answer.{first[0]}"].message
    panel.form.put("pass", given=True)
    first = panel.found.breaths[0]
    assert "Nothing can break" in plain(panel.board.words_of("lines"))
    panel.form.put("answer.owner.draw_per_y", "48000", live=True)
    assert panel.found.breaths[0] == first  # it counts when Answer is pressed
    panel.form.put("say", given=True)
    assert panel.found.breaths[0] != first
    assert panel.found.within < before
    assert f"{100 * panel.found.within:.0f} %" in plain(panel.board.words_of("answers"))
    assert panel.desk.shop.owner.draw_per_y == 48_000
    passed = panel.found.breaths[0]
    panel.form.put("pass", given=True)
    panel.form.put("sold.bench_end", given=False)
    panel.form.put("oven:small oven.inside_width_mm", "1500 mm")
    panel.form.put("cabinet.nozzle_bore_mm", "8")
    panel.form.put("powder:jet black.uses", "400")
    panel.form.put("policy.sales_tax", "19")
    panel.bar.press("save")
    again = open_shop(own)
    assert len(again.visited) == 3 + 3 + len(passed) + 1
    assert "bench_end" not in again.visited["sold"].split()
    assert again.machines.oven[0].inside_width_mm == 1500
    assert again.machines.cabinet.nozzle_bore_mm == 8
    assert again.powders["jet black"].uses == 400
    assert again.policy.sales_tax == pytest.approx(0.19)
    gone_on = VisitPanel(Desk(own, read_only=False))
    assert gone_on.found.breaths == panel.found.breaths


def test_a_wrong_answer_is_told_and_undo_takes_a_step_back(panel: VisitPanel) -> None:
    first = panel.found.breaths[0]
    panel.form.put(f"answer.{first[1]}", "much")
    panel.form.put("say", given=True)
    assert panel.form[f"answer.{first[1]}"].message
    assert panel.found.breaths[0] == first
    panel.form.put(f"answer.{first[1]}", "40 h")
    panel.form.put("say", given=True)
    panel.bar.press("undo")
    assert panel.found.breaths[0] == first
    for typed in ("I don’t know", "dont know", "?"):
        panel.form.put(f"answer.{first[1]}", typed)
        assert panel.form[f"answer.{first[1]}"].message == ""
        assert panel.form[f"answer.{first[1]}"].text == "I don't know"
    panel.form.put("say", given=True)
    assert panel.desk.shop.visited == dict.fromkeys(first, NOT_KNOWN)
    assert panel.found.breaths[0] != first


def test_nothing_sold_is_refused(panel: VisitPanel) -> None:
    for key in panel.desk.items:
        panel.form.put(f"sold.{key}", given=False)
    assert "Tick one" in panel.form[f"sold.{key}"].message
    assert panel.desk.shop.visited["sold"].split() == [key]


def test_three_remembered_jobs_speak_once(panel: VisitPanel) -> None:
    rate = panel.desk.shop.rates["blast.m2.hands"].mean
    for hours in ("6 h", "7 h", "6.5"):
        panel.form.put("job.item", "gate_single")
        panel.form.put("job.price", "200")
        panel.form.put("job.hours", hours)
        panel.form.put("add_job", given=True)
    assert "3 jobs took" in panel.form.state["jobs"]["text"]
    panel.form.put("hear_jobs", given=True)
    slower = panel.desk.shop.rates["blast.m2.hands"].mean
    assert slower > rate
    assert "0 jobs so far" in panel.form.state["jobs"]["text"]
    panel.form.put("hear_jobs", given=True)  # nothing waits any more
    assert panel.desk.shop.rates["blast.m2.hands"].mean == slower
    assert "3 to 10" in panel.bar.told["state"]
