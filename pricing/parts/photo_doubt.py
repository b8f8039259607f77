"""How wrong a measure from a picture may be: nine in ten truths lie between its low and its high.

What spoils a picture is taken one by one: cards and lens (the covariance of the fitted plane), the print of
the cards, the camera's height over part and cards, where in a soft or shaded edge the outline lies, dots too
coarse for small holes. Parts add as independent errors do; one factor for each measure, found on drawn
scenes (`tests/benchmarks/photo_scenes.py`), makes the share of truths inside nine in ten.

Takes    traced outlines, their plane, the measures of a piece.
Gives    for each measure low, middle, high, and what makes it doubtful.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from pricing.basis.arrays import AnyArray
from pricing.basis.facts import fact
from pricing.basis.ranges import Between, WholeBetween
from pricing.parts.curves import around, shoelace, turn_deg
from pricing.parts.part import Part
from pricing.parts.photo_file import Taken
from pricing.parts.photo_outline import Traced
from pricing.parts.photo_plane import Plane
from pricing.parts.reading import Choices, Piece

_MEASURED = {"area_m2": "area_m2", "mass_kg": "volume_m3", "edge_m": "edge_m", "line_m": "line_m"}
_NINE_IN_TEN = 1.645  # standard deviations on each side that hold nine in ten of a normal law
_POINTS = 240  # of a ring, when the plane is moved about


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A measure and what it may be: nine in ten truths lie between low and high."""

    low: float
    middle: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """What is not sure of one piece.

    Parameters
    ----------
    spans : mapping of Span
        By the names of `Piece`: ``area_m2``, ``edge_m``, ``line_m``, ``volume_m3``, ``width_mm``,
        ``height_mm``, ``spots``, ``plugs``.
    reasons : mapping of float
        Share of the edges' doubt (variance) by cause, for people.
    """

    spans: Mapping[str, Span]
    reasons: Mapping[str, float]

    def on(self, part: Part) -> Part:
        """Return this piece's part with what its measures may be, to four digits."""
        changes: dict[str, float] = {}
        for name, of in _MEASURED.items():
            span, value = self.spans[of], float(getattr(part, name))
            share = value / span.middle if span.middle else 0.0  # mass goes with volume
            low, likely, high = (float(f"{one:.4g}") for one in (span.low * share, value, span.high * share))
            if low < high:
                changes[name] = Between(low, high, min(max(likely, low), high))
        for name in ("spots", "plugs"):
            span, value = self.spans[name], getattr(part, name)
            low, high = min(int(span.low), value), max(int(span.high), value)
            if low < high:
                changes[name] = WholeBetween(low, high, value)
        return part.model_copy(update=changes)


def doubt_of(piece: Piece, rings: Sequence[Traced], plane: Plane, taken: Taken, chosen: Choices) -> Doubt:
    """Work out how wrong the measures of a piece may be, whose outlines are ``rings``, the outer one first."""
    parts = _parts(piece, rings, plane, taken)
    squares = {name: sum(v**2 for v in causes.values()) for name, causes in parts.items()}
    half = {name: _NINE_IN_TEN * fact(f"photo.fit_{name}") * float(np.sqrt(s)) for name, s in squares.items()}
    face = piece.face_m2
    wall = piece.area_m2 - 2 * face
    missed = _missed_mm(rings[0].dot_mm) / 1e3
    arrises = fact("drawing.arrises")
    both = (2 * face * half["area"] + wall * half["length"]) / piece.area_m2
    spans = {
        "area_m2": _span(piece.area_m2, both),
        "edge_m": _span(piece.edge_m, half["length"], arrises * missed if piece.edge_m else 0.0),
        "line_m": _span(piece.line_m, half["length"], chosen.lined_faces * missed if piece.line_m else 0.0),
        "volume_m3": _span(piece.volume_m3, half["area"]),
        "width_mm": _span(piece.width_mm, half["long"] * piece.height_mm / piece.width_mm),
        "height_mm": _span(piece.height_mm, half["long"]),
        "plugs": _plugs(piece, rings, half["long"], chosen),
    }
    if not plane.cards:
        for name in ("area_m2", "volume_m3", "edge_m", "line_m", "width_mm", "height_mm"):
            factor = 1 + fact("photo.rough_area" if name in {"area_m2", "volume_m3"} else "photo.rough_length")
            middle = spans[name].middle
            spans[name] = Span(low=middle / factor, middle=middle, high=middle * factor)
        return Doubt(spans=spans, reasons={"tilt that is not known": 1.0})
    total = squares["length"] or 1.0
    return Doubt(spans=spans, reasons={name: value**2 / total for name, value in parts["length"].items()})


def _span(value: float, share: float, more: float = 0.0) -> Span:
    return Span(low=value * max(1 - share, 0.0), middle=value, high=value * (1 + share) + more)


def smallest_hole_mm(dot_mm: float) -> float:
    """Work out the diameter under which a hole may not be seen in a picture of such dots [mm]."""
    return fact("photo.seen_hole_px") * dot_mm


def _missed_mm(dot_mm: float) -> float:
    """Find the length of the outlines of holes that may have been missed; 0 where any drilled hole would be seen."""
    size = smallest_hole_mm(dot_mm)
    return fact("photo.unseen_holes") * np.pi * size if size > fact("drawing.plug_least", "mm") else 0.0


def _tips_mm(outer: Traced) -> float:
    """Find how far a sharp tip may reach beyond or stay behind where its sides meet: blur hides whether it is round."""
    curves = outer.outline.curves
    for k, curve in enumerate(curves):
        before = curves[k - 1].points
        turn = turn_deg(before[-1] - before[-2], curve.points[1] - curve.points[0])
        if len(curves) > 1 and turn > fact("photo.tip", "degree"):
            return fact("photo.tip_px") * outer.dot_mm
    return 0.0


def _parts(piece: Piece, rings: Sequence[Traced], plane: Plane, taken: Taken) -> dict[str, dict[str, float]]:
    """Collect standard deviations as shares, by cause, of one face's area, the outlines' length, the long side."""
    moved = _moved(rings, plane)
    length_mm = sum(t.outline.length_mm for t in rings)
    face_mm2 = max(piece.face_m2 * 1e6, 1e-9)
    height = plane.eye[2]
    printed = fact("photo.print_measured" if taken.ruler_mm else "photo.print_guessed")
    lift = float(np.hypot(fact("photo.above_doubt", "mm"), taken.raised_mm * plane.eye_doubt) / height)
    edge = sum(_edge_mm(t, plane, taken) * t.outline.length_mm for t in rings) / length_mm
    dot = rings[0].dot_mm
    corners = sum(len(t.outline.curves) for t in rings if len(t.outline.curves) > 1)
    rough = dot * fact("photo.corner_doubt") * np.sqrt(max(corners, 1)) + fact("photo.length_doubt") * length_mm
    return {
        "area": {
            "cards and lens": moved["area"],
            "print": 2 * printed,
            "height": 2 * lift,
            "edge": edge * length_mm / face_mm2,
        },
        "length": {
            "cards and lens": moved["length"],
            "print": printed,
            "height": lift,
            "edge": 2 * np.pi * edge / length_mm,
            "dots": rough / length_mm,
        },
        "long": {
            "cards and lens": moved["long"],
            "print": printed,
            "height": lift,
            "edge": 2 * edge / piece.height_mm,
            "tips": _tips_mm(rings[0]) / piece.height_mm,
        },
    }


def _edge_mm(one: Traced, plane: Plane, taken: Taken) -> float:
    """Work out how far the outline may lie beside the edge: dots, blur, wall in view, shade."""
    dots = fact("photo.edge_px") * one.dot_mm
    extra = max(one.ring.soft_px - plane.soft_px, 0.0) * fact("photo.edge_soft") * one.dot_mm
    wall = fact("photo.edge_wall") * one.wall_mm
    shade = fact("photo.edge_shade") * max(one.ring.shade, 0.0) * taken.thickness_mm
    return float(np.sqrt(dots**2 + extra**2 + wall**2 + shade**2))


def _moved(rings: Sequence[Traced], plane: Plane) -> dict[str, float]:
    """Move the plane's numbers along their covariance and see what becomes of the measures."""
    some = [t.ring.points[:: max(len(t.ring.points) // _POINTS, 1)] for t in rings]

    def measures(numbers: AnyArray | None) -> AnyArray:
        flat = [plane.to_mm(points, numbers) for points in some]
        area = sum((-1 if t.ring.hole else 1) * abs(shoelace(p)) for t, p in zip(rings, flat, strict=True))
        length = sum(map(around, flat))
        outer = flat[0]
        return np.array([area, length, np.hypot(*(outer[a] - outer[b]))])

    outer = plane.to_mm(some[0])
    far = np.hypot(*(outer[:, None] - outer[None]).transpose(2, 0, 1))
    a, b = (int(k) for k in np.unravel_index(int(np.argmax(far)), far.shape))
    here = measures(None)
    values, ways = np.linalg.eigh(plane.spread)
    total = np.zeros(3)
    for value, way in zip(values, ways.T, strict=True):
        if value > 0:
            total += (measures(plane.numbers + np.sqrt(value) * way) / here - 1) ** 2
    return dict(zip(("area", "length", "long"), np.sqrt(total).tolist(), strict=True))


def _plugs(piece: Piece, rings: Sequence[Traced], share: float, chosen: Choices) -> Span:
    """Count the holes that get a plug surely, and those that may."""
    sure = likely = 0
    for t in rings[1:]:
        if len(t.outline.curves) == 1:
            size = t.outline.length_mm / np.pi
            off = share * size + 2 * fact("photo.edge_px") * t.dot_mm
            sure += chosen.plug_least_mm + off <= size <= chosen.plug_most_mm - off
            likely += chosen.plug_least_mm - off <= size <= chosen.plug_most_mm + off
    missed = fact("photo.unseen_holes") if _missed_mm(rings[0].dot_mm) else 0
    return Span(low=min(sure, piece.plugs), middle=piece.plugs, high=max(likely, piece.plugs) + missed)
