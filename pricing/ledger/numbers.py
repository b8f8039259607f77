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

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import pairwise
from math import log1p
from typing import NamedTuple

import numpy as np

from pricing.basis.facts import Source, fact, facts
from pricing.costing.packs import chance_of_reuse
from pricing.ledger.calibrate import guess_at
from pricing.ledger.expected import LoggedFact, visit_of_load
from pricing.ledger.fit import Guess, StepFit, fit_step
from pricing.ledger.intervals import LogNormal
from pricing.ledger.rework import beta_of
from pricing.physics.film import powder_kg
from pricing.shop.rates import Assumption
from pricing.shop.shop import Shop

CARRIERS = {"gas": "gas", "electric": "electricity"}
"""What a meter counts, by the fuel of an oven."""
DIVIDES = ("oven.fill", "powder.utilisation")
"""Numbers that cost is divided by."""
_BOUNDS = {"oven.fill": (0.01, 1.0), "powder.utilisation": (0.01, 1.0), "oven.jobs_per_load": (1.0, np.inf)}
_SURE = 0.98  # a share above this says no more than "often"
_PACKS_BELIEVED = 4.0  # packs that the owner's word about a powder's rests counts as


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

    def points(self, old: Assumption, source: Source, day: str, where: str) -> Assumption:
        """Return it as a row of the book, three points with the mean of the log.

        Parameters
        ----------
        old : Assumption
            The row as it stands.
        source : Source
            The shop's log.
        day, where : str
            Day of the row, and what is behind it.
        """
        likely = min(max((6 * self.mean - self.low - self.high) / 4, self.low), self.high)
        low, likely, high = (float(f"{value:.4g}") for value in (self.low, likely, self.high))
        note = f"95 % sure from {self.sure[0]:.3g} to {self.sure[1]:.3g}"
        return Assumption(old.key, low, likely, high, old.unit, source, where, day, note, "pert")


def learn_ratio(key: str, guess: Guess, seen: Sequence[NumberSeen]) -> Learned | None:
    """Learn a number from what was seen over what was expected; None without a usable observation.

    Parameters
    ----------
    key : str
        Name of the number.
    guess : Guess
        Its three points.
    seen : sequence of NumberSeen
        Observations.

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

    Parameters
    ----------
    guess : Assumption
        Three points of ``enquiries.per_job``.
    outcomes : sequence of mapping
        Rows of the table ``outcomes`` that stand.

    Examples
    --------
    >>> from pricing.shop.folder import open_shop
    >>> told = [{"result": "won" if n % 3 else "lost", "on": "2026-11-02"} for n in range(300)]
    >>> round(learn_enquiries(open_shop().assumptions["enquiries.per_job"], told).mean, 1)
    1.5
    """
    from scipy.special import betaincinv  # heavy: a quarter of a second

    if not outcomes:
        return None
    won, n = sum(row["result"] == "won" for row in outcomes), len(outcomes)
    a, b = beta_of(replace(guess, low=1 / guess.high, likely=1 / guess.likely, high=1 / guess.low, shape="pert"))
    before = a * b / ((a + b) ** 2 * (a + b + 1))
    a, b = a + won, b + n - won
    after = a * b / ((a + b) ** 2 * (a + b + 1))
    mean = (a + b - 1) / (a - 1) if a > 1 else guess.mean  # mean of one over a beta share
    low, high, *sure = (float(1 / betaincinv(a, b, chance)) for chance in (0.95, 0.05, 0.975, 0.025))
    days = sorted(str(row["on"]) for row in outcomes)
    share = float(np.clip(1 - after / before, 0.0, 1.0))
    return Learned(guess.key, n, mean, low, high, (sure[0], sure[1]), share, days[0], days[-1])


def seen_in_loads(loads: Iterable[LoggedFact], expected: Mapping[str, LoggedFact]) -> dict[str, list[NumberSeen]]:
    """Collect the observations that loads make, by number.

    Parameters
    ----------
    loads : iterable of mapping
        Rows of the table ``loads`` that stand.
    expected : mapping
        From `expected_of_jobs`.
    """
    found: dict[str, list[NumberSeen]] = {}
    for row in loads:
        day = str(row["on"])
        if row["fill"]:
            found.setdefault("oven.fill", []).append(NumberSeen(day, 1.0, 1.0 / row["fill"]))
        if row["jobs"]:
            found.setdefault("oven.jobs_per_load", []).append(NumberSeen(day, 1.0, float(row["jobs"])))
        visit = visit_of_load(row, expected)
        if not visit:
            continue
        beyond = row["minutes"] - visit["dwell_min"]
        found.setdefault("oven.bring_up_factor", []).append(NumberSeen(day, visit["bring_up_min"], beyond))
        if row["set_degC"]:
            above = row["set_degC"] - visit["metal_degC"]
            found.setdefault("oven.air_above_metal", []).append(NumberSeen(day, 1.0, above))
    return found


def seen_in_powder(
    rows: Iterable[LoggedFact], expected: Mapping[str, LoggedFact], shop: Shop
) -> dict[str, list[NumberSeen]]:
    """Collect the observations that weighing and gauging make, by number.

    Parameters
    ----------
    rows : iterable of mapping
        Rows of the table ``powder`` that stand.
    expected : mapping
        From `expected_of_jobs`.
    shop : Shop
        For its powders, and for what a colour change takes.
    """
    found: dict[str, list[NumberSeen]] = {}
    for row in rows:
        day, powder = str(row["on"]), shop.powders.get(row["powder"])
        if row["left_kg"]:
            found.setdefault("powder.hopper", []).append(NumberSeen(day, 1.0, row["left_kg"]))
        if powder is None:
            continue
        if row["film_um"]:
            found.setdefault(f"film.{powder.name}", []).append(NumberSeen(day, 1.0, row["film_um"]))
        quoted = expected.get(row["job"], {}).get("powder", {}).get(powder.name, {})
        area = row["coated_m2"] or quoted.get("area_m2", 0.0)
        film = row["film_um"] or shop.book[f"film.{powder.name}"]
        stays = powder_kg(area, film_um=film, density_g_per_cm3=powder.density_g_per_cm3, utilisation=1.0)
        taken = row["used_kg"] - shop.book["powder.purge"] * quoted.get("changes", 1.0)
        found.setdefault("powder.utilisation", []).append(NumberSeen(day, float(stays), taken))
    return found


def learn_uses(
    packs: Sequence[LoggedFact], powder_rows: Sequence[LoggedFact], shop: Shop, beliefs: Mapping[str, Assumption]
) -> list[Learned]:
    """Learn how often a colour that is bought for a job is asked for again, from what of its packs is thrown away.

    Parameters
    ----------
    packs, powder_rows : sequence of mapping
        Rows of the tables ``packs`` and ``powder`` that stand.
    shop : Shop
        For its powders.
    beliefs : mapping
        ``uses.<powder>`` before the log had its say.

    Notes
    -----
    The share of a rest that is used later is the chance that the colour is asked for again while it keeps
    (`pricing.costing.packs.chance_of_reuse`); uses a year are read off that share.
    """
    from scipy.special import betaincinv  # heavy: a quarter of a second

    found = []
    for name, powder in shop.powders.items():
        rows = [row for row in packs if row["powder"] == name and not powder.stocked]
        opened, thrown = sum(row["opened"] for row in rows), sum(row["thrown_kg"] for row in rows)
        if not opened:
            continue
        weighed = [row for row in powder_rows if row["powder"] == name]
        used = sum(row["used_kg"] for row in weighed)
        rest = max(opened * powder.pack_kg - used, thrown, 1e-9)
        believed = min(max(chance_of_reuse(beliefs[f"uses.{name}"].likely, powder.shelf_y), 0.02), _SURE)
        a = _PACKS_BELIEVED * believed + opened * (1 - thrown / rest)
        b = _PACKS_BELIEVED * (1 - believed) + opened * thrown / rest
        shares = (a / (a + b), *(float(betaincinv(a, b, chance)) for chance in (0.05, 0.95, 0.025, 0.975)))
        mean, low, high, *sure = (-log1p(-min(share, _SURE)) / powder.shelf_y for share in shares)
        days = sorted(str(row["on"]) for row in rows)
        words = (f"{len({row['job'] for row in weighed}) / opened:.1f} weighed jobs to a pack.",)
        found.append(
            Learned(
                f"uses.{name}",
                opened,
                mean,
                low,
                high,
                (sure[0], sure[1]),
                opened / (opened + _PACKS_BELIEVED),
                days[0],
                days[-1],
                words,
            )
        )
    return found


def learn_energy(
    meters: Sequence[LoggedFact],
    loads: Sequence[LoggedFact],
    expected: Mapping[str, LoggedFact],
    shop: Shop,
    guess: Assumption,
) -> Learned | None:
    """Learn energy over that of the quotes, and what a meter takes on a day without a load.

    Parameters
    ----------
    meters, loads : sequence of mapping
        Rows of the tables that stand. A meter with the name of an oven counts that oven's loads, any other those
        of all ovens of its carrier.
    expected : mapping
        From `expected_of_jobs`; a load without a quote counts as the mean of the others.
    shop : Shop
        For its ovens.
    guess : Assumption
        Three points of ``oven.energy_factor``.

    Returns
    -------
    Learned or None
        None where no two readings have a load between them.
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
