"""Commands that hand something over: report, print-list, customer-quote, spreadsheet."""

import sys
from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from pricing.basis.errors import BadInput, Problem
from pricing.commands.shell import SHOP, TRADE, URL, plain_errors, read_jobs, read_shop, read_shop_and_job

if TYPE_CHECKING:
    from pricing.papers.for_customers import Handed
    from pricing.papers.pages import Paper
    from pricing.parts.items import Item
    from pricing.parts.job import Job
    from pricing.shop.shop import Shop

_QUANTITIES = click.option("--quantities", default="1,10", show_default=True, help="How many are sold together: 1,10.")
_DAY = click.option("--day", type=click.DateTime(["%Y-%m-%d"]), default=None, help="Date on it; today by default.")
_REPLACE = click.option(
    "--replace", is_flag=True, help="Overwrite files of the same name; without it a new number is put behind it."
)
_PAPER = click.option(
    "--paper",
    type=click.Choice(["a4", "letter", "both"]),
    default=None,
    help="Size of the PDF; by default what the shop's units go with.",
)
_PAPERS: "dict[str | None, tuple[Paper, ...]]" = {None: (), "both": ("a4", "letter")}


class Handing(NamedTuple):
    """Where files go, which, on which papers (none: what the shop's units go with), of which day."""

    out: Path
    formats: tuple[str, ...]
    papers: "tuple[Paper, ...]"
    day: date
    replace: bool

    def hand(self, made: "Handed") -> None:
        """Write a customer's paper; where PDF cannot be had, say so."""
        if made.missing:
            click.echo(made.missing, err=True)
        self.save(made.stem, made.contents)

    def save(self, stem: str, contents: Mapping[str, str | bytes]) -> None:
        """Write the files and say which."""
        from pricing.papers.outfiles import file_stem, save_all

        for path in save_all(self.out, file_stem(stem), contents, replace=self.replace):
            click.echo(str(path))


def handed(*known: str, to: str) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Return a command the options that all hand-outs share, as one `Handing`.

    Parameters
    ----------
    *known : str
        Formats it can write; all are written unless some are named.
    to : {'customers', 'partners'}
        For whom: papers that tell costs lie apart from those that must not.
    """

    def decorate(command: Callable[..., None]) -> Callable[..., None]:
        @wraps(command)
        def run(*args: Any, out: str, day: datetime | None, replace: bool, **more: Any) -> None:
            formats, paper = tuple(more.pop("formats", ())) or known, more.pop("paper", None)
            papers = _PAPERS.get(paper, (paper,))
            on = (day or datetime.now().astimezone()).date()
            command(*args, to=Handing(Path(out), formats, papers, on, replace), **more)

        options = [
            click.option(
                "--out",
                type=click.Path(),
                default=f"hand-outs/{to}",
                show_default=True,
                help="Folder for the files; made if needed.",
            ),
            _DAY,
            _REPLACE,
        ]
        if len(known) > 1:
            told = "Which files; all of them without it."
            options += [click.option("--format", "formats", multiple=True, type=click.Choice(known), help=told), _PAPER]
        for option in reversed(options):
            run = option(run)
        return run

    return decorate


@click.command("print-list")
@SHOP
@click.option("--fresh", is_flag=True, help="Prices as worked out today, even where your saved list has others.")
@TRADE
@handed("html", "pdf", "csv", to="customers")
@plain_errors
def print_list(folder: str | None, to: Handing, *, fresh: bool, trade: bool) -> None:
    """The price list to hand out: single-tone, two-tone, first and each further, adders, terms."""
    from pricing.papers.for_customers import list_paper

    with _progress(2) as step:
        shop, items = read_shop(folder)
        shop = shop.selling(trade=trade)
        step(1)
        made = list_paper(shop, items, to.day, fresh=fresh, formats=to.formats, papers=to.papers)
        step(1)
    to.hand(made)
    fields = made.fields
    if fields["set_on"]:
        others = "" if fields["all_set"] else ", the others as worked out today"
        click.echo(f"Prices as you saved them on {fields['set_on']}{others}; --fresh works all out anew.")


@click.command("customer-quote")
@click.argument("job")
@SHOP
@click.option("--customer", default=None, help="Name on the quote; the job's own without it.")
@click.option("--asked", default=None, help="Price that you ask, without tax, such as 240; by the list without it.")
@URL
@handed("html", "pdf", to="customers")
@plain_errors
def customer_quote(
    job: str, folder: str | None, customer: str | None, asked: str | None, url: str | None, to: Handing
) -> None:
    """A quote for the customer of one JOB: steps, price, options, deposit, cautions; no cost, no margin."""
    from pricing.basis.tongue import Range
    from pricing.basis.typed import read_field
    from pricing.papers.for_customers import quote_paper
    from pricing.prices.quote import quote
    from pricing.show.price_trial_view import trial_of

    with _progress(2) as step:
        shop, what = read_shop_and_job(folder, job)
        if customer is not None:
            what = what.model_copy(update={"customer": customer[:200]})
        price = None if asked is None else read_field(asked, "money", "--asked", shop.tongue, Range(above=0.0))
        step(1)
        found = quote(shop, what)
        found = found if price is None else found.asking(price)
        made = quote_paper(found, to.day, to.out, replace=to.replace, formats=to.formats, papers=to.papers)
        step(1)
    to.hand(made)
    trial = trial_of(shop.folder, url)
    if trial and price is None:
        click.echo(f"{trial.words(found)} With --asked the paper names your price.")


@click.command("report")
@click.argument("job", required=False)
@SHOP
@click.option(
    "--since", type=click.Path(), default=None, help="Figures of an earlier summary; the newest in the folder."
)
@handed("html", "pdf", to="partners")
@plain_errors
def report_command(job: str | None, folder: str | None, since: str | None, to: Handing) -> None:
    """The summary for a partner: one page of answers, charts, every assumption; JOB is taken apart in it."""
    from pricing.papers.report import Report, job_to_show
    from pricing.papers.report_files import WRITING_STEPS, figures_before, write_report

    with _progress(len(WRITING_STEPS)) as step:
        shop, items = read_shop(folder)
        what = read_shop_and_job(folder, job)[1] if job else job_to_show(shop, items, read_jobs(shop, items))
        report = Report(shop, items, what, to.day, figures_before(to.out, since))
        done = write_report(report, to.out, formats=to.formats, papers=to.papers, replace=to.replace, step=step)
    for path in done.paths:
        click.echo(str(path))
    if done.missing:
        click.echo(done.missing, err=True)


@click.command("spreadsheet")
@click.argument("job", required=False)
@SHOP
@_QUANTITIES
@handed("xlsx", to="partners")
@plain_errors
def spreadsheet_command(job: str | None, folder: str | None, quantities: str, to: Handing) -> None:
    """A workbook with live formulas: the price list, and the cost sheets of JOB in each finish."""
    from pricing.papers.spreadsheet import spreadsheet

    with _progress(2) as step:
        wanted = read_quantities(quantities)
        shop, items = read_shop(folder)
        what = read_shop_and_job(folder, job)[1] if job else flagship(shop, items)
        step(1)
        made = spreadsheet(shop, items, day=to.day, job=what, quantities=wanted)
        step(1)
    to.save(f"prices {to.day.isoformat()}", {".xlsx": made})


def flagship(shop: "Shop", items: "dict[str, Item]") -> "Job":
    """Return the job that shows most: the first of the shop's jobs that is two-tone and may be priced."""
    from pricing.costing.sheet import cost

    jobs = [job for job in read_jobs(shop, items) if not cost(shop, job).refused]
    if not jobs:
        raise BadInput("jobs", [Problem("the jobs", "none that may be priced", "one at least", "Name a JOB.")])
    return max(jobs, key=lambda job: (shop.finishes[job.finish].line != "none", job.pieces))


def read_quantities(text: str) -> Sequence[int]:
    """Read quantities as an owner writes them.

    Raises
    ------
    BadInput
        One is not a whole number, 1 or more.
    """
    words = [word.strip() for word in text.split(",")]
    bad = [word for word in words if not (word.isdecimal() and 0 < int(word) <= 100_000)]
    if bad:
        accepts = "whole numbers, 1 or more, with commas"
        raise BadInput("quantities", [Problem("--quantities", word, accepts) for word in bad])
    return [int(word) for word in words]


def _progress(steps: int) -> Any:
    from pricing.costing.risk import progress_bar

    return progress_bar(steps, shown=sys.stderr.isatty(), unit="step")
