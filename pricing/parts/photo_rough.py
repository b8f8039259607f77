"""A first guess from a picture without cards: a length that is known, marked by its two ends.

How the camera was tilted is not known then, so every measure has a wide range; it is good for a first
quote and is said to be no more.
"""

from dataclasses import dataclass

import numpy as np

from pricing.basis.errors import BadInput, Problem
from pricing.basis.facts import fact
from pricing.parts.photo_file import Photo
from pricing.parts.photo_plane import Plane

ROUGH = "No cards: a first guess from one marked length. The camera's tilt is not known. Measure before you promise."


@dataclass(frozen=True, slots=True)
class KnownLength:
    """A known length in a picture: its ends, from the upper left corner, as shares of width and height; its mm."""

    start: tuple[float, float]
    end: tuple[float, float]
    length_mm: float


def rough_plane(photo: Photo, known: KnownLength, where: str) -> Plane:
    """Lay a plane by a known length, as if the camera had looked straight down.

    Raises
    ------
    BadInput
        The marks lie outside the picture, or are too near to each other.
    """
    wide, high = photo.size
    ends = np.array([known.start, known.end])
    if ((ends < 0) | (ends > 1)).any():
        raise BadInput(where, [Problem("marks", ends.round(3).tolist(), "within the picture: shares from 0 to 1")])
    far = float(np.hypot(*((ends[1] - ends[0]) * (wide, high))))
    least = fact("photo.least_mark") * max(wide, high)
    if far < least or known.length_mm <= 0:
        told = f"{far:.0f} dots apart, for {known.length_mm:g} mm"
        mend = "Mark a longer known length."
        raise BadInput(where, [Problem("marks", told, f"{least:.0f} dots or more apart", mend)])
    mm = known.length_mm / far
    half = float(np.hypot(wide, high)) / 2
    focal = (photo.f35_mm or fact("photo.focal", "mm")) / float(np.hypot(36.0, 24.0)) * 2 * half
    flat = np.array([0.0, half * mm, 0, 0, 0, -half * mm, 0, 0, 0])
    return Plane((wide, high), flat, np.zeros((9, 9)), np.array([0.0, 0.0, focal * mm]), 0.5, 0, 1.0)
