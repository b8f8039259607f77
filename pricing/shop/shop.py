"""The shop as one record, its hour rates, and the book of numbers that a quote is made with.

The book is one flat mapping from key to number: rates (``wipe.line_m.hands``), assumptions
(``oven.fill``), powders (``film.signal white``), hour rates (``hour.owner``) and tariffs
(``tariff.gas``). The point quote uses the means; a draw is the same mapping with arrays in it,
and a slider or a break-even search is the same mapping with one number changed.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from math import nan
from pathlib import Path
from types import MappingProxyType
from typing import Annotated, TypeAlias, TypeVar

from pydantic import Field

from pricing.basis.checks import Floats
from pricing.basis.errors import BadInput, Problem, not_known
from pricing.basis.facts import FactKind, Source
from pricing.basis.records import Record
from pricing.basis.tongue import Tongue
from pricing.shop.finishes import Finish
from pricing.shop.machines import Considered, Machines
from pricing.shop.own_prices import OwnPrice, PriceKey
from pricing.shop.people import FixedCost, Helper, Letterhead, Owner, Shopfront, Tariffs
from pricing.shop.policy import Policy
from pricing.shop.powders import Powder
from pricing.shop.rates import Assumption
from pricing.shop.usual_week import UsualWeek
from pricing.shop.visit import is_sold

Book: TypeAlias = Mapping[str, Floats]
_T = TypeVar("_T")


class Built:
    """A key for caches: equal for shops of the same machines, policy and list, whatever else has been changed."""

    __slots__ = ("thing",)

    def __init__(self, shop: "Shop") -> None:
        self.thing = shop

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Built):
            return False
        one, two = self.thing, other.thing
        return one.machines is two.machines and one.policy is two.policy and one.for_trade == two.for_trade

    def __hash__(self) -> int:
        return id(self.thing.machines)


class ShopFile(Record):
    """All tables of ``shop.toml``."""

    front: Shopfront = Field(alias="shop")
    owner: Owner
    helper: Helper | None = None
    fixed: Annotated[tuple[FixedCost, ...], Field(min_length=1)]
    tariffs: Tariffs
    machines: Machines
    policy: Policy
    letterhead: Letterhead = Letterhead()
    to_buy: tuple[Considered, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Shop:
    """Everything the owner has and has decided.

    Parameters
    ----------
    front, owner, helper, fixed, tariffs, machines, policy
        The tables of ``shop.toml``; ``helper`` is None for an owner alone.
    powders, finishes : mapping
        By name, by key.
    rates, assumptions : mapping of Assumption
        ``rates.csv`` and ``assumptions.csv``.
    sources : mapping of Source
        Where numbers come from.
    own_prices : mapping of OwnPrice
        Prices that the owner has set, by item and column.
    trade_prices : mapping of OwnPrice
        Those of the second list, for the trade.
    for_trade : bool
        Whether it sells by its second list.
    letterhead : Letterhead, optional
        What stands on papers for customers.
    to_buy : tuple of Considered
        Machines that the owner thinks of buying.
    visited : mapping of str
        What was said at the first visit, by question.
    week : UsualWeek, optional
        What is ordered in a usual week.
    folder : Path, optional
        Where it was read from.
    """

    front: Shopfront
    owner: Owner
    helper: Helper | None
    fixed: tuple[FixedCost, ...]
    tariffs: Tariffs
    machines: Machines
    policy: Policy
    powders: Mapping[str, Powder]
    finishes: Mapping[str, Finish]
    rates: Mapping[str, Assumption]
    assumptions: Mapping[str, Assumption]
    sources: Mapping[str, Source] = field(repr=False)
    own_prices: Mapping[PriceKey, OwnPrice] = field(default_factory=dict, repr=False)
    trade_prices: Mapping[PriceKey, OwnPrice] = field(default_factory=dict, repr=False)
    for_trade: bool = False
    letterhead: Letterhead = field(default_factory=Letterhead)
    to_buy: tuple[Considered, ...] = field(default=(), repr=False)
    visited: Mapping[str, str] = field(default_factory=dict, repr=False)
    week: UsualWeek = field(default_factory=UsualWeek, repr=False)
    folder: Path | None = field(default=None, compare=False)

    def __repr__(self) -> str:
        """Say what it is in two lines."""
        counts = f"{len(self.rates)} rates, {len(self.assumptions)} assumptions, {len(self.powders)} powders"
        return f"<Shop: {self.front.name}, in {self.currency}\n  {counts}, {len(self.finishes)} finishes>"

    def _repr_html_(self) -> str:
        """Show itself in a notebook: what an hour of each resource costs."""
        from html import escape

        rows = "".join(
            f"<tr><th style='text-align:left'>{escape(name)}</th><td style='text-align:right'>{rate:.2f}</td></tr>"
            for name, rate in self.hour_rates.items()
        )
        return f"<table><caption>{escape(self.front.name)}, {self.currency} an hour</caption>{rows}</table>"

    @property
    def currency(self) -> str:
        """Code of the currency everything is counted in."""
        return self.front.currency

    @property
    def tongue(self) -> Tongue:
        """What it counts in, thinks in, and how it writes numbers."""
        return Tongue(self.front.currency, self.front.units, self.front.locale)

    @cached_property
    def _trade(self) -> "Shop":
        asked = self.policy.trade
        if asked is None:
            mend = "Write the table [policy.trade] into shop.toml: target_margin, minimum_charge, setup_charged."
            raise BadInput("shop.toml", [Problem("policy.trade", "missing", "there for the trade's list", mend)])
        policy = self.policy.model_copy(update=dict(asked))
        return replace(self, policy=policy, own_prices=self.trade_prices, for_trade=True)

    def selling(self, *, trade: bool) -> "Shop":
        """Return the shop as it sells: by its own list, or by the one for the trade; refused where it has none."""
        return self._trade if trade and not self.for_trade else self

    @cached_property
    def overhead_per_y(self) -> float:
        """All fixed costs. [money/y]"""
        return sum(bill.cost_per_y for bill in self.fixed)

    @cached_property
    def billable_hours(self) -> float:
        """Hours of owner and helper that are booked on jobs. [h/y]"""
        return self.owner.billable_hours + (self.helper.billable_hours if self.helper else 0.0)

    @cached_property
    def hour_rates(self) -> Mapping[str, float]:
        """Money per hour of each resource, before energy. [money/h]"""
        rates = {
            "owner": self.owner.draw_per_y * (1 + self.owner.on_cost) / self.owner.billable_hours,
            "overhead": self.overhead_per_y / self.billable_hours,
            "helper": self.helper.cost_per_h if self.helper else 0.0,
        }
        return rates | {m.name: m.hour_rate(self.policy.interest) for m in self.machines.all()}

    @cached_property
    def uncertain(self) -> Mapping[str, Assumption]:
        """Every three-point number by its key in the book: what risk draws and calibration mends."""
        films = {
            f"film.{p.name}": Assumption(
                f"film.{p.name}", *p.film_points_um, "um", self.sources[p.source], p.where, p.read_on, p.note
            )
            for p in self.powders.values()
        }
        return {**self.rates, **self.assumptions, **films}

    @cached_property
    def book(self) -> Mapping[str, float]:
        """The numbers of the point quote: means of all that is uncertain, and what is fixed."""
        numbers = {key: row.mean for key, row in self.uncertain.items()}
        numbers |= {f"hour.{name}": rate for name, rate in self.hour_rates.items()}
        numbers |= {f"price.{p.name}": p.price_per_kg for p in self.powders.values()}
        numbers |= {"tariff.electricity": self.tariffs.electricity_per_kwh, "tariff.gas": self.tariffs.gas_per_kwh}
        numbers["helper.share"] = self.helper.share if self.helper else 0.0
        return MappingProxyType(numbers)

    def kind_of(self, key: str) -> FactKind:
        """How well a number of the book is known; bills and prices of shop.toml are the owner's own."""
        row = self.uncertain.get(key)
        return row.kind if row else "measured"

    def own_price(self, item: str, column: str) -> OwnPrice | None:
        """Return what the owner has set for a row of the list; what the shop does not sell is hidden."""
        own = self.own_prices.get((item, column))
        if is_sold(self.visited, item):
            return own
        return replace(own, hidden=True) if own else OwnPrice(nan, nan, nan, hidden=True)

    def powder(self, name: str, where: str = "job") -> Powder:
        """Return a powder by name; one that is not there is refused."""
        return _named("powder", name, self.powders, where)

    def finish(self, key: str, where: str = "job") -> Finish:
        """Return a finish by key; one that is not there is refused."""
        return _named("finish", key, self.finishes, where)


def _named(kind: str, key: str, table: Mapping[str, _T], where: str) -> _T:
    if key not in table:
        raise BadInput(where, [not_known(kind, key, table)])
    return table[key]
