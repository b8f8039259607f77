"""The summary as files: a page that works offline, pages to print, and the figures kept for next time."""

from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from typing import NamedTuple

from pricing.basis.errors import BadInput
from pricing.papers.for_customers import pages_of
from pricing.papers.last_summary import Snapshot, last_in, read_snapshot, snapshot_text
from pricing.papers.outfiles import made_folder, save_all
from pricing.papers.pages import PAPER_SIZES, Paper
from pricing.papers.report import STEM, Report
from pricing.papers.report_page import report_pages

WRITING_STEPS = ("costs and answers", "charts", "the page", "the pages to print", "the files")
"""Pieces of work that are told of while a summary is written."""


class Written(NamedTuple):
    """Files of a summary, and what could not be made, in words."""

    paths: list[Path]
    missing: str


def write_report(
    report: Report,
    out: Path | str,
    *,
    formats: Sequence[str] = ("html", "pdf"),
    papers: Sequence[Paper] = (),
    replace: bool = False,
    step: Callable[[int], object] = lambda _: None,
) -> Written:
    """Write a summary into a folder, which is made if it is not there.

    Parameters
    ----------
    formats : sequence of str
        ``html``, ``pdf`` or both; the figures are always kept.
    papers : sequence of str
        As in `pages_of`.
    replace : bool
        Overwrite files of the same name; else they get the next free number.
    step : callable
        Told after each piece of work of `WRITING_STEPS`.

    Raises
    ------
    BadInput
        Something cannot be costed, read or written; only PDF was wanted and there is no printer for it.
    """
    at = made_folder(out)
    pages = report_pages(report, printed="pdf" in formats, step=step)
    contents, missing = pages_of(report.shop, "summary", pages.fields, formats, papers, pages.html)
    step(1)
    contents[".json"] = snapshot_text(report.snapshot)
    paths = save_all(at, _stem(report.day), contents, replace=replace)
    step(1)
    return Written(paths, missing)


def files_there(out: Path | str, day: date) -> list[Path]:
    """Collect the files of a summary of that day which a folder holds already."""
    endings = (".html", *(f"-{paper}.pdf" for paper in PAPER_SIZES), ".json")
    return [path for ending in endings if (path := Path(out) / f"{_stem(day)}{ending}").exists()]


def _stem(day: date) -> str:
    return f"{STEM} {day.isoformat()}"


def figures_before(out: Path | str, since: Path | str | None = None) -> Snapshot | None:
    """Return the figures of the last summary, if there was one.

    Raises
    ------
    BadInput
        ``since`` cannot be read; a damaged file of last time is no reason to have no summary now.
    """
    if since is not None:
        return read_snapshot(Path(since))
    last = last_in(Path(out), STEM)
    try:
        return read_snapshot(last) if last else None
    except BadInput:
        return None
