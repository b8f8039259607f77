"""What the owner says of a job: won or lost, done, "yes, it took that long", "no, so many minutes".

Rule     each is a fact or a correction of one, so that a button pressed twice, or on two screens, counts once.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Literal

from sqlalchemy import select

from pricing.basis.errors import BadInput, Problem
from pricing.ledger.entries import Done
from pricing.ledger.kinds import read_entry
from pricing.ledger.store import Ledger, LedgerRow
from pricing.ledger.tables import TABLES, stands
from pricing.parts.job import Job
from pricing.shop.finishes import Finish


def decide(ledger: Ledger, job: str, result: Literal["won", "lost"], *, on: date, paid: float | None = None) -> None:
    """Say what became of a quote, and what was paid [money]; what was said before is corrected.

    Raises
    ------
    BadInput
        No quote of this name is in the log, or a lost job was paid.
    """
    if not ledger.rows("quotes", job=job, brief=True):
        mend = "See: log list quotes."
        raise BadInput("the log", [Problem("job", job, "a job whose quote is in the log", mend)])
    if result == "lost" and paid is not None:
        raise BadInput("the log", [Problem("price paid", paid, "left out where a quote is lost")])
    with ledger.at_once():
        before = ledger.rows("outcomes", job=job)
        fields = {"job": job, "on": on, "result": result, "price_paid": paid}
        if not before:
            ledger.add("outcomes", read_entry("outcomes", fields, "the log"))
        elif (before[-1]["result"], before[-1]["price_paid"]) != (result, paid):
            ledger.correct("outcomes", before[-1]["id"], **fields)


def done(ledger: Ledger, job: str, finishes: Mapping[str, Finish], *, on: date) -> bool:
    """Write down that a quoted job has left the shop, with its pieces, for the rates of rework.

    Gives whether it was written: not without a quote that has its cost sheet, and not twice.
    """
    with ledger.at_once():
        quotes = ledger.rows("quotes", job=job)
        body = quotes[-1]["sheet"].get("job") if quotes else None
        if not body or ledger.rows("jobs", job=job):
            return False
        what = Job.model_validate(body)
        cast = sum(lot.pieces for lot in what.lots if lot.part.casting)
        finish = finishes.get(what.finish)
        wiped = what.pieces if finish and finish.line == "wiped" else 0
        substrate: Literal["wrought", "casting"] = "casting" if 2 * cast > what.pieces else "wrought"
        fact = Done(job=job, on=on, finish=what.finish, substrate=substrate, parts=what.pieces, wiped_parts=wiped)
        ledger.add("jobs", fact)
    return True


def confirm_minutes(ledger: Ledger, job: str, step: str) -> None:
    """Say of a job and step that looks wrong: yes, it took that long.

    Raises
    ------
    BadInput
        Nothing is logged of them.
    """
    for row in _minutes_of(ledger, job, step):
        if not row["confirmed"]:
            ledger.correct("times", row["id"], confirmed=True)


def correct_minutes(ledger: Ledger, job: str, step: str, minutes: float) -> None:
    """Say how many minutes a step of a job really took in all; what was logged stays in the history.

    Raises
    ------
    BadInput
        Nothing is logged of them, or they were logged in several rows.
    """
    rows = _minutes_of(ledger, job, step)
    if len(rows) > 1:
        mend = f'Correct one of them: log list times --job "{job}".'
        raise BadInput("the log", [Problem("minutes", f"in {len(rows)} rows", "in one row", mend)])
    ledger.correct("times", rows[0]["id"], minutes=minutes)


def last_entries(ledger: Ledger, count: int, kinds: Sequence[str]) -> list[tuple[str, LedgerRow]]:
    """Collect the newest entries with their kinds, newest first; struck ones too, so that they can be brought back."""
    found: list[tuple[str, LedgerRow]] = []
    for kind in kinds:
        table = TABLES[kind]
        columns = [column for column in table.c if column.name != "sheet"]
        query = select(*columns).where(stands(table)[1]).order_by(table.c.seq.desc()).limit(count)
        found += [(kind, row) for row in ledger.ask(query)]
    return sorted(found, key=lambda one: one[1]["at"], reverse=True)[:count]


def _minutes_of(ledger: Ledger, job: str, step: str) -> list[LedgerRow]:
    rows = [row for row in ledger.rows("times", job=job) if row["step"] == step]
    if not rows:
        raise BadInput("the log", [Problem("job", job, f"a job with minutes of the step {step}")])
    return rows
