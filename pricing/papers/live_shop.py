"""A shop whose numbers stand in the cells of a workbook, so that its sums come out as formulas."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, NamedTuple, TypeVar

import numpy as np

from pricing.basis.records import Record
from pricing.basis.units import shown
from pricing.costing.graph import Graph, Symbol, Value
from pricing.shop.policy import Policy, PricePoint
from pricing.shop.rates import Z95, Assumption
from pricing.shop.shop import Shop

_R = TypeVar("_R", bound=Record)
SHARE, RATE = "0.0%", "0.0000"


class RateCells(NamedTuple):
    """One uncertain number: its three points in the shop's units, their mean, and what the sums take."""

    key: str
    row: Assumption
    unit: str
    points: tuple[Symbol, Symbol, Symbol]
    mean: Symbol
    used: Symbol


class Own(NamedTuple):
    """One number of ``shop.toml`` or ``powders.csv``: where it belongs, how it is shown and named, if it is fixed."""

    group: str
    label: str
    unit: str
    cell: Symbol
    shows: str = ""
    name: str = ""
    fixed: bool = False


class _Field(NamedTuple):
    field: str
    label: str
    unit: str = ""
    shows: str = ""
    name: str = ""
    fixed: bool = False  # went into the printed prices, which a workbook does not make


_PEOPLE = (
    _Field("on_cost", "dues and insurance on top, share", shows=SHARE),
    _Field("weeks", "weeks a year"),
    _Field("hours_per_week_h", "hours a week", "h"),
    _Field("billable", "share of the hours that is booked on jobs", shows=SHARE),
)
_OWNER = (_Field("draw_per_y", "draw: what the owner takes home", "money/year"), *_PEOPLE)
_HELPER = (
    _Field("wage_per_h", "wage", "money/h"),
    *_PEOPLE,
    _Field("share", "share of the minutes the helper takes over", "", SHARE, "helper share"),
)
_TARIFFS = (
    _Field("electricity_per_kwh", "electricity", "money/kWh", RATE, "tariff electricity"),
    _Field("gas_per_kwh", "gas, gross as billed", "money/kWh", RATE, "tariff gas"),
)
_MACHINE = (
    _Field("price", "price", "money"),
    _Field("salvage", "worth at the end", "money"),
    _Field("life_y", "life", "year"),
    _Field("upkeep_per_y", "upkeep", "money/year"),
    _Field("practical_hours_h", "practical hours a year", "h"),
)
_POLICY = (
    _Field("target_margin", "margin wanted, share of the price", "", SHARE, "target margin"),
    _Field("interest", "interest on what machines cost, a year", "", SHARE),
    _Field("minimum_charge", "minimum charge", "money", "", "minimum charge", fixed=True),
    _Field("rush_surcharge", "rush surcharge", "", SHARE, fixed=True),
    _Field("sales_tax", "sales tax", "", SHARE, "sales tax", fixed=True),
)
_POINT = (_Field("up_to", "up to", "money", fixed=True), _Field("step", "rounded up to the next", "money", fixed=True))


class Noted(Mapping[str, Value]):
    """A book that notes which of its numbers were read."""

    def __init__(self, numbers: Mapping[str, Value]) -> None:
        self._numbers, self.read = numbers, set[str]()

    def __getitem__(self, key: str) -> Value:
        self.read.add(key)
        return self._numbers[key]

    def __contains__(self, key: object) -> bool:
        return key in self._numbers

    def __iter__(self) -> Iterator[str]:
        return iter(self._numbers)

    def __len__(self) -> int:
        return len(self._numbers)


@dataclass(frozen=True)
class LiveShop:
    """A shop with a cell for every number that a price rests on.

    Parameters
    ----------
    graph : Graph
        Where its formulas are made.
    plain : Shop
        The shop as it was read.
    live : Shop
        The same on cells: policy, people, bills, machines.
    rates : tuple of RateCells
        Every three-point number.
    own : tuple of Own
        Every other number that can be changed.
    book : Noted
        What the cost functions take.
    deaf : set of str
        Numbers that a cost sheet of the workbook rests on and does not follow; they gather as sheets are made.
    """

    graph: Graph
    plain: Shop
    live: Shop
    rates: tuple[RateCells, ...]
    own: tuple[Own, ...]
    book: Noted
    deaf: set[str] = field(default_factory=set)

    def factor(self, unit: str) -> float:
        """Work out what a value in the shop's units is multiplied with to be in the model's."""
        return 1.0 if self.plain.front.units == "metric" else 1.0 / shown(1.0, unit, "us").value


def live_shop(shop: Shop) -> LiveShop:
    """Put a shop's numbers into cells."""
    graph = Graph()
    own: list[Own] = []

    def put(record: _R, group: str, fields: tuple[_Field, ...], prefix: str = "") -> _R:
        cells = {}
        for name, label, unit, shows, called, fixed in fields:
            cells[name] = graph.number(float(getattr(record, name)))
            own.append(Own(group, prefix + label, unit, cells[name], shows, called, fixed))
        return record.model_copy(update=cells)

    machines = shop.machines
    ones = {name: getattr(machines, name) for name in ("booth", "cabinet", "compressor", "tank", "bench")}
    live = replace(
        shop,
        owner=put(shop.owner, "Owner", _OWNER),
        helper=shop.helper and put(shop.helper, "Helper", _HELPER),
        fixed=tuple(put(bill, "Bills", (_Field("cost_per_y", bill.name, "money/year"),)) for bill in shop.fixed),
        tariffs=put(shop.tariffs, "Energy", _TARIFFS),
        policy=_policy(shop.policy, put),
        machines=machines.model_copy(
            update={"oven": tuple(put(oven, "Machines", _MACHINE, f"{oven.name}: ") for oven in machines.oven)}
            | {name: put(one, "Machines", _MACHINE, f"{one.name}: ") for name, one in ones.items()}
        ),
    )
    found = LiveShop(graph, shop, live, (), (), Noted({}))
    rates = tuple(_rate(found, key, row) for key, row in shop.uncertain.items())
    book: dict[str, Value] = {rate.key: rate.used for rate in rates}
    book |= {f"hour.{name}": hour for name, hour in live.hour_rates.items()}
    for powder in shop.powders.values():
        at = shown(powder.price_per_kg, "money/kg", shop.front.units)
        cell = graph.number(at.value)
        own.append(Own("Powders", f"price of {powder.name}", at.unit, cell, "", f"price {powder.name}"))
        book[f"price.{powder.name}"] = cell * found.factor("money/kg")
    book |= {"tariff.electricity": live.tariffs.electricity_per_kwh, "tariff.gas": live.tariffs.gas_per_kwh}
    book["helper.share"] = live.helper.share if live.helper else 0.0
    return replace(found, rates=rates, own=tuple(own), book=Noted(book))


def _policy(policy: Policy, put: Callable[..., Any]) -> Policy:
    group = "Prices"
    points = tuple(
        put(point, group, _POINT, f"price point {number}: ") for number, point in enumerate(policy.price_points, 1)
    )
    worth = put(policy.scarce, group, (_Field("worth_per_h", "what one more hour would bring", "money/h"),))
    changed: Policy = put(policy, group, _POLICY)
    return changed.model_copy(update={"price_points": tuple[PricePoint, ...](points), "scarce": worth})


def _rate(live: LiveShop, key: str, row: Assumption) -> RateCells:
    bare = row.unit in {"share", "number"}
    units = live.plain.front.units
    values = [v if bare else shown(v, row.unit, units).value for v in (row.low, row.likely, row.high)]
    low, likely, high = (live.graph.number(value) for value in values)
    mean: Any
    if row.shape == "lognormal":
        mean = likely * np.exp(np.square(np.log(high / low) / (2 * Z95)) / 2)
    else:
        mean = (low + 4 * likely + high) / 6
    unit = row.unit if bare else shown(1.0, row.unit, units).unit
    return RateCells(key, row, unit, (low, likely, high), mean, mean if bare else mean * live.factor(row.unit))
