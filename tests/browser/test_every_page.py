"""Every page, in JupyterLab and in Voilà: draws without a network, without errors, for the keyboard and for the ear."""

from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe

from pricing.screens.bar import PAGES
from tests.browser.conftest import Opener
from tests.browser.driven import TABLET, Visit

NAMES = list(PAGES)


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


@pytest.mark.slow
@pytest.mark.parametrize("name", ["1_my_shop", "2_one_job", "7_what_it_took"])  # all of them stand upright elsewhere
def test_a_page_is_shown_on_a_tablet_without_code(in_app: Opener, pictures: Path, name: str) -> None:
    visit = in_app(name, TABLET)
    _drawn(visit)
    assert visit.page.locator(".jp-CodeMirrorEditor, .jp-InputArea .cm-editor, div.input").count() == 0
    wide = visit.page.evaluate("() => document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert wide <= 0
    answers = visit.block("answers").bounding_box()
    assert answers
    assert answers["width"] > 0.6 * TABLET["width"]
    cut = "() => [...document.querySelectorAll('.pp-tile')].filter(t => t.scrollWidth > t.clientWidth + 1).map(t => t.textContent)"
    assert visit.page.evaluate(cut) == []
    save = visit.page.locator('.pp-bar [data-key="save"]')
    assert not save.is_visible()
    visit.page.screenshot(path=pictures / f"{name}-tablet-1024.png", full_page=True)


@pytest.mark.slow
def test_a_page_is_shown_at_the_desk_without_code(in_app: Opener, pictures: Path) -> None:
    visit = in_app("4_two_tone")
    _drawn(visit)
    tall = visit.page.evaluate("() => document.documentElement.scrollHeight - document.documentElement.clientHeight")
    assert tall <= 0
    visit.keep(pictures, "4_two_tone-app-1366")
