"""The command ``hire-buy-drop``: the year with and without a helper, a machine, a kind of work."""

from math import isfinite
from typing import TYPE_CHECKING, Any

import click

from pricing.commands.shell import JSON, SHOP, echo_figures, picked, plain_errors, read_shop

if TYPE_CHECKING:
    from pricing.prices.hire_buy_drop import YearChoices
    from pricing.shop.shop import Shop


@click.command("hire-buy-drop")
@SHOP
@click.option("--times", type=click.FloatRange(0.1, 10.0), default=1.0, show_default=True, help="Times the usual week.")
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
        echo_figures(_figures(found), shop.currency)
    else:
        _show(shop, found)


def _show(shop: "Shop", found: "YearChoices") -> None:
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


def _figures(found: "YearChoices") -> dict[str, Any]:
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
