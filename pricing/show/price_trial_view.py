"""A trial of prices in words, where a quote is made: what the next one asks, and what became of those before."""

from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from pricing.basis.errors import BadInput, Problem
from pricing.show.own_log import log_stamps, opened_log
from pricing.show.words import Words

if TYPE_CHECKING:
    from pricing.ledger.price_trial import PriceTrial
    from pricing.ledger.store import Ledger
    from pricing.prices.next_trial import NextTrial
    from pricing.prices.quote import Quote


_FILE = "price_trial.toml"


@dataclass(frozen=True)
class TrialStanding:
    """How a trial stands: quotes given in the log, and what became of those of the trial, in words."""

    trial: "PriceTrial"
    given: int
    so_far: str

    @property
    def over(self) -> bool:
        """Whether all its quotes are given."""
        return not self.trial.turn(self.given)

    def asks(self, quote: "Quote") -> float:
        """Work out what the next quote asks, without tax, on a price point of the list it is quoted by. [money]

        That is the list for the trade where the customer is of it.
        """
        return quote.at_times(self.trial.asks(self.given)).net

    def words(self, quote: "Quote") -> str:
        """Say what the next quote asks, or that the trial is over."""
        return self.next_words(f"ask {Words(quote.shop).money(self.asks(quote))} without tax, ")

    def next_words(self, price: str = "it asks ") -> str:
        """Say which quote of the trial is the next and which price it asks, or that all are given.

        ``price`` stands before the kind of price: the amount, where it is known.
        """
        number, many = self.trial.turn(self.given), self.trial.quotes
        if not number:
            told = f"The trial of prices is over: {many} quotes were given. {self.so_far}".strip()
            return f"{told} What to ask now, and whether to try other prices, says advise, or page 5."
        what = listed_times(self.trial.asks(self.given))
        return f"Trial of prices, quote {number} of {many}: {price}{what}. {self.so_far}".strip()


def listed_times(times: float) -> str:
    """Write a price as so many times the list's.

    >>> listed_times(1.3), listed_times(1.0)
    ('the list × 1.30', "the list's own price")
    """
    return "the list's own price" if times == 1 else f"the list × {times:.2f}"


def start_trial(folder: Path, ledger: "Ledger", tried: "NextTrial | None", on: date) -> str:
    """Begin a trial of prices, as advised, and say what comes next.

    Raises
    ------
    BadInput
        No trial is advised, or nothing can be written.
    """
    from pricing.ledger.price_trial import begin_trial

    if tried is None:
        mend = "What twenty quotes could tell would hardly change the advice: ask what is advised."
        raise BadInput("trial", [Problem("prices to try", "none", "prices that teach something", mend)])
    trial = begin_trial(folder, tried.high, len(ledger.rows("quotes", brief=True)), on, tried.low)
    return TrialStanding(trial, trial.before, "").next_words()


def stop_trial(folder: Path) -> str:
    """End the trial, and say so."""
    from pricing.ledger.price_trial import end_trial

    end_trial(folder)
    return "No prices are tried any more; the quotes given stay in the log, and the advice has learned from them."


def trial_of(folder: Path | None, url: str | None = None) -> TrialStanding | None:
    """Return how the trial of a folder stands, with its log at ``url`` if in a database; None where none was begun."""
    if folder is None or not (folder / _FILE).exists():
        return None
    return _standing(folder, url, log_stamps(folder, _FILE, url=url))


@lru_cache(maxsize=4)
def _standing(folder: Path, url: str | None, _stamps: tuple[int, ...]) -> TrialStanding | None:
    try:
        from pricing.ledger.price_trial import read_trial, sides_of
    except ModuleNotFoundError:  # without the extra there is no log, and no trial
        return None
    trial = read_trial(folder)
    if trial is None:
        return None
    with opened_log(folder, url) as ledger:
        quotes, outcomes = ledger.rows("quotes", brief=True), ledger.rows("outcomes")
    sides = sides_of(trial, quotes, outcomes)
    told = [
        f"{side.won} of {side.won + side.lost} won at {listed_times(by)}"
        for by, side in ((trial.times, sides["times"]), (trial.against, sides["against"]))
        if side.won + side.lost
    ]
    return TrialStanding(trial, len(quotes), f"So far {', '.join(told)}." if told else "")
