"""The chance of loss as an owner asks for it: how many of a hundred such jobs, why, and what if I am slower.

Takes    a model on draws, what is known, the draws, a price.
Gives    the chance, the two or three reasons that move the cost most, and the chance for an owner who is as slow as the
         shop's own doubt about its speed allows.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple, TypeAlias

from pricing.costing.draws import Known
from pricing.costing.plan import Model, Plan
from pricing.costing.risk import Risk, plan_risk
from pricing.costing.shares import VarianceShare, variance_shares
from pricing.steps.uneven import DOUBT, SHARED_JOB, SHARED_OWNER, VARY

ReasonKind: TypeAlias = Literal["steps differ", "whole job", "speed", "minutes", "luck", "other"]
_MOST, _LEAST = 3, 0.05
_TOLD_SLOWER = 1.05  # who is hardly slower need not be told


class Reason(NamedTuple):
    """What moves a cost: its kind, the number of the kind that does so most, and the kind's share of the variance."""

    kind: ReasonKind
    key: str
    share: float


@dataclass(frozen=True)
class Odds:
    """How a price fares against what a job may cost.

    Parameters
    ----------
    price : float
        [money]
    chance : float
        Share of such jobs that cost more.
    reasons : tuple of Reason
        What moves the cost most, the largest first.
    slower : float
        Times the minutes of an owner as slow as one in twenty.
    chance_slower : float or None
        Share that costs more then; None where the owner's speed is known.
    """

    price: float
    chance: float
    reasons: tuple[Reason, ...]
    slower: float
    chance_slower: float | None


def odds(model: Model | Plan, known: Known, answer: Risk, price: float, why: Sequence[Reason] | None = None) -> Odds:
    """Say how a price fares.

    Parameters
    ----------
    model, known
        As the run that gave ``answer``.
    answer : Risk
        Draws of the cost.
    price : float
        Without tax. [money]
    why : sequence of Reason, optional
        Where they were worked out before; no price moves them.

    Raises
    ------
    BadInput
        A cost is not finite.
    """
    told = loss_reasons(variance_shares(model, known, seed=answer.seed)) if why is None else tuple(why)
    speed = known.uncertain.get(SHARED_OWNER)
    slower = speed.high if speed is not None else 1.0
    late = None
    if slower > _TOLD_SLOWER:
        plan = Plan.of(model, known)
        slow = plan_risk(plan.model, known.fixed({SHARED_OWNER: slower}), seed=answer.seed, draws=len(answer.costs))
        late = float(slow.chance_of_loss(price))
    return Odds(price, float(answer.chance_of_loss(price)), told, slower, late)


def loss_reasons(shares: Sequence[VarianceShare]) -> tuple[Reason, ...]:
    """Gather shares of the variance into reasons that a person can do something about."""
    by_kind: dict[tuple[ReasonKind, str], list[VarianceShare]] = {}
    for share in shares:
        kind: ReasonKind = next((kind for kind, holds in _KINDS if holds(share.key)), "other")
        by_kind.setdefault((kind, share.key if kind == "other" else ""), []).append(share)
    found = [
        Reason(kind, max(mine, key=lambda one: one.first).key, sum(max(one.first, 0.0) for one in mine))
        for (kind, _), mine in by_kind.items()
    ]
    found.sort(key=lambda reason: -reason.share)
    return tuple(reason for reason in found[:_MOST] if reason.share >= _LEAST)


_KINDS: tuple[tuple[ReasonKind, Callable[[str], bool]], ...] = (
    ("steps differ", lambda key: key.startswith(VARY)),
    ("whole job", lambda key: key == SHARED_JOB),
    ("speed", lambda key: key == SHARED_OWNER),
    ("luck", lambda key: key.startswith("luck.")),
    ("minutes", lambda key: key.startswith(DOUBT) or key.endswith(".hands")),
)
