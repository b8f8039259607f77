"""A picture from a phone, read whole and bounded; its place and everything else it tells is dropped but the lens.

Takes    a JPEG, PNG or HEIC file, and how it was taken.
Gives    its dots, turned as it is looked at, and the focal length where it is told.
"""

import warnings
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

import numpy as np

from pricing.basis.arrays import AnyArray
from pricing.basis.errors import BadInput, Problem
from pricing.basis.facts import fact
from pricing.parts.bounds import open_file
from pricing.parts.photo_cards import RULER_MM

PICTURE_KINDS = (".jpg", ".jpeg", ".png", ".heic", ".heif")
"""Ends of the names of pictures."""
_TAKE = "Take it with the phone's camera and save it as JPEG, PNG or HEIC."
_EXIF, _FOCAL_35 = 0x8769, 0xA405  # EXIF 2.32: FocalLengthIn35mmFilm


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """How a picture was taken.

    Parameters
    ----------
    thickness_mm : float
        Of the part [mm].
    above_mm : float
        Its lower face over the cards' plane [mm].
    ruler_mm : float
        Length of the printed check ruler, measured; 0 when it was not [mm].
    """

    thickness_mm: float
    above_mm: float = 0.0
    ruler_mm: float = 0.0

    @property
    def printed(self) -> float:
        """Length of the printed cards over their true length."""
        return self.ruler_mm / RULER_MM if self.ruler_mm else 1.0

    @property
    def raised_mm(self) -> float:
        """The part's upper face over the cards' plane [mm]."""
        return self.above_mm + self.thickness_mm


def check_taken(taken: Taken, where: str) -> None:
    """Refuse a thickness, height or ruler that cannot be, every one at once."""
    bad = []
    most = fact("photo.most_thickness", "mm")
    if not 0 < taken.thickness_mm <= most:
        told = f"{taken.thickness_mm:g} mm"
        bad.append(Problem("thickness", told, f"above 0 mm and at most {most:g} mm", "Thicker parts are not flat."))
    if not 0 <= taken.above_mm <= most:
        bad.append(Problem("height above the cards", f"{taken.above_mm:g} mm", f"0 mm to {most:g} mm"))
    if not 0.8 <= taken.printed <= 1.25:
        mend = "Measure the line of 100 mm on the printed page."
        bad.append(Problem("ruler", f"{taken.ruler_mm:g} mm", "from 80 mm to 125 mm", mend))
    if bad:
        raise BadInput(where, bad)


@dataclass(frozen=True, slots=True, eq=False)
class Photo:
    """A picture: its dots in red, green and blue, (h, w, 3) of uint8, and its lens.

    ``f35_mm`` is the focal length as of a 36 × 24 mm picture; 0 when it is not told [mm].
    """

    name: str
    dots: AnyArray
    f35_mm: float

    @property
    def size(self) -> tuple[int, int]:
        """Width and height [px]."""
        return self.dots.shape[1], self.dots.shape[0]


def read_photo_file(path: Path) -> Photo:
    """Read a picture (JPEG, PNG, HEIC), not larger than work and memory allow.

    Raises
    ------
    BadInput
        It is missing, no picture, damaged, or larger than ``photo.most_pixels``.
    """
    raw, bounds = open_file(path)
    from PIL import Image, ImageOps, UnidentifiedImageError  # heavy: only where a picture is read

    kinds = ["JPEG", "PNG"]
    if raw[4:12] in {b"ftypheic", b"ftypheix", b"ftypmif1", b"ftyphevc", b"ftypheim", b"ftypheis"}:
        _open_heic(str(path))
        kinds = ["HEIF"]
    most, work = fact("photo.most_pixels"), fact("photo.work_pixels")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)  # we hold it against our own bound
            opened = Image.open(BytesIO(raw), formats=kinds)
        wide, high = opened.size
        if wide * high > most:
            told = f"{wide} × {high}, {wide * high / 1e6:.3g} million dots"
            bounds.refuse("the file", told, f"at most {most / 1e6:g} million", "Save it smaller.")
        if min(wide, high) < (least := fact("photo.least_side")):
            bounds.refuse("the file", f"{wide} × {high} dots", f"{least:g} or more each way", "Send the original.")
        exif = opened.getexif()
        focal = exif.get_ifd(_EXIF).get(_FOCAL_35, 0)
        shrink = (wide * high / work) ** 0.5
        if shrink > 1:
            opened.draft("RGB", (int(wide / shrink), int(high / shrink)))  # a JPEG can be unpacked smaller
        image: Image.Image = ImageOps.exif_transpose(opened).convert("RGB")
        if image.width * image.height > work:
            share = (work / (image.width * image.height)) ** 0.5
            image = image.resize((int(image.width * share), int(image.height * share)), Image.Resampling.BOX)
        dots = np.asarray(image, dtype=np.uint8)
    except BadInput:
        raise
    except Image.DecompressionBombError:
        bounds.refuse(
            "the file", "a picture of far too many dots", f"at most {most / 1e6:g} million", "Save it smaller."
        )
    except UnidentifiedImageError:
        bounds.refuse("the file", "no picture that can be read", "a JPEG, PNG or HEIC picture", _TAKE)
    except Exception as why:  # a damaged file breaks the reader in ways it does not list
        raise BadInput(
            str(path), [Problem("the file", f"damaged ({str(why)[:120]})", "a whole picture", "Send it again.")]
        ) from why
    told_mm = float(focal) if isinstance(focal, (int, float)) and 10 <= focal <= 200 else 0.0
    return Photo(path.name, dots, told_mm)


def _open_heic(where: str) -> None:
    try:
        from pillow_heif import register_heif_opener  # heavy: only for this kind
    except ImportError:
        mend = "Install the workbook with its photos: python -m pip install -e '.[photos]'; or save it as JPEG."
        raise BadInput(where, [Problem("the file", "HEIC, and pillow_heif is missing", "readable", mend)]) from None
    register_heif_opener()


def to_light(dots: AnyArray) -> AnyArray:
    """Turn bytes of a picture into linear light, 0 to 1, as sRGB (IEC 61966-2-1) says. float32, same shape."""
    coded = np.arange(256) / 255
    light = np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)
    return np.asarray(light.astype(np.float32)[dots])
