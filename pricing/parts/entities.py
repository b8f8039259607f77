"""Entities of a DXF drawing, turned into curves in mm.

Takes    an ezdxf document.
Gives    curves, and what was left out. Notes and dimensions are left out and counted; bodies and
         surfaces, or anything unknown, may be metal and are refused.
"""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from math import isfinite, pi, radians, tau
from typing import TYPE_CHECKING, Any

import numpy as np

from pricing.basis.errors import BadInput, Problem, choices, nearest
from pricing.basis.facts import fact
from pricing.parts import curves
from pricing.parts.bounds import Bounds
from pricing.parts.curves import Curve

if TYPE_CHECKING:
    from ezdxf.document import Drawing

_NOTES = frozenset(
    (
        "TEXT",
        "MTEXT",
        "ATTDEF",
        "ATTRIB",
        "DIMENSION",
        "ARC_DIMENSION",
        "LARGE_RADIAL_DIMENSION",
        "LEADER",
        "MULTILEADER",
        "MLEADER",
        "TOLERANCE",
        "POINT",
        "HATCH",
        "VIEWPORT",
        "IMAGE",
        "WIPEOUT",
        "PDFUNDERLAY",
        "DWFUNDERLAY",
        "DGNUNDERLAY",
        "OLEFRAME",
        "OLE2FRAME",
        "ACAD_TABLE",
        "LIGHT",
    )
)
_CURVES = frozenset(("LINE", "ARC", "CIRCLE", "ELLIPSE", "LWPOLYLINE", "POLYLINE", "SPLINE"))
_KNOWN = "lines, arcs, circles, ellipses, splines, polylines and blocks"
_MOST_DEGREE = 32  # of a spline; drawing programs go to 11 or 25
_DEPTH = 16  # blocks in blocks
_SHOWN = 8  # problems told at once


@dataclass(slots=True)
class FoundCurve:
    """Curves of a drawing and what was left out of it."""

    curves: list[Curve] = field(default_factory=list)
    left_out: Counter[str] = field(default_factory=Counter)
    hidden: int = 0


@dataclass(slots=True)
class _Reader:
    scale: float
    layers: frozenset[str]
    bounds: Bounds
    dark: frozenset[str]
    out: FoundCurve = field(default_factory=FoundCurve)
    bad: list[Problem] = field(default_factory=list)
    points: int = 0

    @property
    def flat(self) -> float:
        """Flattening in the drawing's own unit."""
        return fact("drawing.flatten", "millimeter") / self.scale


def read_entities(doc: "Drawing", scale: float, layers: frozenset[str], bounds: Bounds) -> FoundCurve:
    """Turn the model space of a drawing, of so many millimetres a unit, into curves.

    Without ``layers`` all are read that are switched on.

    Raises
    ------
    BadInput
        A layer is not there, an entity is damaged, tilted or a body, or there are too many.
    """
    shown = {layer.dxf.name.casefold(): layer for layer in doc.layers}
    used = {_layer(e).casefold() for e in doc.modelspace()} | set(shown)
    unknown = [name for name in sorted(layers) if name.casefold() not in used]
    if unknown:
        raise BadInput(
            bounds.where,
            [Problem("layer", n, f"one of {choices(sorted(used)[:20])}", nearest(n.casefold(), used)) for n in unknown],
        )
    dark = frozenset(name for name, layer in shown.items() if layer.is_off() or layer.is_frozen()) | {"defpoints"}
    bounds.count("entities", _expanded(doc), "drawing.most_entities")
    reader = _Reader(scale, frozenset(name.casefold() for name in layers), bounds, frozenset() if layers else dark)
    for order, entity in enumerate(doc.modelspace()):
        _read(reader, entity, order, layer="", depth=0)
        if len(reader.bad) >= _SHOWN:
            break
    if reader.bad:
        raise BadInput(bounds.where, reader.bad)
    return reader.out


def _expanded(doc: "Drawing") -> float:
    """Count the entities there will be once every block is inserted; blocks in blocks multiply."""
    known: dict[str, float] = {}

    def count(entities: Iterable[Any], depth: int) -> float:
        total = 0.0
        for entity in entities:
            total += 1
            if entity.dxftype() == "INSERT" and (block := entity.block()) is not None and depth < _DEPTH:
                name = entity.dxf.name.casefold()
                if name not in known:
                    known[name] = 0.0  # a block that holds itself is told where it is read
                    known[name] = count(block, depth + 1)
                total += entity.mcount * known[name]
        return total

    return count(doc.modelspace(), 0)


def _read(reader: _Reader, entity: Any, order: int, *, layer: str, depth: int) -> None:
    own = _layer(entity)
    name = layer if own == "0" and layer else own  # layer 0 of a block takes the layer it is inserted on
    kind = entity.dxftype()
    if kind == "INSERT":
        _insert(reader, entity, order, layer=name, depth=depth)
        return
    here = name.casefold()
    if here in reader.dark or (reader.layers and here not in reader.layers) or _hidden(entity):
        reader.out.hidden += 1
        return
    if kind in _NOTES:
        reader.out.left_out[kind] += 1
        return
    if kind not in _CURVES:
        mend = "Explode it in the drawing program, or read other layers only (--layer)."
        reader.bad.append(Problem(f"{kind} on layer {name}", "there", _KNOWN, mend))
        return
    try:
        for curve in _curves(reader, entity, kind):
            _finite(curve)
            reader.points += len(curve.points)
            reader.bounds.count("points", reader.points, "drawing.most_points")
            reader.out.curves.append(replace(curve.scaled(reader.scale), layer=name, order=order))
    except (ValueError, TypeError, ZeroDivisionError, IndexError, AttributeError, OverflowError) as why:
        if isinstance(why, BadInput):
            raise
        mend = "Draw it again, or read other layers only (--layer)."
        reader.bad.append(Problem(f"{kind} on layer {name}", str(why) or "damaged", "a flat, whole curve", mend))


def _layer(entity: Any) -> str:
    """Write the layer; a damaged or unknown entity may have none."""
    return str(entity.dxf.layer) if entity.dxf.is_supported("layer") else "0"


def _hidden(entity: Any) -> bool:
    return entity.dxf.is_supported("invisible") and bool(entity.dxf.get("invisible", 0))


def _insert(reader: _Reader, insert: Any, order: int, *, layer: str, depth: int) -> None:
    block = insert.block()
    if block is None or block.block.dxf.flags & 4 or depth >= _DEPTH:
        told = "nested too deep" if depth >= _DEPTH else "a drawing outside this file" if block else "missing"
        mend = "Bind or explode it in the drawing program."
        reader.bad.append(Problem(f"block {insert.dxf.name}", told, "in the file", mend))
        return
    left_out: Counter[str] = Counter()
    for one in insert.multi_insert() if insert.mcount > 1 else [insert]:
        for entity in one.virtual_entities(skipped_entity_callback=lambda e, _reason: left_out.update([e.dxftype()])):
            _read(reader, entity, order, layer=layer, depth=depth + 1)
    if left_out:
        told = ", ".join(f"{n} {kind}" for kind, n in sorted(left_out.items()))
        mend = "Explode it in the drawing program."
        reader.bad.append(Problem(f"block {insert.dxf.name}", f"holding {told}", _KNOWN, mend))


def _curves(reader: _Reader, entity: Any, kind: str) -> Iterator[Curve]:
    match kind:
        case "LINE":
            start, end = entity.dxf.start, entity.dxf.end
            _flat(reader, start.z, end.z)
            yield curves.line(np.array([start.vec2, end.vec2], dtype=np.float64))
        case "CIRCLE" | "ARC":
            yield _seen(entity, _arc(reader, entity, kind))
        case "ELLIPSE":
            yield _ellipse(reader, entity)
        case "LWPOLYLINE":
            rows = np.array(entity.get_points("xyb"), dtype=np.float64).reshape(-1, 3)
            yield from _polyline(reader, entity, rows, closed=bool(entity.closed))
        case "POLYLINE":
            yield from _old_polyline(reader, entity)
        case _:
            yield _spline(reader, entity)


def _finite(curve: Curve) -> None:
    if not np.isfinite(curve.points).all() or not isfinite(curve.length_mm + curve.swell_mm2):
        raise ValueError("numbers that are not finite")


def _flat(reader: _Reader, *heights: float) -> None:
    if max(heights) - min(heights) > fact("drawing.gap", "millimeter") / reader.scale:
        raise ValueError("not flat: it rises out of the plane of the drawing")


def _facing(entity: Any) -> bool:
    """Tell whether the entity is drawn as seen from above; from behind its x runs the other way."""
    x, y, z = entity.dxf.extrusion
    if abs(x) + abs(y) > 1e-6 * abs(z):
        raise ValueError("tilted out of the plane of the drawing")
    return bool(z > 0)


def _seen(entity: Any, curve: Curve) -> Curve:
    return curve if _facing(entity) else curve.mirrored()


def _arc(reader: _Reader, entity: Any, kind: str) -> Curve:
    radius = entity.dxf.radius
    if not radius > 0:
        raise ValueError(f"radius {radius:g}")
    start, sweep = 0.0, tau
    if kind == "ARC":
        start = radians(entity.dxf.start_angle % 360)
        sweep = radians((entity.dxf.end_angle - entity.dxf.start_angle) % 360) or tau
    centre = entity.dxf.center
    return curves.arc((centre.x, centre.y), radius, start, sweep, flat=reader.flat)


def _ellipse(reader: _Reader, entity: Any) -> Curve:
    major = np.array(entity.dxf.major_axis.vec2, dtype=np.float64)
    if abs(entity.dxf.major_axis.z) > 1e-6 * np.hypot(*major) or not np.hypot(*major) > 0:
        raise ValueError("tilted out of the plane of the drawing")
    start, end = entity.dxf.start_param, entity.dxf.end_param
    sweep = (end - start) % tau
    if sweep < 1e-9 or tau - sweep < 1e-9:
        sweep = tau
    ratio = entity.dxf.ratio if _facing(entity) else -entity.dxf.ratio
    centre = np.array(entity.dxf.center.vec2, dtype=np.float64)
    curve = curves.ellipse(centre, major, ratio, (start, start + sweep), flat=reader.flat)
    if sweep >= 2 * pi:
        curve.points[-1] = curve.points[0]
    return curve


def _polyline(reader: _Reader, entity: Any, rows: curves.Points, *, closed: bool) -> Iterator[Curve]:
    if len(rows) < 2:
        return
    if closed and (rows[0, :2] != rows[-1, :2]).any():
        rows = np.vstack((rows, rows[:1]))
    yield _seen(entity, curves.bulged(rows[:, :2], rows[:-1, 2], flat=reader.flat))


def _old_polyline(reader: _Reader, entity: Any) -> Iterator[Curve]:
    if not (entity.is_2d_polyline or entity.is_3d_polyline):
        raise ValueError("a mesh, not an outline")
    vertices = [v for v in entity.vertices if not v.dxf.flags & 16]  # 16: frame of a fitted curve, not on it
    rows = np.array([(*v.dxf.location.vec2, v.dxf.get("bulge", 0.0)) for v in vertices], dtype=np.float64)
    if entity.is_3d_polyline and vertices:
        _flat(reader, *(v.dxf.location.z for v in vertices))
        rows[:, 2] = 0.0
    yield from _polyline(reader, entity, rows.reshape(-1, 3), closed=bool(entity.is_closed))


def _spline(reader: _Reader, entity: Any) -> Curve:
    tool = entity.construction_tool()
    controls = np.array([tuple(p) for p in tool.control_points], dtype=np.float64)
    _flat(reader, *controls[:, 2])
    weights = np.array(tool.weights(), dtype=np.float64)
    if (weights <= 0).any():
        raise ValueError("a weight that is not above 0")
    if not 1 <= tool.degree <= _MOST_DEGREE:
        raise ValueError(f"degree {tool.degree}")
    knots = np.array(tool.knots(), dtype=np.float64)
    if (np.diff(knots) < 0).any() or len(knots) != len(controls) + tool.degree + 1:
        raise ValueError("knots that do not fit its points")
    return curves.spline(tool.degree, knots, controls[:, :2], weights if len(weights) else None, flat=reader.flat)
