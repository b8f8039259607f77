"""A first guess from a picture without cards: a length that is known, marked by its two ends.

How the camera was tilted is not known then, so every measure has a wide range; it is good for a first
quote and is said to be no more.

Takes    a picture, two marks in it, the length between them.
Gives    a `PhotoReading` with wide doubts.
"""

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from pricing.basis.errors import BadInput, Problem
from pricing.basis.facts import fact
from pricing.parts.bounds import need
from pricing.parts.photo import PhotoReading, Taken, Traces, check_taken, photo_measured
from pricing.parts.photo_cards import need_photos
from pricing.parts.photo_doubt import Doubt, Span
from pricing.parts.photo_file import read_photo_file
from pricing.parts.photo_outline import find_outlines
from pricing.parts.photo_plane import Plane
from pricing.parts.reading import Choices

_ROUGH = "No cards: a first guess from one marked length. The camera's tilt is not known. Measure before you promise."


@dataclass(frozen=True, slots=True)
class KnownLength:
    """A known length in a picture.

    Parameters
    ----------
    start, end : (float, float)
        Its ends, from the picture's upper left corner, as shares of its width and height.
    length_mm : float
        Between them [mm].
    """

    start: tuple[float, float]
    end: tuple[float, float]
    length_mm: float


def look_roughly(path: Path, taken: Taken, known: KnownLength) -> Traces:
    """Find outlines in a picture without cards.

    Parameters
    ----------
    path : Path
        JPEG, PNG or HEIC.
    taken : Taken
        Of which the thickness is used.
    known : KnownLength
        The marked length, on the part's upper face.

    Raises
    ------
    BadInput
        As `look`; or the marks are too near to each other.
    """
    where = str(path)
    need_photos(where)
    need(where, "shapely")
    check_taken(taken, where)
    photo = read_photo_file(path)
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
    plane = Plane((wide, high), flat, np.zeros((9, 9)), np.array([0.0, 0.0, focal * mm]), 0.5, 0, 1.0)
    traced, notes = find_outlines(photo, plane, np.zeros((0, 4, 2)), thickness_mm=0.0, above_mm=0.0, where=where)
    return Traces(photo=photo, plane=plane, traced=tuple(traced), notes=(_ROUGH, *notes), taken=taken)


def measured_roughly(traces: Traces, taken: Taken, *, chosen: Choices | None = None) -> PhotoReading:
    """Measure a picture without cards.

    Parameters
    ----------
    traces : Traces
        Of `look_roughly`.
    taken, chosen
        As for `photo_measured`.

    Raises
    ------
    BadInput
        As `photo_measured`.
    """
    got = photo_measured(traces, taken, chosen=chosen)
    return replace(got, doubts=tuple(_wide(doubt) for doubt in got.doubts), raised_mm=0.0)


def _wide(doubt: Doubt) -> Doubt:
    shares = {name: fact("photo.rough_area") for name in ("area_m2", "volume_m3")}
    shares |= {name: fact("photo.rough_length") for name in ("edge_m", "line_m", "width_mm", "height_mm")}
    spans = dict(doubt.spans)
    for name, share in shares.items():
        middle = spans[name].middle
        spans[name] = Span(low=middle / (1 + share), middle=middle, high=middle * (1 + share))
    return Doubt(spans=spans, reasons={"tilt that is not known": 1.0})
