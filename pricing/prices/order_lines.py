"""Lines of an order: so many of one kind of part, and the tariff by which they are charged."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from pricing.basis.identity import Same
from pricing.parts.items import Item
from pricing.parts.job import Job, Lot
from pricing.parts.part import Part
from pricing.prices.colours import BASE, clear_twin, listed_class
from pricing.prices.price_list import adder_of, list_row
from pricing.prices.price_rule import Tariff
from pricing.prices.row_costs import CLEAR, worked_out
from pricing.shop.own_prices import COLUMNS
from pricing.shop.powders import Powder
from pricing.shop.shop import Book, Shop


@dataclass(frozen=True, slots=True)
class QuoteLine:
    """So many of one kind of part, as it is charged.

    Parameters
    ----------
    title : str
        Of the item or part.
    count : int
        How many are sold.
    sold_by : str
        What is counted: each, set, metre.
    pieces : int
        Pieces in all; of a range both are the likely ones.
    tariff : Tariff
        First, each further, each beyond, with what its colours add.
    adders : tuple of str
        What stands in the tariff beside the row of the list.
    listed : bool
        Whether it is a row of the list.
    own : bool
        Whether the owner has set its price.
    amount : float
        By its tariff, as if it came alone. [money, as printed]
    """

    title: str
    count: int
    sold_by: str
    pieces: int
    tariff: Tariff
    adders: tuple[str, ...]
    listed: bool
    own: bool
    amount: float


def merged(lots: Sequence[Lot]) -> list[Lot]:
    """Collect lots of the same part as one kind, however they were written down."""
    found: list[Lot] = []
    for lot in lots:
        for at, other in enumerate(found):
            if other.part == lot.part and other.item == lot.item:
                found[at] = other.model_copy(update={"quantity": other.quantity + lot.quantity})
                break
        else:
            found.append(lot)
    return found


def line_of_lot(shop: Shop, job: Job, lot: Lot, finish: str, powders: Sequence[Powder], book: Book | None) -> QuoteLine:
    """Charge one kind of part: a row of the list by the list, any other by a tariff laid in the same way.

    A job alone in its oven loads is on no list; powders stand in the order of the finish's colours.
    """
    by_list = None if job.alone else _by_list(shop, job, lot, finish, powders, book)
    if by_list is not None:
        tariff, adders, own = by_list
    else:
        item = _item(Same(lot.part), Same(lot.item))
        names = tuple(powder.name for powder in powders)
        tariff, adders, own = _laid(shop, item, finish, names, alone=job.alone, book=book), (), False
    title = lot.item.title if lot.item and lot.listed else lot.part.name
    amount = float(tariff.total(lot.quantity))
    return QuoteLine(
        title, int(lot.quantity), lot.sold_by, lot.pieces, tariff, adders, by_list is not None, own, amount
    )


def _by_list(
    shop: Shop, job: Job, lot: Lot, finish: str, powders: Sequence[Powder], book: Book | None
) -> tuple[Tariff, tuple[str, ...], bool] | None:
    """Tariff of a listed part with what its colours and a clear coat add; None where the list has none for it."""
    item = lot.item
    if item is None or not lot.listed:
        return None
    for column in COLUMNS:
        base = getattr(item, column)
        clear = finish != base and clear_twin(shop, base) == finish
        if finish != base and not clear:
            continue
        row = list_row(shop, item, column, book=book)
        if row.tariff is None:
            return None
        colours = powders[: len(powders) - 1] if clear else powders
        names = [listed_class(shop, powder) for powder in colours if powder.name not in job.own_powders]
        wanted = [name for name in names if name != BASE] + ([CLEAR] if clear else [])
        tariff = row.tariff
        for name in wanted:
            adder = adder_of(shop, item, name, book=book)
            if adder is None:
                return None
            tariff = tariff.plus(adder)
        return tariff, tuple(wanted), row.own is not None and row.own.priced
    return None


@lru_cache(maxsize=1024)
def _item(part: Same[Part], item: Same[Item | None]) -> Item:
    """A part as it would stand on the list; one object a part, so that what is worked out for it is kept."""
    if item.thing is not None:
        return item.thing.model_copy(update={"part": part.thing})
    return Item(
        key="unlisted",
        title=part.thing.name,
        sold_by="each",
        pieces=1,
        single="",
        two_tone="",
        powders=(),
        part=part.thing,
    )


def _laid(shop: Shop, item: Item, finish: str, powders: tuple[str, ...], *, alone: bool, book: Book | None) -> Tariff:
    if book is not None:
        return worked_out(shop, item, finish, [shop.powders[name] for name in powders], alone=alone, book=book)
    return _kept_laid(Same(shop), Same(item), finish, powders, alone)


@lru_cache(maxsize=1024)
def _kept_laid(shop: Same[Shop], item: Same[Item], finish: str, powders: tuple[str, ...], alone: bool) -> Tariff:
    colours = [shop.thing.powders[name] for name in powders]
    return worked_out(shop.thing, item.thing, finish, colours, alone=alone)
