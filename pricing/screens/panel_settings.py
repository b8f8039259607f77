"""All settings, a view of page 1: whatever a file of the shop holds, one thing at a time."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from pricing.basis.records import Record
from pricing.basis.tongue import Tongue, Wrong
from pricing.screens.form import Form, Plain
from pricing.screens.other_money import KEY as MONEY
from pricing.screens.other_money import OtherMoney
from pricing.screens.panel import Panel
from pricing.show import settings
from pricing.show.desk import Desk
from pricing.show.fields import ChoiceField, Field
from pricing.show.record_fields import (
    FieldPlace,
    changed_at,
    field_places,
    grown_record,
    inside_record,
    place_of,
    without,
)
from pricing.show.settings import MANY, MAY_LACK, SETTING_KINDS, Thing

_NONE = ""


def thing_entries(desk: Desk, thing: Thing, record: Record) -> list[Field | Plain]:
    """Collect the fields of a thing and its record, with buttons where a list grows and shrinks."""
    found = list(field_places(record, thing.key, desk.tongue, settings.setting_offers(desk.shop, desk.items)))
    found.sort(key=lambda place: len(place.at) > 1 or place.field is None)  # what has a heading of its own comes last
    return [entry for place in found for entry in _entries(desk, thing, place)]


def _entries(desk: Desk, thing: Thing, place: FieldPlace) -> list[Field | Plain]:
    where = ".".join(map(str, place.at))
    if place.at == ("powders",):
        return list(_powders(desk, thing, place.value))
    if place.field is not None:
        return [place.field]
    if place.many:
        return [Plain("heading", place.label), Plain("button", "One more", f"more:{where}")]
    if isinstance(place.at[-1], int):
        return [Plain("heading", f"Number {place.label}"), Plain("button", "Take it away", f"less:{where}")]
    if place.optional:
        word = "Do without" if place.value is not None else "Make one"
        return [Plain("heading", place.label), Plain("button", word, f"maybe:{where}")]
    return [Plain("heading", place.label)]


def _powders(desk: Desk, thing: Thing, held: tuple[str, ...]) -> list[Field]:
    options = {_NONE: "none", **{name: name for name in desk.shop.powders}}
    words = ("First powder", "Second powder", "Third powder")
    return [
        ChoiceField(
            f"{thing.key}.powders.{at}",
            word,
            held[at] if at < len(held) else _NONE,
            options if at else {name: name for name in desk.shop.powders},
        )
        for at, word in enumerate(words)
    ]


def changed_thing(desk: Desk, thing: Thing, key: str, value: Any) -> Thing:
    """Put a thing with what stands in a field of it now; ``key`` is the field's.

    Raises
    ------
    Wrong
        What is accepted.
    """
    return settings.put(desk, thing, with_field(thing, settings.record_of(desk, thing), key, value, desk.tongue))


def with_field(thing: Thing, record: Any, key: str, value: Any, tongue: Tongue) -> Any:
    """Return the record of a thing with a changed field; an item's part is called what the item is called.

    Raises
    ------
    Wrong
        What is accepted.
    """
    at = place_of(key, thing.key)
    if at[0] == "powders":
        held = list(record.powders)
        held[int(at[1]) : int(at[1]) + 1] = [value] if value else []
        return changed_at(record, ("powders",), tuple(held), tongue)
    new = changed_at(record, at, value, tongue)
    return changed_at(new, ("part", "name"), value, tongue) if thing.kind == "item" and at == ("title",) else new


class ThingPanel(Panel):
    """A view of one thing of the shop out of several, which adds one, does without one, and changes its fields."""

    thing: Thing

    @contextmanager
    def _showing(self, thing: Thing) -> Iterator[None]:
        """Show another thing from before it is put, which draws it; the one before where it cannot be put."""
        before, self.thing = self.thing, thing
        try:
            yield
        except Wrong:
            self.thing = before
            raise

    def _add(self) -> None:
        new, record = settings.fresh(self.desk, self.thing.kind, self.thing.name)
        with self._showing(new):
            settings.put(self.desk, new, record)

    def _drop(self) -> None:
        thing = self.thing
        others = (one for one in settings.things(self.desk, thing.kind) if one.name != thing.name)
        with self._showing(next(others, Thing(thing.kind))):
            settings.put(self.desk, thing, None)

    def _set(self, key: str) -> None:
        thing, value = self.thing, self.form[key].value
        renamed = thing.kind in MANY and key == f"{thing.key}.name"
        with self._showing(Thing(thing.kind, str(value) if renamed else thing.name)):
            changed_thing(self.desk, thing, key, value)


class SettingsPanel(ThingPanel):
    """The view of all settings."""

    about = "All settings"

    def _begin(self) -> None:
        self.thing, self.money = Thing("policy"), OtherMoney(self.desk)

    def _laid_out(self) -> Form:
        self.form.add_class("pp-wide")
        return self.form

    def _entries(self) -> list[Field | Plain]:
        desk, thing = self.desk, self.thing
        entries: list[Field | Plain] = [ChoiceField("kind", "Set", thing.kind, SETTING_KINDS)]
        if thing.kind in MANY:
            options = {one.name: one.title for one in settings.things(desk, thing.kind)}
            entries.append(ChoiceField("which", "Which", thing.name, options))
        record = settings.record_of(desk, thing)
        if thing.kind in MANY or (thing.kind in MAY_LACK and record is None):
            entries.append(Plain("button", "Add one" if thing.kind != "item" else "One more like it", "add"))
        if thing.kind in MANY or (thing.kind in MAY_LACK and record is not None):
            entries.append(Plain("button", "Do without it", "drop"))
        entries.append(Plain("note", "", "said"))
        if thing.kind == "front":
            entries += self.money.entries()
        return [*entries, *(thing_entries(desk, thing, record) if record is not None else ())]

    def open(self, thing: Thing) -> None:
        """Show a thing."""
        self.thing = thing
        self._say("")
        self.show()

    def _refuse(self, key: str, text: str) -> None:
        super()._refuse("" if key in {"kind", "which"} else key, text)

    def _take(self, key: str) -> None:
        desk, thing = self.desk, self.thing
        if key == "kind":
            self.open(settings.things(desk, self.form["kind"].value)[0])
        elif key == "which":
            self.open(Thing(thing.kind, self.form["which"].value))
        elif key == "add":
            self._add()
            copied = thing.kind not in {"bill", "source"}
            self._say("It begins with the numbers of another: go through them." if copied else "")
        elif key == "drop":
            self._drop()
        elif key.startswith(MONEY):
            if self.money.take(self.form, key):
                self.show()
        elif key.startswith(("more:", "less:", "maybe:")):
            self._grow(*key.split(":", 1))
        elif key in self.form:
            self._set(key)

    def _grow(self, what: str, where: str) -> None:
        desk, thing = self.desk, self.thing
        record, at = settings.record_of(desk, thing), place_of(f"{thing.key}.{where}", thing.key)
        if what == "more" and not inside_record(record, at):
            new = changed_at(record, at, settings.first_orders(desk), tongue=desk.tongue)
        elif what == "more":
            new = grown_record(record, at, desk.tongue)
        elif what == "less":
            new = without(record, at, desk.tongue)
        elif inside_record(record, at) is not None:
            new = changed_at(record, at, None, desk.tongue)
        else:
            new = settings.with_trade(record)
        settings.put(desk, thing, new)

    def show(self) -> None:
        """Send everything that changed."""
        names = [one.name for one in settings.things(self.desk, self.thing.kind)]
        if self.thing.name not in names:
            self.thing = Thing(self.thing.kind, names[0])
        self.form.renew(self._entries())
        self.money.tell(self.form)
