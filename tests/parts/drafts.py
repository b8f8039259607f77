"""Drawings made for the tests: written by ezdxf, read back by us."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
from ezdxf.document import Drawing

from pricing.parts.drawing import read_drawing
from pricing.parts.reading import Choices, DrawingReading

ezdxf.options.write_fixed_meta_data_for_testing = True  # no time stamps: the same drawing, the same bytes

MM, INCH = 4, 1  # codes of $INSUNITS


def draw(make: Callable[[Any], object], *, units: int = MM, version: str = "R2010") -> Drawing:
    """Make a drawing by a function of its model space."""
    doc = ezdxf.new(version, units=units)
    make(doc.modelspace())
    return doc


def read(
    doc: Drawing, folder: Path, *, thickness_mm: float = 3.0, binary: bool = False, **chosen: Any
) -> DrawingReading:
    """Write a drawing and read it."""
    path = folder / "draft.dxf"
    doc.saveas(path, fmt="bin" if binary else "asc")
    return read_drawing(path, thickness_mm, chosen=Choices(**chosen))


def closed(space: Any, points: Any, **attributes: Any) -> Any:
    """Add a closed polyline."""
    return space.add_lwpolyline([tuple(p) for p in np.asarray(points)[:, :2]], close=True, dxfattribs=attributes)


def rectangle(width: float, height: float, at: tuple[float, float] = (0.0, 0.0)) -> list[tuple[float, float]]:
    """Work out the corners of a rectangle."""
    x, y = at
    return [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]


def lines(space: Any, points: Any, **attributes: Any) -> None:
    """Add a closed outline as single lines."""
    for start, end in zip(points, [*points[1:], points[0]], strict=True):
        space.add_line(start, end, dxfattribs=attributes)


def rounded(space: Any, width: float, height: float, radius: float) -> None:
    """Add a rectangle with round corners, as lines and arcs."""
    w, h, r = width, height, radius
    for start, end in (((r, 0), (w - r, 0)), ((w, r), (w, h - r)), ((w - r, h), (r, h)), ((0, h - r), (0, r))):
        space.add_line(start, end)
    for centre, angle in (((r, r), 180), ((w - r, r), 270), ((w - r, h - r), 0), ((r, h - r), 90)):
        space.add_arc(centre, r, angle, angle + 90)
