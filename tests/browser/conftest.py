"""Servers and a browser that the tests of a session share."""

import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from pricing.screens import on_bench
from tests.browser.driven import DESK, FLAGS, PATIENCE_MS, Visit, served
from tests.conftest import CHROMIUM

SEEN_AT_ONCE = "test_a_page_draws_in_the_notebook"
"""What runs with the fast tests as well, wherever there is a browser."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if "tests/browser" in item.path.as_posix():
            item.add_marker(pytest.mark.browser)
            if not item.name.startswith(SEEN_AT_ONCE):
                item.add_marker(pytest.mark.slow)


@pytest.fixture(scope="session")
def shop_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    from pricing.screens.pages import own_folder

    return own_folder(tmp_path_factory.mktemp("shop") / "powder-shop")


@pytest.fixture(scope="session")
def pictures(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where pictures of the pages are kept, for people to look at."""
    named = os.environ.get("PAGE_PICTURES")
    return Path(named) if named else tmp_path_factory.mktemp("pictures")


@pytest.fixture(scope="session")
def browser() -> "Iterator[object]":
    from playwright.sync_api import expect, sync_playwright

    expect.set_options(timeout=PATIENCE_MS)
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=list(FLAGS))
        yield chromium
        chromium.close()


@pytest.fixture(scope="session")
def lab_url(shop_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with served("lab", shop_folder, tmp_path_factory.mktemp("lab")) as url:
        yield url


@pytest.fixture(scope="session")
def app_url(shop_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with served("app", shop_folder, tmp_path_factory.mktemp("app")) as url:
        yield url


Opener = Callable[..., Visit]


@pytest.fixture(scope="module")
def in_lab(browser: object, lab_url: str, shop_folder: Path) -> Iterator[Opener]:
    """Open a page in JupyterLab, once; the tests of a file share it, and begin with a fresh folder's job on the bench."""
    opened: dict[str, Visit] = {}
    (shop_folder / on_bench.BENCH_FILE).unlink(missing_ok=True)

    def visit(name: str, *, again: bool = False) -> Visit:
        if again and name in opened:
            opened.pop(name).page.close()
        if name not in opened:
            opened[name] = Visit(browser, lab_url, name)
        opened[name].page.bring_to_front()
        return opened[name]

    yield visit
    for one in opened.values():
        one.page.close()


@pytest.fixture
def in_app(browser: object, app_url: str) -> Iterator[Opener]:
    """Open a page in Voilà."""
    opened: list[Visit] = []

    def visit(name: str, size: dict[str, int] = DESK) -> Visit:
        opened.append(Visit(browser, app_url, name, size))
        return opened[-1]

    yield visit
    for one in opened:
        one.leave()
