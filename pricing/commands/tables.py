"""Tables on the terminal: nothing is cut off, at 80 columns and below cells wrap.

Room     commands. Imports costing, prices, show.
"""

import re
from collections.abc import Sequence
from math import isnan
from textwrap import wrap
from typing import Any

from rich import box
from rich.cells import cell_len
from rich.console import Console, ConsoleOptions, RenderResult
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from pricing.costing.lines import MONEY
from pricing.costing.sheet import CostSheet
from pricing.prices.marks import Marks, Price, deposit, worth_per_hour
from pricing.prices.price_list import PriceList
from pricing.prices.two_tone import Comparison, ExtraRule, extra_keeping_margin
from pricing.show.words import Words, cautions, place, why


def console() -> Console:
    """Give the terminal; 100 columns where there is none to ask."""
    found = Console(highlight=False, emoji=False)
    if not found.is_terminal:
        found.width = max(found.width, 100)
    return found


class _Whole(Table):
    """A table whose columns break no number, and no word of ordinary length."""

    def add_row(self, *cells: Any, **options: Any) -> None:
        """Add a row, and let each column be as wide as what must not be broken in it."""
        super().add_row(*cells, **options)
        for column, cell in zip(self.columns, cells, strict=False):
            words = [cell_len(word) for word in [*re.split(r"[\s-]+", str(column.header)), *str(cell).split()]]
            least = max(map(cell_len, str(cell).split("\n"))) if column.justify == "right" else 0
            column.min_width = max(column.min_width or 0, least, min(max(words, default=0), _WORD))

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """Break the heads of figures between words, and let only texts give way."""
        least = [column.min_width or 0 for column in self.columns]
        free = options.max_width - sum(least) - 2 * len(least)
        for column, width in zip(self.columns, least, strict=True):
            if column.justify == "right":
                room = width if free < _WORD else max(width, _WORD)
                column.header = Text("\n".join(wrap(str(column.header), room)))
                column.no_wrap = True
        return super().__rich_console__(console, options)


_WORD = 12


def grid(title: str, columns: Sequence[str], *, left: int = 1) -> Table:
    """Give an empty table: words to the left, figures to the right, nothing cut off."""
    """Make an empty table in the one style of this workbook; the first ``left`` columns hold text."""
    table = _Whole(
        title=Text(title),
        title_justify="left",
        box=box.SIMPLE_HEAD,
        pad_edge=False,
        title_style="bold",
        collapse_padding=True,
    )
    for number, name in enumerate(columns):
        table.add_column(Text(name), justify="left" if number < left else "right", overflow="fold")
    return table


def show_sheet(to: Console, sheet: CostSheet, marks: Marks, price: Price) -> None:
    """Print a cost sheet with its marks and its price."""
    words = Words(sheet.shop)
    head = f"{sheet.title}\n{sheet.finish.title}, {float(sheet.work.parts):.0f} parts, in {sheet.shop.currency}"
    table = grid(head, ("step", "min", "cash", "labour", "mach.", "overh.", "total"))
    for line in sheet.lines:
        money = [words.amount(getattr(line, kind)) for kind in MONEY]
        mark = "*" if sheet.kind(line) == "guess" else ""
        table.add_row(Text(words.title(line) + mark), f"{float(line.minutes):.0f}", *money, words.amount(line.total))
    table.add_section()
    totals = [words.amount(getattr(sheet, kind)) for kind in MONEY]
    table.add_row("full cost", f"{float(sheet.minutes):.0f}", *totals, words.amount(sheet.total), style="bold")
    to.print(table)
    to.print(Text(f"* rests on a guess: {sheet.guessed_share():.0%} of the cost does"))
    to.print(
        Text(
            f"oven visits of a part: {float(sheet.cycles):.0f} planned,"
            f" {float(sheet.expected_cycles):.1f} with the rework to be expected"
        )
    )
    _show_price(to, sheet, marks, price, words)
    _show_cautions(to, sheet)


def _show_price(to: Console, sheet: CostSheet, marks: Marks, price: Price, words: Words) -> None:
    policy = sheet.shop.policy
    table = grid("Four marks of the price", ("mark", words.shop.currency))
    table.add_row("cash floor: powder, energy, wages, bought-in work", words.money(float(marks.cash_floor)))
    table.add_row("break-even: owner paid, machines and bills covered", words.money(float(marks.break_even)))
    table.add_row(f"target: leaves {policy.target_margin:.0%} of the price", words.money(float(marks.target)))
    scarce = f"cash and what the {policy.scarce.resource}'s hours bring elsewhere"
    table.add_row(scarce, words.money(float(marks.scarce)))
    to.print(table)
    if sheet.refused:
        to.print(Text("NO PRICE", style="bold red"))
        for reason in sheet.refused:
            to.print(Text(f"  {reason}", style="red"))
        return
    worth = worth_per_hour(price.net, sheet, "owner")
    note = "the minimum charge decides" if price.at_minimum else f"margin {float(price.margin_share):.0%} of the price"
    tax = f"sales tax {policy.sales_tax:.0%}: {words.money(float(price.tax))}"
    kind = "with tax" if policy.prices_include_tax else "without tax"
    to.print(Text(f"price {words.money(float(price.printed))} {kind}; {note}; {tax}", style="bold"))
    ahead = words.money(deposit(float(price.net), sheet))
    to.print(Text(f"earns {words.money(float(worth))} per owner hour after cash; deposit {ahead}"))


def _show_cautions(to: Console, sheet: CostSheet) -> None:
    told = cautions(sheet)
    if told:
        to.print(Text("\nUsual cautions; local codes and licensed trades decide", style="bold"))
        for title, text in told:
            to.print(Padding(Text.assemble((f"{title}: ", "italic"), text), (0, 0, 0, 2)))


def show_comparison(to: Console, comparison: Comparison, rules: dict[str, ExtraRule]) -> None:
    """Print finishes side by side: steps, marks, price, the extra and its rule."""
    shop = comparison.sides[0].sheet.shop
    words, sides = Words(shop), comparison.sides
    names = [side.sheet.finish.title for side in sides]
    table = grid(f"{comparison.job.title}: what each step costs, in {shop.currency}", ("step", *names))
    titles: dict[str, list[float]] = {}
    for line in sorted((line for side in sides for line in side.sheet.lines), key=place):
        titles.setdefault(words.title(line), [0.0] * len(sides))
    for number, side in enumerate(sides):
        for line in side.sheet.lines:
            titles[words.title(line)][number] += float(line.total)
    for title, costs in titles.items():
        table.add_row(Text(title), *[words.amount(cost) if cost else "–" for cost in costs])
    table.add_section()
    table.add_row("full cost = break-even", *[words.amount(s.marks.break_even) for s in sides], style="bold")
    table.add_row("of it cash", *[words.amount(s.marks.cash_floor) for s in sides])
    table.add_row("attended minutes", *[f"{float(s.sheet.minutes):.0f}" for s in sides])
    table.add_row(f"target at {shop.policy.target_margin:.0%} margin", *[words.amount(s.marks.target) for s in sides])
    table.add_row("price to print", *[_printed(s.sheet, s.price) for s in sides], style="bold")
    table.add_row("margin left", *[f"{float(s.price.margin_share):.1%}" for s in sides])
    extras = [words.amount(extra_keeping_margin(comparison, s.key)) if s is not sides[0] else "–" for s in sides]
    table.add_row("extra that keeps the margin", *extras, style="bold")
    to.print(table)
    for key, rule in rules.items():
        side = comparison.side(key)
        per = words.measure(rule.per_m, "money/m")
        to.print(
            Text(
                f"{side.sheet.finish.title}: extra = {words.money(rule.per_job)} a job"
                f" + {words.money(rule.per_part)} a part + {per} of line"
            )
        )
    for side in sides:
        for reason in side.sheet.refused:
            to.print(Text(f"NO PRICE for {side.sheet.finish.title}: {reason}", style="bold red"))


def _printed(sheet: CostSheet, price: Price) -> str:
    return "do not quote" if sheet.refused else Words(sheet.shop).amount(price.printed)


def show_list(to: Console, prices: PriceList) -> None:
    """Print the price list: single-tone beside two-tone, the extra, and the margin of each."""
    shop, code = prices.shop, prices.shop.currency
    words = Words(shop)
    frame = prices.side_by_side()
    kind = "with sales tax" if shop.policy.prices_include_tax else "without sales tax"
    several = frame["quantity"].nunique() > 1
    columns = ("item", *(("quantity",) if several else ()), "single-tone", "margin", "two-tone", "margin", "extra")
    table = grid(f"Price list of {shop.front.name}, in {code} {kind}", columns)
    last = ""
    flagged = False
    for row in frame.to_dict(orient="records"):
        first = row["item"] != last
        last = row["item"]
        sold = "" if row["sold_by"] in {"each", "metre"} or row["sold_by"] in row["title"] else f", {row['sold_by']}"
        cells = [f"{row['title']}{sold}" if first else ""]
        if several:
            cells.append(str(row["quantity"]))
        for column in ("single", "two_tone"):
            price, margin = row[f"{column}_price_{code}"], row[f"{column}_margin_share"]
            low = not isnan(price) and margin < shop.policy.target_margin - 1e-9
            flagged = flagged or low
            cells.append("do not quote" if isnan(price) else words.money(price, cents=price % 1 > 0))
            cells.append("" if isnan(price) else f"{margin:.0%}{'!' if low else ''}")
        extra = row[f"extra_{code}"]
        cells.append("" if isnan(extra) else words.money(extra, cents=extra % 1 > 0))
        table.add_row(*[Text(cell) for cell in cells])
    to.print(table)
    policy = shop.policy
    to.print(
        Text(
            f"Minimum charge {words.money(policy.minimum_charge)}; rush {policy.rush_surcharge:.0%} more;"
            f" deposit {policy.deposit:.0%}; valid {policy.valid_days} days."
            " Margin is the share of the price that is left after the full cost."
        )
    )
    if flagged:
        to.print(Text(f"! below the wanted margin of {policy.target_margin:.0%}"))
    for text in dict.fromkeys(text for text in prices.refused if text):
        to.print(Text(f"No price: {text}", style="red"))


def show_why(to: Console, sheet: CostSheet, name: str) -> None:
    """Print the sum behind one line."""
    line = sheet.line(name)
    words = Words(sheet.shop)
    to.print(Text(f"{words.title(line)}: {words.money(float(line.total))}", style="bold"))
    for row in why(sheet, line):
        to.print(Padding(Text(row), (0, 0, 0, 2)))
    for title, text in cautions(sheet):
        if words.title(line).startswith(title):
            to.print(Padding(Text(f"Caution: {text}", style="italic"), (0, 0, 0, 2)))
