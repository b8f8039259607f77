"""Which guesses matter: shares of the variance, and why the mean is not the point quote.

Takes    a model and what is known, as `pricing.costing.risk` does.
Gives    for each assumption the share of the variance it makes alone (first order) and with all
         others (total); and the difference between the mean of the draws and the point quote, split by
         the assumptions that make it.
Source   first order after Saltelli and others (2010), total after Jansen (1999), as the reference
         library in the tests computes them.
"""

from collections import ChainMap
from collections.abc import Callable, Mapping
from typing import NamedTuple

import numpy as np

from pricing.basis.checks import Floats
from pricing.costing.draws import BLOCK, LUCK, Known, Sampler
from pricing.costing.plan import Model, Plan
from pricing.costing.risk import Risk
from pricing.costing.strata import STRATA, strata

_STEPPED = 50.0  # a slope this many times the usual one, between neighbouring slices, is a step


class VarianceShare(NamedTuple):
    """What one assumption does to the variance of a cost."""

    key: str
    first: float
    total: float
    error: float

    @property
    def is_luck(self) -> bool:
        """Whether it is pure chance, which no measuring of rates takes away."""
        return self.key.startswith(LUCK)


def variance_shares(model: Model | Plan, known: Known, *, seed: int, rows: int = BLOCK) -> tuple[VarianceShare, ...]:
    """Split the variance of a cost by assumption.

    Parameters
    ----------
    model : callable or Plan
        From the book to a cost.
    known : Known
        Assumptions and fixed numbers.
    seed : int
        Same seed, same answer.
    rows : int
        Rows of each of the k + 2 runs, for k assumptions the model reads; rounded up to whole blocks.

    Returns
    -------
    tuple of VarianceShare
        Largest total first. ``error`` is the standard error of ``total``. First orders sum to at
        most 1, totals to at least 1, up to that error. Empty if the cost does not vary.

    Raises
    ------
    BadInput
        As `Sampler`; a cost is not finite.
    """
    blocks = max(1, -(-rows // BLOCK))
    one, other = Sampler(known, seed), Sampler(known, seed, stream=1)
    base, fresh = one.block(0, blocks), other.block(0, blocks)
    plan = Plan.of(model, known)
    cost, again = plan.on(base, base.rows), plan.on(fresh, base.rows)
    variance = float(np.var(np.concatenate([cost, again])))
    if not variance > 0:
        return ()
    middle = float(np.mean(np.concatenate([cost, again])))
    shares = []
    for key in plan.keys:
        mixed = plan.on(_with(base, key, fresh[key]), base.rows)
        first = float(np.mean((again - middle) * (mixed - cost))) / variance
        apart = (cost - mixed) ** 2 / 2
        error = float(np.std(apart)) / variance / np.sqrt(base.rows)
        shares.append(VarianceShare(key, first, float(np.mean(apart)) / variance, error))
    return tuple(sorted(shares, key=lambda share: -share.total))


class Why(NamedTuple):
    """One reason why the mean of the draws is not the point quote."""

    key: str
    amount: float
    stepped: bool


class Difference(NamedTuple):
    """Mean against point quote, and what makes the difference.

    ``together`` is what assumptions do only in company, with the noise of the draws in it.
    """

    point: float
    mean: float
    reasons: tuple[Why, ...]
    together: float
    noise: float

    @property
    def amount(self) -> float:
        """Mean less point quote, in money."""
        return self.mean - self.point

    def __str__(self) -> str:
        return self.say(str)

    def say(self, name: Callable[[str], str], money: Callable[[float], str] = "{:.2f}".format) -> str:
        """Say it in words: ``name`` tells what a key is called, ``money`` writes an amount."""

        def signed(amount: float) -> str:
            return f"{'+' if amount >= 0 else '−'}{money(abs(amount))}"

        text = f"On average it costs {money(self.mean)}, the quote says {money(self.point)}: {signed(self.amount)}."
        told = [why for why in self.reasons if abs(why.amount) > self.noise][:3]
        for why in told:
            text += f" {signed(why.amount)} from {name(why.key)}: {_cause(why)}."
        if abs(self.together) > 2 * self.noise:
            text += f" {signed(self.together)} comes from assumptions that act together."
        elif not told:
            text += f" That is less than playing it through can tell ({money(self.noise)})."
        return text


def explain_mean(model: Model | Plan, known: Known, answer: Risk) -> Difference:
    """Say why the mean of the draws differs from the point quote.

    Parameters
    ----------
    model, known
        As the run that gave ``answer``.
    answer : Risk
        From `pricing.costing.risk.plan_risk`.

    Returns
    -------
    Difference
        Each assumption is let run over all its strata, with all others at their means; where the
        cost is a straight line in it, it moves nothing. No draws are needed for that.

    Raises
    ------
    BadInput
        A cost is not finite.
    """
    middle = known.means()
    plan = Plan.of(model, known)
    calm = Plan(plan.model, known, luck=False)
    reasons = []
    for key in plan.keys:
        luck = key.startswith(LUCK)
        if luck:
            evenly = (np.arange(STRATA) + 0.5) / STRATA
            cost = np.broadcast_to(np.asarray(plan.model(_with(middle, key, evenly))), (STRATA,))
            reasons.append(Why(key, float(cost.mean()) - answer.point, stepped=False))
            continue
        values = strata(known.uncertain[key])
        cost = calm.on(_with(middle, key, values), STRATA)
        slope = np.abs(np.diff(cost) / np.diff(values))
        least = 1e-9 * (float(cost.max()) - float(cost.min())) / (float(values[-1]) - float(values[0]))
        stepped = bool(slope.max() > _STEPPED * max(float(np.median(slope)), least))
        reasons.append(Why(key, float(cost.mean()) - answer.point, stepped))
    reasons.sort(key=lambda why: -abs(why.amount))
    alone = sum(why.amount for why in reasons)
    together = answer.mean - answer.point - alone
    return Difference(answer.point, answer.mean, tuple(reasons), together, answer.standard_error)


def _cause(why: Why) -> str:
    if why.stepped:
        return "the cost goes in whole steps (loads or packs)"
    return (
        "a bad value costs more than a good one saves"
        if why.amount > 0
        else "a good value saves more than a bad one costs"
    )


def _with(book: Mapping[str, Floats], key: str, values: Floats) -> Mapping[str, Floats]:
    return ChainMap({key: values}, book)  # type: ignore[arg-type]  # only read, never written
