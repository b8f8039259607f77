"""Structural sections and perforated sheet: surface per metre and per square metre.

Takes    section measures in mm.
Gives    a ``Shape`` for lengths, frames and sheets.
Numbers  none in this file: corner factors come in from ``data/facts.csv``.
"""

from math import pi, sin

from pricing.basis.checks import nonneg, positive
from pricing.physics.shapes import Shape, cut_sheet, fits

_CELL = sin(pi / 3.0)  # area of one hole's cell over pitch²


def hollow_section(
    width_mm: float, height_mm: float, *, wall_mm: float, length_mm: float, corner_factor: float
) -> Shape:
    """Square or rectangular hollow section by length, with rounded corners.

    Parameters
    ----------
    width_mm, height_mm : float
        Outside measures of the section [mm].
    wall_mm : float
        Wall thickness [mm].
    length_mm : float
        Length [mm].
    corner_factor : float
        Outer corner radius over the wall thickness (fact ``hollow_section.corner_factor``); the
        inner radius is one wall less.

    Returns
    -------
    Shape
        Mantle, two cut ends; edges are both outlines of both ends.

    Raises
    ------
    BadInput
        A measure is not above 0, or the corners or walls do not fit the section.

    Notes
    -----
    Perimeter ``2 (b + h) - (8 - 2π) r``; metal ``2 t (b + h - 2 t) - (4 - π)(ro² - ri²)``.
    Source: ``en_10219`` for the corner radius.

    Examples
    --------
    >>> rhs = hollow_section(60, 40, wall_mm=3, length_mm=1000, corner_factor=2.0)
    >>> round(rhs.mass_kg(7850), 2)
    4.25
    """
    positive("hollow section", width_mm=width_mm, height_mm=height_mm, wall_mm=wall_mm, length_mm=length_mm)
    positive("hollow section", corner_factor=corner_factor)
    outer_r, inner_r = corner_factor * wall_mm, (corner_factor - 1.0) * wall_mm
    for side in (width_mm, height_mm):
        fits("hollow section", "wall_mm", wall_mm, side / 2.0)
        fits("hollow section", "corner radius (corner_factor x wall_mm)", outer_r, side / 2.0)
    nonneg("hollow section", inner_corner_radius_mm=inner_r)
    corner = 8.0 - 2.0 * pi
    outside_mm = 2.0 * (width_mm + height_mm) - corner * outer_r
    inside_mm = 2.0 * (width_mm + height_mm - 4.0 * wall_mm) - corner * inner_r
    metal_mm2 = 2.0 * wall_mm * (width_mm + height_mm - 2.0 * wall_mm) - 0.5 * corner * (
        outer_r * outer_r - inner_r * inner_r
    )
    return Shape(
        area_m2=(outside_mm * length_mm + 2.0 * metal_mm2) * 1e-6,
        volume_m3=metal_mm2 * length_mm * 1e-9,
        edge_m=2.0 * (outside_mm + inside_mm) * 1e-3,
        line_m=outside_mm * 1e-3,
    )


def frame(
    width_mm: float,
    height_mm: float,
    *,
    bar_mm: float,
    deep_mm: float,
    wall_mm: float,
    corner_factor: float,
    bars: float = 0.0,
) -> Shape:
    """Rectangular frame of hollow section, mitred and welded shut, with upright bars of the same section inside.

    Parameters
    ----------
    width_mm, height_mm : float
        Outside measures of the frame [mm].
    bar_mm, deep_mm : float
        Section: as it is seen from the front, and front to back [mm].
    wall_mm : float
        Wall thickness [mm].
    corner_factor : float
        As in `hollow_section`.
    bars : float
        Upright bars inside, each as long as the opening is high.

    Returns
    -------
    Shape
        Outside only: mantle along the middle lines, less the ends of bars and what they hide; no cut edge is left
        bare. The line is the outline of the front face with its openings.

    Raises
    ------
    BadInput
        A measure is not above 0, or bars do not fit the opening.

    Notes
    -----
    Source: geometry; ``en_10219`` for the corner radius (fact ``hollow_section.corner_factor``).
    Middle lines ``2 (w + h - 2 b)`` are exact for mitred corners of a sharp section; the rounding of the corners along
    the mitres is left as it is on the straights.

    Examples
    --------
    >>> gate = frame(1000, 1200, bar_mm=40, deep_mm=40, wall_mm=3, corner_factor=2.0, bars=6)
    >>> round(gate.area_m2, 3), round(gate.mass_kg(7850), 1)
    (1.622, 36.2)
    """
    nonneg("frame", bars=bars)
    section = hollow_section(bar_mm, deep_mm, wall_mm=wall_mm, length_mm=1000.0, corner_factor=corner_factor)
    fits("frame", "two tubes", 2.0 * bar_mm, width_mm)
    fits("frame", "two tubes", 2.0 * bar_mm, height_mm)
    wide_mm, high_mm = width_mm - 2.0 * bar_mm, height_mm - 2.0 * bar_mm
    fits("frame", "bars x bar_mm", bars * bar_mm, wide_mm)
    length_m = (2.0 * (width_mm + height_mm - 2.0 * bar_mm) + bars * high_mm) * 1e-3
    hidden_m2 = 2.0 * bars * bar_mm * deep_mm * 1e-6  # of the frame, under the two ends of each bar
    openings_m = (2.0 * (wide_mm + high_mm) + 2.0 * bars * (high_mm - bar_mm)) * 1e-3
    ends_m2 = 2.0 * section.volume_m3  # of the metre: its two cut ends, which a welded frame has not
    return Shape(
        area_m2=(section.area_m2 - ends_m2) * length_m - hidden_m2,
        volume_m3=section.volume_m3 * length_m,
        edge_m=0.0 * length_m,
        line_m=2.0 * (width_mm + height_mm) * 1e-3 + openings_m,
    )


def perforated_sheet(
    width_mm: float, height_mm: float, *, thickness_mm: float, hole_mm: float, pitch_mm: float
) -> Shape:
    """Perforated sheet, staggered by 60°: faces less holes, the walls of the holes, the outline.

    Source: geometry: faces less holes, plus the walls of the holes; rows staggered by 60° as in ISO 7806.

    Parameters
    ----------
    width_mm, height_mm, thickness_mm : float
        Measures of the sheet [mm].
    hole_mm, pitch_mm : float
        Diameter of the holes and distance between their centres [mm].

    Returns
    -------
    Shape
        Edges count the outline and both arrises of every hole: why such work is slow to sand.

    Raises
    ------
    BadInput
        A measure is not above 0, or holes touch.

    Examples
    --------
    >>> sheet = perforated_sheet(1000, 1000, thickness_mm=1.5, hole_mm=5, pitch_mm=8)
    >>> round(sheet.holes), round(sheet.area_m2, 3)
    (18042, 1.723)
    """
    positive("perforated sheet", width_mm=width_mm, height_mm=height_mm)
    positive("perforated sheet", hole_mm=hole_mm, pitch_mm=pitch_mm)
    fits("perforated sheet", "hole_mm", hole_mm, pitch_mm)
    sheet_m2 = width_mm * height_mm * 1e-6
    holes = 1e6 / (_CELL * pitch_mm * pitch_mm) * sheet_m2
    face_m2 = sheet_m2 - holes * (pi / 4e6) * hole_mm * hole_mm
    outline_m = (2.0 * (width_mm + height_mm) + holes * pi * hole_mm) * 1e-3
    return cut_sheet(face_m2, outline_m, thickness_mm=thickness_mm, holes=holes)
