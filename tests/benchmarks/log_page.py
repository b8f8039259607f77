"""Page 7 on a log of ten thousand steps: from building the page to its last chart, without and with a browser.

Run it as ``python -m tests.benchmarks.log_page``; pytest does not collect it. The log is the demo's seven times over,
with every quote as heavy as a real one, and a stopwatch behind every step.
"""

import os
import statistics
import tempfile
import time
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from playwright.sync_api import sync_playwright

from pricing.basis.facts import data_folder
from pricing.costing.sheet import cost
from pricing.ledger.clocks import Pressed
from pricing.ledger.entries import Quoted
from pricing.ledger.exchange import import_csv
from pricing.ledger.quotes import freeze
from pricing.ledger.store import open_ledger
from pricing.parts.items import read_items
from pricing.parts.job import read_job
from pricing.screens.panel_log import LogPanel
from pricing.shop.folder import new_folder, open_shop
from pricing.show.desk import Desk
from tests.browser.driven import FLAGS, Visit, served
from tests.conftest import CHROMIUM

COPIES = 7
RUNS = 7


def long_log(folder: Path) -> int:
    """Make a folder whose log holds more than ten thousand steps; give how many."""
    new_folder(folder)
    shop = open_shop(folder)
    job = read_job(data_folder() / "jobs" / "sign_letters.toml", shop, read_items(shop))
    sheet = freeze(cost(shop, job), job, 431.5, on=date(2026, 1, 5)).sheet
    with tempfile.TemporaryDirectory() as scratch, open_ledger(folder) as ledger:
        for kind in ("quotes", "outcomes", "jobs", "times", "rework"):
            head, *lines = (data_folder() / "ledger" / f"{kind}.csv").read_text("utf-8").splitlines()
            for copy in range(COPIES):
                path = Path(scratch) / f"{kind}-{copy}.csv"
                path.write_text("\n".join([head, *(f"{copy}{line}" for line in lines)]), "utf-8")
                if kind != "quotes":
                    import_csv(ledger, kind, path)
                    continue
                with open_ledger(Path(scratch)) as beside:
                    import_csv(beside, kind, path)
                    rows = beside.rows(kind)[-len(lines) :]
                heavy = [{name: row[name] for name in Quoted.model_fields} | {"sheet": sheet} for row in rows]
                ledger.add(kind, *(Quoted.model_validate(row) for row in heavy))
        times = ledger.rows("times")
        at = datetime(2026, 1, 5, 8, tzinfo=UTC)
        buttons = []
        for number, row in enumerate(times):
            begun = at + timedelta(minutes=number)
            pressed = {"job": row["job"], "step": row["step"]}
            buttons.append(Pressed(**pressed, action="start", pressed=begun))
            if number + 1 == len(times) or times[number + 1]["job"] != row["job"]:
                buttons.append(Pressed(**pressed, action="finish", pressed=begun + timedelta(seconds=30)))
        ledger.add("watch", *buttons)
        return len(times)


def main() -> None:
    """Measure."""
    with tempfile.TemporaryDirectory() as scratch:
        at = Path(scratch)
        folder = at / "shop"
        steps = long_log(folder)
        size = (folder / "ledger.db").stat().st_size / 1e6
        print(f"{steps} steps, {size:.0f} MB, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}")
        found, busy = [], []
        for _ in range(RUNS):
            begun, at_work = time.perf_counter(), time.process_time()
            LogPanel(Desk(folder, read_only=False))
            found.append(time.perf_counter() - begun)
            busy.append(time.process_time() - at_work)
        print(f"built: first {found[0]:.2f} s, then {statistics.median(found[1:]):.2f} s, worst {max(found[1:]):.2f} s")
        print(f"processor's own time of it: first {busy[0]:.2f} s, then {statistics.median(busy[1:]):.2f} s")
        panel = LogPanel(Desk(folder, read_only=False))
        panel.form.put("job", "garden gate")
        for key in ("start", "pause", "write"):
            begun = time.perf_counter()
            panel.form.put(key, given=True)
            print(f"button {key}: {time.perf_counter() - begun:.2f} s")
        with sync_playwright() as playwright, served("lab", folder, at) as url:
            browser = playwright.chromium.launch(executable_path=CHROMIUM, args=list(FLAGS))
            visit = Visit(browser, url, "7_what_it_took")
            print(f"run to drawn, in the browser: {', '.join(f'{s:.2f}' for s in rerun(visit))} s")
            browser.close()
        print(f"load {os.getloadavg()[0]:.1f}")


def rerun(visit: Visit, times: int = RUNS) -> list[float]:
    """Run the cell of a page again and again; give the seconds until every chart is drawn anew."""
    found = []
    for _ in range(times):
        visit.page.evaluate("() => document.querySelectorAll('.pp-fill').forEach(e => { e.dataset.old = '1'; })")
        begun = time.perf_counter()
        visit.page.locator(".jp-Notebook").first.focus()
        visit.page.keyboard.press("Control+Enter")
        visit.page.wait_for_function(
            "() => { const all = [...document.querySelectorAll('.pp-fill')]; return all.length && "
            "all.every(e => !e.dataset.old && e.dataset.ready === 'yes'); }",
            polling=20,
        )
        found.append(time.perf_counter() - begun)
        visit.page.wait_for_timeout(300)
    return found


if __name__ == "__main__":
    main()
