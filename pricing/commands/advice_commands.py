"""Commands that advise: which prices earn most; hire, buy, drop; how to buy each powder."""

from math import isfinite
from typing import TYPE_CHECKING, Any

import click

from pricing.commands.log_shell import opened, today
from pricing.commands.shell import JSON, SHOP, URL, echo_figures, echo_json, picked, plain_errors, read_shop

if TYPE_CHECKING:
    from pricing.prices.advice import Advice
    from pricing.prices.hire_buy_drop import YearChoices
    from pricing.prices.visible_rate import VisibleRate
    from pricing.shop.shop import Shop

_TIMES = click.option(
    "--times", type=click.FloatRange(0.1, 10.0), default=1.0, show_default=True, help="Times the usual week."
)


@click.command("advise")
@SHOP
@_TIMES
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
        echo_figures(_advice_figures(shop, advice, rate), shop.currency)
    else:
        _show_advice(shop, advice, rate)


def _show_advice(shop: "Shop", advice: "Advice", rate: "VisibleRate | None") -> None:
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


def _advice_figures(shop: "Shop", advice: "Advice", rate: "VisibleRate | None") -> dict[str, Any]:
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


@click.command("hire-buy-drop")
@SHOP
@_TIMES
@JSON
@plain_errors
def hire_buy_drop_command(folder: str | None, times: float, *, as_json: bool) -> None:
    """What a year leaves with and without a helper, the machines you think of buying, a kind of work.

    Machines to buy stand in the tables [[to_buy]] of shop.toml, or on page 1 under All settings.
    """
    from pricing.prices.hire_buy_drop import year_choices
    from pricing.prices.week import offers, read_week

    shop, items = read_shop(folder)
    found = year_choices(shop, offers(shop, read_week(shop, items)), times)
    if as_json:
        echo_figures(_choice_figures(found), shop.currency)
    else:
        _show_choices(shop, found)


def _show_choices(shop: "Shop", found: "YearChoices") -> None:
    from pricing.commands.tables import grid, tell
    from pricing.show.mix_view import CHOICES_NOTE, choice_words, next_words, nothing_to_drop
    from pricing.show.words import Words

    words, rows = Words(shop), []
    for one in found.rows:
        back, worth = "", ""
        if one.way == "buy":
            back, worth = f"{one.back_y:.1f} years" if isfinite(one.back_y) else "never", f"{one.worth:,.0f}"
        left, runs_out = f"{one.year.left:,.0f}", f"{one.year.runs_out} {one.year.load:.0%}"
        rows.append((choice_words(words, one)[0], left, f"{one.more:+,.0f}", back, worth, runs_out))
    columns = ("what", "a year leaves", "more", "back in", "worth today", "runs out next")
    tell(
        f"As it is, a year leaves {words.money(found.today.left, cents=False)}. {next_words(found.today)}",
        grid(f"Hire, buy, drop: a year, in {shop.currency}", columns, rows),
    )
    if shop.helper is None:
        tell("There is no helper to try: page 1, “Hire a helper”, makes one.")
    tell(*filter(None, (nothing_to_drop(shop, found), CHOICES_NOTE)))


def _choice_figures(found: "YearChoices") -> dict[str, Any]:
    today, year = found.today, {"left_money_per_year": "left", "load_share": "load"}
    bought = {"more_money_per_year": "more", "spent_money": "spent", "net_present_value_money": "worth"}
    return {
        **picked(today, **year, runs_out_first="runs_out"),
        "choices": [
            picked(one, "way", "what", **bought, payback_years="back_y")
            | picked(one.year, **year, runs_out_next="runs_out")
            for one in found.rows
        ],
    }


@click.command("powders")
@SHOP
@click.option("--week", "path", type=click.Path(), default=None, help="Another file than the shop's week.csv.")
@click.option("--save", is_flag=True, help="Write the uses of the week into powders.csv of your own folder.")
@JSON
@plain_errors
def powders_command(folder: str | None, path: str | None, *, save: bool, as_json: bool) -> None:
    """Colours by use: a year's uses from the week, and what one pays when stocked, passed on or shared."""
    from pathlib import Path

    from pricing.basis.errors import BadInput, Problem
    from pricing.commands.tables import grid, tell
    from pricing.prices.powder_uses import colours, with_uses
    from pricing.prices.week import read_week
    from pricing.shop.folder import save_shop
    from pricing.shop.powders import WAYS
    from pricing.show.words import Words

    shop, items = read_shop(folder)
    wanted = read_week(shop, items, Path(path) if path else None)
    if save and not folder:
        mend = "Make a folder of your own and name it with --shop."
        raise BadInput("powders", [Problem("--save", "the demo shop", "a folder of your own", mend)])
    found, words = colours(shop, wanted), Words(shop)
    if as_json:
        told = {
            c.powder.name: {"way": c.powder.way, "uses": c.uses.per_y, "each_kg": c.uses.each_kg, **c.pays}
            for c in found
        }
        echo_json(told)
    else:
        rows = []
        for colour in found:
            pays = [f"{words.money(v)}{' *' if way == colour.powder.way else ''}" for way, v in colour.pays.items()]
            each = words.measure(colour.uses.each_kg, "kg")
            rows.append((colour.powder.name, f"{colour.uses.per_y:.0f}", each, *pays))
        columns = ("colour", "uses a year", "each", *(way.replace("_", " ") for way in WAYS))
        tell(
            grid("What one use pays for its powder", columns, rows),
            "* as your powders.csv has it. Change the column 'way' there, or on the page of your shop.",
        )
    if save and folder:
        changed = save_shop(with_uses(shop, wanted), folder)
        click.echo(f"Written: {', '.join(changed)}." if changed else "Nothing changed.")
