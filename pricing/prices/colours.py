"""Classes of colours: which ones the list holds for, and which ones add to it."""

from collections.abc import Sequence
from functools import lru_cache

from pricing.basis.errors import BadInput, Problem
from pricing.basis.identity import Same
from pricing.costing.packs import chance_of_reuse
from pricing.shop.finishes import Finish
from pricing.shop.powders import Powder
from pricing.shop.shop import Shop

BASE = "stock colours"
"""The class that the rows of the list hold for."""
BOUGHT = "a colour bought for the job"
_CLEAR = "clear"


def class_of(powder: Powder) -> str:
    """Write the class of a powder: in stock, or bought for the job."""
    return BASE if powder.stocked else BOUGHT


def classes(shop: Shop) -> dict[str, tuple[Powder, ...]]:
    """Collect the shop's colours by class, that of the list first; clear powders are no colours.

    Where nothing is in stock, the list holds for all colours.
    """
    colours = [powder for powder in shop.powders.values() if powder.kind != _CLEAR] or list(shop.powders.values())
    found = {name: tuple(p for p in colours if class_of(p) == name) for name in (BASE, BOUGHT)}
    if not found[BASE]:
        return {BASE: tuple(colours)}
    return {name: members for name, members in found.items() if members}


def listed_class(shop: Shop, powder: Powder) -> str:
    """Write the class that a powder is priced as."""
    return next((name for name, members in classes(shop).items() if powder in members), BASE)


def dearest(shop: Shop, name: str) -> Sequence[Powder]:
    """Collect the powders of a class that may be the dearest of it: no other is as dear in every respect."""
    return _dearest(Same(shop), name)


@lru_cache(maxsize=64)
def _dearest(shop: Same[Shop], name: str) -> tuple[Powder, ...]:
    members = classes(shop.thing)[name]
    return tuple(p for p in members if not any(_as_dear(other, p) for other in members if other is not p))


def _as_dear(one: Powder, other: Powder) -> bool:
    """Whether one powder costs at least as much as another whatever is coated."""
    mine, theirs = _respects(one), _respects(other)
    return all(a >= b for a, b in zip(mine, theirs, strict=True)) and (mine != theirs or one.name < other.name)


def _respects(powder: Powder) -> tuple[float, ...]:
    """What makes a powder dear; packs of another size are not compared, since either may fit a job better."""
    price, kg_per_m2 = powder.price_per_kg, powder.density_g_per_cm3 * powder.film_um
    baked = (price, price * kg_per_m2, powder.cure_degC, powder.dwell_min)
    if powder.stocked:
        return (*baked, 0.0, 0.0, 0.0, 0.0, 0.0)
    again = asked = 0.0
    if powder.way == "shared":  # its rest is used later, as far as it is asked for
        again = chance_of_reuse(powder.uses, powder.shelf_y)
        asked = powder.uses * powder.each_kg * powder.shelf_y
    return (*baked, kg_per_m2, powder.pack_kg, -powder.pack_kg, -again, -asked)


def colours_of(finish: Finish) -> int:
    """Work out how many colours are seen: two where there is a line, else one; what comes on top is clear."""
    return 2 if finish.line != "none" else 1


def clear_twin(shop: Shop, key: str) -> str | None:
    """Write the finish that is the same with a clear coat on top; None where the shop has none."""
    base = shop.finish(key)
    for other, finish in shop.finishes.items():
        one_more = len(finish.coats) == len(base.coats) + 1 and finish.colours == base.colours + 1
        if one_more and finish.line == base.line:
            return other
    return None


def clear_powders(shop: Shop) -> tuple[Powder, ...]:
    """Collect the shop's clear powders; empty where it has none."""
    return tuple(powder for powder in shop.powders.values() if powder.kind == _CLEAR)


def plain_finish(shop: Shop) -> str:
    """Write the finish that others are held against: the first with one coat; a shop without one is refused."""
    for key, finish in shop.finishes.items():
        if len(finish.coats) == 1:
            return key
    raise BadInput("finishes.toml", [Problem("finishes", "all with several coats", "one with a single coat at least")])
