"""A part from its shape and a tape on the job's page and for the list: which shape, its measures, its sketch."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from pricing.basis.errors import BadInput
from pricing.basis.tongue import Tongue
from pricing.basis.typed import read
from pricing.parts.job import Job
from pricing.parts.shape_sketch import sketch
from pricing.parts.shaped import Shaped, asked, titles
from pricing.screens.form import Plain
from pricing.screens.marked import job_with, length_field, metal_field
from pricing.screens.sketch import Sketch
from pricing.show.desk import Desk
from pricing.show.fields import CheckField, Field, Whole

_MOST_MM = 50_000.0


@dataclass(frozen=True)
class Taped:
    """A shape, and what was measured of it.

    Parameters
    ----------
    kind : str
        One of the shapes.
    tongue : Tongue
        How the shop writes lengths.
    metal : str
        Material of the part.
    upright : bool
        Whether it hangs with its longer side down.
    measures : mapping of str to float
        What was typed, over what the form begins with. [mm, or a number]
    """

    kind: str
    tongue: Tongue
    metal: str = "mild steel"
    upright: bool = False
    measures: Mapping[str, float] = field(default_factory=dict)

    @property
    def whole(self) -> Mapping[str, float]:
        """All measures: as typed, else as the form begins."""
        begun = {a.name: float(a.start) if a.counted else read(a.start, "mm") for a in asked()[self.kind]}
        return begun | dict(self.measures)

    def shaped(self) -> Shaped:
        """Work the shape out; raises `BadInput` where a measure is impossible."""
        return Shaped(self.kind, self.whole, upright=self.upright)

    def job(self, desk: Desk, like: Job | None = None) -> Job:
        """Make a job of it, or put it into a job that was begun, whose part keeps what no tape tells."""
        if like is None:
            part = self.shaped().part(titles()[self.kind].split(",")[0], self.metal)
        else:
            told = {**self.shaped().fields(self.metal), "material": self.metal}
            part = like.lots[0].part.model_copy(update=told)
        return job_with(desk, part, part.name, 1, like)

    def after(self, key: str, value: Any) -> "Taped":
        """Return it after a field of it has changed: ``drawn.metal``, ``drawn.upright``, or a measure."""
        name = key.removeprefix("drawn.")
        if name in {"metal", "upright"}:
            return replace(self, **{name: value})
        return replace(self, measures={**self.measures, name: float(value)})

    def entries(self, desk: Desk) -> list[Field | Plain]:
        """Collect its fields: each measure, metal, how it hangs."""
        whole, fields = self.whole, list[Field | Plain]()
        for one in asked()[self.kind]:
            value = whole[one.name]
            if one.counted:
                fields.append(Whole(f"drawn.{one.name}", one.label, int(value), desk.tongue, most=10_000))
            else:
                fields.append(length_field(one.name, one.label, value, desk.tongue, most=_MOST_MM))
        wide, high, _ = Shaped(self.kind, whole).size_mm if self._sound() else (0.0, 0.0, 0.0)
        fields.append(metal_field(self.metal))
        if wide > high:
            fields.append(CheckField("drawn.upright", "Hangs upright, long side down", self.upright))
        return [*fields, Plain("note", "", "drawn.said")]

    def _sound(self) -> bool:
        try:
            self.shaped()
        except BadInput:
            return False
        return True

    def said(self, _tongue: Tongue) -> str:
        """Say what the shape leaves out, where it is a plain model."""
        told = {
            "wheel": "A plain model: lips and the taper of spokes are left out. Weigh one wheel and write its mass.",
            "box": "A box that is shut all round needs a vent hole before it may go into the oven.",
            "frame": "Tube that is shut all round needs a vent hole before it may go into the oven.",
        }
        return told.get(self.kind, "")

    def marked(self, done: Mapping[str, Any]) -> "Taped":  # noqa: ARG002  its sketch has nothing to click
        """Return it as it is: a click says nothing here."""
        return self

    def sketch(self, picture: Sketch) -> None:
        """Show its sketch with the dimensions; nothing where a measure is impossible."""
        if self._sound():
            picture.show_plan(sketch(self.shaped(), lambda mm: self.tongue.show(mm, "mm")))
        else:
            picture.clear()
