"""Flat shapes: surface, volume and edge length of anything cut from sheet.

Takes    the measures a tape or caliper gives, in mm, as floats or arrays (numpy rules).
Gives    a ``Shape``: coated area, volume, edges to sand, the face's outline, holes.
"""

from dataclasses import dataclass
from math import pi

import numpy as np

from pricing.basis.checks import Floats, nonneg, positive
from pricing.basis.errors import BadInput, Problem

_MM2 = 1e-6  # m² in a mm²
_MM = 1e-3  # m in a mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """What a shape offers to the blaster, the sander and the gun; floats or arrays.

    Parameters
    ----------
    area_m2 : float or array
        All surface that is coated [m²].
    volume_m3 : float or array
        Volume of metal [m³].
    edge_m : float or array
        Arrises to sand [m]: both sides of every cut edge.
    line_m : float or array
        Outline of one face with its holes [m]: the line between two colours when face and
        edge differ.
    holes : float or array
        Number of holes.

    Examples
    --------
    >>> round(plate(1000, 500, thickness_mm=3).mass_kg(7850), 3)
    11.775
    """

    area_m2: Floats
    volume_m3: Floats
    edge_m: Floats
    line_m: Floats = 0.0
    holes: Floats = 0.0

    def mass_kg(self, density_kg_per_m3: Floats) -> Floats:
        """Mass [kg] at a density. Source: definition; densities ``*.density`` in ``data/facts.csv``."""
        return self.volume_m3 * density_kg_per_m3


def cut_sheet(face_m2: Floats, outline_m: Floats, *, thickness_mm: Floats, holes: Floats = 0.0) -> Shape:
    """Any outline cut from sheet: both faces and the cut edge.

    Source: geometry of a right prism.

    Parameters
    ----------
    face_m2 : float or array
        Area of one face, holes taken off [m²].
    outline_m : float or array
        Outer outline and the outlines of all holes together [m].
    thickness_mm : float or array
        Thickness of the sheet [mm].
    holes : float or array
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


def plate(width_mm: Floats, height_mm: Floats, *, thickness_mm: Floats) -> Shape:
    """Flat rectangular plate: area ``2 (ab + bc + ca)``, edges two arrises round the outline.

    Source: geometry of a right prism.

    Parameters
    ----------
    width_mm, height_mm, thickness_mm : float or array
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


def disc(outer_mm: Floats, *, hole_mm: Floats = 0.0, thickness_mm: Floats) -> Shape:
    """Disc, or flat ring when it has a hole.

    Source: geometry of a circle and ring.

    Parameters
    ----------
    outer_mm : float or array
        Outer diameter [mm].
    hole_mm : float or array
        Diameter of the hole, 0 for none [mm].
    thickness_mm : float or array
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
        holes=np.ceil(hole_mm / outer_mm),  # 0 without a hole, 1 with one
    )


def drilled(shape: Shape, holes: Floats, hole_mm: Floats, *, wall_mm: Floats, faces: int = 2) -> Shape:
    """Take a number of round holes out of one wall of a shape.

    Source: geometry of a cylinder.

    Parameters
    ----------
    shape : Shape
        Without the holes.
    holes : float or array
        How many.
    hole_mm : float or array
        Their diameter [mm].
    wall_mm : float or array
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
    if np.any(faces * face_m2 >= np.asarray(shape.area_m2)):
        told = f"{float(np.max(np.asarray(holes))):g} of {float(np.max(np.asarray(hole_mm))):g} mm"
        raise BadInput("holes", [Problem("holes", told, "smaller together than what they are cut into")])
    return Shape(
        area_m2=shape.area_m2 - faces * face_m2 + around_m * wall_mm * _MM,
        volume_m3=shape.volume_m3 - face_m2 * wall_mm * _MM,
        edge_m=shape.edge_m + faces * around_m,
        line_m=shape.line_m + around_m,
        holes=shape.holes + holes,
    )


def fits(where: str, name: str, value: Floats, limit: Floats, *, or_equal: bool = False) -> None:
    """Refuse a measure that does not fit inside another; the first misfit is told.

    Parameters
    ----------
    where : str
        What is being computed, for the message.
    name : str
        The measure's name.
    value, limit : float or array
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
    misfit = (value > limit) if or_equal else (value >= limit)
    if isinstance(misfit, bool):
        if not misfit:
            return
        first = (value, limit)
    else:
        bad = np.asarray(misfit)
        if not bad.any():
            return
        pair = np.broadcast_arrays(np.asarray(value), np.asarray(limit), bad)
        first = (float(pair[0][pair[2]].flat[0]), float(pair[1][pair[2]].flat[0]))
    accepts = f"{'at most' if or_equal else 'below'} {first[1]:g}"
    raise BadInput(where, [Problem(name, first[0], accepts, "Measure it again.")])
