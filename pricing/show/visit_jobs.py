"""Remembered jobs in the record of the first visit: added one by one, then let speak, each once."""

from collections.abc import Iterator, Mapping
from typing import Any

from pricing.basis.errors import BadInput, Problem
from pricing.basis.tongue import Range
from pricing.basis.typed import read_field
from pricing.parts.items import Item
from pricing.prices.remembered import FEWEST, MOST, Remembered, evidence
from pricing.shop.shop import Shop
from pricing.shop.visit import JOB
from pricing.show.tiles import fact_tiles, tile_number
from pricing.show.words import Words, counted

_HEARD = " heard"
_SIDES = {"single": "single-tone", "two_tone": "two-tone"}


def read_job_words(shop: Shop, text: str) -> Remembered:
    """Read a job of one line: ``gate_single, single, 1, 180 EUR, 2.5 h``.

    These are item, column, how many, price without tax, hours, with commas and a blank between; `BadInput` else.
    """
    words = [word.strip() for word in text.split(", ")]
    if len(words) != len(Remembered._fields) or words[1:2] not in (["single"], ["two_tone"]):
        accepts = "item, single or two_tone, how many, price without tax, hours"
        mend = "Such as: gate_single, single, 1, 180, 2.5 h"
        raise BadInput("remembered jobs", [Problem("job", text, accepts, mend)])
    tongue, above = shop.tongue, Range(above=0.0)
    return Remembered(
        words[0],
        words[1],
        int(read_field(words[2], "whole", "how many", tongue, above)),
        read_field(words[3], "money", "price", tongue, above),
        read_field(words[4], "h", "hours", tongue, above),
    )


def _jobs(shop: Shop) -> Iterator[tuple[Remembered, bool]]:
    """Yield the remembered jobs, each with whether it was heard."""
    for key, said in shop.visited.items():
        if key.startswith(JOB):
            item, column, units, price, hours = said.removesuffix(_HEARD).split()
            yield Remembered(item, column, int(units), float(price), float(hours)), said.endswith(_HEARD)


def waiting(shop: Shop) -> list[Remembered]:
    """Collect the jobs that have not spoken yet."""
    return [job for job, was_heard in _jobs(shop) if not was_heard]


def with_job(shop: Shop, items: Mapping[str, Item], job: Remembered) -> dict[str, Any]:
    """Describe the record with one more job.

    Raises
    ------
    BadInput
        The list has no such item, or as many as may speak are there.
    """
    if job.item not in items or len(waiting(shop)) >= MOST:
        accepts = f"an item of the list, and at most {MOST} jobs"
        raise BadInput("remembered jobs", [Problem("job", job.item, accepts)])
    count = len(list(_jobs(shop))) + 1
    said = f"{job.item} {job.column} {job.units} {job.price:.12g} {job.hours:.12g}"
    return {"visited": {**shop.visited, f"{JOB}{count}": said}}


def heard(shop: Shop, items: Mapping[str, Item]) -> dict[str, Any]:
    """Let the jobs that wait speak, all together; none is heard twice. `BadInput` where there are fewer than three."""
    found = evidence(shop, items, waiting(shop))
    told = {
        key: f"{said.removesuffix(_HEARD)}{_HEARD}" if key.startswith(JOB) else said
        for key, said in shop.visited.items()
    }
    return {**found.tables, "visited": told}


def jobs_words(shop: Shop, items: Mapping[str, Item]) -> str:
    """Say what the jobs that wait would tell."""
    jobs = waiting(shop)
    if len(jobs) < FEWEST:
        return f"{counted(len(jobs), 'job', 'jobs')} so far; {FEWEST} are needed."
    found = evidence(shop, items, jobs)
    pace = f"{abs(found.pace - 1):.0%} {'longer' if found.pace > 1 else 'less time'} than the guesses say"
    return f"{len(jobs)} jobs took {pace}; they would set your time on jobs to {found.booked:.0%} of your hours."


def jobs_table(shop: Shop, items: Mapping[str, Item]) -> str:
    """Write the remembered jobs as HTML."""
    words, rows = Words(shop), []
    for job, was_heard in _jobs(shop):
        title = items[job.item].title if job.item in items else job.item
        price, hours = tile_number(words.money(job.price)), f"{job.hours:.12g} h"
        rows.append((f"{job.units} × {title}, {_SIDES[job.column]}", price, hours, "heard" if was_heard else "waits"))
    return fact_tiles(rows) if rows else ""
