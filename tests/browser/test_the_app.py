"""The app as visitors meet it: links, what is served to whom, kernels that are freed, the folder as it is now."""

import re
import socket
import sqlite3
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from datetime import date
from pathlib import Path

from playwright.sync_api import Browser, expect

from pricing.screens.bar import PAGES
from tests.browser.driven import PATIENCE_MS, TABLET, Visit, kernels, says, served

NAMES = list(PAGES)


def until(true: Callable[[], bool], patience_s: float = PATIENCE_MS / 1000) -> None:
    end = time.monotonic() + patience_s
    while not true():
        assert time.monotonic() < end
        time.sleep(0.1)


def asked(url: str, data: bytes | None = None) -> tuple[int, dict[str, str], str]:
    try:
        with urllib.request.urlopen(url, data, timeout=60) as answer:  # noqa: S310  our own address
            return answer.status, dict(answer.headers), answer.read().decode("utf-8", "replace")
    except urllib.error.HTTPError as why:
        return why.code, dict(why.headers), why.read().decode("utf-8", "replace")


def test_every_link_of_every_page_leads_to_its_page(browser: Browser, app_url: str) -> None:
    visit = Visit(browser, app_url, NAMES[0])
    for at in [*NAMES[1:], NAMES[0]]:
        kept = (
            visit.page.evaluate(  # what the page leaves to the browser of a click on each link, before one is followed
                """() => [...document.querySelectorAll('.pp-bar nav a')].map(link => {
                 let kept = null;
                 window.addEventListener('click', e => { kept = e.defaultPrevented; e.preventDefault(); }, { once: true });
                 link.click();
                 return [link.getAttribute('href'), kept];
               })"""
            )
        )
        assert kept == [[f"{name}.ipynb", False] for name in NAMES]
        visit.page.locator(f'.pp-bar nav a[href="{at}.ipynb"]').click()
        visit.page.wait_for_url(f"**/{at}.ipynb")
        visit.ready()
        expect(visit.page.locator(".pp-bar a[aria-current]")).to_have_text(PAGES[at], timeout=PATIENCE_MS)
    assert visit.errors == []
    visit.leave()
    until(lambda: not kernels(app_url))  # none of all these visits leaves one behind


def test_only_the_pages_are_served_and_only_with_the_token(app_url: str, shop_folder: Path) -> None:
    root, token = re.match(r"(http://[^/]+)/.*token=([\w-]+)", app_url).groups()
    (shop_folder / "gate.png").write_bytes(b"\x89PNG")
    inside = (
        f"voila/render/{NAMES[0]}.ipynb",
        "voila/static/voila.js",
        "voila/templates/base/static/voila.js",
        "voila/labextensions/powder-shop-pricing/static/pages.js",
        "voila/api/themes/x",
        "",
        "api/kernels/00000000-0000-0000-0000-000000000000",
        "voila/query/00000000-0000-0000-0000-000000000000",
        "voila/files/gate.png",
        "files/gate.png",
        "voila/tree",
        "voila/api/contents",
        "api",
        "login",
        "gate.png",
    )
    for path in inside:
        code, _, text = asked(f"{root}/{path}")
        assert code == 403, path
        assert "token" in text
    assert asked(f"{root}/voila/api/shutdown/00000000-0000-0000-0000-000000000000", data=b"")[0] == 403
    assert asked(f"{root}/api/kernels/00000000-0000-0000-0000-000000000000/channels")[0] in {400, 403}
    nowhere = (
        "voila/files/gate.png",
        "files/gate.png",
        "voila/tree",
        "voila/api/contents",
        "voila/render/other.ipynb",
        "voila/query/00000000-0000-0000-0000-000000000000",
        "api/kernels",
        "api/contents",
        "login",
        "voila/render/..%2f..%2fetc%2fpasswd",
        "voila/static/..%2f..%2fapp.py",
    )
    for path in nowhere:
        assert asked(f"{root}/{path}?token={token}")[0] in {403, 404}, path
    assert asked(f"{root}/voila/static/voila.js?token={token}")[0] == 200
    (shop_folder / "gate.png").unlink()


def test_answers_carry_a_policy_and_cookies_stay_at_home(browser: Browser, app_url: str) -> None:
    page = browser.new_page()
    told = page.goto(app_url)
    assert told
    policy = told.headers["content-security-policy"]
    assert "default-src 'self'" in policy
    assert "frame-ancestors 'none'" in policy
    assert told.headers["x-content-type-options"] == "nosniff"
    cookies = page.context.cookies()
    assert {cookie["sameSite"] for cookie in cookies} == {"Strict"}
    assert any(cookie["httpOnly"] for cookie in cookies)
    page.goto("about:blank")  # left at once: even then its kernel is freed
    until(lambda: not kernels(app_url))
    page.close()


def test_leaving_frees_the_kernel_at_once(browser: Browser, app_url: str) -> None:
    until(lambda: not kernels(app_url))
    visit = Visit(browser, app_url, "4_two_tone", TABLET)
    assert len(kernels(app_url)) == 1
    visit.page.locator('.pp-bar nav a[href="6_for_a_partner.ipynb"]').click()
    visit.page.wait_for_url("**/6_for_a_partner.ipynb")
    visit.ready()
    until(lambda: len(kernels(app_url)) == 1)
    visit.leave()
    until(lambda: not kernels(app_url))


def test_a_kernel_that_ends_at_birth_is_replaced_and_who_leaves_early_leaves_none(app_url: str) -> None:
    until(lambda: not kernels(app_url))
    page = app_url.replace(NAMES[0], "5_break_even")
    root, host, port = re.match(r"(http://([^/:]+):(\d+))/", page).groups()
    with socket.create_connection((host, int(port))) as left:  # closed before anything has come
        left.sendall(f"GET {page.removeprefix(root)} HTTP/1.1\r\nHost: {host}:{port}\r\n\r\n".encode())
        until(lambda: len(kernels(app_url)) == 1)
    until(lambda: not kernels(app_url))
    with ThreadPoolExecutor(1) as visitor:
        answer = visitor.submit(asked, page)
        until(lambda: len(kernels(app_url)) == 1)
        kernels(app_url)[0].kill()
        code, _, text = answer.result()
    assert code == 200
    free = re.search(r'"kernelId":\s*"([\w-]+)"', text)
    assert free
    token = page.partition("?")[2]
    assert asked(f"{root}/voila/api/shutdown/{free[1]}?{token}", data=b"")[0] == 204
    until(lambda: not kernels(app_url))


def test_the_app_shows_the_folder_as_it_is_at_every_visit(browser: Browser, app_url: str, shop_folder: Path) -> None:
    visit = Visit(browser, app_url, "1_my_shop")
    expect(visit.page.locator(".pp-bar .state")).to_contain_text(re.compile(r"As of \d\d:\d\d"))
    expect(visit.page.locator(".pp-bar .state")).to_contain_text("fields are for trying")
    expect(visit.field("owner.weeks")).to_have_value("46")
    text = (shop_folder / "shop.toml").read_text("utf-8")
    changed = re.sub(r"weeks = 46", "weeks = 44", text)
    assert changed != text
    try:
        (shop_folder / "shop.toml").write_text(changed, "utf-8")
        visit.page.reload()
        visit.ready()
        expect(visit.field("owner.weeks")).to_have_value("44")
    finally:
        (shop_folder / "shop.toml").write_text(text, "utf-8")
    visit.leave()


@contextmanager
def own_app(tmp_path: Path, *words: str) -> "Iterator[tuple[str, Path]]":
    from pricing.screens.pages import own_folder

    folder = own_folder(tmp_path / "shop")
    (tmp_path / "private").mkdir()
    with served("app", folder, tmp_path / "private", *words) as url:
        yield url, folder


def _files(folder: Path) -> dict[str, bytes]:
    return {str(at.relative_to(folder)): at.read_bytes() for at in sorted(folder.rglob("*")) if at.is_file()}


def test_with_log_page_7_is_written_and_nothing_else(browser: Browser, tmp_path: Path) -> None:
    with own_app(tmp_path, "--log") as (url, folder):
        before = _files(folder)
        visit = Visit(browser, url, "2_one_job")
        visit.press("quote")
        says(visit.page.locator('[data-note="said"]'), "only shown")
        visit.press("save")
        says(visit.page.locator('[data-note="said"]'), "only shown")
        assert _files(folder) == before
        visit.leave()
        visit = Visit(browser, url, "7_what_it_took")
        visit.field("who").select_option("owner")
        visit.field("job").fill("park bench")
        visit.field("job").press("Tab")
        visit.press("start")
        says(visit.page.locator('[data-note="watch"]'), "Running")
        new = {name for name in _files(folder) if name not in before}
        assert {name.split("-")[0] for name in new} == {"ledger.db"}
        visit.leave()


def test_without_log_no_ledger_is_made_or_brought_up_to_date(browser: Browser, tmp_path: Path) -> None:
    with own_app(tmp_path, "--most", "1") as (url, folder):
        visit = Visit(browser, url, "7_what_it_took")
        assert not list(folder.glob("ledger*"))
        other = browser.new_page()
        answer = other.goto(url)
        assert answer.status == 503
        assert answer.headers["retry-after"]
        says(other.locator("p"), "as many as this machine has room for")
        other.close()
        visit.leave()
        until(lambda: not kernels(url))
        from pricing.ledger.entries import Done
        from pricing.ledger.store import open_ledger

        with open_ledger(folder) as ledger:
            ledger.add("jobs", Done(job="gate", on=date(2026, 3, 2), finish="single_tone", parts=1))
        with sqlite3.connect(folder / "ledger.db") as link:
            link.execute("delete from ledger_version where version > 1")
        link.close()
        before = (folder / "ledger.db").read_bytes()
        visit = Visit(browser, url, "7_what_it_took")
        says(visit.block("answers"), "with `lab` once")
        assert (folder / "ledger.db").read_bytes() == before
        assert not list(folder.glob("*backup*"))
        visit.leave()


def test_a_lost_network_is_told_and_found_again_and_a_lost_kernel_too(browser: Browser, app_url: str) -> None:
    visit = Visit(browser, app_url, "4_two_tone")
    context = visit.page.context
    context.set_offline(True)
    says(visit.page.locator(".powder-notice"), "No connection")
    context.set_offline(False)
    expect(visit.page.locator(".powder-notice")).to_have_count(0, timeout=PATIENCE_MS)
    line = visit.field("line_m")
    before = visit.marks("line")
    line.fill("5 m")
    line.press("Tab")
    visit.until_changed("line", before)
    model = visit.page.evaluate("() => JSON.parse(document.getElementById('jupyter-config-data').textContent).kernelId")
    visit.page.context.clear_cookies(name="_xsrf")  # no form token is needed to leave, nor can one go stale
    gone = visit.page.evaluate(
        "id => fetch(`/voila/api/shutdown/${id}`, { method: 'POST' }).then(a => a.status)", model
    )
    assert gone == 204
    says(visit.page.locator(".powder-notice"), "put away")
    visit.page.get_by_role("button", name="Load it again").click()
    visit.page.wait_for_selector(".powder-notice", state="detached")
    visit.ready()
    visit.leave()
