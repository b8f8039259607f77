"""The lines of a cost sheet, one after the other: the steps, the loops that are paid for, what is left in a pack.

Takes    amounts in their oven, a finish, powders, numbers.
Gives    lines as they come. A sheet keeps them; a list of thousands of rows adds them up and lets go of each, since
         all of them at once would fill the processor's caches many times over.
"""

from collections import ChainMap
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from pricing.basis.checks import Floats, onto
from pricing.costing.lines import MONEY, Line, line_of
from pricing.costing.loops import Again, claimed_work, claims_share, redone_work, respray_share
from pricing.costing.oven_choice import choose_oven
from pricing.costing.packs import rest_to_pay_kg
from pricing.parts.work import Work
from pricing.shop.finishes import Finish
from pricing.shop.powders import Powder
from pricing.shop.shop import Book, Shop
from pricing.steps.route import AFTER_CLAIM, Visit, redo_route, respray_route, route, uses_of
from pricing.steps.step import MaterialUse, Use

RESPRAY = "respray"
REDO = "redo"
LEFTOVER = "pack_rest"
LOST = "lost_part"
WARRANTY = "warranty"


def lines_of_work(
    work: Work, again: Again, finish: Finish, powders: Sequence[Powder], shop: Shop, book: Book
) -> Iterator[Line]:
    """Go through the lines of a cost sheet.

    Parameters
    ----------
    work : Work
        Amounts with their oven; floats or arrays.
    again : Again
        What rejects make of them.
    finish, powders, shop
        What is coated how.
    book : mapping
        Numbers, at the hours that are really booked.

    Yields
    ------
    Line
        One a step, then the loops and what is left in the pack.
    """
    used: dict[str, Floats] = {}
    for line in _worked(work, again, finish, powders, shop, book):
        for material in line.materials:
            used[material.name] = used.get(material.name, 0.0) + material.kg
        yield line
    rests = _pack_rest(used, powders, work, book)
    if rests:
        yield line_of(LEFTOVER, 0, rests, shop, book)


def _worked(
    work: Work, again: Again, finish: Finish, powders: Sequence[Powder], shop: Shop, book: Book
) -> Iterator[Line]:
    def run(visits: Sequence[Visit], at: Work) -> Iterator[Use]:
        return uses_of(visits, at, shop, finish, powders, book)

    for use in run(route(work, finish), work):
        yield line_of(use.step, use.coat, (use,), shop, book)
    respray = respray_route(finish)
    if respray:
        share = respray_share(work, finish, book)
        any_again = np.minimum(work.parts * share, 1.0)
        yield line_of(RESPRAY, 0, [*run(respray, work.times(share, again=any_again))], shop, book)
    redone = again.work
    yield line_of(REDO, 0, [*run(redo_route(redone, finish), redone), *_lost(again.lost, finish)], shop, book)
    claims = claims_share(shop, finish, book)
    if not (isinstance(claims, float) and claims == 0.0):
        back = claimed_work(work, claims)
        yield line_of(WARRANTY, 0, [*run([*redo_route(back, finish), *AFTER_CLAIM], back)], shop, book)


class WorkMoney(NamedTuple):
    """What amounts cost by kind of money, and the owner's hours. [money, h]"""

    kinds: Mapping[str, Floats]
    owner_h: Floats


def money_of_work(shop: Shop, work: Work, finish: Finish, powders: Sequence[Powder], book: Book) -> WorkMoney:
    """Cost amounts without keeping their lines; the same to the last bit as the sums of the sheet."""
    book = at_booked_hours(book)
    work = choose_oven(work, shop, finish, powders)
    kinds: dict[str, Floats] = dict.fromkeys(MONEY, 0.0)
    owner_min: Floats = 0.0
    for line in lines_of_work(work, redone_work(work, finish, shop, book), finish, powders, shop, book):
        for kind in MONEY:
            kinds[kind] = onto(kinds[kind], getattr(line, kind))
        owner_min = onto(owner_min, line.owner_min)
    return WorkMoney(kinds, owner_min / 60.0)


PLAN = ("plan.booked_share", "plan.weeks", "plan.hours")
"""How booked share, weeks and hours a week come out over what ``shop.toml`` plans; they move the hour rates."""

_AS_PLANNED = 1e-9


def at_booked_hours(book: Book) -> Book:
    """Return the book with the hour rates of the hours that are really booked; the same book where all goes to plan."""
    booked: Floats = 1.0
    for key in PLAN:
        if key in book:
            booked = booked * book[key]
    if isinstance(booked, float) and abs(booked - 1.0) < _AS_PLANNED:
        return book
    rates: dict[str, Floats] = {key: book[key] / booked for key in ("hour.owner", "hour.overhead")}
    rates |= dict.fromkeys(PLAN, 1.0)  # counted once, whoever costs with this book again
    return ChainMap(rates, book)  # type: ignore[arg-type]  # only read


def _lost(value: Floats, finish: Finish) -> list[Use]:
    """Rejects that the heat-cycle limit forbids to redo: the customer's part is paid for."""
    if isinstance(value, float) and value == 0.0:
        return []
    keys = [f"reject.{finish.rejects}.{kind}" for kind in ("wrought", "casting")]
    return [Use(LOST, 0, bought_in=value, keys=keys)]


def _pack_rest(used: Mapping[str, Floats], powders: Sequence[Powder], work: Work, book: Book) -> list[Use]:
    """What stays in the pack of a powder that was bought for this job, as far as this job pays for it."""
    rests = []
    for powder in {p.name: p for p in powders if p.name in used and not p.stocked and p.name not in work.own}.values():
        rest = rest_to_pay_kg(powder, used[powder.name], book["powder.hopper"] * work.jobs)
        use = Use(LEFTOVER, 0)
        keys = ("powder.hopper", f"price.{powder.name}")
        use.materials.append(MaterialUse(powder.name, rest, book[f"price.{powder.name}"], keys))
        rests.append(use)
    return rests
