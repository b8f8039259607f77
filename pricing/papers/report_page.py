"""The summary as a page: one file that draws its charts itself, or pages to print."""

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

from pricing.basis.money import separators
from pricing.papers.bank_rows import BANK_NOTE, bank_rows, choice_rows
from pricing.papers.live_price import live_price
from pricing.papers.pages import common_fields, fill
from pricing.papers.print_charts import PrintedFigure, embedded, on_paper, spec_of
from pricing.papers.report import Report
from pricing.papers.report_answers import answers, should
from pricing.papers.report_charts import figures_of
from pricing.papers.report_constants import constants
from pricing.papers.report_tables import assumption_rows, kinds_share, own_numbers
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
    report : Report
        What it shows.
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
    shop, words, kinds = report.shop, PaperWords(report.shop), kinds_share(report)
    common = common_fields(shop, report.day)
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
