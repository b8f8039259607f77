"""A job single-tone beside two-tone, and every question the two-tone page asks of the pair.

Takes    two trials on the same draws, and the extra that is charged.
Gives    prices, margins, chances, the three extras, the slowest wiping that still pays, worked out when asked for;
         steps gathered into stages, so that both finishes fit on one chart.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import Final

import numpy as np

from pricing.basis.arrays import Array
from pricing.basis.identity import Same
from pricing.basis.units import shown
from pricing.costing.job_cost import JobCost
from pricing.costing.plan import Plan
from pricing.costing.risk import plan_risk
from pricing.costing.sheet import CostSheet
from pricing.costing.walk import LEFTOVER, REDO, RESPRAY, WARRANTY
from pricing.parts.job import Job
from pricing.prices.extra import Extras
from pricing.prices.marks import margin_of, worth_per_hour
from pricing.prices.quote import DRAWS, SEED
from pricing.shop.shop import Shop
from pricing.show.what_if import Trial, WhatIf

SPEED: Final = {"wiped": "wipe.line_m.hands", "masked": "tape.tape_m.hands"}
"""The rate that says how fast the line is made, by how it is made."""
STAGES: Final = {
    "Customer, paper, packing": ("enquiry", "intake", "inspect", "pack", "hand_over", "reassemble", "disassemble"),
    "Clean, strip, blast": (
        "degrease",
        "strip_chemical",
        "strip_blast",
        "strip_burn_off",
        "strip_bought_in",
        "dress",
        "blast",
        "outgas",
        "reblast",
        "pretreat",
    ),
    "Sand the edges": ("sand_edges",),
    "Plug and hang": ("plug", "hang", "unmask"),
    "First coat": ("colour_change.1", "coat.1"),
    "Second coat": ("colour_change", "coat", "test_panel"),
    "Tape the line": ("tape",),
    "Wipe the line": ("wipe",),
    "Oven and cooling": ("partial_cure", "full_cure", "cool"),
    "Done again": (RESPRAY, REDO, WARRANTY),
    "Powder left over": (LEFTOVER,),
}
"""Lines of a cost sheet by stage; ``coat.1`` is the first coat, ``coat`` every later one."""
_BAND_DRAWS = 4_096
_BAND_POINTS = 11


@dataclass(frozen=True)
class Band:
    """The extra against metres of line: what keeps the margin, and where 8 of 10 jobs lie. [m, money]"""

    line_m: Array
    extra: Array
    low: Array
    high: Array


@dataclass(frozen=True)
class Sides:
    """A job in one colour and in two, and what is charged for the second. [money]"""

    job: Job
    plain: Trial
    fancy: Trial
    extra: float = 0.0

    @classmethod
    def of(cls, bench: WhatIf, job: Job, plain: str, fancy: str, numbers: Mapping[str, float]) -> "Sides":
        """Make the pair of a job with some numbers moved; `BadInput` where it cannot be costed."""
        return cls(job, bench.trial(job, plain, numbers), bench.trial(job, fancy, numbers))

    def charging(self, extra: float) -> "Sides":
        """Return the pair with another extra; what is worked out already is kept."""
        return replace(self, extra=extra)

    @property
    def shop(self) -> Shop:
        """Whose."""
        return self.fancy.shop

    @property
    def refused(self) -> tuple[str, ...]:
        """Why no price may be given."""
        return tuple(dict.fromkeys(self.plain.sheet.refused + self.fancy.sheet.refused))

    @property
    def speed_key(self) -> str:
        """The rate that says how fast the line is made."""
        return SPEED[self.fancy.sheet.finish.line]

    @property
    def speed(self) -> float:
        """How fast the line is made. [min/m]"""
        return float(self.fancy.book[self.speed_key])

    def speed_of_shown(self, value: float) -> float:
        """Turn a place on an axis in the shop's unit into minutes a metre."""
        return value / shown(1.0, "min/m", self.shop.front.units).value

    @cached_property
    def extras(self) -> Extras:
        """What the second colour must cost extra."""
        resource = self.shop.policy.scarce.resource
        return Extras(self.plain.quote, self.fancy.quote, resource, lambda: (self.plain.risk, self.fancy.risk))

    @property
    def plain_price(self) -> float:
        """Price of the job in one colour, without tax. [money]"""
        return self.plain.quote.net

    @property
    def listed(self) -> float:
        """Price of the job in two colours, without tax. [money]"""
        return self.fancy.quote.net

    @property
    def advised(self) -> float:
        """The extra between the two prices. [money]"""
        return self.extras.extra

    @cached_property
    def advised_between(self) -> tuple[float, float] | None:
        """From where to where the extra may come, fixed at intake; None where nothing of the job is open. [money]"""
        plain, fancy = self.plain.quote.ends, self.fancy.quote.ends
        if plain is None or fancy is None:
            return None
        extras = [two.net - one.net for one, two in zip(plain, fancy, strict=True)]
        return min(*extras, self.advised), max(*extras, self.advised)

    @property
    def price(self) -> float:
        """Price with the extra that is charged. [money]"""
        return self.plain_price + self.extra

    @property
    def most_extra(self) -> float:
        """How far the slider of the extra goes. [money]"""
        return max(50.0, 10.0 * float(np.ceil(0.25 * self.advised)))

    def trial(self, side: str) -> Trial:
        """Return the trial ``plain`` or ``fancy``."""
        return self.plain if side == "plain" else self.fancy

    def asked(self, side: str) -> float:
        """Price of ``plain`` or ``fancy``, without tax; `BadInput` where none may be given. [money]"""
        return self.plain_price if side == "plain" else self.price

    @property
    def margin(self) -> float:
        """Share of the price that is left."""
        return float(margin_of(self.price, self.fancy.total))

    def per_scarce_hour(self) -> tuple[float, float]:
        """Price less cash, per hour of the scarce resource, single-tone and two-tone. [money/h]"""
        resource = self.shop.policy.scarce.resource
        one = worth_per_hour(self.plain_price, self.plain.sheet, resource)
        return float(one), float(worth_per_hour(self.price, self.fancy.sheet, resource))

    def chances(self) -> tuple[float, float]:
        """Chance of loss, single-tone and two-tone."""
        one, two = self.plain.risk.chance_of_loss(self.plain_price), self.fancy.risk.chance_of_loss(self.price)
        return float(one), float(two)

    @cached_property
    def cost_by_speed(self) -> tuple[float, float]:
        """Full cost at no minutes a metre, and what each minute a metre adds; time equations are straight lines.
        [money, money per min/m]
        """  # noqa: D205
        book = {**self.fancy.book, self.speed_key: np.array([0.0, 1.0])}
        none, one = np.broadcast_to(np.asarray(self.fancy.model(book), dtype=np.float64), (2,)).tolist()
        return none, one - none

    def cost_at(self, speed_min_per_m: Array) -> Array:
        """Full cost in two colours at other speeds. [money]"""
        none, more = self.cost_by_speed
        return none + more * speed_min_per_m

    @property
    def slowest(self) -> float:
        """Minutes a metre at which the price just covers the cost: below zero never, inf always. [min/m]"""
        none, more = self.cost_by_speed
        return (self.price - none) / more if more > 0 else float("inf")

    def margin_at_speed(self, speed_min_per_m: float) -> float:
        """Share of the price that is left at another speed."""
        none, more = self.cost_by_speed
        return float(margin_of(self.price, none + more * speed_min_per_m))

    @cached_property
    def band(self) -> Band:
        """The extra against metres of line, with its band."""
        here = max(float(self.fancy.model.work.line_m), 0.5)
        lines = np.linspace(0.0, 2 * here, _BAND_POINTS)
        keep, metres = 1 - self.shop.policy.target_margin, max(float(self.fancy.model.work.line_m), 1e-9)
        bare = plan_risk(_plan_of_bare(self.fancy), self.fancy.known, seed=SEED, draws=DRAWS)
        drawn = [costs[:_BAND_DRAWS] for costs in (self.plain.risk.costs, bare.costs, self.fancy.risk.costs)]
        at_0, per_m = (drawn[1] - drawn[0]) / keep, (drawn[2] - drawn[1]) / keep / metres
        ends = np.quantile(at_0[None, :] + lines[:, None] * per_m[None, :], [0.1, 0.9], axis=1)
        middle = (bare.point - self.plain.total + lines * (self.fancy.total - bare.point) / metres) / keep
        return Band(lines, middle, ends[0], ends[1])


def _plan_of_bare(trial: Trial) -> Plan:
    """Plan of the same job without a line; kept while the plan it belongs to is."""
    return _bare_plan(Same(trial.plan), Same(trial.model))


@lru_cache(maxsize=4)
def _bare_plan(planned: Same[Plan], model: Same[JobCost]) -> Plan:
    return Plan(model.thing.with_line(0.0), planned.thing.known)


def stage_of(line_id: str) -> str:
    """Write the stage of a line.

    >>> stage_of("coat.1"), stage_of("coat.2"), stage_of("full_cure.2")
    ('First coat', 'Second coat', 'Oven and cooling')
    """
    for stage, members in STAGES.items():
        if line_id in members:
            return stage
    step = line_id.rsplit(".", 1)[0] if line_id[-1:].isdigit() else line_id
    return next((stage for stage, members in STAGES.items() if step in members), next(iter(STAGES)))


def by_stage(sheet: CostSheet) -> dict[str, float]:
    """Add a sheet up by stage; stages that cost nothing are left out. [money]"""
    found = dict.fromkeys(STAGES, 0.0)
    for line in sheet.lines:
        found[stage_of(line.id)] += float(line.total)
    return {stage: cost for stage, cost in found.items() if abs(cost) > 5e-3}
