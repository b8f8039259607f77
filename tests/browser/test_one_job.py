"""The job on the bench, chosen or made once: every page follows, in JupyterLab and in the app; papers for customers."""

import re
from pathlib import Path

from playwright.sync_api import expect

from tests.browser.conftest import Opener
from tests.browser.driven import PATIENCE_MS, says


def test_a_job_of_two_kinds_made_on_page_2_stands_on_page_4_and_its_quote_opens(
    in_lab: Opener, shop_folder: Path
) -> None:
    pair = in_lab("4_two_tone")
    visit = in_lab("2_one_job")
    visit.field("begun").select_option("item:bench_end")
    visit.heard()
    expect(visit.page.locator('.pp-form [data-key="kind"]')).to_have_count(0)
    visit.page.locator(".pp-form summary", has_text="Kinds of parts (1)").click()
    visit.field("another").select_option("gate_single")
    visit.heard()
    expect(visit.field("kind")).to_have_value("1")
    visit.field("quantity").fill("3")
    visit.field("quantity").press("Tab")
    visit.heard()
    says(visit.block("steps"), "pieces")
    visit.press("paper")
    link = visit.page.locator('[data-note="paper.said"] a')
    expect(link).to_have_text(re.compile(r"Open quote .*\.html"), timeout=PATIENCE_MS)
    with visit.page.context.expect_page() as opened:
        link.click()
    expect(opened.value.locator("h1")).to_contain_text("uote")
    opened.value.close()
    pair.page.bring_to_front()
    expect(pair.field("begun")).to_have_value("item:bench_end", timeout=PATIENCE_MS)
    expect(pair.field("kind").locator("option")).to_have_text([re.compile("1 ×"), re.compile("3 ×")])
    says(pair.block("answers"), "Charge extra")
    visit = in_lab("2_one_job")
    visit.press("off")
    expect(visit.page.locator('.pp-form [data-key="kind"]')).to_have_count(0)
    assert visit.errors == []


def test_a_visitors_job_goes_with_him_to_the_next_page_and_the_shop_keeps_its_own(
    in_app: Opener, shop_folder: Path
) -> None:
    kept = (shop_folder / ".bench.json").read_bytes() if (shop_folder / ".bench.json").exists() else b""
    visit = in_app("5_break_even")
    visit.field("begun").select_option("item:wheel_set")
    link = visit.page.locator('.pp-bar nav a[data-file="4_two_tone.ipynb"]')
    expect(link).to_have_attribute("href", re.compile(r"\?on=."))
    expect(visit.field("quantity")).to_have_value("1")
    visit.field("quantity").fill("3")
    link.click()  # at once: what was typed goes along
    visit.page.wait_for_url("**/4_two_tone.ipynb?on=*")
    visit.ready()
    expect(visit.field("begun")).to_have_value("item:wheel_set")
    expect(visit.field("quantity")).to_have_value("3")
    now = (shop_folder / ".bench.json").read_bytes() if (shop_folder / ".bench.json").exists() else b""
    assert now == kept
    assert visit.errors == []


def test_what_advised_prices_would_change_is_shown_before_it_is_done_and_by_keys_alone(in_lab: Opener) -> None:
    visit = in_lab("3_price_list")
    cell = visit.cell("bench_end", "two_tone.first")
    advised = cell.input_value()
    cell.fill(str(float(advised) + 100))
    cell.press("Tab")
    visit.heard()
    visit.page.locator('.pp-form button[data-key="all"]').focus()
    visit.page.keyboard.press("Enter")
    says(visit.page.locator(".pp-why"), "becomes")
    expect(cell).not_to_have_value(advised)
    visit.page.keyboard.press("Escape")
    expect(visit.page.locator(".pp-why")).to_have_count(0)
    take = visit.page.locator('.pp-form button[data-key="take"]')
    expect(take).to_be_visible()
    take.focus()
    visit.page.keyboard.press("Enter")
    expect(cell).to_have_value(advised)
    expect(take).to_be_hidden()
    assert visit.errors == []
