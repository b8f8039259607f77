"""Coating powders: what a kilogram costs, covers and needs to cure.

Room     shop. Imports basis.
"""

from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field, model_validator

from pricing.basis.errors import BadInput, Problem
from pricing.basis.files import read_table
from pricing.basis.records import Name, Quantity, Record, Share, read_record, refuse

POWDER_COLUMNS = (
    "name", "kind", "density", "film_low", "film_likely", "film_high", "price", "pack", "leftover", "cure",
    "dwell", "source", "where", "read_on", "note",
)  # fmt: skip


class Powder(Record):
    """One coating powder as its sheet and the supplier's price list give it."""

    name: Name
    kind: Literal["solid", "metallic", "clear", "texture"]
    density_g_per_cm3: Annotated[float, Quantity("g/cm**3", above=0.5, at_most=4.0)]
    film_low_um: Annotated[float, Quantity("um", above=0.0, at_most=1000.0)] = Field(alias="film_low")
    film_likely_um: Annotated[float, Quantity("um", above=0.0, at_most=1000.0)] = Field(alias="film_likely")
    film_high_um: Annotated[float, Quantity("um", above=0.0, at_most=1000.0)] = Field(alias="film_high")
    price_per_kg: Annotated[float, Quantity("money/kg")]
    pack_kg: Annotated[float, Quantity("kg", above=0.0)]
    leftover: Share
    cure_degC: Annotated[float, Quantity("degC", above=60.0, at_most=300.0)]
    dwell_min: Annotated[float, Quantity("min", above=0.0, at_most=240.0)]
    source: str
    where: str = ""
    read_on: str
    note: str = ""

    @model_validator(mode="after")
    def _rising_film(self) -> "Powder":
        if not self.film_low_um <= self.film_likely_um <= self.film_high_um:
            raise refuse("film_low, film_likely and film_high that rise", "Swap them.")
        return self

    @property
    def film_um(self) -> float:
        """Mean of the three points of the film. [µm]"""
        return (self.film_low_um + 4 * self.film_likely_um + self.film_high_um) / 6


def read_powders(path: Path, currency: str) -> dict[str, Powder]:
    """Read ``powders.csv`` by name.

    Parameters
    ----------
    path : Path
        The table.
    currency : str
        Code of the shop's currency.

    Raises
    ------
    BadInput
        With every bad row of the table.
    """
    found: dict[str, Powder] = {}
    bad: list[Problem] = []
    for row in read_table(path, POWDER_COLUMNS):
        line = row.pop("#")
        try:
            powder = read_record(Powder, row, str(path), currency=currency)
        except BadInput as why:
            bad += [Problem(f"line {line}: {p.field}", p.value, p.accepts, p.mend) for p in why.problems]
            continue
        if powder.name in found:
            bad.append(Problem(f"line {line}: name", powder.name, "there once", "It is there twice; keep one."))
        found[powder.name] = powder
    if bad:
        raise BadInput(str(path), bad)
    return found
