"""Tables on the terminal: nothing is cut off, at 80 columns and below cells wrap."""

import re
from collections.abc import Iterable, Sequence
from textwrap import wrap
from typing import TYPE_CHECKING, Any

from rich import box
from rich.cells import cell_len
from rich.console import Console, ConsoleOptions, RenderResult
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from pricing.costing.lines import MONEY, Line
from pricing.costing.sheet import CostSheet
from pricing.prices.list_row import ListRow
from pricing.prices.marks import worth_per_hour
from pricing.prices.price_list import PriceList
from pricing.prices.price_rule import as_printed, printed_further, printed_minimum
from pricing.prices.quote import Quote
from pricing.show.words import (
    MARKS,
    ORIGIN,
    Words,
    between_words,
    hour_words,
    open_words,
    order_words,
    place,
    rule_words,
)

if TYPE_CHECKING:
    from pricing.prices.compare import Comparison


def console() -> Console:
    """Return the terminal; 100 columns where there is none to ask."""
    found = Console(highlight=False, emoji=False)
    if not found.is_terminal:
        found.width = max(found.width, 100)
    return found


def tell(*told: str | Table | Padding, style: str = "") -> None:
    """Print tables and texts, each from a new line on; no sign in a text is taken for a style."""
    to = console()
    for one in told:
        to.print(Text(one, style=style) if isinstance(one, str) else one)


class _Whole(Table):
    """A table whose columns break no number, and no word of ordinary length."""

    def add_row(self, *cells: Any, **options: Any) -> None:
        """Add a row, and let each column be as wide as what must not be broken in it."""
        super().add_row(*map(Text, cells), **options)
        for column, cell in zip(self.columns, cells, strict=False):
            words = [cell_len(word) for word in [*re.split(r"\s+|(?<=-)", str(column.header)), *cell.split()]]
            least = max(map(cell_len, cell.split("\n"))) if column.justify == "right" else 0
            column.min_width = max(column.min_width or 0, least, min(max(words, default=0), _WORD))

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """Break the heads of figures between words, short where texts would break else; then let texts give way."""
        least = [column.min_width or 0 for column in self.columns]
        whole = [
            width if column.justify == "right" else max(map(cell_len, map(str, column.cells)), default=width)
            for column, width in zip(self.columns, least, strict=True)
        ]
        free = options.max_width - sum(whole) - 2 * len(whole)
        for column, width in zip(self.columns, least, strict=True):
            if column.justify == "right":
                room = width if free < _WORD else max(width, _WORD)
                lines = wrap(str(column.header), room)
                column.header, column.no_wrap = Text("\n".join(lines)), True
                column.width = max([width, *map(cell_len, lines)])
        return super().__rich_console__(console, options)


_WORD = 12


def grid(title: str, columns: Sequence[str], rows: Iterable[Sequence[str]] = (), *, left: int = 1) -> Table:
    """Make a table in the one style of this workbook; the first ``left`` columns hold words, the others figures."""
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
    for row in rows:
        table.add_row(*row)
    return table


def show_quote(quote: Quote) -> None:
    """Print a cost sheet with its marks and its price."""
    sheet = quote.sheet
    words = Words(sheet.shop)
    head = f"{sheet.title}\n{sheet.finish.title}, {float(sheet.work.parts):.0f} parts, in {sheet.shop.currency}"
    table = grid(head, ("step", "min", "cash", "labour", "mach.", "overh.", "total"))
    for line in sheet.lines:
        mark = "*" if sheet.kind(line) == "guess" else ""
        table.add_row(words.title(line) + mark, *_amounts(words, line))
    table.add_section()
    table.add_row("full cost", *_amounts(words, sheet), style="bold")
    tell(
        table,
        f"* rests on a guess: {sheet.guessed_share():.0%} of the cost does",
        f"oven visits of a part: {float(sheet.cycles):.0f} planned,"
        f" {words.sig(float(sheet.expected_cycles), 2)} with the rework to be expected",
    )
    _show_price(quote, words)
    if told := sheet.told_cautions():
        tell("\nUsual cautions; local codes and licensed trades decide", style="bold")
        tell(_inset(*(Text.assemble((f"{title}: ", "italic"), text) for title, text in told)))


def _amounts(words: Words, one: Line | CostSheet) -> list[str]:
    money = [words.amount(getattr(one, kind)) for kind in (*MONEY, "total")]
    return [f"{float(one.minutes):.0f}", *money]


def _inset(*rows: Text) -> Padding:
    return Padding(Text("\n").join(rows), (0, 0, 0, 2))


def _show_price(quote: Quote, words: Words) -> None:
    if quote.price is None:
        tell("NO PRICE", style="bold red")
        tell(*(f"  {reason}" for reason in quote.refused), style="red")
        return
    policy, marks, price = quote.shop.policy, quote.marks, quote.price
    rows = [
        (f"{MARKS['cash']}: powder, energy, wages, bought-in work", marks.cash_floor),
        (f"{MARKS['even']}: owner paid, machines and bills covered", marks.break_even),
        (f"{MARKS['target']}: leaves {words.share(policy.target_margin)} of the price", marks.target),
        (f"{MARKS['scarce']}: the cash and what {hour_words(policy.scarce.resource)} brings elsewhere", marks.scarce),
    ]
    columns = ("mark", words.shop.currency)
    tell(grid("Four marks of the price", columns, [(mark, words.money(float(at))) for mark, at in rows]))
    tell(*(f"  {told}" for told in order_words(words, quote)))
    kind = "with tax" if policy.prices_include_tax else "without tax"
    tax = f"sales tax {words.share(policy.sales_tax)}: {words.money(float(price.tax))}"
    margin = f"margin {quote.margin_share:.0%} of the price" + (", LESS THAN YOU WANT" if quote.under_margin else "")
    told = [f"price {words.money(float(price.printed))} {kind}, {ORIGIN[quote.origin]}; {margin}; {tax}"]
    if between := between_words(words, quote):
        told.append(f"{between}: {'; '.join(open_words(words, quote.job))}")
    tell(*told, style="bold")
    worth = float(worth_per_hour(price.net, quote.sheet, "owner"))
    tell(f"earns {words.money(worth)} per owner hour after cash; deposit {words.money(quote.deposit)}")


def show_comparison(comparison: "Comparison") -> None:
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
        table.add_row(title, *[words.amount(cost) if cost else "–" for cost in costs])
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
    tell(table)
    for other in both:
        if other and other.sheet.finish.line != "none":
            tell(*(f"{other.sheet.finish.title}, {told}" for told in rule_words(words, rule_of(first, other))))
    refused = [f"NO PRICE for {side.sheet.finish.title}: {reason}" for side in sides for reason in side.refused]
    tell(*refused, style="bold red")


def show_list(prices: PriceList) -> None:
    """Print the price list: first and each further, single-tone beside two-tone, and the least margin of each."""
    from pricing.prices.visible_rate import visible_rate
    from pricing.show.advice_view import rate_words

    shop, words, policy = prices.shop, Words(prices.shop), prices.shop.policy
    kind = "with sales tax" if policy.prices_include_tax else "without sales tax"
    which = "Price list for the trade" if shop.for_trade else "Price list"
    head = f"{which} of {shop.front.name}, in {shop.currency} {kind}\nThe first of an order, and each further one"
    columns = ("item", "single", "each +", "margin", "two-tone", "each +", "margin")
    pairs = list(zip(prices.rows[::2], prices.rows[1::2], strict=True))
    rows = [(one.item.sold_title, *_row_cells(one, words), *_row_cells(two, words)) for one, two in pairs]
    tell(grid(head, columns, rows))
    if prices.quantities != (1,):
        tell(_orders(prices, words))
    margin = f"Margin: the least share of the price left after the full cost, for any number up to {policy.list_up_to},"
    tell(*_list_rules(prices, words), f"{margin} in the dearest of the list's colours.")
    rate = visible_rate(shop, prices.items)
    tell(*(rate_words(shop, rate) if rate else ()))
    if any(row.tariff and row.under_from(policy.target_margin, as_printed(policy)) for row in prices.rows):
        tell(f"! below the wanted margin of {words.share(policy.target_margin)} for some number")
    tell(
        *(f"No price: {text}" for text in dict.fromkeys(row.refused for row in prices.rows if row.refused)), style="red"
    )


def _orders(prices: PriceList, words: Words) -> Table:
    """What whole orders come to by the list."""
    counts = [f"{n}" for n in prices.quantities]
    table = grid("What an order comes to, by how many", ("item", *counts, *(f"{n} " for n in counts)))
    table.caption = f"first {', '.join(counts)} single-tone, then {', '.join(counts)} two-tone"
    for one, two in zip(prices.rows[::2], prices.rows[1::2], strict=True):
        totals = [prices.order(row, n) for row in (one, two) for n in prices.quantities]
        table.add_row(one.item.sold_title, *[words.short(float(at.printed)) if at else "–" for at in totals])
    return table


def _row_cells(row: ListRow, words: Words) -> list[str]:
    if row.tariff is None:
        return ["do not quote", "", ""]
    policy = words.shop.policy
    margin = float(row.margins(as_printed(policy))[: policy.list_up_to].min())
    low = row.under_from(policy.target_margin, as_printed(policy)) is not None
    return [words.short(row.tariff.first), words.short(row.tariff.each), f"{margin:.0%}{'!' if low else ''}"]


def _list_rules(prices: PriceList, words: Words) -> list[str]:
    """Say how the list is added up: further kinds, colours, minimum charge, rush, deposit."""
    policy, further = prices.shop.policy, printed_further(prices.shop.policy)
    kinds = "each kind by its row"
    if further < float("inf"):
        kinds = (
            f"the largest set-up (first less each further) once, and {words.short(further)} for each further"
            " kind, or its own set-up where that is less"
        )
    least, rush = words.short(printed_minimum(policy)), words.share(policy.rush_surcharge)
    ahead = f"deposit {words.share(policy.deposit)}; valid {policy.valid_days} days."
    return [
        f"Several kinds in one order, in one finish and the same colours: {kinds}.",
        f"Minimum charge {least} an order; rush {rush} more; {ahead}",
    ]


def show_why(sheet: CostSheet, name: str) -> None:
    """Print the sum behind one line."""
    from pricing.show.sums import why

    line = sheet.line(name)
    title = Words(sheet.shop).title(line)
    tell(f"{title}: {Words(sheet.shop).money(float(line.total))}", style="bold")
    tell(*(_inset(Text(row)) for row in why(sheet, line)))
    told = [text for step, text in sheet.told_cautions() if title.startswith(step)]
    tell(*(_inset(Text(f"Caution: {text}", style="italic")) for text in told))
