"""From a move of a slider to the repainted chart, in a real browser: median and 95th percentile of 40 moves.

Run it as ``python -m tests.benchmarks.slider_to_paint``; pytest does not collect it. It starts its own servers on a
folder of its own, with the network cut.
"""

import os
import statistics
import sys
import tempfile
import time
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

from pricing.screens.pages import own_folder
from tests.browser.driven import FLAGS, Visit, served
from tests.conftest import CHROMIUM

MOVES = 40
SLIDERS = {
    "2_one_job": ("wipe.line_m.hands", "margin"),
    "3_price_list": ("hour.owner", "margins"),
    "4_two_tone": ("wipe.line_m.hands", "map"),
    "5_break_even": ("asked", "batch"),
    "6_for_a_partner": ("wipe.line_m.hands", "build"),
}
"""Slider and chart of each page with live charts."""

_MEASURE = """([slider, chart, back]) => new Promise((resolve) => {
  const handle = document.querySelector(`[data-slide="${slider}"]`);
  const board = document.querySelector(`.pp-block[data-key="${chart}"]`).closest('.pp-fill');
  const begun = performance.now();
  const watch = new MutationObserver(() => {
    watch.disconnect();
    // the mark is set in the frame that draws; a message of our own is the first thing after that frame is painted
    const after = new MessageChannel();
    after.port1.onmessage = () => { after.port1.close(); resolve(performance.now() - begun); };
    after.port2.postMessage(0);
  });
  watch.observe(board, { attributes: true, attributeFilter: ['data-painted'] });
  if (back) handle.stepDown(); else handle.stepUp();
  handle.dispatchEvent(new Event('input', { bubbles: true }));
})"""


def measure(browser: Browser, url: str, name: str) -> tuple[float, list[float]]:
    """Work out the time until a page is ready [s], and the times from move to paint [ms]."""
    slider, chart = SLIDERS[name]
    begun = time.perf_counter()
    visit = Visit(browser, url, name)
    ready = time.perf_counter() - begun
    visit.page.wait_for_timeout(800)
    found = []
    for move in range(MOVES + 3):
        took = visit.page.evaluate(_MEASURE, [slider, chart, move % 8 >= 4])
        found.append(float(took))
        visit.page.wait_for_timeout(420)  # what follows when the slider rests is done by then
    visit.page.close()
    return ready, found[3:]


def main() -> None:
    """Measure every page in JupyterLab and in Voilà."""
    names = sys.argv[1:] or list(SLIDERS)
    print(f"{MOVES} moves, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}")
    print(f"{'page':18}{'in':6}{'ready s':>9}{'median ms':>11}{'p95 ms':>9}")
    with tempfile.TemporaryDirectory() as scratch, sync_playwright() as playwright:
        at = Path(scratch)
        folder = own_folder(at / "shop")
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=list(FLAGS))
        for command in ("lab", "app"):
            with served(command, folder, at) as url:
                for name in names:
                    ready, found = measure(browser, url, name)
                    p95 = statistics.quantiles(found, n=20)[-1]
                    print(f"{name:18}{command:6}{ready:9.1f}{statistics.median(found):11.0f}{p95:9.0f}", flush=True)
        browser.close()
    print(f"load {os.getloadavg()[0]:.1f}")


if __name__ == "__main__":
    main()
