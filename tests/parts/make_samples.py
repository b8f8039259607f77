"""Make the demo shop's drawings and its mesh again: ``python -m tests.parts.make_samples``.

All are invented: a sign letter with a counter, a shelf bracket with slots, a sheet of house numbers and
washers in inches, and a cast finial.
"""

from math import cos, pi, sin
from pathlib import Path
from typing import Any

import numpy as np
import trimesh
from ezdxf.document import Drawing

from tests.conftest import ROOT
from tests.parts.drafts import INCH, closed, draw, lines, rectangle

FOLDER = ROOT / "data" / "drawings"


def sign_letter() -> Drawing:
    """A letter P, 300 mm high: stem and bowl with a counter, two fixing holes, a note."""

    def make(space: Any) -> None:
        space.doc.layers.add("CUT", color=1)
        space.doc.layers.add("NOTE", color=3)
        outer = [(0, 0, 0), (70, 0, 0), (70, 110, 0), (125, 110, 1), (125, 300, 0), (0, 300, 0)]
        counter = [(70, 165, 0), (120, 165, 1), (120, 245, 0), (70, 245, 0)]
        for points in (outer, counter):
            space.add_lwpolyline(points, format="xyb", close=True, dxfattribs={"layer": "CUT"})
        for y in (30, 270):
            space.add_circle((35, y), 2.6, dxfattribs={"layer": "CUT"})
        space.add_text("letter P, sheet 4 mm", height=8, dxfattribs={"layer": "NOTE"}).set_placement((0, -20))

    return draw(make, version="R2000")


def shelf_bracket() -> Drawing:
    """A flat bracket as single lines and arcs: front edge seen, wall edge not; slots, holes, one gap of 0.08 mm."""

    def make(space: Any) -> None:
        for name, colour in (("FRONT", 1), ("WALL", 5), ("HOLES", 4)):
            space.doc.layers.add(name, color=colour)
        wall, front, holes = ({"layer": name} for name in ("WALL", "FRONT", "HOLES"))
        space.add_line((0, 0), (0, 220), dxfattribs=wall)
        space.add_line((0, 220), (250, 220), dxfattribs=wall)
        space.add_line((250, 220), (250, 190), dxfattribs=front)
        space.add_arc((250, -10), 200, 90, 180, dxfattribs=front)  # hollow of the bracket
        space.add_line((50, -10), (50, -40), dxfattribs=front)
        space.add_line((50, -40), (0.08, -40), dxfattribs=front)
        space.add_line((0, -40), (0, 0), dxfattribs=wall)
        for y in (20, 150):
            slot = [(14, y, 0), (24, y, 1), (24, y + 9, 0), (14, y + 9, 1)]
            space.add_lwpolyline(slot, format="xyb", close=True, dxfattribs=holes)
        for x in (60, 140, 220):
            space.add_circle((x, 205), 3.5, dxfattribs=holes)
        lines(space, rectangle(24, 12, (14, 192)), **holes)

    return draw(make, version="R2010")


def house_numbers() -> Drawing:
    """A sheet in inches: its own outline, three number plates inserted and turned, eight washers, one mirrored hook."""

    def make(space: Any) -> None:
        closed(space, rectangle(40, 24), layer="SHEET")
        plate = space.doc.blocks.new("PLATE")
        closed(plate, rectangle(9, 6))
        for x in (0.5, 8.5):
            for y in (0.5, 5.5):
                plate.add_circle((x, y), 0.1)
        plate.add_spline([(3, 1.5), (3.4, 3), (3, 4.5), (4.5, 4.2), (6, 4.5), (5.6, 3), (6, 1.5), (4.5, 1.8), (3, 1.5)])
        washer = space.doc.blocks.new("WASHER")
        washer.add_circle((0, 0), 1)
        washer.add_circle((0, 0), 0.4)
        for at, turn in (((2, 2), 0), ((13, 2), 0), ((32, 3), 35)):
            space.add_blockref("PLATE", at, dxfattribs={"rotation": turn, "layer": "CUT"})
        rows = {"row_count": 2, "column_count": 4, "row_spacing": 3, "column_spacing": 3, "layer": "CUT"}
        space.add_blockref("WASHER", (3, 14), dxfattribs=rows)
        hook = space.doc.blocks.new("HOOK")
        hook.add_lwpolyline(
            [(0, 0, 0), (1, 0, 0), (1, 4, -1), (3, 4, 0), (3, 3, 0), (4, 3, 0), (4, 4, 1), (0, 4, 0)],
            format="xyb",
            close=True,
        )
        space.add_blockref("HOOK", (18, 13), dxfattribs={"layer": "CUT"})
        space.add_blockref("HOOK", (29, 13), dxfattribs={"layer": "CUT", "xscale": -1})

    return draw(make, units=INCH, version="R2010")


def finial() -> trimesh.Trimesh:
    """A turned finial, 160 mm high, with a blind hole for its spike."""
    profile = [(0, 40), (8, 40), (8, 0), (30, 0), (30, 12), (22, 18)]
    profile += [(22 + 20 * sin(t), 48 - 30 * cos(t)) for t in np.linspace(0, pi, 17)[1:]]
    profile += [(14, 84)] + [(14 * cos(t), 84 + 76 * sin(t)) for t in np.linspace(0, pi / 2, 13)[1:]]
    mesh = trimesh.creation.revolve(profile, sections=48)
    mesh.merge_vertices()
    return mesh


def write(folder: Path = FOLDER) -> list[Path]:
    """Write all samples."""
    folder.mkdir(exist_ok=True)
    sign_letter().saveas(folder / "sign_letter_p.dxf")
    shelf_bracket().saveas(folder / "shelf_bracket.dxf")
    house_numbers().saveas(folder / "house_numbers_inch.dxf", fmt="bin")
    finial().export(folder / "finial_mm.stl")
    return sorted(folder.iterdir())


if __name__ == "__main__":
    write()
