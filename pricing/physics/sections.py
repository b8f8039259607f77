"""Structural sections and perforated sheet: surface per metre and per square metre.

Takes    section measures in mm, as floats or arrays (numpy rules).
Gives    perimeters, open-area shares and a ``Shape`` for lengths and sheets.
Numbers  none in this file: corner factors come in from ``data/facts.csv``.
"""

from math import pi, sin
from typing import Literal

from pricing.basis.checks import Floats, nonneg, positive
from pricing.basis.errors import BadInput, Problem, choices, nearest
from pricing.physics.shapes import Shape, cut_sheet, fits

Pattern = Literal["staggered", "square"]
_CELL = {"staggered": sin(pi / 3.0), "square": 1.0}  # area of one hole's cell over pitch²


def hollow_section(
    width_mm: Floats,
    height_mm: Floats,
    *,
    wall_mm: Floats,
    length_mm: Floats,
    corner_factor: Floats,
    inside_coated: bool = False,
) -> Shape:
    """Square or rectangular hollow section by length, with rounded corners.

    Parameters
    ----------
    width_mm, height_mm : float or array
        Outside measures of the section [mm].
    wall_mm : float or array
        Wall thickness [mm].
    length_mm : float or array
        Length [mm].
    corner_factor : float or array
        Outer corner radius over the wall thickness (fact ``hollow_section.corner_factor``); the
        inner radius is one wall less.
    inside_coated : bool
        Whether the inside is coated too.

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
    around_mm = outside_mm + inside_mm if inside_coated else outside_mm
    return Shape(
        area_m2=(around_mm * length_mm + 2.0 * metal_mm2) * 1e-6,
        volume_m3=metal_mm2 * length_mm * 1e-9,
        edge_m=2.0 * (outside_mm + inside_mm) * 1e-3,
        line_m=outside_mm * 1e-3,
    )


def frame(
    width_mm: Floats,
    height_mm: Floats,
    *,
    bar_mm: Floats,
    deep_mm: Floats,
    wall_mm: Floats,
    corner_factor: Floats,
    bars: Floats = 0.0,
) -> Shape:
    """Rectangular frame of hollow section, mitred and welded shut, with upright bars of the same section inside.

    Parameters
    ----------
    width_mm, height_mm : float or array
        Outside measures of the frame [mm].
    bar_mm, deep_mm : float or array
        Section: as it is seen from the front, and front to back [mm].
    wall_mm : float or array
        Wall thickness [mm].
    corner_factor : float or array
        As in `hollow_section`.
    bars : float or array
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


def i_section_perimeter_m(height_mm: Floats, flange_mm: Floats, *, web_mm: Floats, root_mm: Floats = 0.0) -> Floats:
    """Perimeter of an I or H section: ``2 h + 4 b - 2 tw - (8 - 2π) r``.

    Source: geometry of rolled sections with root radii; EN 10365 tables print it.

    Parameters
    ----------
    height_mm, flange_mm : float or array
        Height of the section and width of its flanges [mm].
    web_mm : float or array
        Thickness of the web [mm].
    root_mm : float or array
        Root radius between web and flange [mm]; 0 ignores it.

    Returns
    -------
    float or array
        Perimeter [m], which is the area in m² of one metre.

    Raises
    ------
    BadInput
        A measure is not above 0 (the radius may be 0), or the web does not fit.

    Examples
    --------
    >>> round(i_section_perimeter_m(200, 100, web_mm=5.6, root_mm=12), 3)
    0.768
    """
    positive("I-section", height_mm=height_mm, flange_mm=flange_mm, web_mm=web_mm)
    nonneg("I-section", root_mm=root_mm)
    fits("I-section", "web_mm", web_mm, flange_mm)
    return (2.0 * height_mm + 4.0 * flange_mm - 2.0 * web_mm - (8.0 - 2.0 * pi) * root_mm) * 1e-3


def angle_perimeter_m(leg_mm: Floats, other_leg_mm: Floats, *, root_mm: Floats, toe_mm: Floats) -> Floats:
    """Perimeter of an angle: ``2 (a + b) - (2 - π/2)(r1 + 2 r2)``.

    Source: geometry of equal and unequal angles; EN 10056-1 tables print it.

    Parameters
    ----------
    leg_mm, other_leg_mm : float or array
        Lengths of the legs [mm].
    root_mm, toe_mm : float or array
        Root radius and toe radius [mm]; 0 for sharp.

    Returns
    -------
    float or array
        Perimeter [m], which is the area in m² of one metre.

    Raises
    ------
    BadInput
        A leg is not above 0 or a radius is negative.

    Examples
    --------
    >>> round(angle_perimeter_m(50, 50, root_mm=7, toe_mm=3.5), 3)
    0.194
    """
    positive("angle", leg_mm=leg_mm, other_leg_mm=other_leg_mm)
    nonneg("angle", root_mm=root_mm, toe_mm=toe_mm)
    return (2.0 * (leg_mm + other_leg_mm) - (2.0 - pi / 2.0) * (root_mm + 2.0 * toe_mm)) * 1e-3


def open_share(hole_mm: Floats, pitch_mm: Floats, *, pattern: Pattern = "staggered") -> Floats:
    """Share of a perforated sheet that is hole: round holes, 60° staggered or in squares.

    Source: ISO 7806 and DIN 24041, open area of staggered and square patterns.

    Parameters
    ----------
    hole_mm : float or array
        Diameter of the holes [mm].
    pitch_mm : float or array
        Distance between hole centres [mm].
    pattern : {'staggered', 'square'}
        Staggered at 60°, or in straight rows and columns.

    Returns
    -------
    float or array
        Open area over sheet area.

    Raises
    ------
    BadInput
        A measure is not above 0, holes touch, or the pattern is unknown.

    Examples
    --------
    >>> round(open_share(5, 8, pattern="square"), 4)
    0.3068
    """
    return holes_per_m2(hole_mm, pitch_mm, pattern=pattern) * (pi / 4e6) * hole_mm * hole_mm


def holes_per_m2(hole_mm: Floats, pitch_mm: Floats, *, pattern: Pattern = "staggered") -> Floats:
    """Holes in a square metre of perforated sheet.

    Source: geometry of the patterns of ISO 7806.

    Parameters
    ----------
    hole_mm, pitch_mm : float or array
        Diameter of the holes and distance between their centres [mm].
    pattern : {'staggered', 'square'}
        Staggered at 60°, or in straight rows and columns.

    Returns
    -------
    float or array
        Holes per m².

    Raises
    ------
    BadInput
        A measure is not above 0, holes touch, or the pattern is unknown.

    Examples
    --------
    >>> round(holes_per_m2(5, 8))
    18042
    """
    if pattern not in _CELL:
        raise BadInput("perforated sheet", [Problem("pattern", pattern, choices(_CELL), nearest(pattern, _CELL))])
    positive("perforated sheet", hole_mm=hole_mm, pitch_mm=pitch_mm)
    fits("perforated sheet", "hole_mm", hole_mm, pitch_mm)
    return 1e6 / (_CELL[pattern] * pitch_mm * pitch_mm)


def perforated_factor(open_share: Floats, *, thickness_mm: Floats, hole_mm: Floats) -> Floats:
    """Coated area of perforated sheet over that of solid sheet: ``1 - OA (1 - 2 s / w)``.

    Source: geometry: faces less holes, plus the walls of the holes.

    Parameters
    ----------
    open_share : float or array
        Open area over sheet area.
    thickness_mm : float or array
        Thickness of the sheet, ``s`` [mm].
    hole_mm : float or array
        Diameter of the holes, ``w`` [mm].

    Returns
    -------
    float or array
        Factor on the two faces; 1 where the thickness is half the hole.

    Raises
    ------
    BadInput
        A measure is not above 0, or the open share is negative.

    Examples
    --------
    >>> perforated_factor(0.3, thickness_mm=1.0, hole_mm=2.0)
    1.0
    """
    nonneg("perforated sheet", open_share=open_share)
    positive("perforated sheet", thickness_mm=thickness_mm, hole_mm=hole_mm)
    return 1.0 - open_share * (1.0 - 2.0 * thickness_mm / hole_mm)


def perforated_sheet(
    width_mm: Floats,
    height_mm: Floats,
    *,
    thickness_mm: Floats,
    hole_mm: Floats,
    pitch_mm: Floats,
    pattern: Pattern = "staggered",
) -> Shape:
    """Perforated sheet: faces less holes, the walls of the holes, the outline.

    Source: geometry, as in `perforated_factor`.

    Parameters
    ----------
    width_mm, height_mm, thickness_mm : float or array
        Measures of the sheet [mm].
    hole_mm, pitch_mm : float or array
        Diameter of the holes and distance between their centres [mm].
    pattern : {'staggered', 'square'}
        Staggered at 60°, or in straight rows and columns.

    Returns
    -------
    Shape
        Edges count the outline and both arrises of every hole: why such work is slow to sand.

    Raises
    ------
    BadInput
        A measure is not above 0, holes touch, or the pattern is unknown.

    Examples
    --------
    >>> sheet = perforated_sheet(1000, 1000, thickness_mm=1.5, hole_mm=5, pitch_mm=8)
    >>> round(sheet.holes), round(sheet.area_m2, 3)
    (18042, 1.723)
    """
    positive("perforated sheet", width_mm=width_mm, height_mm=height_mm)
    sheet_m2 = width_mm * height_mm * 1e-6
    holes = holes_per_m2(hole_mm, pitch_mm, pattern=pattern) * sheet_m2
    face_m2 = sheet_m2 - holes * (pi / 4e6) * hole_mm * hole_mm
    outline_m = (2.0 * (width_mm + height_mm) + holes * pi * hole_mm) * 1e-3
    return cut_sheet(face_m2, outline_m, thickness_mm=thickness_mm, holes=holes)
