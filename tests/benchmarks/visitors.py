"""Visitors of the app: memory of many at once, how soon they are gone, and a drawn page beside a bare notebook.

``python -m tests.benchmarks.visitors [VISITORS [ROUNDS]]`` takes a hundred visits, so many at a time. The bare notebook has one slider of ipywidgets and nothing
else; it is shown by the same library in the same run, in turns with the pages, so that a busy machine slows both.
"""

import asyncio
import re
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

import nbformat
from playwright.sync_api import sync_playwright

from pricing.screens.bar import PAGES
from pricing.screens.pages import own_folder
from pricing.screens.serve import free_port
from tests.browser.driven import FLAGS, Visit, kernels, served
from tests.conftest import CHROMIUM

VISITS = 100
SLIDER = "import ipywidgets as widgets\n\nwidgets.IntSlider(description='one')"


def pss_mb(pid: int) -> float:
    """Memory of a process, with its share of what it shares. [MB]"""
    text = Path(f"/proc/{pid}/smaps_rollup").read_text("utf-8")
    return int(re.search(r"^Pss:\s+(\d+)", text, re.M)[1]) / 1024


async def crowd(url: str, count: int) -> None:
    """Open pages as a browser does, hold them, tell what they take, and leave."""
    from tornado.httpclient import AsyncHTTPClient
    from tornado.websocket import websocket_connect

    root, token = re.match(r"(http://[^/]+)/.*token=([\w-]+)", url).groups()
    names, client, held = list(PAGES), AsyncHTTPClient(max_body_size=1 << 30), []
    for n in range(count):
        page = f"{root}/voila/render/{names[n % 7]}.ipynb?token={token}"
        text = (await client.fetch(page, request_timeout=600)).body.decode()
        kernel = re.search(r'"kernelId": "([\w-]+)"', text)[1]
        ws = f"{root.replace('http', 'ws')}/api/kernels/{kernel}/channels?session_id=s{n}&token={token}"
        held.append((kernel, await websocket_connect(ws)))
    found = kernels(url)
    warm = found[0].parent()
    server = warm.parent()
    each = [pss_mb(p.pid) for p in found]
    total = sum(each) + pss_mb(warm.pid) + pss_mb(server.pid)
    print(f"{len(found)} visitors: {total / 1000:.2f} GB in all, {statistics.median(each):.0f} MB a visitor")
    begun = time.monotonic()
    for kernel, link in held:
        link.close()
        gone = f"{root}/voila/api/shutdown/{kernel}?token={token}"
        await client.fetch(gone, method="POST", body="", request_timeout=600)
    while kernels(url):
        await asyncio.sleep(0.1)
    gone_s = time.monotonic() - begun
    left = (pss_mb(warm.pid) + pss_mb(server.pid)) / 1000
    print(f"all gone {gone_s:.1f} s after they began to leave; the servers alone {left:.2f} GB")


def write_bare(folder: Path) -> None:
    """Write a notebook with one slider; in JupyterLab it runs by itself, as the pages do."""
    book = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(SLIDER)])
    book.metadata["kernelspec"] = {"name": "python3", "language": "python", "display_name": "Python 3"}
    book.metadata["powder_page"] = "bare"
    nbformat.write(book, folder / "bare.ipynb")


def bare(folder: Path) -> "tuple[subprocess.Popen[bytes], str]":
    """Show a notebook with one slider."""
    write_bare(folder)
    port = free_port(19_100)
    words = [sys.executable, "-m", "voila", str(folder), f"--port={port}", "--no-browser", "--Voila.log_level=ERROR"]
    server = subprocess.Popen(words)
    for _ in range(300):
        try:
            urllib.request.urlopen(f"http://127.0.0.1:{port}/", timeout=60).close()
            break
        except OSError:
            time.sleep(0.1)
    return server, f"http://127.0.0.1:{port}/voila/render/bare.ipynb"


def race(url: str, plain: str, rounds: int) -> None:
    """Draw the bare notebook and the pages in turns."""
    took: dict[str, list[float]] = {name: [] for name in ("bare", *PAGES)}
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=list(FLAGS))
        for turn in range(rounds + 1):
            for name, times in took.items():
                begun = time.monotonic()
                if name == "bare":
                    page = browser.new_page()
                    page.goto(plain, timeout=120_000)
                    page.wait_for_selector(".widget-slider", timeout=120_000)
                    times.append(time.monotonic() - begun)
                    page.goto("about:blank")
                    page.close()
                else:
                    visit = Visit(browser, url, name)
                    times.append(time.monotonic() - begun)
                    visit.leave()
                if turn == 0:
                    times.clear()  # the first of each reads files that the disk has not been asked for yet
        browser.close()
    middle = {name: statistics.median(times) for name, times in took.items()}
    for name, seconds in middle.items():
        print(f"{name:16} {seconds:6.2f} s  {seconds / middle['bare']:5.2f} of the bare notebook")


def main() -> None:
    """Measure."""
    count, rounds = (*map(int, sys.argv[1:]), *(30, 3)[len(sys.argv) - 1 :])
    with tempfile.TemporaryDirectory() as name:
        at = Path(name)
        for part in ("app", "lab", "bare"):
            (at / part).mkdir()
        folder = own_folder(at / "shop")
        with served("app", folder, at / "app") as url:
            for _ in range(-(-VISITS // count)):
                asyncio.run(crowd(url, count))
            if rounds:
                server, plain = bare(at / "bare")
                try:
                    print("in the app, the bare notebook by the same library")
                    race(url, plain, rounds)
                finally:
                    server.terminate()
                    server.wait()
        if rounds:
            write_bare(folder)
            with served("lab", folder, at / "lab") as url:
                print("in JupyterLab, the bare notebook from the same warm parent")
                race(url, url.replace(f"{next(iter(PAGES))}.ipynb", "bare.ipynb"), rounds)


if __name__ == "__main__":
    main()
