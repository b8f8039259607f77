"""The summary as files: a page that works offline, pages to print, and the figures kept for next time."""

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any, NamedTuple

from pricing.basis.errors import BadInput
from pricing.basis.facts import FACT_KINDS
from pricing.basis.money import separators
from pricing.papers.for_customers import pages_of
from pricing.papers.last_summary import Snapshot, last_in, read_snapshot, snapshot_text
from pricing.papers.live_price import live_price
from pricing.papers.outfiles import made_folder, save_all
from pricing.papers.pages import PAPER_SIZES, Paper, common_fields, fill
from pricing.papers.report import STEM, Report
from pricing.papers.report_answers import answers, should
from pricing.papers.report_charts import PrintedFigure, embedded, figures_of, on_paper, spec_of
from pricing.papers.report_constants import constants
from pricing.papers.report_tables import BANK_NOTE, assumption_rows, bank_rows, choice_rows, own_numbers
from pricing.papers.told import PaperWords, TypstText
from pricing.show.advice_view import advice_words
from pricing.show.bundle import bundled
from pricing.show.look import asset
from pricing.show.mix_view import CHOICES_NOTE
from pricing.show.words import counted

OWN_SCRIPT = "default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; img-src data:"
"""What the page may do: run the script that is inside it, and ask nobody for anything."""

KIND_TITLES = {
    "guess": "Guesses: the owner's judgement and common practice, to be timed",
    "published": "Published: printed figures and data sheets",
    "measured": "Measured in the shop: stopwatch, meter, bills",
}
_KIND_WORDS = {"guess": "guesses", "published": "published", "measured": "measured"}


class Pages(NamedTuple):
    """A summary ready to be written: the page, and the fields of the pages to print ({} where none are wanted)."""

    html: str
    fields: Mapping[str, Any]


def report_pages(report: Report, *, printed: bool = True, step: Callable[[int], object] = lambda _: None) -> Pages:
    """Return the summary twice: as a page with live charts, and as fields for ``summary.typ``.

    Parameters
    ----------
    printed : bool
        Whether pages to print are wanted.
    step : callable
        Told when one of three pieces of work is done.

    Raises
    ------
    BadInput
        Something cannot be costed, or a template has a mistake.
    """
    fields = _fields(report)
    step(1)
    figures, live = figures_of(report), live_price(report)
    step(1)
    specs = [(one.key, TypstText(embedded(spec_of(one)))) for one in (*figures, live)]
    script = bundled("report", asset("report.js", __file__)).replace("</script", "<\\/script")
    page = fill(
        report.shop,
        "summary.html",
        fields
        | {
            "allow": OWN_SCRIPT,
            "figures": [_shown(one) for one in figures],
            "live": _shown(live),
            "specs": specs,
            "script": TypstText(script),
            "signs": TypstText(embedded(separators(report.shop.front.locale))),
        },
    )
    step(1)
    return Pages(page, fields | {"figures": [on_paper(one) for one in figures]} if printed else {})


def _fields(report: Report) -> dict[str, Any]:
    shop, words = report.shop, PaperWords(report.shop)
    common, known = common_fields(shop, report.day), [row.kind for row in shop.uncertain.values()]
    kinds = {kind: known.count(kind) for kind in FACT_KINDS}
    counts = "; ".join(f"{n} {'is' if n == 1 else 'are'} {_KIND_WORDS[kind]}" for kind, n in kinds.items() if n)
    bank = bank_rows(report)
    return common | {
        "title": f"{shop.front.name}: summary for a partner, {common['today']}",
        "foot": f"{shop.front.name} · summary for a partner · {common['today']}",
        "intro": f"{common['today']}. Money in {shop.currency}, prices without tax. Shown for: {report.job.title},"
        f" {counted(report.job.pieces)}.",
        "should": should(report),
        "cards": answers(report),
        "bank": bank,
        "bank_note": BANK_NOTE if bank else "",
        "choices": choice_rows(report),
        "choices_note": CHOICES_NOTE,
        "advice": advice_words(words, report.advice) if report.advice else (),
        "cautions": report.sides.fancy.sheet.told_cautions(),
        "own": own_numbers(report),
        "constants": [one._replace(value=words.local(one.value)) for one in constants(shop.front.units)],
        "assumptions": [(KIND_TITLES[kind], rows) for kind, rows in assumption_rows(report)],
        "about_assumptions": f"{_ABOUT} {counts}.",
        "separators": separators(shop.front.locale),
    }


_ABOUT = (
    "Three points are the lowest, the likely and the highest value; prices rest on their mean. “Moves the job by” is"
    " how far the full cost of the job shown goes when that number alone goes from its lowest to its highest."
)


def _shown(one: PrintedFigure) -> Mapping[str, str]:
    return {"key": one.key, "title": one.title, "told": one.told}


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
