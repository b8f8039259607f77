"""A quote as it was given, kept so that it can be shown again to the cent when rates have long changed.

Takes    a cost sheet and the price that was asked.
Gives    a fact for the ledger, and from it the same figures again.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, cast

from pricing.basis.errors import BadInput, Problem
from pricing.costing.lines import MONEY
from pricing.costing.sheet import CostSheet
from pricing.ledger.entries import Quoted
from pricing.ledger.expected import expected_of
from pricing.ledger.kinds import read_entry
from pricing.ledger.store import LedgerRow
from pricing.parts.job import Job
from pricing.steps.step import Term

LOOPS = ("respray", "redo", "warranty", "pack_rest")
"""Lines that stand for work that may come: they are no step that can be timed."""


@dataclass(frozen=True, slots=True)
class OldLine:
    """A line of an old quote."""

    name: str
    step: str
    minutes: float
    cash: float
    labour: float
    machines: float
    overhead: float

    @property
    def total(self) -> float:
        """All four kinds of money."""
        return self.cash + self.labour + self.machines + self.overhead


@dataclass(frozen=True, slots=True)
class OldQuote:
    """A quote as it was given.

    Parameters
    ----------
    job, on, finish, currency, version : str
        Job, day, finish, currency, and version of the program.
    price : float
        As it was asked.
    lines : tuple of OldLine
        Cost, line by line.
    book : mapping
        Every number it was made with.
    """

    job: str
    on: str
    finish: str
    currency: str
    version: str
    price: float
    lines: tuple[OldLine, ...]
    book: Mapping[str, float]

    @property
    def cost(self) -> float:
        """Full cost, added up in the order of the cost sheet, so that the last bit agrees."""
        return sum(sum(getattr(line, kind) for line in self.lines) for kind in MONEY)


def freeze(
    sheet: CostSheet, job: Job, price: float, *, on: date, name: str = "", version: str = "", listed: float = 0.0
) -> Quoted:
    """Make a fact of a quote from the very cost sheet that was looked at, moved numbers and all.

    Parameters
    ----------
    sheet : CostSheet
        Of the job in its own finish, with plain numbers.
    job : Job
        What the customer wants done.
    price : float
        Price that was asked. [money]
    on : date
        Day.
    name : str
        Name under which times are logged; the job's title without it.
    version : str
        Of the program, for the record.
    listed : float
        Price by the list, where that is known; a trial of prices asks another one. [money]

    Raises
    ------
    BadInput
        No price may be given for this job, or the ledger does not accept a field of it.
    """
    if sheet.refused:
        mend = "Nothing was logged."
        raise BadInput(job.title, [Problem("the job", "not to be quoted", why, mend) for why in sheet.refused])
    lines = [
        {"name": line.id, "step": line.step, "minutes": float(line.minutes)}
        | {kind: float(getattr(line, kind)) for kind in MONEY}
        for line in sheet.lines
    ]
    body: dict[str, Any] = {
        "title": job.title,
        "lines": lines,
        "book": {k: float(v) for k, v in sorted(sheet.book.items())},
        "amounts": amounts_of(sheet),
        "expected": expected_of(sheet),
        "job": job.model_dump(mode="json"),
        "items": [lot.item.key for lot in job.lots if lot.item],
        "listed": float(listed),
    }
    fields = {
        "job": name or job.title,
        "on": on,
        "note": job.note,
        "finish": job.finish,
        "parts": job.pieces,
        "price": price,
        "cost": float(sheet.total),
        "currency": sheet.shop.currency,
        "version": version,
        "minutes": hand_minutes(sheet),
        "sheet": body,
    }
    return cast("Quoted", read_entry("quotes", fields, "the log"))


def _hands(sheet: CostSheet) -> list[tuple[str, Term]]:
    return [
        (line.step, term)
        for line in sheet.lines
        if line.step not in LOOPS
        for use in line.uses
        for term in use.terms
        if term.gives == "hands"
    ]


def amounts_of(sheet: CostSheet) -> dict[str, dict[str, float]]:
    """Collect how much there is to do of each step that can be timed: step to driver to amount."""
    amounts: dict[str, dict[str, float]] = {}
    for step, term in _hands(sheet):
        mine = amounts.setdefault(step, {})
        mine[term.driver] = mine.get(term.driver, 0.0) + float(term.amount)
    return amounts


def hand_minutes(sheet: CostSheet) -> dict[str, float]:
    """Collect the attended minutes of each step that can be timed, rest left out. [min]"""
    minutes: dict[str, float] = {}
    for step, term in _hands(sheet):
        minutes[step] = minutes.get(step, 0.0) + float(term.amount) * float(term.rate)
    return minutes


def thaw(row: LedgerRow) -> OldQuote:
    """Show a row of the table ``quotes`` as the quote that it was.

    Raises
    ------
    BadInput
        The row was written by hand or imported: it has a price, but no cost sheet.
    """
    body = row["sheet"]
    if not body.get("lines"):
        mend = "Only quotes that this program made can be shown line by line."
        raise BadInput(f"quote {row['job']}", [Problem("cost sheet", "missing", "kept with the quote", mend)])
    return OldQuote(
        row["job"],
        row["on"],
        row["finish"],
        row["currency"],
        row["version"],
        row["price"],
        tuple(OldLine(**line) for line in body["lines"]),
        body["book"],
    )


def free_name(quotes: Sequence[LedgerRow], name: str) -> str:
    """Write a name that no quote has yet, with a number behind it where it is taken: two may ask for the same.

    Examples
    --------
    >>> free_name([{"job": "gate"}], "gate"), free_name([{"job": "gate"}, {"job": "gate 2"}], "gate")
    ('gate 2', 'gate 3')
    """
    taken, number, found = {row["job"] for row in quotes}, 1, name
    while found in taken:
        number += 1
        found = f"{name} {number}"
    return found


def last_name(quotes: Sequence[LedgerRow], name: str) -> str:
    """Write the newest of the names that `free_name` has made of one; the name itself before it was quoted.

    Examples
    --------
    >>> last_name([{"job": "gate"}, {"job": "gate 2"}, {"job": "gate post"}], "gate")
    'gate 2'
    """
    made = re.compile(re.escape(name) + r"( \d+)?")
    return next((str(row["job"]) for row in reversed(quotes) if made.fullmatch(str(row["job"]))), name)


def quoted_amounts(quotes: Sequence[LedgerRow]) -> dict[str, dict[str, dict[str, float]]]:
    """Collect the amounts of the newest quote of each job: job to step to driver."""
    return {row["job"]: row["sheet"].get("amounts", {}) for row in quotes}
