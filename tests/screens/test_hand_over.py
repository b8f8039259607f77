"""The summary written from page 6: asked about before it overwrites, told of while it is made, found afterwards."""

import re
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from pricing.basis.errors import BadInput, Problem
from pricing.papers import typeset
from pricing.papers.report_files import WRITING_STEPS
from pricing.screens.panel_partner import PartnerPanel
from pricing.show.desk import Desk

TODAY = date.today().isoformat()  # noqa: DTZ011  as the page counts days
STEM = f"partner summary {TODAY}"


@pytest.fixture
def panel(own: Path) -> PartnerPanel:
    return PartnerPanel(Desk(own, read_only=False))


def said(panel: PartnerPanel) -> str:
    return str(panel.form.state["summary.said"]["text"])


def awake(panel: PartnerPanel) -> set[str]:
    keys = ("write", "replace", "both")
    return {key for key in keys if not panel.form.state[f"summary.{key}"]["off"]}


def listening(panel: PartnerPanel, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Every text that the page says of the summary from now on."""
    told: list[str] = []
    tell: Callable[..., None] = panel.form.tell

    def heard(key: str, **state: Any) -> None:
        if key == "summary.said" and "text" in state:  # else it is the link that opens it
            told.append(state["text"])
        tell(key, **state)

    monkeypatch.setattr(panel.form, "tell", heard)
    return told


@pytest.mark.slow
def test_a_button_writes_the_summary_of_the_job_that_is_shown(
    panel: PartnerPanel, own: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    told = listening(panel, monkeypatch)
    panel.form.put("quantity", "12")
    panel.form.put("wipe.line_m.hands", 5.0)  # tried on the page; the summary is of the shop as it is
    panel.form.put("summary.write", given=True)
    out = own / "hand-outs" / "partners"
    assert {path.name for path in out.iterdir()} == {f"{STEM}.html", f"{STEM}-a4.pdf", f"{STEM}.json"}
    progress = [text for text in told if re.match(r"\d of 5: ", text)]
    assert progress == [f"{n} of 5: {piece} …" for n, piece in enumerate(WRITING_STEPS, 1)]
    assert said(panel) == f"Written: {STEM}.html and {STEM}-a4.pdf, in {out.resolve()}."
    assert awake(panel) == {"write"}
    shown = PartnerPanel(Desk(own, read_only=False))
    shown.form.put("quantity", "12")
    price = f"€{shown.sides.price:,.0f}"
    assert price in (out / f"{STEM}.html").read_text("utf-8")
    text = PdfReader(out / f"{STEM}-a4.pdf").pages[0].extract_text()
    assert price in text
    assert "12 pieces" in " ".join(text.split())


@pytest.mark.slow
def test_what_is_there_is_asked_about(panel: PartnerPanel, own: Path) -> None:
    out = own / "hand-outs" / "partners"
    out.mkdir(parents=True)
    (out / f"{STEM}.html").write_text("mine", "utf-8")
    panel.form.put("summary.write", given=True)
    assert said(panel) == f"{STEM}.html is there already, in {out}. Replace it, or keep both?"
    assert awake(panel) == {"replace", "both"}
    assert [path.name for path in out.iterdir()] == [f"{STEM}.html"]

    panel.form.put("units", "3")  # the question is void once something else is shown
    assert awake(panel) == {"write"}

    panel.form.put("summary.write", given=True)
    panel.form.put("summary.both", given=True)
    assert (out / f"{STEM}.html").read_text("utf-8") == "mine"
    assert f"{STEM} (2).html" in said(panel)

    panel.form.put("summary.write", given=True)
    panel.form.put("summary.replace", given=True)
    assert (out / f"{STEM}.html").read_text("utf-8") != "mine"
    assert len(list(out.iterdir())) == 6


def test_a_write_that_fails_says_so_and_leaves_what_was_there(
    panel: PartnerPanel, own: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (own / "hand-outs").mkdir()
    (own / "hand-outs" / "partners").write_text("a file", "utf-8")
    panel.form.put("summary.write", given=True)
    assert said(panel).startswith("Not written. ")
    assert "A file of that name is there" in said(panel)
    assert awake(panel) == {"write"}
    (own / "hand-outs" / "partners").unlink()

    def no_printer(*_: object) -> bytes:
        raise BadInput("PDF", [Problem("the PDF printer", "not there", "installed")])

    monkeypatch.setattr(typeset, "to_pdf", no_printer)
    panel.form.put("summary.write", given=True)
    assert f"Written: {STEM}.html, in" in said(panel)
    assert "No PDF: print the page from the browser." in said(panel)


def test_a_page_only_shown_writes_nothing(own: Path) -> None:
    panel = PartnerPanel(Desk(own, read_only=True))
    assert awake(panel) == set()
    panel.form.put("summary.write", given=True)
    assert said(panel) == "Only shown here: nothing is written."
    assert not (own / "hand-outs").exists()
