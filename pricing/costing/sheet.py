"""A job's cost sheet: one line a step, the loops that are paid for, and what forbids a price.

The same functions cost one job, a list of thousands of rows (arrays of amounts) and a million draws
(arrays of rates).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from pricing.basis.checks import Floats, added
from pricing.basis.errors import BadInput, Problem, nearest, not_known
from pricing.basis.facts import FactKind, weakest
from pricing.basis.identity import Same
from pricing.costing.limits import cautions_of, cures
from pricing.costing.lines import MONEY, Line
from pricing.costing.loops import redone_work
from pricing.costing.oven_choice import choose_oven
from pricing.costing.refusals import planned_visits
from pricing.costing.walk import at_booked_hours, lines_of_work
from pricing.parts.job import Job
from pricing.parts.work import Work, work_of_job
from pricing.shop.finishes import Finish
from pricing.shop.folder import known_steps
from pricing.shop.powders import Powder
from pricing.shop.shop import Book, Built, Shop
from pricing.steps.bake import second_bakes

if TYPE_CHECKING:
    import pandas as pd

COUNTS = ("count.respray", "count.redo")
"""Numbers a book may have beside the shop's: counts of parts gone wrong that were drawn."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CostSheet:
    """What a job costs, line by line.

    Parameters
    ----------
    title : str
        Of the job.
    finish : Finish
        As costed.
    powders : tuple of Powder
        In the order of its colours.
    shop : Shop
        Whose numbers were used.
    book : mapping
        The numbers.
    work : Work
        The amounts.
    lines : tuple of Line
        One per step, then the loops and what is left in the pack.
    cycles : float or array
        Oven visits of one part as planned, without rework.
    expected_cycles : float or array
        The same with the rework that is to be expected.
    refused : tuple of str
        Why no price may be given; empty for nearly every job. For a list: one tuple of reasons a kind.
    """

    title: str
    finish: Finish
    powders: tuple[Powder, ...]
    shop: Shop
    book: Book
    work: Work
    lines: tuple[Line, ...]
    cycles: Floats
    expected_cycles: Floats
    refused: tuple[str, ...]

    @property
    def cautions(self) -> tuple[str, ...]:
        """What the owner should know of the job's heat and air before the price is given; worked out when asked for."""
        return cautions_of(self.work.hot, self.finish, self.powders, self.shop)

    @property
    def total(self) -> Floats:
        """Full cost: the break-even price. [money]"""
        return self.cash + self.labour + self.machines + self.overhead

    @property
    def cash(self) -> Floats:
        """What leaves the till because of this job. [money]"""
        return added(line.cash for line in self.lines)

    @property
    def labour(self) -> Floats:
        """Owner's hours. [money]"""
        return added(line.labour for line in self.lines)

    @property
    def machines(self) -> Floats:
        """Hours machines are held. [money]"""
        return added(line.machines for line in self.lines)

    @property
    def overhead(self) -> Floats:
        """Share of the year's bills. [money]"""
        return added(line.overhead for line in self.lines)

    @property
    def minutes(self) -> Floats:
        """Attended minutes of owner and helper. [min]"""
        return added(line.minutes for line in self.lines)

    @property
    def wages(self) -> Floats:
        """Wages of the helper's minutes: in the cash of the lines, and paid whether or not this job comes. [money]"""
        return self.hours_of("helper") * self.book["hour.helper"]

    @property
    def either_h(self) -> Floats:
        """Hours, of all the job's, that the helper may do and the owner too. [h]"""
        may = self.shop.helper.steps if self.shop.helper else ()
        minutes = (use.minutes for line in self.lines for use in line.uses if use.step in may)
        return sum(minutes, 0.0) / 60.0

    def hours_of(self, resource: str) -> Floats:
        """Hours of a person (``owner``, ``helper``) or of a machine by name. [h]"""
        if resource in {"owner", "helper"}:
            return added(getattr(line, f"{resource}_min") for line in self.lines) / 60.0
        return added(line.machine_min.get(resource, 0.0) for line in self.lines) / 60.0

    def line(self, name: str) -> Line:
        """Return a line by its step, or by step and coat (``coat.2``).

        Raises
        ------
        BadInput
            There is no such line.
        """
        for line in self.lines:
            if name in {line.id, line.step}:
                return line
        ids = [line.id for line in self.lines]
        raise BadInput(self.title, [not_known("step", name, ids)])

    def kind(self, line: Line) -> FactKind:
        """How well a line is known: as well as the least known number in it."""
        return weakest({self.shop.kind_of(key) for key in line.used()})

    def guessed_cost(self, line: Line) -> Floats:
        """Money of a line that rests on guesses: its guessed minutes' share of the time, and the rest of it
        when a number in the rest is guessed. [money]
        """  # noqa: D205
        hands = [term for use in line.uses for term in use.terms if term.gives == "hands"]
        minutes = sum((float(np.sum(term.amount * term.rate)) for term in hands), 0.0)
        guessed = sum(
            (float(np.sum(term.amount * term.rate)) for term in hands if self.shop.kind_of(term.key) == "guess"), 0.0
        )
        wages = line.helper_min * (self.book["hour.helper"] / 60.0)
        time = line.labour + line.overhead + wages
        others = line.used() - {term.key for term in hands}
        rest_is_guess = any(self.shop.kind_of(key) == "guess" for key in others)
        return time * (guessed / minutes if minutes else 0.0) + (line.total - time) * float(rest_is_guess)

    def guessed_share(self) -> float:
        """Share of the cost that rests on guesses, 0 to 1."""
        guessed = sum(float(np.sum(self.guessed_cost(line))) for line in self.lines)
        whole = float(np.sum(self.total))
        return guessed / whole if whole else 0.0

    def by_money(self) -> dict[str, Floats]:
        """Totals of the four kinds of money."""
        return {kind: getattr(self, kind) for kind in MONEY}

    def told_cautions(self) -> list[tuple[str, str]]:
        """What to mind: of this job, then the usual cautions of its steps, each once: title and text."""
        steps = known_steps()
        seen: dict[str, str] = {}
        for line in self.lines:
            if line.step in steps and steps[line.step].caution:
                seen.setdefault(steps[line.step].title, steps[line.step].caution)
        return [*(("This job", text) for text in self.cautions), *seen.items()]

    def frame(self) -> "pd.DataFrame":
        """Return a row a line: minutes and the four kinds of money; of one job, not of arrays."""
        import pandas as pd

        code = self.shop.currency
        rows = [
            {"step": line.id, "attended_min": float(line.minutes)}
            | {f"{kind}_{code}": float(getattr(line, kind)) for kind in MONEY}
            | {f"total_{code}": float(line.total), "known": self.kind(line)}
            for line in self.lines
        ]
        return pd.DataFrame(rows)

    def __repr__(self) -> str:
        """Say what it is in two lines."""
        size = np.shape(self.total)
        what = f"{len(self.lines)} lines" + (f" of {size[0]:,} rows or draws" if size else "")
        total = f"{float(np.mean(self.total)):.2f} {self.shop.currency}" + (" in the mean" if size else "")
        refused = "; no price may be given" if any(self.refused) else ""
        return f"<CostSheet: {self.title}, {self.finish.title}\n  {what}, full cost {total}{refused}>"

    def _repr_html_(self) -> str:
        """Show itself in a notebook."""
        from html import escape

        if np.shape(self.total):
            return f"<pre>{escape(repr(self))}</pre>"
        return str(self.frame().round(2).to_html(index=False))


@lru_cache(maxsize=256)
def _work(job: Same[Job], shop: Built) -> Work:
    """Amounts do not depend on rates: a slider, a search and a million draws add a job up once."""
    return work_of_job(job.thing, shop.thing)


def cost(shop: Shop, job: Job, *, finish: str | None = None, book: Book | None = None) -> CostSheet:
    """Cost a job.

    Parameters
    ----------
    shop : Shop
        The owner's shop.
    job : Job
        What the customer wants done.
    finish : str, optional
        Another finish than the job's, to compare.
    book : mapping, optional
        Other numbers than the shop's means: draws, or one number changed.

    Returns
    -------
    CostSheet

    Raises
    ------
    BadInput
        The finish is unknown, the job names too few powders, a part is larger than every oven, or the book has a
        number that the shop does not.
    """
    key, shop = finish or job.finish, shop.selling(trade=job.trade)
    if book is not None:
        _known_keys(book, shop, job.title)
    recipe = shop.finish(key, job.title)
    powders = [shop.powder(name, job.title) for name in job.powders]
    return cost_of_work(shop, _work(Same(job), Built(shop)), recipe, powders, title=job.title, book=book)


def _known_keys(book: Book, shop: Shop, title: str) -> None:
    unknown = [key for key in book if key not in shop.book and key not in COUNTS]
    if unknown:
        accepts = "a number of the shop's book, such as wipe.line_m.hands"
        raise BadInput(title, [Problem("book", key, accepts, nearest(key, shop.book)) for key in unknown])


def cost_of_work(
    shop: Shop,
    work: Work,
    finish: Finish,
    powders: Sequence[Powder],
    *,
    title: str = "work",
    book: Book | None = None,
    in_oven: bool = False,
) -> CostSheet:
    """Cost amounts, of one job or of many rows at once.

    Parameters
    ----------
    shop : Shop
        The owner's shop.
    work : Work
        Amounts; floats or arrays.
    finish : Finish
        How it is coated.
    powders : sequence of Powder
        In the order of the finish's colours.
    title : str
        For messages.
    book : mapping, optional
        Other numbers than the shop's means.
    in_oven : bool
        Whether the work has its oven already.

    Returns
    -------
    CostSheet

    Raises
    ------
    BadInput
        There are fewer powders than colours.
    """
    if len(powders) < finish.colours:
        mend = f"{finish.title} takes {finish.colours}, in the order of the coats."
        given = f"{len(powders)} given"
        raise BadInput(title, [Problem("powders", given, f"{finish.colours} powders", mend)])
    book = at_booked_hours(book if book is not None else shop.book)
    work = work if in_oven else choose_oven(work, shop, finish, powders)
    again = redone_work(work, finish, shop, book)
    lines = tuple(lines_of_work(work, again, finish, powders, shop, book))
    visits = planned_visits(Same(work.hot), Same(finish), tuple(map(Same, powders)), Same(shop))
    expected = visits.cycles + again.share * cures(finish) + second_bakes(book) * visits.baked
    return CostSheet(
        title=title,
        finish=finish,
        powders=tuple(powders),
        shop=shop,
        book=book,
        work=work,
        lines=lines,
        cycles=visits.cycles,
        expected_cycles=expected,
        refused=visits.refused,
    )
