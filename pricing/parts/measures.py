"""Shapes by their measures, for parts that come without a drawing.

Room     parts. Imports basis, physics.
"""

from collections.abc import Callable, Mapping
from typing import Any, get_args

from pricing.basis.errors import BadInput, Problem, choices, nearest
from pricing.basis.facts import fact
from pricing.basis.numerals import spelled
from pricing.basis.tongue import PLAIN, Tongue
from pricing.basis.typed import read_cell
from pricing.parts.part import Material, density_kg_per_m3
from pricing.physics.sections import hollow_section, perforated_sheet
from pricing.physics.shapes import Shape, disc, plate
from pricing.physics.solids import box, cone_frustum, torus, tube, wheel

Make = Callable[[Mapping[str, float]], Shape]

SHAPES: dict[str, tuple[tuple[str, ...], Make]] = {
    "plate": (
        ("width", "height", "thickness"),
        lambda m: plate(m["width"], m["height"], thickness_mm=m["thickness"]),
    ),
    "disc": (
        ("outer", "hole", "thickness"),
        lambda m: disc(m["outer"], hole_mm=m["hole"], thickness_mm=m["thickness"]),
    ),
    "tube": (
        ("outer", "wall", "length"),
        lambda m: tube(m["outer"], wall_mm=m["wall"], length_mm=m["length"], inside_coated=False),
    ),
    "ring": (("ring", "bar"), lambda m: torus(m["ring"], m["bar"])),
    "box": (
        ("width", "height", "depth", "wall"),
        lambda m: box(m["width"], m["height"], depth_mm=m["depth"], wall_mm=m["wall"]),
    ),
    "cone": (
        ("large", "small", "height", "wall"),
        lambda m: cone_frustum(m["large"], m["small"], height_mm=m["height"], wall_mm=m["wall"]),
    ),
    "wheel": (
        ("outer", "width", "wall", "hub", "spokes", "spoke"),
        lambda m: wheel(
            m["outer"], m["width"], wall_mm=m["wall"], hub_mm=m["hub"], spokes=m["spokes"], spoke_mm=m["spoke"]
        ),
    ),
    "hollow section": (
        ("width", "height", "wall", "length"),
        lambda m: hollow_section(
            m["width"], m["height"], wall_mm=m["wall"], length_mm=m["length"],
            corner_factor=fact("hollow_section.corner_factor"),
        ),
    ),
    "perforated sheet": (
        ("width", "height", "thickness", "hole", "pitch"),
        lambda m: perforated_sheet(
            m["width"], m["height"], thickness_mm=m["thickness"], hole_mm=m["hole"], pitch_mm=m["pitch"]
        ),
    ),
}  # fmt: skip
"""Shapes a job may give in place of area, mass and edges, and the measures each one takes."""


def measured(shape: Mapping[str, Any], material: str, where: str, tongue: Tongue = PLAIN) -> dict[str, str]:
    """Turn a shape's measures into the fields of a part.

    Parameters
    ----------
    shape : mapping
        ``kind`` and its measures as text with units: ``{"kind": "plate", "width": "12 in", ...}``;
        ``spokes`` is a plain number.
    material : str
        Material of the part, for its mass.
    where : str
        For the message.
    tongue : Tongue
        The shop's, to read them.

    Returns
    -------
    dict
        ``area``, ``mass``, ``edge``, ``line``, ``thickness`` as a file writes them.

    Raises
    ------
    BadInput
        The kind is unknown, or a measure is missing, unknown or impossible; all at once.

    Examples
    --------
    >>> part = measured({"kind": "plate", "width": "1 m", "height": "0.5 m", "thickness": "3 mm"}, "mild steel", "job")
    >>> part["area"], part["edge"]
    ('1.0090 m**2', '6 m')
    """
    kind = str(shape.get("kind", ""))
    if kind not in SHAPES:
        raise BadInput(where, [Problem("shape.kind", kind or "missing", choices(SHAPES), nearest(kind, SHAPES))])
    names, make = SHAPES[kind]
    bad = [
        Problem(f"shape.{name}", "not a measure", choices(names), nearest(name, names))
        for name in shape
        if name not in (*names, "kind")
    ]
    values: dict[str, float] = {}
    for name in names:
        given = shape.get(name, "0 mm" if name == "hole" and kind == "disc" else "")
        unit = "whole" if name == "spokes" else "mm"
        values[name] = read_cell(bad, f"shape.{name}", given, unit, tongue)
    if bad:
        raise BadInput(where, bad)
    try:
        made = make(values)
        density = density_kg_per_m3(material)
    except BadInput as why:
        raise BadInput(
            where, [Problem(f"shape: {p.field}", p.value, p.accepts, p.mend) for p in why.problems]
        ) from None
    except KeyError:
        known = get_args(Material)
        raise BadInput(where, [Problem("material", material, choices(known), nearest(material, known))]) from None
    heaviest = values.get("thickness") or values.get("wall") or values.get("spoke") or values.get("bar") or 1.0
    return {
        "area": f"{spelled(float(made.area_m2))} m**2", "mass": f"{spelled(float(made.mass_kg(density)))} kg",
        "edge": f"{spelled(float(made.edge_m))} m", "line": f"{spelled(float(made.line_m))} m",
        "thickness": f"{spelled(max(heaviest, values.get('spoke', 0.0)))} mm",
    }  # fmt: skip
