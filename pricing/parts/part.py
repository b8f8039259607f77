"""One part as the customer brings it: what drives its cost, and what forbids it."""

from typing import Annotated, Literal, get_args

from pydantic import model_validator

from pricing.basis.errors import BadInput, not_known
from pricing.basis.facts import fact
from pricing.basis.records import Name, Quantity, Record, Share, refuse

Material = Literal["mild steel", "stainless steel", "cast iron", "aluminium", "zinc", "brass", "copper"]
OldCoating = Literal["none", "paint", "powder", "plating"]
EdgeQuality = Literal["sound", "cut", "rough"]
Surface = Literal["raw", "clean", "scale"]
StripBy = Literal["", "chemical", "blast", "burn_off", "bought_in"]

Metres = Annotated[float, Quantity("m", ranged=True)]
_Millimetres = Annotated[float, Quantity("mm", above=0.0, at_most=50_000.0)]
Count = Annotated[int, Quantity("whole", at_most=100_000, ranged=True)]
Worth = Annotated[float, Quantity("money", at_most=1e7, bare=True)]
"""Money in the shop's currency; files may write its code behind."""


class Part(Record):
    """A part, one piece of it.

    Areas are all faces that get coated; ``edge`` counts every arris to sand; ``line`` is the border of
    the two colours; a spot is a nook that needs a swab; ``thickness`` is the heaviest section, which
    decides how long the oven takes.

    A ``raw`` surface is blasted as usual, ``scale`` longer, ``clean`` not at all unless an old coating comes off.
    ``bake_out`` sends metal that is no casting into the outgas bake (galvanised, oily, repaired); a scar is a spot
    such as curb rash that is ground out and blended, ``repair`` an old weld or filler fillet to be dressed.
    ``earlier_visits`` are oven visits that the part has behind it; ``value`` is what it is worth when it
    cannot be coated again, in the shop's currency.
    """

    name: Name
    material: Material
    thickness_mm: Annotated[float, Quantity("mm", above=0.0, at_most=500.0)]
    mass_kg: Annotated[float, Quantity("kg", above=0.0, at_most=20_000.0, ranged=True)]
    area_m2: Annotated[float, Quantity("m**2", above=0.0, at_most=1_000.0, ranged=True)]
    edge_m: Metres = 0.0
    line_m: Metres = 0.0
    spots: Count = 0
    plugs: Count = 0
    width_mm: _Millimetres
    height_mm: _Millimetres
    depth_mm: _Millimetres
    second_share: Share = 1.0
    casting: bool = False
    old_coating: OldCoating = "none"
    strip_by: StripBy = ""
    surface: Surface = "raw"
    edge_quality: EdgeQuality = "sound"
    apart: bool = False
    heat_treated: bool = False
    safety_critical: bool = False
    closed_volume: bool = False
    bake_out: bool = False
    scars: Count = 0
    repair_m: Metres = 0.0
    earlier_visits: Annotated[int, Quantity("whole", at_most=100_000)] = 0
    value: Worth = 0.0

    @model_validator(mode="after")
    def _makes_sense(self) -> "Part":
        if self.heat_treated and self.strip_by == "burn_off":
            accepts = "another way to strip heat-treated metal than burn_off"
            raise refuse(accepts, "A burn-off oven destroys the temper; use chemical, blast or bought_in.")
        if self.casting and self.material == "mild steel":
            raise refuse("a casting of another material than mild steel", "Write cast iron, aluminium or zinc.")
        return self

    @property
    def baked(self) -> bool:
        """Whether gas is baked out of it before the first coat."""
        return self.casting or self.bake_out

    @property
    def blasted(self) -> bool:
        """Whether it is blasted: clean bare metal is not."""
        return self.surface != "clean" or self.old_coating != "none"

    @property
    def guarded(self) -> bool:
        """Whether the number of oven visits has a limit: temper or a life hangs on the part."""
        return self.safety_critical or (self.heat_treated and self.material == "aluminium")


def density_kg_per_m3(material: str) -> float:
    """Work out the density of a material of the list, from ``data/facts.csv``; another one is refused. [kg/m³]

    >>> density_kg_per_m3("mild steel")
    7850.0
    """
    if material not in get_args(Material):
        raise BadInput("the part", [not_known("material", material, get_args(Material))])
    return fact(f"{metal(material)}.density", "kg/m**3")


def metal(material: str) -> str:
    """Write the name under which ``data/facts.csv`` keeps a material.

    >>> metal("mild steel")
    'steel'
    """
    return {"mild steel": "steel", "stainless steel": "stainless"}.get(material, material.replace(" ", "_"))


ANY_PART = Part(
    name="any", material="mild steel", thickness_mm=1, mass_kg=1, area_m2=1, width_mm=1, height_mm=1, depth_mm=1
)
"""Stands in where a part could not be read, so that what else is wrong is told too."""
