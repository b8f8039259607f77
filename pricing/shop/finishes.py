"""Finishes as data: which coats in which order, how the line is made, what can go wrong.

A new finish is a new table in ``finishes.toml``, not new code.
"""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from pricing.basis.errors import gathered, told_at
from pricing.basis.files import read_toml
from pricing.basis.records import Name, Quantity, Record, read_record, refuse

FinishLine = Literal["none", "wiped", "masked"]


class Coat(Record):
    """One coat: which of the job's powders, on which area, how it is cured after.

    ``over`` is ``all`` (every face that is coated) or ``second`` (the area of the second colour). ``line`` says how the
    border of this coat's colour is made: wiped off while it is powder, taped before it is sprayed, or not at all.
    """

    powder: Annotated[int, Quantity("whole", at_least=1, at_most=9)]
    over: Literal["all", "second"] = "all"
    cure: Literal["none", "partial", "full"]
    line: FinishLine = "none"


class Finish(Record):
    """A finish of the price list."""

    title: Name
    coats: Annotated[tuple[Coat, ...], Field(min_length=1, max_length=9)]
    rejects: str
    note: str = ""

    @model_validator(mode="before")
    @classmethod
    def _line_of_the_finish(cls, data: Any) -> Any:
        """A file may say the line once for a finish: then it is that of the second coat."""
        if not isinstance(data, Mapping) or "line" not in data:
            return data
        table = dict(data)
        line, coats = table.pop("line"), list(table.get("coats", ()))
        if line != "none" and len(coats) < 2:
            raise refuse("two coats or more where a line is made", "Add the second coat, or set line = 'none'.")
        if len(coats) > 1 and isinstance(coats[1], Mapping):
            coats[1] = {"line": line, **coats[1]}
        return table | {"coats": coats}

    @model_validator(mode="after")
    def _makes_sense(self) -> "Finish":
        if self.coats[-1].cure != "full":
            raise refuse("a last coat with cure = 'full'", "The part leaves the shop fully cured.")
        for number, coat in enumerate(self.coats, 1):
            if coat.line != "none":
                _can_be(number, coat, self.coats[: number - 1])
        return self

    @property
    def line(self) -> FinishLine:
        """How its lines are made: wiped where one is wiped, else masked where one is."""
        ways = {coat.line for coat in self.coats}
        return "wiped" if "wiped" in ways else "masked" if "masked" in ways else "none"

    def lines(self, way: FinishLine) -> tuple[int, ...]:
        """Work out the numbers of the coats whose line is made so, from 1."""
        return tuple(number for number, coat in enumerate(self.coats, 1) if coat.line == way)

    @property
    def colours(self) -> int:
        """How many powders the job must name."""
        return max(coat.powder for coat in self.coats)


def _can_be(number: int, coat: Coat, under: Sequence[Coat]) -> None:
    """Refuse a line that cannot exist: nothing under it, nothing that it borders on, or a coat that would come off."""
    here = f"coat {number}"
    if not under:
        raise refuse(
            f"no line in {here}", "The first coat has no other colour under it; give the line to a later coat."
        )
    below = under[-1]
    if below.powder == coat.powder:
        raise refuse(f"another powder in {here} than in the coat under its line", "One colour makes no line.")
    if coat.over != "second":
        accepts = f"over = 'second' for {here}, which has a line"
        raise refuse(accepts, "A coat over every face covers the colour it should border on.")
    if coat.line == "wiped" and below.cure == "none":
        mend = f"Set the cure of coat {number - 1} to 'partial'."
        raise refuse(f"a coat under {here} that is cured before the line is wiped", mend)
    if coat.line == "masked" and below.cure != "full":
        raise refuse(
            f"a coat under {here} with cure = 'full' before it is masked", "Tape drags powder that is not cured."
        )


def read_finishes(path: Path) -> dict[str, Finish]:
    """Read ``finishes.toml`` by key; every bad finish of the file is refused at once."""
    found: dict[str, Finish] = {}
    with gathered(path) as bad:
        for key, table in read_toml(path).items():
            with told_at(f"{key}.", bad):
                found[key] = read_record(Finish, table, str(path))
    return found
