"""The command line: price list, quote, compare, why, check, new."""

import atexit
import gc
import io
import sys
from typing import TYPE_CHECKING

import click

from pricing import __version__
from pricing.basis.errors import BadInput
from pricing.commands.lazy_group import LateGroup
from pricing.commands.shell import (
    JSON,
    SHOP,
    TRADE,
    URL,
    echo_figures,
    own_jobs,
    plain_errors,
    read_shop,
    read_shop_and_job,
)

if TYPE_CHECKING:
    from pricing.costing.sheet import CostSheet


@click.group(cls=LateGroup, invoke_without_command=True, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, message="%(version)s")
@click.pass_context
def main(context: click.Context) -> None:
    """Costing and pricing workbook for a custom powder-coating shop.

    Without a command: opens the pages of your own shop in a browser; where there is no terminal, prints the
    price list of the demo shop.
    """
    gc.set_threshold(200_000)  # what is being loaded stays; looking it through again takes a tenth of a quote's time
    atexit.register(gc.freeze)  # nor is it looked through at the end, when all of it goes: a seventh
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # a file or an old terminal may lack the euro sign
    if context.invoked_subcommand is None and sys.stdout.isatty():
        from pricing.commands.serve_command import lab_command

        context.invoke(lab_command)
    elif context.invoked_subcommand is None:
        context.invoke(price_list_command)


@main.command("price-list")
@SHOP
@click.option("--quantities", default="1", show_default=True, help="Orders to add up beside first and each: 1,5,20.")
@TRADE
@JSON
@plain_errors
def price_list_command(
    folder: str | None = None, quantities: str = "1", *, trade: bool = False, as_json: bool = False
) -> None:
    """Every item single-tone beside two-tone: the first, each further, the least margin of each."""
    from pricing.commands.report_commands import read_quantities
    from pricing.prices.price_list import price_list

    shop, items = read_shop(folder)
    prices = price_list(shop.selling(trade=trade), items, quantities=read_quantities(quantities))
    if as_json:
        echo_figures(prices.frame().to_dict(orient="records"), shop.currency)
    else:
        from pricing.commands.tables import show_list

        show_list(prices)


@main.command()
@click.argument("job")
@SHOP
@click.option("--finish", default=None, help="Another finish than the job's.")
@URL
@JSON
@plain_errors
def quote(job: str, folder: str | None, finish: str | None, url: str | None, *, as_json: bool) -> None:
    """Cost sheet and price of one JOB (a TOML file, or its name in the jobs folder)."""
    from pricing.prices.quote import quote as quote_job
    from pricing.show.price_trial_view import trial_of

    shop, what = read_shop_and_job(folder, job)
    found = quote_job(shop, what, finish=finish)
    trial = trial_of(shop.folder, url) if found.price else None
    if as_json:
        from pricing.commands.figures import quote_figures

        asked = {"trial_asks_money": trial.asks(found)} if trial else {}
        echo_figures(quote_figures(found) | asked, shop.currency)
    else:
        from pricing.commands.tables import show_quote

        show_quote(found)
        if trial:
            click.echo(trial.words(found))


@main.command()
@click.argument("job")
@SHOP
@click.option("--finish", "finishes", multiple=True, help="Finishes to hold side by side, the plain one first.")
@JSON
@plain_errors
def compare(job: str, folder: str | None, finishes: tuple[str, ...], *, as_json: bool) -> None:
    """Finishes of one JOB side by side, and what the second colour must cost extra."""
    from pricing.commands.figures import comparison_figures
    from pricing.commands.tables import show_comparison
    from pricing.prices.compare import compare as compare_finishes

    shop, what = read_shop_and_job(folder, job)
    found = compare_finishes(shop, what, finishes=finishes)
    if as_json:
        echo_figures(comparison_figures(found), shop.currency)
    else:
        show_comparison(found)


@main.command()
@click.argument("job")
@click.argument("step")
@SHOP
@click.option("--finish", default=None, help="Another finish than the job's.")
@JSON
@plain_errors
def why(job: str, step: str, folder: str | None, finish: str | None, *, as_json: bool) -> None:
    """The sum behind one STEP of a JOB, in words with units; as quote names it, or its key: coat.2."""
    from pricing.commands.figures import sheet_figures
    from pricing.commands.tables import show_why
    from pricing.costing.sheet import cost

    shop, what = read_shop_and_job(folder, job)
    sheet = cost(shop, what, finish=finish)
    step = _step_named(sheet, step)
    if as_json:
        wanted = sheet.line(step).id
        line = next(line for line in sheet_figures(sheet)["lines"] if line["step"] == wanted)
        echo_figures(line, shop.currency)
    else:
        show_why(sheet, step)


def _step_named(sheet: "CostSheet", text: str) -> str:
    """Write the key of a step that was named as a cost sheet shows it; any other text is given back as it is."""
    from pricing.show.words import Words

    wanted = text.strip().rstrip("*").casefold()
    titles = [(Words(sheet.shop).title(line).casefold(), line.id) for line in sheet.lines]
    exact = [key for title, key in titles if title == wanted]
    begun = [key for title, key in titles if title.startswith(wanted)]
    keys = {key for line in sheet.lines for key in (line.id, line.step)}
    return text if text in keys else (exact or begun or [text])[0]


@main.command()
@click.argument("folder", required=False, type=click.Path())
@click.option("--shop", "other", type=click.Path(), default=None, help="The same as FOLDER.")
@plain_errors
def check(folder: str | None, other: str | None) -> None:
    """Read a shop's FOLDER with its items and jobs, and tell all that is wrong."""
    from pricing.parts.job import read_job
    from pricing.prices.week import read_week
    from pricing.shop.own_prices import old_list

    shop, items = read_shop(folder or other)
    bad = []
    if shop.week.orders:
        try:
            read_week(shop, items)
        except BadInput as why_not:
            bad.append(str(why_not))
    jobs = own_jobs(shop)
    for path in jobs:
        try:
            read_job(path, shop, items)
        except BadInput as why_not:
            bad.append(str(why_not))
    if bad:
        click.echo("\n".join(bad), err=True)
        sys.exit(2)
    counts = f"{len(items)} items, {len(shop.rates)} rates, {len(shop.powders)} powders, {len(jobs)} jobs"
    guessed = sum(row.kind == "guess" for row in shop.uncertain.values())
    click.echo(f"{shop.folder}: nothing is wrong. {counts}; {guessed} of {len(shop.uncertain)} numbers are guesses.")
    if note := old_list(shop.folder):
        click.echo(f"To mind: {note}")


@main.command()
@click.argument("folder", type=click.Path())
@click.option("--currency", default="", help="What you count in, such as USD; the demo's amounts are turned into it.")
@click.option("--locale", default="", help="How money is printed, such as en_US.")
@click.option("--units", default="", help="metric, or us for feet, mils, degF and pounds.")
@click.option("--sales-tax", default="", help="On your prices, such as '8 %'; asked where there is a terminal.")
@click.option("--rate", default="", help="What one of the demo's currency is worth in yours; a rough one without it.")
@plain_errors
def new(folder: str, **first: str) -> None:
    """Make your own shop FOLDER from the demo shop."""
    from pricing.basis.tongue import Range, Tongue
    from pricing.basis.typed import read_field
    from pricing.shop.folder import new_folder, open_shop

    names = {name: first[name] for name in ("currency", "locale", "units")}
    tongue = Tongue(first["currency"], "metric", first["locale"] or "en")
    if first["currency"] and not first["sales_tax"] and sys.stdin.isatty():
        first["sales_tax"] = click.prompt("Sales tax on your prices, such as 8 %, or 0 for none", default="0 %")
    tax = read_field(first["sales_tax"], "share", "--sales-tax", tongue) if first["sales_tax"] else None
    rate = read_field(first["rate"], "number", "--rate", tongue, Range(above=0.0)) if first["rate"] else None
    made = new_folder(folder, **names, sales_tax=tax, rate=rate)
    click.echo(f"{made} is made. Put your own numbers into shop.toml and rates.csv, then: check {made}")
    turned = first["currency"] not in {"", open_shop().currency}
    if turned:
        click.echo(f"Its amounts are guesses in {first['currency']}; the head of shop.toml says at which rate.")
    if turned and tax is None:
        click.echo("No sales tax yet: sales_tax in shop.toml is 0.")


if __name__ == "__main__":
    main()
