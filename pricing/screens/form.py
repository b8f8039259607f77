"""A form: fields, drawn and kept in step with what stands in them."""

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import anywidget
import traitlets

from pricing.basis.errors import BadInput
from pricing.show.fields import Field
from pricing.show.look import script, style_sheet


def first_words(why: BadInput, *, accepts: bool = True) -> str:
    """Write the first problem in one sentence or two, with what is accepted or without."""
    first = why.problems[0]
    must = f"; it must be {first.accepts}" if accepts else ""
    return f"{first.field} is {first.value}{must}. {first.mend}".rstrip()


@dataclass(frozen=True, slots=True)
class Plain:
    """What stands between fields.

    Its kind is a ``heading``, a fold ``more``, its ``end``, a ``note``, a ``button``, a ``clock``,
    or the switch of the tablet's view, ``alone``.
    """

    kind: str
    label: str = ""
    key: str = ""

    def spec(self) -> dict[str, Any]:
        """Describe it as the browser reads it."""
        return {"key": self.key, "label": self.label, "kind": self.kind}


class Form(anywidget.AnyWidget):
    """Fields in a column.

    Parameters
    ----------
    entries : sequence of Field or Plain
        In the order they stand.
    about : str
        What the form is, for those who hear it.

    Examples
    --------
    >>> from pricing.basis.tongue import Tongue
    >>> from pricing.show.fields import QuantityField
    >>> form = Form([QuantityField("line", "Line", 2.7, "m", Tongue("EUR", "metric"))], about="The job")
    >>> form.put("line", "12 ft")
    >>> round(form["line"].value, 4), form["line"].text
    (3.6576, '3.658 m')
    >>> form.put("line", "12 kg")
    >>> form["line"].message, round(form["line"].value, 4)
    ('kg is not a unit of this kind. Write it like 3.658 m.', 3.6576)
    """

    fields: Any = traitlets.List().tag(sync=True)
    state = traitlets.Dict().tag(sync=True)
    edit = traitlets.Dict().tag(sync=True)
    heard = traitlets.Int().tag(sync=True)
    about = traitlets.Unicode().tag(sync=True)

    _esm = script("form.js", __file__)

    def __init__(self, entries: Sequence[Field | Plain], *, about: str) -> None:
        self._told: list[Callable[[str], None]] = []
        self._extra: dict[str, dict[str, Any]] = {}
        self._fields: dict[str, Field] = {}
        self._lay(entries)
        super().__init__(fields=[entry.spec() for entry in entries], about=about)
        self.refresh()
        self.observe(self._edited, "edit")

    def _edited(self, change: Any) -> None:
        """Take what waits in the browser's queue, each edit once and in its order."""
        for one in change["new"].get("queue", ()):
            if one["n"] > self.heard:
                with self.hold_sync():  # that it was heard travels with the answer, after the charts
                    self.heard = one["n"]
                    self.put(one["key"], one["value"], live=bool(one.get("live")))

    @property
    def _css(self) -> str:
        return style_sheet()

    def _lay(self, entries: Sequence[Field | Plain]) -> None:
        self._fields = {entry.key: entry for entry in entries if isinstance(entry, Field)}
        self._first = {key: field.value for key, field in self._fields.items()}

    def __getitem__(self, key: str) -> Field:
        """Return a field by its key."""
        return self._fields[key]

    def __contains__(self, key: object) -> bool:
        """Tell whether there is such a field."""
        return key in self._fields

    def __iter__(self) -> Iterator[Field]:
        """Go through the fields."""
        return iter(self._fields.values())

    def lay(self, entries: Sequence[Field | Plain]) -> None:
        """Put other fields in their place."""
        self._lay(entries)
        with self.hold_sync():
            self.fields = [entry.spec() for entry in entries]
            self.refresh()

    def lay_anew(self, entries: Sequence[Field | Plain]) -> None:
        """Put the same fields in their place for a shop that has changed; what was given in them stays."""
        given = {key: field.value for key, field in self._fields.items() if field.value != self._first[key]}
        if [entry.spec() for entry in entries] == self.fields:
            self._lay(entries)  # nothing to draw again
        else:
            self.lay(entries)
        for key, value in given.items():
            if key in self and value in getattr(self[key], "options", (value,)):  # an oven may be gone
                self[key].value = value
        self.refresh()

    def renew(self, entries: Sequence[Field | Plain], *, keep: Collection[str] = ()) -> None:
        """Put fields in their place whose values are the shop's own: what is wrong in one stays until it is mended.

        Those to ``keep`` are no part of the shop: what was given in them stays.
        """
        same = [entry.spec() for entry in entries] == self.fields
        old = self._fields
        if same:
            self._lay(entries)
        else:
            self.lay(entries)
        for key, field in old.items():
            if key in self and (key in keep or (same and field.message)):
                self._fields[key] = field
        self.refresh()

    def put(self, key: str, given: Any, *, live: bool = False) -> None:
        """Take what was typed, chosen, moved or pressed; tells listeners when something good is new.

        It is a text, the place of a slider or a tick; ``live`` where somebody is still typing.
        """
        field = self._fields.get(key)
        news = field.give(given, live=live) if field else bool(key)
        with self.hold_sync():  # charts travel first, then what stands in the fields, once
            if news:
                for heard in self._told:
                    heard(key)
            self.refresh()

    def on_change(self, heard: Callable[[str], None]) -> None:
        """Say who hears of a new good value or a pressed button, by key."""
        self._told.append(heard)

    def tell(self, key: str, **state: Any) -> None:
        """Set what a note says (``text``), whether a button rests (``off``), a field hides (``hidden``)."""
        self._extra[key] = {**self._extra.get(key, {}), **state}
        self.refresh()

    def wrong(self, key: str, text: str) -> None:
        """Say beside a field what is wrong with it."""
        self[key].message = text
        self.refresh()

    def refresh(self) -> None:
        """Send what stands in the fields."""
        state: dict[str, Any] = {key: dict(extra) for key, extra in self._extra.items()}
        for key, field in self._fields.items():
            state[key] = state.get(key, {}) | field.state()
        self.state = state

    @property
    def messages(self) -> dict[str, str]:
        """What is wrong now, by field."""
        return {key: field.message for key, field in self._fields.items() if field.message}
