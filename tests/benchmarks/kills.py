"""Three hundred kills over all writers, and a server that is stopped under two of them: nothing lost, doubled or halved.

Run it by hand: ``python -m tests.benchmarks.kills``; it takes some minutes and is no part of the tests, which kill less
often. With ``PRICING_POSTGRES_URL`` the ledger's writer is killed on that server too; with ``PRICING_POSTGRES_RESTART``
(a command that stops and starts it) two writers go on writing while it is stopped.

A writer says what it has finished before it goes on. After each kill what was said must be there, once; of what was under
way either all or nothing.
"""

import multiprocessing
import os
import shlex
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path

import numpy as np

from pricing.basis.errors import BadInput
from pricing.ledger import stopwatch
from pricing.ledger.entries import Took
from pricing.ledger.proposals import HISTORY, Proposal, accept, take_back
from pricing.ledger.store import new_id, open_ledger
from pricing.parts.job import job_of_item
from pricing.screens.job_file import save_job
from pricing.shop.folder import new_folder, open_shop
from pricing.show.desk import Desk
from tests.shop.test_saved_as_one import killed_saves, number_of, numbered

FORK = multiprocessing.get_context("fork")
DAY = date(2026, 11, 25)
KEY = "wipe.line_m.hands"


def entry(job: str, minutes: float) -> Took:
    """Make an entry of times."""
    return Took(job=job, on=DAY, step="blast", minutes=minutes, amounts={"m2": 2.0})


def killed(write: Callable[[int, int], None], kills: int, seed: int, most_s: float = 0.3) -> list[int]:
    """Kill a writer again and again; gives how far it had said to be, by run."""
    chance, told_by_run = np.random.default_rng(seed), []
    for run in range(kills):
        listen, told = os.pipe()
        child = FORK.Process(target=write, args=(run, told))
        child.start()
        os.close(told)
        if run % 6:  # most are killed while they write, some while they open
            os.read(listen, 5)
        time.sleep(chance.uniform(0.0, most_s))
        os.kill(child.pid or 0, signal.SIGKILL)
        child.join()
        with os.fdopen(listen, "rb") as rest:
            words = rest.read().decode().split()
        told_by_run.append(max((int(word) for word in words if word.isdecimal()), default=-1))
    return told_by_run


def ledger_kills(folder: Path, url: str | None, kills: int) -> str:
    """Write pairs, and press and finish watches."""
    mark = new_id()[:8]  # a server may hold those of an earlier run

    def write(run: int, told: int) -> None:
        with open_ledger(folder, url) as ledger:
            os.write(told, b"open\n")
            for number in range(1_000_000):
                job = f"{os.getpid()} {run} {number}"
                with ledger.at_once():
                    ledger.add("times", entry(job, 1.0), ids=[f"{mark}-{run}-{number}-a"])
                    ledger.add("outcomes", _won(job), ids=[f"{mark}-{run}-{number}-b"])
                stopwatch.start(ledger, f"w{mark}-{run}-{number}", "coat", worker=f"{mark}-{run}")
                stopwatch.finish(ledger, f"w{mark}-{run}-{number}", {}, minutes={"coat": 5.0})
                os.write(told, f"{number}\n".encode())

    said = killed(write, kills, seed=1, most_s=1.5)
    with open_ledger(folder, url) as ledger:
        pairs = [
            {row["id"][:-2] for row in ledger.rows(kind) if row["id"].startswith(mark) and row["id"].endswith(end)}
            for kind, end in (("times", "-a"), ("outcomes", "-b"))
        ]
        wanted = {f"{mark}-{run}-{number}" for run, last in enumerate(said) for number in range(last + 1)}
        watched = [row["job"] for row in ledger.rows("times") if row["job"].startswith(f"w{mark}")]
        lost = len(wanted - pairs[0]) + len({f"w{name}" for name in wanted} - set(watched))
        doubled = len(watched) - len(set(watched))
        half = len(pairs[0] ^ pairs[1])
    return f"{kills} kills, {len(wanted)} entries said to be kept: {lost} lost, {doubled} doubled, {half} half-saved"


def _won(job: str) -> "object":
    from pricing.ledger.entries import Outcome

    return Outcome(job=job, on=DAY, result="won")


def job_kills(folder: Path, kills: int) -> str:
    """Save a job under one title again and again."""
    desk = Desk(folder, read_only=False)
    item = next(iter(desk.items.values()))

    def write(run: int, told: int) -> None:
        os.write(told, b"open\n")
        for number in range(1_000_000):
            job = job_of_item(item).model_copy(
                update={"title": "Ворота", "note": f"{run} {number} " + "x" * 1500 + " end"}
            )
            save_job(desk, job, anyway="replace")
            os.write(told, f"{number}\n".encode())

    path, half, lost = folder / "jobs" / "ворота.toml", 0, 0
    for run in range(kills):
        (last,) = killed(lambda _, told, run=run: write(run, told), 1, seed=50 + run)
        if path.exists():
            text = path.read_text("utf-8")
            half += ' end"' not in text
            found = text.split('note = "')[1].split()[:2]
            lost += last >= 0 and (int(found[0]) != run or int(found[1]) < last)
    return f"{kills} kills: {lost} lost, 0 doubled, {half} half-saved"


def take_kills(folder: Path, kills: int) -> str:
    """Take a proposed rate and put it back, again and again; book and history belong together."""
    start = open_shop(folder)

    def write(run: int, told: int) -> None:
        os.write(told, b"open\n")
        for number in range(1_000_000):
            old = open_shop(folder).rates[KEY]
            new = numbered(start, 3 + number % 50).rates[KEY]
            measured = type(old)(
                *(getattr(new, n) for n in ("key", "low", "likely", "high", "unit")),
                start.sources["shop_log"],
                "",
                "2026-11-25",
                f"{run}-{number}",
            )
            accept(folder, [Proposal(KEY, old, measured, 9, ())])
            take_back(folder)
            os.write(told, f"{number}\n".encode())

    half = lost = 0
    for run in range(kills):
        before = _rows(folder)
        (last,) = killed(lambda _, told, run=run: write(run, told), 1, seed=90 + run)
        shop = open_shop(folder)
        rows = _rows(folder)
        from_log = shop.rates[KEY].source.key == "shop_log"
        half += (len(rows) % 2 == 1) != from_log
        lost += len(rows) - len(before) < 2 * (last + 1)
        if from_log:
            take_back(folder)
    return f"{kills} kills: {lost} lost, 0 doubled, {half} half-saved"


def _rows(folder: Path) -> list[str]:
    path = folder / HISTORY
    return path.read_text("utf-8").splitlines()[1:] if path.exists() else []


def restarts(url: str, command: str, folder: Path, times: int = 3) -> str:
    """Stop and start a server while two writers go on; each gives an entry again until it is told that it is kept."""

    def write(name: str, stop: "multiprocessing.synchronize.Event", told: int) -> None:
        refused = number = 0
        while not stop.is_set():
            try:
                with open_ledger(folder, url) as ledger:
                    while not stop.is_set():
                        ledger.add("times", entry(name, 1.0), ids=[f"{name}-{number}"])
                        number += 1
            except BadInput as why:
                refused += why.problems[0].field == "the ledger"
                time.sleep(0.05)
        os.write(told, f"{number} {refused}\n".encode())

    stop, listen = FORK.Event(), []
    children = []
    for name in "ab":
        ear, told = os.pipe()
        children.append(FORK.Process(target=write, args=(name, stop, told)))
        children[-1].start()
        os.close(told)
        listen.append(ear)
    for _ in range(times):
        time.sleep(2)
        subprocess.run(shlex.split(command), check=True, stdout=subprocess.DEVNULL)
    time.sleep(2)
    stop.set()
    for child in children:
        child.join()
    counts = []
    for ear in listen:
        with os.fdopen(ear) as heard:
            counts.append([int(word) for word in heard.read().split()])
    with open_ledger(folder, url) as ledger:
        found = [row["id"] for row in ledger.rows("times") if row["id"][:2] in {"a-", "b-"}]
    wanted = {f"{name}-{number}" for name, (count, _) in zip("ab", counts, strict=True) for number in range(count)}
    lost, doubled = len(wanted - set(found)), len(found) - len(set(found))
    refused = sum(count[1] for count in counts)
    return f"{times} restarts, {len(wanted)} entries kept, {refused} times refused in plain words: {lost} lost, {doubled} doubled"


def main(kills: int = 300) -> None:
    """Run all writers; a quarter more of the kills where a server is named."""
    url = os.environ.get("PRICING_POSTGRES_URL") or None
    with tempfile.TemporaryDirectory() as name:
        folder = new_folder(Path(name) / "mine")
        saves = kills * 2 // 5
        print(f"saving a shop:         {saves} kills: {killed_saves(folder, saves, seed=3)} lost or half-saved")
        assert len(number_of(open_shop(folder))) == 1
        print(f"taking and undoing:    {take_kills(new_folder(Path(name) / 'takes'), kills // 5)}")
        print(f"saving a job:          {job_kills(folder, kills // 5)}")
        print(f"ledger, a file:        {ledger_kills(folder, None, kills // 5)}")
        for part in folder.rglob("*.part"):  # a minute later
            os.utime(part, (time.time() - 61, time.time() - 61))
        open_shop(folder)
        print(f"left behind: {len([*folder.rglob('*.part')])} part files when the folder is opened a minute later")
        if url:
            print(f"ledger, a server:      {ledger_kills(folder, url, kills // 5)}")
            if os.environ.get("PRICING_POSTGRES_RESTART"):
                print(f"a server that is restarted: {restarts(url, os.environ['PRICING_POSTGRES_RESTART'], folder)}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 300)
