"""Every page, in JupyterLab and in the app: for the keyboard and the ear, on a tablet, a large screen, paper, in the dark.

Each is opened once in either, for all that is looked at.
"""

import io
import json
import re
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pypdf
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, expect

from pricing.screens.bar import PAGES
from tests.browser.conftest import Opener
from tests.browser.driven import DESK, TABLET, Visit, says

NAMES = list(PAGES)
STANDING = {"width": 820, "height": 1180}
WIDE = {"width": 1920, "height": 1080}

SMALL = """() => [...document.querySelectorAll('.pp-page :is(button, input, select, summary, .pp-bar a)')]
  .filter(e => e.checkVisibility() && !e.matches('.pp-board button.why'))
  .filter(e => !e.closest('.pp-scroll') || e.matches('.pp-sheet td *'))
  .map(e => [e.outerHTML.slice(0, 90), e.getBoundingClientRect().height]).filter(([, height]) => height < 43.5)"""

Shown = Callable[[str, dict[str, int]], Visit]


@pytest.fixture(scope="module")
def shown(browser: Browser, app_url: str) -> Iterator[Shown]:
    """Show a page of the app on a screen of a size, on which nothing is wider than the screen."""
    opened: dict[str, Visit] = {}

    def visit(name: str, size: dict[str, int]) -> Visit:
        if name not in opened:
            opened[name] = Visit(browser, app_url, name, size)
        page = opened[name].page
        page.set_viewport_size(size)
        page.wait_for_function("() => document.documentElement.scrollWidth <= document.documentElement.clientWidth")
        return opened[name]

    yield visit
    for one in opened.values():
        one.leave()


def _drawn(visit: Visit) -> None:
    charts = visit.page.locator(".pp-chart")
    assert charts.count() >= 1
    for at in range(charts.count()):
        svg = charts.nth(at).locator("svg")
        assert svg.locator(
            ".mark-rect path, .mark-line path, .mark-symbol path, .mark-area path, .mark-rule line"
        ).count()
    assert visit.errors == []
    assert visit.asked == [], "something outside was asked for"


@pytest.mark.parametrize("name", NAMES)
def test_a_page_draws_in_the_notebook_without_a_network(in_lab: Opener, pictures: Path, name: str) -> None:
    visit = in_lab(name)
    _drawn(visit)
    visit.page.wait_for_function(
        "() => !document.querySelector('.pp-chart.waits')"
    )  # no chart is left at 'Working it out'
    visit.keep(pictures, f"{name}-notebook-1366")


@pytest.mark.parametrize("name", NAMES)
def test_a_page_fits_the_screen(in_lab: Opener, name: str) -> None:
    page = in_lab(name).page
    over = page.evaluate(
        """() => {
          const outer = document.querySelector('.jp-WindowedPanel-outer');
          const cut = [...document.querySelectorAll('.pp-tile')]
            .filter(t => t.scrollHeight > t.clientHeight + 1 || t.scrollWidth > t.clientWidth + 1);
          return [outer.scrollHeight - outer.clientHeight, outer.scrollWidth - outer.clientWidth,
                  cut.map(t => t.textContent)];
        }"""
    )
    assert over == [0, 0, []]


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_written_smaller_than_12_px(in_lab: Opener, name: str) -> None:
    small = in_lab(name).page.evaluate(
        """() => [...document.querySelectorAll('.pp-page *')]
          .filter(e => [...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim()))
          .filter(e => e.getClientRects().length && parseFloat(getComputedStyle(e).fontSize) < 12)
          .map(e => e.textContent.slice(0, 40))"""
    )
    assert small == []


@pytest.mark.parametrize("name", NAMES)
def test_the_keyboard_reaches_every_control(in_lab: Opener, name: str) -> None:
    page = in_lab(name).page
    for _ in range(3):
        missed = _not_reached(page)
        if None not in missed:
            break  # else figures were still being written, and new buttons stand where the counted ones were
    assert not missed


def _not_reached(page: Any) -> list[str | None]:
    """Controls that Tab did not come to, each as its text; None is one that has been written anew meanwhile."""
    wanted = page.evaluate(
        """() => {
          let n = 0;
          for (const e of document.querySelectorAll('[data-n]')) delete e.dataset.n;
          const shown = e => e.checkVisibility() && !e.disabled && e.tabIndex >= 0;
          for (const e of document.querySelectorAll('.pp-page :is(input, select, button, a, summary)')) {
            if (shown(e) && !(e.closest('table') && e.closest('.pp-sheet tr')?.rowIndex > 2)) e.dataset.n = ++n;
          }
          return n;
        }"""
    )
    assert wanted > 10
    page.locator(".pp-bar a").first.focus()
    reached = {page.evaluate("() => document.activeElement.dataset.n")}
    for _ in range(wanted + 140):
        page.keyboard.press("Tab")
        reached.add(page.evaluate("() => document.activeElement.dataset.n ?? ''"))
        if len(reached - {""}) == wanted:
            break
    missed = set(map(str, range(1, wanted + 1))) - reached
    return page.evaluate(
        "ns => ns.map(n => document.querySelector(`[data-n='${n}']`)?.outerHTML.slice(0, 90) ?? null)", list(missed)
    )


@pytest.mark.parametrize("name", NAMES)
def test_a_page_has_no_serious_fault_for_those_who_hear_it(in_lab: Opener, name: str) -> None:
    assert _serious(in_lab(name).page) == []


@pytest.mark.parametrize("name", NAMES)
def test_a_page_in_the_dark_theme_can_be_read(in_lab: Opener, name: str) -> None:
    page = in_lab(name).page
    page.evaluate(DARKENED)
    try:
        assert _serious(page, {"runOnly": ["color-contrast"]}) == []
    finally:
        page.evaluate(LIGHT_AGAIN)


def _serious(page: Any, how: dict[str, Any] | None = None) -> list[tuple[str, ...]]:
    """Collect what axe holds to be serious or critical."""
    found = Axe().run(page, context=".pp-page", options=how)
    return [
        (fault["id"], node["html"][:300], node["failureSummary"][:160])
        for fault in found.response["violations"]
        if fault["impact"] in {"serious", "critical"}
        for node in fault["nodes"][:3]
    ]


# axe reads colours and knows no filter: each colour is written as the page's filter of the dark theme shows it
DARKENED = """() => {
  document.body.dataset.jpThemeLight = 'false';
  const pen = Object.assign(document.createElement('canvas'), { width: 1, height: 1 }).getContext('2d', { willReadFrequently: true });
  pen.filter = getComputedStyle(document.querySelector('.pp-page')).filter;
  const shown = {};
  const filtered = colour => {
    if (/, 0\\)$/.test(colour)) return colour;
    if (!(colour in shown)) {
      pen.fillStyle = colour;
      pen.fillRect(0, 0, 1, 1);
      shown[colour] = `rgb(${[...pen.getImageData(0, 0, 1, 1).data].slice(0, 3)})`;
    }
    return shown[colour];
  };
  const all = [...document.querySelectorAll('.pp-page, .pp-page *')].filter(e => e.style && !e.closest('svg'));
  const seen = all.map(e => { const s = getComputedStyle(e); return [s.color, s.backgroundColor]; });
  document.querySelector('.pp-page').style.setProperty('filter', 'none', 'important');
  all.forEach((e, n) => {
    e.dataset.before = e.getAttribute('style') ?? '';
    e.style.setProperty('color', filtered(seen[n][0]), 'important');
    e.style.setProperty('background-color', filtered(seen[n][1]), 'important');
  });
}"""
LIGHT_AGAIN = """() => {
  document.body.dataset.jpThemeLight = 'true';
  for (const e of document.querySelectorAll('[data-before]')) {
    e.setAttribute('style', e.dataset.before);
    delete e.dataset.before;
  }
}"""


@pytest.mark.parametrize("name", NAMES)
def test_on_a_large_screen_text_grows(in_lab: Opener, pictures: Path, name: str) -> None:
    visit = in_lab(name)
    sizes = """() => ['.pp-field label', '.pp-chart svg text']
      .map(one => parseFloat(getComputedStyle(document.querySelector(one)).fontSize))"""
    label, text = visit.page.evaluate(sizes)
    visit.page.set_viewport_size(WIDE)
    visit.page.wait_for_function(f"before => ({sizes})()[1] > before * 1.15", arg=text)
    assert visit.page.evaluate(sizes)[0] >= 1.15 * label
    cut = visit.page.evaluate(
        "() => [...document.querySelectorAll('.pp-tile')].filter(t => t.scrollHeight > t.clientHeight + 1).map(t => t.textContent)"
    )
    assert cut == []
    visit.keep(pictures, f"{name}-large-1920")
    visit.page.set_viewport_size(DESK)
    visit.page.wait_for_function(f"wide => ({sizes})()[1] < wide", arg=text * 1.1)


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


@pytest.mark.parametrize("name", ["1_my_shop", "2_one_job", "7_what_it_took"])  # all of them stand upright elsewhere
def test_a_page_is_shown_on_a_tablet_without_code(shown: Shown, pictures: Path, name: str) -> None:
    visit = shown(name, TABLET)
    _drawn(visit)
    assert visit.page.locator(".jp-CodeMirrorEditor, .jp-InputArea .cm-editor, div.input").count() == 0
    answers = visit.block("answers").bounding_box()
    assert answers
    assert answers["width"] > 0.6 * TABLET["width"]
    cut = "() => [...document.querySelectorAll('.pp-tile')].filter(t => t.scrollWidth > t.clientWidth + 1).map(t => t.textContent)"
    assert visit.page.evaluate(cut) == []
    save = visit.page.locator('.pp-bar [data-key="save"]')
    assert not save.is_visible()
    visit.page.screenshot(path=pictures / f"{name}-tablet-1024.png", full_page=True)


def test_a_page_is_shown_at_the_desk_without_code(shown: Shown, pictures: Path) -> None:
    visit = shown("4_two_tone", DESK)
    _drawn(visit)
    tall = visit.page.evaluate("() => document.documentElement.scrollHeight - document.documentElement.clientHeight")
    assert tall <= 0
    visit.keep(pictures, "4_two_tone-app-1366")


@pytest.mark.parametrize("name", ["4_two_tone", "7_what_it_took"])  # the sheets are the notebook's
def test_a_page_is_printed_from_the_app(shown: Shown, pictures: Path, name: str) -> None:
    _printed(shown(name, DESK), pictures, f"{name}-app")


def test_page_6_is_shown_one_question_a_screen(in_lab: Opener, shown: Shown, pictures: Path) -> None:
    for visit in (in_lab("6_for_a_partner"), shown("6_for_a_partner", DESK)):
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
            )
            visit.keep(pictures, f"6_for_a_partner-presented-{n + 1}")
            page.keyboard.press("ArrowRight")
        assert len(set(asked)) == 7
        page.keyboard.press("ArrowLeft")
        says(question, "6 of 7")
        page.keyboard.press("Escape")
        expect(page.locator(".pp-presenting")).to_have_count(0)
        expect(page.locator(".pp-bar nav")).to_be_visible()


def test_on_a_tablet_a_job_is_changed_and_the_answer_seen(shown: Shown) -> None:
    visit = shown("4_two_tone", STANDING)
    advice = visit.block("answers").locator(".pp-tile.main .big")
    before = advice.inner_text()
    visit.page.locator(".pp-fold").click()
    visit.field("line_m").fill("9 m")
    visit.field("line_m").press("Tab")
    expect(advice).not_to_have_text(before)
    visit.page.locator(".pp-fold").click()
    expect(visit.field("line_m")).not_to_be_visible()


@pytest.mark.parametrize("name", NAMES)
def test_on_a_tablet_the_answer_is_on_top_and_a_finger_hits(shown: Shown, pictures: Path, name: str) -> None:
    visit = shown(name, STANDING)
    page = visit.page
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


def test_in_the_dark_theme_all_of_a_page_is_dark(
    browser: Browser, in_lab: Opener, lab_url: str, pictures: Path
) -> None:
    assert _bright(in_lab("4_two_tone")) > 0.8
    _theme(lab_url, "JupyterLab Dark")
    try:
        visit = Visit(browser, lab_url, "4_two_tone")
        visit.page.wait_for_selector('body[data-jp-theme-light="false"]', state="attached")
        assert _bright(visit) < 0.2
        visit.keep(pictures, "4_two_tone-dark")
        visit.page.close()
    finally:
        _theme(lab_url, "JupyterLab Light")
