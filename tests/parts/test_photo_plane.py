"""The plane of the cards, held against OpenCV's own camera (Brown's radial lens): nothing is rendered here."""

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pricing.basis.errors import BadInput
from pricing.parts.photo_cards import MARKER_MM, Card
from pricing.parts.photo_plane import Plane, find_plane

SIZE = (2000, 1500)
PLACES = ((-170.0, -120.0, 0.2), (180.0, -110.0, 1.7), (175.0, 125.0, -0.1), (-180.0, 118.0, 3.1))


def seen_by_opencv(points: np.ndarray, tilt: float, k1: float, focal: float) -> np.ndarray:
    """Project points of the plane (mm, y up) by OpenCV: its camera looks along z, y down."""
    turn, _ = cv2.Rodrigues(np.array([np.pi + tilt, 0.0, 0.0]))
    spin, _ = cv2.Rodrigues(np.array([0.0, 0.4 * tilt, 0.3]))
    rotation, _ = cv2.Rodrigues(spin @ turn)
    matrix = np.array([[focal, 0, (SIZE[0] - 1) / 2], [0, focal, (SIZE[1] - 1) / 2], [0, 0, 1.0]])
    flat = np.column_stack((points, np.zeros(len(points))))
    pixels, _ = cv2.projectPoints(flat, rotation, np.array([0.0, 0.0, 800.0]), matrix, np.array([k1, 0, 0, 0]))
    return pixels.reshape(-1, 2)


def cards(tilt: float, k1: float, focal: float, noise: float, count: int = 4) -> tuple[Card, ...]:
    rng = np.random.default_rng(3)
    half = MARKER_MM / 2
    square = np.array([(-half, half), (half, half), (half, -half), (-half, -half)])
    made = []
    for number, (x, y, turn) in enumerate(PLACES[:count]):
        c, s = np.cos(turn), np.sin(turn)
        corners = square @ np.array([[c, s], [-s, c]]) + (x, y)
        sides = []
        for k in range(4):
            share = np.linspace(0.08, 0.92, 24)[:, None]
            sides.append(corners[k] + share * (corners[(k + 1) % 4] - corners[k]))
        pixels = [seen_by_opencv(side, tilt, k1, focal) + rng.normal(size=side.shape) * noise for side in sides]
        made.append(Card(number, seen_by_opencv(corners, tilt, k1, focal), tuple(pixels), 0.8))
    return tuple(made)


def distances(points: np.ndarray) -> np.ndarray:
    return np.hypot(*(points[:, None] - points[None]).reshape(-1, 2).T)


@settings(max_examples=20, deadline=None)
@given(st.floats(-0.45, 0.45), st.floats(-0.08, 0.08), st.sampled_from([3, 4]))
def test_lengths_on_the_plane_come_out_right_however_tilted_and_bent(tilt: float, k1: float, count: int) -> None:
    focal = 26 / np.hypot(36, 24) * np.hypot(*SIZE)
    plane = find_plane(cards(tilt, k1, focal, 0.02, count), SIZE, f35_mm=26, where="x")
    inside = np.random.default_rng(0).uniform((-150, -90), (150, 90), (30, 2))
    found = plane.to_mm(seen_by_opencv(inside, tilt, k1, focal))
    assert distances(found) == pytest.approx(distances(inside), rel=0.004, abs=0.4)
    assert plane.eye[2] == pytest.approx(800 * np.cos(tilt) * np.cos(0.4 * tilt), rel=0.06)


def test_pixels_and_places_turn_into_each_other() -> None:
    plane = find_plane(cards(0.2, -0.04, 1500, 0.0), SIZE, f35_mm=0, where="x")
    pixels = np.random.default_rng(1).uniform((0, 0), SIZE, (50, 2))
    assert plane.to_px(plane.to_mm(pixels)) == pytest.approx(pixels, abs=1e-6)


def test_the_covariance_tells_how_far_lengths_scatter() -> None:
    """Ninety per cent of lengths from noisy cards lie where the covariance says, within what 200 draws can tell."""
    focal, rng = 1500.0, np.random.default_rng(5)
    clean = cards(0.15, -0.02, focal, 0.0)
    ends = seen_by_opencv(np.array([(-120.0, -60.0), (130.0, 70.0)]), 0.15, -0.02, focal)
    true = float(np.hypot(250, 130))

    def length(plane: Plane, numbers: np.ndarray | None = None) -> float:
        return float(np.hypot(*np.diff(plane.to_mm(ends, numbers), axis=0)[0]))

    inside = 0
    for _ in range(60):
        noisy = tuple(
            Card(c.number, c.corners, tuple(s + rng.normal(size=s.shape) * 0.1 for s in c.sides), 0.8) for c in clean
        )
        plane = find_plane(noisy, SIZE, f35_mm=26, where="x")
        values, ways = np.linalg.eigh(plane.spread)
        steps = [
            length(plane, plane.numbers + np.sqrt(max(v, 0)) * w) - length(plane)
            for v, w in zip(values, ways.T, strict=True)
        ]
        inside += abs(length(plane) - true) < 1.645 * float(np.hypot.reduce(steps))
    assert inside >= 48  # the covariance allows for errors that repeat along a side, so it is rather wide here


def test_a_ruler_that_was_printed_short_makes_everything_smaller() -> None:
    some = cards(0.1, 0.0, 1500, 0.0)
    whole, short = (find_plane(some, SIZE, f35_mm=26, printed=p, where="x") for p in (1.0, 0.97))
    points = np.array([(400.0, 300.0), (1500.0, 1100.0)])
    lengths = [float(np.hypot(*np.diff(plane.to_mm(points), axis=0)[0])) for plane in (whole, short)]
    assert lengths[1] == pytest.approx(0.97 * lengths[0], rel=1e-4)


def test_two_cards_are_too_few_and_a_bent_one_is_told() -> None:
    with pytest.raises(BadInput, match="three or four"):
        find_plane(cards(0.1, 0, 1500, 0, 2), SIZE, f35_mm=26, where="x")
    bent = list(cards(0.1, 0, 1500, 0.0))
    curl = np.sin(np.linspace(0, np.pi, 24))[:, None] * (9.0, 9.0)
    bent[1] = Card(1, bent[1].corners, tuple(s + curl for s in bent[1].sides), 0.8)
    assert find_plane(tuple(bent), SIZE, f35_mm=26, where="x").cards == 3  # the other three do
    with pytest.raises(BadInput, match="not bent"):
        find_plane(tuple(bent[:3]), SIZE, f35_mm=26, where="x")
