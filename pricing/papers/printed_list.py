"""The price list as it is handed out: families, single-tone beside two-tone, first and each further, adders.

Only prices are put into the fields a template can print; cost and margin are not. Which columns a list has is said
once, in `_columns`; templates print what stands there.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Any, NamedTuple

from pricing.basis.files import plain_cell, table_text
from pricing.papers.customer_quote import NO_SCRIPT, sections
from pricing.papers.pages import common_fields, fill_text
from pricing.papers.told import PaperWords
from pricing.parts.items import Item
from pricing.prices.colours import BASE, BOUGHT, classes
from pricing.prices.marks import panel_price
from pricing.prices.price_list import price_list
from pricing.prices.price_rule import Tariff, printed_further, printed_minimum
from pricing.prices.row_costs import CLEAR
from pricing.shop.own_prices import COLUMNS
from pricing.shop.shop import Shop

NOT_THERE, ON_REQUEST = "–", "on request"


class ListColumn(NamedTuple):
    """One column of prices: the group it stands in, its heading, and the key of its cells."""

    group: str
    heading: str
    key: str
    tone: str = "plain"
    bold: bool = False


def list_fields(shop: Shop, items: Mapping[str, Item], *, day: date, fresh: bool = False) -> dict[str, Any]:
    """Describe all that a price list may print.

    Parameters
    ----------
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
        As `price_list`.
    """
    asked = replace(shop, own_prices={}) if fresh else shop
    prices, rows, words = price_list(asked, items), [], PaperWords(shop)
    places = [(key, column) for key in items for column in COLUMNS]
    hidden = {place for place in places if (kept := shop.own_price(*place)) and kept.hidden}
    shown = [item for item in items.values() if not {(item.key, column) for column in COLUMNS} <= hidden]
    adders = [name for name in (CLEAR, BOUGHT) if any(name in prices.adders[item.key] for item in shown)]
    pairs = {item.key: [prices.row(item.key, column) for column in COLUMNS] for item in shown}
    beyond = any(row.tariff and row.tariff.beyond < row.tariff.each for pair in pairs.values() for row in pair)
    columns = _columns(shop, adders, beyond=beyond)
    for item in shown:
        row: dict[str, Any] = {"key": item.key, "title": item.title, "sold_by": item.sold_by, "note": _note(item)}
        for found in pairs[item.key]:
            off = (item.key, found.column) in hidden
            row[found.column] = None if off or found.tariff is None else _amounts(found.tariff)
        row |= {name: _amounts(adder) for name, adder in prices.adders[item.key].items()}
        row["set"] = [bool(found.own and found.own.priced) for found in pairs[item.key]]
        rows.append(row | {"cells": {column.key: _cell(row, column.key, words) for column in columns}})
    stripped = [item.part.old_coating != "none" for item in shown]
    printed = [found for pair in pairs.values() for found in pair if found.tariff is not None]
    own = [found.own for found in printed if found.own and found.own.priced]
    least = printed_minimum(shop.policy)
    fields = common_fields(shop, day) | {
        "allow": NO_SCRIPT,
        "rows": rows,
        "columns": columns,
        "groups": _groups(columns),
        "adders": adders,
        "set_on": max((date.fromisoformat(one.saved_on) for one in own if one.saved_on), default=None),
        "all_set": len(own) == len(printed),
        "day": day,
        "minimum_charge": words.short(least),
        "minimum_acts": any(found.tariff and found.tariff.first < least for found in printed),
        "all_stripped": all(stripped),
        "any_stripped": any(stripped),
    }
    fields |= {"intro": _intro(fields, words), "below": _below(shop, fields, panel_price(shop, items))}
    which = "Price list for the trade" if shop.for_trade else "Price list"
    fields |= {"title": f"{which} of {shop.front.name}", "terms": sections(fill_text(shop, "terms.txt", fields))}
    fields["foot"] = f"{shop.front.name} · {which.lower()} of {fields['today']} · valid until {fields['valid_until']}"
    return fields


def _amounts(tariff: Tariff) -> dict[str, float]:
    return {"first": tariff.first, "each": tariff.each, "beyond": tariff.beyond}


def _columns(shop: Shop, adders: Sequence[str], *, beyond: bool) -> list[ListColumn]:
    """Say which columns the list has."""
    found = []
    for group, key, tone in (("Single-tone", "single", "single"), ("Two-tone", "two_tone", "two-tone")):
        found.append(ListColumn(group, "the first", f"{key}.first", tone, bold=True))
        found.append(ListColumn(group, "each further", f"{key}.each", tone, bold=True))
        if beyond:
            found.append(ListColumn(group, f"over {shop.policy.list_up_to}", f"{key}.beyond", tone))
    names = {CLEAR: "Clear coat adds", BOUGHT: "Colour bought in adds"}
    for name in adders:
        found.append(ListColumn(names[name], "first", f"{name}.first"))
        found.append(ListColumn(names[name], "each", f"{name}.each"))
    return found


def _groups(columns: Sequence[ListColumn]) -> list[dict[str, Any]]:
    """Columns that stand together, with how many they are."""
    spans = Counter((column.group, column.tone) for column in columns)
    return [{"name": name, "span": span, "tone": tone} for (name, tone), span in spans.items()]


def _cell(row: Mapping[str, Any], key: str, words: PaperWords) -> str:
    name, _, which = key.partition(".")
    amounts = row.get(name)
    if amounts is None:
        return NOT_THERE if name not in COLUMNS else ON_REQUEST if which == "first" else ""
    return words.short(amounts[which])


def _note(item: Item) -> str:
    """What belongs to a title: how it is sold, and whether taking off an old coating is in its price."""
    stripped = "incl. stripping" if item.part.old_coating != "none" else ""
    return ", ".join(text for text in (item.sold_note, stripped) if text)


def _intro(fields: Mapping[str, Any], words: PaperWords) -> str:
    tax = "with" if fields["with_tax"] else "without"
    text = f"In {fields['currency']}, {tax} sales tax. Valid from {fields['today']} until {fields['valid_until']}."
    if fields["set_on"]:
        text += f" Prices set on {words.day(fields['set_on'])}"
        text += "." if fields["all_set"] else f", those that are not on the saved list on {fields['today']}."
    return text


def _below(shop: Shop, fields: Mapping[str, Any], panel: float | None) -> list[str]:
    """What must be said right under the prices: how they are added up, what the signs mean, what comes on top."""
    words, policy = PaperWords(shop), shop.policy
    stock = ", ".join(powder.name for powder in classes(shop)[BASE])
    bought = ", ".join(powder.name for powder in classes(shop).get(BOUGHT, ()))
    told = [f"An order of several alike: the first at its price, each further one at its own. In the colours {stock}."]
    if bought and BOUGHT in fields["adders"]:
        told.append(
            f"A colour bought in for you ({bought}, or another you name) adds what stands there, for each such colour."
        )
    further = printed_further(policy)
    if further < float("inf"):
        told.append(
            "Several kinds of parts in one order, in one finish and the same colours: add up each kind, then of the"
            " set-ups (the first less each further) pay the largest, and of every other"
            f" {words.short(further)}, or the set-up itself where it is less."
        )
    told.append("Two-tone: the line between two colours is made by hand, up to the length usual for each family.")
    cells = [cell for row in fields["rows"] for cell in row["cells"].values()]
    signs = {NOT_THERE: "not offered for this part, ask us", ON_REQUEST: "ask us first"}
    meant = "; ".join(f"“{sign}”: {text}" for sign, text in signs.items() if sign in cells)
    if meant:
        told.append(f"{meant}.")
    extra = [f"Minimum charge {fields['minimum_charge']} an order"] if fields["minimum_acts"] else []
    extra.append(f"Rush {fields['rush']} more" if not extra else f"then rush {fields['rush']} more")
    if panel:
        extra.append(f"a test panel for a new pair of colours {words.short(panel)}")
    return [*told, f"{'; '.join(extra)}."]


def list_csv(fields: Mapping[str, Any]) -> str:
    """Write the price list, as `list_fields` describes it, as a table: one row for each item."""
    code = fields["currency"]
    names = {"single": "single", "two_tone": "two_tone", CLEAR: "clear_adds", BOUGHT: "bought_colour_adds"}
    parts = {"first": "first", "each": "each_further", "beyond": "each_beyond"}
    columns = ["item", "title", "sold_by"]
    columns += [f"{name}_{part}_{code}" for name in names.values() for part in parts.values()]
    columns += ["with_sales_tax", "set_on", "valid_until"]
    until = fields["day"] + timedelta(days=fields["valid_days"])
    rows = []
    for row in fields["rows"]:
        amounts = [(row.get(name) or {}).get(part) for name in names for part in parts]
        cells = [*map(plain_cell, (row["key"], row["title"], row["sold_by"]))]
        cells += ["" if amount is None else f"{amount:.2f}" for amount in amounts]
        day = fields["set_on"] if all(row["set"]) else fields["day"]
        cells += ["yes" if fields["with_tax"] else "no", day.isoformat(), until.isoformat()]
        rows.append(dict(zip(columns, cells, strict=True)))
    return table_text(columns, rows)
