"""Files that are handed over, opened from a disk in a browser that reaches nothing: drawn, live, and asking nobody."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from click.testing import CliRunner
from playwright.sync_api import Browser, Page, expect

from pricing.commands.main import main
from pricing.parts.job import Job
from pricing.prices.quote import quote
from pricing.shop.shop import Shop
from tests.browser.driven import DESK

KINDS = ("partner summary", "price list", "quote")


@pytest.fixture(scope="session")
def handed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("handed over")
    for words in (
        ("report", "sign_letters"),
        ("print-list",),
        ("customer-quote", "bench_ends", "--customer", "A & <b>B</b>"),
    ):
        done = CliRunner().invoke(main, [*words, "--out", str(out), "--format", "html"])
        assert done.exit_code == 0, done.output
    return out


class Opened:
    """A file in the browser, with all it asked for and all it complained of."""

    def __init__(self, browser: Browser, path: Path) -> None:
        self.asked: list[str] = []
        self.errors: list[str] = []
        self.page: Page = browser.new_page(viewport=DESK)  # type: ignore[arg-type]  # a size
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.page.on("pageerror", lambda error: self.errors.append(str(error)))
        self.page.on("console", lambda said: self.errors.append(said.text) if said.type == "error" else None)
        self.page.goto(path.as_uri())


@pytest.fixture
def opened(browser: Any, handed: Path) -> Iterator[Any]:
    pages: list[Opened] = []

    def visit(kind: str) -> Opened:
        pages.append(Opened(browser, next(handed.glob(f"{kind}*.html"))))
        return pages[-1]

    yield visit
    for one in pages:
        one.page.close()


@pytest.mark.parametrize("kind", KINDS)
def test_a_file_asks_for_nothing_but_itself(opened: Any, pictures: Path, kind: str) -> None:
    visit = opened(kind)
    if kind == "partner summary":
        expect(visit.page.locator("html[data-ready=yes]")).to_be_attached()
    assert len(visit.asked) == 1
    assert visit.asked[0].startswith("file://")
    assert visit.errors == []
    visit.page.screenshot(path=pictures / f"handed-{kind.replace(' ', '-')}.png", full_page=True)


def test_every_chart_of_the_summary_draws_itself(opened: Any) -> None:
    page = opened("partner summary").page
    expect(page.locator("html[data-ready=yes]")).to_be_attached()
    charts = page.locator("[data-spec]")
    assert charts.count() >= 10
    for at in range(charts.count()):
        expect(charts.nth(at)).to_have_attribute("data-drawn", "yes")
        marks = charts.nth(at).locator(
            "svg .mark-rect path, svg .mark-line path, svg .mark-symbol path, svg .mark-area path"
        )
        assert marks.count() > 0


def test_the_slider_and_the_switch_move_the_figures(opened: Any, shop: Shop, letters: Job) -> None:
    page = opened("partner summary").page
    live = page.locator(".live")
    expect(live).to_have_attribute("data-drawn", "yes")
    slider = live.locator("input[type=range]")
    before = float(slider.input_value())
    text = live.locator("svg")
    asked = quote(shop, letters)
    assert before == pytest.approx(asked.net, abs=float(slider.get_attribute("step") or 1))
    expect(text).to_contain_text(f"{(before - asked.cost) / before:.1%}")
    slider.focus()
    for _ in range(30):
        page.keyboard.press("ArrowRight")
    price = float(slider.input_value())
    assert price > before
    cost = next(row["cost"] for row in _facts(page) if row["chosen"])
    expect(text).to_contain_text(f"{(price - cost) / price:.1%}")
    expect(text).to_contain_text(f"{price - cost:,.2f}")
    live.get_by_label("Single-tone", exact=True).check()
    plain = next(row for row in _facts(page) if row["finish"] == "Single-tone")
    expect(text).to_contain_text(f"{(price - plain['cost']) / price:.1%}")
    assert page.evaluate("document.querySelector('.live').view.signal('finish')") == "Single-tone"


def _facts(page: Page) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = page.evaluate(
        "JSON.parse(document.getElementById('spec-live').textContent).datasets.facts"
    )
    return rows


@pytest.mark.parametrize("kind", KINDS)
def test_a_file_can_be_heard_and_used_by_keyboard(opened: Any, kind: str) -> None:
    visit = opened(kind)
    if kind == "partner summary":
        expect(visit.page.locator("html[data-ready=yes]")).to_be_attached()
    found = Axe().run(visit.page)
    serious = [v for v in found.response["violations"] if v["impact"] in {"serious", "critical"}]
    assert not serious, found.generate_report()


@pytest.mark.parametrize("kind", KINDS)
def test_a_file_fits_a_telephone(opened: Any, kind: str) -> None:
    page = opened(kind).page
    page.set_viewport_size({"width": 390, "height": 800})
    page.reload()
    if kind == "partner summary":
        expect(page.locator("html[data-ready=yes]")).to_be_attached()
    assert page.evaluate("document.documentElement.scrollWidth") <= 392
    cells = page.evaluate(
        """() => [...document.querySelectorAll('td, td + td, .live input, .figures svg')].filter(e => e.offsetParent !== null)
        .map(e => [e.getBoundingClientRect().right, parseFloat(getComputedStyle(e).fontSize)])"""
    )
    assert cells
    assert max(right for right, _ in cells) <= 390  # nothing must be pushed aside to read a price
    assert min(size for _, size in cells) >= 12


def test_a_name_with_tags_stays_a_name(opened: Any) -> None:
    page = opened("quote").page
    assert page.locator("h1").inner_text().endswith(" for A & <b>B</b>")
    assert page.locator("h1 b").count() == 0
