"""The commands ``log``: quick entry and corrections, beside the stopwatch and what the log says."""

from typing import TYPE_CHECKING

import click

from pricing.basis.errors import BadInput, Problem, nearest
from pricing.commands import log_review, log_watch
from pricing.commands.log_shell import name_of, pairs, today, with_log
from pricing.commands.shell import JSON, echo_json, picked, read_shop_and_job

if TYPE_CHECKING:
    from pricing.ledger.store import Ledger


@click.group("log")
def log_commands() -> None:
    """What jobs really took: a stopwatch, quick entry, and rates that learn from both."""


for _command in (*log_watch.WATCH_COMMANDS, *log_review.REVIEW_COMMANDS):
    log_commands.add_command(_command)


@log_commands.command()
@click.argument("kind")
@click.argument("fields", nargs=-1, metavar="FIELD=VALUE...")
@with_log
def add(ledger: "Ledger", kind: str, fields: tuple[str, ...]) -> None:
    """Write a fact of a KIND: times, jobs, outcomes, loads, meters, powder, packs, rework, quotes.

    For example: log add times job=gate step=wipe minutes=42 amount_line_m=7. The day is today without on=.
    """
    from pricing.ledger.exchange import entry_of_texts
    from pricing.ledger.kinds import kind_of
    from pricing.shop.folder import open_shop

    now = today().isoformat()
    day = {"on": now} if "on" in kind_of(kind).model_fields else {}
    entry = entry_of_texts(kind, day | pairs(fields), f"log add {kind}", tongue=open_shop(ledger.folder).tongue)
    if (day_of := str(getattr(entry, "on", ""))) > now:
        mend = "A fact has happened; look at the year."
        raise BadInput(f"log add {kind}", [Problem("on", day_of, f"{now} or earlier", mend)])
    (name,) = ledger.add(kind, entry)
    click.echo(f"{kind}: written as {name}.")


@log_commands.command()
@click.argument("job")
@click.argument("price")
@click.option(
    "--name",
    default="",
    help="Name under which its times are logged; the job's title without it, numbered when it is taken.",
)
@click.option("--finish", default=None, help="Another finish than the job's.")
@with_log
def quote(ledger: "Ledger", job: str, price: str, name: str, finish: str | None) -> None:
    """Keep the quote of a JOB at a PRICE, with its whole cost sheet."""
    from pricing import __version__
    from pricing.basis.tongue import Range
    from pricing.basis.typed import read_field
    from pricing.ledger.quotes import free_name, freeze
    from pricing.prices.quote import quote as quote_job
    from pricing.show.price_trial_view import trial_of

    shop, what = read_shop_and_job(str(ledger.folder), job)
    named = name or free_name(ledger.rows("quotes", brief=True), what.title)
    asked = read_field(price, "money", "PRICE", shop.tongue, Range(above=0.0))
    found = quote_job(shop, what, finish=finish)
    listed = found.net if found.price else 0.0
    what = what.model_copy(update={"finish": found.finish})
    fact = freeze(found.sheet, what, asked, on=today(), name=named, version=__version__, listed=listed)
    ledger.add("quotes", fact)
    click.echo(f"{fact.job}: {fact.price:.2f} {fact.currency} asked, full cost {fact.cost:.2f}.")
    if trial := trial_of(shop.folder, click.get_current_context().params["url"]):
        click.echo(trial.next_words())


@log_commands.command()
@click.argument("job")
@JSON
@with_log
def show(ledger: "Ledger", job: str, *, as_json: bool) -> None:
    """Show the quote of a JOB again as it was given, line by line, whatever became of the rates."""
    from dataclasses import asdict

    from pricing.ledger.quotes import thaw
    from pricing.shop.folder import open_shop
    from pricing.show.log_view import old_quote

    job = name_of(ledger, job)
    found = ledger.rows("quotes", job=job)
    if not found:
        names = [row["job"] for row in ledger.rows("quotes", brief=True)]
        mend = nearest(job, names) or "See: log list quotes."
        raise BadInput("log show", [Problem("job", job, "the name of a quote in the log", mend)])
    old = thaw(found[-1])
    if as_json:
        priced = {f"price_{old.currency}": old.price, f"cost_{old.currency}": old.cost}
        lines = {"lines": [asdict(line) for line in old.lines], "numbers": dict(old.book)}
        echo_json(picked(old, "job", "on", "finish", "version") | priced | lines)
        return
    told = old_quote(open_shop(ledger.folder), old)
    click.echo("\n  ".join((told.title, *told.lines)))


@log_commands.command()
@click.argument("job")
@click.option("--paid", default=None, help="Price that was paid; the price asked without it.")
@with_log
def won(ledger: "Ledger", job: str, paid: str | None) -> None:
    """Say that the quote of a JOB was taken; what was said before is corrected."""
    from pricing.basis.tongue import Range
    from pricing.basis.typed import read_field
    from pricing.ledger.outcomes import decide
    from pricing.shop.folder import open_shop

    job = name_of(ledger, job)
    quoted = ledger.rows("quotes", job=job, brief=True)
    price = float(quoted[-1]["price"]) if quoted else None
    if paid is not None:
        price = read_field(paid, "money", "--paid", open_shop(ledger.folder).tongue, Range(least=0.0))
    decide(ledger, job, "won", on=today(), paid=price)
    click.echo(f"{job}: won, {price:.2f} paid.")


@log_commands.command()
@click.argument("job")
@with_log
def lost(ledger: "Ledger", job: str) -> None:
    """Say that the quote of a JOB was not taken; what was said before is corrected."""
    from pricing.ledger.outcomes import decide

    job = name_of(ledger, job)
    decide(ledger, job, "lost", on=today())
    click.echo(f"{job}: lost.")


@log_commands.command("list")
@click.argument("kind")
@click.option("--job", default=None, help="Only those of one job.")
@click.option("--history", is_flag=True, help="With what was corrected or struck.")
@JSON
@with_log
def list_command(ledger: "Ledger", kind: str, job: str | None, *, history: bool, as_json: bool) -> None:
    """Facts of a KIND that stand, newest last."""
    rows = ledger.history(kind) if history else ledger.rows(kind, job=job)
    rows = [row for row in rows if job is None or row.get("job") == job]
    if as_json:
        echo_json(rows)
        return
    for row in rows:
        words = [f"{key}={_brief(value)}" for key, value in row.items() if _told(key, value)]
        click.echo(f"{row['id'][:12]}  {'struck  ' if row['struck'] else ''}{' '.join(words)}")


_HIDDEN = {"seq", "id", "at", "replaces", "struck", "sheet"}


def _told(key: str, value: object) -> bool:
    if key == "minutes" and isinstance(value, dict):
        return False  # of a quote: log show tells them
    return value not in ("", None, {}, False) and key not in _HIDDEN


def _brief(value: object) -> str:
    if isinstance(value, dict):
        return ", ".join(f"{key} {_brief(amount)}" for key, amount in value.items())
    return f"{value:.6g}" if isinstance(value, float) else str(value)


@log_commands.command()
@click.argument("kind")
@click.argument("row")
@click.argument("fields", nargs=-1, required=True, metavar="FIELD=VALUE...")
@with_log
def correct(ledger: "Ledger", kind: str, row: str, fields: tuple[str, ...]) -> None:
    """Correct a ROW (its id, or the first letters of it); the old one stays in the history."""
    from pricing.ledger.exchange import values_of_texts
    from pricing.shop.folder import open_shop

    at = _full_id(ledger, kind, row)
    tongue = open_shop(ledger.folder).tongue
    changes = values_of_texts(kind, pairs(fields), f"log correct {kind}", tongue=tongue)
    if "amounts" in changes:  # one amount is corrected, the others stay
        old = next(kept for kept in ledger.rows(kind) if kept["id"] == at)
        changes["amounts"] = old["amounts"] | changes["amounts"]
    name = ledger.correct(kind, at, **changes)
    click.echo(f"{kind}: corrected; the row is now {name}.")


@log_commands.command()
@click.argument("kind")
@click.argument("row")
@with_log
def strike(ledger: "Ledger", kind: str, row: str) -> None:
    """Take a ROW out; it stays in the history."""
    ledger.strike(kind, _full_id(ledger, kind, row))
    click.echo(f"{kind}: struck out.")


@log_commands.command()
@click.argument("kind")
@click.argument("row")
@with_log
def confirm(ledger: "Ledger", kind: str, row: str) -> None:
    """Say of a ROW of times that looks wrong: yes, it took that long."""
    ledger.correct(kind, _full_id(ledger, kind, row), confirmed=True)
    click.echo(f"{kind}: confirmed.")


def _full_id(ledger: "Ledger", kind: str, start: str) -> str:
    found = [row["id"] for row in ledger.rows(kind) if row["id"].startswith(start)]
    if len(found) != 1:
        word = "the first letters of one id" if found else "the id of a row that stands"
        raise BadInput(f"log {kind}", [Problem("row", start, word, f"See: log list {kind}.")])
    return str(found[0])
