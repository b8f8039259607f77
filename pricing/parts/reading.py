"""What a part's file told: measures of each piece, outlines to look at, and what was assumed."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import Any, Literal

import numpy as np

from pricing.basis.errors import BadInput, Problem, choices, nearest
from pricing.basis.facts import fact
from pricing.parts.bounds import Bounds
from pricing.parts.curves import Points
from pricing.parts.outlines import Outline
from pricing.parts.part import Part, density_kg_per_m3
from pricing.parts.stretches import StretchMarks

MILLIMETRES = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "ft": 304.8}
"""In one unit of a file; exact by definition."""
Role = Literal["outer", "hole", "plug", "off", "bad"]


def unit_of(asked: str, told: str, told_mm: float, bounds: Bounds, mend: str) -> tuple[str, float, list[str]]:
    """Choose the unit of a file, its millimetres and a note: as asked, else as the file tells it; 0 mm is no unit.

    Raises
    ------
    BadInput
        The unit asked for is none of `MILLIMETRES`; or none is asked for, and none is told.
    """
    if asked and asked not in MILLIMETRES:
        bounds.refuse("units", asked, choices(MILLIMETRES), nearest(asked, MILLIMETRES))
    if asked:
        differs = told_mm and abs(told_mm / MILLIMETRES[asked] - 1) > 1e-9
        return asked, MILLIMETRES[asked], [f"Read in {asked} as you asked; the file says {told}."] if differs else []
    if not told_mm:
        bounds.refuse("units", "not told by the file", choices(MILLIMETRES), mend)
    return told, told_mm, [f"The file's unit is {told}."]


def _usual_mm(name: str) -> float:
    return fact(f"drawing.{name}", "millimeter")


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """What the owner chose for one file; what is not chosen comes from ``data/facts.csv``.

    Parameters
    ----------
    units : str
        ``mm``, ``cm``, ``m``, ``in`` or ``ft``, where the file does not say it.
    layers : frozenset of str
        Layers to read; none named reads all that are switched on.
    visible : frozenset of str
        Layers whose edges are seen, and therefore sanded and wiped; none named means all.
    without : frozenset of int
        Numbers of outlines to leave out.
    keep : frozenset of int
        Numbers of outlines that are metal although they look like the edge of a sheet.
    closed_only : bool
        Whether everything that stays open is left out, however much it is.
    repair : bool
        Whether a damaged file may be mended; what was done is told.
    open_surface : bool
        Whether a mesh may stay open, because its thickness or mass is known.
    marks : StretchMarks
        Edges not seen, corners dragged, nooks added.
    gap_mm, finger_mm, plug_least_mm, plug_most_mm : float
        Gaps to close, radius of a fingertip, diameters of holes that get a plug [mm].
    lined_faces : float
        Faces whose border is a line between two colours.
    """

    units: str = ""
    layers: frozenset[str] = frozenset()
    visible: frozenset[str] = frozenset()
    without: frozenset[int] = frozenset()
    keep: frozenset[int] = frozenset()
    closed_only: bool = False
    repair: bool = False
    open_surface: bool = False
    marks: StretchMarks = field(default_factory=StretchMarks)
    gap_mm: float = field(default_factory=lambda: _usual_mm("gap"))
    finger_mm: float = field(default_factory=lambda: _usual_mm("finger_radius"))
    plug_least_mm: float = field(default_factory=lambda: _usual_mm("plug_least"))
    plug_most_mm: float = field(default_factory=lambda: _usual_mm("plug_most"))
    lined_faces: float = field(default_factory=lambda: fact("drawing.lined_faces"))


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Seen:
    """An outline, or the edges of a mesh, to be drawn.

    Parameters
    ----------
    id : int
        Number by which it is switched off.
    role : {'outer', 'hole', 'plug', 'off', 'bad'}
        What it was taken for.
    layer : str
        Where it is drawn.
    points : (n, 2) array
        [mm]
    lined : tuple of (m, 2) arrays
        The stretches of it that are sanded and wiped [mm].
    length_mm, area_mm2 : float
        Exact, of the curves themselves.
    outline : Outline or None
        As it was marked; a mesh has none.
    """

    id: int
    role: Role
    layer: str
    points: Points
    lined: tuple[Points, ...] = ()
    length_mm: float = 0.0
    area_mm2: float = 0.0
    outline: Outline | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One kind of piece in the file, and how many of it there are.

    Parameters
    ----------
    count : int
        Alike pieces in the file.
    area_m2 : float
        All that is coated: both faces and the edges' faces; for a mesh its whole open surface [m²].
    face_m2, lined_m2 : float
        One face; the faces in the second colour; 0 for a mesh [m²].
    edge_m, line_m : float
        Arrises to sand, border of two colours [m].
    spots, plugs : int
        Nooks that need a swab, holes that get a plug.
    holes : tuple of (float, int)
        Round holes: diameter [mm] and number.
    volume_m3 : float
        Metal; 0 when the mesh is open [m³].
    width_mm, height_mm, depth_mm : float
        Smallest box around it; the longest side hangs down [mm].
    outlines : tuple of int
        Numbers of its outlines, of the first such piece.
    hollow : bool
        Whether a closed hollow is inside.
    """

    count: int = 1
    area_m2: float
    face_m2: float = 0.0
    lined_m2: float = 0.0
    edge_m: float
    line_m: float = 0.0
    spots: int = 0
    plugs: int = 0
    holes: tuple[tuple[float, int], ...] = ()
    volume_m3: float
    width_mm: float
    height_mm: float
    depth_mm: float
    outlines: tuple[int, ...] = ()
    hollow: bool = False


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class DrawingReading:
    """A file that was read.

    Parameters
    ----------
    source : str
        Name of the file.
    kind : {'drawing', 'mesh', 'photo'}
        What it is.
    pieces : tuple of Piece
        Largest first.
    seen : tuple of Seen
        To draw and to switch off.
    spots_at : (n, 2) array
        Where the spots are [mm].
    notes : tuple of str
        What was assumed, closed, left out or mended, for people.
    """

    source: str
    kind: Literal["drawing", "mesh", "photo"] = "drawing"
    pieces: tuple[Piece, ...] = ()
    seen: tuple[Seen, ...] = ()
    spots_at: Points = field(default_factory=lambda: np.zeros((0, 2)))
    notes: tuple[str, ...] = ()

    def part(self, number: int, name: str, material: str, *, hidden_m2: float = 0.0, **more: Any) -> Part:
        """Make the part that a job or the price list takes.

        Parameters
        ----------
        number : int
            Which kind of piece, from 1.
        name, material : str
            As in `Part`.
        hidden_m2 : float
            Surface that is not coated: inside, clamped, bolted together [m²].
        **more
            Other fields of `Part`; they win over what was read, as ``mass_kg`` or ``thickness_mm``.

        Raises
        ------
        BadInput
            There is no such piece, more is hidden than there is, or a field is refused.

        Notes
        -----
        A mesh has no thickness of its own: twice volume over area stands in, which is right for a wall
        of even thickness and too thin for the heaviest section of a casting. An open mesh has no volume
        either: thickness or mass, whichever is given, decides the other by the same rule.
        """
        if not 1 <= number <= len(self.pieces):
            raise BadInput(self.source, [Problem("piece", number, f"1 to {len(self.pieces)}")])
        piece = self.pieces[number - 1]
        if not 0 <= hidden_m2 < piece.area_m2:
            accepts = f"0 m² or more and under {piece.area_m2:.4g} m²"
            raise BadInput(self.source, [Problem("hidden", f"{hidden_m2:g} m²", accepts)])
        try:
            density = density_kg_per_m3(material)
        except BadInput as why:
            raise BadInput(self.source, why.problems) from None
        cut, volume_m3 = self.kind != "mesh", piece.volume_m3
        if not volume_m3:
            if not {"thickness_mm", "mass_kg"} & set(more):
                mend = "Name its --thickness or its --mass."
                raise BadInput(
                    self.source, [Problem("the mesh", "open", "closed, or of known thickness or mass", mend)]
                )
            by_wall = piece.area_m2 / 2 * more.get("thickness_mm", 0.0) / 1e3
            volume_m3 = more["mass_kg"] / density if "mass_kg" in more else by_wall
        fields: dict[str, Any] = {
            "thickness_mm": piece.depth_mm if cut else 2e3 * volume_m3 / piece.area_m2,
            "mass_kg": volume_m3 * density,
            "area_m2": piece.area_m2 - hidden_m2,
            "edge_m": piece.edge_m,
            "line_m": piece.line_m,
            "spots": piece.spots,
            "plugs": piece.plugs,
            "width_mm": piece.width_mm,
            "height_mm": piece.height_mm,
            "depth_mm": piece.depth_mm,
            "second_share": min(piece.lined_m2 / (piece.area_m2 - hidden_m2), 1.0) if cut else 1.0,
            "edge_quality": "cut" if cut else "sound",
            "closed_volume": piece.hollow,
        }
        try:
            return Part(**({"name": name, "material": material} | fields | more))
        except BadInput as why:
            raise BadInput(self.source, why.problems) from None

    def as_dict(self) -> dict[str, Any]:
        """Describe all figures with their units in the names, for programs."""
        return {
            "file": self.source,
            "kind": self.kind,
            "pieces": [_plain(piece) for piece in self.pieces],
            "outlines": [
                {"id": s.id, "role": s.role, "layer": s.layer, "length_mm": s.length_mm, "area_mm2": s.area_mm2}
                for s in self.seen
            ],
            "notes": list(self.notes),
        }


def _plain(piece: Piece) -> Mapping[str, Any]:
    return {**asdict(piece), "holes": [{"diameter_mm": size, "count": number} for size, number in piece.holes]}


class BadDrawing(BadInput):
    """A drawing that could be looked at but not measured; its outlines let a picture show which one is meant."""

    def __init__(self, where: str, problems: Sequence[Problem], seen: Sequence[Seen] = ()) -> None:
        super().__init__(where, problems)
        self.seen = tuple(seen)
