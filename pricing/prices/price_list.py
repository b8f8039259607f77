"""The price list: every item in its finishes and quantities, costed at once as arrays.

Room     prices. Imports basis, costing, parts, shop.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from pricing.basis.checks import Floats
from pricing.basis.errors import BadInput, Problem
from pricing.basis.same import Same
from pricing.costing.lines import MONEY
from pricing.costing.refusals import reasons
from pricing.costing.sheet import cost_of_work
from pricing.parts.items import Item
from pricing.parts.work import Work, work_of_rows
from pricing.prices.margins import margin_of, price_at_margin
from pricing.prices.marks import round_up
from pricing.shop.finishes import Finish
from pricing.shop.policy import Policy
from pricing.shop.powders import Powder
from pricing.shop.shop import Book, Shop

if TYPE_CHECKING:
    import pandas as pd

Array = npt.NDArray[np.float64]
FINISHES = ("single", "two_tone")
"""The two columns of the list; each item says which finish of the shop stands in each."""


@dataclass(frozen=True)
class PriceList:
    """Rows of items × finishes × quantities; every money column is per unit sold.

    Parameters
    ----------
    shop : Shop
        Whose list it is.
    items : tuple of Item
        One per row.
    column, finish : tuple of str
        ``single`` or ``two_tone``, and the finish that stands for it, per row.
    quantity : (n,) array
        Units sold together.
    costs : dict of (n,) arrays
        The four kinds of money, for the whole row. [money]
    owner_h, scarce_h : (n,) arrays
        Hours of the owner, and of the scarce resource, for the whole row. [h]
    price : (n,) array
        Price of one unit as printed. [money]
    margin : (n,) array
        Share of the net price that is left.
    at_minimum : (n,) bool array
        Whether the minimum charge decided.
    refused : tuple of str
        Why no price may be given, or ''.
    """

    shop: Shop
    items: tuple[Item, ...]
    column: tuple[str, ...]
    finish: tuple[str, ...]
    quantity: Array
    costs: dict[str, Array]
    owner_h: Array
    scarce_h: Array
    price: Array
    margin: Array
    at_minimum: npt.NDArray[np.bool_]
    refused: tuple[str, ...]

    @cached_property
    def cost(self) -> Array:
        """Full cost of one unit. [money]"""
        return sum((self.costs[kind] for kind in MONEY), np.zeros(len(self.quantity))) / self.quantity

    def frame(self) -> "pd.DataFrame":
        """Give every row as a DataFrame, each figure with its unit in the name."""
        import pandas as pd

        code = self.shop.currency
        columns: dict[str, object] = {
            "item": [item.key for item in self.items], "title": [item.title for item in self.items],
            "sold_by": [item.sold_by for item in self.items], "column": self.column, "finish": self.finish,
            "quantity": self.quantity.astype(int),
        }  # fmt: skip
        columns |= {f"{kind}_{code}": self.costs[kind] / self.quantity for kind in MONEY}
        columns |= {
            f"cost_{code}": self.cost, f"price_{code}": self.price, "margin_share": self.margin,
            "owner_h": self.owner_h / self.quantity, "at_minimum": self.at_minimum, "refused": self.refused,
        }  # fmt: skip
        return pd.DataFrame(columns)

    def side_by_side(self) -> "pd.DataFrame":
        """Give one row per item and quantity: single-tone, two-tone, the extra, and both margins."""
        import pandas as pd

        frame, code = self.frame(), self.shop.currency
        halves = {name: frame[frame["column"] == name].reset_index(drop=True) for name in FINISHES}
        both: pd.DataFrame = halves["single"][["item", "title", "sold_by", "quantity"]].copy()
        for name, half in halves.items():
            for word in ("price", "cost"):
                both[f"{name}_{word}_{code}"] = half[f"{word}_{code}"]
            both[f"{name}_margin_share"] = half["margin_share"]
            both[f"{name}_refused"] = half["refused"]
        both[f"extra_{code}"] = both[f"two_tone_price_{code}"] - both[f"single_price_{code}"]
        return both


def price_list(
    shop: Shop, items: Mapping[str, Item], *, quantities: Sequence[int] = (1,), book: Book | None = None
) -> PriceList:  # fmt: skip
    """Cost and price every item in both columns and all quantities.

    Parameters
    ----------
    shop : Shop
        The owner's shop.
    items : mapping of Item
        By key.
    quantities : sequence of int
        Units sold together, each 1 or more.
    book : mapping, optional
        Other numbers than the shop's means.

    Returns
    -------
    PriceList

    Raises
    ------
    BadInput
        There is no item, a quantity is below 1, or an item names too few powders.
    """
    bad = [Problem("quantity", q, "a whole number, 1 or more") for q in quantities if int(q) != q or q < 1]
    if not items or not quantities:
        bad.append(Problem("items", "none", "one item and one quantity at least"))
    if bad:
        raise BadInput("price list", bad)
    plan = _plan(Same(shop), Same(items), tuple(quantities))
    found: dict[str, Array] = {name: np.empty(len(plan.counts)) for name in (*MONEY, "owner", "scarce")}
    for group in plan.groups:
        sheet = cost_of_work(shop, group.work, group.finish, group.powders, title="list", book=book)
        for kind in MONEY:
            found[kind][group.places] = getattr(sheet, kind)
        found["owner"][group.places] = sheet.hours_of("owner")
        found["scarce"][group.places] = sheet.hours_of(shop.policy.scarce.resource)
    return _priced(shop, items, plan, found)


@dataclass(frozen=True, slots=True)
class _Group:
    """Rows that can be costed together: the same finish in the same powders."""

    finish: Finish
    powders: tuple[Powder, ...]
    work: Work
    places: npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class _Plan:
    """What a list needs that rates do not change; laid out once, so that a slider only costs it again."""

    groups: tuple[_Group, ...]
    quantities: tuple[int, ...]
    counts: Array
    items: tuple[Item, ...]
    column: tuple[str, ...]
    finish: tuple[str, ...]
    refused: tuple[str, ...]
    without_price: npt.NDArray[np.bool_]


@lru_cache(maxsize=16)
def _plan(shop_key: Same[Shop], items_key: Same[Mapping[str, Item]], quantities: tuple[int, ...]) -> _Plan:
    shop, items = shop_key.thing, items_key.thing
    sorted_out: dict[tuple[str, str, tuple[str, ...]], list[Item]] = {}
    for item in items.values():
        for column, key in (("single", item.single), ("two_tone", item.two_tone)):
            colours = shop.finish(key, item.title).colours
            sorted_out.setdefault((column, key, item.powders[:colours]), []).append(item)
    per_item = len(FINISHES) * len(quantities)
    index = {key: at for at, key in enumerate(items)}
    groups = []
    for (column, key, names), members in sorted_out.items():
        at = np.array([index[item.key] for item in members]) * per_item + FINISHES.index(column) * len(quantities)
        places = (at[:, None] + np.arange(len(quantities))[None, :]).ravel()
        repeated = [item for item in members for _ in quantities]
        counts = np.tile(np.asarray(quantities, dtype=np.float64), len(members))
        powders = tuple(shop.powder(name, "items.csv") for name in names)
        groups.append(_Group(shop.finishes[key], powders, work_of_rows(repeated, counts, shop), places))
    rows = [(item, column) for item in items.values() for column in FINISHES for _ in quantities]
    finishes = tuple(item.single if column == "single" else item.two_tone for item, column in rows)
    why = {
        (item.key, key): "; ".join(reasons(item.part, shop.finishes[key], shop))
        for item in items.values()
        for key in {item.single, item.two_tone}
    }
    refused = tuple(why[item.key, key] for (item, _), key in zip(rows, finishes, strict=True))
    return _Plan(
        groups=tuple(groups), quantities=quantities,
        counts=np.tile(np.asarray(quantities, dtype=np.float64), len(items) * len(FINISHES)),
        items=tuple(item for item, _ in rows), column=tuple(column for _, column in rows), finish=finishes,
        refused=refused, without_price=np.array([bool(text) for text in refused]),
    )  # fmt: skip


def _priced(shop: Shop, items: Mapping[str, Item], plan: _Plan, found: dict[str, Array]) -> PriceList:
    counts = plan.counts
    total = sum((found[kind] for kind in MONEY), np.zeros(len(counts)))
    wanted = price_at_margin(total, shop.policy.target_margin)
    least = np.maximum(wanted, shop.policy.minimum_charge) / counts
    first = _alone(shop, items, plan, least)
    taxed = 1.0 + shop.policy.sales_tax if shop.policy.prices_include_tax else 1.0
    printed = np.where(plan.without_price, np.nan, printed_each(least, first, shop.policy))
    return PriceList(
        shop=shop, items=plan.items, column=plan.column, finish=plan.finish, quantity=counts,
        costs={kind: found[kind] for kind in MONEY}, owner_h=found["owner"], scarce_h=found["scarce"], price=printed,
        margin=np.asarray(margin_of(printed / taxed, total / counts)),
        at_minimum=np.asarray(wanted) < shop.policy.minimum_charge, refused=plan.refused,
    )  # fmt: skip


def printed_each(least: Floats, first: Floats, policy: Policy) -> Floats:
    """Give the price of one of a batch as it is printed; the customer gets the policy's share of the saving.

    Parameters
    ----------
    least : float or array
        Price of one in the batch that leaves the margin wanted. [money]
    first : float or array
        The same, bought alone. [money]
    policy : Policy
        Its price points, and whether prices are printed with tax.
    """
    kept = (1.0 - policy.batch_saving_passed_on) * np.maximum(first - least, 0.0)
    taxed = 1.0 + policy.sales_tax if policy.prices_include_tax else 1.0
    return round_up((least + kept) * taxed, policy)


def _alone(shop: Shop, items: Mapping[str, Item], plan: _Plan, least: Array) -> Array:
    """Price of one unit bought alone, which the saving of a batch is counted from."""
    if 1 in plan.quantities:
        single = least.reshape(-1, len(plan.quantities))[:, plan.quantities.index(1)]
    else:
        ones = price_list(shop, items, quantities=(1,))
        single = np.maximum(price_at_margin(ones.cost, shop.policy.target_margin), shop.policy.minimum_charge)
    return np.repeat(single, len(plan.quantities))
