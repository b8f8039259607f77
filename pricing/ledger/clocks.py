"""Moments by two clocks, the time of day and one that nobody can set back, and the buttons that keep them."""

import sys
import time
import uuid
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import Literal, NamedTuple

from pydantic import field_validator
from pydantic_core import PydanticCustomError

from pricing.basis.records import Name, Record
from pricing.ledger.fields import KnownStep, LoggedWords


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
        """Work out the minutes since another moment; below 0 where only a clock that was set back can say."""
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


class Pressed(Record):
    """A button of the stopwatch; ``steady_s`` is a clock that nobody can set back, ``clock`` says which."""

    job: Name
    step: KnownStep
    action: Literal["start", "pause", "finish"]
    worker: LoggedWords = ""
    pressed: datetime
    steady_s: float | None = None
    clock: LoggedWords = ""

    @field_validator("pressed")
    @classmethod
    def _zoned(cls, pressed: datetime) -> datetime:
        if pressed.tzinfo is None:
            accepts = "a time with its zone, like 2026-11-25T10:15:00+00:00"
            raise PydanticCustomError("refused", "{accepts}", {"accepts": accepts, "mend": ""})
        return pressed
