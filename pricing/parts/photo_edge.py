"""The edge of a thing in a picture, found finer than a pixel, with what is known of each place along it.

Takes    a thing's mask and the picture.
Gives    its rings: points, where they were seen, how soft the light steps there.
Rules    the edge is where light is half way between what lies a little inside and a little outside, in
         linear light: blur then does not move a straight edge.
"""

from dataclasses import dataclass, replace

import numpy as np

from pricing.basis.arrays import AnyArray
from pricing.basis.facts import fact
from pricing.parts.curves import around, shoelace
from pricing.parts.photo_cards import crossings, profiles
from pricing.parts.photo_file import to_light
from pricing.parts.photo_ground import PhotoThing

_PASSES = 2
_STEP = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class Ring:
    """A closed line round a thing or a hole of it.

    Parameters
    ----------
    points : (n, 2) array
        About one pixel apart; the last is not the first again [px].
    outwards : (n, 2) array
        Unit vectors away from the metal.
    seen : (n,) array of bool
        Whether a sharp edge was found there, not the soft rim of a shadow or of gloss.
    soft_px : float
        Blur across it, standard deviation [px].
    shade : float
        How much darker the ground beside the edge is than farther away, as a share: a shadow.
    hole : bool
        Whether it is a hole.
    """

    points: AnyArray
    outwards: AnyArray
    seen: AnyArray
    soft_px: float
    shade: float
    hole: bool


def trace(dots: AnyArray, thing: PhotoThing, scale: float, soft_px: float) -> list[Ring]:
    """Find the rings of a thing in the picture's dots, (h, w, 3) of uint8, its outer one first.

    The thing was found in the picture made smaller by ``scale``; ``soft_px`` is the blur at the cards [px].
    """
    import cv2  # heavy: only for pictures

    padded = np.pad(thing.mask.astype(np.uint8), 1)
    lines, order = cv2.findContours(padded, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    if not lines:
        return []
    reach = float(np.clip(2.5 * soft_px + 3.0, 4.0, 14.0))
    corner = np.array(thing.box) - 1
    wide, high = padded.shape[1] / scale, padded.shape[0] / scale
    origin = np.floor((corner - 2) / scale - 2 * reach).clip(0).astype(int)
    end = (origin + np.ceil([wide + 4 * reach + 8, high + 4 * reach + 8])).astype(int)
    light = to_light(dots[origin[1] : end[1], origin[0] : end[0]])
    rings = []
    for line, (_, _, _, parent) in zip(lines, np.reshape(order, (-1, 4)).tolist(), strict=True):
        rough = (line.reshape(-1, 2) + corner + 0.5) / scale - 0.5 - origin
        if len(rough) < 8:
            continue
        ring = _fine(light, rough.astype(float), reach, soft_px, hole=parent >= 0)
        if ring is not None:
            rings.append(replace(ring, points=ring.points + origin))
    return sorted(rings, key=lambda ring: (ring.hole, -len(ring.points)))


def _fine(light: AnyArray, line: AnyArray, reach: float, usual_px: float, *, hole: bool) -> Ring | None:
    from scipy.ndimage import median_filter  # heavy: only where a picture is read

    if hole:  # no farther into it than its middle
        reach = float(np.clip(2 * abs(shoelace(line)) / max(around(line), 1.0), 2.5, reach))
    line = evenly(_calm(line, 2.0))
    steps = np.arange(-reach, reach + _STEP / 2, _STEP)
    rim = max(int(2.0 / _STEP), 3)
    clear = int(np.searchsorted(steps, min(2.7 * usual_px + 0.3, reach - 1.5)))  # where the blur has died away
    for number in range(_PASSES):
        if len(line) < 12:
            return None
        outwards = _outwards(line, hole=hole)
        rows = profiles(light, line, outwards, steps)
        inside, outside = np.median(rows[:, :rim], axis=1), np.median(rows[:, -rim:], axis=1)
        near = rows[:, clear : clear + rim].mean(axis=1)
        run = min(21, len(line) // 2 * 2 - 1)
        inside, outside, near = (median_filter(side, size=(run, 1), mode="wrap") for side in (inside, outside, near))
        outside = _at_the_edge(near, outside, float(steps[clear]) + 0.75, reach - 1.0)
        differs = inside - outside
        strength = np.maximum((differs**2).sum(axis=1), 1e-12)
        rise = 1 - ((rows - outside[:, None, :]) * differs[:, None, :]).sum(axis=2) / strength[:, None]
        place = crossings(rise, steps, np.full(len(rise), 0.5))
        if float(np.mean(differs)) < 0:  # dark metal: a narrow shadow beside it looks like more metal
            place = _before_shadow(rise, steps, place, usual_px)
        seen = np.isfinite(place) & (np.abs(place) < reach * 0.8)
        if seen.sum() < 0.3 * len(line):
            place, seen = np.zeros(len(line)), np.zeros(len(line), dtype=bool)
        else:
            at = np.arange(len(line))
            place = np.where(seen, place, np.interp(at, at[seen], place[seen], period=len(line)))
            usual = median_filter(place, size=min(9, run), mode="wrap")
            place = np.where(np.abs(place - usual) > 1.5, usual, place)
        line = line + place[:, None] * outwards
        if number + 1 < _PASSES:
            line = evenly(line)
    tones = np.abs(np.log((inside + 0.003) / (outside + 0.003))).max(axis=1)
    width = crossings(rise, steps, np.full(len(rise), 0.75)) - crossings(rise, steps, np.full(len(rise), 0.25))
    good = seen & np.isfinite(width)
    soft = float(np.median(width[good])) / 1.349 if good.any() else reach
    far = profiles(light, line, outwards, np.array([reach, 4 * reach]))
    shade = float(np.median(1 - np.minimum(far[:, 0].mean(axis=1) / np.maximum(far[:, 1].mean(axis=1), 1e-3), 1.0)))
    local = median_filter(np.where(np.isfinite(width), width, 2 * reach), size=run, mode="wrap") / 1.349
    seen &= (tones > fact("photo.least_edge")) & (local < fact("photo.gloss_soft") * usual_px + 0.5)
    return Ring(line, outwards, seen, abs(soft), shade, hole)


def _before_shadow(rise: AnyArray, steps: AnyArray, place: AnyArray, usual_px: float) -> AnyArray:
    """Find the edge from its dark side, where blur alone makes the light rise: by the quarter, and the cards' blur."""
    quarter = crossings(rise, steps, np.full(len(rise), 0.25))
    guess = quarter + 0.6745 * usual_px  # of a normal law, from its quarter to its middle
    return np.where(np.isfinite(guess), np.clip(guess, place - 1.0, place + 0.15), place)


def _at_the_edge(near: AnyArray, far: AnyArray, near_px: float, far_px: float) -> AnyArray:
    """Work out the ground's light right beside the edge: it falls towards the part, whose shade lies on it."""
    if far_px - near_px < 1.0:  # a hole too small to tell
        return far
    falls = (far - near) / max(far_px - near_px, 0.5) * near_px
    return np.asarray(np.clip(near - falls, 0.6 * far, 1.2 * far))


def _calm(line: AnyArray, sigma: float) -> AnyArray:
    from scipy.ndimage import gaussian_filter1d  # heavy: only where a picture is read

    return np.asarray(gaussian_filter1d(line, sigma, axis=0, mode="wrap"))


def evenly(line: AnyArray, step: float = 1.0) -> AnyArray:
    """Put points of a closed line so far apart, (m, 2)."""
    closed = np.vstack((line, line[:1]))
    along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))))
    count = max(round(along[-1] / step), 4)
    at = np.arange(count) * along[-1] / count
    return np.column_stack([np.interp(at, along, closed[:, k]) for k in (0, 1)])


def _outwards(line: AnyArray, *, hole: bool) -> AnyArray:
    calm = _calm(line, 1.5)
    way = np.roll(calm, -2, axis=0) - np.roll(calm, 2, axis=0)
    way /= np.maximum(np.hypot(*way.T), 1e-9)[:, None]
    normal = np.column_stack((way[:, 1], -way[:, 0])) * (np.sign(shoelace(line)) or 1.0)
    return np.asarray(-normal if hole else normal)
