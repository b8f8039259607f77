"""Outlines of what lies on the cards' plane: from a picture to the same outlines that a cut file gives.

Takes    a picture, its plane, the part's thickness and height above the cards.
Gives    outlines in mm with their curves, and what was seen of each edge.
Rules    of an upright edge the camera sees the upper arris where the metal hides the wall, the lower one
         where the wall is in view; each is brought down to the true outline by its own height.
         Soft-edged light inside metal is gloss, not a hole.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from pricing.basis.arrays import AnyArray
from pricing.basis.errors import BadInput, Problem
from pricing.basis.facts import fact
from pricing.parts.curves import line
from pricing.parts.outlines import Outline
from pricing.parts.photo_cards import CARD_MM
from pricing.parts.photo_edge import Ring, trace
from pricing.parts.photo_file import Photo, Taken, to_light
from pricing.parts.photo_fit import fit_ring
from pricing.parts.photo_ground import PhotoThing, find_ground, find_things
from pricing.parts.photo_plane import Plane

_APART = "Lay it on matt paper much lighter or darker than it is, and take the picture again."
_MATT = "Lay it on matt paper, without flash, and draw chalk along the edge; or measure it by hand."


@dataclass(frozen=True, slots=True, eq=False)
class Traced:
    """An outline, and the ring of the picture it came from.

    Parameters
    ----------
    outline : Outline
        In mm, on the cards' plane.
    ring : Ring
        In pixels.
    thing : int
        Which thing it belongs to, from 0.
    dot_mm : float
        Size of a pixel there [mm].
    wall_mm : float
        Mean width of the wall in view, over the whole ring [mm].
    gloss : bool
        Whether it looks like gloss on the metal, not like a hole.
    """

    outline: Outline
    ring: Ring
    thing: int
    dot_mm: float
    wall_mm: float
    gloss: bool


def find_outlines(
    photo: Photo, plane: Plane, cards: AnyArray, taken: Taken, *, where: str
) -> tuple[list[Traced], list[str]]:
    """Find outlines: of the largest thing first, each thing's outer one before its holes; and notes for people.

    Parameters
    ----------
    photo, plane, taken
        The picture, and how it was taken.
    cards : (n, 4, 2) array
        Corners of the whole cards on the plane [mm]; without any all lies on the plane itself.
    where : str
        The picture, for messages.

    Raises
    ------
    BadInput
        Nothing can be measured; with advice for another picture.
    """
    import cv2  # heavy: only for pictures

    wide, high = photo.size
    scale = min(1.0, (fact("photo.look_pixels") / (wide * high)) ** 0.5)
    size = (max(int(wide * scale), 1), max(int(high * scale), 1))
    shown = photo.dots if scale == 1.0 else cv2.resize(photo.dots, size, interpolation=cv2.INTER_AREA)
    light = to_light(shown)
    covered, rims = _cards_and_rims(plane, cards, size, scale)
    ground = find_ground(light, covered, rims, where=where)
    somewhere = cards.mean(axis=1) if len(cards) else plane.eye[None, :2]
    dots_per_mm = float(np.median(plane.px_per_mm(somewhere)))
    least = max((fact("photo.least_thing", "mm") * dots_per_mm * scale) ** 2, 30.0)
    things = find_things(ground, covered, least)
    whole, notes = _whole(things, where)
    thickness_mm, above_mm = (taken.thickness_mm, taken.above_mm) if plane.cards else (0.0, 0.0)
    traced = []
    for number, thing in enumerate(whole):
        rings = trace(photo.dots, thing, scale, plane.soft_px)
        found = [_measured(ring, plane, number, thickness_mm, above_mm) for ring in rings]
        traced += [t for t in found if t] if found and found[0] else []  # no holes without their outline
    traced = [
        Traced(Outline(k, t.outline.curves, closed=True), t.ring, t.thing, t.dot_mm, t.wall_mm, _is_gloss(t, traced))
        for k, t in enumerate(traced, 1)
    ]
    _refuse_unseen(traced, ground.share, whole, plane.soft_px if plane.cards else np.inf, where)
    if len(cards):
        _refuse_aside(traced[0].outline, cards.mean(axis=1), where)
    return traced, notes


def _cards_and_rims(plane: Plane, cards: AnyArray, size: tuple[int, int], scale: float) -> tuple[AnyArray, AnyArray]:
    import cv2  # heavy: only for pictures

    if not len(cards):  # the rim of the picture itself has to show the ground
        rim = np.ones((size[1], size[0]), dtype=bool)
        inset = max(min(size) // 30, 2)
        rim[inset:-inset, inset:-inset] = False
        return np.zeros_like(rim), rim
    masks = []
    for grow in (fact("photo.card_margin", "mm"), fact("photo.card_rim", "mm")):
        mask = np.zeros((size[1], size[0]), np.uint8)
        for card in cards:
            middle = card.mean(axis=0)
            corners = middle + (card - middle) * (1 + 2 * grow / CARD_MM)
            sides = np.concatenate([np.linspace(corners[k - 1], corners[k], 9)[:-1] for k in range(4)])
            pixels = (plane.to_px(sides) + 0.5) * scale - 0.5
            cv2.fillPoly(mask, [np.round(pixels * 16).astype(np.int32)], 1, shift=4)
        masks.append(mask.astype(bool))
    return masks[0], masks[1] & ~masks[0]


def _whole(things: list[PhotoThing], where: str) -> tuple[list[PhotoThing], list[str]]:
    """Collect things that can be measured: a faint one may be a shadow, whose part looks like the ground."""
    least = fact("photo.least_apart")
    clear = [thing for thing in things if thing.contrast >= least]
    if not clear or (things[0] is not clear[0] and not (things[0].cut or things[0].touches)):
        told = "nothing that stands out from its ground"
        if things:
            told = f"{_times(things[0].contrast)} as light or dark as its ground: a faint part, or the shadow of one"
        accepts = f"{_times(least)} as light or dark as its ground, or more"
        raise BadInput(where, [Problem("part", told, accepts, _APART)])
    first = clear[0]
    if first.cut:
        mend = "Step back, so that ground is seen all round it."
        raise BadInput(where, [Problem("part", "running out of the picture", "whole in it", mend)])
    if first.touches:
        mend = "Lay the cards a finger's breadth away from it."
        raise BadInput(where, [Problem("part", "touching a card", "clear of the cards", mend)])
    whole = [thing for thing in clear if not thing.cut and not thing.touches]
    notes = []
    if left := len(clear) - len(whole):
        notes.append(f"Things that run out of the picture or touch a card, left out: {left}.")
    if faint := len(things) - len(clear):
        notes.append(f"Things hardly lighter or darker than the ground, left out as shadows: {faint}.")
    return whole, notes


def _times(contrast: float) -> str:
    return f"{np.exp(contrast):.2g} times"


def _measured(ring: Ring, plane: Plane, thing: int, thickness_mm: float, above_mm: float) -> Traced | None:
    middle = plane.to_mm(ring.points.mean(axis=0)[None])
    dot_mm = 1 / float(plane.px_per_mm(middle)[0])
    if len(ring.points) < np.pi * fact("photo.least_hole_px"):
        return None
    places, wall = lowered(ring, plane, thickness_mm, above_mm)
    outline = next((o for o in _tries(places, dot_mm, ring.soft_px) if _sound(o)), None)
    if outline is None:
        return None
    return Traced(outline, ring, thing, dot_mm, wall, gloss=False)


def _tries(places: AnyArray, dot_mm: float, soft_px: float) -> Iterator[Outline]:
    """Yield the outline with its corners; then without any, and last as its points are, should it cross itself."""
    yield Outline(1, tuple(fit_ring(places, dot_mm, soft_px)), closed=True)
    yield Outline(1, tuple(fit_ring(places, dot_mm, soft_px, corners=False)), closed=True)
    import shapely  # heavy: only where a drawing is read

    mended = max(shapely.get_parts(shapely.Polygon(places).buffer(dot_mm).buffer(-dot_mm)), key=lambda p: p.area)
    if not mended.is_empty:
        yield Outline(1, (line(shapely.get_coordinates(mended.exterior)),), closed=True)


def _sound(outline: Outline) -> bool:
    import shapely  # heavy: only where a drawing is read

    return outline.area_mm2 > fact("drawing.least_area") and bool(shapely.Polygon(outline.points).is_valid)


def lowered(ring: Ring, plane: Plane, thickness_mm: float, above_mm: float) -> tuple[AnyArray, float]:
    """Bring a ring down to the true outline on the cards' plane.

    Gives the outline, (n, 2) [mm], and the mean width of the wall in view [mm], for a part of so much thickness whose
    lower face lies so much above the plane.
    """
    seen = plane.to_mm(ring.points)
    outer = plane.to_mm(ring.points + ring.outwards) - seen
    outer /= np.maximum(np.hypot(*outer.T), 1e-9)[:, None]
    away = seen - plane.eye[:2]
    far = np.maximum(np.hypot(*away.T), 1e-9)
    facing = (away * outer).sum(axis=1)  # above 0: the wall is hidden, the upper arris is what is seen
    share = np.clip(facing / far / 0.2 + 0.5, 0.0, 1.0)
    high = above_mm + share * thickness_mm
    wall = float(np.mean(np.maximum(-facing, 0.0)) * thickness_mm / plane.eye[2])
    return plane.eye[:2] + away * (1 - high / plane.eye[2])[:, None], wall


def _is_gloss(one: Traced, traced: list[Traced]) -> bool:
    if not one.ring.hole:
        return False
    outer = next(t for t in traced if t.thing == one.thing)
    soft = one.ring.soft_px > fact("photo.gloss_soft") * outer.ring.soft_px + 0.5
    return bool(soft or one.ring.seen.mean() < 0.7)


def _refuse_unseen(traced: list[Traced], share: AnyArray, things: list[PhotoThing], soft_px: float, where: str) -> None:
    if not traced:
        told = "too small or too dim to be measured"
        raise BadInput(where, [Problem("part", told, "a few centimetres large at least", "Go nearer.")])
    outer = traced[0]
    gloss = sum(t.outline.area_mm2 for t in traced if t.gloss and t.thing == 0) / outer.outline.area_mm2
    h, w = things[0].mask.shape
    left, top = things[0].box
    tones = np.log(np.maximum(share[top : top + h, left : left + w][things[0].mask].mean(axis=1), 1e-3))
    uneven = float(np.subtract(*np.percentile(tones, [90, 10]))) / 2.56
    if gloss > fact("photo.most_gloss") or uneven > fact("photo.most_uneven"):
        told = "bare and shiny: it mirrors light and ground"
        raise BadInput(where, [Problem("part", told, "matt enough to stand out everywhere", _MATT)])
    usual = float(np.median([t.ring.soft_px for t in traced if not t.gloss and t.thing == 0]))
    if usual > (soft := fact("photo.most_edge_soft") * soft_px + 0.2):
        told = f"soft over {usual:.2g} dots where the cards' are sharp"
        mend = "Lay the part flat on ground much lighter or darker than it is, in light from all sides."
        raise BadInput(where, [Problem("edge", told, f"sharp to {soft:.2g} dots", mend)])
    hidden = 1 - float(outer.ring.seen.mean())
    if hidden > (most := fact("photo.most_unseen")):
        told = f"not seen along {100 * hidden:.0f} % of its length"
        raise BadInput(where, [Problem("edge", told, f"seen all but {100 * most:g} %", _MATT)])


def _refuse_aside(outline: Outline, cards: AnyArray, where: str) -> None:
    """Refuse a thing away from the cards' middle: the part that lies there may look like its ground."""
    import shapely  # heavy: only where a drawing is read

    hull = shapely.convex_hull(shapely.Polygon(outline.points))
    middle = shapely.minimum_bounding_circle(shapely.MultiPoint(cards)).centroid
    size = 2 * float(shapely.minimum_bounding_radius(hull))
    aside = float(hull.distance(middle)) / size
    if aside > (most := fact("photo.most_aside")):
        told = f"{aside * size:.0f} mm from the cards' middle, and {size:.0f} mm large"
        mend = f"Lay the cards round the part. If it lies among them already it looks like its ground. {_APART}"
        raise BadInput(where, [Problem("part", told, f"at most {most:g} times its size from there", mend)])
