"""Where a fingertip does not reach, and the smallest box around a part.

A fingertip in a cloth is a disc. Pushed along the air beside an edge it misses what an opening by
that disc takes away: sharp inner corners, narrow slots, small holes. What it misses by more than a
little needs a swab: a spot.
"""

from collections.abc import Sequence
from math import ceil

import numpy as np

from pricing.basis.facts import fact
from pricing.parts.curves import Points
from pricing.parts.nesting import Plate, batches, polygons

_ROUND = 16  # chords in a quarter of the fingertip: 0.1 % of its radius


def spots(
    plates: Sequence[Plate], finger_mm: float, *, plugged: set[int], wiped: dict[int, tuple[Points, ...] | None]
) -> tuple[list[int], Points]:
    """Count the spots of each plate, and tell where they are, (n, 2) [mm], one point for each nook.

    Parameters
    ----------
    plates : sequence of Plate
        As nested.
    finger_mm : float
        Radius of the fingertip in its cloth [mm].
    plugged : set of int
        Outlines that are plugged, where nothing is wiped.
    wiped : dict
        Stretches of outlines that are wiped, by number; None is the whole outline.
    """
    import shapely  # heavy: only where a drawing is read

    counts = [0] * len(plates)
    where: list[Points] = []
    plate_of = {outline.id: k for k, plate in enumerate(plates) for outline in (plate.outer, *plate.holes)}
    outers = [plate.outer for plate in plates if wiped[plate.outer.id] != ()]
    holes = [hole for plate in plates for hole in plate.holes if hole.id not in plugged and wiped[hole.id] != ()]
    for outlines, outside in ((outers, True), (holes, False)):
        for batch in batches(outlines):
            metal = shapely.simplify(polygons(batch), 2 * fact("drawing.flatten", "millimeter"))
            air = metal
            if outside:
                air = shapely.difference(shapely.buffer(shapely.convex_hull(metal), 3 * finger_mm), metal)
            nooks, owner = shapely.get_parts(_missed(air, finger_mm), return_index=True)
            for nook, job in zip(nooks, owner.tolist(), strict=True):
                outline = batch[job]
                if nook.area > 0 and _near(nook, wiped[outline.id]):
                    counts[plate_of[outline.id]] += _count(nook.length)
                    where.append(shapely.get_coordinates(shapely.point_on_surface(nook)))
    return counts, np.concatenate(where) if where else np.zeros((0, 2))


def _missed(air: object, finger_mm: float) -> object:
    import shapely  # heavy: only where a drawing is read

    def grown(shape: object, by: float) -> object:
        return shapely.buffer(shape, by, quad_segs=_ROUND)

    reached = grown(grown(air, -finger_mm), finger_mm + fact("drawing.nook_depth", "millimeter"))
    return shapely.difference(air, reached)


def _near(nook: object, lines: tuple[Points, ...] | None) -> bool:
    if lines is None:
        return True
    import shapely  # heavy: only where a drawing is read

    reach = fact("drawing.nook_depth", "millimeter")
    return any(shapely.dwithin(nook, shapely.linestrings(points), reach) for points in lines)


def _count(around_mm: float) -> int:
    """Count a long nook once for each length that one swab wipes."""
    return max(ceil(around_mm / 2 / fact("drawing.spot_length", "millimeter") - 1e-6), 1)


def envelope(points: Points) -> tuple[float, float, Points]:
    """Work out the smallest rectangle around points: short side, long side [mm], and the way of the long one.

    Of rectangles with the same area (every triangle has three) the most compact counts.

    >>> square = np.array([[0.0, 1.0], [1.0, 0.0], [0.0, -1.0], [-1.0, 0.0]])
    >>> short, long, _ = envelope(square)
    >>> round(short, 3), round(long, 3)
    (1.414, 1.414)
    """
    import shapely  # heavy: only where a drawing is read

    hull = shapely.get_coordinates(shapely.convex_hull(shapely.multipoints(points)))
    sides = np.diff(hull, axis=0)
    if len(sides) > 4096:
        sides = sides[:: len(sides) // 2048]  # a hull this fine is round
    along = sides / np.hypot(sides[:, 0], sides[:, 1])[:, None]
    across = along[:, ::-1] * (-1.0, 1.0)
    width, height = (
        np.concatenate([np.ptp(hull @ ways[k : k + 256].T, axis=0) for k in range(0, len(ways), 256)])
        for ways in (along, across)
    )
    long, area = np.maximum(width, height), width * height
    k = int(np.argmin(np.where(area <= area.min() * (1 + 1e-9), long, np.inf)))
    return float(min(width[k], height[k])), float(long[k]), along[k] if width[k] >= height[k] else across[k]
