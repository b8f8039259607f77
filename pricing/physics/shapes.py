"""Flat shapes: surface, volume and edge length of anything cut from sheet.

Takes    the measures a tape or caliper gives, in mm.
Gives    a ``Shape``: coated area, volume, edges to sand, the face's outline, holes.
"""

from dataclasses import dataclass
from math import ceil, pi

from pricing.basis.checks import nonneg, positive
from pricing.basis.errors import BadInput, Problem

_MM2 = 1e-6  # m² in a mm²
_MM = 1e-3  # m in a mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """What a shape offers to the blaster, the sander and the gun.

    Parameters
    ----------
    area_m2 : float
        All surface that is coated [m²].
    volume_m3 : float
        Volume of metal [m³].
    edge_m : float
        Arrises to sand [m]: both sides of every cut edge.
    line_m : float
        Outline of one face with its holes [m]: the line between two colours when face and
        edge differ.
    holes : float
        Number of holes.

    Examples
    --------
    >>> round(plate(1000, 500, thickness_mm=3).mass_kg(7850), 3)
    11.775
    """

    area_m2: float
    volume_m3: float
    edge_m: float
    line_m: float = 0.0
    holes: float = 0.0

    def mass_kg(self, density_kg_per_m3: float) -> float:
        """Mass [kg] at a density. Source: definition; densities ``*.density`` in ``data/facts.csv``."""
        return self.volume_m3 * density_kg_per_m3


def cut_sheet(face_m2: float, outline_m: float, *, thickness_mm: float, holes: float = 0.0) -> Shape:
    """Any outline cut from sheet: both faces and the cut edge.

    Source: geometry of a right prism.

    Parameters
    ----------
    face_m2 : float
        Area of one face, holes taken off [m²].
    outline_m : float
        Outer outline and the outlines of all holes together [m].
    thickness_mm : float
        Thickness of the sheet [mm].
    holes : float
        Number of holes in it.

    Returns
    -------
    Shape
        Area ``2 face + outline x thickness``; edges are two arrises along the outline.

    Raises
    ------
    BadInput
        A measure is not above 0.

    Examples
    --------
    >>> cut_sheet(0.5, 3.0, thickness_mm=3.0).area_m2
    1.009
    """
    positive("cut sheet", face_m2=face_m2, outline_m=outline_m, thickness_mm=thickness_mm)
    nonneg("cut sheet", holes=holes)
    thickness_m = thickness_mm * _MM
    return Shape(
        area_m2=2.0 * face_m2 + outline_m * thickness_m,
        volume_m3=face_m2 * thickness_m,
        edge_m=2.0 * outline_m,
        line_m=outline_m,
        holes=holes,
    )


def plate(width_mm: float, height_mm: float, *, thickness_mm: float) -> Shape:
    """Flat rectangular plate: area ``2 (ab + bc + ca)``, edges two arrises round the outline.

    Source: geometry of a right prism.

    Parameters
    ----------
    width_mm, height_mm, thickness_mm : float
        Measures of the plate [mm].

    Returns
    -------
    Shape
        Both faces and the four cut edges.

    Raises
    ------
    BadInput
        A measure is not above 0.

    Examples
    --------
    >>> sheet = plate(1000, 500, thickness_mm=3)
    >>> round(sheet.area_m2, 6), sheet.edge_m
    (1.009, 6.0)
    """
    positive("plate", width_mm=width_mm, height_mm=height_mm, thickness_mm=thickness_mm)
    face, outline = width_mm * height_mm * _MM2, 2.0 * (width_mm + height_mm) * _MM
    return cut_sheet(face, outline, thickness_mm=thickness_mm)


def disc(outer_mm: float, *, hole_mm: float = 0.0, thickness_mm: float) -> Shape:
    """Disc, or flat ring when it has a hole.

    Source: geometry of a circle and ring.

    Parameters
    ----------
    outer_mm : float
        Outer diameter [mm].
    hole_mm : float
        Diameter of the hole, 0 for none [mm].
    thickness_mm : float
        Thickness [mm].

    Returns
    -------
    Shape
        Both faces ``π/2 (D² - d²)``, the rim and the hole's wall.

    Raises
    ------
    BadInput
        A measure is not above 0, or the hole is not smaller than the disc.

    Examples
    --------
    >>> round(disc(300, hole_mm=60, thickness_mm=5).edge_m, 3)
    2.262
    """
    positive("disc", outer_mm=outer_mm, thickness_mm=thickness_mm)
    nonneg("disc", hole_mm=hole_mm)
    fits("disc", "hole_mm", hole_mm, outer_mm)
    return cut_sheet(
        pi / 4.0 * (outer_mm * outer_mm - hole_mm * hole_mm) * _MM2,
        pi * (outer_mm + hole_mm) * _MM,
        thickness_mm=thickness_mm,
        holes=float(ceil(hole_mm / outer_mm)),  # 0 without a hole, 1 with one
    )


def drilled(shape: Shape, holes: float, hole_mm: float, *, wall_mm: float, faces: int = 2) -> Shape:
    """Take a number of round holes out of one wall of a shape.

    Source: geometry of a cylinder.

    Parameters
    ----------
    shape : Shape
        Without the holes.
    holes : float
        How many.
    hole_mm : float
        Their diameter [mm].
    wall_mm : float
        Thickness of the wall they go through [mm].
    faces : {1, 2}
        Coated faces of that wall: 1 for a hollow whose inside stays bare.

    Returns
    -------
    Shape
        Each hole takes ``π/4 d²`` off every coated face and adds its wall ``π d t``, and one arris a coated face.

    Raises
    ------
    BadInput
        A measure is not above 0, or the holes are larger than what they are cut into.

    Examples
    --------
    >>> bare = plate(1000, 500, thickness_mm=3)
    >>> round(float(drilled(bare, 4, 20, wall_mm=3).edge_m - bare.edge_m), 4)
    0.5027
    """
    nonneg("holes", holes=holes)
    positive("holes", drill_mm=hole_mm, wall_mm=wall_mm)
    face_m2 = holes * (pi / 4.0) * hole_mm * hole_mm * _MM2
    around_m = holes * pi * hole_mm * _MM
    if faces * face_m2 >= shape.area_m2:
        told = f"{holes:g} of {hole_mm:g} mm"
        raise BadInput("holes", [Problem("holes", told, "smaller together than what they are cut into")])
    return Shape(
        area_m2=shape.area_m2 - faces * face_m2 + around_m * wall_mm * _MM,
        volume_m3=shape.volume_m3 - face_m2 * wall_mm * _MM,
        edge_m=shape.edge_m + faces * around_m,
        line_m=shape.line_m + around_m,
        holes=shape.holes + holes,
    )


def fits(where: str, name: str, value: float, limit: float, *, or_equal: bool = False) -> None:
    """Refuse a measure that does not fit inside another.

    Parameters
    ----------
    where : str
        What is being computed, for the message.
    name : str
        The measure's name.
    value, limit : float
        The measure and what it must stay below.
    or_equal : bool
        Whether the limit itself is accepted.

    Raises
    ------
    BadInput
        The measure reaches its limit.

    Examples
    --------
    >>> fits("disc", "hole_mm", 20.0, 300.0)
    """
    if value > limit or (value == limit and not or_equal):
        accepts = f"{'at most' if or_equal else 'below'} {limit:g}"
        raise BadInput(where, [Problem(name, value, accepts, "Measure it again.")])
