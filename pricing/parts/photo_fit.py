"""From points of an edge to straight lines, bends and circles, so that its length is no sum of noise.

Takes    points of a closed ring in mm, about a pixel apart.
Gives    curves: stretches between corners, or one circle.
Rules    a stretch is straight when its points lie on a line within their noise. Else it is smoothed by
         parabolas over a few points. Corners are where the lines of their stretches meet.
"""

from math import pi

import numpy as np

from pricing.basis.arrays import AnyArray
from pricing.basis.facts import fact
from pricing.parts.curves import Curve, arc, line, turn_deg
from pricing.parts.photo_edge import evenly

_WINDOW = 15  # points of a smoothing parabola


def fit_ring(points: AnyArray, dot_mm: float, soft_px: float, *, corners: bool = True) -> list[Curve]:
    """Fit curves to a ring, in walking order: each ends where the next begins.

    Parameters
    ----------
    points : (n, 2) array
        In order; the last is not the first again [mm].
    dot_mm : float
        Size of a pixel there [mm].
    soft_px : float
        Blur, standard deviation: so near to a corner its points are not used [px].
    corners : bool
        Whether corners are looked for; without them all is one bend.
    """
    points = evenly(points, dot_mm)
    round_one = _circle(points, dot_mm)
    if round_one is not None:
        return [round_one]
    at = _corners(points, dot_mm) if corners else np.array([], dtype=int)
    at = _merged(at, len(points), 1.0 + soft_px)
    if len(at) < 2:
        smooth = _smoothed(points, closed=True)
        return [line(np.vstack((smooth, smooth[:1])))]
    stretches = [_run(points, a, b) for a, b in zip(at, np.roll(at, -1), strict=True)]
    skip = 1.0 + 1.5 * soft_px
    bodies = [_body(stretch, dot_mm, skip) for stretch in stretches]
    meets = [_meet(bodies[k - 1], bodies[k], points[at[k]], (1.5 + 2 * soft_px) * dot_mm) for k in range(len(at))]
    curves = []
    for k, (straight, body) in enumerate(bodies):
        start, end = meets[k], meets[(k + 1) % len(meets)]
        inner = np.zeros((0, 2)) if straight else body[1:-1]
        curves.append(line(np.vstack((start, inner, end))))
    return curves


def _circle(points: AnyArray, dot_mm: float) -> Curve | None:
    """Fit a circle (Kåsa, 1976); None where the points do not lie on one."""
    middle = points.mean(axis=0)
    local = points - middle
    matrix = np.column_stack((2 * local, np.ones(len(local))))
    (x, y, c), *_ = np.linalg.lstsq(matrix, (local**2).sum(axis=1), rcond=None)
    radius = float(np.sqrt(max(c + x * x + y * y, 1e-12)))
    off = np.hypot(local[:, 0] - x, local[:, 1] - y) - radius
    angle = np.unwrap(np.arctan2(local[:, 1] - y, local[:, 0] - x))
    if abs(abs(angle[-1] - angle[0]) - 2 * pi) > 0.5:
        return None
    allowed = max(fact("photo.round_px") * dot_mm, fact("photo.round_share") * radius)
    if float(np.sqrt(np.mean(off**2))) > allowed:
        return None
    centre = (float(middle[0] + x), float(middle[1] + y))
    return arc(centre, radius, 0.0, 2 * pi, flat=fact("drawing.flatten", "millimeter"))


def _corners(points: AnyArray, dot_mm: float) -> AnyArray:
    """Work out where the ring turns sharply: places in ``points``."""
    import cv2  # heavy: only for pictures

    slack = fact("photo.corner_px") * dot_mm
    start = int(np.argmax(((points - points.mean(axis=0)) ** 2).sum(axis=1)))  # a far point: no straight run's middle
    turned = np.roll(points, -start, axis=0).astype(np.float32)
    kept = cv2.approxPolyDP(turned.reshape(-1, 1, 2), slack, closed=True).reshape(-1, 2)
    at = [int(np.argmin(((turned - one) ** 2).sum(axis=1))) for one in kept]
    at = sorted({(k + start) % len(points) for k in at})
    if len(at) < 3:
        return np.array([], dtype=int)
    ways = []
    for a, b in zip(at, np.roll(at, -1), strict=True):
        run = _run(points, a, b)
        trim = min(2, max((len(run) - 4) // 2, 0))
        ways.append(_direction(run[trim : len(run) - trim]))
    turns = turn_deg(np.roll(ways, 1, axis=0), np.array(ways))
    return np.array(at)[turns > fact("outline.corner", "degree")]


def _merged(at: AnyArray, count: int, near: float) -> AnyArray:
    """Make one corner of those that blur made of it: so near to each other that no edge lies between."""
    if len(at) < 4:
        return at
    gaps = (np.roll(at, -1) - at) % count
    wide = np.flatnonzero(gaps > near)
    if len(wide) < 3:
        return at
    merged = []
    for a, b in zip(wide, np.roll(wide, -1), strict=True):
        first, last = at[(a + 1) % len(at)], at[b]
        merged.append(int(first + ((last - first) % count) // 2) % count)
    return np.array(sorted(set(merged)), dtype=int)


def _run(points: AnyArray, a: int, b: int) -> AnyArray:
    return points[a : b + 1] if b > a else np.vstack((points[a:], points[: b + 1]))


def _direction(points: AnyArray) -> AnyArray:
    local = points - points.mean(axis=0)
    _, _, ways = np.linalg.svd(local, full_matrices=False)
    return np.asarray(ways[0] * (np.sign(ways[0] @ (points[-1] - points[0])) or 1.0))


def _body(stretch: AnyArray, dot_mm: float, skip: float) -> tuple[bool, AnyArray]:
    """Work out whether a stretch is straight, and its points: the two ends of its line, or the smoothed bend."""
    trim = min(int(np.ceil(skip)), max((len(stretch) - 6) // 2, 0))
    inner = stretch[trim : len(stretch) - trim]
    if len(inner) < 3:
        return True, stretch[[0, -1]]
    way, middle = _direction(inner), inner.mean(axis=0)
    off = (inner - middle) @ np.array([-way[1], way[0]])
    if float(np.sqrt(np.mean(off**2))) < fact("photo.straight_px") * dot_mm:
        along = (inner - middle) @ way
        return True, middle + np.array([along.min(), along.max()])[:, None] * way
    return False, _smoothed(inner, closed=False)


def _smoothed(points: AnyArray, *, closed: bool) -> AnyArray:
    from scipy.signal import savgol_filter  # heavy: only where a picture is read

    window = min(_WINDOW, (len(points) - 1) // 2 * 2 + 1)
    if window < 5:
        return points
    return np.asarray(savgol_filter(points, window, 2, axis=0, mode="wrap" if closed else "interp"))


def _meet(before: tuple[bool, AnyArray], after: tuple[bool, AnyArray], corner: AnyArray, far: float) -> AnyArray:
    """Work out where two stretches meet when each goes on straight; the corner as found where that lies far off."""
    (p, u), (q, v) = _end(before, last=True), _end(after, last=False)
    cross = u[0] * v[1] - u[1] * v[0]
    if abs(cross) < 0.15:
        return (p + q) / 2
    t = ((q - p)[0] * v[1] - (q - p)[1] * v[0]) / cross
    met = p + t * u
    return np.asarray(met if np.hypot(*(met - corner)) < far else corner)


def _end(body: tuple[bool, AnyArray], *, last: bool) -> tuple[AnyArray, AnyArray]:
    straight, points = body
    if straight:
        way = points[-1] - points[0]
        return points[-1 if last else 0], way / max(float(np.hypot(*way)), 1e-9)
    some = points[-8:] if last else points[:8]
    return some[-1 if last else 0], _direction(some)
