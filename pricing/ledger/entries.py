"""What can be written into the ledger: one record for each kind of fact.

A fact is never changed. A correction is a new row that names the one it replaces; striking out is a
correction too. Minutes are minutes at work: pauses are left out, and the rest allowance of the
quote comes on top of them.
"""

from datetime import date
from typing import Annotated, Any, Literal

from pydantic import Field, ValidationInfo, field_validator

from pricing.basis.records import Name, Quantity, Record, SomeShare
from pricing.ledger.fields import KnownStep, LoggedMoney, LoggedWords, Minutes, Pieces, accepted_entry, problems_of_step


class Entry(Record):
    """What every fact has: the job it belongs to, and the day."""

    job: Name
    on: date
    note: LoggedWords = ""


class Quoted(Entry):
    """A quote as it was given: price, full cost, minutes by step, and all that it was made of."""

    finish: Name
    parts: Pieces = 1
    price: LoggedMoney
    cost: LoggedMoney
    currency: Annotated[str, Field(pattern="^[A-Z]{3}$")]
    version: LoggedWords = ""
    minutes: dict[str, float] = Field(default_factory=dict)
    sheet: dict[str, Any] = Field(default_factory=dict)


class Outcome(Entry):
    """What became of a quote."""

    result: Literal["won", "lost"]
    price_paid: Annotated[float, Quantity("money")] | None = None


class Done(Entry):
    """A job that left the shop: what it was, for the rates of rework."""

    finish: Name
    substrate: Literal["wrought", "casting"] = "wrought"
    parts: Pieces
    wiped_parts: Annotated[int, Quantity("whole")] = 0


class Took(Entry):
    """Minutes at work of one step of a job, with the amounts that were worked on."""

    step: KnownStep
    minutes: Minutes
    amounts: dict[str, float] = Field(default_factory=dict)
    worker: LoggedWords = ""
    how: Literal["stopwatch", "by hand", "imported"] = "by hand"
    confirmed: bool = False

    @field_validator("amounts")
    @classmethod
    def _driven(cls, amounts: dict[str, float], info: ValidationInfo) -> dict[str, float]:
        step = info.data.get("step")
        return accepted_entry(amounts, problems_of_step(step, amounts) if step else [])


class Load(Entry):
    """A load of an oven; ``job`` names the job that ruled it, ``jobs`` how many shared it, ``fill`` how full it was."""

    oven: Name
    cure: Literal["outgas", "partial", "full", "burn off"]
    minutes: Minutes
    mass_kg: Annotated[float, Quantity("kg")] | None = None
    peak_degC: Annotated[float, Quantity("degC", at_most=500.0)] | None = None
    jobs: Annotated[int, Quantity("whole", at_least=1, at_most=1000)] | None = None
    fill: SomeShare | None = None
    set_degC: Annotated[float, Quantity("degC", at_most=600.0)] | None = None


class Meter(Record):
    """A reading of a meter."""

    meter: Name
    on: date
    reading: Annotated[float, Quantity("number")]
    unit: Literal["kWh", "m3"]
    carrier: Literal["electricity", "gas"]
    note: LoggedWords = ""


class Weighed(Entry):
    """Powder that a job took, weighed before and after; film by the gauge, and what the hopper could not feed."""

    powder: Name
    used_kg: Annotated[float, Quantity("kg", above=0.0, at_most=10_000.0)]
    coated_m2: Annotated[float, Quantity("m**2")] | None = None
    film_um: Annotated[float, Quantity("um", above=0.0, at_most=2000.0)] | None = None
    left_kg: Annotated[float, Quantity("kg", at_most=1000.0)] | None = None


class Packed(Record):
    """Packs of a powder that were opened, and what was thrown away of them in the end."""

    powder: Name
    on: date
    opened: Annotated[int, Quantity("whole", at_most=100_000)] = 0
    thrown_kg: Annotated[float, Quantity("kg", at_most=100_000.0)] = 0.0
    note: LoggedWords = ""


class Redone(Entry):
    """Work that was done again: parts, where it was found, and why."""

    parts: Pieces
    found: Literal["before cure", "after cure"]
    cause: Literal[
        "thin film", "dirt", "fisheyes", "pinholes", "colour", "line bled", "line ragged", "handling", "cure", "other"
    ]
