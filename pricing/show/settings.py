"""Everything a shop's folder holds, thing by thing: what it is, how it is changed, added and taken away.

Takes    the desk, and the key of a thing: ``policy``, ``oven:small oven``, ``powder:jet black``, ``item:bench_end``.
Gives    its record; a changed shop goes on the desk only when its files still fit together.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from itertools import count
from typing import Any, Final

from pricing.basis.errors import BadInput
from pricing.basis.facts import sources
from pricing.basis.records import Record
from pricing.basis.tongue import Wrong
from pricing.parts.items import Item
from pricing.parts.part import Part
from pricing.shop.folder import check_shop, demo_folder, known_steps, open_shop
from pricing.shop.machines import BurnOff, Considered, Machine
from pricing.shop.own_sources import OwnSource, named_sources
from pricing.shop.people import FixedCost, Helper
from pricing.shop.policy import Policy, Trade
from pricing.shop.powders import Powder
from pricing.shop.shop import Shop
from pricing.shop.usual_week import Ordered, UsualWeek
from pricing.show.cells import changed_record
from pricing.show.desk import Desk
from pricing.show.record_fields import Offers

SETTING_KINDS: Final = {
    "front": "The shop",
    "letterhead": "What papers print",
    "owner": "You",
    "helper": "Your helper",
    "bill": "Bills",
    "tariffs": "Energy",
    "policy": "Prices and policy",
    "oven": "Ovens",
    "booth": "Spray booth",
    "cabinet": "Blast cabinet",
    "compressor": "Compressor",
    "tank": "Strip tank",
    "bench": "Benches and racks",
    "burn_off": "Burn-off oven",
    "to_buy": "Machines to buy",
    "powder": "Powders",
    "finish": "Finishes",
    "item": "Items of the list",
    "week": "A usual week",
    "source": "Sources of your numbers",
}
"""Kinds of things, in words."""
MANY: Final = frozenset({"bill", "oven", "to_buy", "powder", "finish", "item", "source"})
"""Kinds of which there may be several."""
MAY_LACK: Final = frozenset({"helper", "burn_off"})
"""Kinds that a shop may be without."""
MONEY_LOCALES: Final = {
    "en_IE": "€1,234.50",
    "de_DE": "1.234,50 €",
    "fr_FR": "1 234,50 €",
    "en_US": "$1,234.50",
    "en_GB": "£1,234.50",
    "en_CA": "$1,234.50 (Canada)",
    "de_CH": "CHF 1’234.50",
    "sv_SE": "1 234,50 kr",
    "en_AU": "$1,234.50 (Australia)",
}
"""How money looks in some locales; the shop's own is added where it is another."""
_BY_NAME = frozenset({"bill", "oven", "to_buy", "powder"})  # their key is what they are called
_TABLES = ("front", "letterhead", "owner", "helper", "tariffs", "policy", "week")


@dataclass(frozen=True, slots=True)
class Thing:
    """One thing of the shop: its kind, its name among its like, what it is called."""

    kind: str
    name: str = ""
    title: str = ""

    @property
    def key(self) -> str:
        """Kind and name."""
        return f"{self.kind}:{self.name}" if self.kind in MANY else self.kind

    @classmethod
    def of(cls, key: str) -> "Thing":
        """Take it by its key."""
        kind, _, name = key.partition(":")
        return cls(kind, name)


def _held(desk: Desk, kind: str) -> Mapping[str, Any]:
    """Collect the records of a kind of which there may be several, by name or key."""
    shop = desk.shop
    match kind:
        case "bill":
            return {bill.name: bill for bill in shop.fixed}
        case "oven":
            return {oven.name: oven for oven in shop.machines.oven}
        case "to_buy":
            return {one.name: one for one in shop.to_buy}
        case "powder":
            return shop.powders
        case "finish":
            return shop.finishes
        case "item":
            return desk.items
    return {key: OwnSource.of(shop.sources[key]) for key in named_sources(shop)}


def things(desk: Desk, kind: str) -> list[Thing]:
    """Collect all things of a kind, each with what it is called."""
    if kind not in MANY:
        return [Thing(kind, "", SETTING_KINDS[kind])]
    held = _held(desk, kind)
    if not held:
        return [Thing(kind, "", "none")]
    return [Thing(kind, name, name if kind in _BY_NAME else one.title) for name, one in held.items()]


def record_of(desk: Desk, thing: Thing) -> Any:
    """Return the record of a thing; None where the shop is without it."""
    if thing.kind in MANY:
        return _held(desk, thing.kind).get(thing.name)
    return getattr(desk.shop if thing.kind in _TABLES else desk.shop.machines, thing.kind)


def put(desk: Desk, thing: Thing, new: Record | None) -> Thing:
    """Put another record in the place of a thing, or add it; None takes it away. Returns it by its new name.

    Raises
    ------
    Wrong
        It is still in use, one must stay, its name is taken, or the shop would not fit together.
    """
    if new is None:
        _may_go(desk, thing)
    if isinstance(new, UsualWeek) and len({line.place for line in new.orders}) < len(new.orders):
        raise Wrong("Such orders stand there already: change how many a week.")
    name = getattr(new, "name", thing.name) if thing.kind in _BY_NAME and new else thing.name
    taken = [other.name for other in things(desk, thing.kind)] if thing.kind in MANY else []
    if name != thing.name and name in taken:
        raise Wrong("Another one is called so.")
    tables, items = _with(desk, thing, name, new)
    try:
        check_shop(replace(desk.shop, **tables))
    except BadInput as why:
        told = why.problems[0]
        raise Wrong(f"{told.field} would be {told.value}; it must be {told.accepts}. {told.mend}".strip()) from None
    desk.change(tables, items=items)
    return Thing(thing.kind, name, thing.title)


def _with(desk: Desk, thing: Thing, name: str, new: Any) -> tuple[dict[str, Any], Mapping[str, Item] | None]:
    """Collect the tables of the shop, and its items, with another record in the place of a thing."""
    shop, kind = desk.shop, thing.kind
    held = _swapped(_held(desk, kind), thing.name, name, new) if kind in MANY else {}
    match kind:
        case "bill":
            return {"fixed": tuple(held.values())}, None
        case "to_buy":
            return {"to_buy": tuple(held.values())}, None
        case "powder":
            return {"powders": held}, {key: _renamed(item, thing.name, name) for key, item in desk.items.items()}
        case "finish":
            return {"finishes": held}, None
        case "item":
            return {}, held
        case "source":
            kept = new.keyed(name) if new else sources().get(name)
            rows = {
                table: {
                    key: replace(row, source=kept) if kept and row.source.key == name else row
                    for key, row in getattr(shop, table).items()
                }
                for table in ("rates", "assumptions")
            }
            return {"sources": _swapped(shop.sources, name, name, kept)} | rows, None
    if kind in _TABLES:
        return {kind: new}, None
    policy, old = shop.policy, record_of(desk, thing)
    machines = shop.machines.model_copy(update={kind: tuple(held.values()) if kind == "oven" else new})
    tables: dict[str, Any] = {"machines": machines}
    if old is not None and new is not None:  # what names it goes by its new name
        if old.name == policy.scarce.resource:
            scarce = policy.scarce.model_copy(update={"resource": new.name})
            tables["policy"] = policy.model_copy(update={"scarce": scarce})
        like = [one.model_copy(update={"like": new.name}) if one.like == old.name else one for one in shop.to_buy]
        tables["to_buy"] = tuple(like)
    return tables, None


def _swapped(held: Mapping[str, Any], old: str, name: str, new: Any) -> dict[str, Any]:
    """Swap one for another in its place, or put it at the end; None takes it away."""
    found = {**held, old: new}  # a key that is there keeps its place
    return {name if key == old else key: value for key, value in found.items() if value is not None}


def _renamed(item: Item, old: str, new: str) -> Item:
    if old not in item.powders:
        return item
    return item.model_copy(update={"powders": tuple(new if name == old else name for name in item.powders)})


def _may_go(desk: Desk, thing: Thing) -> None:
    if thing.kind in MANY - {"to_buy"} and len(things(desk, thing.kind)) == 1:
        raise Wrong(f"One {thing.kind} must stay.")
    if thing.kind == "helper" and desk.shop.policy.scarce.resource == "helper":
        raise Wrong("The helper's hour is what runs out first: choose another under Prices and policy, then try again.")
    rows = {**desk.shop.rates, **desk.shop.assumptions}.values()
    uses = {
        "item": ["a usual week"] if thing.name in {line.item for line in desk.shop.week.orders} else [],
        "source": [
            *(row.key for row in rows if row.source.key == thing.name),
            *(powder.name for powder in desk.shop.powders.values() if powder.source == thing.name),
        ],
        "powder": [item.title for item in desk.items.values() if thing.name in item.powders],
        "oven": [one.name for one in desk.shop.to_buy if one.like == thing.name],
        "finish": [item.title for item in desk.items.values() if thing.name in {item.single, item.two_tone}],
    }.get(thing.kind, [])
    if uses:
        raise Wrong(f"Still used by {', '.join(uses[:3])}.")


def fresh(desk: Desk, kind: str, like: str = "") -> tuple[Thing, Record]:
    """Collect one more of a kind, with the numbers of the one named ``like``, to be put and then filled in.

    A helper begins with the demo's habits and your own pay an hour, a burn-off oven with the walls of the first oven,
    since nothing better is known.
    """
    shop = desk.shop
    if kind == "helper":
        return Thing(kind), _helper(shop)
    if kind == "burn_off":
        oven = shop.machines.oven[0]
        same = {name: getattr(oven, name) for name in BurnOff.model_fields if hasattr(oven, name)}
        return Thing(kind), BurnOff(**{**same, "name": "burn-off oven", "batch_kg": oven.most_load_kg})
    names = [one.name for one in things(desk, kind)]
    like = like or names[-1]
    if kind == "bill":
        name = _numbered("bill ", names)
        return Thing(kind, name), FixedCost(name=name, cost_per_y=0.0)
    if kind == "source":
        return Thing(kind, _numbered("own_", shop.sources, 1)), OwnSource(title="My own source", kind="guess")
    if kind == "to_buy" and not shop.to_buy:
        oven = shop.machines.oven[0]
        name = f"second {oven.name}"
        same = {field: getattr(oven, field) for field in Machine.model_fields}
        return Thing(kind, name), Considered(**{**same, "name": name, "like": oven.name})
    last: Record = record_of(desk, Thing(kind, like))
    if kind == "finish":
        title = f"{last.title} 2"  # type: ignore[attr-defined]
        return Thing(kind, _numbered(f"{like}_", names)), changed_record(last, "title", title)
    name = _numbered(f"{like} ", names)
    return Thing(kind, name), changed_record(last, "name", name)


def _helper(shop: Shop) -> Helper:
    habits = shop.helper or open_shop(demo_folder()).helper
    assert habits is not None  # noqa: S101  the demo has one
    return habits.model_copy(update={"wage_per_h": shop.owner.draw_per_y / shop.owner.hours})


def _numbered(stem: str, taken: Collection[str], start: int = 2) -> str:
    """Write a name with the first number that is free."""
    return next(name for n in count(start) if (name := f"{stem}{n}") not in taken)


def with_trade(policy: Policy) -> Policy:
    """Give a policy with a second list for the trade, that begins with the margin and the smallest job of the first."""
    trade = Trade(target_margin=policy.target_margin, minimum_charge=policy.minimum_charge)
    return policy.model_copy(update={"trade": trade})


def first_orders(desk: Desk) -> tuple[Ordered, ...]:
    """Give a week to begin with: one order of the first item of the list."""
    return (Ordered(item=next(iter(desk.items)), column="single", orders_per_week=1.0),)


def setting_offers(shop: Shop, items: Mapping[str, Item]) -> Offers:
    """Return the choices that the shop itself holds: its finishes, powders, machines, sources, steps, items."""
    finishes = {key: finish.title for key, finish in shop.finishes.items()}
    classes = sorted({name.split(".")[1] for name in shop.assumptions if name.startswith("reject.")})
    machines = {machine.name: machine.name for machine in shop.machines.all()}
    people = {"owner": "your own", **({"helper": "the helper's"} if shop.helper else {})}
    return {
        (Item.__name__, "single"): finishes,
        (Item.__name__, "two_tone"): finishes,
        ("Shopfront", "locale"): {shop.front.locale: shop.front.locale} | dict(MONEY_LOCALES),
        ("Job", "finish"): finishes,
        ("Finish", "rejects"): {name: name for name in classes},
        ("Scarce", "resource"): people | machines,
        (Considered.__name__, "like"): machines,
        ("Helper", "steps"): {step: words.title for step, words in known_steps().items()},
        (Powder.__name__, "source"): {key: shop.sources[key].title for key in named_sources(shop)},
        ("Ordered", "item"): {key: item.title for key, item in items.items()},
    }


def free_key(desk: Desk, stem: str) -> str:
    """Write a key for an item that is not taken yet."""
    return stem if stem not in desk.items else _numbered(f"{stem}_", desk.items)


def plain_item(desk: Desk, part: Part, key: str) -> Item:
    """Make an item of a part alone: nothing is taken from another item.

    Its finishes are the first without a line and the first with one, its powders the first of the shop.
    """
    finishes = desk.shop.finishes
    single = next((k for k, f in finishes.items() if f.line == "none"), next(iter(finishes)))
    two = next((k for k, f in finishes.items() if f.line != "none"), single)
    colours = max(finishes[single].colours, finishes[two].colours)
    return Item(
        key=key,
        title=part.name,
        sold_by="each",
        pieces=1,
        single=single,
        two_tone=two,
        powders=tuple(desk.shop.powders)[:colours],
        part=part,
    )
