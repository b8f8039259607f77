"""The summary written from the partner's page in JupyterLab: progress is seen while it is made, then where it lies."""

import re
from pathlib import Path
from typing import Any

from playwright.sync_api import expect

from pricing.papers.report_files import WRITING_STEPS
from tests.browser.driven import Visit


def test_the_page_shows_how_far_the_summary_is_and_where_it_lies(
    in_lab: Any, shop_folder: Path, pictures: Path
) -> None:
    visit: Visit = in_lab("6_for_a_partner")
    note = visit.page.locator('[data-note="summary.said"]')
    note.scroll_into_view_if_needed()
    visit.page.evaluate(
        """() => { const note = document.querySelector('[data-note="summary.said"]'); window.told = [];
        new MutationObserver(() => window.told.push(note.textContent)).observe(note, {childList: true}); }"""
    )
    visit.press("summary.write")
    expect(note).to_have_text(re.compile(r"^Written: "))
    visit.page.screenshot(path=pictures / "partner-written.png")
    told = visit.page.evaluate("window.told")
    seen = list(dict.fromkeys(text for text in told if re.match(r"\d of 5: ", text)))
    assert seen == [f"{n} of {len(WRITING_STEPS)}: {piece} …" for n, piece in enumerate(WRITING_STEPS, 1)]
    out = shop_folder / "hand-outs" / "partners"
    assert str(out.resolve()) in note.inner_text()
    assert {path.suffix for path in out.iterdir()} == {".html", ".pdf", ".json"}
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    visit.press("summary.write")
    expect(note).to_have_text(re.compile("is there already"))
    expect(visit.page.locator('[data-key="summary.replace"]')).to_be_enabled()
    expect(visit.page.locator('[data-key="summary.write"]')).to_be_disabled()
    visit.page.screenshot(path=pictures / "partner-asked.png")
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before
    assert visit.errors == []
