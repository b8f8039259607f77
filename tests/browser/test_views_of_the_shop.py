"""The views of page 1 in a browser: my oven, a new part, all settings; at a desk and on a tablet that stands."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from tests.browser.driven import DESK, Visit
from tests.browser.test_every_page import SMALL, STANDING


@pytest.fixture(scope="module")
def visit(browser: Any, app_url: str) -> Iterator[Visit]:
    """Page 1, opened once; each test says how large the screen is."""
    opened = Visit(browser, app_url, "1_my_shop")
    yield opened
    opened.leave()


FORMS = {"oven": "My oven", "part": "A new part", "all": "All settings"}


def _view(visit: Visit, key: str, size: dict[str, int] = DESK) -> None:
    visit.page.set_viewport_size(size)
    visit.page.locator(f".pp-views [data-view={key}]").click()
    form = visit.page.locator(".pp-form")  # the view that stood here before is gone
    expect(form).to_have_count(1)
    expect(form).to_have_attribute("aria-label", FORMS[key])


def test_an_oven_is_drawn_as_it_is_typed(visit: Visit, pictures: Path) -> None:
    _view(visit, "oven")
    plan = visit.block("plan").locator("svg")
    expect(plan).to_contain_text("1200 mm")
    before = visit.block("hour").locator(".big").first.inner_text()
    visit.field("oven:small oven.inside_width_mm").fill("1500 mm")
    visit.field("oven:small oven.exhaust_m3_per_h").fill("200 m3/h")
    expect(plan).to_contain_text("1500 mm")
    expect(visit.block("hour").locator(".big").first).not_to_have_text(before)
    assert visit.block("heat").locator(".mark-rect path").count() > 5
    visit.keep(pictures, "1-my-oven")
    assert visit.errors == []


def test_a_part_is_sketched_and_priced_as_it_is_typed(visit: Visit, pictures: Path) -> None:
    _view(visit, "part")
    visit.field("begun").select_option("shape:frame")
    sketch = visit.page.locator(".pp-new .pp-drawn svg")
    expect(sketch).to_contain_text("wall 3 mm")
    price = visit.block("price").locator(".big").first
    before = price.inner_text()
    visit.field("drawn.bars").fill("6")
    expect(price).not_to_have_text(before)
    visit.field("drawn.bar").fill("2 m")
    expect(visit.message("drawn.bar")).to_contain_text("must be below")
    visit.field("drawn.bar").fill("40 mm")
    expect(visit.message("drawn.bar")).to_have_text("")
    visit.keep(pictures, "1-new-part")
    assert visit.errors == []


def test_all_settings_are_changed_one_thing_at_a_time(visit: Visit, pictures: Path) -> None:
    _view(visit, "all")
    visit.field("policy.sales_tax").fill("19 %")
    visit.field("policy.sales_tax").press("Enter")
    expect(visit.field("policy.sales_tax")).to_have_value("19 %")
    visit.field("kind").select_option("finish")
    expect(visit.page.locator(".pp-form h3").first).to_contain_text("Coats")
    visit.keep(pictures, "1-all-settings")
    assert visit.errors == []


@pytest.mark.parametrize("key", ["oven", "part", "all"])
def test_a_view_fits_a_tablet_that_stands_and_a_finger(visit: Visit, pictures: Path, key: str) -> None:
    _view(visit, key, STANDING)
    fold = visit.page.locator(".pp-fold")
    if key == "all":
        expect(fold).to_be_hidden()
    elif fold.inner_text() != "Done":
        fold.click()
    expect(visit.page.locator(".pp-form .pp-field").first).to_be_visible()
    wide = visit.page.evaluate("() => document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert wide <= 0
    assert visit.page.evaluate(SMALL) == []
    visit.keep(pictures, f"1-{key}-standing")
    assert visit.errors == []
