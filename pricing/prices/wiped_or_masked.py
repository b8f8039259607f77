"""From how many metres of line, or from what wiping time, masking is cheaper than wiping."""

from collections.abc import Callable
from dataclasses import replace

from pricing.basis.arrays import Array
from pricing.basis.checks import Floats
from pricing.basis.errors import BadInput, Problem
from pricing.costing.job_cost import JobCost
from pricing.parts.job import Job
from pricing.prices.break_even import BreakEven, solved_break_even
from pricing.prices.compare import two_tone_finishes
from pricing.prices.questions import WIPE_QUESTION
from pricing.shop.shop import Shop


def wiped_or_masked(shop: Shop, job: Job, *, over: str) -> BreakEven:
    """Say from how many metres of line, or from what wiping time, masking is cheaper than wiping.

    Parameters
    ----------
    shop, job
        As in `pricing.costing.sheet.cost`.
    over : {'line', 'wipe'}
        Metres of line of the job, or minutes a metre takes to wipe.

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
        high = max(6 * float(wiped.work.line_m), 10.0)

        def gain(line_m: Array) -> Floats:
            costs = [replace(m, work=replace(m.work, line_m=line_m))(shop.book) for m in (masked, wiped)]
            return costs[0] - costs[1]

        return solved_break_even(gain, "line", unit="m", low=0.0, high=high)
    at_masked = float(masked(shop.book))
    return solved_break_even(
        lambda value: at_masked - wiped({**shop.book, WIPE_QUESTION: value}),
        "wiping time",
        unit="min/m",
        low=0.0,
        high=40.0,
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
