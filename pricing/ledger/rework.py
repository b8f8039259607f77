"""How often work is done again: a beta-binomial per finish class and kind of metal.

Takes    parts done, parts done again, and the three-point guess of the share.
Gives    a `ReworkRate`: the share with its interval, from the guess and the log together.
Model    each try of a part fails with a chance whose belief is a beta distribution of the guess's
         mean and spread. A bad batch spoils many parts at once, so parts of one job are not so many
         independent tries: counts are divided by the spread between jobs where that exceeds chance.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from pricing.basis.arrays import Array
from pricing.basis.facts import fact
from pricing.ledger.intervals import Beta
from pricing.shop.finishes import Finish
from pricing.shop.rates import Assumption


@dataclass(frozen=True, slots=True)
class ReworkRate:
    """A share of tries that fail.

    Parameters
    ----------
    key : str
        Key of the assumption: ``reject.wiped.casting``, ``spoil.wiped``.
    tries, failed : int
        Counted; a part that was done again counts as another try.
    jobs : int
        Jobs.
    share : Beta
        What is known of it after the log.
    clumping : float
        By how much failures come in clumps; 1 when they come singly.
    first, last : str
        Days of the first and last job.
    """

    key: str
    tries: int
    failed: int
    jobs: int
    share: Beta
    clumping: float
    first: str
    last: str


def beta_of(guess: Assumption) -> Beta:
    """Work out the beta distribution with mean and spread of a three-point guess of a share, all from 0 to 1."""
    mean = min(max(guess.mean, 1e-4), 1 - 1e-4)
    spread2 = (mean - guess.low) * (guess.high - mean) / 7  # variance of a beta-PERT
    total = mean * (1 - mean) / spread2 - 1 if spread2 > 0 else fact("ledger.guess_tries")
    total = max(total, 1.0)
    return Beta(mean * total, (1 - mean) * total)


def rework_rate(
    key: str, guess: Assumption, parts: Sequence[int], failed: Sequence[int], days: Sequence[str] = ()
) -> ReworkRate:
    """Join the guess with the parts of each logged job, and how often one had to be done again.

    Examples
    --------
    >>> from pricing.basis.facts import sources
    >>> guess = Assumption("spoil.wiped", 0.02, 0.06, 0.18, "share", sources()["common_practice"], "", "", "")
    >>> rate = rework_rate("spoil.wiped", guess, [40, 60, 50], [1, 2, 2])
    >>> round(guess.mean, 3), round(rate.share.mean, 3)
    (0.073, 0.047)
    """
    again, base = np.asarray(failed, dtype=np.float64), np.asarray(parts, dtype=np.float64)
    clumping = _clumping(base, again)
    n, k = float((base + again).sum()), float(again.sum())
    return ReworkRate(
        key,
        int(n),
        int(k),
        len(base),
        beta_of(guess).after(k / clumping, (n - k) / clumping),
        clumping,
        min(days, default=""),
        max(days, default=""),
    )


def _clumping(parts: Array, again: Array) -> float:
    """Pearson's chi-squared over its degrees of freedom; 1 when there is too little to tell.

    A part is tried until it holds, so that failures follow a negative binomial: their variance is
    parts x rate x (1 + rate) where they come singly.
    """
    if len(parts) < 5 or again.sum() == 0:
        return 1.0
    rate = again.sum() / parts.sum()
    chi2 = float(np.sum((again - parts * rate) ** 2 / (parts * rate * (1 + rate))))
    return max(chi2 / (len(parts) - 1), 1.0)


def rework_rates(
    jobs: Sequence[Mapping[str, object]],
    redone: Sequence[Mapping[str, object]],
    finishes: Mapping[str, Finish],
    assumptions: Mapping[str, Assumption],
) -> dict[str, ReworkRate]:
    """Collect the share of every finish class and kind of metal that the log has jobs of, and that is in the book."""
    again: dict[tuple[str, str], int] = {}
    for row in redone:
        at = str(row["job"]), str(row["found"])
        again[at] = again.get(at, 0) + int(row["parts"])  # type: ignore[call-overload]
    groups: dict[str, list[tuple[int, int, str]]] = {}
    for row in jobs:
        job, finish = str(row["job"]), finishes.get(str(row["finish"]))
        day, parts, wiped = str(row["on"]), int(row["parts"]), int(row["wiped_parts"])  # type: ignore[call-overload]
        if finish:
            key = f"reject.{finish.rejects}.{row['substrate']}"
            groups.setdefault(key, []).append((parts, again.get((job, "after cure"), 0), day))
        if wiped:
            groups.setdefault("spoil.wiped", []).append((wiped, again.get((job, "before cure"), 0), day))
    return {
        key: rework_rate(key, assumptions[key], *zip(*rows, strict=True))
        for key, rows in sorted(groups.items())
        if key in assumptions
    }
