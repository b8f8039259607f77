"""What to ask, in words: for the list, row by row, when work is slack; and the one figure to carry in the head."""

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from pricing.basis.facts import fact
from pricing.basis.identity import Same
from pricing.basis.numerals import signed
from pricing.prices.advice import Advice, advise
from pricing.prices.price_rule import printed_minimum
from pricing.prices.selling import Market, WinCurve
from pricing.prices.visible_rate import VisibleRate
from pricing.prices.week import Offer, week_hours
from pricing.shop.folder import demo_folder
from pricing.shop.shop import Shop
from pricing.show.own_log import has_log, log_stamps, opened_log
from pricing.show.price_trial_view import listed_times, trial_of
from pricing.show.tiles import told_list
from pricing.show.words import Words

if TYPE_CHECKING:
    from pricing.ledger.winning import Winning

_SLACK = 0.8
"""Share of the scarcest hours under which a week is slack."""


def won_and_lost(shop: Shop, url: str | None = None) -> "Winning | str":
    """Return the win curve of the owner's own log, in the folder or the database at ``url``; the demo's is invented.

    Raises
    ------
    BadInput
        The log cannot be read.
    """
    if shop.folder == demo_folder():
        return _read(Same(shop), None, ())
    if shop.folder is None or not has_log(shop.folder, url):
        return "No log yet."
    return _read(Same(shop), url, log_stamps(shop.folder, url=url))


@lru_cache(maxsize=4)
def _read(shop: Same[Shop], url: str | None, _stamps: tuple[int, ...]) -> "Winning | str":
    try:
        from pricing.ledger.review import invented_review, review
    except ModuleNotFoundError:  # without the extra there is no log
        return "No log yet."
    folder = shop.thing.folder
    if folder is None or folder == demo_folder():
        return invented_review(shop.thing).winning
    with opened_log(folder, url) as ledger:
        return review(ledger, shop.thing).winning


def week_advice(shop: Shop, offers: Sequence[Offer], times: float = 1.0) -> str:
    """Say what to ask in so many times the week as HTML, for a page; nothing where there is no week."""
    if not offers:
        return ""
    told = advice_words(Words(shop), advice_of(shop, offers, won_and_lost(shop), times))
    return told_list("Which prices earn most", told)


def curve_of(found: "Winning | str", offers: Sequence[Offer]) -> WinCurve:
    """Return the win curve of a log; where it says nothing yet, what is usual about today's prices."""
    from pricing.ledger.winning import believed

    if not isinstance(found, str):
        told = found.won + found.lost
        return WinCurve(found.level, found.slope, found.covariance, found.kinds, told, found.low, found.high)
    (at, slope), precision = believed(["win.level", "win.slope"])
    middle = float(np.median([np.log(offer.price / offer.quote.cost) for offer in offers]))
    turn = np.array([[1.0, -middle], [0.0, 1.0]])
    return WinCurve(at - slope * middle, slope, turn @ np.diag(1 / precision) @ turn.T, {}, 0)


def advice_of(shop: Shop, offers: Sequence[Offer], found: "Winning | str", times: float = 1.0) -> Advice:
    """Work out what to ask in so many times a shop's own week."""
    return _advised(Same(shop), Same(offers), Same(found), times)


@lru_cache(maxsize=2)
def _advised(shop: Same[Shop], offers: Same[Sequence[Offer]], found: "Same[Winning | str]", times: float) -> Advice:
    """Work it out once for a week, whatever else of a page is moved."""
    return advise(Market.of(offers.thing, week_hours(shop.thing), curve_of(found.thing, offers.thing), times))


def advice_words(words: Words, advice: Advice) -> tuple[str, ...]:
    """Say what to ask for the list as a whole."""
    weeks, no_move = words.shop.owner.weeks, 100 * fact("advise.least_step")

    def year(per_week: float) -> str:
        return words.money(round(weeks * per_week, -2), cents=False)

    move, low, high = (100 * (by - 1) for by in (advice.multiple, advice.low, advice.high))
    way, fewer = ("Raise", "lost") if move > 0 else ("Lower", "won")
    more, least, most = (year(gain) for gain in (advice.more_per_week, advice.more_low, advice.more_high))
    what = f"{way} the list by {abs(move):.0f}% ({signed(f'{low:+.0f}')} to {signed(f'{high:+.0f}')}%)"
    moved = f"about {words.local(f'{abs(advice.lost_of_ten):.1f}')} of 10 quotes more are {fewer},"
    moved += f" a year leaves {more} more ({least} to {most})"
    told = [f"{what}: {moved}."]
    if abs(move) < no_move or advice.more_low <= 0:
        told = ["Keep the list as it is: nothing shows yet that other prices earn more."]
        told += [f"What might: {what[0].lower()}{what[1:]}; {moved}."] if abs(move) >= no_move else []
    if advice.load < _SLACK:
        told.append(
            f"Your week is {advice.load:.0%} full. In a slack week any order helps that brings more than its cash:"
            " below “worth taking from” a job costs you money."
        )
    else:
        worth = words.money(max(advice.worth_per_h.values(), default=0.0))
        told.append(
            f"The wanted week takes {advice.load:.0%} of the hours of {advice.scarce}. At these prices one more hour is"
            f" worth {worth}; below “worth taking from” an order is not worth its hours."
        )
    known = f"{advice.quotes} quotes won or lost"
    if not advice.quotes:
        known = "no quote yet, but on what is usual, a guess"
    told.append(f"It rests on {known}, and on week.csv. {trial_words(words, advice)}")
    return tuple(told)


def trial_words(words: Words, advice: Advice) -> str:
    """Say which prices to try next, what that is worth and what it costs; or that nothing is to be gained."""
    trial, running = advice.trial, trial_of(words.shop.folder)
    if running and not running.over:
        return running.next_words()
    if trial is None:
        return "No trial of prices is worth its quotes: what they could tell would hardly change the advice."
    beyond = "Nobody was asked such prices yet. " if advice.untried else ""
    worth = words.money(round(words.shop.owner.weeks * trial.more_per_week, -1), cents=False)
    costs = words.money(round(trial.costs, -1), cents=False)
    low, high = (words.local(listed_times(by)) for by in (trial.low, trial.high))
    return (
        f"{beyond}To be surer, ask {high} and {low} in turn in the next"
        f" {fact('advise.trial_quotes'):.0f} quotes: to know what they tell is worth about {worth} a year, and asking"
        f" them leaves about {costs} less once. Begin with advise --trial start, or the button on page 5."
    )


def rate_words(shop: Shop, rate: VisibleRate) -> tuple[str, ...]:
    """Say the one figure to carry in the head, and how far it misses."""
    words = Words(shop)
    least, most = rate.worst
    names: Mapping[str, str] = {"single": "single-tone", "two_tone": "two-tone"}
    ends = "; ".join(f"{row.title}, {names[row.column]}, {row.units}: {row.miss:+.0%}" for row in (least, most))
    per_h, floor = (words.money(at, cents=False) for at in (rate.per_h, printed_minimum(shop.policy)))
    head = f"To carry in the head: washing, spraying, wiping time you can see × {per_h} an hour, plus powder"
    misses = f"It misses half of the list by less than {rate.usual_miss:.0%}, the worst rows by: {ends}."
    return (f"{head}; never less than {floor}.", misses)
