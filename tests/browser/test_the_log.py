"""Page 7 in a real browser: the watch outlives page and kernel, buttons are large, quotes are won and shown again."""

import time
from pathlib import Path

from playwright.sync_api import expect

from tests.browser.conftest import Opener
from tests.browser.driven import TABLET, Visit, kernel_of, says


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


def _clock_s(visit: Visit) -> int:
    face = visit.page.locator('[data-note="watch"] b')
    expect(face).to_have_class("on", timeout=60_000)
    hours, minutes, seconds = map(int, face.inner_text().split(":"))
    return 3600 * hours + 60 * minutes + seconds


def test_the_clock_runs_on_through_a_closed_page_and_a_killed_kernel(
    in_lab: Opener, lab_url: str, shop_folder: Path, pictures: Path
) -> None:
    visit = in_lab("7_what_it_took")
    job = visit.field("job")
    job.fill("park bench")
    job.press("Tab")
    visit.field("step").select_option("blast")
    visit.press("start")
    says(visit.page.locator('[data-note="watch"]'), "Running: blast")
    begun = time.monotonic()
    visit = in_lab("7_what_it_took", again=True)  # the browser's page is closed and opened
    says(visit.page.locator('[data-note="watch"]'), "Running: blast")
    assert time.monotonic() - begun - 2 < _clock_s(visit) < time.monotonic() - begun + 2
    kernel = kernel_of(lab_url, "7_what_it_took")
    kernel.kill()
    kernel.wait(timeout=20)
    visit = in_lab("7_what_it_took", again=True)
    says(visit.page.locator('[data-note="watch"]'), "Running: blast")
    assert visit.field("known").input_value() == "park bench"
    assert time.monotonic() - begun - 2 < _clock_s(visit) < time.monotonic() - begun + 2
    visit.keep(pictures, "7_what_it_took-after-a-killed-kernel")
    visit.press("pause")
    says(visit.page.locator('[data-note="watch"]'), "Paused")
    expect(visit.page.locator('[data-note="watch"] b')).not_to_have_class("on")
    from pricing.ledger import stopwatch
    from pricing.ledger.store import open_ledger

    with open_ledger(shop_folder) as ledger:
        assert 60 * stopwatch.read(ledger, "park bench").minutes["blast"] <= time.monotonic() - begun + 1


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
