"""Servers on ports of their own, a browser that reaches nothing else, and pages of the workbook in it."""

import os
import re
import shutil
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Browser, Page, expect

ROOT = Path(__file__).parents[2]
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",  # no name resolves: there is no network
)  # fmt: skip
DESK = {"width": 1366, "height": 768}
TABLET = {"width": 1024, "height": 768}
PATIENCE_MS = 45_000


@contextmanager
def served(command: str, folder: Path, private: Path, *more: str) -> Iterator[str]:
    """Start ``lab`` or ``app`` as an owner does, with more words behind it, and give the address it prints up to the page's name."""
    from pricing.screens.serve import free_port

    kept = {
        name: str(private / name.lower())
        for name in (
            "JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "JUPYTER_RUNTIME_DIR", "JUPYTERLAB_SETTINGS_DIR",
            "JUPYTERLAB_WORKSPACES_DIR", "IPYTHONDIR",
        )
    }  # fmt: skip
    env = {**os.environ, **kept, "PYTHONPATH": str(ROOT), "PYTHONUNBUFFERED": "1"}
    port = free_port(18_000 + os.getpid() % 2_000)
    words = [
        sys.executable,
        "-m",
        "pricing",
        command,
        "--shop",
        str(folder),
        "--port",
        str(port),
        "--no-browser",
        *more,
    ]
    with (
        (private / f"{command}.log").open("w") as log,
        subprocess.Popen(words, cwd=private, env=env, text=True, stdout=subprocess.PIPE, stderr=log) as server,
    ):
        try:
            assert server.stdout
            url = next(line.strip() for line in server.stdout if line.strip().startswith("http"))
            threading.Thread(target=server.stdout.read, daemon=True).start()  # a full pipe would stop it
            _wait_until_it_answers(url, server)
            yield url
        finally:
            server.terminate()
            server.wait(timeout=20)


def _wait_until_it_answers(url: str, server: "subprocess.Popen[str]") -> None:
    import time
    import urllib.error
    import urllib.request

    root = re.match(r"http://[^/]+/", url)
    assert root
    for _ in range(600):
        assert server.poll() is None, "the server ended"
        try:
            urllib.request.urlopen(f"{root[0]}api", timeout=5).close()  # noqa: S310  our own address
            return
        except urllib.error.HTTPError:
            return
        except OSError:
            time.sleep(0.1)
    raise TimeoutError(url)


class Visit:
    """One page of the workbook, open in the browser, with what it complained about and what it asked the network for."""

    def __init__(self, browser: Browser, url: str, name: str, size: dict[str, int] = DESK) -> None:
        self.name, self.errors, self.asked = name, [], []
        self.page: Page = browser.new_page(viewport=size)
        self.page.set_default_timeout(PATIENCE_MS)
        self.page.set_default_navigation_timeout(4 * PATIENCE_MS)  # Voilà answers when the page has run
        self.page.on("console", lambda told: self.errors.append(told.text) if told.type == "error" else None)
        self.page.on("pageerror", lambda told: self.errors.append(str(told)))
        self.page.on("request", lambda request: self._request(request.url))
        self.page.goto(re.sub(r"\d_\w+\.ipynb", f"{name}.ipynb", url))
        self.ready()

    def _request(self, url: str) -> None:
        if not re.match(r"(http|ws)://127\.0\.0\.1:|data:|blob:|about:", url):
            self.asked.append(url)

    def ready(self) -> None:
        """Wait until every board of the page has drawn its charts."""
        self.page.wait_for_selector(".pp-page", state="attached")
        self.page.wait_for_function(
            "() => [...document.querySelectorAll('.pp-fill')].length > 0 && "
            "[...document.querySelectorAll('.pp-fill')].every(board => board.dataset.ready === 'yes')"
        )

    def field(self, key: str):
        return self.page.locator(f'.pp-form [data-key="{key}"]')

    def message(self, key: str):
        return self.page.locator(f'.pp-form [data-field="{key}"] .pp-msg')

    def block(self, key: str):
        return self.page.locator(f'.pp-block[data-key="{key}"]')

    def marks(self, key: str) -> str:
        """Give the drawing of a chart, to see whether it changes."""
        return self.block(key).locator("svg").inner_html()

    def slide(self, key: str, presses: int = 8) -> None:
        """Move a slider by the keyboard."""
        handle = self.page.locator(f'.pp-form [data-slide="{key}"]')
        handle.focus()
        for _ in range(presses):
            self.page.keyboard.press("ArrowRight")

    def until_changed(self, key: str, before: str) -> None:
        """Wait until a chart is drawn anew."""
        svg = self.block(key).locator("svg")
        self.page.wait_for_function("([node, before]) => node.innerHTML !== before", arg=[svg.element_handle(), before])

    def cell(self, row: str, column: str):
        return self.page.locator(f'.pp-sheet tr[data-row="{row}"] td[data-column="{column}"] input')

    def press(self, key: str) -> None:
        self.page.locator(f'button[data-key="{key}"]:visible').first.click()

    def keep(self, folder: Path, name: str) -> None:
        """Keep a picture of the page, for people to look at."""
        folder.mkdir(parents=True, exist_ok=True)
        self.page.screenshot(path=folder / f"{name}.png")


def says(locator, text: str) -> None:
    """Wait until something says a text."""
    expect(locator).to_contain_text(text, timeout=PATIENCE_MS)
