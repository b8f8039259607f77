"""A page in JupyterLab that nobody can break: keys, clicks, damaged files, two browsers, killed kernels, the draft."""

import json
import re
import urllib.request
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from pricing.shop.folder import open_shop
from tests.browser.conftest import Opener
from tests.browser.driven import PATIENCE_MS, Visit, kernel_of, says

OWNER = "owner.weeks"


@pytest.fixture
def left_as_found(shop_folder: Path):
    """Whatever a test leaves in the draft is thrown away."""
    yield
    from pricing.shop.draft import Draft

    Draft(shop_folder).clear()


def _cells(visit: Visit) -> int:
    return visit.page.locator(".powder-page .jp-Notebook-cell").count()


def test_keys_and_clicks_outside_inputs_do_nothing_to_the_page(in_lab: Opener, shop_folder: Path) -> None:
    visit = in_lab("4_two_tone", again=True)
    before = (shop_folder / "4_two_tone.ipynb").read_bytes()
    for spot in (visit.block("answers").locator("h3").first, visit.page.locator(".pp-bar .state")):
        spot.click()
        for key in (
            "d",
            "d",
            "x",
            "b",
            "a",
            "m",
            "Escape",
            "0",
            "0",
            "Shift+Enter",
            "Control+Enter",
            "Control+m",
            "y",
            "r",
        ):
            visit.page.keyboard.press(key)
    assert _cells(visit) == 1
    expect(visit.page.locator(".jp-Dialog")).to_have_count(0)
    visit.page.keyboard.press("Control+s")
    expect(visit.page.locator(".jp-Dialog")).to_have_count(0)
    old = visit.marks("line")
    visit.field("line_m").fill("4 m")
    visit.field("line_m").press("Tab")
    visit.until_changed("line", old)
    assert (shop_folder / "4_two_tone.ipynb").read_bytes() == before
    assert visit.page.locator(".jp-CodeMirrorEditor:visible, .cm-editor:visible").count() == 0
    visit.block("answers").locator("h3").first.click(button="right")
    expect(visit.page.locator(".lm-Menu")).to_have_count(0)
    assert visit.errors == []


def test_the_menu_comes_with_the_workshop_view_and_goes_with_it(in_lab: Opener, pictures: Path) -> None:
    visit = in_lab("4_two_tone")
    menu = visit.page.locator("#jp-MainMenu, .lm-MenuBar").first
    expect(menu).not_to_be_visible()
    assert not any(one.is_visible() for one in visit.page.get_by_text("Shut Down All").all())
    visit.keep(pictures, "4_two_tone-lab-no-menu")
    visit.page.locator(".pp-bar details.more summary").click()
    visit.press("workshop")
    expect(menu).to_be_visible(timeout=PATIENCE_MS)
    visit.page.locator(".pp-bar details.more summary").click()
    visit.press("workshop")
    expect(menu).not_to_be_visible()


def test_a_damaged_page_is_whole_again(browser: Browser, lab_url: str, shop_folder: Path) -> None:
    from pricing.screens.pages import own_folder

    (shop_folder / "5_break_even.ipynb").write_text('{"cells": [], "metadata": {}, "nbformat": 4, "nbformat_minor": 5}')
    visit = Visit(browser, lab_url, "5_break_even")  # while the server runs, pages come from the package
    visit.page.close()
    own_folder(shop_folder)
    assert "panel_break_even" in (shop_folder / "5_break_even.ipynb").read_text("utf-8")


def test_two_browsers_on_one_page_are_never_asked_about_the_file(
    browser: Browser, lab_url: str, shop_folder: Path
) -> None:
    root, token = re.match(r"(http://[^/]+)/.*token=([\w-]+)", lab_url).groups()
    before = (shop_folder / "2_one_job.ipynb").read_bytes()
    visits = [Visit(browser, lab_url, "2_one_job") for _ in range(2)]
    for visit in visits:
        visit.field("quantity").fill("11")
        visit.field("quantity").press("Tab")
        visit.page.keyboard.press("Control+s")
    body = json.dumps(
        {"type": "notebook", "content": {"cells": [], "metadata": {}, "nbformat": 4, "nbformat_minor": 5}}
    )
    request = urllib.request.Request(  # noqa: S310  our own address
        f"{root}/api/contents/2_one_job.ipynb?token={token}",
        body.encode(),
        {"Content-Type": "application/json"},
        method="PUT",
    )
    urllib.request.urlopen(request, timeout=60).close()  # noqa: S310  even a program that asks to write it
    for visit in visits:
        visit.page.keyboard.press("Control+s")
        expect(visit.page.locator(".jp-Dialog")).to_have_count(0)
        visit.page.close()
    assert (shop_folder / "2_one_job.ipynb").read_bytes() == before
    assert not (shop_folder / ".ipynb_checkpoints").exists()


def test_a_page_that_cannot_start_says_so_and_starts_when_it_can(
    browser: Browser, lab_url: str, shop_folder: Path
) -> None:
    text = (shop_folder / "rates.csv").read_text("utf-8")
    (shop_folder / "rates.csv").write_text("nonsense", "utf-8")
    try:
        page = browser.new_page()
        page.goto(re.sub(r"\d_\w+\.ipynb", "3_price_list.ipynb", lab_url), timeout=PATIENCE_MS)
        says(page.locator(".powder-notice"), "did not start")
    finally:
        (shop_folder / "rates.csv").write_text(text, "utf-8")
    page.get_by_role("button", name="Load it again").click()
    page.wait_for_selector(".pp-list", timeout=PATIENCE_MS)
    expect(page.locator(".powder-notice")).to_have_count(0)
    page.close()


@pytest.mark.parametrize("where", ["lab", "app"])
def test_a_page_that_begins_late_still_hears_its_kernel(
    browser: Browser, request: pytest.FixtureRequest, where: str
) -> None:
    """What waits two seconds for a widget finds them over at once, as on a machine that is busy for so long."""
    late = """const own = AbortSignal.timeout.bind(AbortSignal);
      window.asked = [];
      AbortSignal.timeout = (ms) => { window.asked.push(ms); return own(ms === 2000 ? 0 : ms); };"""
    visit = Visit(browser, request.getfixturevalue(f"{where}_url"), "4_two_tone", first=late)
    line = visit.field("line_m")
    before = visit.marks("line")
    line.fill("5 m")
    line.press("Tab")
    visit.until_changed("line", before)
    assert visit.page.evaluate("window.asked.length") > 0
    assert visit.errors == []
    visit.leave()


def test_what_is_typed_on_page_1_is_in_the_price_on_page_2(
    browser: Browser, lab_url: str, in_lab: Opener, shop_folder: Path, left_as_found: None
) -> None:
    job, shop = in_lab("2_one_job", again=True), Visit(browser, lab_url, "1_my_shop")
    price = job.block("answers").locator(".pp-tile.main .big")
    before = price.inner_text()
    shop.field("owner.draw_per_y").fill("90000 EUR/year")
    shop.field("owner.draw_per_y").press("Tab")
    expect(price).not_to_have_text(before, timeout=PATIENCE_MS)
    dearer = price.inner_text()
    says(job.page.locator(".pp-bar .state"), "Changed on another page: people")
    shop.page.close()  # through a closed tab
    kernel = kernel_of(lab_url, "1_my_shop")
    kernel.kill()  # through a killed kernel
    kernel.wait(timeout=60)
    shop = Visit(browser, lab_url, "1_my_shop")
    expect(shop.field("owner.draw_per_y")).to_have_value("90000 EUR/year")
    assert open_shop(shop_folder).owner.draw_per_y == 36000
    job.press("undo")  # on whichever page
    expect(shop.field("owner.draw_per_y")).to_have_value("36000 EUR/year", timeout=PATIENCE_MS)
    expect(price).to_have_text(before, timeout=PATIENCE_MS)
    shop.press("redo")
    expect(price).to_have_text(dearer, timeout=PATIENCE_MS)
    job.page.bring_to_front()
    job.page.locator(".pp-bar details.more summary").click()
    job.press("discard")
    expect(shop.field("owner.draw_per_y")).to_have_value("36000 EUR/year", timeout=PATIENCE_MS)
    shop.page.close()


def test_control_s_saves_the_shop_with_what_is_just_being_typed(
    in_lab: Opener, shop_folder: Path, left_as_found: None
) -> None:
    text = (shop_folder / "shop.toml").read_text("utf-8")
    shop = in_lab("1_my_shop")
    shop.field(OWNER).fill("44")
    shop.page.keyboard.press("Control+s")
    says(shop.page.locator(".pp-bar .state"), "Saved: shop.toml")
    assert open_shop(shop_folder).owner.weeks == 44
    (shop_folder / "shop.toml").write_text(text, "utf-8")
    expect(shop.field(OWNER)).to_have_value("46", timeout=PATIENCE_MS)


def test_a_day_is_brought_back(in_lab: Opener, shop_folder: Path, left_as_found: None) -> None:
    from datetime import date

    from pricing.shop.copies import keep_copy

    keep_copy(shop_folder, date(2026, 1, 5))
    shop = in_lab("1_my_shop")
    expect(shop.field(OWNER)).to_have_value("46")
    shop.field(OWNER).fill("44")
    shop.field(OWNER).press("Tab")
    says(shop.page.locator(".pp-bar .state"), "Draft")
    shop.page.locator(".pp-bar details.more summary").click()
    shop.page.locator('.pp-bar [data-key="day"]').select_option("2026-01-05")
    shop.press("back")
    says(shop.page.locator(".pp-bar .state"), "As it was on")
    expect(shop.field(OWNER)).to_have_value("46")
    shop.press("undo")
    expect(shop.field(OWNER)).to_have_value("44")


def test_a_kernel_that_ends_while_its_page_is_open_is_built_again(in_lab: Opener, lab_url: str) -> None:
    visit = in_lab("6_for_a_partner", again=True)
    kernel = kernel_of(lab_url, "6_for_a_partner")
    visit.page.evaluate("() => document.querySelector('.pp-partner').setAttribute('data-old', '')")
    kernel.kill()
    kernel.wait(timeout=60)
    units = visit.field("quantity")
    visit.page.wait_for_selector(".pp-partner:not([data-old])", state="attached")
    visit.page.wait_for_selector("[data-old]", state="detached")
    visit.ready()
    units.fill("12")
    units.press("Tab")
    says(visit.block("build"), "12 pieces")
