"""A job's cost as a function of the book, so that it can be drawn, moved and solved.

Takes    a shop, a job, a finish; a book of numbers.
Gives    a model for `pricing.costing.risk`: with means it is the point quote, word for word; with draws
         its loops count whole parts that went wrong (negative binomial), with oven loads of their own.
"""

from collections import ChainMap
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from pricing.basis.checks import Floats
from pricing.basis.errors import BadInput, Problem
from pricing.basis.facts import Source
from pricing.costing.draws import LUCK, Known
from pricing.costing.graph import traceable
from pricing.costing.loops import reject_chance
from pricing.costing.oven_choice import choose_oven
from pricing.costing.risk import Risk
from pricing.costing.risk import plan_risk as run
from pricing.costing.sheet import CostSheet, cost_of_work
from pricing.costing.spread import spread_of
from pricing.parts.job import Job
from pricing.parts.work import Work, work_at, work_of_job
from pricing.shop.finishes import Finish
from pricing.shop.powders import Powder
from pricing.shop.rates import Assumption
from pricing.shop.shop import Shop

REDO_LUCK = f"{LUCK}redo"
"""Luck of rejects found after cure; the same for all finishes, so that they compare draw by draw."""
RESPRAY_LUCK = f"{LUCK}respray"
"""Luck of lines spoiled before cure."""
AMOUNT = "amount."
"""Prefix of keys that are amounts of a job: ``amount.<title>.<number of the part>.<field>``."""
AMOUNT_UNITS = {"area_m2": "m**2", "mass_kg": "kg", "edge_m": "m", "line_m": "m", "repair_m": "m"}
"""Amounts that have a unit; all others are counts."""
_RANGE = Source("range", "guess", "the job's own range", "", "", "")


_TOO_FAR = -600.0  # logarithm of the chance of no failure at all, near the smallest float


@traceable
def failures(good: Floats, chance: Floats, luck: Floats) -> Floats:
    """Count failures before a number of successes: the negative binomial, by its inverse.

    Parameters
    ----------
    good : float or (n,) array
        Parts that must come out good; whole numbers.
    chance : float or (n,) array
        Chance that one attempt fails, 0 to below 1.
    luck : float or (n,) array
        Uniform numbers above 0 and below 1, such as ``draws["luck.reject"]``.

    Returns
    -------
    float or (n,) array
        Whole counts; their mean is ``good x chance/(1 - chance)``.

    Raises
    ------
    BadInput
        A chance is not from 0 to below 1.

    Examples
    --------
    >>> failures(1, 0.1, np.array([0.5, 0.95, 0.995]))
    array([0., 1., 2.])
    """
    p, u, n = np.broadcast_arrays(*(np.asarray(value, dtype=np.float64) for value in (chance, luck, good)))
    if not (np.all(p >= 0) and np.all(p < 1)):
        problem = Problem("chance", float(p[~((p >= 0) & (p < 1))].flat[0]), "from 0 to below 1")
        raise BadInput("a loop", [problem])
    shape, p, u, n = p.shape, p.ravel(), u.ravel(), n.ravel()
    none = n * np.log1p(-p)
    if none.min() < _TOO_FAR:
        from scipy.stats import nbinom  # heavy, and slow: only where the sum below would begin at nothing

        found = np.asarray(nbinom.ppf(u, n, 1 - p), dtype=np.float64)
        return float(found[0]) if not shape else found.reshape(shape)
    term = np.exp(none)
    left = u - term
    count = np.zeros(p.size)
    on = np.flatnonzero(left > 0)
    still, k = on, 0.0
    while on.size:  # fewer are left after each round, so the rounds cost little
        k += 1
        term, left, p, n = (array.take(on, mode="wrap") for array in (term, left, p, n))
        count[still] = k
        term = term * p * ((n + k - 1) / k)
        left = left - term
        grows = p * (n + k) > k + 1
        on = np.flatnonzero((left > 0) & (grows | (term > 1e-18)))  # smaller terms no longer move the sum
        still = still.take(on, mode="wrap")
    return float(count[0]) if not shape else count.reshape(shape)


def unsure_amounts(job: Job) -> dict[str, Assumption]:
    """Collect a job's ranges as numbers to draw; the likely amount is the one it is costed at."""
    return {
        key: Assumption(key, *ends, AMOUNT_UNITS.get(name, "number"), _RANGE, "", "", "")
        for at, lot in enumerate(job.lots, 1)
        for name, ends in lot.ranges.items()
        for key in [f"{AMOUNT}{job.title}.{at}.{name}"]
    }


def known_of(shop: Shop, *models: "JobCost", rows: Mapping[str, Assumption] | None = None) -> Known:
    """Return what a shop knows of a job to come, and how unsure it is of each.

    Parameters
    ----------
    shop : Shop
        The owner's shop.
    *models : JobCost
        Jobs whose amounts are not sure either.
    rows : mapping of Assumption, optional
        The shop's three-point numbers where some are moved.
    """
    known = spread_of(shop, shop.uncertain if rows is None else rows)
    amounts = {key: row for model in models for key, row in model.amounts.items()}
    return Known({**known.uncertain, **amounts}, known.certain)


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
    job : Job, optional
        Whose amounts may be drawn.
    amounts : mapping of Assumption
        Those that are not sure, by key; they stand at the likely ones where a book has them not.
    line_m : float or array, optional
        Other metres of line of the whole job than it has. [m]
    """

    shop: Shop
    work: Work
    finish: Finish
    powders: tuple[Powder, ...]
    title: str
    job: Job | None = None
    amounts: Mapping[str, Assumption] = field(default_factory=dict)
    line_m: Floats | None = None

    @classmethod
    def of(cls, shop: Shop, job: Job, *, finish: str = "") -> "JobCost":
        """Make it of a job.

        Parameters
        ----------
        shop, job
            As in `pricing.costing.sheet.cost`.
        finish : str
            Another finish than the job's.

        Raises
        ------
        BadInput
            The finish or a powder is unknown, or a part is larger than every oven.
        """
        shop = shop.selling(trade=job.trade)
        recipe = shop.finish(finish or job.finish, job.title)
        powders = tuple(shop.powder(name, job.title) for name in job.powders)
        return cls(shop, work_of_job(job, shop), recipe, powders, job.title, job, unsure_amounts(job))

    def with_line(self, line_m: Floats) -> "JobCost":
        """Return it with other metres of line of the whole job. [m]"""
        return replace(self, line_m=line_m)

    def _work(self, book: Mapping[str, Floats]) -> tuple[Work, bool]:
        """Amounts, as far as a book has them, and whether the oven is chosen: an owner chooses by the likely ones."""
        work, drawn = self.work, {}
        for key in self.amounts:
            if key in book:
                at, name = key.removeprefix(f"{AMOUNT}{self.title}.").split(".")
                drawn[int(at) - 1, name] = np.rint(book[key]) if name == "quantity" else book[key]
        if drawn and self.job is not None:
            chosen = choose_oven(work, self.shop, self.finish, self.powders)
            work = work_at(chosen, self.job, self.shop, drawn)
        return (work if self.line_m is None else replace(work, line_m=self.line_m)), bool(drawn)

    def sheet(self, book: Mapping[str, Floats]) -> CostSheet:
        """Return the whole cost sheet.

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
        work, in_oven = self._work(book)
        parts = work.parts
        if REDO_LUCK in book:
            counts["count.redo"] = failures(parts, reject_chance(work, self.finish, book), book[REDO_LUCK])
        wiped = float(len(self.finish.lines("wiped")))
        if wiped and RESPRAY_LUCK in book:
            counts["count.respray"] = failures(parts * wiped, book["spoil.wiped"], book[RESPRAY_LUCK])
        numbers = ChainMap(counts, book) if counts else book  # type: ignore[arg-type]  # only read
        return cost_of_work(self.shop, work, self.finish, self.powders, title=self.title, book=numbers, in_oven=in_oven)

    def __call__(self, book: Mapping[str, Floats]) -> Floats:
        """Work out the full cost. [money]."""
        return self.sheet(book).total


def risk(shop: Shop, job: Job, *, seed: int = 1, draws: int = 65_536, finish: str = "") -> Risk:
    """Draw the full cost of a job from the shop's own three-point numbers.

    Parameters
    ----------
    shop, job
        As in `pricing.costing.sheet.cost`.
    seed, draws : int
        Same seed, same answer; how many draws.
    finish : str
        Another finish than the job's.

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
    model = JobCost.of(shop, job, finish=finish)
    return run(model, known_of(shop, model), seed=seed, draws=draws)
