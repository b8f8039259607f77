"""Solids that come through the door: tubes, boxes, cones, rings of bar, wheels.

Takes    the measures a tape or caliper gives, in mm.
Gives    a ``Shape``: coated area, volume, edges to sand, the face's outline, holes.
Assumes  each formula's solid, nothing else; a wheel is a plain model of one (see ``wheel``).
"""

from math import pi

from pricing.basis.checks import nonneg, positive
from pricing.physics.shapes import Shape, fits

_MM2 = 1e-6  # m² in a mm²
_MM3 = 1e-9  # m³ in a mm³
_MM = 1e-3  # m in a mm


def tube(outer_mm: float, *, wall_mm: float, length_mm: float, inside_coated: bool = True) -> Shape:
    """Round tube by length, open at both ends.

    Source: geometry of a hollow cylinder.

    Parameters
    ----------
    outer_mm : float
        Outer diameter [mm].
    wall_mm : float
        Wall thickness [mm].
    length_mm : float
        Length [mm].
    inside_coated : bool
        Whether the inside is coated; powder reaches only about a diameter in, so ask.

    Returns
    -------
    Shape
        Outside, inside when coated, and the two ring ends.

    Raises
    ------
    BadInput
        A measure is not above 0, or the wall is thicker than the tube's radius.

    Examples
    --------
    >>> round(tube(60, wall_mm=3, length_mm=1000).area_m2, 4)
    0.3592
    """
    positive("tube", outer_mm=outer_mm, wall_mm=wall_mm, length_mm=length_mm)
    fits("tube", "wall_mm", wall_mm, outer_mm / 2.0)
    inner_mm = outer_mm - 2.0 * wall_mm
    ring_mm2 = pi / 4.0 * (outer_mm * outer_mm - inner_mm * inner_mm)
    round_mm = pi * (outer_mm + (inner_mm if inside_coated else 0.0))
    return Shape(
        area_m2=(round_mm * length_mm + 2.0 * ring_mm2) * _MM2,
        volume_m3=ring_mm2 * length_mm * _MM3,
        edge_m=2.0 * pi * (outer_mm + inner_mm) * _MM,
        line_m=pi * outer_mm * _MM,
    )


def box(width_mm: float, height_mm: float, *, depth_mm: float, wall_mm: float) -> Shape:
    """Closed sheet-metal box, coated outside; its twelve arrises are edges to sand.

    Source: geometry of a cuboid.

    Parameters
    ----------
    width_mm, height_mm, depth_mm : float
        Outside measures [mm].
    wall_mm : float
        Thickness of the sheet [mm]; half the smallest measure makes it solid.

    Returns
    -------
    Shape
        Outside area ``2 (ab + bc + ca)``, edges ``4 (a + b + c)``, line round the front face.

    Raises
    ------
    BadInput
        A measure is not above 0, or the walls are thicker than the box.

    Examples
    --------
    >>> round(box(1000, 500, depth_mm=3, wall_mm=1.5).edge_m, 3)
    6.012
    """
    positive("box", width_mm=width_mm, height_mm=height_mm, depth_mm=depth_mm, wall_mm=wall_mm)
    for side in (width_mm, height_mm, depth_mm):
        fits("box", "wall_mm", wall_mm, side / 2.0, or_equal=True)
    inner_mm3 = (width_mm - 2 * wall_mm) * (height_mm - 2 * wall_mm) * (depth_mm - 2 * wall_mm)
    around_mm2 = width_mm * height_mm + height_mm * depth_mm + depth_mm * width_mm
    return Shape(
        area_m2=2.0 * around_mm2 * _MM2,
        volume_m3=(width_mm * height_mm * depth_mm - inner_mm3) * _MM3,
        edge_m=4.0 * (width_mm + height_mm + depth_mm) * _MM,
        line_m=2.0 * (width_mm + height_mm) * _MM,
    )


def cone_frustum(large_mm: float, small_mm: float, *, height_mm: float, wall_mm: float) -> Shape:
    """Open sheet-metal cone or lamp shade, coated outside and inside.

    Source: geometry: mantle ``π s (R + r)``.

    Parameters
    ----------
    large_mm, small_mm : float
        Diameters at the two ends [mm]; 0 for a point.
    height_mm : float
        Height between the ends [mm].
    wall_mm : float
        Thickness of the sheet, thin beside the diameters [mm].

    Returns
    -------
    Shape
        Twice the mantle ``π (r1 + r2) s`` and the two rims; volume is mantle times wall.

    Raises
    ------
    BadInput
        A measure is not above 0 (the smaller end may be 0).

    Examples
    --------
    >>> round(cone_frustum(400, 240, height_mm=300, wall_mm=1).volume_m3 * 1e3, 5)
    0.31213
    """
    positive("cone", large_mm=large_mm, height_mm=height_mm, wall_mm=wall_mm)
    nonneg("cone", small_mm=small_mm)
    slant_mm = ((0.5 * (large_mm - small_mm)) ** 2 + height_mm**2) ** 0.5
    mantle_mm2 = pi * 0.5 * (large_mm + small_mm) * slant_mm
    rims_mm = pi * (large_mm + small_mm)
    return Shape(
        area_m2=(2.0 * mantle_mm2 + rims_mm * wall_mm) * _MM2,
        volume_m3=mantle_mm2 * wall_mm * _MM3,
        edge_m=2.0 * rims_mm * _MM,
        line_m=rims_mm * _MM,
    )


def torus(ring_mm: float, bar_mm: float) -> Shape:
    """Ring bent from round bar: Pappus' area ``4 π² R r``; it has no edges.

    Source: Pappus' theorem.

    Parameters
    ----------
    ring_mm : float
        Diameter of the ring, bar centre to bar centre [mm].
    bar_mm : float
        Diameter of the bar [mm].

    Returns
    -------
    Shape
        All of the ring's surface.

    Raises
    ------
    BadInput
        A measure is not above 0, or the bar is thicker than the ring.

    Examples
    --------
    >>> round(torus(400, 30).area_m2, 5)
    0.11844
    """
    positive("ring", ring_mm=ring_mm, bar_mm=bar_mm)
    fits("ring", "bar_mm", bar_mm, ring_mm)
    return Shape(
        area_m2=pi * pi * ring_mm * bar_mm * _MM2,
        volume_m3=0.25 * pi * pi * ring_mm * bar_mm * bar_mm * _MM3,
        edge_m=0.0 * bar_mm * ring_mm,
    )


def wheel(outer_mm: float, width_mm: float, *, wall_mm: float, hub_mm: float, spokes: float, spoke_mm: float) -> Shape:
    """Spoked wheel, plainly: a barrel, a round hub and square spokes between them.

    Source: geometry of its pieces; a plain stand-in, common practice, no source.

    Parameters
    ----------
    outer_mm : float
        Outer diameter of the rim [mm].
    width_mm : float
        Width of the barrel [mm].
    wall_mm : float
        Mean thickness of the barrel [mm].
    hub_mm : float
        Diameter of the hub [mm].
    spokes : float
        Number of spokes.
    spoke_mm : float
        Mean width and depth of a spoke, and depth of the hub [mm].

    Returns
    -------
    Shape
        Barrel inside and out, hub and spokes, the roots of the spokes taken off; edges are both
        rims of the barrel (inner and outer arris) and four arrises a spoke; the line is the outline
        of the face: the barrel's inner circle and both front arrises of each spoke.

    Raises
    ------
    BadInput
        A measure is not above 0, or the spokes do not fit round the hub.

    Notes
    -----
    A model and not a drawing: lips, drop centre, bolt holes and the taper of spokes are left out.
    Weigh one wheel; the mass says how far off the volume is.

    Examples
    --------
    >>> car = wheel(460, 200, wall_mm=6, hub_mm=150, spokes=5, spoke_mm=40)
    >>> round(car.area_m2, 3), round(car.mass_kg(2700), 1)
    (0.745, 9.7)
    """
    positive("wheel", outer_mm=outer_mm, width_mm=width_mm, wall_mm=wall_mm, hub_mm=hub_mm, spoke_mm=spoke_mm)
    nonneg("wheel", spokes=spokes)
    fits("wheel", "hub_mm", hub_mm, outer_mm - 2.0 * wall_mm)
    fits("wheel", "spokes x spoke_mm", spokes * spoke_mm, pi * hub_mm, or_equal=True)
    barrel = tube(outer_mm, wall_mm=wall_mm, length_mm=width_mm)
    inner_mm = outer_mm - 2.0 * wall_mm
    spoke_len_mm = 0.5 * (inner_mm - hub_mm)
    roots_mm2 = 2.0 * spokes * spoke_mm * spoke_mm  # hidden at the hub and at the barrel
    hub_mm2 = 0.5 * pi * hub_mm * hub_mm + pi * hub_mm * spoke_mm
    spokes_mm2 = spokes * 4.0 * spoke_mm * spoke_len_mm
    solid_mm3 = 0.25 * pi * hub_mm * hub_mm * spoke_mm + spokes * spoke_mm * spoke_mm * spoke_len_mm
    return Shape(
        area_m2=barrel.area_m2 + (hub_mm2 + spokes_mm2 - roots_mm2) * _MM2,
        volume_m3=barrel.volume_m3 + solid_mm3 * _MM3,
        edge_m=barrel.edge_m + 4.0 * spokes * spoke_len_mm * _MM,
        line_m=(pi * inner_mm + 2.0 * spokes * spoke_len_mm) * _MM,
    )
