"""A flat part measured from a phone's picture of it among printed cards.

Takes    a picture, the part's thickness, the owner's choices.
Gives    a `PhotoReading`: the same `DrawingReading` that a cut file gives, and for each piece what is not sure.
Rules    what cannot be measured is refused with advice for another picture; a guess is never made.
"""

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from pricing.basis.arrays import AnyArray
from pricing.basis.errors import BadInput, Problem
from pricing.basis.facts import fact
from pricing.parts.bounds import Bounds, need
from pricing.parts.nesting import faults, nest
from pricing.parts.outlines import Outline
from pricing.parts.photo_cards import CARD_MM, MARKER_MM, RULER_MM, find_cards, need_photos
from pricing.parts.photo_doubt import Doubt, Held, Span, doubt_of, smallest_hole_mm
from pricing.parts.photo_file import Photo, read_photo_file, to_light
from pricing.parts.photo_outline import Traced, find_outlines
from pricing.parts.photo_plane import Plane, find_plane
from pricing.parts.plates import measure, to_draw, with_spots
from pricing.parts.reading import BadDrawing, Choices, DrawingReading, Role
from pricing.parts.stretches import marked


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """How a picture was taken.

    Parameters
    ----------
    thickness_mm : float
        Of the part [mm].
    above_mm : float
        Its lower face over the cards' plane [mm].
    ruler_mm : float
        Length of the printed check ruler, measured; 0 when it was not [mm].
    """

    thickness_mm: float
    above_mm: float = 0.0
    ruler_mm: float = 0.0


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
    photo : Photo
        The picture.
    plane : Plane
        Of the cards.
    raised_mm : float
        The part's upper face over that plane [mm].
    """

    reading: DrawingReading
    doubts: tuple[Doubt, ...]
    outlines: tuple[Outline, ...]
    photo: Photo
    plane: Plane
    raised_mm: float = 0.0

    def as_dict(self) -> dict[str, Any]:
        """Describe all figures, with low, middle and high of each, for programs."""
        made = self.reading.as_dict()
        for piece, doubt in zip(made["pieces"], self.doubts, strict=True):
            piece["between"] = {name: [s.low, s.middle, s.high] for name, s in doubt.spans.items()}
            piece["doubt_shares"] = dict(doubt.reasons)
        return made


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Traces:
    """What was found in a picture before any choice: to be measured many times."""

    photo: Photo
    plane: Plane
    traced: tuple[Traced, ...]
    notes: tuple[str, ...]
    taken: Taken


def look(path: Path, taken: Taken) -> Traces:
    """Find cards, plane and outlines in a picture.

    Parameters
    ----------
    path : Path
        JPEG, PNG or HEIC.
    taken : Taken
        How it was taken.

    Raises
    ------
    BadInput
        It is no picture, or it cannot be measured; with advice.
    """
    where = str(path)
    need_photos(where)
    need(where, "shapely")
    check_taken(taken, where)
    photo = read_photo_file(path)
    import cv2  # heavy: only for pictures

    grey = cv2.cvtColor(photo.dots, cv2.COLOR_RGB2GRAY)
    printed = taken.ruler_mm / RULER_MM if taken.ruler_mm else 1.0
    cards = find_cards(grey, to_light(grey))
    plane = find_plane(cards, photo.size, f35_mm=photo.f35_mm, printed=printed, where=where)
    _check_view(plane, where)
    grow = CARD_MM / MARKER_MM
    corners = np.array([_grown(plane.to_mm(card.corners), grow) for card in cards])
    traced, notes = find_outlines(
        photo, plane, corners, thickness_mm=taken.thickness_mm, above_mm=taken.above_mm, where=where
    )
    return Traces(photo=photo, plane=plane, traced=tuple(traced), notes=tuple(notes), taken=taken)


def _grown(corners: AnyArray, by: float) -> AnyArray:
    middle = corners.mean(axis=0)
    return np.asarray(middle + (corners - middle) * by)


def check_taken(taken: Taken, where: str) -> None:
    """Refuse a thickness, height or ruler that cannot be.

    Raises
    ------
    BadInput
        With every one that is out of bounds.
    """
    bad = []
    most = fact("photo.most_thickness", "mm")
    if not 0 < taken.thickness_mm <= most:
        told = f"{taken.thickness_mm:g} mm"
        bad.append(Problem("thickness", told, f"above 0 mm and at most {most:g} mm", "Thicker parts are not flat."))
    if not 0 <= taken.above_mm <= most:
        bad.append(Problem("height above the cards", f"{taken.above_mm:g} mm", f"0 mm to {most:g} mm"))
    if taken.ruler_mm and not 0.8 <= taken.ruler_mm / RULER_MM <= 1.25:
        mend = "Measure the line of 100 mm on the printed page."
        bad.append(Problem("ruler", f"{taken.ruler_mm:g} mm", "from 80 mm to 125 mm", mend))
    if bad:
        raise BadInput(where, bad)


def _check_view(plane: Plane, where: str) -> None:
    if plane.tilt_deg > (most := fact("photo.most_tilt", "degree")):
        mend = "Hold the phone flat over the part."
        raise BadInput(where, [Problem("view", f"tilted by {plane.tilt_deg:.0f}°", f"at most {most:g}°", mend)])
    if plane.soft_px > (most := fact("photo.most_soft")):
        told = f"blurred over {plane.soft_px:.2g} dots"
        mend = "Hold the phone still in better light, tap on the part to focus, wipe the lens."
        raise BadInput(where, [Problem("picture", told, f"sharp to {most:g} dots", mend)])


def read_photo(path: Path, taken: Taken, *, chosen: Choices | None = None) -> PhotoReading:
    """Read a picture.

    Parameters
    ----------
    path : Path
        JPEG, PNG or HEIC.
    taken : Taken
        How it was taken.
    chosen : Choices, optional
        Outlines left out, marks, sizes of plugs, finger.

    Raises
    ------
    BadInput
        As `look` and `photo_measured`.
    """
    return photo_measured(look(path, taken), taken, chosen=chosen)


def photo_measured(traces: Traces, taken: Taken, *, chosen: Choices | None = None) -> PhotoReading:
    """Measure what was found, as chosen.

    Parameters
    ----------
    traces : Traces
        Of the picture.
    taken : Taken
        As of `look`.
    chosen : Choices, optional
        As for a drawing.

    Raises
    ------
    BadInput
        Nothing is left, or outlines cross after a corner was dragged.
    """
    name = traces.photo.name
    bounds = Bounds(name, 0)
    gloss = {t.outline.id for t in traces.traced if t.gloss}
    chosen = chosen or Choices()
    outlines = tuple(marked(t.outline, chosen.marks) for t in traces.traced)
    unknown = sorted(chosen.without - {o.id for o in outlines})
    if unknown:
        raise BadInput(name, [Problem("without", n, f"an outline's number, 1 to {len(outlines)}") for n in unknown])
    off = chosen.without | gloss
    chosen = replace(chosen, without=frozenset(off))
    on = [outline for outline in outlines if outline.id not in off]
    if not on:
        bounds.refuse("the picture", "left out altogether", "an outline or more", "Switch one on again.")
    bad = faults(on, bounds, lambda x, y: f"({x:.0f}, {y:.0f}) mm")
    if bad:
        roles: dict[int, Role] = dict.fromkeys(off, "off")
        roles.update(dict.fromkeys(bad, "bad"))
        seen = [to_draw(o, roles.get(o.id, "outer"), chosen) for o in outlines]
        raise BadDrawing(name, list(bad.values())[:20], seen)
    reading = measure(outlines, nest(on, bounds), taken.thickness_mm, chosen=chosen, bounds=bounds)
    reading = with_spots(reading, chosen.marks.spots)
    held = Held(
        thickness_mm=taken.thickness_mm,
        above_mm=taken.above_mm,
        above_doubt_mm=fact("photo.above_doubt", "mm"),
        print_doubt=fact("photo.print_measured" if taken.ruler_mm else "photo.print_guessed"),
    )
    by_id = {t.outline.id: replace(t, outline=o) for t, o in zip(traces.traced, outlines, strict=True)}
    doubts = []
    for piece in reading.pieces:
        doubt = doubt_of(piece, [by_id[i] for i in piece.outlines], traces.plane, held, chosen)
        spots = _spots_span(outlines, reading, piece.spots, taken.thickness_mm, chosen, bounds)
        doubts.append(replace(doubt, spans={**doubt.spans, "spots": spots}))
    notes = (*_notes(traces, taken, len(gloss)), *reading.notes)
    reading = replace(reading, source=name, kind="photo", notes=notes)
    return PhotoReading(
        reading=reading,
        doubts=tuple(doubts),
        outlines=outlines,
        photo=traces.photo,
        plane=traces.plane,
        raised_mm=taken.above_mm + taken.thickness_mm,
    )


def _spots_span(
    outlines: tuple[Outline, ...],
    reading: DrawingReading,
    counted: int,
    thickness_mm: float,
    chosen: Choices,
    bounds: Bounds,
) -> Span:
    """Count nooks with a finger a little thinner and a little thicker: those that are near the limit may be none."""
    share = fact("photo.finger_doubt")
    others = []
    on = [o for o in outlines if o.id not in chosen.without]
    for factor in (1 - share, 1 + share):
        again = replace(chosen, finger_mm=chosen.finger_mm * factor)
        pieces = measure(outlines, nest(on, bounds), thickness_mm, chosen=again, bounds=bounds).pieces
        others.append(
            sum(p.spots for p in pieces) - sum(p.spots for p in reading.pieces) + counted + len(chosen.marks.spots)
        )
    return Span(low=max(min(counted, *others), 0), middle=counted, high=max(counted, *others))


def _notes(traces: Traces, taken: Taken, gloss: int) -> list[str]:
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
    if plane.cards and not taken.ruler_mm:
        notes.append(
            "The cards' print was not checked: measure the ruler on their page and say its length; ranges get narrower."
        )
    if plane.cards and not traces.photo.f35_mm:
        notes.append("The picture does not tell its lens: a usual phone's is taken, and heights are less sure.")
    if gloss:
        notes.append(f"Soft-edged light taken for gloss, not for holes: {gloss}.")
    return notes
