"""The form of a job: its fields by kind of part, and the job that they describe."""

from collections.abc import Mapping
from typing import Any

from pydantic import ValidationError

from pricing.basis.errors import BadInput
from pricing.basis.records import problems
from pricing.basis.tongue import Tongue
from pricing.parts.job import Job, Lot
from pricing.parts.part import Part
from pricing.prices.compare import two_tone_finishes
from pricing.screens.form import Plain
from pricing.screens.job_file import FLAGS, WORDS, PartSource, begin_options
from pricing.shop.shop import Shop
from pricing.show.desk import Desk
from pricing.show.fields import CheckField, ChoiceField, Field, WordsField
from pricing.show.open_fields import CountField, TextField
from pricing.show.record_fields import field_places, named_field

_FIRST = ("area_m2", "line_m", "edge_m", "edge_quality", "old_coating")
_SHOWN = tuple(name for name in Part.model_fields if named_field(Part, name).shown_as != "hidden")


def kinds_of(job: Job) -> dict[str, str]:
    """Collect the kinds of parts of a job, by their number."""
    return {f"{at}": f"{lot.quantity} × {lot.part.name}" for at, lot in enumerate(job.lots)}


def with_kind(job: Job, at: int, quantity: int, changes: Mapping[str, Any]) -> Job:
    """Return a job with one of its kinds of parts, from 0, changed: how many are sold, and fields of the part.

    Raises
    ------
    BadInput
        It is no such part.
    """
    lot = job.lots[at]
    try:
        part = Part.model_validate({**dict(lot.part), **changes})
    except ValidationError as why:
        raise BadInput(job.title, problems(Part, why)) from None
    lots = (*job.lots[:at], lot.model_copy(update={"part": part, "quantity": quantity}), *job.lots[at + 1 :])
    return job.model_copy(update={"lots": lots})


def finish_ticked(desk: Desk, job: Job, way: str = "") -> Job:
    """Return the job in two colours: in the finish ``way``, else the job's own, its item's, or the shop's first."""
    ways, item = two_tone_finishes(desk.shop), job.lots[0].item
    asked = [key for key in (way, job.finish, item.two_tone if item else "") if key in ways]
    finish = (asked or list(ways))[0]
    wanted = desk.shop.finishes[finish].colours
    spare = dict.fromkeys([*job.powders, *(item.powders if item else ()), *desk.shop.powders])
    return job.model_copy(update={"finish": finish, "powders": tuple(spare)[: max(wanted, len(set(job.powders)))]})


def sold_words(lot: Lot) -> str:
    """Ask how many, in what the part is sold by."""
    if lot.per_unit > 1:
        return f"How many {lot.sold_by}s of {lot.per_unit}"
    return "How many pieces" if lot.sold_by == "each" else f"How many {lot.sold_by}s"


def job_entries(
    desk: Desk, job: Job, begun: str, drawn: PartSource | None = None, *, at: int = 0
) -> list[Field | Plain]:
    """Collect the fields of a job: what it has begun from, what was chosen for that, and one of its kinds of parts."""
    shop, tongue = desk.shop, desk.tongue
    finishes = {key: finish.title for key, finish in shop.finishes.items()}
    powders = {name: name for name in shop.powders}
    entries: list[Field | Plain] = [
        ChoiceField("begun", "Start from", begun, begin_options(desk, begun)),
        *(drawn.entries(desk) if drawn else ()),
        ChoiceField("finish", "Finish", job.finish, finishes),
    ]
    wanted = shop.finishes[job.finish].colours
    spare = [*job.powders, *powders]
    for place, powder in enumerate(spare[:wanted]):
        label = "Powder" if wanted == 1 else f"Powder {place + 1}"
        entries.append(ChoiceField(f"powder.{place}", label, powder, powders))
        own = named_field(Job, "own_powders").label
        entries.append(CheckField(f"own.{place}", f"{own} it", powder in job.own_powders))
    if len(job.lots) > 1:
        entries.append(ChoiceField("kind", "Kind of part", f"{at}", kinds_of(job)))
    items = {"": "none", **{key: item.title for key, item in desk.items.items()}}
    return [
        *entries,
        *_part_entries(job.lots[at], tongue),
        Plain("more", f"Kinds of parts ({len(job.lots)})"),
        ChoiceField("another", "Add another kind", "", items),
        Plain("button", "Take this kind off", "off"),
        Plain("end"),
        Plain("more", "About the job"),
        WordsField("title", "Called", job.title),
        *(CheckField(name, named_field(Job, name).label, getattr(job, name)) for name in _flags(shop)),
        *(TextField(name, named_field(Job, name).label, getattr(job, name)) for name in WORDS),
        Plain("end"),
    ]


def _flags(shop: Shop) -> list[str]:
    """Write what is ticked of a job; the trade's list only where there is one."""
    return [name for name in FLAGS if name != "trade" or shop.policy.trade]


def _part_entries(lot: Lot, tongue: Tongue) -> list[Field | Plain]:
    fields = {str(place.at[0]): place.field for place in field_places(lot.part, "", tongue) if place.field}
    return [
        CountField("quantity", sold_words(lot), lot.quantity, tongue, least=1, most=5000),
        *(fields.pop(name) for name in _FIRST),
        Plain("more", "More about the part"),
        *fields.values(),
        Plain("end"),
    ]


def job_of_fields(job: Job, values: dict[str, Any], at: int = 0) -> Job:
    """Return the job as the values of its fields describe it, one of its kinds of parts among them.

    Raises
    ------
    BadInput
        It is no such job.
    """
    powders = tuple(values[key] for key in sorted(values) if key.startswith("powder."))
    job = with_kind(job, at, values["quantity"], {name: values[name] for name in _SHOWN})
    try:
        changes = {name: values[name] for name in ("title", "finish", *FLAGS, *WORDS) if name in values}
        own = tuple(dict.fromkeys(name for place, name in enumerate(powders) if values.get(f"own.{place}")))
        return Job.model_validate({**dict(job), **changes, "powders": powders, "own_powders": own})
    except ValidationError as why:
        raise BadInput(job.title, problems(Job, why)) from None
