"""The command ``hire-buy-drop``: the year with and without a helper, a machine, a kind of work."""

from math import isfinite
from typing import TYPE_CHECKING, Any

import click

from pricing.commands.shell import JSON, SHOP, echo_json, plain_errors, read_shop

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
        echo_json(_figures(shop, found))
    else:
        _show(shop, found)


def _show(shop: "Shop", found: "YearChoices") -> None:
    from rich.text import Text

    from pricing.commands.decision_tables import show_words
    from pricing.commands.tables import console, grid, say
    from pricing.show.choices_view import CHOICES_NOTE, choice_words, next_words, nothing_to_drop
    from pricing.show.words import Words

    words, to = Words(shop), console()

    def whole(value: float) -> str:
        return words.money(value, cents=False)

    say(to, f"As it is, a year leaves {whole(found.today.left)}; {next_words(found.today)}.")
    columns = ("what", "a year leaves", "more", "back in", "worth today", "runs out next")
    table = grid(f"Hire, buy, drop: a year, in {shop.currency}", columns)
    for one in found.rows:
        bought = one.way == "buy"
        back = (f"{one.back_y:.1f} years" if isfinite(one.back_y) else "never") if bought else ""
        worth = f"{one.worth:,.0f}" if bought else ""
        table.add_row(
            Text(choice_words(words, one)[0]),
            f"{one.year.left:,.0f}",
            f"{one.more:+,.0f}",
            back,
            worth,
            f"{one.year.runs_out} {one.year.load:.0%}",
        )
    to.print(table)
    if shop.helper is None:
        show_words(("There is no helper to try: page 1, “Hire a helper”, makes one.",))
    show_words([told for told in (nothing_to_drop(shop, found), CHOICES_NOTE) if told])


def _figures(shop: "Shop", found: "YearChoices") -> dict[str, Any]:
    from pricing.commands.figures import number

    code = shop.currency
    return {
        f"left_{code}_per_year": number(found.today.left),
        "runs_out_first": found.today.runs_out,
        "load_share": number(found.today.load),
        "choices": [
            {
                "way": one.way,
                "what": one.what,
                f"left_{code}_per_year": number(one.year.left),
                f"more_{code}_per_year": number(one.more),
                f"spent_{code}": number(one.spent),
                "payback_years": number(one.back_y) if isfinite(one.back_y) else None,
                f"net_present_value_{code}": number(one.worth),
                "runs_out_next": one.year.runs_out,
                "load_share": number(one.year.load),
            }
            for one in found.rows
        ],
    }
