"""Which hour is scarce, and what one more of it is worth.

Takes    work on offer in a week (how much is wanted, what one earns, which hours it takes) and the
         hours there are: owner, helper, each oven, booth, cabinet.
Gives    the mix that earns most, the worth of one more hour of each resource, what runs out first,
         the work ranked by what it earns per scarce hour, and what a rush job pushes out.
Method   linear programme, solved by HiGHS; its duals are the worth at the margin. An hour's worth is
         also found by solving again with one hour more, which stays right where the dual is one-sided.
Rule     what one earns is its price less truly variable cash (powder, consumables, energy, bought-in
         work): never less the cost of hours that are paid anyway, the helper's among them.
Helper   what the helper may do and the owner may do too is moved between them by the programme.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from pricing.basis.errors import BadInput, Problem, not_known

_NEAR = 1e-9


OWNER, HELPER = "owner", "helper"


class WantedWork(NamedTuple):
    """One kind of work on offer: how much a week, what one earns, which hours one takes.

    ``either`` are hours that the helper may do, or the owner where the helper has none left; the programme decides.
    """

    name: str
    wanted: float
    earns: float
    hours: Mapping[str, float]
    either: float = 0.0


class Resource(NamedTuple):
    """One resource in the best week."""

    name: str
    hours: float
    used: float
    worth_per_h: float
    one_more_hour: float

    @property
    def full(self) -> bool:
        """Whether it is used to its last hour."""
        return self.used >= self.hours * (1 - _NEAR)


class Ranked(NamedTuple):
    """One kind of work by what it earns per scarce hour."""

    name: str
    per_scarce_hour: float
    wanted: float
    taken: float


class Rush(NamedTuple):
    """What squeezing a job in displaces."""

    displaced: float
    surcharge: float
    left_out: tuple[tuple[str, float], ...]


@dataclass(frozen=True)
class Week:
    """The best mix of a week.

    Parameters
    ----------
    works : tuple of WantedWork
        As given.
    hours : mapping of str to float
        Hours there are, by resource.
    taken : (n,) array
        How much of each work is taken on; parts of a job go over into the next week.
    helped : float
        Hours of ``either`` that the helper does. [h/week]
    earned : float
        Earnings of the week. [money/week]
    resources : tuple of Resource
        By resource, in the order of ``hours``.
    """

    works: tuple[WantedWork, ...]
    hours: Mapping[str, float]
    taken: npt.NDArray[np.float64]
    helped: float
    earned: float
    resources: tuple[Resource, ...]

    @property
    def scarce(self) -> Resource | None:
        """The resource whose hour is worth most; None when all that is wanted can be done."""
        best = max(self.resources, key=lambda r: r.one_more_hour, default=None)
        return best if best and best.one_more_hour > _NEAR else None

    @property
    def helped_share(self) -> float:
        """Share of the hours that owner or helper may do which the helper does."""
        either = float(sum(t * w.either for t, w in zip(self.taken, self.works, strict=True)))
        return self.helped / either if either > 0 else 0.0

    def asked(self, resource: str) -> float:
        """Hours that all wanted work takes of a resource; what the helper has no time for is the owner's. [h/week]."""
        own = sum(w.wanted * w.hours.get(resource, 0.0) for w in self.works)
        either = sum(w.wanted * w.either for w in self.works)
        if resource == HELPER:
            return own + either
        return own + max(0.0, either - self.hours.get(HELPER, 0.0)) if resource == OWNER else own

    def runs_out_first(self) -> tuple[str, float]:
        """Collect the resource that runs out first when all work on offer grows alike.

        Returns
        -------
        (str, float)
            Name, and the hours needed for all that is wanted over the hours there are: above 1 it
            does run out.
        """
        loads = {
            name: (self.asked(name) / there if there else float("inf"))
            for name, there in self.hours.items()
            if (there or self.asked(name) > 0) and not (name == HELPER and self._owner_can_help())
        }
        if not loads:
            return "", 0.0
        name = max(loads, key=lambda key: loads[key])
        return name, loads[name]

    def _owner_can_help(self) -> bool:
        """Whether all of the helper's work could be the owner's: then a helper without hours stops nothing."""
        return not any(w.hours.get(HELPER, 0.0) > 0 and w.wanted > 0 for w in self.works)

    def ranked(self) -> tuple[Ranked, ...]:
        """Rank the work by earnings per scarce hour, best first; work that takes none comes first, at inf.

        The scarce hours of all resources count, each weighed by its worth; with one scarce resource that is the same
        as its hours alone.
        """
        weights = {r.name: r.worth_per_h for r in self.resources if r.worth_per_h > _NEAR}
        top = max(weights.values(), default=0.0)
        shares = {name: worth / top for name, worth in weights.items()} or {self.runs_out_first()[0]: 1.0}
        rows = []
        for work, taken in zip(self.works, self.taken, strict=True):
            scarce_h = sum(work.hours.get(name, 0.0) * share for name, share in shares.items())
            scarce_h += work.either * min(shares.get(OWNER, 0.0), shares.get(HELPER, shares.get(OWNER, 0.0)))
            earns = work.earns / scarce_h if scarce_h > 0 else float("inf") if work.earns > 0 else 0.0
            rows.append(Ranked(work.name, earns, work.wanted, float(taken)))
        return tuple(sorted(rows, key=lambda row: -row.per_scarce_hour))

    def with_hours(self, more: Mapping[str, float]) -> "Week":
        """Return the best week with more (or fewer) hours: a second oven, a helper's day, a day off.

        Parameters
        ----------
        more : mapping of str to float
            Hours to add, by resource.

        Raises
        ------
        BadInput
            A resource is not known, or fewer than no hours would be left.
        """
        bad = [not_known("resource", name, self.hours) for name in more if name not in self.hours]
        if bad:
            raise BadInput("hours", bad)
        return plan_week(self.works, {name: there + more.get(name, 0.0) for name, there in self.hours.items()})

    def rush(self, job: WantedWork) -> Rush:
        """Say what a job that must be done this week pushes out.

        Parameters
        ----------
        job : WantedWork
            The job; ``earns`` is its price less variable cash at the normal price, ``wanted`` is not
            looked at: all of one is done.

        Returns
        -------
        Rush
            ``displaced`` is what the rest of the week then earns less; the job must earn at least
            that. ``surcharge`` is what must be added to its price, 0 when it earns enough.

        Raises
        ------
        BadInput
            It does not fit into the week at all.
        """
        there = {name: self.hours.get(name, 0.0) for name in job.hours}
        needs = dict(job.hours)
        if job.either:
            needs[OWNER] = needs.get(OWNER, 0.0) + max(0.0, job.either - self.hours.get(HELPER, 0.0))
            there[OWNER] = self.hours.get(OWNER, 0.0)
        bad = [
            Problem(name, f"{need:.1f} h", f"at most {there[name]:.1f} h in the week")
            for name, need in needs.items()
            if need > there[name] * (1 + _NEAR)
        ]
        if bad:
            raise BadInput(f"rush job {job.name}", bad)
        must = job._replace(wanted=1.0, earns=0.0)
        rest = _solve([*self.works, must], self.hours, must=len(self.works))
        out = [
            (w.name, float(a - b)) for w, a, b in zip(self.works, self.taken, rest.taken, strict=False) if a - b > 1e-6
        ]
        displaced = max(0.0, self.earned - rest.earned)
        return Rush(displaced, max(0.0, displaced - job.earns), tuple(out))


def plan_week(works: Sequence[WantedWork], hours: Mapping[str, float], *, one_more: bool = True) -> Week:
    """Find the mix of work that earns most in the hours there are.

    Parameters
    ----------
    works : sequence of WantedWork
        Work on offer.
    hours : mapping of str to float
        Hours a week by resource. [h/week]
    one_more : bool
        Whether the week is solved again with one hour more of each resource; else its worth at the margin stands there.

    Returns
    -------
    Week
        With the worth of one more hour of each resource.

    Raises
    ------
    BadInput
        Hours are negative or not finite, or a name stands twice.

    Examples
    --------
    >>> a = WantedWork("gate", 100, 180.0, {"owner": 2.0, "oven": 1.0})
    >>> b = WantedWork("wheels", 100, 150.0, {"owner": 0.8, "oven": 1.6})
    >>> week = plan_week([a, b], {"owner": 30.0, "oven": 35.0})
    >>> round(week.earned, 2), [round(r.worth_per_h, 2) for r in week.resources]
    (4000.0, [57.5, 65.0])
    """
    _check(works, hours)
    best = _solve(works, hours)
    either = float(sum(t * w.either for t, w in zip(best.taken, works, strict=True)))
    extra = {OWNER: either - best.helped, HELPER: best.helped}
    resources = []
    for name, there in hours.items():
        used = float(sum(t * w.hours.get(name, 0.0) for t, w in zip(best.taken, works, strict=True)))
        more = _solve(works, {**hours, name: there + 1.0}).earned - best.earned if one_more else best.duals[name]
        resources.append(Resource(name, there, used + extra.get(name, 0.0), best.duals[name], max(0.0, more)))
    return Week(tuple(works), dict(hours), best.taken, best.helped, best.earned, tuple(resources))


def worth_now(works: Sequence[WantedWork], hours: Mapping[str, float]) -> dict[str, float]:
    """Collect the worth of a little more of each resource in the best week, without the rest of a plan. [money/h]"""
    return _solve(works, hours).duals


class _Best(NamedTuple):
    taken: npt.NDArray[np.float64]
    helped: float
    earned: float
    duals: dict[str, float]


def _solve(works: Sequence[WantedWork], hours: Mapping[str, float], *, must: int | None = None) -> _Best:
    """Solve for the takes and, as one variable more, the hours of ``either`` that the helper does."""
    from scipy.optimize import linprog  # heavy: only where a week is planned

    if not works:
        return _Best(np.zeros(0), 0.0, 0.0, dict.fromkeys(hours, 0.0))
    either = [w.either for w in works]
    needs = [
        [w.hours.get(name, 0.0) + (w.either if name == OWNER else 0.0) for w in works]
        + [{OWNER: -1.0, HELPER: 1.0}.get(name, 0.0)]
        for name in hours
    ]
    may_help = sum(either) > 0 and HELPER in hours
    bounds = [(1.0 if at == must else 0.0, w.wanted) for at, w in enumerate(works)]
    found = linprog(
        [*(-w.earns for w in works), 0.0],
        A_ub=[*needs, [*(-e for e in either), 1.0]],
        b_ub=[*hours.values(), 0.0],
        bounds=[*bounds, (0.0, None if may_help else 0.0)],
        method="highs",
    )
    if (
        found.status != 0 or found.fun is None or found.x is None
    ):  # cannot be: nothing taken is always possible, and all is bounded
        raise ArithmeticError(found.message)
    duals = {name: max(0.0, -float(d)) for name, d in zip(hours, found.ineqlin.marginals, strict=False)}
    return _Best(np.asarray(found.x[:-1], dtype=np.float64), float(found.x[-1]), float(-found.fun), duals)


def _check(works: Sequence[WantedWork], hours: Mapping[str, float]) -> None:
    bad = [Problem(f"hours of {n}", h, "0 or more") for n, h in hours.items() if not 0 <= h < float("inf")]
    names = [w.name for w in works]
    bad += [Problem("work", name, "there once") for name in sorted({n for n in names if names.count(n) > 1})]
    if bad:
        raise BadInput("the week", bad)
