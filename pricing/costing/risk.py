"""How sure a cost is: the functions of the point quote, run on a million seeded draws.

Takes    a model (a function from the book of numbers to money), what is known of them, a seed.
Gives    what the draws say: quantiles, the chance of a loss at any price, the price for a chance of
         loss one is willing to bear, and the mean beside the point quote.
Keeps    the draws. Two models run with the same assumptions and seed saw the same draws row by row, so
         their difference can be taken draw by draw; it is far less noisy than two separate runs.
Limits   nothing is said beyond the 0.1 % and 99.9 % quantiles, nor where fewer than 50 draws lie
         outside: the strata end there, and so does the evidence.
"""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from pricing.basis.arrays import Array
from pricing.basis.checks import Floats
from pricing.basis.errors import BadInput, Problem
from pricing.costing.draws import BLOCK, Known, Sampler
from pricing.costing.plan import Model, Plan
from pricing.costing.tails import Tails

FARTHEST = 0.001
"""No quantile is quoted nearer to 0 or 1 than this."""
FEWEST_OUTSIDE = 50
"""Draws that must lie outside a quantile before it is quoted."""
MOST_DRAWS = 20_000_000
_CHUNK_BLOCKS = 4


@dataclass(frozen=True)
class Risk:
    """What the draws of one cost say.

    Parameters
    ----------
    costs : (n,) array
        One cost for each draw. [money]
    point : float
        Cost of the point quote. [money]
    wanted : int
        Draws that were asked for; more than ``costs`` holds when the run was stopped.
    seed : int
        Seed of the draws.
    """

    costs: Array
    point: float
    wanted: int
    seed: int

    def __post_init__(self) -> None:
        if not self.costs.size:
            raise BadInput("risk", [Problem("draws", 0, "1 or more", "The run was stopped before its first block.")])
        if not np.isfinite(self.costs).all():
            worst = float(self.costs[~np.isfinite(self.costs)][0])
            raise BadInput("risk", [Problem("cost", worst, "a finite number", "Look at the widest assumption.")])

    @property
    def complete(self) -> bool:
        """Whether all draws asked for were made."""
        return self.costs.size >= self.wanted

    @cached_property
    def mean(self) -> float:
        """Mean cost, in money."""
        return float(self.costs.mean())

    @cached_property
    def standard_error(self) -> float:
        """Standard error of the mean."""
        return float(self.costs.std(ddof=1) / np.sqrt(self.costs.size)) if self.costs.size > 1 else float("inf")

    @cached_property
    def _tails(self) -> Tails:
        return Tails(self.costs)

    @property
    def farthest(self) -> float:
        """Nearest to 0 or 1 that a quantile or a chance is quoted."""
        return min(0.5, max(FARTHEST, FEWEST_OUTSIDE / self.costs.size))

    def _can_tell(self, what: str, shares: Array) -> None:
        far = self.farthest
        bad = shares[~((shares >= far - 1e-12) & (shares <= 1 - far + 1e-12))]
        if bad.size:
            accepts = f"from {far:.4g} to {1 - far:.6g}"
            mend = f"{self.costs.size:,} draws say nothing farther out."
            raise BadInput("risk", [Problem(what, float(bad[0]), accepts, mend)])

    def quantile(self, share: float | Sequence[float]) -> Floats:
        """Work out the cost that a share of the draws stays under.

        Parameters
        ----------
        share : float or sequence of float
            From 0.001 to 0.999, or less far with few draws.

        Returns
        -------
        float or (m,) array
            Cost. [money]

        Raises
        ------
        BadInput
            A share lies farther out than the draws can tell.
        """
        shares = np.atleast_1d(np.asarray(share, dtype=np.float64))
        self._can_tell("quantile", shares)
        found = self._tails.quantiles(list(shares))
        return float(found[0]) if np.ndim(share) == 0 else found

    def chance_of_loss(self, price: Floats) -> Floats:
        """Work out the share of draws that cost more than each price.

        Parameters
        ----------
        price : float or (m,) array
            Prices. [money]

        Returns
        -------
        float or (m,) array
            Chances, 0 to 1; one below 0.001 means "less than 1 in 1,000", not how much less.
        """
        prices = np.atleast_1d(np.asarray(price, dtype=np.float64))
        share = self._tails.above(prices) / self.costs.size
        return float(share[0]) if np.ndim(price) == 0 else share

    def price_for(self, chance: float) -> float:
        """Work out the lowest price at which the chance of loss is no more than wished.

        Parameters
        ----------
        chance : float
            Chance of loss one is willing to bear, 0.001 to 0.999.

        Returns
        -------
        float
            Price; one of the drawn costs. [money]

        Raises
        ------
        BadInput
            The chance is smaller or larger than the draws can tell.
        """
        self._can_tell("chance of loss", np.array([chance]))
        above = int(np.floor(chance * self.costs.size + 1e-9))
        return float(self._tails.ranked([self.costs.size - 1 - above])[0])


def plan_risk(model: Model | Plan, known: Known, *, seed: int, draws: int = 65_536) -> Risk:
    """Run a model on seeded draws of what is known.

    Parameters
    ----------
    model : callable or Plan
        From the book to a cost; called with arrays or symbols, never row by row. A plan is a model that
        was made ready before, which a slider keeps.
    known : Known
        Assumptions and fixed numbers; assumptions the model does not read are not drawn.
    seed : int
        Same seed, same answer to the bit.
    draws : int
        How many.

    Returns
    -------
    Risk
        Ctrl-C ends the run, and what was computed is kept; its ``complete`` is False then.

    Raises
    ------
    BadInput
        The seed or the number of draws is off, nothing was computed, or a cost is not finite.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> known = Known({"wipe": SimpleNamespace(low=2.0, likely=3.5, high=8.0, shape="pert")})
    >>> answer = plan_risk(lambda book: 7.6 * book["wipe"], known, seed=1)
    >>> round(answer.point, 6), round(answer.mean), round(float(answer.chance_of_loss(35.0)), 2)
    (30.4, 30, 0.28)
    """
    sampler = Sampler(known, seed)
    plan = Plan.of(model, known)
    costs = np.empty(_checked(draws))
    blocks = -(-draws // BLOCK)
    done = 0
    with suppress(KeyboardInterrupt):  # what was computed stands
        for first in range(0, blocks, _CHUNK_BLOCKS):
            count = min(_CHUNK_BLOCKS, blocks - first)
            filled = min(draws, (first + count) * BLOCK)
            costs[done:filled] = plan.on_blocks(sampler, first, count)[: filled - done]
            done = filled
    return Risk(costs[:done], plan.point, draws, seed)


def _checked(draws: int) -> int:
    if isinstance(draws, bool) or not isinstance(draws, int) or not 1 <= draws <= MOST_DRAWS:
        raise BadInput("risk", [Problem("draws", draws, f"a whole number from 1 to {MOST_DRAWS:,}")])
    return draws


@contextmanager
def progress_bar(total: int, *, shown: bool, unit: str) -> Iterator[Callable[[int], object]]:
    """Show a bar on the standard error, or nothing; gives the function that moves it on."""
    if not shown:
        yield lambda _steps: None
        return
    from tqdm.auto import tqdm  # heavy in a notebook: only where it is shown

    with tqdm(total=total, unit=unit, leave=False) as bar:
        yield bar.update
