"""The ``log`` commands that read: what the log says, new rates, tables in and out, backups."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pricing.basis.errors import BadInput, Problem, choices, nearest
from pricing.commands.log_shell import log_folder, with_log
from pricing.commands.shell import JSON, SHOP, URL, echo_figures, echo_json, picked, plain_errors

if TYPE_CHECKING:
    from pricing.ledger.review import Review
    from pricing.ledger.store import Ledger


@click.command("review")
@JSON
@with_log
def review_command(ledger: "Ledger", *, as_json: bool) -> None:
    """Then and now: whether intervals kept their promise, rows to ask about, what to time next, won and lost."""
    from pricing.ledger.review import review
    from pricing.shop.folder import open_shop

    found = review(ledger, open_shop(ledger.folder))
    if as_json:
        echo_figures(_figures(found), found.shop.currency)
    else:
        _show(found)


def _figures(found: "Review") -> dict[str, Any]:
    won, cover = found.winning, found.coverage
    doubtful = {"on": "day", "minutes": "minutes", "expected_min": "expected", "counted": "counted"}
    return {
        "time_these": [
            picked(one, "job", "step", worth_money="worth") | {"closer_share": 1 - 1 / one.parts}
            for one in found.to_time
        ],
        "people": [picked(one, "step", "worker", "jobs", "pace", minutes_share="part") for one in found.people],
        "coverage_share": cover.share if cover.jobs else None,
        "jobs": cover.jobs,
        "doubtful": [picked(one, "job", "step", **doubtful) for one in found.calibration.doubtful],
        "time_next": [
            picked(one, "step", "jobs", unsure_share="unsure", knowing_money="knowing", timing_money="timing")
            for one in found.worth
        ],
        "won_and_lost": won if isinstance(won, str) else picked(won, "slope", "won", "lost"),
    }


def _show(found: "Review") -> None:
    from pricing.ledger.drift import SURE_OF_DRIFT, drift, months
    from pricing.show.words import counted

    code, won = found.shop.currency, found.winning
    click.echo(f"Then and now: {found.coverage.words}")
    for doubt in found.calibration.doubtful[:12]:
        rule = "counted as an overrun" if doubt.counted else "set aside"
        told = f"{doubt.minutes:.0f} min, expected about {doubt.expected:.0f}"
        click.echo(f"  was it so? {doubt.job}, {doubt.step}, {doubt.day}: {told}; {rule}")
    if found.to_time:
        click.echo("Time these open jobs; together they part the rates best:")
        for one in found.to_time[:8]:
            click.echo(f"  {one.job}, {one.step}: worth {one.worth:.0f} {code} a year")
    for pace in found.people:
        if pace.low > 1 or pace.high < 1:
            click.echo(f"  {pace.step}, {pace.worker}: {_change(pace.pace, pace.low, pace.high, ' against typical')}")
    click.echo("What to time next, by what it is worth on a year's quotes:")
    for row in found.worth[:5]:
        known = f"{counted(row.jobs, 'job', 'jobs')} logged, unsure by {row.unsure:.0%}"
        click.echo(f"  {row.step}: {known}; five more are worth {row.timing:.0f} {code}")
    for result in found.calibration.steps.values():
        trend = drift(result)
        if trend and trend.sure:
            way = "slower" if trend.per_year > 0 else "faster"
            change = _change(1 + trend.per_year, 1 + trend.low, 1 + trend.high, " a year")
            click.echo(f"  {result.step} gets {way}: {change}")
        for month in months(result, SURE_OF_DRIFT):
            if month.low > 1 or month.high < 1:
                against = "against the year's typical time"
                click.echo(f"  {result.step} in month {month.month}: {month.ratio - 1:+.0%} {against}")
    click.echo(f"Won and lost: {won if isinstance(won, str) else won.words}")


def _change(middle: float, low: float, high: float, of_what: str) -> str:
    return f"{middle - 1:+.0%}{of_what} ({low - 1:+.0%} to {high - 1:+.0%})"


@click.command("rates")
@JSON
@with_log
def rates_command(ledger: "Ledger", *, as_json: bool) -> None:
    """Rows of the rate book as the log would have them; nothing is changed before: log accept KEY."""
    from pricing.ledger.review import review
    from pricing.shop.folder import open_shop

    found = review(ledger, open_shop(ledger.folder)).proposals
    if as_json:
        points = ("low", "likely", "high", "mean", "where")
        echo_json(
            [
                picked(p, "key", "jobs", "notes")
                | {"unit": p.old.unit, "mean_now": p.old.mean, **picked(p.new, *points)}
                for p in found
            ]
        )
        return
    for proposal in found:
        words = f"mean {proposal.old.mean:.3g} -> {proposal.new.mean:.3g} {proposal.old.unit} ({proposal.change:+.0%})"
        notes = (f"    {note}" for note in proposal.notes)
        click.echo("\n".join((f"{proposal.key}: {words}; {proposal.new.where}", *notes)))
    click.echo(
        f"{len(found)} rows. Take those you agree with: log accept KEY ..." if found else "Nothing to propose yet."
    )


@click.command("accept")
@click.argument("keys", nargs=-1)
@click.option("--all", "every", is_flag=True, help="All rows that are proposed.")
@click.option("--let-fall", is_flag=True, help="Let prices of the list fall with them; without it they are kept.")
@with_log
def accept_command(ledger: "Ledger", keys: tuple[str, ...], *, every: bool, let_fall: bool) -> None:
    """Write proposed rows into the rate book; what stood before stays in rates_history.csv."""
    from pricing.ledger.review import review
    from pricing.shop.folder import open_shop
    from pricing.show.log_view import take

    found = {proposal.key: proposal for proposal in review(ledger, open_shop(ledger.folder)).proposals}
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
@with_log
def import_command(ledger: "Ledger", path: Path, kind: str | None) -> None:
    """Read a CSV file, or all KIND.csv of a folder, and tell each refused row."""
    from pricing.ledger.exchange import import_csv, import_folder
    from pricing.shop.folder import open_shop

    tongue = open_shop(ledger.folder).tongue
    if path.is_dir():
        reports = import_folder(ledger, path, tongue=tongue)
    else:
        reports = [import_csv(ledger, kind or path.stem, path, tongue=tongue)]
    for report in reports:
        click.echo(str(report))


@click.command("export")
@click.argument("path", type=click.Path(path_type=Path))
@click.option("--parquet", is_flag=True, help="Parquet with the whole history, in place of CSV.")
@with_log
def export_command(ledger: "Ledger", path: Path, *, parquet: bool) -> None:
    """Write the facts into a folder, a table for each kind."""
    from pricing.ledger.exchange import export_csv, export_parquet

    written = (export_parquet if parquet else export_csv)(ledger, path)
    click.echo(f"{len(written)} files in {path}.")


@click.command("backup")
@with_log
def backup_command(ledger: "Ledger") -> None:
    """Write a backup into the folder backups beside the ledger."""
    click.echo(f"{ledger.back_up()}")


@click.command("restore")
@click.argument("backup", type=click.Path(path_type=Path), required=False)
@SHOP
@URL
@plain_errors
def restore_command(backup: Path | None, folder: str | None, url: str | None) -> None:
    """Put a BACKUP back, the newest without it; what stands there is kept under another name. Close the pages first."""
    from pricing.ledger.store import restore

    click.echo(restore(log_folder(folder), backup, url))


@click.command("demo")
@with_log
def demo_command(ledger: "Ledger") -> None:
    """Fill an empty ledger with the invented log of the demo shop, to try things out."""
    from pricing.basis.facts import data_folder
    from pricing.ledger.exchange import import_folder
    from pricing.ledger.kinds import ENTRY_KINDS

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
    restore_command,
    demo_command,
)
"""Commands that `pricing.commands.log_commands` puts into its group."""
