"""The command ``advise``: which prices earn most, and the one figure to carry in the head."""

from typing import TYPE_CHECKING, Any

import click

from pricing.commands.log_shell import opened, today
from pricing.commands.shell import JSON, SHOP, URL, echo_figures, picked, plain_errors, read_shop

if TYPE_CHECKING:
    from pricing.prices.advice import Advice
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
    from pricing.show.price_trial_view import start_trial, stop_trial

    if trial == "stop":
        with opened(folder, url) as ledger:
            click.echo(stop_trial(ledger.folder))
        return
    shop, items = read_shop(folder)
    found = won_and_lost(shop, url)
    advice = advice_of(shop, offers(shop, read_week(shop, items)), found, times)
    if trial:
        with opened(folder, url) as ledger:
            click.echo(start_trial(ledger.folder, ledger, advice.trial, today()))
        return
    rate = visible_rate(shop, items)
    if as_json:
        echo_figures(_figures(shop, advice, rate), shop.currency)
    else:
        _show(shop, advice, rate)


def _show(shop: "Shop", advice: "Advice", rate: "VisibleRate | None") -> None:
    from pricing.commands.tables import grid, tell
    from pricing.show.advice_view import advice_words, rate_words
    from pricing.show.words import Words

    columns = ("an order", "now", "advised", "8 of 10 sure", "worth taking from")
    rows = [
        (row.name, f"{row.now:.0f}", f"{row.advised:.0f}", f"{row.low:.0f} – {row.high:.0f}", f"{row.least:.0f}")
        for row in advice.rows
    ]
    table = grid(f"Line by line, in {shop.currency}", columns, rows)
    tell(*advice_words(Words(shop), advice), table, *(rate_words(shop, rate) if rate else ()))


def _figures(shop: "Shop", advice: "Advice", rate: "VisibleRate | None") -> dict[str, Any]:
    from pricing.show.advice_view import advice_words, rate_words
    from pricing.show.words import Words

    told: dict[str, Any] = picked(
        advice,
        "multiple",
        "scarce",
        "quotes",
        multiple_low="low",
        multiple_high="high",
        more_money_per_week="more_per_week",
        more_low_money_per_week="more_low",
        more_high_money_per_week="more_high",
        lost_more_of_ten="lost_of_ten",
        booked_share="booked",
        load_share="load",
        worth_money_per_h="worth_per_h",
        worth_moved_share="apart",
        beyond_what_was_asked="untried",
    )
    trial = advice.trial and picked(
        advice.trial, "low", "high", more_money_per_week="more_per_week", costs_money="costs"
    )
    rows = [
        picked(
            row,
            "name",
            now_money="now",
            advised_money="advised",
            low_money="low",
            high_money="high",
            worth_taking_from_money="least",
        )
        for row in advice.rows
    ]
    told |= {"trial": trial, "rows": rows, "in_words": advice_words(Words(shop), advice)}
    if rate is not None:
        priced = {f"{name}_money": name for name in ("powder", "listed", "by_rate")}
        told["visible_rate"] = {
            **picked(rate, rate_money_per_h="per_h", usual_miss_share="usual_miss"),
            "rows": [
                picked(row, "title", "column", "units", "seen_h", **priced, miss_share="miss") for row in rate.rows
            ],
            "in_words": rate_words(shop, rate),
        }
    return told
