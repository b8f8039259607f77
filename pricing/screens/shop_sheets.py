"""What the shop has, as tables: powders, items of the price list, machines, bills."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, get_args

from pricing.basis.records import Record, range_of
from pricing.basis.tongue import Tongue
from pricing.basis.typed import read
from pricing.parts.items import Item
from pricing.parts.part import EdgeQuality, Material, OldCoating, Part, Surface
from pricing.shop.powders import WAYS
from pricing.show import settings
from pricing.show.cells import Measure, cell, changed_record, pick
from pricing.show.desk import Desk
from pricing.show.record_fields import named_field
from pricing.show.settings import Thing
from pricing.show.sheets import Cell, Column, Row, Sheet

_YES_NO = (("", "no"), ("yes", "yes"))


@dataclass(frozen=True, slots=True)
class _Spec:
    """One column of a record: field, words, unit; options make it a choice, of yes and no where it is ticked."""

    name: str
    label: str
    unit: str = ""
    options: tuple[tuple[str, str], ...] = ()
    text: bool = False
    whole: bool = False

    def column(self, tongue: Tongue) -> Column:
        heading = "" if self.text or self.options else Measure(self.unit, tongue).heading
        label = f"{self.label} [{heading}]" if heading else self.label
        kind = "choice" if self.options else "text"
        width = "120px" if self.text else "48px"
        return Column(self.name, label, kind, num=not (self.text or self.options), options=self.options, width=width)

    def write(self, record: Record, tongue: Tongue) -> str:
        value = getattr(record, self.name)
        if self.options is _YES_NO:
            return "yes" if value else ""
        if self.text or self.options:
            return str(value)
        return str(value) if self.whole else Measure(self.unit, tongue).write(float(value))

    def read(self, record: Record, given: str, tongue: Tongue) -> Any:
        if self.options is _YES_NO:
            return bool(pick(given, self.options))
        if self.options:
            return pick(given, self.options)
        if self.text:
            return given.strip()
        now = getattr(record, self.name)
        unit = "whole" if self.whole else self.unit
        found = read(given, unit, tongue, now=float(now), within=range_of(type(record), self.name))
        return int(found) if self.whole else found


def _same(words: Any) -> tuple[tuple[str, str], ...]:
    return tuple((word, word) for word in get_args(words))


_POWDER = (
    _Spec("price_per_kg", "price", "money/kg"),
    _Spec("pack_kg", "pack", "kg"),
    _Spec("way", "bought", options=tuple(WAYS.items())),
    _Spec("uses", "uses a year", "number"),
    _Spec("each_kg", "each takes", "kg"),
    _Spec("keeps_y", "keeps", "year"),
    _Spec("film_low_um", "film low", "um"),
    _Spec("film_likely_um", "likely", "um"),
    _Spec("film_high_um", "high", "um"),
    _Spec("density_g_per_cm3", "density", "g/cm**3"),
    _Spec("cure_degC", "cure at", "degC"),
    _Spec("dwell_min", "for", "min"),
    _Spec("kind", "kind", options=tuple((k, k) for k in ("solid", "metallic", "clear", "texture"))),
    _Spec("name", "called", text=True),
)
_MACHINE = (
    _Spec("price", "bought for", "money"),
    _Spec("salvage", "sold for", "money"),
    _Spec("life_y", "lasts", "year"),
    _Spec("upkeep_per_y", "upkeep", "money/year"),
    _Spec("practical_hours_h", "in use a year", "h"),
)
_BILL = (_Spec("cost_per_y", "a year", "money/year"), _Spec("name", "called", text=True))
_ITEM = (
    _Spec("sold_by", "sold by", text=True),
    _Spec("pieces", "pieces", whole=True),
    _Spec("note", "note", text=True),
)
_PART = (
    _Spec("area_m2", "area", "m**2"),
    _Spec("line_m", "line", "m"),
    _Spec("edge_m", "edges", "m"),
    _Spec("spots", "nooks", whole=True),
    _Spec("plugs", "plugs", whole=True),
    _Spec("mass_kg", "mass", "kg"),
    _Spec("thickness_mm", "thickest", "mm"),
    _Spec("width_mm", "wide", "mm"),
    _Spec("height_mm", "high", "mm"),
    _Spec("depth_mm", "deep", "mm"),
    _Spec("material", "metal", options=_same(Material)),
    _Spec("edge_quality", "edges are", options=_same(EdgeQuality)),
    _Spec("old_coating", "old coating", options=_same(OldCoating)),
    _Spec("surface", "surface", options=_same(Surface)),
    _Spec("second_share", "second colour on", "share"),
    _Spec("scars", "scars", whole=True),
    _Spec("repair_m", "repairs", "m"),
    _Spec("earlier_visits", "oven visits before", whole=True),
    _Spec("value", "worth", "money"),
    _Spec("strip_by", "comes off by", options=tuple(named_field(Part, "strip_by").choices.items())),
    *(
        _Spec(name, named_field(Part, name).label.split(":")[0].lower(), options=_YES_NO)
        for name in ("casting", "bake_out", "apart", "heat_treated", "safety_critical", "closed_volume")
    ),
)
_POWDERS = ("first", "second", "third")
_REMOVE = Column("remove", "", "do", words="remove")


def shop_tables(desk: Desk) -> list[Sheet]:
    """Collect the tabs of powders, items, machines and bills.

    Parameters
    ----------
    desk : Desk
        For its units and its names.
    """
    tongue, shop = desk.tongue, desk.shop
    finishes = tuple((key, finish.title) for key, finish in shop.finishes.items())
    powders = tuple((name, name) for name in shop.powders)
    item = [spec.column(tongue) for spec in (*_ITEM, *_PART)]
    more = [
        Column("first", "first powder", "choice", options=powders),
        Column("second", "second powder", "choice", options=powders),
        Column("third", "third powder", "choice", options=(("", "none"), *powders)),
        Column("single", "its single-tone", "choice", options=finishes),
        Column("two_tone", "its two-tone", "choice", options=finishes),
    ]
    return [
        Sheet(
            "powders",
            "Powders",
            (Column("name", "Powder", "plain"), *(s.column(tongue) for s in _POWDER), _REMOVE),
            (("add", "Add a powder like the last"),),
        ),
        Sheet(
            "items",
            "Items",
            (Column("name", "Item", "plain"), Column("title", "title", width="190px"), *item, *more, _REMOVE),
            note="A new item begins with its shape: New part, above.",
        ),
        Sheet(
            "machines",
            "Machines",
            (
                Column("name", "Machine", "plain"),
                *(s.column(tongue) for s in _MACHINE),
                Column("hour", "an hour costs, without energy", "plain", num=True),
            ),
            note="In use: hours you really book, not hours it could run. Used hours must pay for the unused.",
        ),
        Sheet(
            "bills",
            "Bills",
            (Column("name", "Bill", "plain"), *(s.column(tongue) for s in _BILL), _REMOVE),
            (("add", "Add a bill"),),
            note="Any unit will do: 95 EUR/month, 1140 EUR/year.",
        ),
    ]


def rows(desk: Desk) -> dict[str, list[Row]]:
    """Collect the rows of these tabs.

    Parameters
    ----------
    desk : Desk
        The shop, and how it is saved.
    """
    shop, saved = desk.shop, desk.saved
    old_machines = {m.name: m for m in saved.shop.machines.all()}
    old_bills = {bill.name: bill for bill in saved.shop.fixed}
    interest = shop.policy.interest
    machines = []
    for machine in shop.machines.all():
        hour = {"hour": Cell(desk.words.money(machine.hour_rate(interest)))}
        machines.append(_row(machine.name, machine, old_machines.get(machine.name), _MACHINE, desk.tongue, hour))
    remove = {"remove": Cell("remove")}
    return {
        "powders": [
            _row(name, powder, saved.shop.powders.get(name), _POWDER, desk.tongue, remove)
            for name, powder in shop.powders.items()
        ],
        "items": [_item_row(item, saved.items.get(key), desk.tongue) for key, item in desk.items.items()],
        "machines": machines,
        "bills": [_row(bill.name, bill, old_bills.get(bill.name), _BILL, desk.tongue, remove) for bill in shop.fixed],
    }


def _row(
    key: str, record: Record, before: Record | None, specs: tuple[_Spec, ...], tongue: Tongue, more: Mapping[str, Cell]
) -> Row:
    cells = {s.name: cell(s.write(record, tongue), s.write(before, tongue) if before else "") for s in specs}
    return Row(key, key, {**cells, **more})


def _item_row(item: Item, before: Item | None, tongue: Tongue) -> Row:
    cells = {"title": cell(item.title, before.title if before else "")}
    cells |= {s.name: cell(s.write(item, tongue), s.write(before, tongue) if before else "") for s in _ITEM}
    cells |= {s.name: cell(s.write(item.part, tongue), s.write(before.part, tongue) if before else "") for s in _PART}
    for at, name in enumerate(_POWDERS):
        old = before.powders[at] if before and len(before.powders) > at else ""
        cells[name] = cell(item.powders[at] if len(item.powders) > at else "", old)
    for name in ("single", "two_tone"):
        cells[name] = cell(getattr(item, name), getattr(before, name) if before else "")
    return Row(item.key, item.title, {**cells, "remove": Cell("remove")})


def edit_shop(desk: Desk, sheet: str, key: str, column: str, given: str) -> None:
    """Take an edit of one of these tabs.

    Parameters
    ----------
    desk : Desk
        Where it is put.
    sheet, key, column, given : str
        Tab, row, column, and what was typed; ``add`` and ``remove`` are buttons.

    Raises
    ------
    Wrong
        What is accepted.
    """
    kind = _KINDS.get(sheet) or next(
        (k for k in _ONCE if (one := getattr(desk.shop.machines, k)) and one.name == key), "oven"
    )
    if column == "add":
        settings.put(desk, *settings.fresh(desk, kind))
        return
    thing = Thing(kind, key)
    record = settings.record_of(desk, thing)
    if column == "remove":
        settings.put(desk, thing, None)
    elif isinstance(record, Item):
        settings.put(desk, thing, _edited_item(record, column, given, desk))
    else:
        specs = _POWDER if kind == "powder" else _BILL if kind == "bill" else _MACHINE
        settings.put(desk, thing, _edited(record, specs, column, given, desk.tongue))


_KINDS = {"powders": "powder", "items": "item", "bills": "bill"}
_ONCE = ("booth", "cabinet", "compressor", "tank", "bench", "burn_off")  # machines of which there is one


def _edited(record: Any, specs: tuple[_Spec, ...], column: str, given: str, tongue: Tongue) -> Any:
    spec = next(s for s in specs if s.name == column)
    return changed_record(record, column, spec.read(record, given, tongue), tongue=tongue)


def _edited_item(item: Item, column: str, given: str, desk: Desk) -> Item:
    if column == "title":
        named = changed_record(item, "title", given.strip())
        return changed_record(named, "part", changed_record(item.part, "name", given.strip()))
    if column in _POWDERS:
        powders = list(item.powders)
        at = _POWDERS.index(column)
        powders[at : at + 1] = [pick(given, {name: name for name in desk.shop.powders})] if given or at < 2 else []
        return changed_record(item, "powders", tuple(powders))
    if column in {"single", "two_tone"}:
        return changed_record(item, column, pick(given, {k: f.title for k, f in desk.shop.finishes.items()}))
    if any(spec.name == column for spec in _ITEM):
        made: Item = _edited(item, _ITEM, column, given, desk.tongue)
        return made
    return changed_record(item, "part", _edited(item.part, _PART, column, given, desk.tongue))
