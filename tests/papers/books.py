"""Reading a workbook by the words on it."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from io import BytesIO
from typing import Any, NamedTuple

import numpy as np
import openpyxl
from pydantic import BaseModel

from pricing.costing.graph import Graph, Symbol
from pricing.papers.live_shop import LiveShop, RateCells
from pricing.parts.items import Item
from pricing.parts.job import job_of_item
from pricing.prices.quote import quote
from pricing.prices.row_costs import costs_of as _costs
from pricing.shop.powders import Powder
from pricing.shop.shop import Shop


def opened(content: bytes, *, values: bool) -> Any:
    return openpyxl.load_workbook(BytesIO(content), data_only=values)


def row_of(sheet: Any, text: str, column: int = 1) -> int:
    found = [row for row in range(1, sheet.max_row + 1) if sheet.cell(row, column).value == text]
    assert len(found) == 1, (sheet.title, text, found)
    return found[0]


def rate_row(sheet: Any, name: str) -> int:
    """Row of a rate, by its name in formulas: the last column of the sheet."""
    return row_of(sheet, name, sheet.max_column)


class Side(NamedTuple):
    """One row of the list in one of its columns."""

    price: Any
    cost: Any
    asked: Any
    margin: Any
    told: str


def prices(book: Any) -> dict[tuple[str, int], tuple[Side, Side]]:
    """Single-tone and two-tone, by family and quantity."""
    sheet = book["Prices"]
    found = {}
    for row in range(5, sheet.max_row + 1):
        cells = [sheet.cell(row, column).value for column in range(1, 21)]
        found[cells[0], cells[2]] = (Side(*cells[5:9], cells[18] or ""), Side(*cells[12:16], cells[19] or ""))
    return found


def listed(shop: Shop, item: Item, quantity: int) -> list[float]:
    """Price of an order by the printed list, single-tone and two-tone."""
    jobs = [job_of_item(item, units=quantity, column=column) for column in ("single", "two_tone")]
    return [float(quote(shop, job).must_price().printed) for job in jobs]


def costs_of(
    shop: Shop, items: Mapping[str, Item], quantities: Sequence[int], book: Mapping[str, Any] | None = None
) -> Any:
    """Full costs of orders in each family's own colours: families by columns by quantities."""
    found = []
    for item in items.values():
        for key in (item.single, item.two_tone):
            colours = tuple(shop.powders[name] for name in item.powders[: shop.finishes[key].colours])
            found.append(_costs(shop, (item,), key, [colours], tuple(quantities), book).total[0])
    return np.array(found).reshape(-1, 2, len(quantities))


def job_figures(book: Any) -> dict[str, list[float]]:
    """Figures under the steps, by their words, one for each finish."""
    sheet = book["Job"]
    found = {}
    for row in range(row_of(sheet, "Full cost: the break-even price"), sheet.max_row + 1):
        cells = [sheet.cell(row, column).value for column in range(2, sheet.max_column + 1)]
        found[sheet.cell(row, 1).value] = [cell for cell in cells if cell is not None]
    return found


def reworked(graph: Graph, changes: Mapping[Symbol, float]) -> list[float]:
    """Work a graph out again with some numbers changed, as a spreadsheet does; one value a node."""
    values: list[float] = []
    with np.errstate(all="ignore"):
        for node in graph.nodes:
            if node.op is None:
                values.append(changes.get(node, node.value))
            else:
                inputs = [values[part.at] if isinstance(part, Symbol) else part for part in node.inputs]
                values.append(float(node.op(*inputs)))
    return values


def shop_of(live: LiveShop, changes: Mapping[Symbol, float]) -> Shop:
    """Return the shop that the changed cells describe: the same numbers, written into its records."""

    def plain(record: Any) -> Any:
        if isinstance(record, Symbol):
            return changes.get(record, record.value)
        if isinstance(record, tuple):
            return tuple(plain(one) for one in record)
        if isinstance(record, BaseModel):
            return record.model_copy(update={name: plain(getattr(record, name)) for name in type(record).model_fields})
        return record

    names = ("owner", "helper", "fixed", "tariffs", "machines", "policy")
    rows = {
        rate.key: replace(
            rate.row, **dict(zip(("low", "likely", "high"), _model_points(live, rate, changes), strict=True))
        )
        for rate in live.rates
        if any(point in changes for point in rate.points)
    }
    shop = live.plain
    powders = {
        powder.name: _powder(powder, rows.get(f"film.{powder.name}"), changes.get(own.cell), live)
        for powder in shop.powders.values()
        for own in live.own
        if own.name == f"price {powder.name}"
    }
    return replace(
        shop,
        **{name: plain(getattr(live.live, name)) for name in names},
        powders=powders,
        rates={key: rows.get(key, row) for key, row in shop.rates.items()},
        assumptions={key: rows.get(key, row) for key, row in shop.assumptions.items()},
    )


def _model_points(live: LiveShop, rate: RateCells, changes: Mapping[Symbol, float]) -> list[float]:
    factor = 1.0 if rate.used is rate.mean else live.factor(rate.row.unit)
    return [changes.get(point, point.value) * factor for point in rate.points]


def _powder(powder: Powder, film: Any, price: float | None, live: LiveShop) -> Powder:
    update: dict[str, Any] = {} if price is None else {"price_per_kg": price * live.factor("money/kg")}
    if film is not None:
        update |= {"film_low_um": film.low, "film_likely_um": film.likely, "film_high_um": film.high}
    return powder.model_copy(update=update)
