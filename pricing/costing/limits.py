"""How hot and how often: set points of a job's oven visits, coats cured too little, rejects that cannot be redone."""

from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from pricing.basis.checks import Floats
from pricing.basis.facts import fact
from pricing.basis.identity import Same
from pricing.basis.numerals import localized
from pricing.basis.units import readable, shown, sig
from pricing.parts.part import Part
from pricing.parts.work import Hot, Work
from pricing.physics.cure import cure_rate
from pricing.shop.finishes import Finish
from pricing.shop.powders import Powder
from pricing.shop.shop import Shop
from pricing.steps.blast import blast_rate_of

_AS_GOOD_AS_CURED = 0.99  # of the schedule's minutes; less is told


def cures(finish: Finish) -> int:
    """Oven visits of a part for its coats alone."""
    return sum(coat.cure != "none" for coat in finish.coats)


class SetPoints(NamedTuple):
    """Hottest air that a job needs: for the cures, and for the outgas bake. [°C]"""

    cure_degC: float
    outgas_degC: float

    def hottest_degC(self, *, baked: bool) -> float:
        """Hottest air of all visits of a part; the bake counts where gas is baked out of it. [°C]"""
        return max(self.cure_degC, self.outgas_degC) if baked else self.cure_degC


def set_points(finish: Finish, powders: Sequence[Powder], shop: Shop) -> SetPoints:
    """Return the set points at the shop's mean numbers."""
    above = float(shop.book["oven.air_above_metal"])
    used = [powders[coat.powder - 1].cure_degC for coat in finish.coats]
    return SetPoints(max(used) + above, used[0] + float(shop.book["outgas.above_cure"]) + above)


class Losses(NamedTuple):
    """What a reject does where the heat-cycle limit ends its redoing.

    ``redone`` is the share of failures that are stripped and done again, ``lost`` the value that a failure costs
    instead [money], ``may`` the share of parts that may be redone at least once.
    """

    redone: Floats
    lost: Floats
    may: Floats


def losses(work: Work, finish: Finish, shop: Shop, chance: Floats) -> Losses | None:
    """Split rejects into those done again and those that are lost.

    Parameters
    ----------
    work : Work
        Whose parts.
    finish : Finish
        For its cures, which every redo repeats.
    shop : Shop
        For the limit.
    chance : float or array
        Of a reject.

    Returns
    -------
    Losses or None
        None where every part may be redone as often as it takes.

    Notes
    -----
    A part that may be redone k times is lost with chance p^(k+1): of the p/(1-p) failures to be expected without limit
    a share p^k(1-p) ends so, and 1-p^k are redone.
    """
    rules = _redos(Same(work.hot), cures(finish), shop.policy.most_heat_cycles)
    if not rules:
        return None
    redone: Floats = 1.0
    lost: Floats = 0.0
    may: Floats = 1.0
    for redos, share, value in rules:
        ends = chance**redos
        redone = redone - share * ends
        lost = lost + value * ends * (1.0 - chance)
        may = may - share * (redos == 0.0)
    return Losses(redone, lost, may)


@lru_cache(maxsize=512)
def _redos(hot: Same[Hot], cures_each: int, most: int) -> tuple[tuple[Floats, Floats, Floats], ...]:
    """Redos that are left, share of the parts, value of a lost one times that share; for a list arrays by row."""
    parts = hot.thing.parts
    left = np.array([redos_left(part, cures_each, most) for part in parts])
    if np.all(np.isinf(left)):
        return ()
    values = np.array([part.value for part in parts])
    if hot.thing.rows is not None:
        rows = hot.thing.rows
        return ((left[rows], 1.0, values[rows]),)
    shares = np.array(hot.thing.pieces) / sum(hot.thing.pieces)
    told = [
        (float(k), float(shares[left == k].sum()), float((shares * values)[left == k].sum())) for k in np.unique(left)
    ]
    return tuple(rule for rule in told if np.isfinite(rule[0]))


def redos_left(part: Part, cures_each: int, most: int) -> float:
    """How often a part may be done again before it has seen the oven too often; inf without a limit."""
    if not part.guarded or not cures_each:
        return np.inf
    return float(max(0, (most - part.earlier_visits - int(part.baked) - cures_each) // cures_each))


def cautions_of(hot: Hot, finish: Finish, powders: Sequence[Powder], shop: Shop) -> tuple[str, ...]:
    """Write what the owner should know of a job's heat and air before the price is given."""
    if hot.rows is not None:  # a list of thousands of rows is not asked
        return ()
    return _cautions(Same(hot), Same(finish), tuple(map(Same, powders)), Same(shop))


@lru_cache(maxsize=512)
def _cautions(
    hot: Same[Hot], finish: Same[Finish], powders: tuple[Same[Powder], ...], shop: Same[Shop]
) -> tuple[str, ...]:
    plain = [powder.thing for powder in powders]
    told = [*_cured_too_little(finish.thing, plain, shop.thing)]
    for part in hot.thing.parts:
        told += _of_part(part, finish.thing, plain, shop.thing)
    told += _air(shop.thing) if any(part.blasted for part in hot.thing.parts) else []
    return tuple(dict.fromkeys(told))


class CoatHeat(NamedTuple):
    """All heat that a coat has seen by the end, held against its powder's schedule.

    ``visits`` are times in the oven since it was sprayed, ``worth_min`` what they are worth together at the schedule's
    metal temperature, ``schedule_min`` what it asks for. [min]
    """

    coat: int
    powder: str
    visits: int
    worth_min: float
    schedule_min: float


def coat_heats(finish: Finish, powders: Sequence[Powder], shop: Shop) -> list[CoatHeat]:
    """Collect what each coat has seen in the oven by the end, on the careful side: metal as hot as planned.

    The worth follows Arrhenius with the activation energy of ``data/facts.csv``, and holds only within the powder
    sheet's window.
    """
    energy = fact("cure.activation_energy", "kJ/mol")
    share = {"none": 0.0, "partial": float(shop.book["partial.share_of_dwell"]), "full": 1.0}
    used = [powders[coat.powder - 1] for coat in finish.coats]
    found = []
    for at, own in enumerate(used):
        later = [
            (coat, powder) for coat, powder in zip(finish.coats[at:], used[at:], strict=True) if coat.cure != "none"
        ]
        worth = sum(
            powder.dwell_min
            * share[coat.cure]
            * float(cure_rate(powder.cure_degC, reference_degC=own.cure_degC, activation_kJ_per_mol=energy))
            for coat, powder in later
        )
        found.append(CoatHeat(at + 1, own.name, len(later), worth, own.dwell_min))
    return found


def _cured_too_little(finish: Finish, powders: Sequence[Powder], shop: Shop) -> list[str]:
    told = []
    for heat in coat_heats(finish, powders, shop):
        if heat.worth_min < _AS_GOOD_AS_CURED * heat.schedule_min:
            at = shown_text(powders[finish.coats[heat.coat - 1].powder - 1].cure_degC, "degC", shop)
            told.append(
                f"Coat {heat.coat} is not cured by the end: its oven visits are worth {heat.worth_min:.3g} min of the"
                f" {heat.schedule_min:g} min that {heat.powder} asks for at {at}."
                " Cure it longer or take powders of one schedule."
            )
    return told


def _of_part(part: Part, finish: Finish, powders: Sequence[Powder], shop: Shop) -> list[str]:
    told = []
    if part.heat_treated and part.material == "aluminium":
        points = set_points(finish, powders, shop)
        air = float(shop.book["oven.air_above_metal"])
        hottest = points.hottest_degC(baked=part.baked) - air
        seen = shown_text(hottest, "degC", shop)
        ages = [shown_text(fact(f"ageing.{alloy}", "degC"), "degC", shop) for alloy in ("356", "6061")]
        told.append(
            f"{part.name}: heat-treated aluminium sees {seen} and loses temper for good with every hour"
            f" above its ageing temperature (about {ages[0]} to {ages[1]})."
            " Ask the maker what it stands; strength is not certified."
        )
    if redos_left(part, cures(finish), shop.policy.most_heat_cycles) == 0:
        worth = f"costs the part's {part.value:g} {shop.currency}" if part.value else "loses the part: give its value"
        told.append(f"{part.name}: a reject cannot be done again within the limit of oven visits; it {worth}.")
    return told


def _air(shop: Shop) -> list[str]:
    cabinet, compressor = shop.machines.cabinet, shop.machines.compressor
    rate = blast_rate_of(cabinet, compressor, shop.front.air_degC)
    if not rate.compressor_limits:
        return []
    wanted, given = (
        shown_text(m3, "m**3/min", shop) for m3 in (float(rate.wanted_m3_per_min), compressor.free_air_m3_per_min)
    )
    bore, asked, left = (
        shown_text(cabinet.nozzle_bore_mm, "mm", shop),
        shown_text(cabinet.pressure_bar, "bar", shop),
        shown_text(float(rate.gauge_bar), "bar", shop),
    )
    text = f"The nozzle of {bore} wants {wanted} at {asked} and the compressor gives {given}: the pressure falls to"
    return [f"{text} {left}, and blasting is as slow as that."]


def shown_text(value: float, unit: str, shop: Shop) -> str:
    """Write a quantity as the shop thinks of it, to three figures."""
    number, shown_unit = shown(value, unit, shop.front.units)
    return f"{localized(sig(number), shop.front.locale)} {readable(shown_unit, shop.currency)}"
