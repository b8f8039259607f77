"""The ``log`` commands that read: what the log says, new rates, tables in and out, backups."""

from math import isnan
from pathlib import Path

import click

from pricing.basis.errors import BadInput, Problem, choices, nearest
from pricing.commands.log_shell import opened, shared
from pricing.commands.shell import JSON, echo_json, picked


@click.command("review")
@JSON
@shared
def review_command(folder: str | None, url: str | None, *, as_json: bool) -> None:
    """Then and now: whether intervals kept their promise, rows to ask about, what to time next, won and lost."""
    from pricing.ledger.drift import SURE_OF_DRIFT, drift, months
    from pricing.ledger.review import review
    from pricing.shop.folder import open_shop
    from pricing.show.words import counted

    with opened(folder, url) as ledger:
        shop = open_shop(folder)
        found = review(ledger, shop)
    won = found.winning
    if as_json:
        doubtful = [
            picked(d, "job", "step", on="day", minutes="minutes", expected_min="expected", counted="counted")
            for d in found.calibration.doubtful
        ]
        worth = {f"{name}_{shop.currency}": name for name in ("knowing", "timing")}
        timing = [picked(w, "step", "jobs", unsure_share="unsure", **worth) for w in found.worth]
        echo_json(
            {
                "time_these": [
                    {"job": t.job, "step": t.step, f"worth_{shop.currency}": t.worth, "closer_share": 1 - 1 / t.parts}
                    for t in found.to_time
                ],
                "people": [
                    picked(p, "step", "worker", "jobs", minutes_share="part")
                    | {"pace": None if isnan(p.pace) else p.pace}
                    for p in found.people
                ],
                "coverage_share": found.coverage.share if found.coverage.jobs else None,
                "jobs": found.coverage.jobs,
                "doubtful": doubtful,
                "time_next": timing,
                "won_and_lost": won if isinstance(won, str) else {"slope": won.slope, "won": won.won, "lost": won.lost},
            }
        )
        return
    click.echo(f"Then and now: {found.coverage.words}")
    for doubt in found.calibration.doubtful[:12]:
        rule = "counted as an overrun" if doubt.counted else "set aside"
        told = f"{doubt.minutes:.0f} min, expected about {doubt.expected:.0f}"
        click.echo(f"  was it so? {doubt.job}, {doubt.step}, {doubt.day}: {told}; {rule}")
    if found.to_time:
        click.echo("Time these open jobs; together they part the rates best:")
        for one in found.to_time[:8]:
            click.echo(f"  {one.job}, {one.step}: worth {one.worth:.0f} {shop.currency} a year")
    for pace in found.people:
        if pace.low > 1 or pace.high < 1:
            told = f"{pace.pace - 1:+.0%} against typical ({pace.low - 1:+.0%} to {pace.high - 1:+.0%})"
            click.echo(f"  {pace.step}, {pace.worker}: {told}")
    click.echo("What to time next, by what it is worth on a year's quotes:")
    for row in found.worth[:5]:
        logged = f"{counted(row.jobs, 'job', 'jobs')} logged"
        words = f"{logged}, unsure by {row.unsure:.0%}; five more are worth {row.timing:.0f} {shop.currency}"
        click.echo(f"  {row.step}: {words}")
    for result in found.calibration.steps.values():
        trend = drift(result)
        if trend and trend.sure:
            way = "slower" if trend.per_year > 0 else "faster"
            click.echo(
                f"  {result.step} gets {way}: {trend.per_year:+.0%} a year ({trend.low:+.0%} to {trend.high:+.0%})"
            )
        for month in months(result, SURE_OF_DRIFT):
            if month.low > 1 or month.high < 1:
                click.echo(
                    f"  {result.step} in month {month.month}: {month.ratio - 1:+.0%} against the year's typical time"
                )
    click.echo(f"Won and lost: {won if isinstance(won, str) else won.words}")


@click.command("rates")
@JSON
@shared
def rates_command(folder: str | None, url: str | None, *, as_json: bool) -> None:
    """Rows of the rate book as the log would have them; nothing is changed before: log accept KEY."""
    from pricing.ledger.review import review
    from pricing.shop.folder import open_shop

    with opened(folder, url) as ledger:
        found = review(ledger, open_shop(folder)).proposals
    if as_json:
        echo_json(
            [
                {"key": p.key, "unit": p.old.unit, **picked(p.new, "low", "likely", "high", "mean")}
                | {"mean_now": p.old.mean, "jobs": p.jobs, "where": p.new.where, "notes": list(p.notes)}
                for p in found
            ]
        )
        return
    for proposal in found:
        words = f"mean {proposal.old.mean:.3g} -> {proposal.new.mean:.3g} {proposal.old.unit} ({proposal.change:+.0%})"
        click.echo(f"{proposal.key}: {words}; {proposal.new.where}")
        for note in proposal.notes:
            click.echo(f"    {note}")
    click.echo(
        f"{len(found)} rows. Take those you agree with: log accept KEY ..." if found else "Nothing to propose yet."
    )


@click.command("accept")
@click.argument("keys", nargs=-1)
@click.option("--all", "every", is_flag=True, help="All rows that are proposed.")
@click.option("--let-fall", is_flag=True, help="Let prices of the list fall with them; without it they are kept.")
@shared
def accept_command(keys: tuple[str, ...], folder: str | None, url: str | None, *, every: bool, let_fall: bool) -> None:
    """Write proposed rows into the rate book; what stood before stays in rates_history.csv."""
    from pricing.ledger.review import review
    from pricing.shop.folder import open_shop
    from pricing.show.taken import take

    with opened(folder, url) as ledger:
        found = {proposal.key: proposal for proposal in review(ledger, open_shop(folder)).proposals}
        names = choices(found) if found else "a row that is proposed; there is none"
        bad = [Problem("key", key, names, nearest(key, found)) for key in keys if key not in found]
        if bad or not (keys or every):
            raise BadInput("log accept", bad or [Problem("key", "missing", "one or more keys, or --all")])
        chosen = [found[key] for key in (found if every else keys)]
        files, of_list = take(ledger.folder, chosen, let_fall=let_fall)
    click.echo(f"{len(chosen)} rows taken; changed: {', '.join(files)}." if files else "Nothing was proposed.")
    if of_list:
        click.echo(of_list)


@click.command("import")
@click.argument("path", type=click.Path(path_type=Path))
@click.option("--kind", default=None, help="Kind of fact; the file's name without it.")
@shared
def import_command(path: Path, kind: str | None, folder: str | None, url: str | None) -> None:
    """Read a CSV file, or all KIND.csv of a folder, and tell each refused row."""
    from pricing.ledger.exchange import import_csv, import_folder
    from pricing.shop.folder import open_shop

    with opened(folder, url) as ledger:
        tongue = open_shop(folder).tongue
        if path.is_dir():
            reports = import_folder(ledger, path, tongue=tongue)
        else:
            reports = [import_csv(ledger, kind or path.stem, path, tongue=tongue)]
    for report in reports:
        click.echo(str(report))


@click.command("export")
@click.argument("path", type=click.Path(path_type=Path))
@click.option("--parquet", is_flag=True, help="Parquet with the whole history, in place of CSV.")
@shared
def export_command(path: Path, folder: str | None, url: str | None, *, parquet: bool) -> None:
    """Write the facts into a folder, a table for each kind."""
    from pricing.ledger.exchange import export_csv, export_parquet

    with opened(folder, url) as ledger:
        written = (export_parquet if parquet else export_csv)(ledger, path)
    click.echo(f"{len(written)} files in {path}.")


@click.command("backup")
@shared
def backup_command(folder: str | None, url: str | None) -> None:
    """Write a backup into the folder backups beside the ledger."""
    with opened(folder, url) as ledger:
        click.echo(f"{ledger.back_up()}")


@click.command("demo")
@shared
def demo_command(folder: str | None, url: str | None) -> None:
    """Fill an empty ledger with the invented log of the demo shop, to try things out."""
    from pricing.basis.facts import data_folder
    from pricing.ledger.exchange import import_folder
    from pricing.ledger.kinds import ENTRY_KINDS

    with opened(folder, url) as ledger:
        full = [kind for kind in ENTRY_KINDS if ledger.rows(kind)]
        if full:
            mend = "Try it in a folder of its own: invented jobs do not belong among real ones."
            raise BadInput("log demo", [Problem("the ledger", f"with {full[0]}", "empty", mend)])
        for report in import_folder(ledger, data_folder() / "ledger"):
            click.echo(str(report))


REVIEW_COMMANDS = (
    review_command,
    rates_command,
    accept_command,
    import_command,
    export_command,
    backup_command,
    demo_command,
)
"""Commands that `pricing.commands.log_commands` puts into its group."""
