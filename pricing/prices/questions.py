"""Break-even of a job for any one number: price, batch, wiping, line, rejects, powder, hour, jobs.

Takes    a shop, a job or a row of the price list, and the name of the number.
Gives    where the price just covers the full cost, solved on the very functions of the quote.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from math import isfinite

from pricing.basis.arrays import Array
from pricing.basis.checks import Floats
from pricing.basis.errors import BadInput, Problem, choices, nearest
from pricing.costing.job_cost import JobCost
from pricing.costing.learning import learned
from pricing.parts.job import MOST_PIECES, Job
from pricing.prices.break_even import MOST_WHOLE, BreakEven, WholeBreakEven, whole_break_even
from pricing.prices.break_even import solved_break_even as solve
from pricing.prices.compare import two_tone_finishes
from pricing.prices.quote import Quote, price_times, quote
from pricing.shop.shop import Shop


@dataclass(frozen=True)
class BreakEvenQuestion:
    """A number that break-even can be asked about: its name in words, unit of the model, and how far to look."""

    what: str
    unit: str
    low: float
    high: float


QUESTIONS: Mapping[str, BreakEvenQuestion] = {
    "price": BreakEvenQuestion("price", "money", 0.0, 0.0),
    "batch": BreakEvenQuestion("batch size", "", 1, 60),
    "wipe": BreakEvenQuestion("wiping time", "min/m", 0.0, 30.0),
    "line": BreakEvenQuestion("line", "m", 0.0, 0.0),
    "reject": BreakEvenQuestion("reject rate", "share", 0.0, 0.6),
    "powder": BreakEvenQuestion("powder price", "money/kg", 0.0, 0.0),
    "hour": BreakEvenQuestion("owner's hour", "money/h", 0.0, 0.0),
    "jobs": BreakEvenQuestion("jobs a month", "", 1, 400),
}
"""By the word the command line takes; where low and high are equal the range follows the job and the shop."""

WIPE_QUESTION = "wipe.line_m.hands"
MOST_BATCHES = 1_000
"""Batches that are costed one by one in a question: a thousand take a few seconds."""


def break_even(
    shop: Shop,
    job: Job,
    over: str,
    *,
    price: float | None = None,
    reach: tuple[float, float] | None = None,
    powder: str = "",
    slope: float = 1.0,
) -> BreakEven | WholeBreakEven:
    """Solve a job for the number at which its price just covers its full cost.

    Parameters
    ----------
    shop, job
        As in `pricing.costing.sheet.cost`.
    over : str
        One of `QUESTIONS`.
    price : float, optional
        Net price of the job; without it, that of its quote. For ``batch`` each number is asked its own price by the
        tariff, as much above or below it as this is above or below the quote. [money]
    reach : (float, float), optional
        Between which to look, in the unit of the question.
    powder : str
        For ``powder``: which; without it, that of the last coat.
    slope : float
        For ``batch``: what doubling the number leaves of the time by the piece; 1 is no learning.

    Returns
    -------
    BreakEven or WholeBreakEven
        The latter for ``batch`` and ``jobs``.

    Raises
    ------
    BadInput
        The question is not known, the job has no such number, it cannot be costed, or it is refused.
    """
    if over not in QUESTIONS:
        raise BadInput("break-even", [Problem("over", over, choices(QUESTIONS), nearest(over, QUESTIONS))])
    found = quote(shop, job)
    found.must_price()
    model = JobCost.of(shop, job)
    total = found.cost
    asked = found.net if price is None else price
    question = QUESTIONS[over]
    low, high = reach or (question.low, question.high)
    if over in {"batch", "jobs"}:
        _can_be_counted(question.what, low, high, MOST_BATCHES if over == "batch" else MOST_WHOLE)
    if over == "batch":
        return _batch(found, asked / found.net, (int(low), int(high)), slope)
    if over == "jobs":
        return _jobs(shop, model, asked, (int(low), int(high)))
    if low == high:
        high = {
            "price": lambda: 4 * total,
            "line": lambda: max(4 * float(model.work.line_m), 1.0),
            "powder": lambda: max(25 * shop.book[_powder_key(model, powder)], total),
            "hour": lambda: 8 * shop.book["hour.owner"],
        }[over]()
    if over == "powder":
        gain = _by_key(lambda _: [_powder_key(model, powder)], model, asked)
    else:
        gain = _GAINS[over](model, asked)
    return solve(gain, question.what, unit=question.unit, low=low, high=high)


def _can_be_counted(what: str, low: float, high: float, most: int) -> None:
    if not (isfinite(low) and isfinite(high) and 1 <= low <= high and high - low < most and high <= MOST_PIECES):
        accepts = f"a range of at most {most:,} whole numbers, from 1 to {MOST_PIECES:,}"
        raise BadInput("break-even", [Problem(what, f"{low:g} to {high:g}", accepts, "Narrow the range.")])


def _by_price(model: JobCost, _price: float) -> Callable[[Array], Floats]:
    total = float(model(model.shop.book))
    return lambda price: price - total


def _by_key(keys: Callable[[JobCost], list[str]], model: JobCost, price: float) -> Callable[[Array], Floats]:
    names = keys(model)
    return lambda value: price - model({**model.shop.book, **dict.fromkeys(names, value)})


def _by_line(model: JobCost, price: float) -> Callable[[Array], Floats]:
    if model.finish.line == "none":
        given = f"{model.finish.title}: no line"
        raise BadInput(model.title, [Problem("finish", given, "a finish with a line between two colours")])
    return lambda line_m: price - model.with_line(line_m)(model.shop.book)


def _wipe_keys(model: JobCost) -> list[str]:
    if model.finish.line != "wiped":
        given = f"{model.finish.title}: nothing is wiped"
        raise BadInput(model.title, [Problem("finish", given, "a finish whose line is wiped")])
    return [WIPE_QUESTION]


def _reject_keys(model: JobCost) -> list[str]:
    return [f"reject.{model.finish.rejects}.{kind}" for kind in ("wrought", "casting")]


def _powder_key(model: JobCost, name: str) -> str:
    used = [model.powders[coat.powder - 1].name for coat in model.finish.coats]
    if name and name not in used:
        raise BadInput(model.title, [Problem("powder", name, choices(dict.fromkeys(used)), nearest(name, used))])
    return f"price.{name or used[-1]}"


_GAINS: Mapping[str, Callable[[JobCost, float], Callable[[Array], Floats]]] = {
    "price": _by_price,
    "wipe": partial(_by_key, _wipe_keys),
    "line": _by_line,
    "reject": partial(_by_key, _reject_keys),
    "hour": partial(_by_key, lambda _model: ["hour.owner"]),
}


def _batch(found: Quote, share: float, reach: tuple[int, int], slope: float) -> WholeBreakEven:
    """Scan batches of the job's part; a job of several kinds is taken as so many whole jobs."""
    shop, job, single = found.shop, found.job, len(found.job.lots) == 1

    def total(count: int) -> float:
        lots = [lot.model_copy(update={"quantity": count if single else lot.quantity * count}) for lot in job.lots]
        book = {**shop.book, **learned(shop.book, count, slope=slope)} if slope != 1.0 else shop.book
        return float(JobCost.of(shop, job.model_copy(update={"lots": tuple(lots)}))(book))

    counts = range(reach[0], reach[1] + 1)
    costs = {count: total(count) for count in counts}
    times = [count / job.lots[0].quantity if single else float(count) for count in counts]
    prices = dict(zip(counts, [share * price for price in price_times(found, times)], strict=True))
    what = "batch size" if single else "number of such jobs"
    least, most = reach
    return whole_break_even(lambda n: prices[n] - costs[n], lambda n: costs[n] / n, what, least=least, most=most)


def _jobs(shop: Shop, model: JobCost, price: float, reach: tuple[int, int]) -> WholeBreakEven:
    """Count jobs like this one that pay a month's fixed costs: bills, owner's draw, machines."""
    sheet = model.sheet(shop.book)
    cash = float(sheet.cash - sheet.wages)
    fixed = fixed_per_month(shop)
    return whole_break_even(
        lambda n: n * (price - cash) - fixed,
        lambda n: cash + fixed / n,
        "number of such jobs a month",
        least=reach[0],
        most=reach[1],
    )


def fixed_per_month(shop: Shop) -> float:
    """Work out what a month costs whether or not a job comes: bills, owner's draw with dues, wages, machines.

    Wages are those of the hours that the helper is paid, booked or not. [money/month].
    """
    draw = shop.owner.draw_per_y * (1 + shop.owner.on_cost)
    machines = sum(machine.yearly_cost(shop.policy.interest) for machine in shop.machines.all())
    wages = shop.helper.wages_per_y if shop.helper else 0.0
    return (draw + wages + shop.overhead_per_y + machines) / 12


def wiped_or_masked(shop: Shop, job: Job, *, over: str) -> BreakEven:
    """Say from how many metres of line, or from what wiping time, masking is cheaper than wiping.

    ``over`` is ``line``, metres of line of the job, or ``wipe``, minutes a metre takes. The answer "pays" where wiping
    is cheaper; `say_wiped` puts it into words.

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
    if over == "line":
        high = max(6 * float(wiped.work.line_m), 10.0)
        return solve(
            lambda line_m: masked.with_line(line_m)(shop.book) - wiped.with_line(line_m)(shop.book),
            "line",
            unit="m",
            low=0.0,
            high=high,
        )
    gain = _by_key(_wipe_keys, wiped, float(masked(shop.book)))
    return solve(gain, "wiping time", unit="min/m", low=0.0, high=40.0)


def say_wiped(found: BreakEven, measure: Callable[[float], str]) -> str:
    """Say in words where wiping and where masking is cheaper; ``measure`` writes a value with its unit."""
    span = f"from {measure(found.low)} to {measure(found.high)}"
    if not found.turns:
        way = "Wiping" if found.pays_at_low else "Masking"
        return f"{way} is cheaper at every {found.what} {span}."
    told = [f"{'masking below' if turn.pays_above else 'wiping up to'} {measure(turn.value)}" for turn in found.turns]
    after = "wiping" if found.turns[-1].pays_above else "masking"
    return f"By {found.what}, cheaper is {', '.join(told)}, {after} beyond."
