"""Time and memory of reading a large picture: one of 12 and one of 50 million dots, JPEG, and HEIC where it can be made.

    python -m tests.benchmarks.photo_size

Each is read in a process of its own. Time is the processor's in one thread; memory is the most that the process held,
less what it held with all libraries loaded.
"""

import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from PIL import Image

from pricing.parts.photo_file import Taken
from tests.parts.make_photo import bracket_scene
from tests.parts.scenes import camera, jpeg, read_photo

SIZES = {"12 million dots": (4000, 3000), "50 million dots": (8160, 6120)}


def made(folder: Path) -> Iterator[tuple[str, Path]]:
    """Render the bracket at 12 million dots; larger pictures are that one with its dots between."""
    size = SIZES["12 million dots"]
    view = camera(size=size, f35_mm=26, tilt_deg=9, towards_deg=240, roll_deg=3, away_mm=640, k1=-0.02)
    jpeg(replace(bracket_scene(), camera=view, blur_px=1.6), folder / "small.jpg")
    yield "12 million dots, JPEG", folder / "small.jpg"
    with Image.open(folder / "small.jpg") as small:
        large = small.resize(SIZES["50 million dots"], Image.Resampling.BICUBIC)
    large.save(folder / "large.jpg", quality=90)
    yield "50 million dots, JPEG", folder / "large.jpg"
    try:
        from pillow_heif import register_heif_opener
    except ImportError:
        return
    register_heif_opener()
    large.save(folder / "large.heic", quality=80)
    yield "50 million dots, HEIC", folder / "large.heic"


def read_one(path: Path) -> None:
    """Read a picture and print what it took."""
    import cv2
    import shapely  # noqa: F401

    cv2.setNumThreads(1)
    before, start = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss, time.process_time()
    got = read_photo(path, Taken(thickness_mm=3.0, ruler_mm=100.0))
    took, after = time.process_time() - start, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    span = got.doubts[0].spans["edge_m"]
    wide, high = got.traces.photo.size
    print(
        f"{took:.1f} s, {(after - before) / 1024:.0f} MB more than {before / 1024:.0f} MB, "
        f"measured at {wide} x {high}: edges {span.low:.4f} ... {span.high:.4f} m"
    )


def main() -> None:
    """Make the pictures and read each in a process of its own."""
    if len(sys.argv) > 1:
        read_one(Path(sys.argv[1]))
        return
    with tempfile.TemporaryDirectory() as folder:
        for name, path in made(Path(folder)):
            command = [sys.executable, "-m", "tests.benchmarks.photo_size", str(path)]
            print(f"{name}: {subprocess.run(command, check=True, capture_output=True, text=True).stdout.strip()}")


if __name__ == "__main__":
    main()
