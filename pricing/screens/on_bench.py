"""The job on the bench: chosen or made once, on any page, and followed by all of them.

Why      the same job, with the same oven assumed, stands on pages 2, 4, 5, 6 and 7. It lies in the shop's folder,
         through a closed page and a restart. A visitor of the app has a bench of his own, which travels in the links.
Gives    `OnBench`: the job, what it began from, and who hears when another page has put another one there.
"""

import base64
import binascii
import json
import os
import tomllib
import zlib
from collections.abc import Callable
from typing import Any, Final
from urllib.parse import parse_qs

from pricing.basis.errors import BadInput
from pricing.basis.files import write_safely
from pricing.basis.switch import stamp_of
from pricing.parts.job import Job, job_of
from pricing.screens import job_file
from pricing.screens.deferred import Every
from pricing.show.desk import Desk

BENCH_FILE: Final = ".bench.json"
"""Where in the shop's folder it lies."""
AS_IT_IS: Final = "bench:"
"""What a job is said to have begun from when its drawing or picture is no longer at hand."""
_LOOK_EACH_S, _LONGEST = 0.7, 20_000


class OnBench:
    """The job on the bench of a shop."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._heard: list[Callable[[], None]] = []
        self._put: list[Callable[[], None]] = []
        self._kept: dict[str, str] = self._asked_for()
        self._stamp: object = None
        self.begun, self.job = self._first()
        if not self._take(self._kept):
            self.look()
        desk.on_change(self._shop_changed)
        self._every = Every(self.look, _LOOK_EACH_S)

    @property
    def named(self) -> str:
        """Name in the log of a job that was put here by somebody, or its title; '' where nobody has."""
        return (self._kept.get("named") or self.job.title) if self._kept else ""

    @property
    def query(self) -> str:
        """What a link to another page carries: a visitor's own job, or ''."""
        if not self._desk.read_only or not self._kept:
            return ""
        text = json.dumps(self._kept, ensure_ascii=False).encode()
        return f"on={base64.urlsafe_b64encode(zlib.compress(text, 9)).decode().rstrip('=')}"

    def on_change(self, heard: Callable[[], None]) -> None:
        """Say who hears when another page has put another job here."""
        self._heard.append(heard)

    def on_put(self, heard: Callable[[], None]) -> None:
        """Say who hears when this page has put a job here."""
        self._put.append(heard)

    def put(self, job: Job, begun: str, named: str = "") -> None:
        """Put a job here, for every page: what it began from, and its name in the log once a quote was given.

        Raises
        ------
        BadInput
            The folder cannot be written.
        """
        same = job == self.job and begun == self.begun
        if same and (not named or named == self._kept.get("named")):
            return
        self.job, self.begun = job, begun
        self._kept = {"begun": begun, "job": job_file.job_text(self._desk, job), "named": named}
        if not self._desk.read_only:
            write_safely(self._desk.folder / BENCH_FILE, json.dumps(self._kept, ensure_ascii=False, indent=1))
            self._stamp = self._stamp_now()
        for heard in self._put:
            heard()

    def look(self) -> None:
        """Take in what another page has put here meanwhile."""
        if self._desk.read_only and self._kept:
            return
        if (stamp := self._stamp_now()) == self._stamp:
            return
        self._stamp = stamp
        try:
            kept = json.loads((self._desk.folder / BENCH_FILE).read_text("utf-8"))
        except (OSError, ValueError):
            return
        if self._take(kept, keep=not self._desk.read_only):
            for heard in self._heard:
                heard()

    def _stamp_now(self) -> object:
        return stamp_of(self._desk.folder, (BENCH_FILE,))

    def _shop_changed(self) -> None:
        """Read the job again: its items and powders may be others now."""
        if not self._take(self._kept):
            try:
                self.job = job_file.begin(self._desk, self.begun)
            except (BadInput, KeyError):
                self.begun, self.job = self._first()

    def _first(self) -> tuple[str, Job]:
        jobs = job_file.saved_jobs(self._desk)
        names = ["sign_letters"] if "sign_letters" in jobs else list(jobs)[:1]
        for begun in [*(f"job:{name}" for name in names), *(f"item:{key}" for key in self._desk.items)]:
            try:
                return begun, job_file.begin(self._desk, begun)
            except BadInput:  # a file that a later edit spoiled: it is told where it is opened
                continue
        raise LookupError("a shop has items")

    def _take(self, kept: dict[str, str], *, keep: bool = True) -> bool:
        """Take a job as it was kept; False where it is none, or none for this shop any more."""
        try:
            data = tomllib.loads(kept["job"])
            job = job_of(data, self._desk.shop, self._desk.items, where="the bench")
            begun = str(kept["begun"])
        except (BadInput, KeyError, TypeError, ValueError):
            return False
        self.job = job
        self.begun = begun if begun in job_file.begin_options(self._desk, begun) else AS_IT_IS
        if keep:
            self._kept = kept
        return True

    def _asked_for(self) -> dict[str, str]:
        """Collect what the link that led here carried."""
        asked = parse_qs(os.environ.get("QUERY_STRING", "")).get("on", [""])[0]
        if not self._desk.read_only or not 0 < len(asked) <= _LONGEST:
            return {}
        try:
            packed = base64.urlsafe_b64decode(asked + "=" * (-len(asked) % 4))
            found: Any = json.loads(zlib.decompressobj().decompress(packed, _LONGEST))
        except (binascii.Error, zlib.error, ValueError):
            return {}
        return found if isinstance(found, dict) else {}
