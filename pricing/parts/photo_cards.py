"""Cards that lie beside a part: their printed sizes, and where they are in a picture.

A card is a white square with a black marker of the ArUco kind in its middle (Garrido-Jurado and others, 2014;
the dictionary of 50 markers with 4 × 4 cells). Its sides are found again finer than a pixel, in many places
each, so that a bent lens shows.

Takes    a picture in linear light.
Gives    for each card its number and points along its four sides.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from pricing.basis.arrays import AnyArray

CARD_MM: Final = 80.0
"""Side of a card, as printed at true size."""
MARKER_MM: Final = 60.0
"""Side of its black marker."""
RULER_MM: Final = 100.0
"""Length of the check ruler on the printed page."""
CARDS: Final = 4
"""Cards in a set; their numbers are 0 to 3."""
_CELLS = 6  # of the marker's side, its black border counted
_TRIES = 24  # places along a side
_KEEP = 0.08  # share of a side, at each end, where the corner's blur would show


@dataclass(frozen=True, slots=True, eq=False)
class Card:
    """A card in the picture.

    Parameters
    ----------
    number : int
        0 to 3.
    corners : (4, 2) array
        Of its marker: top left, top right, bottom right, bottom left, as printed [px].
    sides : tuple of (n, 2) arrays
        Points along top, right, bottom and left side [px].
    soft_px : float
        Standard deviation of the blur across its sides [px].
    """

    number: int
    corners: AnyArray
    sides: tuple[AnyArray, ...]
    soft_px: float


def marker_cells(number: int) -> AnyArray:
    """Work out a marker's cells, (6, 6) of bool, True where it is white; the first row is its top."""
    import cv2  # heavy: only for pictures

    book = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    return np.asarray(cv2.aruco.generateImageMarker(book, number, _CELLS, borderBits=1) > 127)


def find_cards(grey: AnyArray, light: AnyArray) -> tuple[Card, ...]:
    """Find the cards of a picture, in the order of their numbers.

    ``grey``, (h, w) of uint8, is as a screen shows it, ``light`` the same in linear light, in which a blurred edge
    has its middle where the edge is. One that is seen twice is left out, for it is no card of one set.
    """
    import cv2  # heavy: only for pictures

    ask = cv2.aruco.DetectorParameters()
    ask.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    ask.minMarkerPerimeterRate = 0.06
    book = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    half = max(grey.shape) > 2600  # found in a smaller picture, measured in the whole one
    small = cv2.resize(grey, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA) if half else grey
    squares, numbers, _ = cv2.aruco.ArucoDetector(book, ask).detectMarkers(small)
    found: dict[int, Card | None] = {}
    named = [] if numbers is None else [int(number) for number in np.ravel(numbers)]
    for square, number in zip(squares, named, strict=True):
        if number < CARDS:
            corners = square.reshape(4, 2).astype(float) * (2.0 if half else 1.0) + (0.5 if half else 0.0)
            found[number] = None if number in found else _measured(number, corners, light)
    return tuple(card for _, card in sorted(found.items()) if card is not None)


def _measured(number: int, corners: AnyArray, light: AnyArray) -> Card:
    sides, soft = [], []
    for k in range(4):
        start, end = corners[k], corners[(k + 1) % 4]
        way = end - start
        long = float(np.hypot(*way))
        outwards = np.array([way[1], -way[0]]) / long
        at = start + np.linspace(_KEEP, 1 - _KEEP, _TRIES)[:, None] * way
        reach = min(0.8 * long / _CELLS, 25.0)
        steps = np.arange(-reach, reach + 0.25, 0.5)
        rows = profiles(light, at, np.broadcast_to(outwards, at.shape), steps)
        third = max(len(steps) // 4, 2)
        low, high = np.median(rows[:, :third], axis=1), np.median(rows[:, -third:], axis=1)
        good = high - low > 0.5 * np.median(high - low)
        crossing = crossings(rows, steps, (low + high) / 2)
        good &= np.isfinite(crossing)
        sides.append(at[good] + crossing[good, None] * outwards)
        share = (rows - low[:, None]) / np.maximum(high - low, 1e-6)[:, None]
        wide = crossings(share, steps, np.full(len(rows), 0.75)) - crossings(share, steps, np.full(len(rows), 0.25))
        soft += wide[np.isfinite(wide)].tolist()
    return Card(number, corners, tuple(sides), float(np.median(soft)) / 1.349 if soft else 9.0)


def profiles(light: AnyArray, at: AnyArray, outwards: AnyArray, steps: AnyArray) -> AnyArray:
    """Read a picture along short lines across an edge: (n, m) values, or (n, m, channels).

    ``at`` and ``outwards``, (n, 2), are the middle and the direction of each line, ``steps``, (m,), the places
    along it [px].
    """
    import cv2  # heavy: only for pictures

    places = at[:, None, :] + steps[None, :, None] * outwards[:, None, :]
    x, y = places[..., 0].astype(np.float32), places[..., 1].astype(np.float32)
    return np.asarray(cv2.remap(light, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE), dtype=float)


def crossings(rows: AnyArray, steps: AnyArray, level: AnyArray) -> AnyArray:
    """Work out where each row rises through its level, the place nearest the middle; nan where it does not. (n,)"""
    above = rows >= level[:, None]
    up = ~above[:, :-1] & above[:, 1:]
    mid = np.abs((steps[:-1] + steps[1:]) / 2)
    best = np.argmin(np.where(up, mid[None, :], np.inf), axis=1)
    rows_at = np.arange(len(rows))
    low, high = rows[rows_at, best], rows[rows_at, best + 1]
    share = (level - low) / np.where(high > low, high - low, 1.0)
    found = steps[best] + share * (steps[1] - steps[0])
    return np.where(up.any(axis=1), found, np.nan)
