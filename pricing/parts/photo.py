"""A flat part measured from a phone's picture of it among printed cards.

Takes    a picture, the part's thickness, the owner's choices.
Gives    a `PhotoReading`: the same `DrawingReading` that a cut file gives, and for each piece what is not sure.
Rules    what cannot be measured is refused with advice for another picture; a guess is never made.
"""

from dataclasses import dataclass, replace
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np

from pricing.basis.errors import BadInput, Problem
from pricing.basis.facts import fact
from pricing.parts.bounds import Bounds, need
from pricing.parts.nesting import nest
from pricing.parts.outlines import Outline
from pricing.parts.photo_cards import CARD_MM, MARKER_MM, find_cards
from pricing.parts.photo_doubt import Doubt, Span, doubt_of, smallest_hole_mm
from pricing.parts.photo_file import Photo, Taken, check_taken, read_photo_file, to_light
from pricing.parts.photo_outline import Traced, find_outlines
from pricing.parts.photo_plane import KnownLength, Plane, find_plane, rough_plane
from pricing.parts.plates import measure, switched_on
from pricing.parts.preview import Under
from pricing.parts.reading import Choices, DrawingReading
from pricing.parts.stretches import marked

_ROUGH = "No cards: a first guess from one marked length. The camera's tilt is not known. Measure before you promise."


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Traces:
    """What was found in a picture before any choice: to be measured many times."""

    photo: Photo
    plane: Plane
    traced: tuple[Traced, ...]
    notes: tuple[str, ...]
    taken: Taken


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class PhotoReading:
    """What a picture told.

    Parameters
    ----------
    reading : DrawingReading
        As of a cut file.
    doubts : tuple of Doubt
        Of its pieces, in their order.
    outlines : tuple of Outline
        All that were found, with their stretches.
    traces : Traces
        What they were found in.
    """

    reading: DrawingReading
    doubts: tuple[Doubt, ...]
    outlines: tuple[Outline, ...]
    traces: Traces

    def as_dict(self) -> dict[str, Any]:
        """Describe all figures, with low, middle and high of each, for programs."""
        made = self.reading.as_dict()
        for piece, doubt in zip(made["pieces"], self.doubts, strict=True):
            piece["between"] = {name: [s.low, s.middle, s.high] for name, s in doubt.spans.items()}
            piece["doubt_shares"] = dict(doubt.reasons)
        return made


def look(path: Path, taken: Taken, known: KnownLength | None = None) -> Traces:
    """Find plane and outlines in a picture: by its cards, or roughly by a length that is known.

    Parameters
    ----------
    path : Path
        JPEG, PNG or HEIC.
    taken : Taken
        How it was taken; without cards only the thickness counts.
    known : KnownLength, optional
        In a picture without cards, on the part's upper face.

    Raises
    ------
    BadInput
        It is no picture, or it cannot be measured; with advice.
    """
    where = str(path)
    need(where, "cv2", "shapely", extra="photos")
    check_taken(taken, where)
    photo = read_photo_file(path)
    if known:
        plane, corners = rough_plane(photo, known, where), np.zeros((0, 4, 2))
    else:
        import cv2  # heavy: only for pictures

        grey = cv2.cvtColor(photo.dots, cv2.COLOR_RGB2GRAY)
        cards = find_cards(grey, to_light(grey))
        plane = find_plane(cards, photo.size, f35_mm=photo.f35_mm, printed=taken.printed, where=where)
        _check_view(plane, where)
        corners = np.array([plane.to_mm(card.corners) for card in cards])
        middles = corners.mean(axis=1, keepdims=True)
        corners = middles + (corners - middles) * CARD_MM / MARKER_MM
    traced, notes = find_outlines(photo, plane, corners, taken, where=where)
    notes = [_ROUGH, *notes] if known else notes
    return Traces(photo=photo, plane=plane, traced=tuple(traced), notes=tuple(notes), taken=taken)


def _check_view(plane: Plane, where: str) -> None:
    if plane.tilt_deg > (most := fact("photo.most_tilt", "degree")):
        mend = "Hold the phone flat over the part."
        raise BadInput(where, [Problem("view", f"tilted by {plane.tilt_deg:.0f}°", f"at most {most:g}°", mend)])
    if plane.soft_px > (most := fact("photo.most_soft")):
        told = f"blurred over {plane.soft_px:.2g} dots"
        mend = "Hold the phone still in better light, tap on the part to focus, wipe the lens."
        raise BadInput(where, [Problem("picture", told, f"sharp to {most:g} dots", mend)])


def photo_measured(traces: Traces, *, chosen: Choices | None = None) -> PhotoReading:
    """Measure what was found, as chosen: outlines left out, marks, sizes of plugs, finger.

    Raises
    ------
    BadInput
        Nothing is left, or outlines cross after a corner was dragged.
    """
    name, taken = traces.photo.name, traces.taken
    bounds = Bounds(name, 0)
    gloss = {t.outline.id for t in traces.traced if t.gloss}
    chosen = chosen or Choices()
    chosen = replace(chosen, without=chosen.without | gloss)
    outlines = tuple(marked(t.outline, chosen.marks) for t in traces.traced)
    on = switched_on(outlines, chosen, bounds, lambda x, y: f"({x:.0f}, {y:.0f}) mm")
    if not on:
        bounds.refuse("the picture", "left out altogether", "an outline or more", "Switch one on again.")
    plates = nest(on, bounds)
    reading = measure(outlines, plates, taken.thickness_mm, chosen=chosen, bounds=bounds)
    changes = [0]  # of the nooks, with a finger a little thinner and thicker: those that are near the limit may be none
    for share in (-fact("photo.finger_doubt"), fact("photo.finger_doubt")):
        finger = replace(chosen, finger_mm=chosen.finger_mm * (1 + share))
        other = measure(outlines, plates, taken.thickness_mm, chosen=finger, bounds=bounds)
        changes.append(sum(p.spots for p in other.pieces) - sum(p.spots for p in reading.pieces))
    by_id = {t.outline.id: replace(t, outline=o) for t, o in zip(traces.traced, outlines, strict=True)}
    doubts = []
    for piece in reading.pieces:
        doubt = doubt_of(piece, [by_id[i] for i in piece.outlines], traces.plane, taken, chosen)
        low, high = max(piece.spots + min(changes), 0), piece.spots + max(changes)
        spots = Span(low=low, middle=piece.spots, high=high)
        doubts.append(replace(doubt, spans={**doubt.spans, "spots": spots}))
    reading = replace(reading, source=name, kind="photo", notes=(*_notes(traces, len(gloss)), *reading.notes))
    return PhotoReading(reading=reading, doubts=tuple(doubts), outlines=outlines, traces=traces)


def _notes(traces: Traces, gloss: int) -> list[str]:
    plane = traces.plane
    notes = [*traces.notes]
    if plane.cards:
        notes.insert(
            0,
            f"Cards found: {plane.cards}. Camera {plane.eye[2] / 10:.0f} cm above them, "
            f"tilted by {plane.tilt_deg:.0f}°; one dot is {traces.traced[0].dot_mm:.2g} mm.",
        )
    size = smallest_hole_mm(traces.traced[0].dot_mm)
    if size > fact("drawing.plug_least", "mm"):
        notes.append(f"Holes under {size:.0f} mm may not be seen in this picture: go nearer, or add them by hand.")
    if plane.cards and not traces.taken.ruler_mm:
        notes.append(
            "The cards' print was not checked: measure the ruler on their page and say its length; ranges get narrower."
        )
    if plane.cards and not traces.photo.f35_mm:
        notes.append("The picture does not tell its lens: a usual phone's is taken, and heights are less sure.")
    if gloss:
        notes.append(f"Soft-edged light taken for gloss, not for holes: {gloss}.")
    return notes


def straighten(got: PhotoReading) -> Under:
    """Straighten a picture that was read, round its outlines; no data about place, time or camera goes along.

    Everything is drawn as it lies on the face of the part, so that outlines fit; cards and ground, which
    lie lower, are a little small.
    """
    import cv2  # heavy: only for pictures
    from PIL import Image

    points = np.concatenate([o.points for o in got.outlines])
    margin = fact("photo.margin", "mm")
    low, high = points.min(axis=0) - margin, points.max(axis=0) + margin
    size = high - low
    dot = max(float(np.sqrt(size[0] * size[1] / fact("photo.shown_pixels"))), 0.05)
    wide, tall = (max(int(length / dot), 2) for length in size)
    x = low[0] + (np.arange(wide) + 0.5) * size[0] / wide
    y = high[1] - (np.arange(tall) + 0.5) * size[1] / tall
    grid = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    photo, plane, taken = got.traces.photo, got.traces.plane, got.traces.taken
    lift = 1 - (taken.raised_mm if plane.cards else 0.0) / plane.eye[2]
    eye = plane.eye[:2]
    pixels = plane.to_px(eye + (grid - eye) / lift).reshape(tall, wide, 2).astype(np.float32)
    dots = cv2.remap(photo.dots, pixels[..., 0], pixels[..., 1], cv2.INTER_LINEAR, borderValue=(230, 230, 230))
    out = BytesIO()
    Image.fromarray(dots).save(out, "JPEG", quality=82)
    return Under(out.getvalue(), (float(low[0]), float(low[1])), (float(high[0]), float(high[1])))
