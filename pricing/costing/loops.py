"""What is done again: lines spoiled before cure, and parts found bad after it."""

from collections import ChainMap
from dataclasses import replace
from functools import lru_cache
from typing import Final, NamedTuple

import numpy as np

from pricing.basis.checks import Floats, least
from pricing.basis.facts import fact
from pricing.basis.identity import Same
from pricing.costing.limits import losses
from pricing.parts.work import Work
from pricing.shop.finishes import Finish
from pricing.shop.shop import Book, Shop

OWN_POWDER: Final = "own_powder.rejects"
_WORST = 0.9  # a chance stays a chance, whatever the factor


def respray_share(work: Work, finish: Finish, book: Book) -> Floats:
    """Share of each wiped line that is spoiled before cure and made again: p / (1 - p), or counts that were drawn."""
    if "count.respray" in book:
        return book["count.respray"] / (work.parts * float(len(finish.lines("wiped"))))
    chance = book["spoil.wiped"]
    return chance / (1.0 - chance)


def reject_chance(work: Work, finish: Finish, book: Book) -> Floats:
    """Chance that a part is found bad after cure; of kinds that do not fare alike, the one with as many failures."""
    if work.fates:
        odds = _failed(work, finish, book) / work.parts
        return odds / (1.0 + odds)
    wrought, cast = (book[f"reject.{finish.rejects}.{kind}"] for kind in ("wrought", "casting"))
    chance = wrought + (cast - wrought) * (work.cast_parts / work.parts)
    if work.own and OWN_POWDER in book:
        return least(chance * book[OWN_POWDER], _WORST)
    return chance


def _failed(work: Work, finish: Finish, book: Book) -> Floats:
    """Failures to be expected until all parts are good."""
    chances = [reject_chance(sort, finish, book) for sort in work.fates]
    return sum((sort.parts * p / (1.0 - p) for sort, p in zip(work.fates, chances, strict=True)), 0.0)


def redo_share(parts: Floats, chance: Floats, book: Book) -> tuple[Floats, Floats]:
    """Parts done again per part ordered, and the chance that any is."""
    if "count.redo" in book:
        counts = book["count.redo"]
        return counts / parts, np.minimum(counts, 1.0)
    return chance / (1.0 - chance), 1.0 - (1.0 - chance) ** parts


def claims_share(shop: Shop, finish: Finish, book: Book) -> Floats:
    """Parts that come back within the warranty, per part: a Weibull life fixed by the claims of the first year.

    Nothing is set aside without a row ``warranty.<class>`` in the book.

    Notes
    -----
    ``F(t) = 1 - exp(-(t/eta)^beta)`` with ``F(1 year) = p`` is ``1 - (1 - p)^(t^beta)``; beta is ``warranty.ageing`` of
    ``data/facts.csv``, above 1 where films fail with age.
    """
    years, key = shop.policy.warranty_years, f"warranty.{finish.rejects}"
    if not years or key not in book:
        return 0.0
    chance: Floats = 1.0 - (1.0 - book[key]) ** (years ** fact("warranty.ageing"))
    return chance


def claimed_work(work: Work, share: Floats) -> Work:
    """Give the work of parts that come back under warranty: stripped and coated again, each claim a job of its own."""
    again = 1.0 - (1.0 - share) ** work.parts
    return _stripped(Same(work)).times(share, again=again, jobs=again)


class Again(NamedTuple):
    """Rejects: the work they make, parts done again per part ordered, and the value of those that are lost. [money]"""

    work: Work
    share: Floats
    lost: Floats


def redone_work(work: Work, finish: Finish, shop: Shop, book: Book) -> Again:
    """Return what rejects make of a job: stripped and done again, or lost where the oven has been seen too often.

    Of the book, ``count.redo`` is a count that was drawn.
    """
    if work.fates:
        return _of_fates(work, finish, shop, book)
    chance = reject_chance(work, finish, book)
    share, again = redo_share(work.parts, chance, book)
    ends = losses(work, finish, shop, chance)
    lost: Floats = 0.0
    if ends is not None:
        lost = share * work.parts * ends.lost
        share, again = share * ends.redone, again * ends.may
    return Again(_stripped(Same(work)).times(share, again=again, jobs=again), share, lost)


def _of_fates(work: Work, finish: Finish, shop: Shop, book: Book) -> Again:
    """Each sort of kinds by its own chance and its own limit: a casting's rejects redo no frame."""
    found = [redone_work(sort, finish, shop, _fallen_on(sort, work, finish, book)) for sort in work.fates]
    redone = _stripped(Same(work)).with_parts([one.work for one in found])
    none: Floats = 1.0
    for one in found:
        none = none * (1.0 - one.work.again)
    again = 1.0 - none
    lost = sum((one.lost for one in found), 0.0)
    return Again(replace(redone, jobs=again, panels=0.0, again=again), redone.parts / work.parts, lost)


def _fallen_on(sort: Work, work: Work, finish: Finish, book: Book) -> Book:
    """Of a count that was drawn, what is to be expected of one sort."""
    if "count.redo" not in book:
        return book
    chance = reject_chance(sort, finish, book)
    falls = sort.parts * chance / (1.0 - chance) / _failed(work, finish, book)
    counts: dict[str, Floats] = {"count.redo": book["count.redo"] * falls}
    return ChainMap(counts, book)  # type: ignore[arg-type]  # only read


@lru_cache(maxsize=32)
def _stripped(work: Same[Work]) -> Work:
    return work.thing.stripped_again()
