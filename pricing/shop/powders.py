"""Coating powders: what a kilogram costs, covers and needs to cure."""

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from pricing.basis.errors import Problem, gathered, told_at
from pricing.basis.facts import fact
from pricing.basis.files import read_table
from pricing.basis.records import Name, Quantity, Record, read_record, refuse
from pricing.basis.tongue import Tongue

Way = Literal["stocked", "passed_on", "shared"]
"""How a colour is bought: kept in stock, for the job that pays the pack, or for the job and those expected after it."""


WAYS: Mapping[Way, str] = {
    "stocked": "kept in stock",
    "passed_on": "for the job, which pays the pack",
    "shared": "for the job and those expected after it",
}
"""The ways in words."""


class Powder(Record):
    """One coating powder as its sheet and the supplier's price list give it.

    ``uses`` says how often a year the colour is wanted and ``each`` how much of it a use takes; ``keeps`` is its
    shelf life, 0 for that of ``data/facts.csv``.
    """

    name: Name
    kind: Literal["solid", "metallic", "clear", "texture"]
    density_g_per_cm3: Annotated[float, Quantity("g/cm**3", above=0.5, at_most=4.0)]
    film_low_um: Annotated[float, Quantity("um", above=0.0, at_most=1000.0)] = Field(alias="film_low")
    film_likely_um: Annotated[float, Quantity("um", above=0.0, at_most=1000.0)] = Field(alias="film_likely")
    film_high_um: Annotated[float, Quantity("um", above=0.0, at_most=1000.0)] = Field(alias="film_high")
    price_per_kg: Annotated[float, Quantity("money/kg")]
    pack_kg: Annotated[float, Quantity("kg", above=0.0)]
    way: Way = "stocked"
    uses: Annotated[float, Quantity("number", at_most=10_000)] = 0.0
    each_kg: Annotated[float, Quantity("kg")] = 0.0
    keeps_y: Annotated[float, Quantity("year", at_most=20.0)] = 0.0
    cure_degC: Annotated[float, Quantity("degC", above=60.0, at_most=300.0)]
    dwell_min: Annotated[float, Quantity("min", above=0.0, at_most=240.0)]
    source: str
    where: str = ""
    read_on: str
    note: str = ""

    @model_validator(mode="before")
    @classmethod
    def _way_of_older_tables(cls, data: Any) -> Any:
        if not isinstance(data, Mapping) or "leftover" not in data:
            return data
        table = dict(data)
        try:
            share = float(table.pop("leftover"))
        except (TypeError, ValueError):
            raise refuse("a share from 0 to 1 as leftover, or a column 'way' in its place") from None
        return {"way": "stocked" if share >= 1 else "shared" if share > 0 else "passed_on"} | table

    @model_validator(mode="after")
    def _rising_film(self) -> "Powder":
        low, likely, high = self.film_points_um
        if not low <= likely <= high:
            raise refuse("film_low, film_likely and film_high that rise", "Swap them.")
        return self

    @property
    def stocked(self) -> bool:
        """Whether it is kept in stock, so that no job pays for what is left in a pack."""
        return self.way == "stocked"

    @property
    def shelf_y(self) -> float:
        """How long it keeps. [y]"""
        return self.keeps_y or fact("powder.shelf_life", "year")

    @property
    def film_points_um(self) -> tuple[float, float, float]:
        """Low, likely, high. [µm]"""
        return self.film_low_um, self.film_likely_um, self.film_high_um

    @property
    def film_um(self) -> float:
        """Mean of the three points of the film. [µm]"""
        return (self.film_low_um + 4 * self.film_likely_um + self.film_high_um) / 6


POWDER_COLUMNS = tuple(field.alias or name for name, field in Powder.model_fields.items())
POWDER_OPTIONAL = ("way", "uses", "each", "keeps", "leftover")
"""Columns that a table may leave out; ``leftover`` said in older tables what share of a rest is used later."""
POWDER_WANTED = tuple(name for name in POWDER_COLUMNS if name not in POWDER_OPTIONAL)


def read_powders(path: Path, tongue: Tongue) -> dict[str, Powder]:
    """Read ``powders.csv`` by name; every bad row of the table is refused at once."""
    found: dict[str, Powder] = {}
    with gathered(path) as bad:
        for row in read_table(path, POWDER_WANTED, optional=POWDER_OPTIONAL):
            line = f"line {row.pop('#')}: "
            given = {name: text for name, text in row.items() if text or name not in POWDER_OPTIONAL}
            with told_at(line, bad):
                powder = read_record(Powder, given, str(path), tongue)
                if powder.name in found:
                    bad.append(Problem(f"{line}name", powder.name, "there once", "It is there twice; keep one."))
                found[powder.name] = powder
    return found
