"""Commands that decide: break-even, two-tone, risk, capacity."""

from typing import TYPE_CHECKING, Any

import click

from pricing.basis.errors import BadInput, Problem, not_known
from pricing.basis.tongue import Range
from pricing.basis.typed import read_field
from pricing.commands.shell import JSON, SHOP, echo_figures, plain_errors, read_shop, read_shop_and_job

if TYPE_CHECKING:
    from pricing.parts.job import Job
    from pricing.shop.shop import Shop

_OVER = ("price", "batch", "wipe", "line", "reject", "powder", "hour", "jobs")
_SEED = click.option(
    "--seed",
    type=click.IntRange(0, 2**62),
    default=20261125,
    show_default=True,
    help="The same seed plays the job through the same way.",
)
_DRAWS = click.option(
    "--draws",
    type=click.IntRange(1000, 20_000_000),
    default=16_384,
    show_default=True,
    help="How many times the job is played through.",
)


@click.command("break-even")
@click.argument("job", required=False)
@SHOP
@click.option("--item", default="", help="A row of the price list in place of a JOB.")
@click.option(
    "--units", type=click.IntRange(1, 100_000), default=1, show_default=True, help="Units of it sold together."
)
@click.option("--column", type=click.Choice(("single", "two_tone")), default="two_tone", show_default=True)
@click.option("--finish", default="", help="Another finish than the job's.")
@click.option("--over", type=click.Choice((*_OVER, "all", "month")), default="all", show_default=True)
@click.option("--price", default="", help="Net price of the job, as '350 EUR'; that of its quote without it.")
@click.option("--from", "low", default="", help="Where to begin, with its unit, as '0 min/m'.")
@click.option("--to", "high", default="", help="Where to end, with its unit.")
@click.option("--powder", default="", help="Which powder's price; that of the last coat without it.")
@click.option("--learning", default="1", show_default=True, help="What doubling a batch leaves of the time; 1 is none.")
@JSON
@plain_errors
def break_even_command(job: str | None, folder: str | None, **options: Any) -> None:
    """Where JOB just covers its cost: by price, batch, wiping, line, rejects, powder, hour or jobs a month.

    With --over month: the month that the wanted week of week.csv makes.
    """
    from pricing.commands import decision_figures as figures
    from pricing.commands import decision_tables as tables
    from pricing.prices.questions import break_even

    if options["over"] == "month":
        _month(folder, as_json=options["as_json"])
        return
    shop, what = _job(folder, job, options)
    price = _money(options["price"], "--price", shop) if options["price"] else None
    reach = _reach(options, shop)
    slope = read_field(options["learning"], "number", "--learning", shop.tongue)
    found, cannot = {}, {}
    for over in _OVER if options["over"] == "all" else (options["over"],):
        try:
            found[over] = break_even(shop, what, over, price=price, reach=reach, powder=options["powder"], slope=slope)
        except BadInput as why:
            if options["over"] != "all":
                raise
            cannot[over] = why
    if not found:
        raise next(iter(cannot.values()))
    if options["as_json"]:
        echo_figures(figures.break_even_figures(shop, what, found, price), shop.currency)
    else:
        tables.show_break_even(shop, what, found, price)


def _month(folder: str | None, *, as_json: bool) -> None:
    from pricing.commands import decision_figures as figures
    from pricing.commands import decision_tables as tables
    from pricing.prices.questions import fixed_per_month
    from pricing.prices.week import month_of, read_week

    shop, items = read_shop(folder)
    wanted = read_week(shop, items)
    found, fixed = month_of(shop, wanted), fixed_per_month(shop)
    if as_json:
        echo_figures(figures.month_figures(shop, found, fixed), shop.currency)
    else:
        tables.show_month(shop, found, fixed)


@click.command("two-tone")
@click.argument("job")
@SHOP
@click.option("--finish", default="", help="The two-tone finish; the job's own without it.")
@click.option("--price", default="", help="Net price of the plain finish, as '120 EUR'; that of its quote without it.")
@click.option("--scarce", default="", help="Whose hours run out first; the policy's without it.")
@_SEED
@_DRAWS
@JSON
@plain_errors
def two_tone_command(job: str, folder: str | None, **options: Any) -> None:
    """What the second colour of JOB must cost extra, three ways; and wiping against masking."""
    from pricing.commands import decision_figures as figures
    from pricing.commands import decision_tables as tables
    from pricing.prices.extra import two_tone
    from pricing.prices.questions import wiped_or_masked

    shop, what = read_shop_and_job(folder, job)
    price = _money(options["price"], "--price", shop) if options["price"] else None
    extras = two_tone(
        shop,
        what,
        options["finish"],
        price=price,
        resource=options["scarce"],
        seed=options["seed"],
        draws=options["draws"],
    )
    ways = {}
    for over in ("line", "wipe"):
        try:
            ways[over] = wiped_or_masked(shop, what, over=over)
        except BadInput:
            continue  # a shop without both ways has nothing to hold against each other
    if options["as_json"]:
        echo_figures(figures.extras_figures(shop, extras, ways), shop.currency)
    else:
        tables.show_extras(shop, what, extras, ways)


@click.command("risk")
@click.argument("jobs", nargs=-1, required=True)
@SHOP
@click.option("--finish", default="", help="Another finish than the job's.")
@click.option("--price", default="", help="Net price, as '350 EUR'; that of its quote without it.")
@click.option("--chance", default="5 %", show_default=True, help="Chance of loss.")
@_SEED
@_DRAWS
@click.option(
    "--workers", type=click.IntRange(1, 64), default=1, show_default=True, help="Processes, for several jobs."
)
@JSON
@plain_errors
def risk_command(jobs: tuple[str, ...], folder: str | None, **options: Any) -> None:
    """How sure the cost of JOBS is: chance of loss, price for a chance of loss, what matters most."""
    from pricing.commands import decision_figures as figures
    from pricing.commands import decision_tables as tables
    from pricing.commands.tables import tell
    from pricing.costing.job_cost import JobCost, known_of
    from pricing.costing.odds import odds
    from pricing.costing.shares import explain_mean, variance_shares
    from pricing.prices.quote import quote
    from pricing.show.loss_words import loss_words

    read = [read_shop_and_job(folder, job) for job in jobs]
    shop = read[0][0]
    models = {what.title: JobCost.of(shop, what, finish=options["finish"]) for _, what in read}
    known = known_of(shop, *models.values())
    quotes = {what.title: quote(shop, what, finish=options["finish"] or None) for _, what in read}
    refused = [(title, why) for title, found in quotes.items() for why in found.refused]
    if refused:
        raise BadInput("risk", [Problem("job", title, f"one that gets a price; {why}") for title, why in refused])
    answers = _drawn(models, known, options)
    asked = _money(options["price"], "--price", shop) if options["price"] else None
    options["chance"] = read_field(options["chance"], "share", "--chance", shop.tongue, Range(0.001, 0.999))
    prices = {title: asked if asked is not None else quotes[title].net for title in models if title in answers}
    if len(answers) > 1:
        if options["as_json"]:
            rows = [figures.risk_figures(title, answers[title], prices[title], options["chance"]) for title in answers]
            echo_figures(rows, shop.currency)
        else:
            tables.show_risks(shop, answers, prices, options["chance"])
        return
    ((title, answer),) = answers.items()
    shares = variance_shares(models[title], known, seed=options["seed"])
    told, fares = explain_mean(models[title], known, answer), odds(models[title], known, answer, prices[title])
    if options["as_json"]:
        whole = figures.risk_figures(title, answer, prices[title], options["chance"])
        whole |= figures.odds_figures(shop, fares) | figures.shares_figures(shop, shares, told)
        echo_figures(whole, shop.currency)
    else:
        tables.show_risk(shop, title, answer, prices[title], options["chance"])
        tell(*loss_words(shop, fares))
        tables.show_shares(shop, shares, told)


def _drawn(models: Any, known: Any, options: dict[str, Any]) -> Any:
    """Draw all jobs, on several processes if wanted; Ctrl-C keeps what is done."""
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_all_start_methods, get_context

    from pricing.costing.parallel_risk import risk_of_many

    shown = options["draws"] * len(models) > 500_000
    wanted = {"seed": options["seed"], "draws": options["draws"], "progress": shown}
    if options["workers"] == 1:
        done = risk_of_many(models, known, **wanted)
    else:
        begun = "forkserver" if "forkserver" in get_all_start_methods() else "spawn"  # the one way on Windows
        with ProcessPoolExecutor(options["workers"], mp_context=get_context(begun)) as pool:
            done = risk_of_many(models, known, executor=pool, **wanted)
    for why in done.refused.values():
        raise why
    if not done.risks:
        raise BadInput("risk", [Problem("run", "stopped", "left to run for a moment")])
    return done.risks


@click.command("capacity")
@SHOP
@click.option("--week", "path", type=click.Path(), default=None, help="Another file than the shop's week.csv.")
@click.option("--more", multiple=True, help="Hours to add, as 'large oven=8 h'; again for another.")
@click.option("--rush", default="", help="A JOB that must be done this week: what does it push out?")
@click.option("--helpers", type=int, default=None, help="Another number of helpers like yours, 0 for none.")
@JSON
@plain_errors
def capacity_command(
    folder: str | None, path: str | None, more: tuple[str, ...], rush: str, helpers: int | None, *, as_json: bool
) -> None:
    """Which hour runs out first in the wanted week, and what one more of it is worth."""
    from pathlib import Path

    from pricing.commands import decision_figures as figures
    from pricing.commands import decision_tables as tables
    from pricing.commands.tables import tell
    from pricing.prices.hire_buy_drop import with_helpers
    from pricing.prices.quote import quote
    from pricing.prices.week import offers, plan_of, read_week, week_hours, work_of_sheet
    from pricing.show.advice_view import advice_of, advice_words, won_and_lost
    from pricing.show.words import Words

    shop, items = read_shop(folder)
    wanted = read_week(shop, items, Path(path) if path else None)
    staffed = shop if helpers is None else with_helpers(shop, helpers)
    week = plan_of(shop, wanted, hours=week_hours(staffed))  # prices stay those of the shop as it is
    added = week.with_hours(_hours(more, shop)) if more else None
    pushed = None
    if rush:
        _, what = read_shop_and_job(folder, rush)
        asked = quote(shop, what)
        asked.must_price()
        pushed = (what.title, asked.net, week.rush(work_of_sheet(what.title, asked.net, asked.sheet, week.hours)))
    if as_json:
        echo_figures(figures.week_figures(staffed, week, added, pushed), shop.currency)
    else:
        tables.show_week(staffed, week, added, pushed)
        tell(*advice_words(Words(shop), advice_of(shop, offers(shop, wanted), won_and_lost(shop)))[:2])


def _job(folder: str | None, job: str | None, options: dict[str, Any]) -> "tuple[Shop, Job]":
    from pricing.parts.job import job_of_item

    if bool(job) == bool(options["item"]):
        raise BadInput(
            "break-even", [Problem("JOB", job or "missing", "a job, or --item with a row of the list; not both")]
        )
    if job:
        shop, what = read_shop_and_job(folder, job)
    else:
        shop, items = read_shop(folder)
        if options["item"] not in items:
            raise BadInput("break-even", [not_known("--item", options["item"], items)])
        what = job_of_item(items[options["item"]], units=options["units"], column=options["column"])
    return shop, what.model_copy(update={"finish": options["finish"]}) if options["finish"] else what


def _money(text: str, field: str, shop: "Shop") -> float:
    return read_field(text, "money", field, shop.tongue, Range(least=0.0))


def _reach(options: dict[str, Any], shop: "Shop") -> tuple[float, float] | None:
    """Read --from and --to in the unit of the question."""
    from pricing.prices.questions import QUESTIONS

    over, low, high = options["over"], options["low"], options["high"]
    if not low and not high:
        return None
    bad = []
    if over == "all":
        bad.append(Problem("--over", "all", "one question where --from or --to is given"))
    bad += [Problem(n, "missing", "given with the other") for n, t in (("--from", low), ("--to", high)) if not t]
    if bad:
        raise BadInput("break-even", bad)
    unit = QUESTIONS[over].unit or "whole"
    return read_field(low, unit, "--from", shop.tongue), read_field(high, unit, "--to", shop.tongue)


def _hours(more: tuple[str, ...], shop: "Shop") -> dict[str, float]:
    found = {}
    for text in more:
        name, sign, hours = text.partition("=")
        if not sign:
            raise BadInput("capacity", [Problem("--more", text, "a resource and hours, as 'large oven=8 h'")])
        found[name.strip()] = read_field(hours, "h", "--more", shop.tongue)
    return found
