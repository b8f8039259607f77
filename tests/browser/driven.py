"""Servers on ports of their own, a browser that reaches nothing else, and pages of the workbook in it."""

import json
import os
import re
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psutil
from playwright.sync_api import Browser, ConsoleMessage, Page, expect

ROOT = Path(__file__).parents[2]
FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",  # no name resolves: there is no network
)
DESK = {"width": 1366, "height": 768}
TABLET = {"width": 1024, "height": 768}
PATIENCE_MS = 120_000
"""Longest wait for what a page is to show; each wait ends as soon as it is there."""


@contextmanager
def served(command: str, folder: Path, private: Path, *more: str) -> Iterator[str]:
    """Start ``lab`` or ``app`` as an owner does, with more words behind it, and give the address it prints up to the page's name."""
    from pricing.screens.serve import free_port

    kept = {
        name: str(private / name.lower())
        for name in (
            "JUPYTER_CONFIG_DIR",
            "JUPYTER_DATA_DIR",
            "JUPYTER_RUNTIME_DIR",
            "JUPYTERLAB_SETTINGS_DIR",
            "JUPYTERLAB_WORKSPACES_DIR",
            "IPYTHONDIR",
        )
    }
    env = {**os.environ, **kept, "PYTHONPATH": str(ROOT), "PYTHONUNBUFFERED": "1"}
    port = free_port(18_000 + os.getpid() % 2_000)
    words = [sys.executable, "-m", "pricing", command, "--shop", str(folder), "--port", str(port), "--no-browser"]
    words += more
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
            server.wait(timeout=PATIENCE_MS / 1000)


def _wait_until_it_answers(url: str, server: "subprocess.Popen[str]") -> None:
    root = re.match(r"http://[^/]+/", url)
    assert root
    for _ in range(1200):
        assert server.poll() is None, "the server ended"
        try:
            urllib.request.urlopen(f"{root[0]}api", timeout=60).close()  # noqa: S310  our own address
            return
        except urllib.error.HTTPError:
            return
        except OSError:
            time.sleep(0.1)
    raise TimeoutError(url)


class Visit:
    """One page of the workbook, open in the browser, with what it complained about and what it asked the network for."""

    def __init__(self, browser: Browser, url: str, name: str, size: dict[str, int] = DESK, *, first: str = "") -> None:
        self.name, self.url, self.errors, self.asked = name, url, [], []
        self.page: Page = browser.new_page(viewport=size)
        if first:
            self.page.add_init_script(first)  # runs before anything of the page does
        self.page.set_default_timeout(PATIENCE_MS)
        self.page.set_default_navigation_timeout(2 * PATIENCE_MS)  # Voilà answers when the page has run
        self.page.on("console", self._told)
        self.page.on("pageerror", lambda told: self._failed(str(told)))
        self.page.on("request", lambda request: self._request(request.url))
        self.page.goto(re.sub(r"\d_\w+\.ipynb", f"{name}.ipynb", url))
        self.ready()

    def _told(self, told: ConsoleMessage) -> None:
        # JupyterLab asks for all kernels every ten seconds; one that is just starting has no last activity yet, and the
        # server stumbles over it. Lab asks again, and the page sees nothing of it. A page of the app that is just being
        # left may still ask after its kernel, which is freed by then.
        if told.type == "error" and not re.search(r"/api/kernels(\?\d+|/[\w-]+)$", told.location["url"]):
            self._failed(told.text)

    def _failed(self, told: str) -> None:
        if told != "Kernel connection is disposed":  # what is drawn while the page is being left has nobody to tell
            self.errors.append(told)

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

    def heard(self) -> None:
        """Wait until all that was typed, chosen and pressed is answered, its fields laid and what they hold written."""
        self.page.wait_for_function("() => !document.querySelector('[data-waits]')")

    def leave(self) -> None:
        """Go away as a person does, so that the page can say that it is left; its browser ends when it has said so."""
        told = "() => JSON.parse(document.getElementById('jupyter-config-data')?.textContent ?? '{}').kernelId"
        kernel = self.page.evaluate(told)
        self.page.goto("about:blank")
        root, token = re.match(r"(http://[^/]+)/.*token=([\w-]+)", self.url).groups()
        while kernel and _answers(f"{root}/api/kernels/{kernel}?token={token}"):
            time.sleep(0.05)
        self.page.close()

    def field(self, key: str):
        return self.page.locator(f'.pp-form [data-key="{key}"]')

    def message(self, key: str):
        return self.page.locator(f'.pp-form [data-field="{key}"] .pp-msg')

    def block(self, key: str):
        return self.page.locator(f'.pp-block[data-key="{key}"]')

    def marks(self, key: str) -> str:
        """Write the drawing of a chart, to see whether it changes."""
        return self.block(key).locator("svg").inner_html()

    def slide(self, key: str, presses: int = 8) -> None:
        """Move a slider by the keyboard."""
        handle = self.page.locator(f'.pp-form [data-slide="{key}"]')
        handle.focus()
        for _ in range(presses):
            self.page.keyboard.press("ArrowRight")

    def until_changed(self, key: str, before: str) -> None:
        """Wait until a chart is drawn anew."""
        self.page.wait_for_function(  # the drawing itself may have been put anew
            '([key, before]) => { const svg = document.querySelector(`.pp-block[data-key="${key}"] svg`);'
            " return svg && svg.innerHTML !== before; }",
            arg=[key, before],
        )

    def cell(self, row: str, column: str):
        return self.page.locator(f'.pp-sheet tr[data-row="{row}"] td[data-column="{column}"] input')

    def press(self, key: str) -> None:
        """Press a button of the form, or else of the bar or a table."""
        own = self.page.locator(f'.pp-form button[data-key="{key}"]:visible')
        (own if own.count() else self.page.locator(f'button[data-key="{key}"]:visible')).first.click()

    def keep(self, folder: Path, name: str) -> None:
        """Keep a picture of the page, for people to look at."""
        folder.mkdir(parents=True, exist_ok=True)
        self.page.screenshot(path=folder / f"{name}.png")


def _answers(url: str) -> bool:
    try:
        urllib.request.urlopen(url, timeout=60).close()  # noqa: S310  our own address
    except urllib.error.HTTPError:
        return False
    return True


def says(locator, text: str) -> None:
    """Wait until something says a text."""
    expect(locator).to_contain_text(text)


def _listening(port: int) -> psutil.Process:
    """Return the process that listens at a port of this machine."""
    return psutil.Process(
        next(c.pid for c in psutil.net_connections("tcp") if c.status == "LISTEN" and c.laddr.port == port and c.pid)
    )


def kernel_of(lab_url: str, name: str) -> psutil.Process:
    """Return the process behind a page: the notebook's own server names its kernel, whose file names its ports."""
    root, port, token = re.match(r"(http://[^/]+:(\d+))/.*token=([\w-]+)", lab_url).groups()
    with urllib.request.urlopen(f"{root}/api/sessions?token={token}", timeout=60) as told:  # noqa: S310  our own address
        kernel = next(one["kernel"]["id"] for one in json.load(told) if name in one["path"])
    runtime = Path(_listening(int(port)).environ()["JUPYTER_RUNTIME_DIR"])
    ports = json.loads((runtime / f"kernel-{kernel}.json").read_text("utf-8"))
    return _listening(ports["shell_port"])


def kernels(url: str) -> list[psutil.Process]:
    """List all kernels of the server behind an address: what its warm parent has forked, or what it started itself."""
    server = _listening(int(re.search(r":(\d+)/", url)[1]))
    below = server.children(recursive=True)
    return [p for p in below if p.ppid() != server.pid or "ipykernel_launcher" in " ".join(p.cmdline())]
