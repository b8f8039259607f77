"""What is ground and what lies on it: the ground's light fitted as a smooth surface, things where it is left.

Takes    a picture in linear light, the cards' places.
Gives    things that stand out: a mask each, and how their light differs from the ground's.
Rules    the rim round each card is ground. Light falls smoothly: its logarithm is a polynomial of third
         degree. What differs by more than the ground's own grain is a thing.
"""

from dataclasses import dataclass

import numpy as np

from pricing.basis.arrays import AnyArray
from pricing.basis.errors import BadInput, Problem
from pricing.basis.facts import fact

_DARK = 0.003  # light added before the logarithm: a black dot has no end
_COARSE = 240  # dots along the longer side, in which the ground is fitted
_DEGREE = 3
_ROUNDS = 8


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """A picture divided by its ground.

    Parameters
    ----------
    share : (h, w, 3) array of float32
        Light over the ground's light: 1 on the ground.
    grain : float
        Standard deviation of the logarithm of the ground's share.
    """

    share: AnyArray
    grain: float


@dataclass(frozen=True, slots=True, eq=False)
class PhotoThing:
    """Something that stands out from the ground.

    Parameters
    ----------
    mask : (h, w) array of bool
        In the box only.
    box : (int, int)
        Left and top of the mask in the ground's array.
    differs : (3,) array
        Its share of the ground's light, less 1.
    cut : bool
        Whether it runs out of the picture.
    touches : bool
        Whether it meets a card.
    """

    mask: AnyArray
    box: tuple[int, int]
    differs: AnyArray
    cut: bool
    touches: bool

    @property
    def contrast(self) -> float:
        """How much lighter or darker it is than the ground: the logarithm, of the channel that tells most."""
        return float(np.abs(np.log(np.maximum(1 + self.differs, 1e-3))).max())


def find_ground(light: AnyArray, cards: AnyArray, rims: AnyArray, *, where: str) -> Ground:
    """Fit the ground of a picture in linear light, (h, w, 3).

    ``cards`` and ``rims``, (h, w) of bool, tell where cards are, and where the ground is known to be seen.

    Raises
    ------
    BadInput
        The ground has no even light: it is patterned, or too little of it is seen.
    """
    import cv2  # heavy: only for pictures

    h, w = light.shape[:2]
    share = _COARSE / max(h, w)
    small = (max(int(w * share), 4), max(int(h * share), 4))
    tone = np.log(cv2.resize(light, small, interpolation=cv2.INTER_AREA).astype(float) + _DARK)
    open_ground = cv2.resize(cards.astype(np.uint8) * 255, small, interpolation=cv2.INTER_AREA) < 8
    rim = cv2.resize(rims.astype(np.uint8) * 255, small, interpolation=cv2.INTER_AREA)
    seed = (rim > 100) & open_ground
    if seed.sum() < 30:
        seed = (rim > 20) & open_ground
    x, y = np.linspace(-1, 1, small[0]), np.linspace(-1, 1, small[1])
    taken, waves = seed, _fit(tone, seed, x, y, degree=1)
    for turn in range(_ROUNDS):
        off = tone - _surface(waves, x, y)
        spread = 1.4826 * np.median(np.abs(off[taken] - np.median(off[taken], axis=0)), axis=0)
        near = (np.abs(off) < np.maximum(3 * spread, fact("photo.ground_step"))).all(axis=2) & open_ground
        joined = _joined_to(near, taken & near)
        if joined.sum() < 20:
            break
        taken = joined
        waves = _fit(tone, taken, x, y, degree=min(1 + turn // 2, _DEGREE))
    if taken.sum() < fact("photo.least_ground") * open_ground.sum():
        told = f"{100 * taken.sum() / max(open_ground.sum(), 1):.0f} % even ground"
        mend = "Lay part and cards on a plain matt sheet, in even light, with a hand's breadth of it round the part."
        raise BadInput(where, [Problem("ground", told, f"{100 * fact('photo.least_ground'):g} % or more", mend)])
    wide_x, wide_y = _between(x, w), _between(y, h)
    divided = np.empty_like(light)
    for channel in range(3):
        surface = _surface(waves[:, :, channel : channel + 1], wide_x, wide_y)[..., 0]
        divided[..., channel] = (light[..., channel] + _DARK) * np.exp(-surface).astype(np.float32)
    fine_taken = cv2.resize(taken.astype(np.uint8), (w, h), interpolation=cv2.INTER_NEAREST).astype(bool)
    tones = np.log(np.maximum(cv2.GaussianBlur(divided, (0, 0), 1.0)[fine_taken][::7].mean(axis=1), 1e-3))
    grain = 1.4826 * float(np.median(np.abs(tones - np.median(tones))))
    if grain > (most := fact("photo.most_grain")):
        mend = "Lay part and cards on a plain matt sheet, and take the picture again."
        raise BadInput(where, [Problem("ground", f"patterned ({grain:.2g})", f"plain: grain up to {most:g}", mend)])
    return Ground(divided, grain)


def _between(coarse: AnyArray, count: int) -> AnyArray:
    """Work out the places of fine dots where coarse ones, each the mean of many, lie at -1 to 1."""
    at = (np.arange(count) + 0.5) / count * len(coarse) - 0.5
    return np.asarray(-1 + 2 * at / (len(coarse) - 1))


def _powers(x: AnyArray) -> AnyArray:
    return np.stack([x**k for k in range(_DEGREE + 1)], axis=1)


def _fit(tone: AnyArray, taken: AnyArray, x: AnyArray, y: AnyArray, *, degree: int) -> AnyArray:
    rows, columns = np.nonzero(taken)
    terms = [(i, j) for i in range(degree + 1) for j in range(degree + 1 - i)]
    matrix = np.stack([y[rows] ** i * x[columns] ** j for i, j in terms], axis=1)
    found, *_ = np.linalg.lstsq(matrix, tone[rows, columns], rcond=None)
    waves = np.zeros((_DEGREE + 1, _DEGREE + 1, 3))
    for (i, j), value in zip(terms, found, strict=True):
        waves[i, j] = value
    return waves


def _surface(waves: AnyArray, x: AnyArray, y: AnyArray) -> AnyArray:
    return np.asarray(np.einsum("ai,ijc,bj->abc", _powers(y), waves, _powers(x), optimize=True))


def _joined_to(near: AnyArray, seed: AnyArray) -> AnyArray:
    import cv2  # heavy: only for pictures

    _, labels = cv2.connectedComponents(near.astype(np.uint8), connectivity=4)
    counts = np.bincount(labels[seed], minlength=2)
    good = np.flatnonzero(counts >= 5)
    return np.asarray(np.isin(labels, good[good > 0]) & near)


def find_things(ground: Ground, cards: AnyArray, least_px: float) -> list[PhotoThing]:
    """Find what stands out from the ground, the largest first: no card, and no smaller than so many pixels."""
    import cv2  # heavy: only for pictures

    step = max(fact("photo.grains") * ground.grain, fact("photo.least_contrast"))
    calm = cv2.GaussianBlur(ground.share, (0, 0), 1.0)
    tones = np.log(np.maximum(calm, 1e-3))
    out = (np.abs(tones).max(axis=2) > step).astype(np.uint8)
    out[cards] = 0
    out = cv2.morphologyEx(out, cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
    count, labels, boxes, _ = cv2.connectedComponentsWithStats(out, connectivity=4)
    near_cards = cv2.dilate(cards.astype(np.uint8), np.ones((5, 5), np.uint8)).astype(bool)
    order = sorted(range(1, count), key=lambda k: -boxes[k, cv2.CC_STAT_AREA])[: int(fact("photo.most_things"))]
    things: list[PhotoThing] = []
    for k in order:
        if boxes[k, cv2.CC_STAT_AREA] < least_px:
            break
        things += _halves(calm, labels == k, boxes[k, :4].tolist(), near_cards, least_px)
    return sorted(things, key=lambda thing: -int(thing.mask.sum()))


def _halves(calm: AnyArray, whole: AnyArray, box: list[int], near_cards: AnyArray, least_px: float) -> list[PhotoThing]:
    """Cut a thing where its light is half way to the ground's, which leaves its shadow behind."""
    import cv2  # heavy: only for pictures

    h, w = whole.shape
    left, top = max(box[0] - 3, 0), max(box[1] - 3, 0)
    window = np.s_[top : min(box[1] + box[3] + 3, h), left : min(box[0] + box[2] + 3, w)]
    inside = whole[window]
    padded = np.pad(inside.astype(np.uint8), 1)
    depth = cv2.distanceTransform(padded, cv2.DIST_L2, 3)[1:-1, 1:-1]
    core = depth > 0.5 * depth.max()
    differs = np.median(calm[window][core], axis=0) - 1
    strength = float(differs @ differs)
    if strength <= 0:
        return []
    half = (calm[window] - 1) @ differs > 0.5 * strength
    half &= cv2.dilate(inside.astype(np.uint8), np.ones((5, 5), np.uint8)).astype(bool) & ~near_cards[window]
    half &= ~_shaded_holes(half, calm[window], differs)
    half = cv2.morphologyEx(half.astype(np.uint8), cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(half, connectivity=4)
    found = []
    touching = cv2.dilate(near_cards[window].astype(np.uint8), np.ones((5, 5), np.uint8)).astype(bool)
    for k in range(1, count):
        if stats[k, cv2.CC_STAT_AREA] < least_px:
            continue
        mask = labels == k
        rows, columns = np.nonzero(mask)
        cut = min(rows.min() + top, columns.min() + left, h - 1 - rows.max() - top, w - 1 - columns.max() - left) < 3
        touches = bool((mask & touching).any())
        found.append(PhotoThing(mask, (left, top), differs, bool(cut), touches))
    return found


def _shaded_holes(half: AnyArray, calm: AnyArray, differs: AnyArray) -> AnyArray:
    """Find ground inside metal that lies in its shadow: less than half as light, but far from the metal's light."""
    import cv2  # heavy: only for pictures

    lines, _ = cv2.findContours(half.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    filled = cv2.drawContours(np.zeros(half.shape, np.uint8), lines, -1, 1, cv2.FILLED)
    inner = cv2.erode(filled, np.ones((7, 7), np.uint8)).astype(bool)
    metal = np.log(np.maximum(1 + differs, 1e-3))
    far = float(metal @ metal)
    toward = ((metal - np.log(np.maximum(calm, 1e-3))) @ metal) / max(far, 1e-9)
    return np.asarray(inner & (toward > fact("photo.shaded_hole")) & (toward * far**0.5 > fact("photo.least_contrast")))
