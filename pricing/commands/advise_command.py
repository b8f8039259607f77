"""The command ``advise``: which prices earn most, and the one figure to carry in the head."""

from typing import TYPE_CHECKING, Any

import click

from pricing.commands.log_shell import opened, today
from pricing.commands.shell import JSON, SHOP, URL, echo_json, plain_errors, read_shop

if TYPE_CHECKING:
    from pricing.prices.advice import Advice
    from pricing.prices.next_trial import NextTrial
    from pricing.prices.visible_rate import VisibleRate
    from pricing.shop.shop import Shop


@click.command("advise")
@SHOP
@click.option("--times", type=click.FloatRange(0.1, 10.0), default=1.0, show_default=True, help="Times the usual week.")
@click.option(
    "--trial",
    type=click.Choice(("start", "stop")),
    default=None,
    help="Ask the two prices about the advised one in turn.",
)
@URL
@JSON
@plain_errors
def advise_command(folder: str | None, times: float, trial: str | None, url: str | None, *, as_json: bool) -> None:
    """Which prices earn most: the whole list, each row, the least worth taking; and a rate to carry in the head.

    With --trial start the next twenty quotes ask the two ends of what is advised in turn: quote and page 2 say which,
    and what is logged of them sharpens the advice, which says whether another trial is worth it.
    """
    from pricing.prices.visible_rate import visible_rate
    from pricing.prices.week import offers, read_week
    from pricing.show.advice_view import advice_of, won_and_lost

    if trial == "stop":
        click.echo(_stop(folder, url))
        return
    shop, items = read_shop(folder)
    found = won_and_lost(shop, url)
    advice = advice_of(shop, offers(shop, read_week(shop, items)), found, times)
    if trial:
        click.echo(_start(folder, url, advice.trial))
        return
    rate = visible_rate(shop, items)
    if as_json:
        echo_json(_figures(shop, advice, rate))
    else:
        _show(shop, advice, rate)


def _start(folder: str | None, url: str | None, tried: "NextTrial | None") -> str:
    from datetime import date

    from pricing.show.price_trial_view import start_trial

    with opened(folder, url) as ledger:
        return start_trial(ledger.folder, ledger, tried, date.fromisoformat(today()))


def _stop(folder: str | None, url: str | None) -> str:
    from pricing.show.price_trial_view import stop_trial

    with opened(folder, url) as ledger:
        return stop_trial(ledger.folder)


def _show(shop: "Shop", advice: "Advice", rate: "VisibleRate | None") -> None:
    from rich.text import Text

    from pricing.commands.tables import console, grid, say
    from pricing.show.advice_view import advice_words, rate_words
    from pricing.show.words import Words

    to = console()
    for told in advice_words(Words(shop), advice):
        say(to, told)
    table = grid(
        f"Line by line, in {shop.currency}", ("an order", "now", "advised", "8 of 10 sure", "worth taking from")
    )
    for row in advice.rows:
        ends = f"{row.low:.0f} – {row.high:.0f}"
        table.add_row(Text(row.name), *(f"{value:.0f}" for value in (row.now, row.advised)), ends, f"{row.least:.0f}")
    to.print(table)
    for told in rate_words(shop, rate) if rate else ():
        say(to, told)


def _figures(shop: "Shop", advice: "Advice", rate: "VisibleRate | None") -> dict[str, Any]:
    from pricing.commands.figures import number
    from pricing.show.advice_view import advice_words, rate_words
    from pricing.show.words import Words

    code = shop.currency
    told: dict[str, Any] = {
        "multiple": number(advice.multiple),
        "multiple_low": number(advice.low),
        "multiple_high": number(advice.high),
        f"more_{code}_per_week": number(advice.more_per_week),
        f"more_low_{code}_per_week": number(advice.more_low),
        f"more_high_{code}_per_week": number(advice.more_high),
        "lost_more_of_ten": number(advice.lost_of_ten),
        "booked_share": number(advice.booked),
        "load_share": number(advice.load),
        "scarce": advice.scarce,
        f"worth_{code}_per_h": {name: number(worth) for name, worth in advice.worth_per_h.items()},
        "worth_moved_share": number(advice.apart),
        "quotes": advice.quotes,
        "beyond_what_was_asked": advice.untried,
        "trial": {
            "low": number(advice.trial.low),
            "high": number(advice.trial.high),
            f"more_{code}_per_week": number(advice.trial.more_per_week),
            f"costs_{code}": number(advice.trial.costs),
        }
        if advice.trial
        else None,
        "rows": [
            {
                "name": row.name,
                f"now_{code}": number(row.now),
                f"advised_{code}": number(row.advised),
                f"low_{code}": number(row.low),
                f"high_{code}": number(row.high),
                f"worth_taking_from_{code}": number(row.least),
            }
            for row in advice.rows
        ],
        "in_words": list(advice_words(Words(shop), advice)),
    }
    if rate is not None:
        told["visible_rate"] = {
            f"rate_{code}_per_h": number(rate.per_h),
            "usual_miss_share": number(rate.usual_miss),
            "rows": [
                {
                    "title": row.title,
                    "column": row.column,
                    "units": row.units,
                    "seen_h": number(row.seen_h),
                    f"powder_{code}": number(row.powder),
                    f"listed_{code}": number(row.listed),
                    f"by_rate_{code}": number(row.by_rate),
                    "miss_share": number(row.miss),
                }
                for row in rate.rows
            ],
            "in_words": list(rate_words(shop, rate)),
        }
    return told
