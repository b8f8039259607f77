"""The plane on which cards and part lie: from a pixel to millimetres, and how sure that is.

Every point along the sides of the cards' markers must lie on a straight line of known length, wherever the
cards lie and however they are turned. That fixes the plane's projection, the bend of the lens and the place
of each card together (least squares). The lens is bent by the division model of Fitzgibbon (2001), which
can be turned round in closed form and stands for the first term of Brown's (1971).

Takes    cards found in a picture, or a length that is known and marked by its two ends.
Gives    a `Plane`.
"""

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from pricing.basis.arrays import AnyArray
from pricing.basis.errors import BadInput, Problem
from pricing.basis.facts import fact
from pricing.parts.photo_cards import MARKER_MM, Card
from pricing.parts.photo_file import Photo

_LENS = 1.0  # mm of error that one unit of bend may cost: keeps the fit steady with three cards in a row
_SIDES = ((1, 1.0), (0, 1.0), (1, -1.0), (0, -1.0))  # of a card, top first: axis across it, and its sign
_SQUARE = np.array([(-0.5, 0.5), (0.5, 0.5), (0.5, -0.5), (-0.5, -0.5)])


@dataclass(frozen=True, slots=True, eq=False)
class Plane:
    """From pixels to millimetres on the cards' plane.

    Parameters
    ----------
    size : (int, int)
        Width and height of the picture [px].
    numbers : (9,) array
        Bend of the lens, and eight of the nine numbers of the projection; the ninth is 1.
    spread : (9, 9) array
        How they may be wrong together (covariance).
    eye : (3,) array
        Where the camera stands: over which point of the plane, how high [mm].
    eye_doubt : float
        Share by which its height may be wrong.
    cards : int
        How many cards were used.
    soft_px : float
        Blur of the picture at the cards, standard deviation [px].
    turn : float
        How far the first card is turned in the picture; undone, so that up stays up [rad].
    """

    size: tuple[int, int]
    numbers: AnyArray
    spread: AnyArray
    eye: AnyArray
    eye_doubt: float
    cards: int
    soft_px: float
    turn: float = 0.0

    def to_mm(self, pixels: AnyArray, numbers: AnyArray | None = None) -> AnyArray:
        """Work out the places on the plane of pixels, (n, 2) [mm]."""
        numbers = self.numbers if numbers is None else numbers
        return _flat(_straight(_unit(pixels, self.size), numbers[0]), numbers[1:]) @ _turned(self.turn)

    def to_px(self, places: AnyArray) -> AnyArray:
        """Work out the pixels of places on the plane, (n, 2) [px]."""
        back = np.linalg.inv(np.append(self.numbers[1:], 1.0).reshape(3, 3))
        seen = np.column_stack((places @ _turned(self.turn).T, np.ones(len(places)))) @ back.T
        straight = seen[:, :2] / seen[:, 2:]
        bend, r = self.numbers[0], np.hypot(*straight.T)
        under = np.maximum(1 - 4 * bend * r * r, 0.0)
        factor = 2 / (1 + np.sqrt(under))
        middle, half = _frame(self.size)
        return np.asarray(straight * factor[:, None] * half + middle)

    def px_per_mm(self, places: AnyArray) -> AnyArray:
        """Work out how many pixels a millimetre has at places, the fewer of two directions. (n,)"""
        step = 0.5
        here = self.to_px(places)
        along = [np.hypot(*(self.to_px(places + way) - here).T) / step for way in ((step, 0.0), (0.0, step))]
        return np.asarray(np.minimum(*along))

    @property
    def tilt_deg(self) -> float:
        """How far the camera looked aside of straight down, at the picture's middle [deg]."""
        middle = self.to_mm(np.array([_frame(self.size)[0]]))[0]
        return float(np.degrees(np.arctan2(np.hypot(*(middle - self.eye[:2])), self.eye[2])))


def _frame(size: tuple[int, int]) -> tuple[AnyArray, float]:
    return (np.array(size) - 1) / 2, float(np.hypot(*size)) / 2


def _turned(angle: float) -> AnyArray:
    c, s = np.cos(angle), np.sin(angle)
    return np.array([[c, s], [-s, c]])


def _unit(pixels: AnyArray, size: tuple[int, int]) -> AnyArray:
    middle, half = _frame(size)
    return np.asarray((pixels - middle) / half)


def _straight(points: AnyArray, bend: float) -> AnyArray:
    return np.asarray(points / (1 + bend * (points**2).sum(axis=1))[:, None])


def _flat(points: AnyArray, eight: AnyArray) -> AnyArray:
    h = np.append(eight, 1.0).reshape(3, 3)
    seen = np.column_stack((points, np.ones(len(points)))) @ h.T
    return np.asarray(seen[:, :2] / seen[:, 2:])


def _on_card(points: AnyArray, eight: AnyArray, place: AnyArray) -> AnyArray:
    """Work out where points lie on a card, from its middle: ``place`` holds that and how far the card is turned."""
    return np.asarray((_flat(points, eight) - place[:2]) @ _turned(-place[2]))


def find_plane(
    cards: tuple[Card, ...], size: tuple[int, int], *, f35_mm: float, printed: float = 1.0, where: str
) -> Plane:
    """Fit the plane to three cards or more of a picture of so many pixels.

    Parameters
    ----------
    f35_mm : float
        Focal length as of a 36 × 24 mm picture, from the picture's data; 0 when it is not told [mm].
    printed : float
        Length of the printed check ruler over its true length.
    where : str
        The picture's name, for messages.

    Raises
    ------
    BadInput
        There are too few cards, or they do not lie on one plane.
    """
    if len(cards) < 3:
        told = f"{len(cards)} found of those numbered 0 to 3" if cards else "none found"
        mend = "Lay the printed cards round the part, whole and in view; print them with: photo cards --out FOLDER."
        raise BadInput(where, [Problem("cards", told, "three or four in the picture", mend)])
    from scipy.optimize import least_squares  # heavy: only where a picture is read

    side = MARKER_MM * printed
    sides = [[_unit(points, size) for points in card.sides] for card in cards]
    off_px = _px_per_mm(cards, side)

    def errors(numbers: AnyArray) -> AnyArray:
        bend, eight, places = numbers[0], numbers[1:9], [np.zeros(3), *numbers[9:].reshape(-1, 3)]
        out = [np.array([bend * _LENS])]
        for card, place, px_per_mm in zip(sides, places, off_px, strict=True):
            for points, (axis, sign) in zip(card, _SIDES, strict=True):
                local = _on_card(_straight(points, bend), eight, place)
                out.append(px_per_mm * (sign * local[:, axis] - side / 2))
        return np.concatenate(out)

    start = _first_guess(cards, size, side)
    fit = least_squares(errors, start, method="trf", x_scale="jac", loss="soft_l1", f_scale=0.5, max_nfev=200)
    off = errors(fit.x)
    ends = np.cumsum([1] + [sum(len(points) for points in card) for card in sides])
    each = np.array([np.sqrt(np.mean(off[a:b] ** 2)) for a, b in pairwise(ends)])
    most = fact("photo.most_off_cards")
    share = each / (np.array(off_px) * side)
    worst = int(np.argmax(share))
    if share[worst] > most and each[worst] > fact("photo.most_off_px"):
        if len(cards) > 3:  # three of four do: the one that is bent or lies elsewhere is left out
            rest = tuple(card for k, card in enumerate(cards) if k != worst)
            return find_plane(rest, size, f35_mm=f35_mm, printed=printed, where=where)
        told = f"number {cards[worst].number + 1} off its lines by {100 * share[worst]:.2g} % of its side"
        mend = "Lay the cards flat on the part's ground, not bent and not on the part, and take the picture again."
        raise BadInput(where, [Problem("cards", told, f"within {100 * most:g} %", mend)])
    rms = float(np.sqrt(np.mean(off**2)))
    points_each = sum(len(points) for card in sides for points in card) / (4.0 * len(cards))
    alone = max(points_each / fact("photo.free_points"), 1.0)
    slopes = np.asarray(fit.jac)
    spread = np.linalg.pinv(slopes.T @ slopes) * alone * max(rms, 0.03) ** 2
    eye = _eye(fit.x[1:9], f35_mm)
    doubt = fact("photo.focal_told" if f35_mm else "photo.focal_guessed")
    soft = float(np.median([card.soft_px for card in cards]))
    plane = Plane(size, fit.x[:9], spread[:9, :9], eye, doubt, len(cards), soft)
    middle = _frame(size)[0]
    across = np.diff(plane.to_mm(middle + np.array([(0.0, 0.0), (40.0, 0.0)])), axis=0)[0]
    turn = -float(np.arctan2(across[1], across[0]))
    return replace(plane, turn=turn, eye=np.append(eye[:2] @ _turned(turn), eye[2]))


def _px_per_mm(cards: tuple[Card, ...], side: float) -> list[float]:
    return [float(np.hypot(*(np.roll(c.corners, -1, axis=0) - c.corners).T).mean()) / side for c in cards]


def _first_guess(cards: tuple[Card, ...], size: tuple[int, int], side: float) -> AnyArray:
    """Chain the cards: the first one alone gives a plane, each further one makes it better."""
    from scipy.optimize import least_squares  # heavy: only where a picture is read

    corners = [_unit(card.corners, size) for card in cards]
    eight = _projection(corners[0], _SQUARE * side)
    places: list[float] = []
    for corner in corners[1:]:
        seen = _flat(corner, eight)
        middle = seen.mean(axis=0)
        way = seen - middle
        turn = np.arctan2(*(np.sum(_SQUARE[:, 0] * way[:, 1] - _SQUARE[:, 1] * way[:, 0]), np.sum(_SQUARE * way)))
        places += [*middle.tolist(), float(turn)]
    start = np.array([0.0, *eight, *places])

    def errors(numbers: AnyArray) -> AnyArray:
        places = [np.zeros(3), *numbers[9:].reshape(-1, 3)]
        local = [_on_card(corner, numbers[1:9], place) for corner, place in zip(corners, places, strict=True)]
        return np.asarray(np.array(local) - _SQUARE * side).ravel()

    return np.asarray(least_squares(errors, start, x_scale="jac", loss="soft_l1", f_scale=2.0, max_nfev=200).x)


def _projection(points: AnyArray, places: AnyArray) -> AnyArray:
    import cv2  # heavy: only for pictures

    h = cv2.getPerspectiveTransform(points.astype(np.float32), places.astype(np.float32))
    return np.asarray((h / h[2, 2]).ravel()[:8], dtype=float)


def _eye(eight: AnyArray, f35_mm: float) -> AnyArray:
    """Work out where the camera stands, from the projection and the lens's focal length."""
    focal = 2 * (f35_mm or fact("photo.focal", "mm")) / float(np.hypot(36.0, 24.0))  # in half diagonals
    seen = np.linalg.inv(np.append(eight, 1.0).reshape(3, 3))
    seen = np.diag([1 / focal, 1 / focal, 1.0]) @ seen
    seen *= 2 / (np.linalg.norm(seen[:, 0]) + np.linalg.norm(seen[:, 1]))
    seen *= np.sign(seen[2, 2]) or 1.0
    first = seen[:, 0] / np.linalg.norm(seen[:, 0])
    second = seen[:, 1] - first * (first @ seen[:, 1])
    second /= np.linalg.norm(second)
    turn = np.column_stack((first, second, np.cross(first, second)))
    eye = -turn.T @ seen[:, 2]
    return np.asarray(eye * (1, 1, np.sign(eye[2]) or 1.0))


@dataclass(frozen=True, slots=True)
class KnownLength:
    """A known length in a picture: its ends, from the upper left corner, as shares of width and height; its mm."""

    start: tuple[float, float]
    end: tuple[float, float]
    length_mm: float


def rough_plane(photo: Photo, known: KnownLength, where: str) -> Plane:
    """Lay a plane by a known length in a picture without cards, as if the camera had looked straight down.

    How it was tilted is not known then, so that every measure has a wide range: a first quote, and said to be no more.

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
