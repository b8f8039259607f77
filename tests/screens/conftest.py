"""Panels answer at once here, also in a worker whose thread a browser test has left with an event loop."""

import pytest

from pricing.screens.deferred import Later


@pytest.fixture(autouse=True)
def _at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Later, "soon", lambda self: self._do())
