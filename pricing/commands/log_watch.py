"""The ``log`` commands of the stopwatch: start, pause, finish, status."""

from dataclasses import replace
from typing import TYPE_CHECKING

import click

from pricing.basis.typed import read_field
from pricing.commands.log_shell import name_of, pairs, today, with_log

if TYPE_CHECKING:
    from pricing.ledger.stopwatch import Watch
    from pricing.ledger.store import Ledger

_WORKER = click.option("--worker", default="", help="Who, when each person has a watch.")


def _tell(watch: "Watch", job: str) -> None:
    running = watch.running
    for step, minutes in watch.minutes.items():
        mark = "  runs" if running and running.step == step else ""
        click.echo(f"{job}: {step} {minutes:.1f} min{mark}")
    for step in watch.forgotten:
        click.echo(f"{step} has run very long: was the watch forgotten? Give its minutes when you finish.", err=True)


@click.command()
@click.argument("job")
@click.argument("step")
@_WORKER
@with_log
def start(ledger: "Ledger", job: str, step: str, worker: str) -> None:
    """Start a STEP of a JOB, or switch to it; what ran before ends."""
    from pricing.ledger import stopwatch

    job = name_of(ledger, job)
    _tell(stopwatch.start(ledger, job, step, worker=worker), job)


@click.command()
@click.argument("job")
@_WORKER
@with_log
def pause(ledger: "Ledger", job: str, worker: str) -> None:
    """Stop the watch of a JOB until the next start."""
    from pricing.ledger import stopwatch

    job = name_of(ledger, job)
    _tell(stopwatch.pause(ledger, job, worker=worker), job)


@click.command()
@click.argument("job")
@click.argument("amounts", nargs=-1, metavar="[STEP.DRIVER=AMOUNT]...")
@click.option("--minutes", "told", multiple=True, metavar="STEP=MINUTES", help="Where the watch was forgotten.")
@_WORKER
@with_log
def finish(ledger: "Ledger", job: str, amounts: tuple[str, ...], told: tuple[str, ...], worker: str) -> None:
    """End the watch of a JOB and write its minutes; amounts not given come from its quote."""
    from pricing.ledger import stopwatch
    from pricing.ledger.outcomes import done
    from pricing.shop.folder import open_shop
    from pricing.shop.rates import DRIVERS

    by_step: dict[str, dict[str, float]] = {}
    shop = open_shop(ledger.folder)
    tongue = replace(shop.tongue, units="metric")  # amounts are named by the unit they are counted in
    for key, value in pairs(amounts).items():
        step, _, driver = key.rpartition(".")
        by_step.setdefault(step, {})[driver] = read_field(value, DRIVERS.get(driver, ""), key, tongue, where="log")
    minutes = {step: read_field(value, "min", step, tongue, where="log") for step, value in pairs(told).items()}
    job = name_of(ledger, job)
    written = stopwatch.finish(ledger, job, by_step, minutes=minutes, worker=worker)
    click.echo(f"{job}: steps written: {len(written)}." if written else f"{job}: no watch was running.")
    if done(ledger, job, shop.finishes, on=today()):
        click.echo(f"{job}: done, as it was quoted. Pieces done again: log add rework.")


@click.command()
@with_log
def status(ledger: "Ledger") -> None:
    """All watches that were started and not finished."""
    from pricing.ledger import stopwatch

    found = stopwatch.watches(ledger)
    for job, watch in found.items():
        _tell(watch, job)
    if not found:
        click.echo("No watch is running.")


WATCH_COMMANDS = (start, pause, finish, status)
"""Commands that `pricing.commands.log_commands` puts into its group."""
