"""A special colour: buy for the job, stock, or let the customer pay the pack.

Takes    kilograms needed, packs on offer, how often the colour is asked for, how long it keeps.
Gives    the cheapest whole packs, what a leftover is worth, and the three ways side by side.
Rule     powder is bought in whole packs. A leftover is worth what it saves later times the chance
         that it is asked for before it spoils, not its price.
Room     prices. Imports basis.
"""

from collections.abc import Sequence
from math import exp, inf
from typing import NamedTuple

from pricing.basis.checks import nonneg, positive
from pricing.basis.errors import BadInput, Problem


class Pack(NamedTuple):
    """A pack on offer."""

    kg: float
    price: float


class Order(NamedTuple):
    """Whole packs that cover a need at least cost."""

    packs: tuple[tuple[Pack, int], ...]
    kg: float
    cost: float
    leftover_kg: float


class Way(NamedTuple):
    """One way to deal with a special colour.

    ``charge`` is what this job must bring for powder so that the shop does not lose, on average;
    ``at_risk`` is what is lost beyond that if the colour is never asked for again.
    """

    name: str
    order: Order
    charge: float
    at_risk: float
    because: str


def cheapest_packs(need_kg: float, packs: Sequence[Pack]) -> Order:
    """Find the whole packs that cover a need at least cost; of equals, those with most powder.

    Parameters
    ----------
    need_kg : float
        Powder needed, with what stays in the hopper. [kg]
    packs : sequence of Pack
        Packs on offer.

    Returns
    -------
    Order
        Exact: every number of the larger packs is tried.

    Raises
    ------
    BadInput
        No pack is on offer, a number is not above zero, or the need is over 2,000 packs.

    Examples
    --------
    >>> cheapest_packs(6.2, [Pack(1.0, 22.0), Pack(5.0, 70.0), Pack(20.0, 200.0)]).packs
    ((Pack(kg=5.0, price=70.0), 1), (Pack(kg=1.0, price=22.0), 2))
    """
    _check(need_kg, packs)
    by_size = sorted(set(packs), key=lambda pack: -pack.kg)
    best: tuple[float, float, tuple[int, ...]] = (inf, 0.0, ())

    def fill(at: int, left: float, cost: float, chosen: tuple[int, ...]) -> None:
        nonlocal best
        if cost > best[0]:
            return
        if left <= 1e-9 or at == len(by_size):
            if left <= 1e-9 and (cost, left) < best[:2]:
                best = (cost, left, chosen)
            return
        pack = by_size[at]
        most = max(0, -int(-(left - 1e-9) // pack.kg))
        counts = (most,) if at == len(by_size) - 1 else range(most, -1, -1)
        for count in counts:
            fill(at + 1, left - count * pack.kg, cost + count * pack.price, (*chosen, count))

    fill(0, need_kg, 0.0, ())
    bought = tuple((pack, n) for pack, n in zip(by_size, best[2], strict=False) if n)
    kg = sum(pack.kg * n for pack, n in bought)
    return Order(bought, kg, best[0] if best[2] else 0.0, kg - need_kg)


def chance_of_reuse(asked_per_y: float, keeps_y: float) -> float:
    """Give the chance that a colour is asked for again before its powder spoils.

    Parameters
    ----------
    asked_per_y : float
        How often a year it is asked for, at random. [1/y]
    keeps_y : float
        Shelf life left. [y]

    Raises
    ------
    BadInput
        A number is negative or not finite.

    Examples
    --------
    >>> round(chance_of_reuse(0.5, 2.0), 3)
    0.632
    """
    nonneg("reuse", asked_per_y=asked_per_y, keeps_y=keeps_y)
    return 1 - exp(-asked_per_y * keeps_y)


def use_before_spoiling(leftover_kg: float, *, each_kg: float, asked_per_y: float, keeps_y: float) -> float:
    """Give how much of a leftover is used, on average, before it spoils.

    Parameters
    ----------
    leftover_kg, each_kg : float
        What is left, and what one later job takes. [kg]
    asked_per_y, keeps_y : float
        As in `chance_of_reuse`.

    Returns
    -------
    float
        Mean of the lesser of leftover and demand; demand is so many jobs (Poisson) of equal size. [kg]

    Raises
    ------
    BadInput
        A number is negative, or a later job takes nothing.

    Examples
    --------
    >>> round(use_before_spoiling(3.0, each_kg=2.0, asked_per_y=0.5, keeps_y=2.0), 3)
    1.528
    """
    nonneg("leftover", leftover_kg=leftover_kg, asked_per_y=asked_per_y, keeps_y=keeps_y)
    positive("leftover", each_kg=each_kg)
    mean, term, used, jobs = asked_per_y * keeps_y, exp(-asked_per_y * keeps_y), 0.0, 0
    more = 1.0 - term  # chance of more than `jobs` jobs
    while jobs * each_kg < leftover_kg and more > 1e-15:
        used += more * min(each_kg, leftover_kg - jobs * each_kg)
        jobs += 1
        term *= mean / jobs
        more -= term
    return used


def ways_to_buy(
    need_kg: float, packs: Sequence[Pack], *, asked_per_y: float, keeps_y: float, interest_per_y: float = 0.0
) -> tuple[Way, ...]:
    """Set the three ways side by side: pass the pack on, buy and keep the rest, stock a larger pack.

    Parameters
    ----------
    need_kg : float
        Powder this job takes; later jobs are taken to need as much. [kg]
    packs : sequence of Pack
        Packs on offer.
    asked_per_y, keeps_y : float
        How often the colour is asked for, and its shelf life. [1/y, y]
    interest_per_y : float
        Cost of money tied up, as a share a year.

    Returns
    -------
    tuple of Way
        Lowest charge first: that is the way with which a customer can be won.

    Raises
    ------
    BadInput
        As `cheapest_packs`, `use_before_spoiling`.

    Examples
    --------
    >>> packs = [Pack(1.0, 22.0), Pack(5.0, 70.0), Pack(20.0, 200.0)]
    >>> for way in ways_to_buy(4.0, packs, asked_per_y=0.5, keeps_y=2.0):
    ...     print(way.name, round(way.charge, 2), round(way.at_risk, 2))
    buy 61.15 8.85
    pass on 70.0 0.0
    stock 144.24 55.76
    """
    nonneg("special colour", interest_per_y=interest_per_y)
    least = cheapest_packs(need_kg, packs)
    per_kg = least.cost / least.kg
    reuse = chance_of_reuse(asked_per_y, keeps_y)

    def kept(name: str, order: Order) -> Way:
        used = use_before_spoiling(order.leftover_kg, each_kg=need_kg, asked_per_y=asked_per_y, keeps_y=keeps_y)
        held = order.leftover_kg * order.cost / order.kg * interest_per_y * keeps_y / 2
        worth = used * per_kg - held  # what need not be bought later, less the money tied up
        because = (
            f"asked for again with a chance of {reuse:.0%}; of {order.leftover_kg:.2f} kg left over "
            f"{used:.2f} kg are used before they spoil, on average"
        )
        return Way(name, order, order.cost - worth, worth, because)

    ways = [
        Way("pass on", least, least.cost, 0.0, "the customer pays the whole packs and may have the rest"),
        kept("buy", least),
    ]
    larger = [kept("stock", order) for order in (_one_size(pack, need_kg) for pack in packs) if order.kg > least.kg]
    if larger:
        ways.append(min(larger, key=lambda way: way.charge))
    return tuple(sorted(ways, key=lambda way: way.charge))


def _one_size(pack: Pack, need_kg: float) -> Order:
    count = max(1, -int(-need_kg // pack.kg))
    kg = count * pack.kg
    return Order(((pack, count),), kg, count * pack.price, kg - need_kg)


def _check(need_kg: float, packs: Sequence[Pack]) -> None:
    bad = []
    if not 0 < need_kg < inf:
        bad.append(Problem("need", need_kg, "above 0 kg"))
    if not packs:
        bad.append(Problem("packs", "none", "at least one pack on offer"))
    bad += [Problem("pack", pack, "kg and price above 0") for pack in packs if not (pack.kg > 0 and pack.price >= 0)]
    if not bad and need_kg / min(pack.kg for pack in packs) > 2000:
        bad.append(Problem("need", need_kg, "at most 2,000 of the smallest pack", "Ask for drums."))
    if bad:
        raise BadInput("special colour", bad)
