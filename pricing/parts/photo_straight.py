"""A picture straightened: seen from straight above, in millimetres, to lay outlines on."""

from io import BytesIO

import numpy as np

from pricing.basis.facts import fact
from pricing.parts.photo import PhotoReading
from pricing.parts.preview import Under

_QUALITY = 82


def straighten(got: PhotoReading) -> Under:
    """Straighten a picture that was read, round its outlines; no data about place, time or camera goes along.

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
    photo, plane, taken = got.traces.photo, got.traces.plane, got.traces.taken
    lift = 1 - (taken.raised_mm if plane.cards else 0.0) / plane.eye[2]
    eye = plane.eye[:2]
    pixels = plane.to_px(eye + (grid - eye) / lift).reshape(tall, wide, 2).astype(np.float32)
    dots = cv2.remap(photo.dots, pixels[..., 0], pixels[..., 1], cv2.INTER_LINEAR, borderValue=(230, 230, 230))
    out = BytesIO()
    Image.fromarray(dots).save(out, "JPEG", quality=_QUALITY)
    return Under(out.getvalue(), (float(low[0]), float(low[1])), (float(high[0]), float(high[1])))
