"""The price of a test panel for a new pair of colours.

Takes    a cost sheet, or the list.
Gives    what a panel costs, with the margin, as it is printed.
"""

from collections.abc import Mapping

from pricing.costing.sheet import CostSheet, cost
from pricing.parts.items import Item
from pricing.parts.job import job_of_item
from pricing.prices.margins import price_at_margin
from pricing.prices.price_rule import as_printed, round_each
from pricing.shop.shop import Shop
from pricing.steps.hang import TEST_PANEL


def panel_of(sheet: CostSheet) -> float:
    """Work out the price of the test panel in a sheet, as printed: what it costs and the margin. [money]

    Parameters
    ----------
    sheet : CostSheet
        0 where it has none.
    """
    spent = sum(float(line.total) for line in sheet.lines if line.step == TEST_PANEL.key)
    policy = sheet.shop.policy
    return float(round_each(price_at_margin(spent, policy.target_margin) * as_printed(policy), policy))


def panel_price(shop: Shop, items: Mapping[str, Item]) -> float | None:
    """Work out the price of a test panel as it is printed; None where the shop has no two-tone finish.

    Parameters
    ----------
    shop : Shop
        Whose.
    items : mapping of Item
        Its list; a panel costs the same whatever the part.
    """
    two = [item for item in items.values() if shop.finish(item.two_tone).line != "none"]
    if not two:
        return None
    return panel_of(cost(shop, job_of_item(two[0]).model_copy(update={"new_pair": True})))
