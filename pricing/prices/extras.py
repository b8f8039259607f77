"""Three answers to what the second colour must cost extra, and wiping against masking.

Takes    a job in a plain and in a two-tone finish, and the price of the plain one.
Gives    the extra that keeps the margin share, the one that keeps earnings per scarce hour, and the one
         that keeps the chance of loss; each with all three figures, so that the owner sees what each
         gives up. And from how many metres, or from what wiping time, masking is cheaper.
Why      the chance of loss is read off the same draws for both finishes: what they share cancels.
Room     prices. Imports basis, costing, parts, shop.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from pricing.basis.checks import Floats
from pricing.basis.errors import BadInput, Problem, choices
from pricing.costing.job_cost import JobCost, known_of
from pricing.costing.risk import Risk, risk
from pricing.parts.job import Job
from pricing.prices.break_even import BreakEven, break_even
from pricing.prices.margins import margin_of, price_at_margin
from pricing.prices.marks import worth_per_hour
from pricing.prices.questions import WIPE
from pricing.prices.two_tone import plain_finish, two_tone_finishes
from pricing.shop.shop import Shop

Array = npt.NDArray[np.float64]


class Extra(NamedTuple):
    """One answer: the extra, and what is left at the price it makes."""

    keeps: str
    extra: float
    price: float
    margin_share: float
    per_scarce_hour: float
    chance_of_loss: float


@dataclass(frozen=True)
class Extras:
    """The three answers side by side.

    Parameters
    ----------
    plain, fancy : str
        Keys of the two finishes.
    resource : str
        Whose hours are scarce.
    base : Extra
        The plain finish at its price; its ``extra`` is 0.
    answers : tuple of Extra
        Keeping the margin share, the earnings per scarce hour, the chance of loss.
    chance_told : float
        Chance of loss that was kept; not below what the draws can tell.
    difference : (n,) array
        Two-tone less plain cost, draw by draw. [money]
    """

    plain: str
    fancy: str
    resource: str
    base: Extra
    answers: tuple[Extra, Extra, Extra]
    chance_told: float
    difference: Array


def three_extras(
    shop: Shop, job: Job, fancy: str = "", *, price: float | None = None, resource: str = "", seed: int = 1,
    draws: int = 65_536,
) -> Extras:  # fmt: skip
    """Work out the three extras of a job.

    Parameters
    ----------
    shop, job
        As in `pricing.costing.sheet.cost`.
    fancy : str
        The two-tone finish; without it the job's own, or the shop's first.
    price : float, optional
        Net price of the plain finish; without it, its exact target price. [money]
    resource : str
        Scarce resource; without it, that of the shop's policy.
    seed, draws : int
        Of the draws.

    Raises
    ------
    BadInput
        The finish makes no line, the job names too few powders for it, or there is no such resource.
    """
    plain, fancy = plain_finish(shop), _two_tone(shop, job, fancy)
    resource = resource or shop.policy.scarce.resource
    resources = [name for name in shop.hour_rates if name != "overhead"]
    if resource not in resources:
        raise BadInput("two-tone", [Problem("scarce resource", resource, choices(resources))])
    models = [JobCost.of(shop, job, finish=key) for key in (plain, fancy)]
    sheets = [model.sheet(shop.book) for model in models]
    known = known_of(shop)
    risks = [risk(model, known, seed=seed, draws=draws) for model in models]
    single, two = (float(sheet.total) for sheet in sheets)
    before = float(price_at_margin(single, shop.policy.target_margin)) if price is None else price
    chance = float(risks[0].chance_of_loss(before))
    told = float(np.clip(chance, risks[0].farthest, 1 - risks[0].farthest))

    hours = [float(sheet.hours_of(resource)) for sheet in sheets]
    worth = (before - float(sheets[0].cash)) / hours[0] if hours[0] > 0 else shop.policy.scarce.worth_per_h
    prices = {
        "margin share": two / (1 - float(margin_of(before, single))),
        "earnings per scarce hour": float(sheets[1].cash) + hours[1] * worth,
        "chance of loss": risks[1].price_for(told),
    }

    def row(keeps: str, at: float, which: int) -> Extra:
        sheet, answer = sheets[which], risks[which]
        total = float(sheet.total)
        return Extra(
            keeps, at - before, at, float(margin_of(at, total)), float(worth_per_hour(at, sheet, resource)),
            float(answer.chance_of_loss(at)),
        )  # fmt: skip

    first, second, third = (row(keeps, at, 1) for keeps, at in prices.items())
    difference = risks[1].costs - risks[0].costs
    return Extras(plain, fancy, resource, row("", before, 0), (first, second, third), told, difference)


def side_by_side(shop: Shop, job: Job, keys: tuple[str, str], *, seed: int, draws: int = 65_536) -> tuple[Risk, Risk]:
    """Draw a job in two finishes on the same draws.

    Parameters
    ----------
    shop, job
        As in `pricing.costing.sheet.cost`.
    keys : (str, str)
        The finishes.
    seed, draws : int
        Of the draws.
    """
    known = known_of(shop)
    one, other = (risk(JobCost.of(shop, job, finish=key), known, seed=seed, draws=draws) for key in keys)
    return one, other


def wiped_or_masked(shop: Shop, job: Job, *, over: str = "line", reach: tuple[float, float] | None = None) -> BreakEven:
    """Say from how many metres of line, or from what wiping time, masking is cheaper than wiping.

    Parameters
    ----------
    shop, job
        As in `pricing.costing.sheet.cost`.
    over : {'line', 'wipe'}
        Metres of line of the job, or minutes a metre takes to wipe.
    reach : (float, float), optional
        Between which to look. [m, or min/m]

    Returns
    -------
    BreakEven
        It "pays" where wiping is cheaper; `say_wiped` puts it into words.

    Raises
    ------
    BadInput
        The shop lacks one of the two finishes, or ``over`` is neither.
    """
    ways = {shop.finishes[key].line: key for key in reversed(two_tone_finishes(shop))}
    bad = [
        Problem("finishes", f"no {way} line", "a wiped and a masked finish")
        for way in ("wiped", "masked")
        if way not in ways
    ]
    if over not in {"line", "wipe"}:
        bad.append(Problem("over", over, "line or wipe"))
    if bad:
        raise BadInput("two-tone", bad)
    wiped, masked = (JobCost.of(shop, job, finish=ways[way]) for way in ("wiped", "masked"))
    gain: Callable[[Array], Floats]
    if over == "line":
        low, high = reach or (0.0, max(6 * float(wiped.work.line_m), 10.0))

        def gain(line_m: Array) -> Floats:
            costs = [replace(m, work=replace(m.work, line_m=line_m))(shop.book) for m in (masked, wiped)]
            return costs[0] - costs[1]

        return break_even(gain, "line", unit="m", low=low, high=high)
    low, high = reach or (0.0, 40.0)
    at_masked = float(masked(shop.book))
    return break_even(
        lambda value: at_masked - wiped({**shop.book, WIPE: value}), "wiping time", unit="min/m", low=low, high=high
    )


def say_wiped(found: BreakEven, measure: Callable[[float], str]) -> str:
    """Say in words where wiping and where masking is cheaper.

    Parameters
    ----------
    found : BreakEven
        From `wiped_or_masked`.
    measure : callable
        Writes a value with its unit.
    """
    span = f"from {measure(found.low)} to {measure(found.high)}"
    if not found.turns:
        way = "Wiping" if found.pays_at_low else "Masking"
        return f"{way} is cheaper at every {found.what} {span}."
    told = [f"{'masking below' if turn.pays_above else 'wiping up to'} {measure(turn.value)}" for turn in found.turns]
    after = "wiping" if found.turns[-1].pays_above else "masking"
    return f"By {found.what}, cheaper is {', '.join(told)}, {after} beyond."


def _two_tone(shop: Shop, job: Job, key: str) -> str:
    keys = two_tone_finishes(shop)
    if key and key not in keys:
        raise BadInput(job.title, [Problem("finish", key, choices(keys) if keys else "a finish with a line")])
    if not keys:
        raise BadInput("finishes.toml", [Problem("finishes", "none with a line", "a two-tone finish")])
    return key or (job.finish if job.finish in keys else keys[0])
