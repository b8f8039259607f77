"""The demo shop, read once; and what waits for a program that this machine has not."""

import os
import shutil
from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import settings

from pricing.parts.items import Item, read_items
from pricing.parts.job import Job, Lot, read_job
from pricing.parts.part import Part
from pricing.shop.folder import new_folder, open_shop
from pricing.shop.shop import Shop

ROOT = Path(__file__).parents[1]
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
POSTGRES = os.environ.get("PRICING_POSTGRES_URL", "")
PROGRAMS = {
    "browser": ("Chromium", CHROMIUM),
    "office": ("LibreOffice", shutil.which("soffice")),
    "database": ("a PostgreSQL server named in PRICING_POSTGRES_URL", POSTGRES),
}
"""Mark: the program that its tests drive, and whether it is here."""

# the same examples in every run; `--hypothesis-profile default` looks for others
settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.load_profile("repeatable")

collect_ignore = [] if hasattr(os, "fork") else ["ledger/test_safety.py"]  # it forks programs, to kill them


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--need-programs", action="store_true", help="refuse to start where a program is missing")


def pytest_configure(config: pytest.Config) -> None:
    missing = [name for name, there in PROGRAMS.values() if not there]
    if missing and config.getoption("--need-programs"):
        raise pytest.UsageError(f"Not on this machine: {', '.join(missing)}.")


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        for mark, (name, there) in PROGRAMS.items():
            if not there and item.get_closest_marker(mark):
                item.add_marker(pytest.mark.skip(reason=f"for want of {name}"))


@pytest.hookimpl(trylast=True)
def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say in one line a program what was left out for want of it; a skip by any other hand is told as it is."""
    told = [str(report.longrepr[-1]).removeprefix("Skipped: ") for report in terminalreporter.stats.get("skipped", [])]
    for reason, count in Counter(told).items():
        terminalreporter.write_line(f"left out: {count} tests, {reason}")
    for name in collect_ignore:
        terminalreporter.write_line(f"left out: tests/{name}, for this system cannot fork a program")


@pytest.fixture(scope="session")
def shop() -> Shop:
    return open_shop()


@pytest.fixture(scope="session")
def items(shop: Shop) -> dict[str, Item]:
    return read_items(shop)


@pytest.fixture(scope="session")
def letters(shop: Shop, items: dict[str, Item]) -> Job:
    return read_job(ROOT / "data" / "jobs" / "sign_letters.toml", shop, items)


@pytest.fixture
def own(tmp_path: Path) -> Path:
    """An owner's folder to spoil."""
    return new_folder(tmp_path / "mine")


@pytest.fixture(scope="session")
def plate() -> Part:
    return Part(
        name="plate",
        material="mild steel",
        thickness_mm=3.0,
        mass_kg=2.0,
        area_m2=0.17,
        edge_m=2.8,
        line_m=1.4,
        spots=2,
        plugs=3,
        width_mm=300.0,
        height_mm=280.0,
        depth_mm=3.0,
        second_share=0.5,
        edge_quality="cut",
    )


@pytest.fixture(scope="session")
def plates(plate: Part) -> Job:
    return Job(
        title="plates",
        finish="two_tone_wiped",
        powders=("jet black", "signal white"),
        lots=(Lot(part=plate, quantity=8),),
    )


def with_part(job: Job, quantity: int | None = None, *, item: Item | None = None, **changes: object) -> Job:
    """Return the job with its first lot changed."""
    lot = job.lots[0]
    part = lot.part.model_copy(update=changes)
    return job.model_copy(update={"lots": (Lot(part=part, quantity=quantity or lot.quantity, item=item),)})


def with_policy(shop: Shop, **changes: object) -> Shop:
    """Return the shop with its policy changed."""
    return replace(shop, policy=shop.policy.model_copy(update=changes))
