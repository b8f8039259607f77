"""A quote: what a job costs, its price and where that comes from, and what forbids one.

Takes    a shop and a job.
Gives    one record that commands, pages, papers, the week and the spreadsheet read: cost sheet, marks, lines of the
         order by their tariffs, price, deposit, extra over one colour, refusals, cautions.
Why      the same work has one price: a listed part by the list, any other by a tariff laid in the same way.
Room     prices. Imports basis, costing, parts, shop, prices.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from html import escape
from typing import TYPE_CHECKING, Literal, TypeAlias

from pricing.basis.errors import BadInput, Problem
from pricing.basis.same import Same
from pricing.costing.job_cost import JobCost, known_of
from pricing.costing.risk import Risk, risk
from pricing.costing.sheet import CostSheet, cost
from pricing.parts.items import Item
from pricing.parts.job import Job, Lot
from pricing.parts.part import Part
from pricing.prices.colours import BASE, clear_twin, listed_class, plain_finish
from pricing.prices.margins import margin_of
from pricing.prices.marks import Marks, deposit, marks_of
from pricing.prices.panel import panel_of
from pricing.prices.price_list import adder_of, list_row
from pricing.prices.price_rule import OrderLine, Price, Tariff, order_price
from pricing.prices.row_costs import CLEAR, worked_out
from pricing.shop.own_prices import COLUMNS
from pricing.shop.powders import Powder
from pricing.shop.shop import Book, Shop

if TYPE_CHECKING:
    import pandas as pd

Origin: TypeAlias = Literal["list", "worked out", "minimum", "refused"]
"""Where a price comes from: the list, a tariff laid for this job, the minimum charge; or there is none."""

SEED, DRAWS = 20261125, 16_384
"""One seed, and so many draws, wherever a chance of loss is told: the same job has one chance."""


@dataclass(frozen=True, slots=True)
class QuoteLine:
    """So many of one kind of part, as it is charged.

    Parameters
    ----------
    title : str
        Of the item or part.
    count : int
        How many are sold.
    sold_by : str
        What is counted: each, set, metre.
    pieces : int
        Pieces in all.
    tariff : Tariff
        First, each further, each beyond, with what its colours add.
    adders : tuple of str
        What stands in the tariff beside the row of the list.
    listed : bool
        Whether it is a row of the list.
    own : bool
        Whether the owner has set its price.
    amount : float
        By its tariff, as if it came alone. [money, as printed]
    """

    title: str
    count: int
    sold_by: str
    pieces: int
    tariff: Tariff
    adders: tuple[str, ...]
    listed: bool
    own: bool
    amount: float


@dataclass(frozen=True)
class Quote:
    """One job, costed and priced.

    Parameters
    ----------
    shop, job : Shop, Job
        Whose, and what.
    sheet : CostSheet
        What it costs.
    finish : str
        Key of the finish it is quoted in.
    lines : tuple of QuoteLine
        The order; empty where the job is refused.
    price : Price or None
        None where the job is refused.
    """

    shop: Shop
    job: Job
    sheet: CostSheet
    finish: str
    lines: tuple[QuoteLine, ...]
    price: Price | None

    @property
    def refused(self) -> tuple[str, ...]:
        """Why no price may be given; empty for nearly every job."""
        return self.sheet.refused

    @property
    def origin(self) -> Origin:
        """Where the price comes from."""
        if self.price is None:
            return "refused"
        if self.price.at_minimum:
            return "minimum"
        return "list" if all(line.listed for line in self.lines) else "worked out"

    @cached_property
    def marks(self) -> Marks:
        """The four marks of the price."""
        return marks_of(self.sheet)

    @property
    def cost(self) -> float:
        """Full cost. [money]"""
        return float(self.sheet.total)

    def must_price(self) -> Price:
        """Give the price.

        Raises
        ------
        BadInput
            The job is refused.
        """
        if self.price is None:
            accepts = "one that may be priced"
            reasons = [Problem("the job", "not to be quoted", accepts, reason) for reason in self.refused]
            raise BadInput(self.job.title, reasons)
        return self.price

    @property
    def net(self) -> float:
        """Price without tax. [money]

        Raises
        ------
        BadInput
            The job is refused.
        """
        return float(self.must_price().net)

    @property
    def margin_share(self) -> float:
        """Share of the price without tax that is left after the full cost."""
        return float(margin_of(self.net, self.cost))

    @property
    def under_margin(self) -> bool:
        """Whether it leaves less than the margin that the shop wants."""
        return self.price is not None and self.margin_share < self.shop.policy.target_margin - 1e-9

    @cached_property
    def deposit(self) -> float:
        """What is asked ahead. [money]"""
        return deposit(self.net, self.sheet)

    @property
    def cautions(self) -> list[tuple[str, str]]:
        """Usual cautions of the job's steps, each once: title and text."""
        return self.sheet.told_cautions()

    @cached_property
    def plain(self) -> "Quote":
        """The same job in the shop's plain finish, in its first colour."""
        return quote(self.shop, self.job, finish=plain_finish(self.shop), book=self.sheet.book)

    @property
    def extra(self) -> float | None:
        """Price over that of the plain finish; None where one of the two is refused. [money]"""
        if self.price is None or self.plain.price is None:
            return None
        return self.net - self.plain.net

    def risk(self, *, seed: int = SEED, draws: int = DRAWS) -> Risk:
        """Draw what the job may cost.

        Parameters
        ----------
        seed, draws : int
            Of the draws.
        """
        return risk(JobCost.of(self.shop, self.job, finish=self.finish), known_of(self.shop), seed=seed, draws=draws)

    def frame(self) -> "pd.DataFrame":
        """Give the cost sheet as a DataFrame: a row a step, minutes and money by kind."""
        return self.sheet.frame()

    def __repr__(self) -> str:
        """Say it in a few lines."""
        code = self.shop.currency
        head = f"<Quote: {self.job.title}, {self.sheet.finish.title}"
        if self.price is None:
            return "\n".join([f"{head}: no price", *[f"  {reason}" for reason in self.refused]]) + ">"
        told = [f"  {line.count} × {line.title}: {line.amount:.2f}" for line in self.lines]
        tax = "with" if self.shop.policy.prices_include_tax else "without"
        return "\n".join(
            [
                head,
                *told,
                f"  price {self.price.printed:.2f} {code} {tax} tax, from: {self.origin}",
                f"  full cost {self.cost:.2f}, margin {self.margin_share:.1%}, deposit {self.deposit:.2f}>",
            ]
        )

    def _repr_html_(self) -> str:
        """Show itself in a notebook."""
        rows = [("full cost", f"{self.cost:.2f}")]
        rows += [(f"{line.count} × {line.title}", f"{line.amount:.2f}") for line in self.lines]
        if self.price is None:
            rows += [("no price", reason) for reason in self.refused]
        else:
            rows += [
                ("price without tax", f"{self.net:.2f}"), ("from", self.origin),
                ("margin", f"{self.margin_share:.1%}"), ("deposit", f"{self.deposit:.2f}"),
            ]  # fmt: skip
        body = "".join(
            f"<tr><th style='text-align:left'>{escape(name)}</th><td style='text-align:right'>{escape(value)}</td></tr>"
            for name, value in rows
        )
        caption = f"{escape(self.job.title)}, {escape(self.sheet.finish.title)}, in {self.shop.currency}"
        return f"<table><caption>{caption}</caption>{body}</table>"


def quote(
    shop: Shop, job: Job, *, finish: str | None = None, book: Book | None = None, sheet: CostSheet | None = None
) -> Quote:  # fmt: skip
    """Cost and price a job.

    Parameters
    ----------
    shop : Shop
        The owner's shop.
    job : Job
        What the customer wants done.
    finish : str, optional
        Another finish than the job's, to compare.
    book : mapping, optional
        Other numbers than the shop's means, as floats.
    sheet : CostSheet, optional
        Of the same job, finish and book, where it was worked out already.

    Returns
    -------
    Quote
        Without a price where the job is refused.

    Raises
    ------
    BadInput
        As `pricing.costing.sheet.cost`.

    Examples
    --------
    >>> from pricing.parts.job import read_job
    >>> from pricing.shop.folder import open_shop
    >>> shop = open_shop()
    >>> found = quote(shop, read_job("sign_letters", shop))
    >>> found.origin, found.extra == found.net - found.plain.net
    ('list', True)
    """
    key = finish or job.finish
    sheet = sheet if sheet is not None else cost(shop, job, finish=finish, book=book)
    if sheet.refused:
        return Quote(shop, job, sheet, key, (), None)
    powders = [shop.powder(name, job.title) for name in job.powders[: shop.finishes[key].colours]]
    lines = [_line(shop, job, lot, key, powders, book) for lot in _merged(job.lots)]
    panel = panel_of(sheet)
    order = [OrderLine(line.tariff, line.count) for line in lines]
    price = order_price(order, shop.policy, shop.currency, rush=job.rush, panel=panel)
    return Quote(shop, job, sheet, key, tuple(lines), price)


def price_times(found: Quote, times: Sequence[float]) -> list[float]:
    """Give the prices without tax when another number of the same is ordered, by the same tariffs. [money]

    Parameters
    ----------
    found : Quote
        Of the job; not refused.
    times : sequence of float
        How many times what was quoted.

    Raises
    ------
    BadInput
        The job is refused.
    """
    panel, policy = found.must_price().panel, found.shop.policy
    prices = []
    for by in times:
        order = [OrderLine(line.tariff, line.count * by) for line in found.lines]
        price = order_price(order, policy, found.shop.currency, rush=found.job.rush, panel=panel)
        prices.append(float(price.net))
    return prices


def _merged(lots: Sequence[Lot]) -> list[Lot]:
    """Lots of the same part are one kind, however they were written down."""
    found: list[Lot] = []
    for lot in lots:
        for at, other in enumerate(found):
            if other.part == lot.part and other.item == lot.item:
                found[at] = other.model_copy(update={"quantity": other.quantity + lot.quantity})
                break
        else:
            found.append(lot)
    return found


def _line(shop: Shop, job: Job, lot: Lot, finish: str, powders: Sequence[Powder], book: Book | None) -> QuoteLine:
    by_list = None if job.alone else _by_list(shop, job, lot, finish, powders, book)
    if by_list is not None:
        tariff, adders, own = by_list
    else:
        item = _item(Same(lot.part), Same(lot.item))
        names = tuple(powder.name for powder in powders)
        tariff, adders, own = _laid(shop, item, finish, names, alone=job.alone, book=book), (), False
    title = lot.item.title if lot.item and lot.listed else lot.part.name
    amount = float(tariff.total(lot.quantity))
    return QuoteLine(
        title, lot.quantity, lot.sold_by, lot.pieces, tariff, adders, by_list is not None, own, amount
    )  # fmt: skip


def _by_list(
    shop: Shop, job: Job, lot: Lot, finish: str, powders: Sequence[Powder], book: Book | None
) -> tuple[Tariff, tuple[str, ...], bool] | None:
    """Tariff of a listed part with what its colours and a clear coat add; None where the list has none for it."""
    item = lot.item
    if item is None or not lot.listed:
        return None
    for column in COLUMNS:
        base = getattr(item, column)
        clear = finish != base and clear_twin(shop, base) == finish
        if finish != base and not clear:
            continue
        row = list_row(shop, item, column, book=book)
        if row.tariff is None:
            return None
        colours = powders[: len(powders) - 1] if clear else powders
        names = [listed_class(shop, powder) for powder in colours if powder.name not in job.own_powders]
        wanted = [name for name in names if name != BASE] + ([CLEAR] if clear else [])
        tariff = row.tariff
        for name in wanted:
            adder = adder_of(shop, item, name, book=book)
            if adder is None:
                return None
            tariff = tariff.plus(adder)
        return tariff, tuple(wanted), row.own is not None and row.own.priced
    return None


@lru_cache(maxsize=1024)
def _item(part: Same[Part], item: Same[Item | None]) -> Item:
    """A part as it would stand on the list; one object a part, so that what is worked out for it is kept."""
    if item.thing is not None:
        return item.thing.model_copy(update={"part": part.thing})
    return Item(
        key="unlisted", title=part.thing.name, sold_by="each", pieces=1, single="", two_tone="", powders=(),
        part=part.thing,
    )  # fmt: skip


def _laid(
    shop: Shop, item: Item, finish: str, powders: tuple[str, ...], *, alone: bool, book: Book | None
) -> Tariff:  # fmt: skip
    if book is not None:
        return worked_out(shop, item, finish, [shop.powders[name] for name in powders], alone=alone, book=book)
    return _kept_laid(Same(shop), Same(item), finish, powders, alone)


@lru_cache(maxsize=1024)
def _kept_laid(shop: Same[Shop], item: Same[Item], finish: str, powders: tuple[str, ...], alone: bool) -> Tariff:
    colours = [shop.thing.powders[name] for name in powders]
    return worked_out(shop.thing, item.thing, finish, colours, alone=alone)
