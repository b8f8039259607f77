"""A fresh folder is made an owner's own in a real browser, by the first visit alone."""

import re
from pathlib import Path

import pytest

from pricing.screens.pages import own_folder
from pricing.shop.folder import open_shop
from pricing.shop.visit import NOT_KNOWN, SOLD
from tests.browser.driven import PATIENCE_MS, Visit, says, served

ANSWERS = {"take home": "3600 a month", "work on jobs": "60", "hours a week": "44 h", "rent": "900 a month"}


def _within(visit: Visit) -> float:
    told = visit.block("answers").locator(".pp-tile .big").first.inner_text()
    return float(told.removesuffix("%"))


def test_a_fresh_folder_is_set_up_by_the_first_visit_alone(browser: object, tmp_path: Path, pictures: Path) -> None:
    shop = own_folder(tmp_path / "powder-shop")
    clicks = 0
    with served("lab", shop, tmp_path) as url:
        assert "0_first_visit" in url  # it opens first
        visit = Visit(browser, url, "0_first_visit")
        says(visit.block("lines"), "Nothing can break")
        visit.keep(pictures, "0_first_visit-fresh")
        assert "minutes per metre of line" in visit.marks("unsure"), "a long name is shown whole"
        assert "…" not in visit.marks("unsure")
        before = _within(visit)
        for _ in range(4):
            asked = visit.block("question").locator("h2").first.inner_text()
            answered = False
            for field in visit.page.locator(".pp-field[data-field^='answer.']").all():
                words = field.locator("label").inner_text()
                if given := next((text for word, text in ANSWERS.items() if word in words), ""):
                    field.locator("input").fill(given)
                    answered = True
            visit.press("say" if answered else "pass")
            clicks += 1
            visit.page.wait_for_function(
                "was => document.querySelector('.pp-block[data-key=question] h2')?.textContent !== was",
                arg=asked,
                timeout=PATIENCE_MS,
            )
            visit.heard()  # the fields of a question come after its words
        assert _within(visit) < before
        # last, as the page says: another list may ask another question, and lay its fields anew while one types
        visit.page.locator(".pp-form summary", has_text="What you sell").click()
        visit.field("sold.lamp_shade").click()
        clicks += 2
        visit.press("save")
        clicks += 1
        says(visit.page.locator(".pp-bar .state"), "Saved")
        visit.keep(pictures, "0_first_visit-saved")
        assert visit.errors == []
        visit.page.close()
    made = open_shop(shop)
    assert clicks == 7
    assert made.owner.draw_per_y == pytest.approx(43_200)
    assert made.owner.billable == pytest.approx(0.60)
    assert made.owner.hours_per_week_h == 44
    assert "lamp_shade" not in made.visited[SOLD].split()
    assert len(made.visited) > 7
    assert all(re.search(r"\d", said) or said == NOT_KNOWN for key, said in made.visited.items() if key != SOLD)
