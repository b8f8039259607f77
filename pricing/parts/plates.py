"""Flat plates measured for the shop: area, arrises, border, spots, plugs, smallest box.

Takes    outlines and the plates they form, in mm; the owner's choices.
Gives    a `DrawingReading` of alike pieces, counted.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import takewhile
from math import isclose

import numpy as np

from pricing.basis.errors import BadInput, Problem, choices, nearest
from pricing.basis.facts import fact
from pricing.parts.bounds import Bounds
from pricing.parts.curves import Curve
from pricing.parts.nesting import Plate, diameter_mm, faults
from pricing.parts.nooks import envelope, spots
from pricing.parts.outlines import Outline
from pricing.parts.reading import BadDrawing, Choices, DrawingReading, Piece, Role, Seen

_SAME_HOLE = 0.01  # mm: no drill is sold in finer steps
_MOST_ALIKE = 1e-6  # share by which measures of alike pieces may differ: rounding of turned copies


def _to_draw(outline: Outline, role: Role, chosen: Choices) -> Seen:
    """Return an outline as it is drawn and switched on and off."""
    wiped = [curve.points for curve in outline.curves if _visible(curve, chosen)]
    whole = len(wiped) == len(outline.curves)
    return Seen(
        id=outline.id,
        role=role,
        layer=", ".join(sorted(outline.layers)),
        points=outline.points,
        lined=() if role in {"off", "bad"} else (outline.points,) if whole else tuple(wiped),
        outline=outline,
        length_mm=outline.length_mm,
        area_mm2=outline.area_mm2,
    )


def _visible(curve: Curve, chosen: Choices) -> bool:
    if not curve.seen:
        return False
    return not chosen.visible or curve.layer.casefold() in {name.casefold() for name in chosen.visible}


def switched_on(
    outlines: Sequence[Outline], chosen: Choices, bounds: Bounds, place: Callable[[float, float], str]
) -> list[Outline]:
    """Collect the outlines that count; ``place`` writes a point as the file has it.

    Raises
    ------
    BadInput
        An outline to leave out is not there; or one cannot be measured: then it is a `BadDrawing`, which carries all
        of them for a picture.
    """
    known = {outline.id for outline in outlines}
    if unknown := sorted(chosen.without - known):
        accepts = f"an outline's number, 1 to {max(known, default=0)}"
        raise BadInput(bounds.where, [Problem("without", n, accepts) for n in unknown])
    on = [o for o in outlines if o.id not in chosen.without and (o.closed or not chosen.closed_only)]
    if bad := faults(on, bounds, place):
        roles: dict[int, Role] = dict.fromkeys(chosen.without, "off")
        roles.update(dict.fromkeys(bad, "bad"))
        seen = [_to_draw(o, roles.get(o.id, "outer"), chosen) for o in outlines]
        raise BadDrawing(bounds.where, list(bad.values())[:20], seen)
    return on


def measure(
    outlines: Sequence[Outline], plates: Sequence[Plate], thickness_mm: float, *, chosen: Choices, bounds: Bounds
) -> DrawingReading:
    """Measure plates of a sheet [mm]: alike pieces counted, the largest first.

    Parameters
    ----------
    outlines : sequence of Outline
        All of the drawing.
    plates : sequence of Plate
        Made of those that are switched on.
    thickness_mm, chosen, bounds
        Of the sheet [mm]; visible layers, finger, sizes of plugs; of the file.

    Raises
    ------
    BadInput
        A visible layer is not in the drawing.
    """
    _check_visible(outlines, chosen, bounds)
    sizes = {hole.id: diameter_mm(hole) for plate in plates for hole in plate.holes}
    least, most = chosen.plug_least_mm - _SAME_HOLE, chosen.plug_most_mm + _SAME_HOLE
    plugged = {i for i, size in sizes.items() if least <= size <= most}
    roles: dict[int, Role] = {plate.outer.id: "outer" for plate in plates}
    for i in sizes:
        roles[i] = "plug" if i in plugged else "hole"
    seen = [_to_draw(outline, roles.get(outline.id, "off"), chosen) for outline in outlines]
    wiped = {s.id: None if s.lined and s.lined[0] is s.points else s.lined for s in seen}
    counts, places = spots(plates, chosen.finger_mm, plugged=plugged, wiped=wiped)
    pieces = []
    for plate, spot_count in zip(plates, counts, strict=True):
        by_size = _by_size([sizes[hole.id] for hole in plate.holes if sizes[hole.id]])
        plugs = sum(hole.id in plugged for hole in plate.holes)
        piece = _piece(plate, thickness_mm, chosen)
        pieces.append(replace(piece, spots=spot_count, plugs=plugs, holes=by_size))
    kinds = _alike(pieces)
    reading = DrawingReading(
        source="",
        kind="drawing",
        pieces=tuple(kinds),
        seen=tuple(seen),
        spots_at=places,
        notes=tuple(_notes(plates, kinds)),
    )
    return _with_spots(reading, chosen.marks.spots) if chosen.marks.spots else reading


def _with_spots(reading: DrawingReading, places: Sequence[tuple[float, float]]) -> DrawingReading:
    """Add spots that the owner saw at places [mm], each to the piece it is nearest to."""
    import shapely  # heavy: only where a drawing is read

    outers = {s.id: shapely.Polygon(s.points) for s in reading.seen if len(s.points) > 3}
    counts = [0] * len(reading.pieces)
    for place in places:
        far = [float(outers[p.outlines[0]].distance(shapely.Point(place))) for p in reading.pieces]
        counts[far.index(min(far))] += 1
    pieces = tuple(replace(p, spots=p.spots + n) for p, n in zip(reading.pieces, counts, strict=True))
    return replace(reading, pieces=pieces, spots_at=np.vstack((reading.spots_at, np.array(places))))


def _check_visible(outlines: Sequence[Outline], chosen: Choices, bounds: Bounds) -> None:
    names = {curve.layer for outline in outlines for curve in outline.curves}
    known = {name.casefold() for name in names}
    unknown = [name for name in sorted(chosen.visible) if name.casefold() not in known]
    if unknown:
        accepts = f"a layer with outlines: {choices(sorted(names)[:20])}"
        raise BadInput(bounds.where, [Problem("visible", n, accepts, nearest(n, known)) for n in unknown])


def _notes(plates: Sequence[Plate], kinds: Sequence[Piece]) -> list[str]:
    notes = []
    if len(plates) > 1:
        notes.append(f"Pieces on the sheet: {len(plates)}, of {len(kinds)} {'kind' if len(kinds) == 1 else 'kinds'}.")
    largest = plates[0]
    number = largest.outer.id
    if any(plate.inside for plate in plates) or largest.area_mm2 < largest.outer.area_mm2 / 2:
        notes.append(f"Outline {number} is mostly holes: if it is only the sheet, switch it off: --without {number}.")
    many = max(kind.plugs for kind in kinds)
    if many > fact("drawing.many_plugs"):
        notes.append(f"{many} holes of one piece get a plug each; if they stay open, say --plug '0 mm' '0 mm'.")
    return notes


def _piece(plate: Plate, thickness_mm: float, chosen: Choices) -> Piece:
    curves = [curve for outline in (plate.outer, *plate.holes) for curve in outline.curves]
    lined = sum(curve.length_mm for curve in curves if _visible(curve, chosen))
    short, long, _ = envelope(plate.outer.points)
    return Piece(
        area_m2=(2 * plate.area_mm2 + plate.length_mm * thickness_mm) / 1e6,
        face_m2=plate.area_mm2 / 1e6,
        lined_m2=chosen.lined_faces * plate.area_mm2 / 1e6,
        edge_m=fact("drawing.arrises") * lined / 1e3,
        line_m=chosen.lined_faces * lined / 1e3,
        volume_m3=plate.area_mm2 * thickness_mm / 1e9,
        width_mm=short,
        height_mm=long,
        depth_mm=thickness_mm,
        outlines=(plate.outer.id, *(hole.id for hole in plate.holes)),
    )


def _by_size(diameters_mm: list[float]) -> tuple[tuple[float, int], ...]:
    groups: list[list[float]] = []
    for size in sorted(diameters_mm):
        if groups and size - groups[-1][0] <= _SAME_HOLE:
            groups[-1].append(size)
        else:
            groups.append([size])
    return tuple((round(group[0], 3), len(group)) for group in groups)


def _alike(pieces: Sequence[Piece]) -> list[Piece]:
    """Count pieces with the same measures as one kind, in any turn and place on the sheet."""
    kinds: list[Piece] = []
    for piece in sorted(pieces, key=lambda piece: -piece.area_m2):
        near = takewhile(
            lambda k, area=piece.area_m2: kinds[k].area_m2 <= area * (1 + _MOST_ALIKE),  # type: ignore[misc]
            range(len(kinds) - 1, -1, -1),
        )
        k = next((k for k in near if _same(kinds[k], piece)), None)
        if k is None:
            kinds.append(piece)
        else:
            kinds[k] = replace(kinds[k], count=kinds[k].count + 1)
    return kinds


def _same(one: Piece, other: Piece) -> bool:
    counted = ("spots", "plugs")
    measured = ("area_m2", "face_m2", "edge_m", "line_m", "width_mm", "height_mm")
    return (
        len(one.outlines) == len(other.outlines)
        and [n for _, n in one.holes] == [n for _, n in other.holes]
        and all(getattr(one, name) == getattr(other, name) for name in counted)
        and all(isclose(getattr(one, n), getattr(other, n), rel_tol=_MOST_ALIKE) for n in measured)
    )
