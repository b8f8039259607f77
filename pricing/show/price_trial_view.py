"""A trial of prices in words, where a quote is made: what the next one asks, and what became of those before."""

from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from pricing.prices.price_rule import times_listed
from pricing.show.own_log import log_stamps, opened_log
from pricing.show.words import Words

if TYPE_CHECKING:
    from pricing.ledger.price_trial import PriceTrial
    from pricing.ledger.store import Ledger
    from pricing.shop.shop import Shop


_FILE = "price_trial.toml"


@dataclass(frozen=True)
class TrialStanding:
    """How a trial stands.

    Parameters
    ----------
    trial : PriceTrial
        What is tried.
    given : int
        Quotes in the log.
    so_far : str
        What became of the quotes of the trial, in words.
    """

    trial: "PriceTrial"
    given: int
    so_far: str

    def asks(self, shop: "Shop", listed: float) -> float:
        """Work out what the next quote asks, without tax, on a price point. [money]

        Parameters
        ----------
        shop : Shop
            For its price points.
        listed : float
            Price by the list. [money]
        """
        if not self.trial.asks_more(self.given):
            return listed
        return times_listed(listed, self.trial.times, shop.policy)

    def words(self, shop: "Shop", listed: float) -> str:
        """Say what the next quote asks, or that the trial is over.

        Parameters
        ----------
        shop, listed
            As in `asks`.
        """
        price = Words(shop).money(self.asks(shop, listed))
        return self.next_words(f"ask {price} without tax, ")

    def next_words(self, price: str = "it asks ") -> str:
        """Say which quote of the trial is the next and which price it asks, or that all are given.

        Parameters
        ----------
        price : str
            What stands before the kind of price: the amount, where it is known.
        """
        number, many = self.trial.turn(self.given), self.trial.quotes
        if not number:
            return f"The trial of prices is over: {many} quotes were given. {self.so_far} Ask anew: advise".strip()
        what = f"the list × {self.trial.times:.2f}" if self.trial.asks_more(self.given) else "the list's own price"
        return f"Trial of prices, quote {number} of {many}: {price}{what}. {self.so_far}".strip()


def start_trial(folder: Path, ledger: "Ledger", times: float, on: date) -> str:
    """Begin a trial of a price and say what comes next.

    Parameters
    ----------
    folder, ledger
        The shop's.
    times : float
        Times the list's price, as advised.
    on : date
        Today.

    Raises
    ------
    BadInput
        The advice is to keep the list, or nothing can be written.
    """
    from pricing.ledger.price_trial import begin_trial

    trial = begin_trial(folder, times, len(ledger.rows("quotes", brief=True)), on)
    return TrialStanding(trial, trial.before, "").next_words()


def stop_trial(folder: Path) -> str:
    """End the trial, and say so."""
    from pricing.ledger.price_trial import end_trial

    end_trial(folder)
    return "No prices are tried any more; the quotes given stay in the log, and the advice has learned from them."


def trial_of(folder: Path | None, url: str | None = None) -> TrialStanding | None:
    """Return how the trial of a folder stands; None where none was begun.

    Parameters
    ----------
    folder : Path or None
        The shop's.
    url : str, optional
        Address of the database that its log is kept in.
    """
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
        f"{side.won} of {side.won + side.lost} won at {name}"
        for name, side in (("the price tried", sides["tried"]), ("the list's", sides["list"]))
        if side.won + side.lost
    ]
    return TrialStanding(trial, len(quotes), f"So far {', '.join(told)}." if told else "")
