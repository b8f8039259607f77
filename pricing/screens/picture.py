"""A map as a picture: some kilobytes to the browser where its rows would be megabytes.

Room     screens. Imports basis.
"""

from io import BytesIO

import numpy as np
import numpy.typing as npt

from pricing.basis.errors import BadInput, Problem

LOSS, EVEN, GAIN = (178, 88, 0), (247, 247, 247), (46, 90, 150)
"""Brown for loss, near white for nothing, blue for gain: told apart by colour-blind people too."""


def png_of(values: npt.NDArray[np.float64], *, most: float) -> bytes:
    """Paint a map: brown below zero, blue above, the deeper the farther from it.

    Parameters
    ----------
    values : (n, m) array
        First row at the bottom.
    most : float
        Distance from zero that is painted deepest; what lies beyond looks the same.

    Returns
    -------
    bytes
        A PNG file of n x m dots.

    Raises
    ------
    BadInput
        The map has no dots, or ``most`` is not above zero.
    """
    if values.ndim != 2 or not values.size or not most > 0:
        accepts = "a map of rows and columns, and a depth above 0"
        raise BadInput("picture", [Problem("map", f"{values.shape}, {most}", accepts)])
    from PIL import Image  # heavy: only where a map is painted

    shade = np.multiply(values[::-1], 127.0 / most)
    np.clip(shade, -127.0, 127.0, out=shade)
    shade += 128.0
    picture = Image.fromarray(shade.astype(np.uint8))
    picture.putpalette(_palette())
    out = BytesIO()
    picture.save(out, "PNG")
    return out.getvalue()


def _palette() -> bytes:
    depth = (np.arange(256) - 128.0) / 127.0
    ends = np.where(depth[:, None] < 0, LOSS, GAIN)
    mixed = np.array(EVEN) + (ends - np.array(EVEN)) * np.minimum(np.abs(depth), 1.0)[:, None]
    return bytes(mixed.round().astype(np.uint8).tobytes())
