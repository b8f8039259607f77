"""Moments by two clocks: the time of day, and one that nobody can set back.

Room     ledger. Imports nothing of ours.
"""

import sys
import time
import uuid
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import NamedTuple


class Moment(NamedTuple):
    """A moment by the time of day, and by a clock of the machine that only runs forward, when it has one."""

    at: datetime
    steady_s: float | None = None
    clock: str = ""

    @classmethod
    def now(cls) -> "Moment":
        """Read both clocks."""
        return cls(datetime.now(UTC), _steady_s(), _clock())

    def minutes_from(self, before: "Moment") -> float:
        """Give the minutes since another moment; below 0 where only a clock that was set back can say."""
        if self.steady_s is not None and before.steady_s is not None and self.clock == before.clock:
            return (self.steady_s - before.steady_s) / 60.0
        return (self.at - before.at).total_seconds() / 60.0


def _steady_s() -> float:
    if sys.platform == "linux":  # runs on while the machine sleeps, as the shop does
        return time.clock_gettime(time.CLOCK_BOOTTIME)
    if sys.platform == "darwin":
        return time.clock_gettime(time.CLOCK_MONOTONIC)
    return time.monotonic()


@cache
def _clock() -> str:
    """Name the steady clock: it begins anew with each start of the machine, or else of this program."""
    try:
        return Path("/proc/sys/kernel/random/boot_id").read_text("ascii").strip()
    except OSError:
        return uuid.uuid4().hex
