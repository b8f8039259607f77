"""A part that comes onto the list, in words: what was found, and what it would cost."""

from pricing.basis.errors import BadInput
from pricing.parts.items import Item
from pricing.parts.job import job_of_item
from pricing.prices.quote import quote
from pricing.shop.own_prices import COLUMNS
from pricing.shop.shop import Shop
from pricing.show.tiles import stopped, tile, tile_number, tiles
from pricing.show.words import Words


def found(words: Words, item: Item) -> str:
    """Write area, mass, edges, border and how it hangs."""
    part = item.part
    sizes = (words.measure(mm, "mm") for mm in (part.height_mm, part.depth_mm))
    return tiles(
        [
            tile("Area coated", tile_number(words.measure(part.area_m2, "m**2")), "all faces"),
            tile("Mass", tile_number(words.measure(part.mass_kg, "kg")), part.material),
            tile("Edges to sand", tile_number(words.measure(part.edge_m, "m")), "every arris"),
            tile("Border of two colours", tile_number(words.measure(part.line_m, "m")), "round the face"),
            tile(
                "Takes of the rail", tile_number(words.measure(part.width_mm, "mm")), f"{' down, '.join(sizes)} across"
            ),
        ]
    )


def price(shop: Shop, item: Item) -> str:
    """Write the prices of one and of ten, single-tone and two-tone, by the rule that every price follows."""
    words, shown = Words(shop), []
    for column, title in zip(COLUMNS, ("Single-tone", "Two-tone"), strict=True):
        finish = shop.finishes[getattr(item, column)].title
        try:
            one = quote(shop, job_of_item(item, column=column))
            ten = quote(shop, job_of_item(item, units=10, column=column))
        except BadInput as why:
            shown.append(stopped([str(problem) for problem in why.problems], title=f"{title}: no price"))
            continue
        if one.refused:
            shown.append(stopped(one.refused, title=f"{title}: do not quote"))
            continue
        told = f"{finish}; ten of them {words.money(ten.net)}" if not ten.refused else finish
        shown.append(tile(f"{title}, one", tile_number(words.money(one.net)), told, style="main"))
    return tiles(shown)
