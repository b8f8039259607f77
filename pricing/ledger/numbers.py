"""Numbers of the shop that loads, meters, powder, packs and enquiries teach; each is learned like a rate.

Takes    rows of the ledger, what the quotes expected of oven and powder, and the three-point guesses.
Gives    a `Learned` per number: a fit (`pricing.ledger.fit`) or a share, with its rows and its three points.
Which    a load teaches how full loads are (``oven.fill``), how many jobs share one
         (``oven.jobs_per_load``), how far the air is set above the metal (``oven.air_above_metal``) and
         the real bring-up over the computed one (``oven.bring_up_factor``). A meter teaches energy over
         that of the quotes (``oven.energy_factor``) and, in words, what it takes on a day without a load.
         Powder weighed teaches the share that stays on (``powder.utilisation``), the rest of a hopper
         (``powder.hopper``) and, gauged, the film (``film.<powder>``). Packs teach how much of a rest is
         used later, and so its uses a year (``uses.<powder>``). Quotes won and lost teach ``enquiries.per_job``.
Model    what was seen is the number times what was expected, with the scatter of a rate. Odd entries are
         set aside for good: long minutes are work that somebody is paid for, but a weight, a reading or
         a load ten times off is a slip. A number that divides (how full, what stays on) is learned
         upside down, since cost follows the mean of that.
"""

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import pairwise
from math import log1p
from typing import NamedTuple

import numpy as np

from pricing.basis.facts import fact, facts
from pricing.costing.packs import chance_of_reuse
from pricing.ledger.calibrate import guess_at
from pricing.ledger.expected import LoggedFact, visit_of_load
from pricing.ledger.fit import Guess, StepFit, fit_step
from pricing.ledger.intervals import Beta, LogNormal
from pricing.ledger.rework import beta_of
from pricing.physics.film import powder_kg
from pricing.shop.powders import Powder
from pricing.shop.rates import Assumption
from pricing.shop.shop import Shop

CARRIERS = {"gas": "gas", "electric": "electricity"}
"""What a meter counts, by the fuel of an oven."""
DIVIDES = ("oven.fill", "powder.utilisation")
"""Numbers that cost is divided by."""
_BOUNDS = {"oven.fill": (0.01, 1.0), "powder.utilisation": (0.01, 1.0), "oven.jobs_per_load": (1.0, np.inf)}
_SURE = 0.98  # a share above this says no more than "often"


class NumberSeen(NamedTuple):
    """One observation: the day, what was expected at a number of 1, and what was seen."""

    day: str
    expected: float
    seen: float


@dataclass(frozen=True, slots=True)
class Learned:
    """A number as the log has it.

    Parameters
    ----------
    key : str
        Name of the number.
    rows : int
        Observations behind it.
    mean, low, high : float
        Mean, and the ends between which 9 of 10 observations lie.
    sure : (float, float)
        Interval of 95 % of the typical value.
    learned : float
        Share of the belief's variance that the log took away.
    first, last : str
        Days of the first and last observation.
    words : tuple of str
        What the owner should know.
    """

    key: str
    rows: int
    mean: float
    low: float
    high: float
    sure: tuple[float, float]
    learned: float
    first: str
    last: str
    words: tuple[str, ...] = ()

    @classmethod
    def told(
        cls,
        key: str,
        rows: int,
        mean: float,
        quantile: Callable[[float], float],
        learned: float,
        days: Collection[str],
        words: tuple[str, ...] = (),
    ) -> "Learned":
        """Make it from what the number does not exceed with a chance, where that is all that is known of it."""
        low, high, *sure = map(quantile, (0.05, 0.95, 0.025, 0.975))
        return cls(key, rows, mean, low, high, (sure[0], sure[1]), learned, min(days), max(days), words)


def learn_ratio(key: str, guess: Guess, seen: Sequence[NumberSeen]) -> Learned | None:
    """Learn a number from its guess and what was seen over what was expected; None without a usable observation.

    Examples
    --------
    >>> days = (("2026-11-02", 20.0, 24.0), ("2026-11-03", 30.0, 37.0), ("2026-11-04", 12.0, 15.0))
    >>> seen = [NumberSeen(*day) for day in days]
    >>> found = learn_ratio("oven.bring_up_factor", Guess("load", 0.8, 1.0, 1.5), seen)
    >>> round(found.sure[0], 2) < 1.2 < round(found.sure[1], 2)
    True
    """
    usable = sorted(one for one in seen if one.expected > 0 and one.seen > 0)
    if not usable:
        return None
    upside_down = key in DIVIDES
    if upside_down:
        guess = Guess(guess.driver, 1 / guess.high, 1 / guess.likely, 1 / guess.low)
    minutes, amounts = np.array([one.seen for one in usable]), np.array([[one.expected] for one in usable])
    fit = fit_step(minutes, amounts, [guess])
    return _of_fit(key, fit, usable, upside_down=upside_down)


def _of_fit(key: str, fit: StepFit, seen: Sequence[NumberSeen], *, upside_down: bool) -> Learned:
    form = LogNormal(float(fit.typical[0]), fit.state.scatter)
    mean = float(form.mean)
    ends = [float(form.quantile(chance)) for chance in (0.05, 0.95)]
    sure = [float(end[0]) for end in fit.rate_interval(0.95)]
    if upside_down:
        mean, ends, sure = 1 / mean, [1 / end for end in reversed(ends)], [1 / end for end in reversed(sure)]
    bounds = _BOUNDS.get(key, (0.0, np.inf))
    mean, low, high = (float(np.clip(value, *bounds)) for value in (mean, *ends))
    odd = int((fit.weight < 0.5).sum())
    words = (f"{odd} odd {'entry is' if odd == 1 else 'entries are'} set aside.",) if odd else ()
    return Learned(
        key, fit.rows, mean, low, high, (sure[0], sure[1]), float(fit.learned[0]), seen[0].day, seen[-1].day, words
    )


def learn_enquiries(guess: Assumption, outcomes: Sequence[LoggedFact]) -> Learned | None:
    """Learn how many enquiries a job that comes must pay for: one over the share that is won.

    Examples
    --------
    >>> from pricing.shop.folder import open_shop
    >>> told = [{"result": "won" if n % 3 else "lost", "on": "2026-11-02"} for n in range(300)]
    >>> round(learn_enquiries(open_shop().assumptions["enquiries.per_job"], told).mean, 1)
    1.5
    """
    if not outcomes:
        return None
    won, n = sum(row["result"] == "won" for row in outcomes), len(outcomes)
    before = beta_of(replace(guess, low=1 / guess.high, likely=1 / guess.likely, high=1 / guess.low, shape="pert"))
    share = before.after(won, n - won)
    mean = (share.a + share.b - 1) / (share.a - 1) if share.a > 1 else guess.mean  # mean of one over a beta share
    learned = float(np.clip(1 - share.variance / before.variance, 0.0, 1.0))
    days = [str(row["on"]) for row in outcomes]
    return Learned.told(guess.key, n, mean, lambda chance: 1 / share.quantile(1 - chance), learned, days)


def seen_in_loads(loads: Iterable[LoggedFact], expected: Mapping[str, LoggedFact]) -> dict[str, list[NumberSeen]]:
    """Collect the observations that loads make, by number."""
    found: dict[str, list[NumberSeen]] = defaultdict(list)
    for row in loads:
        day = str(row["on"])
        if row["fill"]:
            found["oven.fill"].append(NumberSeen(day, 1.0, 1.0 / row["fill"]))
        if row["jobs"]:
            found["oven.jobs_per_load"].append(NumberSeen(day, 1.0, float(row["jobs"])))
        visit = visit_of_load(row, expected)
        if not visit:
            continue
        beyond = row["minutes"] - visit["dwell_min"]
        found["oven.bring_up_factor"].append(NumberSeen(day, visit["bring_up_min"], beyond))
        if row["set_degC"]:
            above = row["set_degC"] - visit["metal_degC"]
            found["oven.air_above_metal"].append(NumberSeen(day, 1.0, above))
    return found


def seen_in_powder(
    rows: Iterable[LoggedFact], expected: Mapping[str, LoggedFact], shop: Shop
) -> dict[str, list[NumberSeen]]:
    """Collect the observations that weighing and gauging make, by number."""
    found: dict[str, list[NumberSeen]] = defaultdict(list)
    for row in rows:
        day, powder = str(row["on"]), shop.powders.get(row["powder"])
        if row["left_kg"]:
            found["powder.hopper"].append(NumberSeen(day, 1.0, row["left_kg"]))
        if powder is None:
            continue
        if row["film_um"]:
            found[f"film.{powder.name}"].append(NumberSeen(day, 1.0, row["film_um"]))
        quoted = expected.get(row["job"], {}).get("powder", {}).get(powder.name, {})
        area = row["coated_m2"] or quoted.get("area_m2", 0.0)
        film = row["film_um"] or shop.book[f"film.{powder.name}"]
        stays = powder_kg(area, film_um=film, density_g_per_cm3=powder.density_g_per_cm3, utilisation=1.0)
        taken = row["used_kg"] - shop.book["powder.purge"] * quoted.get("changes", 1.0)
        found["powder.utilisation"].append(NumberSeen(day, float(stays), taken))
    return found


def learn_uses(
    packs: Sequence[LoggedFact], powder_rows: Sequence[LoggedFact], shop: Shop, beliefs: Mapping[str, Assumption]
) -> list[Learned]:
    """Learn how often a colour that is bought for a job is asked for again, from what of its packs is thrown away.

    The share of a rest that is used later is the chance that the colour is asked for again while it keeps
    (`pricing.costing.packs.chance_of_reuse`); uses a year are read off that share.
    """
    found = [
        _uses_of(
            powder,
            [row for row in packs if row["powder"] == name],
            [row for row in powder_rows if row["powder"] == name],
            beliefs,
        )
        for name, powder in shop.powders.items()
        if not powder.stocked
    ]
    return [one for one in found if one]


def _uses_of(
    powder: Powder, packs: Sequence[LoggedFact], weighed: Sequence[LoggedFact], beliefs: Mapping[str, Assumption]
) -> Learned | None:
    opened, thrown = sum(row["opened"] for row in packs), sum(row["thrown_kg"] for row in packs)
    if not opened:
        return None
    rest = max(opened * powder.pack_kg - sum(row["used_kg"] for row in weighed), thrown, 1e-9)
    again = min(max(chance_of_reuse(beliefs[f"uses.{powder.name}"].likely, powder.shelf_y), 0.02), _SURE)
    packs_believed = fact("ledger.packs_believed")
    share = Beta(packs_believed * again, packs_believed * (1 - again))
    share = share.after(opened * (1 - thrown / rest), opened * thrown / rest)

    def a_year(share: float) -> float:
        return -log1p(-min(share, _SURE)) / powder.shelf_y

    return Learned.told(
        f"uses.{powder.name}",
        opened,
        a_year(share.mean),
        lambda chance: a_year(share.quantile(chance)),
        opened / (opened + packs_believed),
        [str(row["on"]) for row in packs],
        (f"{len({row['job'] for row in weighed}) / opened:.1f} weighed jobs to a pack.",),
    )


def learn_energy(
    meters: Sequence[LoggedFact],
    loads: Sequence[LoggedFact],
    expected: Mapping[str, LoggedFact],
    shop: Shop,
    guess: Assumption,
) -> Learned | None:
    """Learn energy over that of the quotes, and what a meter takes on a day without a load.

    A meter with the name of an oven counts that oven's loads, any other those of all ovens of its carrier; a load
    without a quote counts as the mean of the others. None where no two readings have a load between them.
    """
    fuels = {oven.name: CARRIERS[oven.fuel] for oven in shop.machines.oven}
    burned = [(row, visit_of_load(row, expected)) for row in loads]
    known = [float(visit["kwh"]) for _, visit in burned if visit and visit["kwh"] > 0]
    if not known:
        return None
    by_meter: dict[tuple[str, str], list[LoggedFact]] = {}
    for row in meters:
        by_meter.setdefault((row["meter"], row["carrier"]), []).append(row)
    spans: list[tuple[str, float, float, float]] = []
    for (name, carrier), rows in by_meter.items():
        ordered = sorted(rows, key=lambda row: (str(row["on"]), row["reading"]))
        for one, two in pairwise(ordered):
            days = (date.fromisoformat(str(two["on"])) - date.fromisoformat(str(one["on"]))).days
            took = (two["reading"] - one["reading"]) * (fact("gas.gross_per_m3") if two["unit"] == "m3" else 1.0)
            kwh = sum(
                float(visit["kwh"]) if visit else float(np.mean(known))
                for row, visit in burned
                if str(one["on"]) < str(row["on"]) <= str(two["on"])
                and (row["oven"] == name if name in fuels else fuels.get(row["oven"]) == carrier)
            )
            if days > 0 and took > 0 and kwh > 0:
                spans.append((str(two["on"]), kwh, float(days), took))
    if not spans:
        return None
    spans.sort()
    took, amounts = np.array([span[3] for span in spans]), np.array([span[1:3] for span in spans])
    idle = facts()["ledger.idle_per_day"]
    fit = fit_step(took, amounts, [guess_at(guess, "kWh"), Guess("day", idle.low, idle.value, idle.high)])
    seen = [NumberSeen(*span[:1], span[1], span[3]) for span in spans]
    words = (f"Beside the loads the meter takes {fit.typical[1]:.3g} kWh a day; that belongs into the bills.",)
    return replace(_of_fit(guess.key, fit, seen, upside_down=False), words=words)
