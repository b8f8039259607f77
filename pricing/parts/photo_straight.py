"""A picture straightened: seen from straight above, in millimetres, to lay outlines on."""

from dataclasses import dataclass
from io import BytesIO

import numpy as np

from pricing.basis.facts import fact
from pricing.parts.photo import PhotoReading

_QUALITY = 82


@dataclass(frozen=True, slots=True)
class Straight:
    """A straightened picture.

    Parameters
    ----------
    jpeg : bytes
        Without any data about place, time or camera.
    low, high : (float, float)
        Its lower left and upper right corner [mm].
    """

    jpeg: bytes
    low: tuple[float, float]
    high: tuple[float, float]


def straighten(got: PhotoReading) -> Straight:
    """Straighten a picture, round its outlines and cards.

    Parameters
    ----------
    got : PhotoReading
        A picture that was read.

    Notes
    -----
    Everything is drawn as it lies on the face of the part, so that outlines fit; cards and ground, which
    lie lower, are a little small.
    """
    import cv2  # heavy: only for pictures
    from PIL import Image

    points = np.concatenate([o.points for o in got.outlines])
    margin = fact("photo.margin", "mm")
    low, high = points.min(axis=0) - margin, points.max(axis=0) + margin
    size = high - low
    dot = max(float(np.sqrt(size[0] * size[1] / fact("photo.shown_pixels"))), 0.05)
    wide, tall = (max(int(length / dot), 2) for length in size)
    x = low[0] + (np.arange(wide) + 0.5) * size[0] / wide
    y = high[1] - (np.arange(tall) + 0.5) * size[1] / tall
    grid = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    lift = 1 - got.raised_mm / got.plane.eye[2]
    eye = got.plane.eye[:2]
    pixels = got.plane.to_px(eye + (grid - eye) / lift).reshape(tall, wide, 2).astype(np.float32)
    dots = cv2.remap(got.photo.dots, pixels[..., 0], pixels[..., 1], cv2.INTER_LINEAR, borderValue=(230, 230, 230))
    out = BytesIO()
    Image.fromarray(dots).save(out, "JPEG", quality=_QUALITY)
    return Straight(out.getvalue(), (float(low[0]), float(low[1])), (float(high[0]), float(high[1])))
