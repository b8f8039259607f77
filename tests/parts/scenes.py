"""Pictures of the tests' own making: flat parts among cards, seen through a camera that is known.

A scene knows the truth, so that what is read from its picture can be held against it. The lens follows the
radial model of Brown (1971) as OpenCV writes it; walls, shadows, gloss, clutter, grain, blur and JPEG are added.
"""

from dataclasses import dataclass, field, replace
from io import BytesIO
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import shapely
from PIL import Image

from pricing.parts.photo import PhotoReading, look, photo_measured
from pricing.parts.photo_cards import CARD_MM, MARKER_MM, marker_cells
from pricing.parts.photo_file import Taken

Array = Any
_FINE = 8  # rows of samples in a pixel when shapes are filled


@dataclass(frozen=True, kw_only=True)
class Camera:
    """Where the camera stands and what its lens does; `place` is in mm above the cards' plane."""

    size: tuple[int, int]
    focal_px: float
    turn: Array
    place: Array
    k1: float = 0.0
    k2: float = 0.0

    def project(self, points: Array) -> Array:
        """Work out pixels of points (n, 3) [mm]; pixel centres are whole numbers."""
        seen = (points - self.place) @ self.turn.T
        x, y = (seen[:, :2] / seen[:, 2:]).T
        r2 = x * x + y * y
        bent = 1 + self.k1 * r2 + self.k2 * r2 * r2
        middle = (np.array(self.size) - 1) / 2
        return np.column_stack((x * bent, y * bent)) * self.focal_px + middle


def camera(
    *,
    size: tuple[int, int],
    f35_mm: float,
    tilt_deg: float,
    towards_deg: float,
    roll_deg: float,
    away_mm: float,
    look_at: tuple[float, float] = (0.0, 0.0),
    k1: float = 0.0,
    k2: float = 0.0,
) -> Camera:
    """Put a camera so far away from the point it looks at, tilted from straight down."""
    tilt, towards, roll = np.radians((tilt_deg, towards_deg, roll_deg))
    out = np.array([np.sin(tilt) * np.cos(towards), np.sin(tilt) * np.sin(towards), np.cos(tilt)])
    ahead = -out
    right = np.cross(ahead, [np.cos(towards), np.sin(towards), 0.01])
    right /= np.linalg.norm(right)
    down = np.cross(ahead, right)
    c, s = np.cos(roll), np.sin(roll)
    turn = np.stack((c * right + s * down, -s * right + c * down, ahead))
    focal = f35_mm / np.hypot(36.0, 24.0) * np.hypot(*size)
    place = np.array([*look_at, 0.0]) + away_mm * out
    return Camera(size=size, focal_px=float(focal), turn=turn, place=place, k1=k1, k2=k2)


@dataclass(frozen=True, kw_only=True)
class Scene:
    """A part on a ground with cards; shape in mm, colours as linear light of each channel."""

    shape: Any  # shapely polygon, or several
    thickness_mm: float
    camera: Camera
    cards: tuple[tuple[float, float, float], ...]  # middle [mm] and turn [rad]
    f35_mm: float = 26.0
    above_mm: float = 0.0
    ground: Array = field(default_factory=lambda: np.array([0.6, 0.6, 0.6]))
    metal: Array = field(default_factory=lambda: np.array([0.08, 0.08, 0.08]))
    wall: float = 0.7
    light: tuple[float, float] = (0.3, 0.2)  # how far a shadow reaches for each mm of height
    shadow: float = 0.3
    contact: float = 0.1
    penumbra_mm: float = 1.0
    uneven: float = 0.2
    grain: float = 0.01
    blotches: float = 0.01
    gloss: float = 0.0
    mirror: float = 0.0
    clutter: int = 0
    blur_px: float = 0.7
    noise: float = 0.006
    quality: int = 88
    seed: int = 0
    printed: float = 1.0  # length of what was printed over its true length
    ruler_mm: float = 100.0  # what its owner measured of the printed ruler
    kind: str = "plain"


def rings_of(shape: Any) -> list[list[Array]]:
    """Work out outer ring and holes of each polygon, in steps fine enough for a bent lens."""
    polygons = [p for p in shapely.get_parts(shape) if p.geom_type == "Polygon"]
    cut = [shapely.segmentize(p.simplify(0.01), 20.0) for p in polygons]
    return [[shapely.get_coordinates(r)[:-1] for r in (p.exterior, *p.interiors)] for p in cut]


class _Mask:
    """Coverage of pixels by shapes: exact along rows, from eight rows to a pixel."""

    def __init__(self, h: int, w: int) -> None:
        self.steps = np.zeros((h, w + 2))

    def fill(self, rings: list[Array], weight: float = 1.0) -> None:
        """Add a shape of rings (n, 2) in pixels, holes by the even-odd rule."""
        ends = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings])
        self._add(np.concatenate(rings), ends, np.zeros(len(ends), int), np.full(len(ends), weight))

    def fill_each(self, shapes: Array, weights: Array) -> None:
        """Add shapes (n, corners, 2) one by one, each with its weight."""
        n, corners = shapes.shape[:2]
        number = np.repeat(np.arange(n), corners)
        self._add(
            shapes.reshape(-1, 2), np.roll(shapes, -1, axis=1).reshape(-1, 2), number, np.repeat(weights, corners)
        )

    def _add(self, starts: Array, ends: Array, number: Array, weights: Array) -> None:
        h, w = self.steps.shape[0], self.steps.shape[1] - 2
        low, high = np.minimum(starts[:, 1], ends[:, 1]), np.maximum(starts[:, 1], ends[:, 1])
        first = np.clip(np.ceil((low + 0.5) * _FINE - 0.5), 0, h * _FINE).astype(int)
        last = np.clip(np.ceil((high + 0.5) * _FINE - 0.5), 0, h * _FINE).astype(int)
        edge = np.repeat(np.arange(len(starts)), last - first)
        row = np.arange(len(edge)) - np.repeat(np.cumsum(last - first) - (last - first), last - first) + first[edge]
        y = (row + 0.5) / _FINE - 0.5
        share = (y - starts[edge, 1]) / (ends[edge, 1] - starts[edge, 1])
        x = np.clip(starts[edge, 0] + share * (ends[edge, 0] - starts[edge, 0]) + 0.5, 0.0, w)
        order = np.lexsort((x, row, number[edge]))
        row, x = row[order] // _FINE, x[order]
        sign = np.where(np.arange(len(x)) % 2, -1.0, 1.0) * weights[edge[order]] / _FINE
        cell = x.astype(int)
        part = x - cell
        flat = row * (w + 2) + cell
        np.add.at(self.steps.reshape(-1), flat, sign * (1 - part))
        np.add.at(self.steps.reshape(-1), flat + 1, sign * part)

    def share(self) -> Array:
        """Work out the coverage, (h, w); above 1 where shapes lie over each other."""
        return np.cumsum(self.steps, axis=1)[:, :-2].astype(np.float32)


class _Canvas:
    def __init__(self, scene: Scene) -> None:
        self.scene, (self.w, self.h) = scene, scene.camera.size

    def pixels(self, flat: Array, z: float | Array) -> Array:
        return self.scene.camera.project(np.column_stack((flat, np.broadcast_to(z, len(flat)))))

    def blank(self) -> _Mask:
        return _Mask(self.h, self.w)


def paint(scene: Scene) -> Array:
    """Render a scene to RGB bytes, before JPEG."""
    rng = np.random.default_rng(scene.seed)
    canvas = _Canvas(scene)
    w, h = canvas.w, canvas.h
    low, high = scene.above_mm, scene.above_mm + scene.thickness_mm
    parts = rings_of(scene.shape)
    yy, xx = np.mgrid[0:h, 0:w].astype(np.float32)
    u, v = (xx - w / 2) / w, (yy - h / 2) / h
    a = rng.normal(size=5) * scene.uneven
    lit = np.exp(a[0] * u + a[1] * v + a[2] * u * u + a[3] * u * v + a[4] * v * v - 0.5 * (u * u + v * v)).astype(
        np.float32
    )
    mottled = 1 + scene.blotches * _soft_noise(rng, h, w, 25) + scene.grain * rng.normal(size=(h, w)).astype(np.float32)
    light = (mottled[..., None] * scene.ground).astype(np.float32)
    if scene.clutter:
        for mask, colour in _clutter(scene, canvas, rng):
            light += mask[..., None] * (colour - light)
    top, walls, shaded = canvas.blank(), canvas.blank(), canvas.blank()
    cast = np.zeros((h, w), np.float32)
    for z in np.linspace(low, high, 5):  # a shadow is the part's, from each of its heights
        slice_of = canvas.blank()
        slice_of.fill([canvas.pixels(ring + np.array(scene.light) * z, 0.0) for part in parts for ring in part])
        cast = np.maximum(cast, slice_of.share())
    reach = np.array(scene.light)
    top_rings = [canvas.pixels(ring, high) for part in parts for ring in part]
    sun = -reach / max(np.hypot(*reach), 1e-9)
    for part in parts:
        for ring in part:
            nxt = np.roll(ring, -1, axis=0)
            lows, highs = canvas.pixels(ring, low), canvas.pixels(ring, high)
            way = nxt - ring
            outwards = np.column_stack((way[:, 1], -way[:, 0])) / np.maximum(np.hypot(*way.T), 1e-9)[:, None]
            if shapely.LinearRing(ring).is_ccw != (ring is part[0]):
                outwards = -outwards
            shade = np.clip(scene.wall * (0.75 + 0.35 * outwards @ sun), 0.05, 1.2)
            quads = np.stack((lows, np.roll(lows, -1, axis=0), np.roll(highs, -1, axis=0), highs), axis=1)
            walls.fill_each(quads, np.ones(len(ring)))
            shaded.fill_each(quads, shade)
    top.fill(top_rings)
    dark, near = _shades(scene, canvas, parts, cast)
    light *= ((1 - dark) * (1 - near))[..., None]
    for number, card in enumerate(scene.cards):
        _card(light, canvas, number, card, dark)
    sum_of = walls.share()
    tone, side = shaded.share() / np.maximum(sum_of, 1e-6), np.minimum(sum_of, 1.0)
    light += side[..., None] * (tone[..., None] * scene.metal - light)
    face = top.share()
    metal = np.broadcast_to(scene.metal, light.shape) * (1 + 0.02 * _soft_noise(rng, h, w, 3))[..., None]
    if scene.gloss:
        metal = metal + scene.gloss * _shine(scene, rng, xx, yy, 3)[..., None]
    if scene.mirror:
        image = np.exp(1.6 * _soft_noise(rng, h, w, 60)) * 0.35 + 1.2 * _shine(scene, rng, xx, yy, 6)
        metal = (1 - scene.mirror) * metal + scene.mirror * image[..., None]
    light += face[..., None] * (metal.astype(np.float32) - light)
    return _developed(light * lit[..., None], scene, rng)


def _shades(scene: Scene, canvas: _Canvas, parts: list[list[Array]], cast: Array) -> tuple[Array, Array]:
    """Work out the cast shadow and the shade close round the part, as shares of light taken away."""
    per_px = float(np.linalg.norm(scene.camera.place)) / scene.camera.focal_px
    foot = canvas.blank()
    foot.fill([canvas.pixels(ring, 0.0) for part in parts for ring in part])
    near = scene.contact * _blurred(foot.share(), 0.8 * scene.thickness_mm / per_px)
    return scene.shadow * _blurred(cast, scene.penumbra_mm / per_px), near


def _developed(light: Array, scene: Scene, rng: Any) -> Array:
    light = _blurred(light, scene.blur_px)
    light = light + rng.normal(size=light.shape).astype(np.float32) * scene.noise * np.sqrt(
        np.maximum(light, 0.0) + 0.02
    )
    light = np.clip(light, 0.0, 1.0)
    coded = np.where(
        light <= 0.0031308, 12.92 * light, 1.055 * np.power(np.maximum(light, 1e-9), 1 / 2.4) - 0.055
    )  # IEC 61966-2-1
    return np.clip(np.round(255 * coded), 0, 255).astype(np.uint8)


def _blurred(image: Array, sigma: float) -> Array:
    return cv2.GaussianBlur(image, (0, 0), sigma) if sigma > 0.05 else image


def _soft_noise(rng: Any, h: int, w: int, size: float) -> Array:
    small = rng.normal(size=(max(int(h / size), 3) + 3, max(int(w / size), 3) + 3)).astype(np.float32)
    return cv2.resize(small, (w, h), interpolation=cv2.INTER_CUBIC)


def _shine(scene: Scene, rng: Any, xx: Array, yy: Array, spots: int) -> Array:
    total = np.zeros(xx.shape, np.float32)
    lo, hi = np.array(scene.shape.bounds[:2]), np.array(scene.shape.bounds[2:])
    for _ in range(spots):
        at = scene.camera.project(np.array([[*rng.uniform(lo, hi), scene.thickness_mm]]))[0]
        wide, long = np.exp(rng.uniform(np.log(0.01), np.log(0.05), 2)) * xx.shape[1]
        angle = rng.uniform(0, np.pi)
        a = (xx - at[0]) * np.cos(angle) + (yy - at[1]) * np.sin(angle)
        b = (yy - at[1]) * np.cos(angle) - (xx - at[0]) * np.sin(angle)
        total += np.exp(-0.5 * ((a / long) ** 2 + (b / wide) ** 2))
    return total


def _clutter(scene: Scene, canvas: _Canvas, rng: Any) -> list[tuple[Array, Array]]:
    """Lay a few things about, clear of the part and of the cards."""
    taken = [scene.shape.buffer(25)] + [shapely.Point(x, y).buffer(72) for x, y, _ in scene.cards]
    span = max(np.ptp(np.array(scene.shape.bounds).reshape(2, 2), axis=0)) / 2 + 110
    made = []
    for _ in range(30):
        if len(made) >= scene.clutter:
            break
        x, y, turn = *rng.uniform(-span, span, 2), rng.uniform(0, np.pi)
        size = (rng.uniform(8, 14), rng.uniform(60, 130)) if rng.random() < 0.5 else (rng.uniform(12, 30),) * 2
        thing = shapely.affinity.rotate(
            shapely.box(x - size[0] / 2, y - size[1] / 2, x + size[0] / 2, y + size[1] / 2), turn, use_radians=True
        )
        if size[0] == size[1]:
            thing = shapely.Point(x, y).buffer(size[0] / 2)
        if any(thing.buffer(6).intersects(t) for t in taken):
            continue
        taken.append(thing)
        mask = canvas.blank()
        mask.fill([canvas.pixels(shapely.get_coordinates(thing)[:-1], 0.0)])
        made.append((mask.share(), rng.uniform(0.03, 0.9, 3).astype(np.float32)))
    return made


def _card(light: Array, canvas: _Canvas, number: int, card: tuple[float, float, float], dark: Array) -> None:
    cells = marker_cells(number)
    x, y, turn = card
    c, s = np.cos(turn), np.sin(turn)

    def square(left: float, up: float, size: float) -> Array:
        ring = np.array([(left, up), (left + size, up), (left + size, up - size), (left, up - size)])
        ring = shapely.get_coordinates(shapely.segmentize(shapely.linearrings(ring), 12.0))[:-1]
        return canvas.pixels(ring @ np.array([[c, s], [-s, c]]) + (x, y), 0.0)

    paper, black = canvas.blank(), canvas.blank()
    size = MARKER_MM * canvas.scene.printed
    paper.fill([square(-CARD_MM / 2, CARD_MM / 2, CARD_MM)])
    side = size / len(cells)
    whites = [
        square(-size / 2 + column * side, size / 2 - row * side, side)
        for row, line in enumerate(cells)
        for column, white in enumerate(line)
        if white
    ]
    black.fill([square(-size / 2, size / 2, size), *whites])
    sheet, ink = paper.share()[..., None], black.share()[..., None]
    light += sheet * ((0.8 - 0.76 * ink) * (1 - dark[..., None]) - light)


def jpeg(scene: Scene, path: Path | None = None, *, picture: Array | None = None) -> bytes:
    """Return a scene's picture as a phone stores it, with the lens's focal length and a place in its data."""
    image = Image.fromarray(paint(scene) if picture is None else picture)
    exif = Image.Exif()
    if scene.f35_mm:
        exif.get_ifd(0x8769)[0xA405] = round(scene.f35_mm)
    exif.get_ifd(0x8825).update({1: "N", 2: (12.0, 34.0, 56.0), 3: "E", 4: (65.0, 43.0, 21.0)})
    out = BytesIO()
    image.save(out, "JPEG", quality=scene.quality, exif=exif)
    if path is not None:
        path.write_bytes(out.getvalue())
    return out.getvalue()


def random_shape(rng: Any) -> Any:
    """Return a flat part: a plate with holes and slots, an angle, a comb, a ring, a letter's limbs, a free form."""
    w, h = rng.uniform(120, 420), rng.uniform(80, 320)
    kind = rng.integers(5)
    if kind == 0:
        shape = shapely.box(0, 0, w, h)
        corner = rng.choice([0.0, 5.0, 15.0])
        shape = shape.buffer(-corner).buffer(corner, quad_segs=32)
    elif kind == 1:
        a, b = rng.uniform(0.25, 0.6, 2)
        shape = shapely.box(0, 0, w, a * h).union(shapely.box(0, 0, b * w, h))
    elif kind == 2:
        teeth = int(rng.integers(2, 5))
        shape = shapely.box(0, 0, w, 0.35 * h)
        for k in range(teeth):
            left = w * (2 * k) / (2 * teeth - 1)
            shape = shape.union(shapely.box(left, 0, left + w / (2 * teeth - 1), h))
    elif kind == 3:
        shape = shapely.Point(w / 2, w / 2).buffer(w / 2, quad_segs=64)
        shape = shape.difference(shapely.Point(w / 2, w / 2).buffer(w * rng.uniform(0.15, 0.35), quad_segs=64))
    else:
        t = np.linspace(0, 2 * np.pi, 240, endpoint=False)
        r = w / 2 * (1 + sum(rng.normal() * 0.22 / n * np.cos(n * t + rng.uniform(0, 7)) for n in (2, 3, 5)))
        shape = shapely.Polygon(np.column_stack((r * np.cos(t), r * np.sin(t)))).buffer(0)
        shape = max(shapely.get_parts(shape), key=lambda p: p.area)
    lo = np.array(shape.bounds[:2])
    for _ in range(int(rng.integers(0, 6))):
        at = lo + rng.uniform(0.1, 0.9, 2) * (np.array(shape.bounds[2:]) - lo)
        r = rng.uniform(2.5, 14)
        hole = shapely.Point(*at).buffer(r, quad_segs=32)
        if rng.random() < 0.3:
            turn = rng.uniform(0, np.pi)
            end = at + rng.uniform(15, 60) * np.array([np.cos(turn), np.sin(turn)])
            hole = shapely.LineString([at, end]).buffer(rng.uniform(3, 8), quad_segs=32)
        if shapely.Polygon(shape.exterior).buffer(-6).contains(hole) and not any(
            shapely.Polygon(i).distance(hole) < 6 for i in shape.interiors
        ):
            shape = shape.difference(hole)
    return shape


def _turned(shape: Any, rng: Any) -> Any:
    middle = shapely.centroid(shapely.envelope(shape))
    return shapely.affinity.rotate(
        shapely.affinity.translate(shape, -middle.x, -middle.y), rng.uniform(0, 360), origin=(0, 0)
    )


def random_scene(seed: int, shape: Any = None, *, size: tuple[int, int] = (2000, 1500)) -> Scene:
    """Draw a scene: part, camera, light, ground, and now and then what spoils a picture."""
    rng = np.random.default_rng(seed)
    shape = _turned(random_shape(rng) if shape is None else shape, rng)
    lo, hi = np.array(shape.bounds[:2]), np.array(shape.bounds[2:])
    half = (hi - lo) / 2
    cards = []
    inside = rng.random() < 0.15  # the part is larger than the cards' square
    for sx, sy in ((-1, -1), (1, -1), (1, 1), (-1, 1)):
        at = np.array([sx, sy]) * (half + 48)
        if inside:
            at = np.array([sx * (half[0] + 58), sy * half[1] * 0.5]) if half[1] > 110 else at
        for _ in range(40):
            place = at + rng.normal(size=2) * 8
            if shapely.Point(*place).buffer(62).disjoint(shape) and all(
                np.hypot(*(place - c[:2])) > 118 for c in cards
            ):
                break
            at = at * 1.04
        cards.append((*place.tolist(), float(rng.normal() * 0.15 + rng.integers(4) * np.pi / 2)))
    if rng.random() < 0.2:
        cards = [*cards[:3]]
    reach = max(np.abs(np.array(cards)[:, :2]).max(axis=0) + 60)
    f35 = rng.uniform(23.0, 28.0)
    tilt = abs(rng.normal() * 11)
    probe = camera(size=size, f35_mm=f35, tilt_deg=tilt, towards_deg=0, roll_deg=0, away_mm=1000.0)
    away = reach * probe.focal_px / (0.46 * min(size)) * (1 + 0.9 * np.sin(np.radians(tilt)))
    cam = camera(
        size=size,
        f35_mm=f35,
        tilt_deg=min(tilt, 32),
        towards_deg=rng.uniform(0, 360),
        roll_deg=rng.integers(4) * 90 + rng.normal() * 5,
        away_mm=away * rng.uniform(1.0, 1.25),
        look_at=tuple(rng.normal(size=2) * 8),
        k1=rng.normal() * 0.025,
        k2=rng.normal() * 0.008,
    )
    dark = rng.random() < 0.6
    deep, bright = np.exp(rng.uniform(np.log(0.02), np.log(0.14))), rng.uniform(0.42, 0.8)
    tint = np.exp(rng.normal(size=(2, 3)) * 0.08)
    ground, metal = (bright * tint[0], deep * tint[1]) if dark else (deep * tint[0], bright * tint[1])
    thickness = float(rng.choice([1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0, 10.0]))
    scene = Scene(
        shape=shape,
        thickness_mm=thickness,
        camera=cam,
        cards=tuple(cards),
        f35_mm=f35 if rng.random() < 0.7 else 0.0,
        ground=ground,
        metal=metal,
        wall=rng.uniform(0.4, 1.0),
        light=tuple(rng.normal(size=2) * 0.45),
        shadow=rng.uniform(0.0, 0.5),
        contact=rng.uniform(0, 0.2),
        penumbra_mm=rng.uniform(0.2, 0.6) * thickness + 0.3,
        uneven=rng.uniform(0.05, 0.4),
        grain=rng.uniform(0.0, 0.03),
        blotches=rng.uniform(0.0, 0.03),
        blur_px=rng.uniform(0.5, 1.3),
        noise=rng.uniform(0.002, 0.012),
        quality=int(rng.integers(72, 95)),
        seed=seed,
        printed=(printed := 1 + rng.normal() * 0.004),
        ruler_mm=100 * printed * (1 + rng.normal() * 0.0015),
        above_mm=abs(rng.normal()) * 0.25,
        clutter=int(rng.random() < 0.25) * 3,
    )
    chance = rng.random()
    if chance < 0.10:
        scene = replace(scene, kind="gloss", gloss=rng.uniform(0.1, 0.8))
    elif chance < 0.16:
        scene = replace(scene, kind="shiny", mirror=rng.uniform(0.7, 1.0))
    elif chance < 0.20:
        scene = replace(scene, kind="alike", metal=scene.ground * rng.uniform(0.75, 1.2))
    elif chance < 0.24:
        scene = replace(scene, kind="busy", grain=0.08, blotches=rng.uniform(0.15, 0.35))
    elif chance < 0.28:
        scene = replace(scene, kind="blurred", blur_px=rng.uniform(3.0, 7.0))
    elif chance < 0.30:
        scene = replace(scene, kind="few cards", cards=scene.cards[:2])
    return scene


def read_photo(path: Path, taken: Taken) -> PhotoReading:
    """Look at a picture and measure it, nothing chosen."""
    return photo_measured(look(path, taken))
