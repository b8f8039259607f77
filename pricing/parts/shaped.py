"""Shapes by a tape measure: plate, ring, tube, box, frame and their like, for parts that come without a drawing.

Takes    what a tape and a caliper give, in mm, and how many holes, spokes or bars.
Gives    area, mass, edges, border and how it hangs: a whole part, or the fields of one.
Numbers  none: what is asked, in which words, and what a form begins with is ``data/shapes.csv``.
"""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Any

from pricing.basis.errors import BadInput, Problem, choices, nearest
from pricing.basis.facts import data_folder, fact
from pricing.basis.files import read_table
from pricing.basis.numerals import spelled
from pricing.basis.records import key_of
from pricing.basis.tongue import PLAIN, Tongue
from pricing.basis.typed import accepted, read_cell
from pricing.parts.part import Part, density_kg_per_m3
from pricing.physics.sections import frame, hollow_section, perforated_sheet
from pricing.physics.shapes import Shape, disc, drilled, plate
from pricing.physics.solids import box, cone_frustum, torus, tube, wheel

SHAPE_COUNTS = frozenset({"holes", "spokes", "bars"})
"""Measures that are counted."""
Sizes = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Asked:
    """One measure of a shape: what a form calls it and begins with, and whether it may be left out."""

    name: str
    label: str
    start: str
    needed: bool

    @property
    def counted(self) -> bool:
        """Whether it is a number of things and no length."""
        return self.name in SHAPE_COUNTS


@dataclass(frozen=True, slots=True)
class _Way:
    """How a shape is worked out, and how large it is as it hangs: along the rail, downwards, across. [mm]"""

    make: Callable[[Mapping[str, float]], Shape]
    size: Callable[[Mapping[str, float]], Sizes]
    section: str  # the measure that is its heaviest section
    faces: int = 2  # coated faces of the wall that holes go through


_WAYS: dict[str, _Way] = {
    "plate": _Way(
        lambda m: plate(m["width"], m["height"], thickness_mm=m["thickness"]),
        lambda m: (m["width"], m["height"], m["thickness"]),
        "thickness",
    ),
    "disc": _Way(
        lambda m: disc(m["outer"], hole_mm=m["hole"], thickness_mm=m["thickness"]),
        lambda m: (m["outer"], m["outer"], m["thickness"]),
        "thickness",
    ),
    "tube": _Way(
        lambda m: tube(m["outer"], wall_mm=m["wall"], length_mm=m["length"], inside_coated=False),
        lambda m: (m["length"], m["outer"], m["outer"]),
        "wall",
        1,
    ),
    "ring": _Way(
        lambda m: torus(m["ring"], m["bar"]),
        lambda m: (m["ring"] + m["bar"], m["ring"] + m["bar"], m["bar"]),
        "bar",
    ),
    "box": _Way(
        lambda m: box(m["width"], m["height"], depth_mm=m["depth"], wall_mm=m["wall"]),
        lambda m: (m["width"], m["height"], m["depth"]),
        "wall",
        1,
    ),
    "cone": _Way(
        lambda m: cone_frustum(m["large"], m["small"], height_mm=m["height"], wall_mm=m["wall"]),
        lambda m: (max(m["large"], m["small"]), m["height"], max(m["large"], m["small"])),
        "wall",
    ),
    "wheel": _Way(
        lambda m: wheel(
            m["outer"], m["width"], wall_mm=m["wall"], hub_mm=m["hub"], spokes=m["spokes"], spoke_mm=m["spoke"]
        ),
        lambda m: (m["outer"], m["outer"], m["width"]),
        "spoke",
    ),
    "hollow section": _Way(
        lambda m: hollow_section(
            m["width"],
            m["height"],
            wall_mm=m["wall"],
            length_mm=m["length"],
            corner_factor=fact("hollow_section.corner_factor"),
        ),
        lambda m: (m["length"], m["height"], m["width"]),
        "wall",
        1,
    ),
    "frame": _Way(
        lambda m: frame(
            m["width"],
            m["height"],
            bar_mm=m["bar"],
            deep_mm=m["deep"],
            wall_mm=m["wall"],
            bars=m["bars"],
            corner_factor=fact("hollow_section.corner_factor"),
        ),
        lambda m: (m["width"], m["height"], m["deep"]),
        "wall",
        1,
    ),
    "perforated sheet": _Way(
        lambda m: perforated_sheet(
            m["width"], m["height"], thickness_mm=m["thickness"], hole_mm=m["hole"], pitch_mm=m["pitch"]
        ),
        lambda m: (m["width"], m["height"], m["thickness"]),
        "thickness",
    ),
}


@cache
def asked() -> Mapping[str, tuple[Asked, ...]]:
    """Collect what each shape asks for, in the order of a form."""
    found: dict[str, list[Asked]] = {}
    for row in _rows():
        one = Asked(row["measure"], row["label"], row["start"], row["asks"] == "yes")
        found.setdefault(row["shape"], []).append(one)
    return {shape: tuple(measures) for shape, measures in found.items()}


@cache
def titles() -> Mapping[str, str]:
    """Collect the shapes in words."""
    return {row["shape"]: row["title"] for row in _rows() if row["title"]}


def _rows() -> list[dict[str, str]]:
    return read_table(data_folder() / "shapes.csv", ("shape", "title", "measure", "label", "start", "asks"))


@dataclass(frozen=True, slots=True)
class Shaped:
    """A shape with its measures.

    Parameters
    ----------
    kind : str
        One of `asked`.
    measures : mapping of str to float
        Each measure of the kind. [mm, or a number]
    upright : bool
        Whether it hangs with its longer side down, not along the rail.

    Raises
    ------
    BadInput
        The kind is unknown, or a measure is missing, unknown or impossible; all at once.

    Examples
    --------
    >>> tray = Shaped("plate", {"width": 1000.0, "height": 500.0, "thickness": 3.0})
    >>> round(tray.shape.area_m2, 3), tray.shape.edge_m, tray.size_mm
    (1.009, 6.0, (1000.0, 500.0, 3.0))
    """

    kind: str
    measures: Mapping[str, float]
    upright: bool = False
    shape: Shape = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        if bad := _unfit(self.kind, self.measures, PLAIN):
            raise BadInput("shape", bad)
        whole = {one.name: float(self.measures.get(one.name, 0.0)) for one in asked()[self.kind]}
        object.__setattr__(self, "measures", whole)
        object.__setattr__(self, "shape", _made(self.kind, whole))

    @property
    def size_mm(self) -> Sizes:
        """How large it is as it hangs: along the rail, downwards, across the rails. [mm]"""
        wide, high, deep = _WAYS[self.kind].size(self.measures)
        turned = self.upright and wide > high
        return (high, wide, deep) if turned else (wide, high, deep)

    @property
    def thickness_mm(self) -> float:
        """Its heaviest section. [mm]"""
        return max(self.measures[_WAYS[self.kind].section], self.measures.get("wall", 0.0))

    def part(self, name: str, material: str, **facts: Any) -> Part:
        """Make a part of it; ``facts`` are other fields: surface, nooks, plugs, old coating.

        Raises
        ------
        BadInput
            The metal is unknown.
        """
        return Part.model_validate({"name": name, "material": material, **self.fields(material), **facts})

    def fields(self, material: str) -> dict[str, float]:
        """Collect what the shape says of a part, by field.

        Raises
        ------
        BadInput
            The metal is unknown.
        """
        made, (wide, high, deep) = self.shape, self.size_mm
        return {
            "area_m2": float(made.area_m2),
            "mass_kg": float(made.mass_kg(density_kg_per_m3(material))),
            "edge_m": float(made.edge_m),
            "line_m": float(made.line_m),
            "thickness_mm": self.thickness_mm,
            "width_mm": wide,
            "height_mm": high,
            "depth_mm": deep,
        }

    def written(self, material: str) -> dict[str, str]:
        """Write `fields` as a job's file does, with their units."""
        units = {"m2": "m**2", "kg": "kg", "m": "m", "mm": "mm"}
        fields = self.fields(material)
        return {key_of(name): f"{spelled(value)} {units[name.rpartition('_')[2]]}" for name, value in fields.items()}


def shape_of(given: Mapping[str, Any], tongue: Tongue = PLAIN) -> Shaped:
    """Read a shape as a job's file gives it: its ``kind`` and its measures as text with units.

    ``spokes``, ``bars`` and ``holes`` are plain numbers, and ``upright = true`` hangs it by its short side.

    Raises
    ------
    BadInput
        The kind is unknown, or a measure is missing, unknown or impossible; all at once.

    Examples
    --------
    >>> tray = shape_of({"kind": "plate", "width": "1 m", "height": "0.5 m", "thickness": "3 mm"})
    >>> tray.written("mild steel")["area"], tray.written("mild steel")["edge"]
    ('1.0090 m**2', '6 m')
    """
    kind = str(given.get("kind", ""))
    measures = {name: value for name, value in given.items() if name not in {"kind", "upright"}}
    bad = _unfit(kind, measures, tongue)
    values = {
        one.name: read_cell(bad, f"shape.{one.name}", measures[one.name], _unit(one), tongue)
        for one in asked()[kind]
        if one.name in measures
    }
    if bad:
        raise BadInput("shape", bad)
    return Shaped(kind, values, upright=bool(given.get("upright")))


def _unit(one: Asked) -> str:
    return "whole" if one.counted else "mm"


def _unfit(kind: str, measures: Collection[str], tongue: Tongue) -> list[Problem]:
    """Collect measures that a shape does not know, or lacks; an unknown shape is refused."""
    if kind not in asked():
        raise BadInput("shape", [Problem("shape.kind", kind or "missing", choices(asked()), nearest(kind, asked()))])
    names = [one.name for one in asked()[kind]]
    bad = [
        Problem(f"shape.{n}", "not a measure", choices(names), nearest(n, names)) for n in measures if n not in names
    ]
    return bad + [
        Problem(f"shape.{one.name}", "missing", accepted(_unit(one), tongue))
        for one in asked()[kind]
        if one.needed and one.name not in measures
    ]


def _made(kind: str, m: Mapping[str, float]) -> Shape:
    way = _WAYS[kind]
    try:
        bare = way.make(m)
        return (
            drilled(bare, m["holes"], m["drill"], wall_mm=m[way.section], faces=way.faces) if m.get("holes") else bare
        )
    except BadInput as why:
        told = [Problem(f"shape: {p.field}", p.value, p.accepts, p.mend) for p in why.problems]
        raise BadInput("shape", told) from None
