"""Curves of a drawing: points to draw and test with, length and area exact.

A curve is flattened only for questions of place (inside or outside, crossing, nooks). Length and
area come from the curve itself, in closed form for arcs and by Gauss's rule for ellipses and splines,
so that no tolerance leaks into a price.

Why not the DXF library's own flattening: to hold a spline's length to 1e-6 it wants chords within
3e-5 mm, 26 times the points and 7 times the time of this (200 splines of 20 control points), and it
knows no end to the points of one curve.

Takes    numbers in mm, in the plane of the drawing.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import acos, atan, ceil, hypot, pi, sin
from typing import Any

import numpy as np
import numpy.typing as npt

Points = npt.NDArray[np.float64]
_At = Callable[[Points], tuple[Points, Points]]  # points and velocities, (n, 2) each, for parameters
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(8)
_ROUGH = 1e-11  # share of the length that halving a piece may still change
_MOST_HALVINGS = 40
_MOST_POINTS = 1 << 16  # of one curve: it is drawn no finer, and its length stays exact


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """A piece of an outline, walked from its first point to its last.

    Parameters
    ----------
    points : (n, 2) array
        On the curve, close enough to draw it [mm].
    length_mm : float
        Length of the curve itself [mm].
    swell_mm2 : float
        Area between the curve and the chords of ``points``, positive when it lies to the right of the
        walk, so that it adds to an outline walked anticlockwise [mm²].
    layer : str
        Layer of the drawing.
    order : int
        Place of its entity in the file.
    seen : bool
        Whether its edge is seen, and therefore sanded and wiped.
    """

    points: Points
    length_mm: float
    swell_mm2: float = 0.0
    layer: str = "0"
    order: int = 0
    seen: bool = True

    def reversed(self) -> "Curve":
        """Walk it the other way."""
        return replace(self, points=self.points[::-1], swell_mm2=-self.swell_mm2)

    def mirrored(self) -> "Curve":
        """Turn it over about the y axis, as a drawing does whose plane is seen from behind."""
        return replace(self, points=self.points * (-1.0, 1.0), swell_mm2=-self.swell_mm2)

    def scaled(self, factor: float) -> "Curve":
        """Change its unit; points fall on a grid of 1e-9 mm, so that no rest of a rounding is left near zero."""
        return replace(
            self,
            points=np.round(self.points * factor, 9),
            length_mm=self.length_mm * factor,
            swell_mm2=self.swell_mm2 * factor**2,
        )


def shoelace(points: npt.NDArray[Any]) -> float:
    """Area inside a closed polygon, (n, 2), by Gauss's formula: positive when it is walked anticlockwise.

    >>> shoelace(np.array([(0.0, 0.0), (2.0, 0.0), (2.0, 1.0), (0.0, 1.0)]))
    2.0
    """
    x, y = (points - points.mean(axis=0)).T  # about its middle: far from the origin digits would be lost
    return 0.5 * float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))


def around(points: npt.NDArray[Any]) -> float:
    """Length of a closed polygon, (n, 2)."""
    return float(np.hypot(*(np.roll(points, -1, axis=0) - points).T).sum())


def turn_deg(before: npt.NDArray[Any], after: npt.NDArray[Any]) -> npt.NDArray[Any]:
    """How sharply ways, (2,) or (n, 2), turn into the ways that come after them, to either side [deg]."""
    (x, y), (to_x, to_y) = before.T, after.T
    return np.asarray(np.degrees(np.abs(np.arctan2(x * to_y - y * to_x, x * to_x + y * to_y))))


def area_mm2(curves: Sequence[Curve]) -> float:
    """Area inside curves that close, positive when they are walked anticlockwise [mm²].

    >>> round(area_mm2([arc((5.0, 5.0), 10.0, 0.0, 6.283185307179586, flat=0.1)]), 6)
    314.159265
    """
    return shoelace(np.concatenate([curve.points for curve in curves])) + sum(curve.swell_mm2 for curve in curves)


def line(points: Points) -> Curve:
    """Join corners, (n, 2) [mm], by straight lines."""
    steps = np.diff(points, axis=0)
    return Curve(points, float(np.hypot(steps[:, 0], steps[:, 1]).sum()))


def arc(centre: tuple[float, float], radius: float, start: float, sweep: float, *, flat: float) -> Curve:
    """Draw an arc of a circle [mm] from ``start``, turning by ``sweep``, anticlockwise positive [rad].

    ``flat`` is the most that a chord may stand off the curve, here and below [mm].
    """
    step = 2 * acos(max(1 - flat / radius, 0.5)) if flat < radius else pi / 3
    pieces = min(max(ceil(abs(sweep) / step), 2 if abs(sweep) < pi else 6), _MOST_POINTS)
    angles = start + np.linspace(0.0, sweep, pieces + 1)
    points = np.column_stack((centre[0] + radius * np.cos(angles), centre[1] + radius * np.sin(angles)))
    if abs(sweep) >= 2 * pi:
        points[-1] = points[0]
    turn = sweep / pieces
    return Curve(points, radius * abs(sweep), pieces * radius**2 / 2 * (turn - sin(turn)))


def bulged(corners: Points, bulges: Points, *, flat: float) -> Curve:
    """Join corners, (n, 2) [mm], by lines and arcs, as a polyline of a drawing does.

    ``bulges``, (n - 1,), are the tangents of a quarter of each arc's angle: 0 is straight, positive turns
    anticlockwise. A closed polyline names its first corner again at the end.
    """
    if not bulges.any():
        return line(corners)
    points: list[Points] = []
    length = swell = 0.0
    for (x0, y0), (x1, y1), bulge in zip(corners[:-1].tolist(), corners[1:].tolist(), bulges.tolist(), strict=True):
        chord = hypot(x1 - x0, y1 - y0)
        if bulge == 0.0 or chord == 0.0:
            points.append(np.array([[x0, y0]]))
            length += chord
            continue
        lift = (1 / bulge - bulge) / 4  # of the centre over the chord, in chords
        centre = ((x0 + x1) / 2 - (y1 - y0) * lift, (y0 + y1) / 2 + (x1 - x0) * lift)
        radius = chord * (1 + bulge**2) / (4 * abs(bulge))
        piece = arc(centre, radius, float(np.arctan2(y0 - centre[1], x0 - centre[0])), 4 * atan(bulge), flat=flat)
        piece.points[0] = (x0, y0)
        points.append(piece.points[:-1])
        length += piece.length_mm
        swell += piece.swell_mm2
    points.append(corners[-1:])
    return Curve(np.concatenate(points), length, swell)


def ellipse(centre: Points, major: Points, ratio: float, span: tuple[float, float], *, flat: float) -> Curve:
    """Draw an arc of an ellipse by its middle and the way from there to the end of the long axis, (2,) each [mm].

    ``ratio`` is the short over the long axis; negative turns the other way. ``span`` holds the parameters of both
    ends [rad].
    """
    minor = np.array([-major[1], major[0]]) * ratio

    def at(t: Points) -> tuple[Points, Points]:
        c, s = np.cos(t)[:, None], np.sin(t)[:, None]
        return centre + major * c + minor * s, minor * c - major * s

    quarters = max(ceil((span[1] - span[0]) / (pi / 4)), 1)
    return _smooth(at, np.linspace(span[0], span[1], quarters + 1), flat=flat)


def spline(degree: int, knots: Points, controls: Points, weights: Points | None, *, flat: float) -> Curve:
    """Draw a B-spline of control points, (n, 2) [mm], rational where weights, (n,) above 0, are given.

    Its knots, (n + degree + 1,), do not fall.
    """
    from scipy.interpolate import BSpline  # heavy: only for drawings with splines

    heavy = np.ones(len(controls)) if weights is None else weights
    curve = BSpline(knots, np.column_stack((controls * heavy[:, None], heavy)), degree)
    slope = curve.derivative()

    def at(t: Points) -> tuple[Points, Points]:
        place, speed = curve(t), slope(t)
        w = place[:, 2:]
        points = place[:, :2] / w
        return points, (speed[:, :2] - points * speed[:, 2:]) / w

    return _smooth(at, np.unique(knots[degree : len(controls) + 1]), flat=flat)


def _smooth(at: _At, breaks: Points, *, flat: float) -> Curve:
    """Draw a curve given by a parameter, smooth between breaks, which rise."""
    t = np.append(np.linspace(breaks[:-1], breaks[1:], 2, endpoint=False, axis=1).ravel(), breaks[-1])
    points, _ = at(t)
    while (far := _stand_off(at, t, points) > flat).any() and len(t) < _MOST_POINTS:
        t = np.sort(np.append(t, (t[:-1] + t[1:])[far] / 2))  # halve only where the chord stands off
        points, _ = at(t)
    length, swept = _integrals(at, t, points[0])
    x, y = (points - points[0]).T
    chords = 0.5 * float(np.dot(x[:-1], y[1:]) - np.dot(y[:-1], x[1:]))
    return Curve(points, length, swept - chords)


def _integrals(at: _At, t: Points, origin: Points) -> tuple[float, float]:
    """Integrate length, and area swept about a point near the curve, which keeps digits far from zero."""
    total = swept = 0.0
    starts, ends = t[:-1], t[1:]
    for _ in range(_MOST_HALVINGS):
        whole, area = _gauss(at, starts, ends, origin)
        middles = (starts + ends) / 2
        halves = _gauss(at, starts, middles, origin)[0] + _gauss(at, middles, ends, origin)[0]
        rough = np.abs(whole - halves) > _ROUGH * max(total + float(halves.sum()), 1e-300)
        if len(starts) > _MOST_POINTS:
            rough[:] = False
        total += float(halves[~rough].sum())
        swept += float(area[~rough].sum())
        if not rough.any():
            return total, swept
        starts, ends = (np.concatenate([starts[rough], middles[rough]]), np.concatenate([middles[rough], ends[rough]]))
    return total + float(whole[rough].sum()), swept + float(area[rough].sum())


def _gauss(at: _At, starts: Points, ends: Points, origin: Points) -> tuple[Points, Points]:
    half = (ends - starts)[:, None] / 2
    place, speed = at((starts[:, None] + half + half * _NODES).ravel())
    place = place - origin
    steps = np.hypot(speed[:, 0], speed[:, 1]).reshape(half.shape[0], -1)
    swept = (place[:, 0] * speed[:, 1] - place[:, 1] * speed[:, 0]).reshape(half.shape[0], -1) / 2
    return (steps * half) @ _WEIGHTS, (swept * half) @ _WEIGHTS


def _stand_off(at: _At, t: Points, points: Points) -> Points:
    """Measure how far the curve's quarter points stand off each chord, or off its ends beyond them."""
    chord = np.diff(points, axis=0)
    size = np.maximum(np.hypot(chord[:, 0], chord[:, 1]), 1e-12)
    worst = np.zeros(len(chord))
    for share in (0.25, 0.5, 0.75):
        way = at(t[:-1] + share * np.diff(t))[0] - points[:-1]
        across = np.abs(chord[:, 0] * way[:, 1] - chord[:, 1] * way[:, 0]) / size
        along = (chord[:, 0] * way[:, 0] + chord[:, 1] * way[:, 1]) / size
        beyond = np.maximum(np.maximum(-along, along - size), 0.0)
        worst = np.maximum(worst, np.hypot(across, beyond))
    return worst
