"""The summary as a page: one file that draws its charts itself, or pages to print.

Room     papers. Imports show, papers.
"""

from collections.abc import Callable, Mapping
from typing import Any

from pricing.papers.live_price import live_price
from pricing.papers.pages import common_fields, fill
from pricing.papers.print_charts import Figure, embedded, on_paper, picture_of, spec_of
from pricing.papers.report import Report
from pricing.papers.report_answers import answers
from pricing.papers.report_charts import figures_of
from pricing.papers.report_constants import constants
from pricing.papers.report_tables import assumptions, kinds_share, own_numbers
from pricing.show.bundle import bundled
from pricing.show.look import asset
from pricing.show.words import cautions

OWN_SCRIPT = "default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; img-src data:"
"""What the page may do: run the script that is inside it, and ask nobody for anything."""

KIND_TITLES = {
    "guess": "Guesses: the owner's judgement and common practice, to be timed",
    "published": "Published: printed figures and data sheets",
    "measured": "Measured in the shop: stopwatch, meter, bills",
}
_KIND_WORDS = {"guess": "guesses", "published": "published", "measured": "measured"}


def report_pages(
    report: Report, *, printed: bool = True, step: Callable[[int], object] = lambda _: None
) -> tuple[str, str]:  # fmt: skip
    """Give the summary twice: as a page with live charts, and as pages to print.

    Parameters
    ----------
    report : Report
        What it shows.
    printed : bool
        Whether pages to print are wanted; '' in their place saves a second.
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
    shown = [_shown(one, drawn=printed) for one in figures]
    step(1)
    specs = [(one.key, embedded(spec_of(one))) for one in (*figures, live)]
    script = bundled("report", asset("report.js", __file__)).replace("</script", "<\\/script")
    fields |= {"allow": OWN_SCRIPT, "figures": shown, "specs": specs, "script": script}
    page = fill(report.shop, "summary.html", fields | {"live": _shown(live, drawn=False)})
    step(1)
    return page, fill(report.shop, "summary.html", fields | {"live": None}) if printed else ""


def _fields(report: Report) -> dict[str, Any]:
    return common_fields(report.shop, report.day) | {
        "job": report.job.title, "pieces": report.job.pieces, "cards": answers(report),
        "cautions": cautions(report.sides.fancy.sheet), "assumptions": assumptions(report), "own": own_numbers(report),
        "constants": constants(report.shop.front.units), "kinds": kinds_share(report), "kind_titles": KIND_TITLES,
        "kind_words": _KIND_WORDS,
    }  # fmt: skip


def _shown(one: Figure, *, drawn: bool) -> Mapping[str, str]:
    about = str(one.spec.get("description", one.told))
    picture = picture_of(on_paper(one)) if drawn else ""  # a page without scripts shows these
    return {"key": one.key, "title": one.title, "told": one.told, "about": about, "picture": picture}
