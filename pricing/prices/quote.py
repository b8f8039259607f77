"""A quote: what a job costs, its price and where that comes from, and what forbids one.

Takes    a shop and a job.
Gives    one record that commands, pages, papers, the week and the spreadsheet read: cost sheet, marks, lines of the
         order by their tariffs, price, deposit, extra over one colour, refusals, cautions.
Why      the same work has one price: a listed part by the list, any other by a tariff laid in the same way.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Literal, TypeAlias

from pricing.basis.errors import BadInput, Problem
from pricing.costing.sheet import CostSheet, cost
from pricing.parts.job import Job
from pricing.prices.colours import plain_finish
from pricing.prices.marks import Marks, deposit, margin_of, marks_of, panel_of
from pricing.prices.order_lines import QuoteLine, line_of_lot, merged
from pricing.prices.price_rule import OrderLine, Price, order_price, times_listed
from pricing.shop.shop import Book, Shop

if TYPE_CHECKING:
    import pandas as pd

    from pricing.costing.risk import Risk

Origin: TypeAlias = Literal["list", "worked out", "minimum", "refused"]
"""Where a price comes from: the list, a tariff laid for this job, the minimum charge; or there is none."""

ENDS: tuple[Literal["low"], Literal["high"]] = ("low", "high")
SEED, DRAWS = 20261125, 16_384
"""One seed, and so many draws, wherever a chance of loss is told: the same job has one chance."""


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
        """Return the price; a job without one is refused."""
        if self.price is None:
            accepts = "one that may be priced"
            reasons = [Problem("the job", "not to be quoted", accepts, reason) for reason in self.refused]
            raise BadInput(self.job.title, reasons)
        return self.price

    @property
    def net(self) -> float:
        """Price without tax; a job without one is refused. [money]"""
        return float(self.must_price().net)

    @cached_property
    def ends(self) -> "tuple[Quote, Quote] | None":
        """The same job at the low and at the high end of its amounts; None where all of them are known, or refused.

        Raises
        ------
        BadInput
            It cannot be done at one of its ends: a part too heavy for every oven.
        """
        if self.price is None or not self.job.fixed_at_intake:
            return None
        low, high = (quote(self.shop, self.job.at(end), finish=self.finish, book=self._book) for end in ENDS)
        times = self.price.times_listed
        return low.at_times(times), high.at_times(times)

    def asking(self, net: float) -> "Quote":
        """Return the same quote at the price without tax that the owner asks, whatever the list comes to. [money]"""
        price = self.must_price()
        asked = price.asked(net, self.shop.policy, self.shop.currency)
        return self if asked is price else replace(self, price=asked)

    def at_times(self, times: float) -> "Quote":
        """Return the same quote at so many times its price, on a price point; itself where refused."""
        if times == 1 or self.price is None:
            return self
        return self.asking(times_listed(self.net, times, self.shop.policy))

    @property
    def between(self) -> tuple[Price, Price] | None:
        """From which to which price it may come, fixed at intake; None where it comes to the same at both ends."""
        if self.ends is None:
            return None
        # each end is laid and rounded by itself: none may pass the likely price
        three = sorted((*(end.must_price() for end in self.ends), self.must_price()), key=lambda price: price.net)
        return (three[0], three[2]) if three[0].net < three[2].net else None

    @property
    def _book(self) -> Book | None:
        """Numbers of the quote where they are not the shop's own."""
        return None if self.sheet.book is self.shop.book else self.sheet.book

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

    def risk(self, *, seed: int = SEED, draws: int = DRAWS) -> "Risk":
        """Draw what the job may cost."""
        from pricing.costing.job_cost import JobCost, known_of
        from pricing.costing.risk import plan_risk

        model = JobCost.of(self.shop, self.job, finish=self.finish)
        return plan_risk(model, known_of(self.shop, model), seed=seed, draws=draws)

    def frame(self) -> "pd.DataFrame":
        """Return the cost sheet as a DataFrame: a row a step, minutes and money by kind."""
        return self.sheet.frame()

    def __repr__(self) -> str:
        """Say it in a few lines."""
        code = self.shop.currency
        head = f"<Quote: {self.job.title}, {self.sheet.finish.title}"
        if self.price is None:
            return "\n".join([f"{head}: no price", *[f"  {reason}" for reason in self.refused]]) + ">"
        told = [f"  {line.count} × {line.title}: {line.amount:.2f}" for line in self.lines]
        tax = "with" if self.shop.policy.prices_include_tax else "without"
        if self.between:
            ends = " to ".join(f"{end.printed:.2f}" for end in self.between)
            told.append(f"  from {ends}, fixed at intake")
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
        from html import escape

        rows = [("full cost", f"{self.cost:.2f}")]
        rows += [(f"{line.count} × {line.title}", f"{line.amount:.2f}") for line in self.lines]
        if self.price is None:
            rows += [("no price", reason) for reason in self.refused]
        else:
            rows += [
                ("price without tax", f"{self.net:.2f}"),
                ("from", self.origin),
                ("margin", f"{self.margin_share:.1%}"),
                ("deposit", f"{self.deposit:.2f}"),
            ]
            if self.between:
                ends = " to ".join(f"{end.net:.2f}" for end in self.between)
                rows.append(("fixed at intake, without tax", ends))
        body = "".join(
            f"<tr><th style='text-align:left'>{escape(name)}</th><td style='text-align:right'>{escape(value)}</td></tr>"
            for name, value in rows
        )
        caption = f"{escape(self.job.title)}, {escape(self.sheet.finish.title)}, in {self.shop.currency}"
        return f"<table><caption>{caption}</caption>{body}</table>"


def quote(
    shop: Shop, job: Job, *, finish: str | None = None, book: Book | None = None, sheet: CostSheet | None = None
) -> Quote:
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
    key, shop = finish or job.finish, shop.selling(trade=job.trade)
    sheet = sheet if sheet is not None else cost(shop, job, finish=finish, book=book)
    if sheet.refused:
        return Quote(shop, job, sheet, key, (), None)
    powders = [shop.powder(name, job.title) for name in job.powders[: shop.finishes[key].colours]]
    lines = [line_of_lot(shop, job, lot, key, powders, book) for lot in merged(job.lots)]
    panel = panel_of(sheet)
    order = [OrderLine(line.tariff, line.count) for line in lines]
    price = order_price(order, shop.policy, shop.currency, rush=job.rush, panel=panel)
    return Quote(shop, job, sheet, key, tuple(lines), price)


def price_times(found: Quote, times: Sequence[float]) -> list[float]:
    """Work out the prices without tax of so many times what was quoted, by the same tariffs. [money]"""
    panel, policy = found.must_price().panel, found.shop.policy
    prices = []
    for by in times:
        order = [OrderLine(line.tariff, line.count * by) for line in found.lines]
        price = order_price(order, policy, found.shop.currency, rush=found.job.rush, panel=panel)
        prices.append(float(price.net))
    return prices
