"""Page 7: a stopwatch that forgets nothing, what jobs took, and rates the owner takes or leaves."""

import re
import shutil
import time
from dataclasses import replace
from pathlib import Path

import pytest

from pricing.ledger import stopwatch
from pricing.ledger.exchange import import_folder
from pricing.ledger.store import open_ledger
from pricing.screens.log_book import NOT_QUOTED
from pricing.screens.log_clock import NO_NAME
from pricing.screens.panel_job import JobPanel
from pricing.screens.panel_log import LogPanel
from pricing.shop.folder import open_shop, save_shop
from pricing.show.desk import LOG_VARIABLE, Desk
from tests.benchmarks.log_page import long_log
from tests.conftest import ROOT
from tests.screens.texts import plain


def at_work(folder: Path, who: str = "owner", *, read_only: bool = False) -> LogPanel:
    """Open the page on a device that knows who works there."""
    panel = LogPanel(Desk(folder, read_only=read_only))
    panel.form.put("who", who)
    return panel


@pytest.fixture
def panel(own: Path) -> LogPanel:
    return at_work(own)


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
    again = at_work(own)
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
    assert panel.form.state["said"]["text"] == f"Written: garden gate, wipe the line clean, 30 min. {NOT_QUOTED}"
    with open_ledger(own) as ledger:
        (row,) = ledger.rows("times")
    assert (row["job"], row["step"], row["minutes"]) == ("garden gate", "wipe", 30.0)
    assert not panel.book.invented


def test_a_bad_number_of_minutes_is_refused(panel: LogPanel) -> None:
    panel.form.put("minutes", "soon")
    assert panel.form.messages["minutes"] == "'soon' is no number. Write it like 12 min."
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


def test_two_customers_who_want_the_same_have_a_quote_each(own: Path) -> None:
    page = JobPanel(Desk(own, read_only=False))
    for _ in range(2):
        page.form.put("quote", given=True)
    with open_ledger(own) as ledger:
        names = [row["job"] for row in ledger.rows("quotes")]
    assert names == [page.job.title, f"{page.job.title} 2"]
    assert page.form.state["said"]["text"].startswith(f"In the log: {names[1]} at")


def test_a_quote_made_with_a_moved_slider_keeps_what_was_on_the_screen(own: Path) -> None:
    page = JobPanel(Desk(own, read_only=False))
    before = page.trial.total
    key = next(key for key in page.moves if key.endswith(".hands"))
    page.form.put(key, page.form[key].most)
    assert page.trial.total > before + 1
    page.form.put("quote", given=True)
    with open_ledger(own) as ledger:
        (row,) = ledger.rows("quotes")
    assert row["cost"] == page.trial.total
    assert row["sheet"]["book"][key] == page.numbers()[key]


def test_a_quote_is_won_lost_and_shown_again_to_the_cent(own: Path) -> None:
    page = JobPanel(Desk(own, read_only=False))
    page.form.put("quote", given=True)
    asked, cost, job = page.form["asked"].value, page.trial.total, page.job.title
    panel = LogPanel(Desk(own, read_only=False))
    panel.table.put("quotes", job, "won", "")
    panel.table.put("quotes", job, "won", "")
    panel.table.put("quotes", job, "paid", "dear")
    assert panel.table.message("quotes", job, "paid").startswith("'dear' is no number.")
    panel.table.put("quotes", job, "paid", f"{asked - 5:.2f}")
    assert panel.table.text("quotes", job, "now") == "won"
    shop = open_shop(own)
    dearer = {key: replace(row, likely=2 * row.likely, high=3 * row.high) for key, row in shop.rates.items()}
    save_shop(replace(shop, rates=dearer), own)
    panel = LogPanel(Desk(own, read_only=False))
    panel.table.put("quotes", job, "show", "")
    words = panel.desk.words
    assert panel.board.answer["lines"][0].startswith(f"{words.money(asked)} asked, {words.money(cost)} full cost")
    assert panel.board.answer["n"] < 0, "nobody asked the board itself"
    with open_ledger(own) as ledger:
        assert [row["price_paid"] for row in ledger.rows("outcomes")] == [pytest.approx(asked - 5)]
        assert len(ledger.history("outcomes")) == 2, "pressing Won twice is one fact, another price a correction"
    panel.table.put("quotes", job, "lost", "")
    assert panel.table.text("quotes", job, "now") == "lost"


def test_a_quoted_job_that_is_done_counts_for_rework_once(own: Path) -> None:
    page = JobPanel(Desk(own, read_only=False))
    page.form.put("quote", given=True)
    job = page.job.title
    panel = at_work(own)
    assert panel.form["known"].value == job
    panel.form.put("start", given=True)
    assert panel.form.state["watch"]["since_ms"] > 0
    panel.form.put("finish", given=True)
    assert panel.form.state["watch"]["text"].startswith(f"{job}: done")
    panel.form.put("finish", given=True)
    panel.form.put("again.parts", "2")
    panel.form.put("again.found", "before cure")
    panel.form.put("again.cause", "line bled")
    panel.form.put("again", given=True)
    assert panel.form.state["again.said"]["text"] == f"Written: {job}."
    with open_ledger(own) as ledger:
        (done,) = ledger.rows("jobs")
        (redone,) = ledger.rows("rework")
    assert (done["parts"], done["wiped_parts"], done["substrate"]) == (9, 9, "wrought")
    assert (redone["parts"], redone["found"], redone["cause"]) == (2, "before cure", "line bled")
    rate = panel.review.rework["spoil.wiped"]
    assert (rate.tries, rate.failed) == (11, 2)


@pytest.mark.slow
def test_powder_oven_loads_and_meters_are_written(panel: LogPanel, own: Path) -> None:
    panel.form.put("job", "garden gate")
    panel.form.put("weighed.used_kg", "2 lb")
    panel.form.put("loaded.minutes", "1 h")
    panel.form.put("read.carrier", "gas")
    panel.form.put("read.reading", "1830.5")
    for key in ("weighed", "loaded", "read"):
        panel.form.put(key, given=True)
        assert panel.form.state[f"{key}.said"]["text"].startswith("Written: ")
    with open_ledger(own) as ledger:
        (powder,), (load,), (meter,) = (ledger.rows(kind) for kind in ("powder", "loads", "meters"))
    assert powder["used_kg"] == pytest.approx(0.90718474)
    assert (load["minutes"], load["cure"]) == (60.0, "full")
    assert (meter["reading"], meter["unit"], meter["carrier"]) == (1830.5, "m3", "gas")


@pytest.mark.slow
def test_odd_minutes_are_confirmed_or_put_right(logged: Path) -> None:
    panel = LogPanel(Desk(logged, read_only=False))
    first, second = panel.review.calibration.doubtful[:2]
    key, other = f"{first.step}|{first.job}", f"{second.step}|{second.job}"
    panel.table.put("odd", other, "took", "soon")
    assert panel.table.message("odd", other, "took") == "'soon' is no number. Write it like 12 min."
    panel.table.put("odd", other, "took", f"{second.expected:.1f}")
    panel.table.put("odd", key, "so", "")
    left = [(doubt.step, doubt.job) for doubt in panel.review.calibration.doubtful]
    assert (first.step, first.job) not in left
    assert (second.step, second.job) not in left
    with open_ledger(logged) as ledger:
        row = next(r for r in ledger.rows("times", job=second.job) if r["step"] == second.step)
        assert row["minutes"] == pytest.approx(second.expected, rel=0.01)
        assert second.minutes in [r["minutes"] for r in ledger.history("times")], "what stood before is kept"


def test_trend_and_season_are_shown(logged: Path) -> None:
    panel = LogPanel(Desk(logged, read_only=False))
    seen = {row["key"]: row["cells"] for row in panel.table.get_state()["cells"]["season"]}
    rest = panel.review.calibration.steps["wipe"].fit.residual
    assert set(seen) <= set(panel.review.calibration.steps)
    assert len(rest) > 40
    assert seen["wipe"]["year"]["text"].endswith("%")
    months = [cell["text"] for name, cell in seen["wipe"].items() if len(name) == 3]
    assert sum(bool(text) for text in months) >= 5


def test_ranges_stand_under_the_dots(logged: Path) -> None:
    panel = LogPanel(Desk(logged, read_only=False))
    for row in panel.board.rows_of("jobs", "jobs"):
        assert (row["low"] <= row["actual"] <= row["high"]) == (row["state"] == "as expected")


@pytest.mark.slow
def test_ten_thousand_steps_open(tmp_path: Path) -> None:
    count = long_log(tmp_path / "mine")
    panel = LogPanel(Desk(tmp_path / "mine", read_only=False))
    assert len(panel.review.times) == count > 10_000


def test_a_tablet_may_log_and_do_nothing_else(logged: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(LOG_VARIABLE, "1")
    panel = at_work(logged, read_only=True)
    panel.form.put("start", given=True)
    assert "Running" in panel.form.state["watch"]["text"]
    key = panel.review.proposals[0].key
    assert panel.table._cell("rates", key, "take")["off"]
    panel.table.put("rates", key, "take", "")
    assert "only shown" in panel.table.message("rates", key, "take")


def test_a_log_that_cannot_be_read_says_so(own: Path) -> None:
    (own / "ledger.db").write_text("job,minutes\ngate,12\n")
    panel = at_work(own)
    told = plain(panel.board.words_of("answers"))
    assert "The log cannot be read" in told
    assert "not a ledger" in told
    panel.form.put("start", given=True)
    assert "not a ledger" in panel.form.state["watch"]["text"]


def test_a_page_only_shown_writes_nothing(own: Path) -> None:
    panel = LogPanel(Desk(own, read_only=True))
    assert panel.form.state["start"]["off"]
    panel.form.put("start", given=True)
    assert "Only shown" in panel.form.state["watch"]["text"] or "only shown" in panel.form.state["watch"]["text"]
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


def test_the_page_asks_once_who_works_here(own: Path) -> None:
    panel = LogPanel(Desk(own, read_only=False))
    panel.form.put("job", "garden gate")
    panel.form.put("start", given=True)
    assert panel.form.state["watch"]["text"] == NO_NAME
    assert panel.form.messages["who"] == NO_NAME
    assert not (own / "ledger.db").exists()
    panel.form.put("who", "helper")
    panel.form.put("start", given=True)
    assert panel.form.state["watch"]["text"] == "garden gate. Running: wipe the line clean, helper."
    assert panel.form.fields[1]["kept"], "the device keeps it"


def test_two_people_on_two_tablets_have_a_clock_each(own: Path) -> None:
    one, two = at_work(own, "owner"), at_work(own, "helper")
    for panel, step in ((one, "wipe"), (two, "hang")):
        panel.form.put("job", "garden gate")
        panel.form.put("step", step)
        panel.form.put("start", given=True)
    one.form.put("look", given=True)
    assert one.form.state["watch"]["text"] == (
        "garden gate. Running: wipe the line clean, owner. Running too: hang and earth, helper. Before: hang and earth 0.0 min."
    )
    two.form.put("pause", given=True)
    one.form.put("look", given=True)
    assert one.form.state["watch"]["since_ms"] > 0, "the other's pause is not mine"
    with open_ledger(own) as ledger:
        watch = stopwatch.read_watch(ledger, "garden gate")
    assert watch.of("owner") is not None
    assert watch.of("helper") is None


def test_looking_again_keeps_who_works_here_and_what_was_chosen(panel: LogPanel, own: Path) -> None:
    panel.form.put("job", "garden gate")
    panel.form.put("step", "blast")
    panel.form.put("minutes", "7 min")
    panel.form.put("start", given=True)
    assert "known" not in panel.form
    panel.form.put("look", given=True)
    assert panel.form["known"].value == "garden gate"
    kept = {key: panel.form[key].value for key in ("who", "job", "step", "minutes")}
    assert kept == {"who": "owner", "job": "garden gate", "step": "blast", "minutes": 7.0}
    with open_ledger(own) as ledger:
        stopwatch.start(ledger, "park bench", "coat", worker="helper")
    panel.form.put("look", given=True)
    assert set(panel.form["known"].options) == {"garden gate", "park bench"}
    assert panel.form["known"].value == "garden gate"
    panel.form.put("pause", given=True)
    assert "Paused" in panel.form.state["watch"]["text"]


def test_another_step_that_is_tapped_is_switched_to_at_once(panel: LogPanel, own: Path) -> None:
    panel.form.put("job", "garden gate")
    panel.form.put("step", "blast")
    assert not (own / "ledger.db").exists(), "nothing runs yet"
    panel.form.put("start", given=True)
    panel.form.put("step", "wipe")
    assert "Running: wipe the line clean" in panel.form.state["watch"]["text"]
    panel.form.put("tap:step:coat", given=True)
    assert "Running: spray powder" in panel.form.state["watch"]["text"]
    panel.form.put("pause", given=True)
    panel.form.put("tap:step:hang", given=True)
    assert "Running: hang and earth" in panel.form.state["watch"]["text"]
    panel.form.put("job", "chair")
    panel.form.put("start", given=True)
    assert panel.form.state["watch"]["text"].startswith("Hang and earth, garden gate, has ended. chair. Running")


def test_a_job_without_a_quote_is_asked_how_much_it_was(panel: LogPanel, own: Path) -> None:
    panel.form.put("job", "garden gate")
    panel.form.put("start", given=True)
    time.sleep(1.1)
    panel.form.put("finish", given=True)
    assert "How much was it?" in panel.form.state["watch"]["text"]
    shown = {key for key, at in panel.form.state.items() if key.startswith("much.") and at.get("hidden") is False}
    assert shown == {"much.what", "much.like", "much.pieces", "much.line_m", "much.spot", "much.right", "much.skip"}
    panel.form.put("much.pieces", "3")
    panel.form.put("much.line_m", "7 m")
    panel.form.put("much.right", given=True)
    assert panel.form.state["watch"]["text"] == "garden gate: 1 entry written."
    with open_ledger(own) as ledger:
        (row,) = ledger.rows("times")
    assert (row["amounts"], row["worker"]) == ({"line_m": 7.0, "part": 3.0, "job": 1.0}, "owner")
    assert panel.review.calibration.steps["wipe"].seen.jobs == ("garden gate",)


def test_what_is_changed_on_page_1_is_heard_while_the_page_is_open(logged: Path) -> None:
    panel, other = at_work(logged, "helper"), Desk(logged, read_only=False)
    panel.form.put("job", "bench ends")
    panel.form.put("loaded.oven", "large oven")
    key = panel.review.proposals[0].key
    before = panel.table.text("rates", key, "now")
    row, machines = other.shop.rates[key], other.shop.machines
    small, large = machines.oven
    ovens = (small, large.model_copy(update={"name": "gas oven"}))
    other.change(
        {
            "rates": {**other.shop.rates, key: replace(row, high=3 * row.high)},
            "machines": machines.model_copy(update={"oven": ovens}),
        }
    )
    panel.desk.look()
    assert panel.review.shop.rates[key].high == 3 * row.high
    assert panel.table.text("rates", key, "now") != before
    assert list(panel.form["loaded.oven"].options) == [small.name, "gas oven"]
    assert panel.form["loaded.oven"].value == small.name, "one that is gone is not kept"
    assert (panel.form["job"].value, panel.watch.who) == ("bench ends", "helper")


def test_amounts_may_come_from_an_item_of_the_list(panel: LogPanel, own: Path) -> None:
    from pricing.costing.sheet import cost
    from pricing.ledger.quotes import amounts_of
    from pricing.screens.job_file import job_like

    key = next(key for key, item in panel.desk.items.items() if item.part.line_m)
    panel.form.put("job", "garden gate")
    panel.form.put("start", given=True)
    time.sleep(1.1)
    panel.form.put("finish", given=True)
    panel.form.put("much.like", f"item:{key}")
    panel.form.put("much.pieces", "4")
    panel.form.put("much.right", given=True)
    with open_ledger(own) as ledger:
        (row,) = ledger.rows("times")
    wanted = amounts_of(cost(panel.desk.shop, job_like(panel.desk, f"item:{key}", 4)))["wipe"]
    assert row["amounts"] == wanted
    assert wanted["line_m"] == pytest.approx(4 * panel.desk.items[key].part.line_m, rel=0.5)


def quoted_and_not_timed(panel: LogPanel) -> str:
    timed = {row["job"] for row in panel.review.times}
    return next(job for job, minutes in panel._quotes.items() if minutes.get("wipe") and job not in timed)


def test_ten_times_the_expected_minutes_are_asked_about(logged: Path) -> None:
    panel = at_work(logged)
    job = quoted_and_not_timed(panel)
    expected = panel.review.expected(job, "wipe")
    panel.form.put("job", job)
    panel.form.put("step", "wipe")
    panel.form.put("minutes", f"{30 * expected:.0f} min")
    panel.form.put("write", given=True)
    assert panel.form.state["said"]["text"].endswith("were expected. Was it so?")
    with open_ledger(logged) as ledger:
        assert [row for row in ledger.rows("times", job=job) if row["step"] == "wipe"] == []
    panel.form.put("sure", given=True)
    assert panel.form.state["said"]["text"].startswith(f"Written: {job}")
    with open_ledger(logged) as ledger:
        (row,) = [row for row in ledger.rows("times", job=job) if row["step"] == "wipe"]
    assert row["confirmed"]
    panel.form.put("minutes", f"{2 * expected:.0f} min")
    panel.form.put("write", given=True)
    assert panel.form.state["said"]["text"].startswith("Written: "), "twice is no question"


def test_a_watch_that_ran_far_too_long_is_asked_about_and_can_be_put_right(logged: Path) -> None:
    panel = at_work(logged)
    job = quoted_and_not_timed(panel)
    panel.form.put("job", job)
    panel.form.put("step", "wipe")
    panel.form.put("start", given=True)
    with open_ledger(logged) as ledger:  # as a watch that was started ten hours and more ago
        (button,) = ledger.rows("watch", job=job)
        ledger.correct("watch", button["id"], steady_s=button["steady_s"] - 40_000)
    panel.form.put("finish", given=True)
    assert "without a break for ten hours" in panel.form.state["ask.what"]["text"]
    assert not panel.form.state["ask.minutes"]["hidden"]
    panel.form.put("ask.minutes", "42 min")
    panel.form.put("ask.right", given=True)
    assert panel.form.state["watch"]["text"].startswith(f"{job}: 1 entry written")
    with open_ledger(logged) as ledger:
        (row,) = [row for row in ledger.rows("times", job=job) if row["step"] == "wipe"]
    assert (row["minutes"], row["confirmed"], row["worker"]) == (pytest.approx(42.0), True, "owner")


def test_the_last_entries_are_mended_struck_and_brought_back(panel: LogPanel, own: Path) -> None:
    panel.form.put("job", "garden gate")
    for minutes in range(1, 13):
        panel.form.put("minutes", f"{minutes} min")
        panel.form.put("write", given=True)
    panel.form.put("weighed.used_kg", "2 kg")
    panel.form.put("weighed", given=True)
    rows = panel.table.get_state()["cells"]["last"]
    assert len(rows) == 10
    assert [row["label"] for row in rows[:2]] == ["Powder, signal white", "Wipe the line clean, owner"]
    key = rows[1]["key"]
    panel.table.put("last", key, "value", "0.5 h")
    rows = panel.table.get_state()["cells"]["last"]
    assert (rows[0]["label"], rows[0]["cells"]["value"]["text"]) == ("Wipe the line clean, owner", "30 min")
    panel.table.put("last", rows[0]["key"], "job", "park bench")
    panel.table.put("last", panel.table.get_state()["cells"]["last"][0]["key"], "strike", "")
    rows = panel.table.get_state()["cells"]["last"]
    assert rows[0]["cells"]["strike"]["text"] == "Bring back"
    with open_ledger(own) as ledger:
        assert sorted(row["minutes"] for row in ledger.rows("times")) == list(range(1, 12))
    panel.table.put("last", rows[0]["key"], "strike", "")
    with open_ledger(own) as ledger:
        assert {row["minutes"]: row["job"] for row in ledger.rows("times")}[30.0] == "park bench"
    row = next(row for row in panel.table.get_state()["cells"]["last"] if row["label"] == "Powder, signal white")
    panel.table.put("last", row["key"], "value", "much")
    assert panel.table.message("last", row["key"], "value").startswith("'much' is no number.")
    panel.table.put("last", row["key"], "value", "1.5 kg")
    with open_ledger(own) as ledger:
        assert ledger.rows("powder")[0]["used_kg"] == 1.5


def test_what_was_taken_is_said_in_whole_words_and_can_be_undone(logged: Path) -> None:
    panel = at_work(logged)
    before = panel.desk.shop.rates
    key = "inspect.part.hands"
    panel.table.put("rates", key, "take", "")
    told = panel.bar.told["state"]
    assert re.fullmatch(r"Inspect film, cure and look, minutes per part: [\d.]+ → [\d.]+, saved", told)
    assert open_shop(logged).rates[key] != before[key]
    panel.table.put("rates", "", "take_back", "")
    assert open_shop(logged).rates == before
    assert panel.bar.told["state"] == "Inspect film, cure and look: as it stood before, saved"
    assert key in {one.key for one in panel.review.proposals}, "it can be taken again"
    panel.table.put("rates", "", "take_back", "")
    assert "without a row from the log" in panel.bar.told["state"]


def test_a_log_without_a_quoted_and_timed_job_says_what_to_do(panel: LogPanel) -> None:
    panel.form.put("job", "garden gate")
    panel.form.put("write", given=True)
    assert panel.board.rows_of("jobs", "jobs") == panel.board.rows_of("jobs", "same") == []
    assert "press “Quote given" in plain(panel.board.words_of("jobs"))
