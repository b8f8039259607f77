"""Page 7 in a real browser: the watch outlives page and kernel, buttons are large, quotes are won and shown again."""

import json
import re
import time
import urllib.request
from pathlib import Path

import psutil
import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Opener
from tests.browser.driven import PATIENCE_MS, TABLET, Visit, says

pytestmark = pytest.mark.slow


def test_the_watch_is_started_and_minutes_are_written(in_lab: Opener, shop_folder: Path) -> None:
    visit = in_lab("7_what_it_took")
    before = visit.marks("jobs")
    visit.field("shown").select_option("blast")
    visit.until_changed("jobs", before)
    job = visit.field("job")
    job.fill("garden gate")
    job.press("Tab")
    visit.press("start")
    says(visit.page.locator('[data-note="watch"]'), "Running: wipe the line clean")
    minutes = visit.field("minutes")
    minutes.fill("12")
    says(visit.message("minutes"), "Write the unit too")
    minutes.fill("12 min")
    minutes.press("Tab")
    visit.press("write")
    says(visit.page.locator('[data-note="said"]'), "Written: garden gate")
    says(visit.block("answers"), "Jobs logged")
    from pricing.ledger.store import open_ledger

    with open_ledger(shop_folder) as ledger:
        assert [row["minutes"] for row in ledger.rows("times")] == [12.0]
    assert visit.errors == []


def test_buttons_of_the_log_can_be_hit_with_a_glove(in_lab: Opener, in_app: Opener, pictures: Path) -> None:
    for visit in (in_lab("7_what_it_took"), in_app("7_what_it_took", TABLET)):
        for fold in visit.page.locator(".pp-log .pp-form details > summary").all():
            fold.click()
        heights = visit.page.evaluate(
            """() => [...document.querySelectorAll('.pp-log .pp-form :is(button, input, select, summary)')]
              .filter(e => e.checkVisibility()).map(e => [e.dataset.key ?? e.textContent, e.getBoundingClientRect().height])"""
        )
        assert len(heights) > 20
        assert {key for key, height in heights if height < 44} == set()
        visit.keep(pictures, f"7_what_it_took-folds-{visit.page.viewport_size['width']}")
        for fold in visit.page.locator(".pp-log .pp-form details > summary").all():
            fold.click()
    small = visit.page.evaluate(
        """() => [...document.querySelectorAll('.pp-log .pp-sheet button')].filter(e => e.checkVisibility())
          .map(e => e.getBoundingClientRect().height).filter(height => height < 44)"""
    )
    assert small == [], "on a tablet the buttons of the tables too"


def _clock_is_right(visit: Visit, pressed_s: float, started_s: float) -> None:
    """Hold the watch's face between the moments before and after its start, however slow the page was meanwhile."""
    face = visit.page.locator('[data-note="watch"] b')
    expect(face).to_have_class("on")
    least_s = time.monotonic() - started_s - 1  # whole seconds are shown
    shown_s = -1
    while shown_s < least_s:  # until the face is next written
        assert time.monotonic() - started_s < least_s + PATIENCE_MS / 1000
        hours, minutes, seconds = map(int, face.inner_text().split(":"))
        shown_s = 3600 * hours + 60 * minutes + seconds
    assert shown_s <= time.monotonic() - pressed_s + 1


def test_the_clock_runs_on_through_a_closed_page_and_a_killed_kernel(
    in_lab: Opener, lab_url: str, shop_folder: Path, pictures: Path
) -> None:
    visit = in_lab("7_what_it_took")
    job = visit.field("job")
    job.fill("park bench")
    job.press("Tab")
    visit.field("step").select_option("blast")
    pressed_s = time.monotonic()
    visit.press("start")
    says(visit.page.locator('[data-note="watch"]'), "Running: blast")
    started_s = time.monotonic()
    visit = in_lab("7_what_it_took", again=True)  # the browser's page is closed and opened
    says(visit.page.locator('[data-note="watch"]'), "Running: blast")
    _clock_is_right(visit, pressed_s, started_s)
    kernel = _kernel_of(lab_url, "7_what_it_took")
    kernel.kill()
    kernel.wait(timeout=PATIENCE_MS / 1000)
    visit = in_lab("7_what_it_took", again=True)
    says(visit.page.locator('[data-note="watch"]'), "Running: blast")
    assert visit.field("known").input_value() == "park bench"
    _clock_is_right(visit, pressed_s, started_s)
    visit.keep(pictures, "7_what_it_took-after-a-killed-kernel")
    visit.press("pause")
    says(visit.page.locator('[data-note="watch"]'), "Paused")
    expect(visit.page.locator('[data-note="watch"] b')).not_to_have_class("on")
    from pricing.ledger import stopwatch
    from pricing.ledger.store import open_ledger

    with open_ledger(shop_folder) as ledger:
        assert 60 * stopwatch.read(ledger, "park bench").minutes["blast"] <= time.monotonic() - pressed_s + 1


def _kernel_of(lab_url: str, name: str) -> psutil.Process:
    """Give the process behind a page, as the notebook's own server names it."""
    root, token = re.match(r"(http://[^/]+)/.*token=(\w[\w-]*)", lab_url).groups()
    with urllib.request.urlopen(f"{root}/api/sessions?token={token}", timeout=60) as told:  # noqa: S310  our own address
        kernel = next(one["kernel"]["id"] for one in json.load(told) if name in one["path"])
    return next(p for p in psutil.process_iter() if any(kernel in word for word in _words(p)))


def _words(process: psutil.Process) -> list[str]:
    try:
        return process.cmdline()
    except psutil.Error:
        return []


def test_a_quote_is_given_on_page_2_won_on_page_7_and_shown_again(in_lab: Opener, shop_folder: Path) -> None:
    visit = in_lab("2_one_job")
    visit.press("quote")
    says(visit.page.locator('[data-note="said"]'), "In the log: ")
    name = visit.page.locator('[data-note="said"]').inner_text().removeprefix("In the log: ").rpartition(" at ")[0]
    visit = in_lab("7_what_it_took", again=True)
    visit.page.locator('[data-tab="quotes"]').click()
    row = visit.page.locator(f'tr[data-row="{name}"]')
    row.get_by_role("button", name="Won").click()
    says(row.locator('td[data-column="now"]'), "won")
    row.locator('td[data-column="show"] button').click()
    says(visit.page.locator(".pp-why"), "as quoted on")
    visit.page.keyboard.press("Escape")
    from pricing.ledger.store import open_ledger

    with open_ledger(shop_folder) as ledger:
        (kept,) = ledger.rows("outcomes", job=name)
        (quote,) = ledger.rows("quotes", job=name)
    assert (kept["result"], kept["price_paid"]) == ("won", quote["price"])
    assert visit.errors == []
