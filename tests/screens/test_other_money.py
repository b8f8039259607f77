"""Another currency on a page: asked back, one step, marked as a guess, and the same as ``new --currency``."""

from dataclasses import replace
from pathlib import Path

import pytest

from pricing.parts.items import read_items
from pricing.screens.panel_settings import SettingsPanel
from pricing.screens.panel_visit import VisitPanel
from pricing.shop.folder import new_folder, open_shop
from pricing.show.desk import Desk


def test_the_page_turns_amounts_as_a_new_folder_does(own: Path, tmp_path: Path) -> None:
    desk = Desk(own, read_only=False)
    panel = VisitPanel(desk)
    panel.form.put("pass", True)  # which makes a file that the folder does not have yet
    before = desk.shop
    panel.form.put("money.code", "USD")
    assert desk.shop == before  # it is asked first
    assert "1.08" in panel.form["money.rate"].text
    assert "counts as a guess" in panel.form.state["money.said"]["text"]
    panel.form.put("money.keep", True)
    assert "money.rate" not in panel.form
    panel.form.put("money.code", "USD")
    panel.form.put("money.turn", True)
    assert desk.shop.currency == "USD"
    assert desk.undo()
    assert desk.shop == before  # all of it was one step
    assert desk.redo()
    desk.save()
    made = open_shop(new_folder(tmp_path / "us", currency="USD", sales_tax=before.policy.sales_tax))
    kept = open_shop(own)
    assert kept == replace(made, folder=own, visited=before.visited)
    assert kept.visited
    assert read_items(kept) == read_items(made)
    assert kept.rates["strip_chemical.m2.supplies"].kind == "guess"
    panel.form.put("money.code", "GBP")  # and on to a third
    panel.form.put("money.turn", True)
    assert desk.shop.sources["converted"].title.startswith("Turned from USD")
    desk.save()
    assert open_shop(own).currency == "GBP"


def test_a_rate_of_ones_own_and_a_change_after_it(own: Path) -> None:
    desk = Desk(own, read_only=False)
    panel = SettingsPanel(desk)
    panel.form.put("kind", "front")
    panel.form.put("money.code", "GBP")
    panel.form.put("money.rate", "0.5")
    panel.form.put("money.turn", True)
    assert desk.shop.owner.draw_per_y == 18_000
    assert "as you said" in desk.shop.sources["converted"].title
    panel.form.put("kind", "owner")
    panel.form.put("owner.draw_per_y", "£20000")
    desk.save()
    again = open_shop(own)
    assert (again.currency, again.owner.draw_per_y) == ("GBP", 20_000)
    assert again == desk.shop


@pytest.mark.parametrize("what", ["log", "job"])
def test_what_is_written_for_good_stands_in_the_way(own: Path, what: str) -> None:
    if what == "log":
        (own / "ledger.db").write_bytes(b"")
    else:
        job = own / "jobs" / "sign_letters.toml"
        job.write_text(job.read_text("utf-8") + '# extra = "12 EUR"\n', "utf-8")
    desk = Desk(own, read_only=False)
    panel = SettingsPanel(desk)
    panel.form.put("kind", "front")
    panel.form.put("money.code", "USD")
    assert panel.form.state["money.turn"]["off"]
    panel.form.put("money.turn", True)
    assert desk.shop.currency == "EUR"
    assert ("log is kept in EUR" if what == "log" else "sign_letters.toml") in panel.form.state["money.said"]["text"]
