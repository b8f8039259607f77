"""Rows of the log taken into the rate book, with the list kept from falling by itself."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from pricing.parts.items import read_items
from pricing.prices.held import Fallen, fallen, hold
from pricing.shop.folder import open_shop
from pricing.shop.shop import Shop
from pricing.show.words import Words, counted

if TYPE_CHECKING:
    from pricing.ledger.proposals import Proposal


def take(folder: Path, proposals: "Sequence[Proposal]", *, let_fall: bool = False) -> tuple[list[str], str]:
    """Take rows into the rate book; prices of the list that would fall are kept unless they are let.

    Gives the files that changed, and what became of the list, '' where nothing would fall.

    Raises
    ------
    BadInput
        As `pricing.ledger.proposals.accept`.
    """
    from pricing.ledger.proposals import accept, with_row

    before = after = open_shop(folder)
    for proposal in proposals:
        after = with_row(after, proposal.new)
    lower = fallen(before, after, read_items(before)) if proposals else ()
    files = accept(folder, proposals)  # refuses what was changed since, before any price is kept
    if not let_fall:
        hold(before, lower)
    return files, _words(before, lower, let_fall=let_fall)


def _words(shop: Shop, lower: Sequence[Fallen], *, let_fall: bool) -> str:
    if not lower:
        return ""
    most, words = max(lower, key=lambda row: row.by), Words(shop)
    what = f"{counted(len(lower), 'price', 'prices')} of the list, most {most.title}: {words.short(most.was.first)} to"
    what += (
        f" {words.short(most.now.first)} for the first, {words.short(most.was.each)} to {words.short(most.now.each)}"
    )
    if let_fall:
        return f"With them fell {what} each further."
    return (
        f"Cheaper to make now, but kept as they were: {what} each further. Page 3 shows what is asked beside yours;"
        " there you decide."
    )
