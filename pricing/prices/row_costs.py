"""What rows of the price list cost, in the dearest colours of their class, in every number of units.

Takes    items and a finish.
Gives    costs as arrays, the fit to their target prices, and why a row may not be quoted.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import product

import numpy as np

from pricing.basis.arrays import Array
from pricing.basis.identity import Same
from pricing.costing.lines import MONEY
from pricing.costing.refusals import reasons
from pricing.costing.sheet import cost_of_work
from pricing.costing.walk import money_of_work
from pricing.parts.items import Item
from pricing.parts.work import Work, work_of_rows
from pricing.prices.colours import BASE, clear_powders, clear_twin, colours_of, dearest
from pricing.prices.marks import price_at_margin
from pricing.prices.price_rule import Tariff
from pricing.prices.tariff_fit import Fit, counts_of, fit, tariffs
from pricing.shop.powders import Powder
from pricing.shop.shop import Book, Built, Shop

CLEAR = "clear coat"
"""Name of the adder for a clear coat on top."""


@dataclass(frozen=True, slots=True)
class Costs:
    """Costs of items by number of units, (items, counts); of several colours the dearest."""

    kinds: Mapping[str, Array]
    owner_h: Array

    @property
    def total(self) -> Array:
        """All kinds of money together."""
        return sum((self.kinds[kind] for kind in MONEY[1:]), self.kinds[MONEY[0]])


@lru_cache(maxsize=512)
def _work(shop: Built, items: tuple[Same[Item], ...], counts: tuple[int, ...]) -> Work:
    """Amounts do not depend on rates or colours: a slider only costs them again."""
    repeated = [item.thing for item in items for _ in counts]
    return work_of_rows(repeated, np.tile(np.asarray(counts, dtype=np.float64), len(items)), shop.thing)


def costs_of(
    shop: Shop,
    items: tuple[Item, ...],
    finish: str,
    colours: Sequence[tuple[Powder, ...]],
    counts: tuple[int, ...],
    book: Book | None,
    *,
    alone: bool = False,
) -> Costs:
    """Cost items in every number of units; of several sets of colours the dearest counts. (items, counts) each.

    A set has a powder for each of the finish's colours; ``alone``, nothing else shares the oven loads.
    """
    work = _work(Built(shop), tuple(Same(item) for item in items), counts)
    if alone:
        work = replace(work, alone=True)
    shape, dearest_of = (len(items), len(counts)), None
    for powders in colours:
        money = money_of_work(shop, work, shop.finishes[finish], powders, shop.book if book is None else book)
        kinds = {kind: np.broadcast_to(money.kinds[kind], work.parts.shape).reshape(shape) for kind in MONEY}  # type: ignore[union-attr]
        owner = np.broadcast_to(money.owner_h, work.parts.shape).reshape(shape)  # type: ignore[union-attr]
        one = Costs(kinds, owner)
        dearest_of = one if dearest_of is None else _dearer(dearest_of, one)
    assert dearest_of is not None  # noqa: S101  a class of colours is never empty
    return dearest_of


def log_costs(shop: Shop, items: tuple[Item, ...], finish: str, counts: tuple[int, ...], book: Book) -> Array:
    """Work out the logarithm of the full cost of items in the list's dearest colours, (m, items x counts).

    Numbers of the book may be (m, 1) arrays: many books at once.
    """
    work = _work(Same(shop), tuple(Same(item) for item in items), counts)
    dearest_of: Array = np.zeros(1)
    for powders in base_colours(shop, finish):
        sheet = cost_of_work(shop, work, shop.finishes[finish], powders, title="list", book=book)
        dearest_of = np.maximum(dearest_of, sheet.total)
    return np.asarray(np.log(dearest_of))


def _dearer(one: Costs, other: Costs) -> Costs:
    more = other.total > one.total
    kinds = {kind: np.where(more, other.kinds[kind], one.kinds[kind]) for kind in MONEY}
    return Costs(kinds, np.where(more, other.owner_h, one.owner_h))


def fit_of(shop: Shop, found: Costs, counts: tuple[int, ...]) -> Fit:
    """Fit tariffs to the target prices of costs in so many units."""
    places = counts_of(shop.policy)
    at = [counts.index(count) for count in places]
    target = np.asarray(price_at_margin(found.total[:, at], shop.policy.target_margin))
    return fit(target, np.asarray(places, dtype=np.float64), shop.policy.list_up_to)


def worked_out(
    shop: Shop, item: Item, finish: str, powders: Sequence[Powder], *, alone: bool = False, book: Book | None = None
) -> Tariff:
    """Lay a tariff for what is on no list: a part of the customer's own, a finish or an oven load of its own.

    ``item`` is the part as it would stand on the list; ``alone``, nothing else shares its oven loads.
    """
    counts = counts_of(shop.policy)
    found = costs_of(shop, (item,), finish, [tuple(powders)], counts, book, alone=alone)
    return tariffs(fit_of(shop, found, counts), shop.policy)[0]


def groups(shop: Shop, items: Sequence[Item], column: str) -> dict[str, list[int]]:
    """Collect the places of the items by the finish that stands in a column; one that the shop lacks is refused."""
    found: dict[str, list[int]] = {}
    for at, item in enumerate(items):
        key = getattr(item, column)
        shop.finish(key, item.title)
        found.setdefault(key, []).append(at)
    return found


def why_refused(
    shop: Shop, items: Sequence[Item], finish: str, colours: Sequence[tuple[Powder, ...]]
) -> tuple[str, ...]:
    """Say why each item may not have a finish in any of these sets of colours; empty where it may in one of them."""
    return _why_refused(Same(shop), tuple(map(Same, items)), finish, tuple(tuple(map(Same, one)) for one in colours))


@lru_cache(maxsize=512)
def _why_refused(
    shop: Same[Shop], items: tuple[Same[Item], ...], finish: str, colours: tuple[tuple[Same[Powder], ...], ...]
) -> tuple[str, ...]:
    recipe, sets = shop.thing.finishes[finish], [[powder.thing for powder in one] for one in colours]
    told = [[reasons(item.thing.part, recipe, shop.thing, powders) for powders in sets] for item in items]
    return tuple("; ".join(one[0]) if one and all(one) else "" for one in told)


def base_colours(shop: Shop, finish: str) -> list[tuple[Powder, ...]]:
    """List what a row of the list is laid on: the dearest colours of the list's class, for each colour of a finish."""
    return list(product(*(dearest(shop, BASE) for _ in range(shop.finishes[finish].colours))))


def with_adder(shop: Shop, finish: str, name: str) -> tuple[str, list[tuple[Powder, ...]]]:
    """List finish and colours of a row with an adder: a colour of another class in any place, or a clear coat."""
    base = base_colours(shop, finish)
    if name == CLEAR:
        twin, clear = clear_twin(shop, finish), clear_powders(shop)
        return (twin, [(*colours, top) for colours in base for top in clear]) if twin and clear else (finish, [])
    places = range(colours_of(shop.finishes[finish]))
    return finish, [
        (*colours[:place], other, *colours[place + 1 :])
        for colours in base
        for place in places
        for other in dearest(shop, name)
    ]
