"""The price list as it is handed out: families, single-tone beside two-tone, by the metre of line, adders.

Only prices are put into the fields a template can print; cost and margin are not.

Room     papers. Imports basis, shop, parts, costing, prices, show, papers.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import numpy.typing as npt

from pricing.basis.files import plain_cell, table_text
from pricing.basis.units import shown
from pricing.costing.sheet import cost
from pricing.papers.customer_quote import NO_SCRIPT, fill_day, sections
from pricing.papers.finish_choice import clear_powder, clear_twin
from pricing.papers.pages import common_fields, fill, fill_text
from pricing.parts.items import Item
from pricing.prices.margins import price_at_margin
from pricing.prices.marks import round_up
from pricing.prices.price_list import FINISHES, PriceList, price_list
from pricing.prices.questions import job_of_item
from pricing.prices.two_tone import extra_rule
from pricing.shop.shop import Shop
from pricing.show.listed import Listed, read_listed

Rows = list[dict[str, Any]]


def list_fields(
    shop: Shop, items: Mapping[str, Item], *, day: date, quantities: Sequence[int] = (1, 10), fresh: bool = False
) -> dict[str, Any]:  # fmt: skip
    """Give all that a price list may print.

    Parameters
    ----------
    shop : Shop
        Whose list it is.
    items : mapping of Item
        By key.
    day : date
        From which it is valid.
    quantities : sequence of int
        How many are sold together, a column each.
    fresh : bool
        Print what is worked out today even where the shop has saved a price of its own.

    Returns
    -------
    dict
        ``set_on`` is the day the saved prices are from, None where none is printed; ``all_set`` tells whether every
        price that is printed was saved.

    Raises
    ------
    BadInput
        As `price_list`; the saved list cannot be read.
    """
    wanted = sorted(set(quantities))  # what was saved is printed; what was not, as it is worked out today
    today = price_list(shop, items, quantities=wanted)
    listed = read_listed(shop.folder, shop.currency) if shop.folder and not fresh else Listed({})
    saved = _saved_prices(listed, today)
    prices = replace(today, price=np.where(np.isnan(saved), today.price, saved))
    extras = _clear_extras(shop, items, today)
    taxed = 1.0 + shop.policy.sales_tax if shop.policy.prices_include_tax else 1.0
    rows: Rows = []
    for item in items.values():
        rows.append(
            {
                "key": item.key, "title": item.title, "sold_by": item.sold_by,
                "sold_as": "" if item.sold_by in {"each", "metre"} or item.sold_by in item.title else item.sold_by,
                "single": _prices_of(prices, item.key, "single"), "two_tone": _prices_of(prices, item.key, "two_tone"),
                "per_line": _per_line(shop, item, taxed), "clear_adds": extras.get(item.key, (None, None)),
                "set": [any((item.key, column, n) in listed.prices for column in FINISHES) for n in wanted],
            }
        )  # fmt: skip
    fields = common_fields(shop, day) | {
        "allow": NO_SCRIPT, "quantities": wanted, "rows": rows, "has_clear": bool(extras),
        "set_on": None if np.isnan(saved).all() else date.fromisoformat(listed.saved_on),
        "all_set": not np.isnan(saved[~np.isnan(today.price)]).any(),
        "length_word": "foot" if shop.front.units == "us" else "metre", "panel": _panel(shop, items, taxed),
    }  # fmt: skip
    about_terms = fields | {"valid_until": fill_day(shop, fields["valid_until"])}
    fields["terms"] = sections(fill_text(shop, "terms.txt", about_terms))
    return fields


def list_html(shop: Shop, fields: Mapping[str, Any]) -> str:
    """Give the price list as a page.

    Parameters
    ----------
    shop : Shop
        For its templates.
    fields : mapping
        From `list_fields`.

    Raises
    ------
    BadInput
        A template is missing or has a mistake.
    """
    return fill(shop, "price_list.html", fields)


def list_csv(fields: Mapping[str, Any]) -> str:
    """Give the price list as a table: one row for each item and quantity.

    Parameters
    ----------
    fields : mapping
        From `list_fields`.
    """
    code, length = fields["currency"], fields["length_word"]
    columns = [
        "item", "title", "sold_by", "quantity", f"single_{code}", f"two_tone_{code}", f"per_line_{length}_{code}",
        f"clear_on_single_{code}", f"clear_on_two_tone_{code}", "with_sales_tax", "set_on", "valid_until",
    ]  # fmt: skip
    rows = []
    for row in fields["rows"]:
        for at, quantity in enumerate(fields["quantities"]):
            money = (row["single"][at], row["two_tone"][at], row["per_line"], *row["clear_adds"])
            words = (row["key"], row["title"], row["sold_by"])
            cells = [*map(plain_cell, words), str(quantity), *["" if m is None else f"{m:.2f}" for m in money]]
            day = fields["set_on"] if row["set"][at] else fields["today"]
            cells += ["yes" if fields["with_tax"] else "no", day.isoformat(), fields["valid_until"].isoformat()]
            rows.append(dict(zip(columns, cells, strict=True)))
    return table_text(columns, rows)


def _saved_prices(listed: Listed, prices: PriceList) -> npt.NDArray[np.float64]:
    """Prices that the owner has saved, in the order of the list; NaN where none is, or none may be given."""
    places = zip(prices.items, prices.column, prices.quantity, strict=True)
    saved = np.array([listed.prices.get((item.key, column, int(n)), np.nan) for item, column, n in places])
    return np.where([bool(text) for text in prices.refused], np.nan, saved)


def _prices_of(prices: PriceList, key: str, column: str) -> list[float | None]:
    found = zip(prices.items, prices.column, prices.price, strict=True)
    mine = [price for item, which, price in found if item.key == key and which == column]
    return [None if np.isnan(price) else float(price) for price in mine]


def _per_line(shop: Shop, item: Item, taxed: float) -> float | None:
    """Price of one more metre of line on a price point; of a foot, a tenth of the price point of ten."""
    if item.part.line_m <= 0:
        return None
    rule = extra_rule(shop, job_of_item(item), item.two_tone)
    each = shown(rule.per_m * taxed, "money/m", shop.front.units).value
    if shop.front.units == "us":  # rounding up one foot by itself would charge half as much again
        return round(float(round_up(10 * each, shop.policy)) / 10, 2)
    return float(round_up(each, shop.policy))


def _clear_extras(
    shop: Shop, items: Mapping[str, Item], prices: PriceList
) -> dict[str, tuple[float | None, float | None]]:
    """What a clear coat adds to one, on single-tone and on two-tone; {} where the shop has no clear coat."""
    clear = clear_powder(shop)
    if clear is None:
        return {}
    adds: dict[str, dict[str, float | None]] = {key: {} for key in items}
    for column, coats in (("single", 1), ("two_tone", 2)):
        twins = {}
        for key, item in items.items():
            twin = clear_twin(shop, getattr(item, column))
            if twin:
                update = {"single": twin, "two_tone": twin, "powders": (*item.powders[:coats], clear)}
                twins[key] = item.model_copy(update=update)
        if not twins:
            continue
        found = price_list(shop, twins)
        for key in twins:
            with_clear, without = _prices_of(found, key, "single")[0], _prices_of(prices, key, column)[0]
            adds[key][column] = None if with_clear is None or without is None else with_clear - without
    both = {key: (found.get("single"), found.get("two_tone")) for key, found in adds.items()}
    return both if any(value is not None for pair in both.values() for value in pair) else {}


def _panel(shop: Shop, items: Mapping[str, Item], taxed: float) -> float | None:
    """Price of a test panel for a pair of colours not tried before."""
    two = [item for item in items.values() if shop.finish(item.two_tone).line != "none"]
    if not two:
        return None
    job = job_of_item(two[0])
    more = cost(shop, job.model_copy(update={"new_pair": True})).total - cost(shop, job).total
    return float(round_up(price_at_margin(more, shop.policy.target_margin) * taxed, shop.policy))
