"""Tables on the terminal: nothing is cut off, at 80 columns and below cells wrap."""

import re
from collections.abc import Sequence
from textwrap import wrap
from typing import TYPE_CHECKING, Any

from rich import box
from rich.cells import cell_len
from rich.console import Console, ConsoleOptions, RenderResult
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from pricing.costing.lines import MONEY
from pricing.costing.sheet import CostSheet
from pricing.prices.list_row import ListRow
from pricing.prices.marks import worth_per_hour
from pricing.prices.price_list import PriceList
from pricing.prices.price_rule import as_printed, printed_further, printed_minimum
from pricing.prices.quote import Quote
from pricing.shop.shop import Shop
from pricing.show.words import MARKS, Words, between_words, hour_words, open_words, order_words, place, rule_words

if TYPE_CHECKING:
    from pricing.prices.compare import Comparison


def console() -> Console:
    """Return the terminal; 100 columns where there is none to ask."""
    found = Console(highlight=False, emoji=False)
    if not found.is_terminal:
        found.width = max(found.width, 100)
    return found


def say(to: Console, text: str, style: str = "") -> None:
    """Print a text as it stands: no sign in it is taken for a style."""
    to.print(Text(text, style=style))


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
                lines = wrap(str(column.header), room)
                column.header, column.no_wrap = Text("\n".join(lines)), True
                column.width = max([width, *map(cell_len, lines)])
        return super().__rich_console__(console, options)


_WORD = 12


def grid(title: str, columns: Sequence[str], *, left: int = 1) -> Table:
    """Return an empty table: words to the left, figures to the right, nothing cut off."""
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


def show_quote(to: Console, quote: Quote) -> None:
    """Print a cost sheet with its marks and its price."""
    sheet = quote.sheet
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
    say(to, f"* rests on a guess: {sheet.guessed_share():.0%} of the cost does")
    say(
        to,
        f"oven visits of a part: {float(sheet.cycles):.0f} planned,"
        f" {words.sig(float(sheet.expected_cycles), 2)} with the rework to be expected",
    )
    _show_price(to, quote, words)
    _show_cautions(to, sheet)


def _show_price(to: Console, quote: Quote, words: Words) -> None:
    if quote.price is None:
        say(to, "NO PRICE", style="bold red")
        for reason in quote.refused:
            say(to, f"  {reason}", style="red")
        return
    policy, marks = quote.shop.policy, quote.marks
    table = grid("Four marks of the price", ("mark", words.shop.currency))
    table.add_row(f"{MARKS['cash']}: powder, energy, wages, bought-in work", words.money(float(marks.cash_floor)))
    table.add_row(f"{MARKS['even']}: owner paid, machines and bills covered", words.money(float(marks.break_even)))
    wanted = words.share(policy.target_margin)
    table.add_row(f"{MARKS['target']}: leaves {wanted} of the price", words.money(float(marks.target)))
    scarce = f"{MARKS['scarce']}: the cash and what {hour_words(policy.scarce.resource)} brings elsewhere"
    table.add_row(scarce, words.money(float(marks.scarce)))
    to.print(table)
    price = quote.price
    for told in order_words(words, quote):
        say(to, f"  {told}")
    worth = worth_per_hour(price.net, quote.sheet, "owner")
    kind = "with tax" if policy.prices_include_tax else "without tax"
    tax = f"sales tax {words.share(policy.sales_tax)}: {words.money(float(price.tax))}"
    margin = f"margin {quote.margin_share:.0%} of the price" + (", LESS THAN YOU WANT" if quote.under_margin else "")
    origin = {"list": "by the list", "worked out": "worked out for this job", "minimum": "the minimum charge decides"}
    say(to, f"price {words.money(float(price.printed))} {kind}, {origin[quote.origin]}; {margin}; {tax}", style="bold")
    if told := between_words(words, quote):
        say(to, f"{told}: {'; '.join(open_words(words, quote.job))}", style="bold")
    ahead = words.money(quote.deposit)
    say(to, f"earns {words.money(float(worth))} per owner hour after cash; deposit {ahead}")


def _show_cautions(to: Console, sheet: CostSheet) -> None:
    told = sheet.told_cautions()
    if told:
        say(to, "\nUsual cautions; local codes and licensed trades decide", style="bold")
        rows = [Text.assemble((f"{title}: ", "italic"), text) for title, text in told]
        to.print(Padding(Text("\n").join(rows), (0, 0, 0, 2)))


def show_comparison(to: Console, comparison: "Comparison") -> None:
    """Print finishes side by side: steps, marks, price, the extra and its rule."""
    from pricing.prices.extra import rule_of

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
    targets = [words.amount(s.marks.target) if s.price else "–" for s in sides]
    table.add_row(f"target at {words.share(shop.policy.target_margin)} margin", *targets)
    table.add_row("price", *[words.amount(s.price.printed) if s.price else "do not quote" for s in sides], style="bold")
    table.add_row("margin left", *[words.share(s.margin_share, 1) if s.price else "–" for s in sides])
    first = sides[0]
    both = [side if side is not first and side.price and first.price else None for side in sides]
    extras = [words.amount(side.net - first.net) if side else "–" for side in both]
    table.add_row("extra, as printed", *extras, style="bold")
    exact = [words.amount(float(side.marks.target) - float(first.marks.target)) if side else "–" for side in both]
    table.add_row("extra that keeps the margin", *exact)
    to.print(table)
    for other in both:
        if other and other.sheet.finish.line != "none":
            for told in rule_words(words, rule_of(first, other)):
                say(to, f"{other.sheet.finish.title}, {told}")
    for side in sides:
        for reason in side.refused:
            say(to, f"NO PRICE for {side.sheet.finish.title}: {reason}", style="bold red")


def show_list(to: Console, prices: PriceList) -> None:
    """Print the price list: first and each further, single-tone beside two-tone, and the least margin of each."""
    from pricing.prices.visible_rate import visible_rate
    from pricing.show.advice_view import rate_words

    shop, words, policy = prices.shop, Words(prices.shop), prices.shop.policy
    kind = "with sales tax" if policy.prices_include_tax else "without sales tax"
    which = "Price list for the trade" if shop.for_trade else "Price list"
    head = f"{which} of {shop.front.name}, in {shop.currency} {kind}\nThe first of an order, and each further one"
    table = grid(head, ("item", "single", "each +", "margin", "two-tone", "each +", "margin"))
    for one, two in zip(prices.rows[::2], prices.rows[1::2], strict=True):
        cells = (_sold(one), *_row_cells(one, shop, words), *_row_cells(two, shop, words))
        table.add_row(*[Text(cell) for cell in cells])
    to.print(table)
    if prices.quantities != (1,):
        _show_orders(to, prices, words)
    margin = f"Margin: the least share of the price left after the full cost, for any number up to {policy.list_up_to},"
    for told in (*list_rules(prices, words), f"{margin} in the dearest of the list's colours."):
        say(to, told)
    rate = visible_rate(shop, prices.items)
    for told in rate_words(shop, rate) if rate else ():
        say(to, told)
    if any(row.tariff and row.under_from(policy.target_margin, as_printed(policy)) for row in prices.rows):
        say(to, f"! below the wanted margin of {words.share(policy.target_margin)} for some number")
    for text in dict.fromkeys(row.refused for row in prices.rows if row.refused):
        say(to, f"No price: {text}", style="red")


def _sold(row: ListRow) -> str:
    item = row.item
    known = item.sold_by in {"each", "metre", "foot"} or item.sold_by in item.title
    return item.title if known else f"{item.title}, {item.sold_by}"


def _show_orders(to: Console, prices: PriceList, words: Words) -> None:
    """Print what whole orders come to by the list."""
    counts = [f"{n}" for n in prices.quantities]
    table = grid("What an order comes to, by how many", ("item", *(f"{n}" for n in counts), *(f"{n} " for n in counts)))
    table.caption = f"first {', '.join(counts)} single-tone, then {', '.join(counts)} two-tone"
    for one, two in zip(prices.rows[::2], prices.rows[1::2], strict=True):
        totals = [prices.order(row, n) for row in (one, two) for n in prices.quantities]
        cells = [words.short(float(total.printed)) if total else "–" for total in totals]
        table.add_row(Text(_sold(one)), *cells)
    to.print(table)


def _row_cells(row: ListRow, shop: Shop, words: Words) -> list[str]:
    if row.tariff is None:
        return ["do not quote", "", ""]
    policy = shop.policy
    margin = float(row.margins(as_printed(policy))[: policy.list_up_to].min())
    low = row.under_from(policy.target_margin, as_printed(policy)) is not None
    amounts = [words.short(row.tariff.first), words.short(row.tariff.each)]
    return [*amounts, f"{margin:.0%}{'!' if low else ''}"]


def list_rules(prices: PriceList, words: Words) -> list[str]:
    """Say how the list is added up: further kinds, colours, minimum charge, rush, deposit."""
    policy, further = prices.shop.policy, printed_further(prices.shop.policy)
    kinds = (
        "each kind by its row"
        if further == float("inf")
        else (
            f"the largest set-up (first less each further) once, and {words.short(further)} for each further"
            " kind, or its own set-up where that is less"
        )
    )
    return [
        f"Several kinds in one order, in one finish and the same colours: {kinds}.",
        (
            f"Minimum charge {words.short(printed_minimum(policy))} an order; rush"
            f" {words.share(policy.rush_surcharge)} more; deposit {words.share(policy.deposit)};"
            f" valid {policy.valid_days} days."
        ),
    ]


def show_why(to: Console, sheet: CostSheet, name: str) -> None:
    """Print the sum behind one line."""
    from pricing.show.sums import why

    line = sheet.line(name)
    words = Words(sheet.shop)
    say(to, f"{words.title(line)}: {words.money(float(line.total))}", style="bold")
    for row in why(sheet, line):
        to.print(Padding(Text(row), (0, 0, 0, 2)))
    for title, text in sheet.told_cautions():
        if words.title(line).startswith(title):
            to.print(Padding(Text(f"Caution: {text}", style="italic"), (0, 0, 0, 2)))
