"""How near pictures come to the truth, and whether nine in ten ranges hold it: scenes of our own making.

    python -m tests.benchmarks.photo_scenes             500 scenes, from seed 10000
    python -m tests.benchmarks.photo_scenes 60 0        so many, from this seed
    python -m tests.benchmarks.photo_scenes 60 0 FILE   and each scene's result as a line of JSON into FILE

Half of the parts are drawings of ``data/drawings``, half random. Ranges are asked of those scenes that are
answered; the others are counted by the cause of their refusal. Most pictures have 0.8 million dots, every
eighth has 3 million, some have 6: a phone's has more, so that this is the harder case. Time is the processor's.
"""

import json
import statistics
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from pricing.basis.errors import BadInput
from pricing.parts.bounds import Bounds
from pricing.parts.curves import line
from pricing.parts.drawing import read_drawing
from pricing.parts.nesting import nest
from pricing.parts.outlines import Outline
from pricing.parts.photo import PhotoReading
from pricing.parts.photo_file import Taken
from pricing.parts.plates import measure
from pricing.parts.reading import Choices, Piece
from tests.conftest import ROOT
from tests.parts.scenes import Scene, jpeg, random_scene, read_photo

MEASURES = ("area_m2", "edge_m", "width_mm", "height_mm")


def drawn_shapes() -> list[Any]:
    """Collect the largest pieces of the project's drawings as polygons."""
    shapes = []
    for path in sorted((ROOT / "data" / "drawings").glob("*.dxf")):
        reading = read_drawing(path, 3.0, chosen=Choices(units="" if "shelf" not in path.stem else "mm"))
        seen = {s.id: s.points for s in reading.seen}
        for piece in reading.pieces[:3]:
            outer, *holes = (seen[i] for i in piece.outlines)
            if min(np.ptp(outer, axis=0)) > 40:
                shapes.append(shapely.Polygon(outer, holes))
    return shapes


def truth_of(shape: Any, thickness_mm: float) -> Piece:
    """Measure a shape as a cut file is measured."""
    rings = [shapely.get_coordinates(r) for r in (shape.exterior, *shape.interiors)]
    outlines = [Outline(k, (line(ring),), closed=True) for k, ring in enumerate(rings, 1)]
    bounds = Bounds("truth", 0)
    return measure(outlines, nest(outlines, bounds), thickness_mm, chosen=Choices(), bounds=bounds).pieces[0]


def scene_of(seed: int, shapes: list[Any], size: tuple[int, int] | None = None) -> Scene:
    """Return a scene: every second one of a drawing, some of more dots."""
    size = size or ((2880, 2160) if seed % 32 == 3 else (2000, 1500) if seed % 8 == 0 else (1024, 768))
    return random_scene(seed, shapes[seed // 2 % len(shapes)] if seed % 2 else None, size=size)


def ask(scene: Scene, path: Path) -> dict[str, Any]:
    """Photograph a scene, read the picture, and hold it against the truth."""
    jpeg(scene, path)
    start = time.process_time()
    row: dict[str, Any] = {"seed": scene.seed, "kind": scene.kind, "thickness": scene.thickness_mm}
    try:
        got = read_photo(path, Taken(thickness_mm=scene.thickness_mm, ruler_mm=scene.ruler_mm))
    except BadInput as why:
        return row | {
            "refused": why.problems[0].field,
            "told": str(why.problems[0].value),
            "cpu": time.process_time() - start,
        }
    truth = truth_of(scene.shape, scene.thickness_mm)
    at = _the_part(got, scene)
    row["cpu"] = time.process_time() - start
    if at is None:
        return row | {"refused": "another thing measured", "told": ""}
    row["tilt"], row["dot"] = got.traces.plane.tilt_deg, 1 / float(got.traces.plane.px_per_mm(np.zeros((1, 2)))[0])
    row["holes"] = [len(got.reading.pieces[at].outlines) - 1, len(scene.shape.interiors)]
    row["reasons"] = dict(got.doubts[at].reasons)
    for name in MEASURES:
        span = got.doubts[at].spans[name]
        row[name] = [span.low, span.middle, span.high, getattr(truth, name)]
    for name in ("plugs", "spots"):
        span = got.doubts[at].spans[name]
        row[name] = [span.low, span.middle, span.high, getattr(truth, name)]
    return row


def _the_part(got: PhotoReading, scene: Scene) -> int | None:
    """Find the piece that is the part: the one over which the scene's part is seen."""
    inside = _within(scene.shape)
    pixels = scene.camera.project(np.column_stack((inside, np.full(len(inside), scene.thickness_mm))))
    places = got.traces.plane.to_mm(pixels)
    seen = {s.id: shapely.Polygon(s.points) for s in got.reading.seen}
    for at, piece in enumerate(got.reading.pieces):
        outer = seen[piece.outlines[0]]
        share = np.mean(shapely.contains_xy(outer, *places.T))
        if share > 0.6:
            return at
    return None


def _within(shape: Any) -> Any:
    low, high = np.array(shape.bounds[:2]), np.array(shape.bounds[2:])
    grid = np.stack(np.meshgrid(*np.linspace(low, high, 40).T), axis=-1).reshape(-1, 2)
    return grid[shapely.contains_xy(shape, *grid.T)]


def summary(rows: list[dict[str, Any]]) -> dict[str, Any]:
    """Describe shares that hold the truth, median errors and refusals."""
    good = [row for row in rows if "refused" not in row]
    causes: dict[str, int] = {}
    for row in rows:
        if "refused" in row:
            causes[row["refused"]] = causes.get(row["refused"], 0) + 1
    out: dict[str, Any] = {"scenes": len(rows), "answered": len(good), "refused": causes, "kinds": {}}
    for kind in sorted({row["kind"] for row in rows}):
        some = [row for row in rows if row["kind"] == kind]
        out["kinds"][kind] = f"{sum('refused' not in row for row in some)} of {len(some)} answered"
    held = {name: [r[name][0] <= r[name][3] <= r[name][2] for r in good] for name in (*MEASURES, "plugs", "spots")}
    out["held"] = {name: round(100 * statistics.mean(found), 1) for name, found in held.items() if found}
    out["held all measures"] = round(100 * statistics.mean([h for name in MEASURES for h in held[name]]), 1)
    out["median error %"] = {
        n: round(100 * statistics.median(abs(r[n][1] / r[n][3] - 1) for r in good), 3) for n in MEASURES
    }
    out["median half width %"] = {
        n: round(100 * statistics.median((r[n][2] / r[n][1] - 1) for r in good), 3) for n in MEASURES
    }
    out["cpu s"] = round(statistics.median(r["cpu"] for r in rows), 2)
    return out


def main() -> None:
    """Run the scenes."""
    import cv2

    cv2.setNumThreads(1)
    count, first = (
        (int(word) for word in (*sys.argv[1:3], "500", "10000")[:2])
        if len(sys.argv) != 2
        else (int(sys.argv[1]), 10_000)
    )
    shapes = drawn_shapes()
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(first, first + count):
            row = ask(scene_of(seed, shapes), Path(folder) / "scene.jpg")
            rows.append(row)
            if len(sys.argv) > 3:
                with Path(sys.argv[3]).open("a", encoding="utf-8") as out:
                    print(json.dumps(row, default=float), file=out)
    for name, value in summary(rows).items():
        print(f"{name}: {value}")


if __name__ == "__main__":
    main()
