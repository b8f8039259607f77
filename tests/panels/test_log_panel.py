"""Page 7: a stopwatch that forgets nothing, what jobs took, and rates the owner takes or leaves."""

import re
import shutil
from pathlib import Path

import pytest

from pricing.ledger.exchange import import_folder
from pricing.ledger.store import open_ledger
from pricing.shop.folder import open_shop
from pricing.show.desk import Desk
from pricing.show.panel_job import JobPanel
from pricing.show.panel_log import LogPanel
from tests.conftest import ROOT
from tests.panels.texts import plain


@pytest.fixture
def panel(own: Path) -> LogPanel:
    return LogPanel(Desk(own, read_only=False))


@pytest.fixture(scope="module")
def logged_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a year of invented jobs in its log."""
    from pricing.shop.folder import new_folder

    folder = new_folder(tmp_path_factory.mktemp("logged") / "mine")
    with open_ledger(folder) as ledger:
        import_folder(ledger, ROOT / "data" / "ledger")
    return folder


@pytest.fixture
def logged(logged_once: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(logged_once, tmp_path / "logged"))


def test_an_empty_log_shows_invented_jobs_and_says_so(panel: LogPanel) -> None:
    assert "These jobs are invented" in re.sub(r"\s+", " ", plain(panel.board.words_of("answers")))
    key = panel.review.proposals[0].key
    panel.table.put("rates", key, "take", "")
    assert "invented" in panel.table.message("rates", key, "take")
    assert not (panel.desk.folder / "ledger.db").exists()


def test_the_watch_survives_a_closed_page(panel: LogPanel, own: Path) -> None:
    panel.form.put("job", "garden gate")
    panel.form.put("start", given=True)
    assert "Running: wipe the line clean" in panel.form.state["watch"]["text"]
    again = LogPanel(Desk(own, read_only=False))
    assert again.form["known"].value == "garden gate"
    assert "Running: wipe the line clean" in again.form.state["watch"]["text"]
    again.form.put("step", "blast")
    again.form.put("start", given=True)
    assert "Running: blast" in again.form.state["watch"]["text"]
    again.form.put("pause", given=True)
    assert "Paused" in again.form.state["watch"]["text"]


def test_minutes_by_hand_are_in_the_log_at_once(panel: LogPanel, own: Path) -> None:
    panel.form.put("job", "garden gate")
    panel.form.put("minutes", "0.5 h")
    panel.form.put("write", given=True)
    assert panel.form.state["said"]["text"] == "Written: garden gate, wipe the line clean, 30 min."
    with open_ledger(own) as ledger:
        (row,) = ledger.rows("times")
    assert (row["job"], row["step"], row["minutes"]) == ("garden gate", "wipe", 30.0)
    assert not panel.book.invented


def test_a_bad_number_of_minutes_is_refused(panel: LogPanel) -> None:
    panel.form.put("minutes", "30")
    assert panel.form.messages["minutes"] == "Write the unit too, like 10 min."
    panel.form.put("minutes", "3 m")
    assert panel.form.messages["minutes"].startswith("m is not a unit of this kind.")


def test_dots_are_the_jobs_of_the_log(logged: Path) -> None:
    panel = LogPanel(Desk(logged, read_only=False))
    quoted = {one.job: one for one in panel.review.compared if one.step == "wipe" and one.quoted}
    dots = panel.board.rows_of("jobs", "jobs")
    assert len(dots) == len(quoted)
    assert sorted(row["actual"] for row in dots) == pytest.approx(sorted(one.actual for one in quoted.values()))
    outside = sum(not one.inside for one in quoted.values())
    assert sum(row["state"] == "out of its range" for row in dots) == outside
    panel.form.put("shown", "blast")
    assert panel.board.rows_of("jobs", "jobs") != dots


def test_a_proposed_rate_is_taken_into_the_rate_book(logged: Path) -> None:
    panel = LogPanel(Desk(logged, read_only=False))
    key = "wipe.line_m.hands"
    proposal = next(one for one in panel.review.proposals if one.key == key)
    panel.table.put("rates", key, "take", "")
    shop = open_shop(logged)
    assert shop.rates[key].mean == pytest.approx(proposal.new.mean)
    assert shop.rates[key].kind == "measured"
    assert "rates_history.csv" in panel.bar.told["state"]
    assert (logged / "rates_history.csv").exists()


def test_a_quote_given_on_page_2_stands_in_the_log(own: Path) -> None:
    page = JobPanel(Desk(own, read_only=False))
    page.form.put("quote", given=True)
    assert page.form.state["said"]["text"].startswith("In the log: Bakery sign")
    with open_ledger(own) as ledger:
        (row,) = ledger.rows("quotes")
    assert row["price"] == page.form["asked"].value
    assert row["cost"] == pytest.approx(page.trial.total)
    log = LogPanel(Desk(own, read_only=False))
    assert log.form["known"].value == row["job"]


def test_a_page_only_shown_writes_nothing(own: Path) -> None:
    panel = LogPanel(Desk(own, read_only=True))
    panel.form.put("start", given=True)
    assert "only shown" in panel.form.state["watch"]["text"]
    assert not (own / "ledger.db").exists()


def test_every_number_of_the_page_has_a_why(logged: Path) -> None:
    panel = LogPanel(Desk(logged, read_only=False))
    keys = re.findall(r'data-why="([^"]+)"', panel.board.words_of("answers"))
    keys += [row["why_key"] for row in panel.board.rows_of("steps", "steps")]
    assert len(keys) > 8
    for at, key in enumerate(keys):
        panel.board.asked = {"key": key, "n": at}
        assert panel.board.answer["n"] == at, key
        assert panel.board.answer["lines"], key
