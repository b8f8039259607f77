"""Pages on a tablet that lies or stands, on a large screen, before an audience, on paper, in the dark."""

import io
import json
import re
import urllib.request
from pathlib import Path

import pypdf
import pytest
from playwright.sync_api import Browser, expect

from pricing.screens.bar import PAGES
from tests.browser.conftest import Opener
from tests.browser.driven import DESK, PATIENCE_MS, Visit, says

NAMES = list(PAGES)
STANDING = {"width": 820, "height": 1180}
WIDE = {"width": 1920, "height": 1080}

SMALL = """() => [...document.querySelectorAll('.pp-page :is(button, input, select, summary, .pp-bar a)')]
  .filter(e => e.checkVisibility() && !e.matches('.pp-board button.why'))
  .filter(e => !e.closest('.pp-scroll') || e.matches('.pp-sheet td *'))
  .map(e => [e.outerHTML.slice(0, 90), e.getBoundingClientRect().height]).filter(([, height]) => height < 43.5)"""


@pytest.mark.parametrize("name", NAMES)
def test_on_a_tablet_the_answer_is_on_top_and_a_finger_hits(in_app: Opener, pictures: Path, name: str) -> None:
    visit = in_app(name, STANDING)
    page = visit.page
    wide = page.evaluate("() => document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert wide <= 0
    answers = visit.block("answers").bounding_box()
    assert answers
    assert answers["y"] < STANDING["height"] / 2 or name.startswith("7"), "page 7 begins with its stopwatch"
    assert answers["width"] > 0.9 * STANDING["width"]
    lefts = page.evaluate(
        "() => [...document.querySelectorAll('.pp-block')].map(e => Math.round(e.getBoundingClientRect().left))"
    )
    assert len(set(lefts)) == 1, "one column"
    visit.keep(pictures, f"{name}-standing-820")
    if not name.startswith("7"):
        fold = page.locator(".pp-fold")
        says(fold, "Change")
        box = fold.bounding_box()
        assert box
        assert box["y"] + box["height"] <= STANDING["height"] + 1, "always in reach"
        fold.click()
        expect(page.locator(".pp-form .pp-field").first).to_be_visible()
    for summary in page.locator(".pp-form details > summary").all():
        summary.click()
    page.locator(".pp-bar details.more summary").click()
    assert page.evaluate(SMALL) == []
    visit.keep(pictures, f"{name}-standing-820-open")


def test_on_a_tablet_a_job_is_changed_and_the_answer_seen(in_app: Opener) -> None:
    visit = in_app("4_two_tone", STANDING)
    advice = visit.block("answers").locator(".pp-tile.main .big")
    before = advice.inner_text()
    visit.page.locator(".pp-fold").click()
    visit.field("line_m").fill("9 m")
    visit.field("line_m").press("Tab")
    expect(advice).not_to_have_text(before, timeout=PATIENCE_MS)
    visit.page.locator(".pp-fold").click()
    expect(visit.field("line_m")).not_to_be_visible()


@pytest.mark.parametrize("name", NAMES)
def test_on_a_large_screen_text_grows(in_lab: Opener, pictures: Path, name: str) -> None:
    visit = in_lab(name)
    sizes = """() => ['.pp-field label', '.pp-chart svg text']
      .map(one => parseFloat(getComputedStyle(document.querySelector(one)).fontSize))"""
    label, text = visit.page.evaluate(sizes)
    visit.page.set_viewport_size(WIDE)
    visit.page.wait_for_function(f"before => ({sizes})()[1] > before * 1.15", arg=text, timeout=PATIENCE_MS)
    assert visit.page.evaluate(sizes)[0] >= 1.15 * label
    cut = visit.page.evaluate(
        "() => [...document.querySelectorAll('.pp-tile')].filter(t => t.scrollHeight > t.clientHeight + 1).map(t => t.textContent)"
    )
    assert cut == []
    visit.keep(pictures, f"{name}-large-1920")
    visit.page.set_viewport_size(DESK)
    visit.page.wait_for_function(f"wide => ({sizes})()[1] < wide", arg=text * 1.1, timeout=PATIENCE_MS)


def test_page_6_is_shown_one_question_a_screen(in_lab: Opener, in_app: Opener, pictures: Path) -> None:
    for visit in (in_lab("6_for_a_partner"), in_app("6_for_a_partner")):
        page = visit.page
        visit.press("present")
        question = page.locator(".pp-bar .question")
        says(question, "1 of 7")
        asked = []
        for n in range(7):
            says(question, f"{n + 1} of 7")
            asked.append(question.inner_text())
            shown = page.locator(".pp-board > .pp-block:visible")
            expect(shown).to_have_count(1)
            page.wait_for_function(
                """() => [...document.querySelectorAll('.pp-presenting *')]
                  .filter(e => [...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim()))
                  .filter(e => e.checkVisibility() && e.getClientRects().length && !e.closest('.state'))
                  .every(e => parseFloat(getComputedStyle(e).fontSize) >= 18)""",
                timeout=PATIENCE_MS,
            )
            visit.keep(pictures, f"6_for_a_partner-presented-{n + 1}")
            page.keyboard.press("ArrowRight")
        assert len(set(asked)) == 7
        page.keyboard.press("ArrowLeft")
        says(question, "6 of 7")
        page.keyboard.press("Escape")
        expect(page.locator(".pp-presenting")).to_have_count(0)
        expect(page.locator(".pp-bar nav")).to_be_visible()


def _printed(visit: Visit, where: Path, name: str) -> None:
    if visit.name == "6_for_a_partner":  # its lower half is worked out after the rest
        says(visit.block("money"), "what comes back")
    raw = visit.page.pdf(prefer_css_page_size=True, print_background=True)
    where.mkdir(parents=True, exist_ok=True)
    (where / f"{name}.pdf").write_bytes(raw)
    book = pypdf.PdfReader(io.BytesIO(raw))
    text = "".join(sheet.extract_text() for sheet in book.pages)
    assert 1 <= len(book.pages) <= 12
    assert PAGES[visit.name] in text
    for title in visit.page.locator(".pp-block > h3").all_inner_texts():
        assert title.split("\n")[0][:18] in text, title
    for word in ("Undo", "Save", "2 One job" if visit.name[0] != "2" else "3 Price list", "Kernel", "Workshop view"):
        assert word not in text
    visit.page.emulate_media(media="print")
    visit.page.set_viewport_size({"width": 1040, "height": 720})  # as wide as the sheet between its margins
    cut = visit.page.evaluate(
        """() => {
          const frame = document.querySelector('.pp-page').getBoundingClientRect();
          const charts = [...document.querySelectorAll('.pp-chart svg')].filter(e => e.checkVisibility());
          const out = charts.filter(svg => {
            const box = svg.closest('.pp-block').getBoundingClientRect();
            const at = svg.getBoundingClientRect();
            return at.right > box.right + 1 || at.bottom > box.bottom + 1 || at.right > frame.right + 1;
          });
          return [frame.width / window.innerWidth, out.length, charts.length];
        }"""
    )
    assert cut[0] > 0.95, "all of the width is used"
    assert cut[1] == 0, "charts are whole"
    visit.page.emulate_media(media="screen")
    visit.page.set_viewport_size(DESK)


@pytest.mark.parametrize("name", NAMES)
def test_a_page_is_printed_from_the_notebook(in_lab: Opener, pictures: Path, name: str) -> None:
    _printed(in_lab(name), pictures, f"{name}-lab")


@pytest.mark.parametrize("name", ["4_two_tone", "7_what_it_took"])  # the sheets are the notebook's
def test_a_page_is_printed_from_the_app(in_app: Opener, pictures: Path, name: str) -> None:
    _printed(in_app(name), pictures, f"{name}-app")


def _bright(visit: Visit) -> float:
    """Share of the page's pixels that are light."""
    from PIL import Image

    raw = visit.page.locator(".pp-page").first.screenshot()
    grey = Image.open(io.BytesIO(raw)).convert("L").histogram()
    return sum(grey[150:]) / sum(grey)


def _theme(lab_url: str, name: str) -> None:
    root, token = re.match(r"(http://[^/]+)/.*token=([\w-]+)", lab_url).groups()
    asked = urllib.request.Request(  # noqa: S310  our own address
        f"{root}/lab/api/settings/@jupyterlab/apputils-extension:themes?token={token}",
        json.dumps({"raw": json.dumps({"theme": name})}).encode(),
        method="PUT",
    )
    urllib.request.urlopen(asked, timeout=60).close()  # noqa: S310


def test_in_the_dark_theme_all_of_a_page_is_dark(browser: Browser, lab_url: str, pictures: Path) -> None:
    visit = Visit(browser, lab_url, "4_two_tone")
    assert _bright(visit) > 0.8
    visit.page.close()
    _theme(lab_url, "JupyterLab Dark")
    try:
        visit = Visit(browser, lab_url, "4_two_tone")
        visit.page.wait_for_selector('body[data-jp-theme-light="false"]', state="attached", timeout=PATIENCE_MS)
        assert _bright(visit) < 0.2
        visit.keep(pictures, "4_two_tone-dark")
        visit.page.close()
    finally:
        _theme(lab_url, "JupyterLab Light")
