"""Costing and pricing workbook for a custom powder-coating shop.

Nouns (Shop, Part, Finish, Job, CostSheet, Quote, PriceList) and the verbs to go with them, loaded when they are
used.

>>> import pricing
>>> shop = pricing.open_shop()
>>> shop.currency
'EUR'
>>> pricing.quote(shop, pricing.read_job("sign_letters", shop)).origin
'list'
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"

_HOMES = {
    "BadInput": "pricing.basis.errors",
    "Shop": "pricing.shop.shop",
    "Finish": "pricing.shop.finishes",
    "Part": "pricing.parts.part",
    "Lot": "pricing.parts.job",
    "Job": "pricing.parts.job",
    "CostSheet": "pricing.costing.sheet",
    "Quote": "pricing.prices.quote",
    "PriceList": "pricing.prices.price_list",
    "open_shop": "pricing.shop.folder",
    "read_job": "pricing.parts.job",
    "read_items": "pricing.parts.items",
    "job_of_item": "pricing.parts.job",
    "cost": "pricing.costing.sheet",
    "marks_of": "pricing.prices.marks",
    "quote": "pricing.prices.quote",
    "compare": "pricing.prices.compare",
    "two_tone": "pricing.prices.extra",
    "price_list": "pricing.prices.price_list",
    "list_price": "pricing.prices.price_list",
    "break_even": "pricing.prices.questions",
    "risk": "pricing.costing.job_cost",
    "why": "pricing.show.sums",
}

__all__ = [*_HOMES, "__version__"]  # noqa: PLE0604  names are looked up on first use

if TYPE_CHECKING:
    from pricing.basis.errors import BadInput
    from pricing.costing.job_cost import risk
    from pricing.costing.sheet import CostSheet, cost
    from pricing.parts.items import read_items
    from pricing.parts.job import Job, Lot, job_of_item, read_job
    from pricing.parts.part import Part
    from pricing.prices.compare import compare
    from pricing.prices.extra import two_tone
    from pricing.prices.marks import marks_of
    from pricing.prices.price_list import PriceList, list_price, price_list
    from pricing.prices.questions import break_even
    from pricing.prices.quote import Quote, quote
    from pricing.shop.finishes import Finish
    from pricing.shop.folder import open_shop
    from pricing.shop.shop import Shop
    from pricing.show.sums import why


def __getattr__(name: str) -> Any:
    """Load a noun or verb from its room."""
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'pricing' has no {name!r}; it has {', '.join(_HOMES)}")


def __dir__() -> list[str]:
    return sorted(__all__)
