"""When the app frees the kernel of a page, without a server: starting, out of reach, come back, gone."""

import asyncio
from concurrent.futures import ThreadPoolExecutor
from types import SimpleNamespace

import pytest

from pricing.screens import app_server
from pricing.screens.app_server import Visitors


class Told(Visitors):
    """Kernels that are names only."""

    def __init__(self, **kwargs: object) -> None:
        super().__init__(**kwargs)
        self.ended: list[str] = []

    async def shutdown_kernel(self, kernel_id: str, **_how: bool) -> None:
        self.ended.append(kernel_id)
        self._kernels.pop(kernel_id)

    def come(self, name: str, looking: int) -> None:
        self._kernels[name] = SimpleNamespace(kernel_spec=SimpleNamespace(metadata={}))
        self._kernel_connections[name] = looking


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    now = [1e6]  # a machine that has been up for days
    monkeypatch.setattr(app_server, "monotonic", lambda: now[0])
    return now


def _tick(visitors: Visitors, name: str) -> None:
    with ThreadPoolExecutor(1) as apart:  # a browser test before this one may have left its loop running in this thread
        apart.submit(lambda: asyncio.run(visitors.cull_kernel_if_idle(name))).result()


def test_a_kernel_that_is_starting_when_the_clock_ticks_lives(clock: list[float]) -> None:
    visitors = Told(come_s=60, gone_s=300)
    visitors.come("new", 0)
    _tick(visitors, "new")
    clock[0] += 59
    _tick(visitors, "new")
    assert visitors.ended == []
    clock[0] += 2
    _tick(visitors, "new")
    assert visitors.ended == ["new"]


def test_a_page_out_of_reach_has_its_minutes_and_one_that_comes_back_has_them_anew(clock: list[float]) -> None:
    visitors = Told(come_s=60, gone_s=300)
    visitors.come("seen", 1)
    for looking, wait in ((1, 0), (0, 299), (1, 10), (0, 299)):
        visitors._kernel_connections["seen"] = looking
        clock[0] += wait
        _tick(visitors, "seen")
    assert visitors.ended == []
    clock[0] += 2
    _tick(visitors, "seen")
    assert visitors.ended == ["seen"]


def test_a_kernel_that_has_gone_meanwhile_is_no_fault(clock: list[float]) -> None:
    _tick(Told(), "left")
