"""How often each colour is wanted a year and how much a use takes, by the shop's own week; three ways to buy it."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from pricing.costing.packs import ways_to_pay
from pricing.costing.sheet import cost
from pricing.costing.walk import LEFTOVER
from pricing.parts.job import job_of_item
from pricing.prices.week import Wanted
from pricing.shop.powders import Powder, Way
from pricing.shop.shop import Shop


class Uses(NamedTuple):
    """Uses of a colour: how many a year, and kilograms of one on average."""

    per_y: float
    each_kg: float


class Colour(NamedTuple):
    """A colour with its uses and what one use pays for powder by each way of buying it. [money]"""

    powder: Powder
    uses: Uses
    pays: Mapping[Way, float]


def expected_uses(shop: Shop, wanted: Sequence[Wanted]) -> dict[str, Uses]:
    """Add up what the week takes of each powder over the owner's weeks of a year; others are left out."""
    times: dict[str, float] = {}
    taken: dict[str, float] = {}
    for line in wanted:
        sheet = cost(shop, job_of_item(line.item, units=line.units, column=line.column))
        kg: dict[str, float] = {}
        for of_line in sheet.lines:
            for material in of_line.materials if of_line.step != LEFTOVER else ():
                if material.name in shop.powders:
                    kg[material.name] = kg.get(material.name, 0.0) + float(material.kg)
        for name, each in kg.items():
            uses = line.orders * shop.owner.weeks
            times[name] = times.get(name, 0.0) + uses
            taken[name] = taken.get(name, 0.0) + uses * each
    return {name: Uses(count, taken[name] / count) for name, count in times.items() if count}


def colours(shop: Shop, wanted: Sequence[Wanted]) -> tuple[Colour, ...]:
    """Collect every powder with its uses and the three ways to buy it, for one use of the usual size.

    A colour that the week does not ask for keeps the uses of its own row, and is shown for the least the gun takes.
    """
    found, hopper = expected_uses(shop, wanted), float(shop.book["powder.hopper"])
    out = []
    for powder in shop.powders.values():
        uses = found.get(powder.name, Uses(powder.uses, powder.each_kg))
        asked = powder.model_copy(update={"uses": uses.per_y, "each_kg": uses.each_kg})
        out.append(Colour(powder, uses, ways_to_pay(asked, uses.each_kg or hopper, hopper)))
    return tuple(out)


def with_uses(shop: Shop, wanted: Sequence[Wanted]) -> Shop:
    """Return the shop with the uses of its week in its powders; nothing is written."""
    found = expected_uses(shop, wanted)
    powders = {
        name: powder.model_copy(update={"uses": round(found[name].per_y, 1), "each_kg": round(found[name].each_kg, 3)})
        if name in found
        else powder
        for name, powder in shop.powders.items()
    }
    return replace(shop, powders=powders)
