"""What the shop has, as tables: powders, items of the price list, machines, bills."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, get_args

from pricing.basis.records import Record, range_of
from pricing.basis.tongue import Tongue
from pricing.basis.typed import read
from pricing.parts.part import EdgeQuality, Material, OldCoating, Part, Surface
from pricing.screens.panel_settings import changed_thing
from pricing.shop.powders import WAYS
from pricing.shop.shop import Shop
from pricing.show import settings
from pricing.show.cells import Measure, cell, pick
from pricing.show.desk import Desk
from pricing.show.record_fields import named_field
from pricing.show.settings import Thing
from pricing.show.sheets import Cell, Column, Row, Sheet

_Options = tuple[tuple[str, str], ...]

_YES_NO = (("", "no"), ("yes", "yes"))


@dataclass(frozen=True, slots=True)
class _Spec:
    """One column: field, words, unit; options make it a choice, of yes and no where it is ticked.

    ``offered`` names what the shop offers to choose from, ``place`` is where the field stands in the record.
    """

    name: str
    label: str
    unit: str = ""
    options: _Options = ()
    text: bool = False
    whole: bool = False
    width: str = "120px"
    offered: str = ""
    place: str = ""

    def choices(self, shop: Shop) -> _Options:
        if self.offered == "finishes":
            return tuple((key, finish.title) for key, finish in shop.finishes.items())
        return (*self.options, *((name, name) for name in shop.powders)) if self.offered else self.options

    def column(self, desk: Desk) -> Column:
        if options := self.choices(desk.shop):
            return Column(self.name, self.label, "choice", options=options, width="" if self.offered else "48px")
        if self.text:
            return Column(self.name, self.label, width=self.width)
        heading = Measure(self.unit, desk.tongue).heading
        return Column(self.name, f"{self.label} [{heading}]" if heading else self.label, num=True, width="48px")

    def held(self, record: Any) -> tuple[Any, Any]:
        """Return the value, and the record or list that holds it."""
        *inside, last = (self.place or self.name).split(".")
        for step in inside:
            record = getattr(record, step)
        if isinstance(record, tuple):
            return record[int(last)] if int(last) < len(record) else "", record
        return getattr(record, last), record

    def write(self, record: Record, tongue: Tongue) -> str:
        value, _ = self.held(record)
        if self.options is _YES_NO:
            return "yes" if value else ""
        if self.text or self.options or self.offered or self.whole:
            return str(value)
        return Measure(self.unit, tongue).write(float(value))

    def read(self, record: Record, given: str, desk: Desk) -> Any:
        if options := self.choices(desk.shop):
            return bool(pick(given, options)) if options is _YES_NO else pick(given, options)
        if self.text:
            return given.strip()
        value, holder = self.held(record)
        unit = "whole" if self.whole else self.unit
        found = read(given, unit, desk.tongue, now=float(value), within=range_of(type(holder), self.name))
        return int(found) if self.whole else found


def _same(words: Any) -> _Options:
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
    _Spec("title", "title", text=True, width="190px"),
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
_CHOSEN = (
    _Spec("first", "first powder", offered="powders", place="powders.0"),
    _Spec("second", "second powder", offered="powders", place="powders.1"),
    _Spec("third", "third powder", options=(("", "none"),), offered="powders", place="powders.2"),
    _Spec("single", "its single-tone", offered="finishes"),
    _Spec("two_tone", "its two-tone", offered="finishes"),
)
_SPECS = {
    "powders": _POWDER,
    "items": (*_ITEM, *(replace(spec, place=f"part.{spec.name}") for spec in _PART), *_CHOSEN),
    "machines": _MACHINE,
    "bills": _BILL,
}
_KINDS = {"powders": "powder", "items": "item", "bills": "bill"}


def shop_tables(desk: Desk) -> list[Sheet]:
    """Collect the tabs of powders, items, machines and bills, with the shop's units and names."""

    def columns(sheet: str, name: str, last: Column) -> tuple[Column, ...]:
        return (Column("name", name, "plain"), *(spec.column(desk) for spec in _SPECS[sheet]), last)

    remove = Column("remove", "", "do", words="remove")
    hour = Column("hour", "an hour costs, without energy", "plain", num=True)
    used = "In use: hours you really book, not hours it could run. Used hours must pay for the unused."
    begin = "A new item begins with its shape: New part, above."
    bill = "Any unit will do: 95 EUR/month, 1140 EUR/year."
    add = (("add", "Add a powder like the last"),)
    return [
        Sheet("powders", "Powders", columns("powders", "Powder", remove), add),
        Sheet("items", "Items", columns("items", "Item", remove), note=begin),
        Sheet("machines", "Machines", columns("machines", "Machine", hour), note=used),
        Sheet("bills", "Bills", columns("bills", "Bill", remove), (("add", "Add a bill"),), note=bill),
    ]


def rows(desk: Desk) -> dict[str, list[Row]]:
    """Collect the rows of these tabs, with what differs from what is saved."""
    now, saved = _records(desk.shop, desk.items), _records(desk.saved.shop, desk.saved.items)
    return {
        sheet: [_row(desk, sheet, key, record, saved[sheet].get(key)) for key, record in records.items()]
        for sheet, records in now.items()
    }


def _records(shop: Shop, items: Mapping[str, Any]) -> dict[str, Mapping[str, Any]]:
    machines = {machine.name: machine for machine in shop.machines.all()}
    bills = {bill.name: bill for bill in shop.fixed}
    return {"powders": shop.powders, "items": items, "machines": machines, "bills": bills}


def _row(desk: Desk, sheet: str, key: str, record: Any, before: Any) -> Row:
    cells = {
        spec.name: cell(spec.write(record, desk.tongue), spec.write(before, desk.tongue) if before else "")
        for spec in _SPECS[sheet]
    }
    if sheet == "machines":
        cells["hour"] = Cell(desk.words.money(record.hour_rate(desk.shop.policy.interest)))
    else:
        cells["remove"] = Cell("remove")
    return Row(key, record.title if sheet == "items" else key, cells)


def edit_shop(desk: Desk, sheet: str, key: str, column: str, given: str) -> None:
    """Take what was typed in a row and column of one of these tabs; ``add`` and ``remove`` are buttons.

    Raises
    ------
    Wrong
        What is accepted.
    """
    if column == "add":
        settings.put(desk, *settings.fresh(desk, _KINDS[sheet]))
        return
    once = (kind for kind, machine in desk.shop.machines if getattr(machine, "name", "") == key)
    thing = Thing(_KINDS.get(sheet) or next(once, "oven"), key)
    if column == "remove":
        settings.put(desk, thing, None)
        return
    spec = next(spec for spec in _SPECS[sheet] if spec.name == column)
    value = spec.read(settings.record_of(desk, thing), given, desk)
    changed_thing(desk, thing, f"{thing.key}.{spec.place or column}", value)
