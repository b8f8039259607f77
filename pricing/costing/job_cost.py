"""A job's cost as a function of the book, so that it can be drawn, moved and solved.

Takes    a shop, a job, a finish; ``total`` or another figure of the cost sheet.
Gives    a model for `pricing.costing.risk`: with means it is the point quote, word for word; with draws
         its loops count whole parts that went wrong (negative binomial), with oven loads of their own.
Room     costing. Imports basis, counts, draws, parts, risk, sheet, shop.
"""

from collections import ChainMap
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, TypeAlias

from pricing.basis.checks import Floats
from pricing.costing.counts import failures
from pricing.costing.draws import LUCK, Known
from pricing.costing.loops import reject_chance
from pricing.costing.risk import Risk
from pricing.costing.risk import risk as run
from pricing.costing.sheet import CostSheet, cost_of_work
from pricing.parts.job import Job
from pricing.parts.work import Work, work_of_job
from pricing.shop.finishes import Finish
from pricing.shop.powders import Powder
from pricing.shop.shop import Shop

Figure: TypeAlias = Literal["total", "cash", "labour", "machines", "overhead", "minutes"]

REDO_LUCK = f"{LUCK}redo"
"""Luck of rejects found after cure; the same for all finishes, so that they compare draw by draw."""
RESPRAY_LUCK = f"{LUCK}respray"
"""Luck of lines spoiled before cure."""


def known_of(shop: Shop) -> Known:
    """Give what a shop knows: its three-point numbers, and those that are bills or decisions.

    Parameters
    ----------
    shop : Shop
        The owner's shop.
    """
    return Known(dict(shop.uncertain), dict(shop.book))


@dataclass(frozen=True)
class JobCost:
    """The cost of a job as a function of the book.

    Parameters
    ----------
    shop : Shop
        The owner's shop.
    work : Work
        Amounts of the job.
    finish : Finish
        How it is coated.
    powders : tuple of Powder
        In the order of the finish's colours.
    title : str
        For messages.
    figure : str
        What of the cost sheet is wanted.
    """

    shop: Shop
    work: Work
    finish: Finish
    powders: tuple[Powder, ...]
    title: str
    figure: Figure = "total"

    @classmethod
    def of(cls, shop: Shop, job: Job, *, finish: str = "", figure: Figure = "total") -> "JobCost":
        """Make it of a job.

        Parameters
        ----------
        shop, job
            As in `pricing.costing.sheet.cost`.
        finish : str
            Another finish than the job's.
        figure : str
            What of the cost sheet is wanted.

        Raises
        ------
        BadInput
            The finish or a powder is unknown, or a part is larger than every oven.
        """
        recipe = shop.finish(finish or job.finish, job.title)
        powders = tuple(shop.powder(name, job.title) for name in job.powders)
        return cls(shop, work_of_job(job, shop), recipe, powders, job.title, figure)

    def sheet(self, book: Mapping[str, Floats]) -> CostSheet:
        """Give the whole cost sheet.

        Parameters
        ----------
        book : mapping
            Numbers, draws, or symbols; where it gives luck, loops are counted, else expected.

        Raises
        ------
        BadInput
            The job names too few powders.
        """
        counts: dict[str, Floats] = {}
        parts = float(self.work.parts)
        if REDO_LUCK in book:
            counts["count.redo"] = failures(parts, reject_chance(self.work, self.finish, book), book[REDO_LUCK])
        wiped = float(len(self.finish.lines("wiped")))
        if wiped and RESPRAY_LUCK in book:
            counts["count.respray"] = failures(parts * wiped, book["spoil.wiped"], book[RESPRAY_LUCK])
        numbers = ChainMap(counts, book) if counts else book  # type: ignore[arg-type]  # only read
        return cost_of_work(self.shop, self.work, self.finish, self.powders, title=self.title, book=numbers)

    def __call__(self, book: Mapping[str, Floats]) -> Floats:
        """Give the figure wanted. [money, or min]."""
        found: Floats = getattr(self.sheet(book), self.figure)
        return found


def risk(shop: Shop, job: Job, *, seed: int = 1, draws: int = 65_536, finish: str = "", progress: bool = False) -> Risk:
    """Draw the full cost of a job from the shop's own three-point numbers.

    Parameters
    ----------
    shop, job
        As in `pricing.costing.sheet.cost`.
    seed, draws : int
        Same seed, same answer; how many draws.
    finish : str
        Another finish than the job's.
    progress : bool
        Show a bar.

    Returns
    -------
    Risk
        Quantiles, the chance of a loss at any price, the price for a chance of loss.

    Raises
    ------
    BadInput
        The finish or a powder is unknown, a part is larger than every oven, or seed or draws are off.

    Examples
    --------
    >>> import pricing
    >>> shop = pricing.open_shop()
    >>> job = pricing.read_job("data/jobs/sign_letters.toml", shop, pricing.read_items(shop))
    >>> answer = pricing.risk(shop, job, seed=1, draws=16_384)
    >>> bool(answer.quantile(0.05) < answer.point < answer.quantile(0.95))
    True
    """
    return run(JobCost.of(shop, job, finish=finish), known_of(shop), seed=seed, draws=draws, progress=progress)
