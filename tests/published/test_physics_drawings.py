"""Drawings and meshes of known shapes, written by the reference libraries and read by us."""

from collections.abc import Callable
from functools import partial
from math import acos, pi, sqrt, tan
from pathlib import Path
from typing import Any

import numpy as np
import physics_rows as table
import pytest
import trimesh

from pricing.parts.mesh import read_mesh
from pricing.parts.reading import Choices, Piece
from tests.parts.drafts import closed, draw, read, rectangle, rounded

FINEST = {"meshed torus area", "meshed sphere over exact"}  # of so many triangles that they are slow to read
ROWS = [
    pytest.param(row, marks=pytest.mark.slow if row["model"] in FINEST else (), id=table.named(row))
    for row in table.rows("physics_drawings.csv")
]
FINE = 512  # chords in a turn of the meshes: 0.006 % of a circle's length


def drawn(make: Callable[[Any], object], folder: Path, thickness_mm: float = 3.0) -> Piece:
    return read(draw(make), folder, thickness_mm=thickness_mm).pieces[0]


def meshed(mesh: trimesh.Trimesh, folder: Path) -> Piece:
    mesh.export(folder / "mesh.obj")  # as text with eight decimals; the others keep single precision
    return read_mesh(folder / "mesh.obj", chosen=Choices(units="mm")).pieces[0]


def plate_area(folder: Path, *, width_mm: float, height_mm: float, thickness_mm: float) -> float:
    return drawn(lambda s: closed(s, rectangle(width_mm, height_mm)), folder, thickness_mm).area_m2


def box(folder: Path, *, width_mm: float, height_mm: float, thickness_mm: float) -> Piece:
    return meshed(trimesh.creation.box((width_mm, height_mm, thickness_mm)), folder)


def tube_area(folder: Path, *, outer_mm: float, wall_mm: float, length_mm: float) -> float:
    r = outer_mm / 2
    return meshed(trimesh.creation.annulus(r - wall_mm, r, length_mm, sections=FINE), folder).area_m2


def disc_edges(folder: Path, *, outer_mm: float, hole_mm: float) -> float:
    def make(space: Any) -> None:
        space.add_circle((0, 0), outer_mm / 2)
        space.add_circle((0, 0), hole_mm / 2)

    return drawn(make, folder).edge_m


def frustum_mantle(folder: Path, *, large_mm: float, small_mm: float, height_mm: float) -> float:
    profile = [(0, 0), (large_mm / 2, 0), (small_mm / 2, height_mm), (0, height_mm)]
    whole = meshed(trimesh.creation.revolve(profile, sections=FINE), folder).area_m2
    return whole - pi * ((large_mm / 2) ** 2 + (small_mm / 2) ** 2) / 1e6


def torus_area(folder: Path, *, ring_mm: float, bar_mm: float) -> float:
    mesh = trimesh.creation.torus(ring_mm / 2, bar_mm / 2, major_sections=256, minor_sections=128)
    return meshed(mesh, folder).area_m2


def open_share(folder: Path, *, hole_mm: float, pitch_mm: float, pattern: str) -> float:
    """Draw the cell that repeats: 10 by 10 whole cells, each with its holes inside."""
    rise = pitch_mm if pattern == "square" else pitch_mm * sqrt(3)
    spots = [(0.5, 0.5)] if pattern == "square" else [(0.25, 0.25), (0.75, 0.75)]

    def make(space: Any) -> None:
        closed(space, rectangle(10 * pitch_mm, 10 * rise))
        for i in range(10):
            for j in range(10):
                for u, v in spots:
                    space.add_circle(((i + u) * pitch_mm, (j + v) * rise), hole_mm / 2)

    piece = drawn(make, folder)
    return 1 - piece.face_m2 * 1e6 / (100 * pitch_mm * rise)


def slot_outline(folder: Path, *, length_mm: float, width_mm: float) -> float:
    points = [(0, 0, 0), (length_mm, 0, 1), (length_mm, width_mm, 0), (0, width_mm, 1)]
    piece = drawn(lambda s: s.add_lwpolyline(points, format="xyb", close=True), folder)
    return piece.line_m * 1e3


def sphere_over_exact(folder: Path, *, radius_mm: float, halvings: int) -> float:
    mesh = trimesh.creation.icosphere(subdivisions=halvings, radius=radius_mm)
    return meshed(mesh, folder).area_m2 * 1e6 / (4 * pi * radius_mm**2)


def hollow_outline(folder: Path, *, width_mm: float, height_mm: float, wall_mm: float) -> float:
    return drawn(lambda s: rounded(s, width_mm, height_mm, 2 * wall_mm), folder).line_m


def fillet(corner: np.ndarray, before: np.ndarray, after: np.ndarray, radius: float) -> list[tuple[float, ...]]:
    """Round one corner of a polyline by a bulge."""
    if radius == 0:
        return [(*corner, 0.0)]
    u, v = ((p - corner) / np.linalg.norm(p - corner) for p in (before, after))
    half = acos(float(u @ v)) / 2
    turn = pi - 2 * half
    sign = -1.0 if u[0] * v[1] - u[1] * v[0] > 0 else 1.0
    back = radius / tan(half)
    return [(*(corner + u * back), sign * tan(turn / 4)), (*(corner + v * back), 0.0)]


def outline(folder: Path, corners: list[tuple[float, float, float]]) -> float:
    """Draw corners with their radii as one polyline with bulges."""
    places = [np.array(corner[:2]) for corner in corners]
    rows = [
        row
        for k, (_, _, radius) in enumerate(corners)
        for row in fillet(places[k], places[k - 1], places[(k + 1) % len(places)], radius)
    ]
    return drawn(lambda s: s.add_lwpolyline(rows, format="xyb", close=True), folder).line_m


def i_outline(
    folder: Path, *, height_mm: float, flange_mm: float, web_mm: float, flange_thick_mm: float, root_mm: float
) -> float:
    h, b, w, t, r = height_mm / 2, flange_mm / 2, web_mm / 2, flange_thick_mm, root_mm
    right = [(b, -h, 0), (b, -h + t, 0), (w, -h + t, r), (w, h - t, r), (b, h - t, 0), (b, h, 0)]
    return outline(folder, [*right, *[(-x, y, radius) for x, y, radius in reversed(right)]])


def angle_outline(folder: Path, *, leg_mm: float, thick_mm: float, root_mm: float, toe_mm: float) -> float:
    a, t = leg_mm, thick_mm
    return outline(folder, [(0, 0, 0), (a, 0, 0), (a, t, toe_mm), (t, t, root_mm), (t, a, toe_mm), (0, a, 0)])


MODELS: dict[str, tuple[Callable[..., float], str]] = {
    "drawn plate area": (plate_area, "m**2"),
    "meshed box area": (lambda folder, **given: box(folder, **given).area_m2, "m**2"),
    "meshed box edges": (lambda folder, **given: box(folder, **given).edge_m, "m"),
    "meshed tube area": (tube_area, "m**2"),
    "drawn disc edges": (disc_edges, "m"),
    "meshed frustum mantle": (frustum_mantle, "m**2"),
    "meshed torus area": (torus_area, "m**2"),
    "drawn open share": (open_share, "dimensionless"),
    "drawn slot outline": (slot_outline, "mm"),
    "meshed sphere over exact": (sphere_over_exact, "dimensionless"),
    "drawn hollow section outline": (hollow_outline, "m**2/m"),
    "drawn I-section outline": (i_outline, "m**2/m"),
    "drawn angle outline": (angle_outline, "m**2/m"),
}


@pytest.mark.parametrize("row", ROWS)
def test_what_is_drawn_or_meshed_reads_as_printed(row: dict[str, str], tmp_path: Path) -> None:
    function, unit = MODELS[row["model"]]
    table.hold(row, {row["model"]: (partial(function, tmp_path), unit)})
