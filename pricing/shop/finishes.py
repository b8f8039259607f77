"""Finishes as data: which coats in which order, how the line is made, what can go wrong.

A new finish is a new table in ``finishes.toml``, not new code.

Room     shop. Imports basis.
"""

from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field, model_validator

from pricing.basis.errors import BadInput, Problem
from pricing.basis.files import read_toml
from pricing.basis.records import Name, Record, read_record, refuse

Line = Literal["none", "wiped", "masked"]


class Coat(Record):
    """One coat: which of the job's powders, on which area, how it is cured after.

    ``over`` is ``all`` (every face that is coated) or ``second`` (the area of the second colour).
    """

    powder: Annotated[int, Field(ge=1, le=9)]
    over: Literal["all", "second"] = "all"
    cure: Literal["none", "partial", "full"]


class Finish(Record):
    """A finish of the price list."""

    title: Name
    coats: Annotated[tuple[Coat, ...], Field(min_length=1, max_length=9)]
    line: Line = "none"
    rejects: str
    note: str = ""

    @model_validator(mode="after")
    def _makes_sense(self) -> "Finish":
        if self.coats[-1].cure != "full":
            raise refuse("a last coat with cure = 'full'", "The part leaves the shop fully cured.")
        if self.line != "none" and len(self.coats) < 2:
            raise refuse("two coats or more where a line is made", "Add the second coat, or set line = 'none'.")
        if self.line == "wiped" and self.coats[0].cure == "none":
            raise refuse("a first coat that is cured before the line is wiped", "Set its cure to 'partial'.")
        if self.line == "masked" and self.coats[0].cure != "full":
            raise refuse("a first coat with cure = 'full' before it is masked", "Tape drags powder that is not cured.")
        return self

    @property
    def colours(self) -> int:
        """How many powders the job must name."""
        return max(coat.powder for coat in self.coats)


def read_finishes(path: Path) -> dict[str, Finish]:
    """Read ``finishes.toml`` by key.

    Parameters
    ----------
    path : Path
        The file.

    Raises
    ------
    BadInput
        With every bad finish of the file.
    """
    found: dict[str, Finish] = {}
    bad: list[Problem] = []
    for key, table in read_toml(path).items():
        try:
            found[key] = read_record(Finish, table, str(path))
        except BadInput as why:
            bad += [Problem(f"{key}.{p.field}", p.value, p.accepts, p.mend) for p in why.problems]
    if bad:
        raise BadInput(str(path), bad)
    return found
