"""A shape as a job's file gives it, with units, in place of area, mass and edges."""

from collections.abc import Mapping
from typing import Any

from pricing.basis.errors import BadInput, Problem, choices, nearest
from pricing.basis.numerals import spelled
from pricing.basis.records import key_of
from pricing.basis.tongue import PLAIN, Tongue
from pricing.basis.typed import accepted, read_cell
from pricing.parts.shaped import Shaped, asked_of


def measured(shape: Mapping[str, Any], material: str, where: str, tongue: Tongue = PLAIN) -> dict[str, str]:
    """Turn a shape's measures into the fields of a part.

    Parameters
    ----------
    shape : mapping
        ``kind`` and its measures as text with units: ``{"kind": "plate", "width": "12 in", ...}``;
        ``spokes``, ``bars`` and ``holes`` are plain numbers, and ``upright = true`` hangs it by its short side.
    material : str
        Material of the part, for its mass.
    where : str
        For the message.
    tongue : Tongue
        The shop's, to read them.

    Returns
    -------
    dict
        ``area``, ``mass``, ``edge``, ``line``, ``thickness``, ``width``, ``height``, ``depth`` as a file writes them.

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
    try:
        fields = shape_of(shape, where, tongue).fields(material)
    except BadInput as why:
        raise BadInput(where, why.problems) from None
    return {key_of(name): f"{spelled(value)} {_UNITS[name.rpartition('_')[2]]}" for name, value in fields.items()}


def shape_of(shape: Mapping[str, Any], where: str, tongue: Tongue = PLAIN) -> Shaped:
    """Read a shape with the units of its measures.

    Parameters
    ----------
    shape, where, tongue
        As in `measured`.

    Raises
    ------
    BadInput
        As `measured`.
    """
    kind = str(shape.get("kind", ""))
    try:
        asked = asked_of(kind)
    except BadInput as why:
        raise BadInput(where, why.problems) from None
    names = [one.name for one in asked]
    bad = [
        Problem(f"shape.{name}", "not a measure", choices(names), nearest(name, names))
        for name in shape
        if name not in (*names, "kind", "upright")
    ]
    values: dict[str, float] = {}
    for one in asked:
        unit = "whole" if one.counted else "mm"
        if one.name in shape:
            values[one.name] = read_cell(bad, f"shape.{one.name}", shape[one.name], unit, tongue)
        elif one.needed:
            bad.append(Problem(f"shape.{one.name}", "missing", accepted(unit, tongue)))
    if bad:
        raise BadInput(where, bad)
    try:
        return Shaped(kind, values, upright=bool(shape.get("upright")))
    except BadInput as why:
        raise BadInput(where, why.problems) from None


_UNITS = {"m2": "m**2", "kg": "kg", "m": "m", "mm": "mm"}
