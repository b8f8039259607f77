"""A trial of prices: two prices in turn in the next quotes, so that the win curve learns.

Takes    ``price_trial.toml`` of the shop's folder (since when, two prices times the list, how many quotes, how many
         were in the log before) and the quotes of the log.
Gives    what the next quote asks, and how many were won so far at either price.
Why      who always asks the list learns nothing of other prices. Turns alternate, so that neither price meets the
         better customers; what was asked in fact is in the log, whatever the turn was, and the win curve reads that.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from math import sqrt
from pathlib import Path
from typing import Annotated, NamedTuple

from pricing.basis.errors import BadInput, Problem
from pricing.basis.facts import fact
from pricing.basis.files import read_toml, write_safely
from pricing.basis.records import Quantity, Record, read_record
from pricing.ledger.store import LedgerRow

_FILE = "price_trial.toml"
"""Where in the shop's folder it stands, so that it outlives the program."""


class PriceTrial(Record):
    """What is tried: since when, two prices times the list's, in how many quotes, and how many the log held before."""

    began: date
    times: Annotated[float, Quantity("number", above=0.0, at_most=5.0)]
    quotes: Annotated[int, Quantity("whole", at_least=2, at_most=1000)]
    before: Annotated[int, Quantity("whole", at_least=0)]
    against: Annotated[float, Quantity("number", above=0.0, at_most=5.0)] = 1.0

    def turn(self, given: int) -> int:
        """Return which quote of the trial is the next, from 1, when so many stand in the log; 0 when all are given."""
        number = max(0, given - self.before) + 1
        return number if number <= self.quotes else 0

    def asks(self, given: int) -> float:
        """Return what the next quote asks, times the list's price: 1 when all are given."""
        number = self.turn(given)
        return (self.against, self.times)[number % 2] if number else 1.0


class Side(NamedTuple):
    """Quotes at one of the two prices: given, won, lost."""

    given: int
    won: int
    lost: int


def read_trial(folder: Path) -> PriceTrial | None:
    """Read the trial of a shop's folder; None where none was begun.

    Raises
    ------
    BadInput
        The file cannot be read.
    """
    path = folder / _FILE
    return read_record(PriceTrial, read_toml(path), _FILE) if path.exists() else None


def begin_trial(folder: Path, times: float, before: int, on: date, against: float = 1.0) -> PriceTrial:
    """Begin a trial of ``times`` and ``against`` the list's price in turn; one that runs already ends.

    Raises
    ------
    BadInput
        The two prices are one, or the file cannot be written.
    """
    if not abs(times / against - 1) > fact("advise.least_step"):
        mend = "Nothing is to be tried."
        accepts = f"another price than {against:.3f} times"
        raise BadInput("trial", [Problem("times the list", f"{times:.3f}", accepts, mend)])
    quotes = int(fact("advise.trial_quotes"))
    trial = PriceTrial(began=on, times=round(times, 3), quotes=quotes, before=before, against=round(against, 3))
    head = (
        "# A trial of prices: quotes ask the list's price 'times' and 'against' so much in turn.\n"
        "# Take the file away to end it.\n"
    )
    told = "".join(f"{name} = {value}\n" for name, value in trial.model_dump().items())
    write_safely(folder / _FILE, head + told)
    return trial


def end_trial(folder: Path) -> None:
    """End the trial; its quotes stay in the log."""
    (folder / _FILE).unlink(missing_ok=True)


def sides_of(trial: PriceTrial, quotes: Sequence[LedgerRow], outcomes: Sequence[LedgerRow]) -> Mapping[str, Side]:
    """Count what became of the quotes of a trial, in the order of writing, by the price that was asked.

    A quote counts for ``times`` or ``against``, whichever its price over the list's lies nearer to.
    """
    results = {row["job"]: row["result"] for row in outcomes}
    found: dict[str, list[str]] = {"times": [], "against": []}
    middle = sqrt(trial.times * trial.against)
    for row in quotes[trial.before :][: trial.quotes]:
        listed = row["sheet"].get("listed", 0.0)
        if listed > 0:
            first = (row["price"] / listed > middle) == (trial.times > trial.against)
            found["times" if first else "against"].append(results.get(row["job"], "open"))
    return {name: Side(len(told), told.count("won"), told.count("lost")) for name, told in found.items()}
