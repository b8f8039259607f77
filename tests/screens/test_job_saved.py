"""A job that is saved keeps its title's letters, and no other job's file is replaced unasked."""

from pathlib import Path

import pytest

from pricing.ledger.store import open_ledger
from pricing.parts.job import read_job
from pricing.screens.panel_job import JobPanel
from pricing.show.desk import Desk


@pytest.fixture
def page(own: Path) -> JobPanel:
    return JobPanel(Desk(own, read_only=False))


def _save(page: JobPanel, title: str, key: str = "save") -> str:
    page.form.put("title", title)
    page.form.put(key, given=True)
    return page.form.state["said"]["text"]


TITLES = ["Ворота №2", "Забор", "Πύλη", "門", "栅栏", "गेट", "שער", "Gate", "Grün / groß"]


def test_titles_of_any_script_have_a_file_each(own: Path) -> None:
    before = set((own / "jobs").glob("*.toml"))
    for title in TITLES:
        page = JobPanel(Desk(own, read_only=False))
        assert _save(page, title).startswith("Saved as jobs/")
    made = set((own / "jobs").glob("*.toml")) - before
    assert len(made) == len(TITLES)
    desk = Desk(own, read_only=False)
    assert {read_job(path, desk.shop, desk.items).title for path in made} == set(TITLES)
    assert {path.stem for path in made} >= {"ворота_2", "門", "गेट", "gate", "grün_gross"}


def test_another_jobs_file_is_replaced_only_when_told(page: JobPanel, own: Path) -> None:
    _save(page, "Gate")
    first = (own / "jobs" / "gate.toml").read_bytes()
    other = JobPanel(Desk(own, read_only=False))
    said = _save(other, "gate!")
    assert said == "Not saved: jobs/gate.toml is there already. Replace it, keep both, or give this job another title."
    assert (own / "jobs" / "gate.toml").read_bytes() == first
    assert not other.form.state["replace"]["hidden"]
    other.form.put("beside", given=True)
    assert other.form.state["said"]["text"] == "Saved as jobs/gate_2.toml"
    assert other.form.state["replace"]["hidden"]
    assert (own / "jobs" / "gate.toml").read_bytes() == first
    third = JobPanel(Desk(own, read_only=False))
    _save(third, "GATE")
    third.form.put("replace", given=True)
    assert third.form.state["said"]["text"] == "Saved as jobs/gate.toml"
    assert b'"GATE"' in (own / "jobs" / "gate.toml").read_bytes()


def test_a_page_may_save_its_own_job_again_but_not_over_what_another_page_made_of_it(page: JobPanel, own: Path) -> None:
    _save(page, "Gate")
    page.form.put("quantity", "12") if "quantity" in page.form else page.form.put("rush", given=True)
    page.form.put("save", given=True)
    assert page.form.state["said"]["text"] == "Saved as jobs/gate.toml"
    path = own / "jobs" / "gate.toml"
    path.write_text(path.read_text("utf-8") + "# by hand\n", "utf-8")
    page.form.put("save", given=True)
    assert page.form.state["said"]["text"].startswith("Not saved: jobs/gate.toml is there already.")
    assert path.read_text("utf-8").endswith("# by hand\n")


@pytest.mark.parametrize("note", ["- ring first", "=2 coats", "+49 1", "@door"])
def test_a_job_with_any_note_is_logged(page: JobPanel, own: Path, note: str) -> None:
    page.job = page.job.model_copy(update={"note": note})
    page.form.put("quote", given=True)
    assert page.form.state["said"]["text"].startswith("In the log: ")
    with open_ledger(own) as ledger:
        assert ledger.rows("quotes")[0]["note"] == note


def test_a_refused_quote_is_said(page: JobPanel, own: Path) -> None:
    page.job = page.job.model_copy(update={"note": "x" * 3000})
    page.form.put("quote", given=True)
    assert page.form.state["said"]["text"].startswith("Not logged: note is ")
    assert not (own / "ledger.db").exists()
