"""Page 7 in a real browser: the watch outlives page and kernel, buttons are large, quotes are won and shown again."""

import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import expect

from pricing.ledger.clocks import Moment
from tests.browser.conftest import Opener
from tests.browser.driven import PATIENCE_MS, TABLET, Visit, kernel_of, says, served


def at_work(visit: Visit, who: str = "owner") -> Visit:
    """Say who works at a device."""
    visit.field("who").select_option(who)
    return visit


def test_the_watch_is_started_and_minutes_are_written(in_lab: Opener, shop_folder: Path) -> None:
    visit = at_work(in_lab("7_what_it_took"))
    before = visit.marks("jobs")
    visit.field("shown").select_option("blast")
    visit.until_changed("jobs", before)
    job = visit.field("job")
    job.fill("garden gate")
    job.press("Tab")
    visit.press("start")
    says(visit.page.locator('[data-note="watch"]'), "Running: wipe the line clean")
    minutes = visit.field("minutes")
    minutes.fill("soon")
    says(visit.message("minutes"), "'soon' is no number")
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
    expect(face).to_have_class("on")
    hours, minutes, seconds = map(int, face.inner_text().split(":"))
    return 3600 * hours + 60 * minutes + seconds


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
    visit = at_work(in_lab("7_what_it_took"))
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
    kernel = kernel_of(lab_url, "7_what_it_took")
    kernel.kill()
    kernel.wait(timeout=PATIENCE_MS / 1000)
    visit = at_work(in_lab("7_what_it_took", again=True))
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
        assert 60 * stopwatch.read_watch(ledger, "park bench").minutes["blast"] <= time.monotonic() - pressed_s + 1


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


@pytest.fixture(scope="module")
def tablets(browser: object, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Callable[[str], Visit], Path]]:
    """Tablets at a shop that lets them log; each is a browser with a memory of its own."""
    from pricing.screens.pages import own_folder

    folder = own_folder(tmp_path_factory.mktemp("tablets") / "powder-shop")
    opened: list[Visit] = []

    with served("app", folder, tmp_path_factory.mktemp("app-log"), "--log") as url:

        def tablet(who: str) -> Visit:
            opened.append(Visit(browser, url, "7_what_it_took", TABLET))
            visit = opened[-1]
            if who:
                visit.field("who").select_option(who)
            return visit

        yield tablet, folder
        for visit in opened:
            visit.page.close()


def _starts(visit: Visit, job: str) -> None:
    visit.field("job").fill(job)
    visit.field("job").press("Tab")
    visit.press("start")


def test_two_people_with_two_tablets_have_a_clock_each(
    tablets: tuple[Callable[[str], Visit], Path], pictures: Path
) -> None:
    tablet, folder = tablets
    one, two = tablet(""), tablet("helper")
    one.press("start")
    says(one.page.locator('[data-note="watch"]'), "Say first who works here")
    at_work(one)
    _starts(one, "garden gate")
    begun = time.monotonic()
    says(one.page.locator('[data-note="watch"]'), "Running: wipe the line clean, owner")
    two.field("step").select_option("hang")
    _starts(two, "garden gate")
    says(two.page.locator('[data-note="watch"]'), "Running: hang and earth, helper")
    says(two.page.locator('[data-note="watch"]'), "Running too: wipe the line clean, owner")
    time.sleep(3)
    two.press("pause")
    says(two.page.locator('[data-note="watch"]'), "Running: wipe the line clean, owner")
    while _clock_s(one) < 3:  # it runs on: the second Start has not ended it
        time.sleep(0.1)
    one.press("pause")
    says(one.page.locator('[data-note="watch"]'), "Paused")
    lasted_s = time.monotonic() - begun
    from pricing.ledger import stopwatch
    from pricing.ledger.store import open_ledger

    with open_ledger(folder) as ledger:
        runs = {run.worker: run for run in stopwatch.read_watch(ledger, "garden gate").runs}
    now = Moment.now()
    assert 3 <= 60 * runs["owner"].minutes(now) <= lasted_s
    assert 3 <= 60 * runs["helper"].minutes(now) <= lasted_s
    assert one.errors == two.errors == []
    one.page.reload()  # the tablet is switched off and on: it remembers who works at it
    one.ready()
    expect(one.field("who")).to_have_value("owner", timeout=60_000)


def test_the_stopwatch_alone_fills_a_tablet_that_stays_awake(
    tablets: tuple[Callable[[str], Visit], Path], pictures: Path
) -> None:
    tablet, _ = tablets
    visit = tablet("owner")
    _starts(visit, "park bench")
    visit.page.evaluate(
        """() => { window.asked = []; navigator.wakeLock.request = async (what) => {
          window.asked.push(what); return { addEventListener() {}, release() { window.asked.push('released'); } }; }; }"""
    )
    visit.press("alone")
    visit.page.wait_for_function("() => window.asked.length === 1")
    expect(visit.block("answers")).to_be_hidden()
    expect(visit.page.locator(".pp-sheet")).to_be_hidden()
    heights = visit.page.evaluate(
        """() => [...document.querySelectorAll('.pp-alone .pp-form :is(button, input, select)')]
          .filter(e => e.checkVisibility()).map(e => [e.textContent || e.dataset.key, e.getBoundingClientRect().height])"""
    )
    assert len(heights) > 12
    assert [name for name, height in heights if height < 48] == []
    assert [name for name, height in heights if height < 70] == ["Show the whole page"]
    visit.page.locator('[data-field="step"] [data-tap="coat"]').click()
    says(visit.page.locator('[data-note="watch"]'), "Running: spray powder, owner")
    visit.page.locator('[data-field="step"] [data-tap="hang"]').click()
    says(visit.page.locator('[data-note="watch"]'), "Running: hang and earth, owner")
    visit.keep(pictures, "7_what_it_took-alone")
    visit.press("finish")
    says(visit.page.locator('[data-note="watch"]'), "How much was it?")
    visit.keep(pictures, "7_what_it_took-how-much")
    visit.press("alone")
    expect(visit.block("answers")).to_be_visible()
    visit.page.wait_for_function("() => window.asked.length === 2")
    assert visit.page.evaluate("() => window.asked") == ["screen", "released"]
    assert visit.errors == []
