"""Make the demo shop's picture again: ``python -m tests.parts.make_photo``; a drawn one, of the shelf bracket."""

import shapely

from tests.benchmarks.photo_scenes import drawn_shapes
from tests.conftest import ROOT
from tests.parts.scenes import Scene, camera, jpeg

PATH = ROOT / "data" / "photos" / "shelf_bracket.jpg"


def bracket_scene() -> Scene:
    """The bracket of 3 mm steel on light card, seen from a little aside."""
    shape = max(drawn_shapes(), key=lambda s: len(s.interiors) * (s.area < 60_000))
    middle = shapely.centroid(shapely.envelope(shape))
    shape = shapely.affinity.rotate(shapely.affinity.translate(shape, -middle.x, -middle.y), 8, origin=(0, 0))
    cards = ((-205.0, -125.0, 0.1), (195.0, -130.0, 1.6), (210.0, 132.0, -0.08), (-205.0, 135.0, 3.2))
    cam = camera(
        size=(1600, 1200), f35_mm=26, tilt_deg=9, towards_deg=240, roll_deg=3, away_mm=640, k1=-0.02, look_at=(0, 5)
    )
    return Scene(
        shape=shape,
        thickness_mm=3.0,
        camera=cam,
        cards=cards,
        ground=[0.62, 0.6, 0.55],
        metal=[0.07, 0.072, 0.08],
        light=(0.4, -0.3),
        shadow=0.35,
        uneven=0.15,
        grain=0.015,
        blotches=0.02,
        gloss=0.05,
        clutter=0,
        quality=80,
        seed=7,
    )


if __name__ == "__main__":
    PATH.parent.mkdir(exist_ok=True)
    jpeg(bracket_scene(), PATH)
