"""The sketch of a shape with its dimensions: seen from the front, and beside it from the side or the end."""

from collections.abc import Callable, Mapping
from math import cos, pi, sin

from pricing.parts.dimensioned import DimensionPlan, Point, Write
from pricing.parts.shaped import SHAPE_COUNTS, Shaped

_M = Mapping[str, float]
_MOST_HOLES = 60  # drawn; more would be a grey field


def sketch(shaped: Shaped, write: Write) -> str:
    """Draw a shape to scale as SVG, with its dimensions; ``write`` writes a length in mm as the shop reads it.

    Examples
    --------
    >>> text = sketch(Shaped("plate", {"width": 300.0, "height": 200.0, "thickness": 3.0}), lambda mm: f"{mm:g} mm")
    >>> "300 mm" in text and "200 mm" in text and text.endswith("</svg>")
    True
    """
    m = shaped.measures
    plan = DimensionPlan(_span(shaped), write)
    _DRAWN[shaped.kind](plan, m)
    told = ", ".join(
        f"{name} {value:g}" if name in SHAPE_COUNTS else f"{name} {write(value)}" for name, value in m.items() if value
    )
    return plan.svg(f"{shaped.kind}: {told}")


def _span(shaped: Shaped) -> float:
    wide, high, deep = Shaped(shaped.kind, shaped.measures).size_mm
    beside = 0.0 if shaped.kind in {"plate", "disc", "perforated sheet", "cone", "ring"} else min(deep, max(wide, high))
    return max(wide + beside, high, 0.5 * (wide + high))


def _gap(plan: DimensionPlan) -> float:
    return 2.2 * plan.letter_mm


def _sized(plan: DimensionPlan, wide: float, high: float) -> None:
    """Measure a front that stands in the corner."""
    plan.across(0, wide, high + 0.6 * plan.letter_mm)
    plan.down(0, high, -0.6 * plan.letter_mm)


def _thin(plan: DimensionPlan, beside: float, thick: float, high: float) -> None:
    """Draw the side of something thin beside its front, and say how thick it is."""
    left = beside + _gap(plan)
    plan.rect((left, 0), thick, high)
    plan.note((left + thick / 2, high + 1.85 * plan.letter_mm), plan.write(thick))


def _holes(plan: DimensionPlan, m: _M, around: tuple[float, float, float, float]) -> None:
    """Put round holes along the rim of a face: where they lie is not asked, how many and how large is."""
    n, across = min(int(m.get("holes", 0.0)), _MOST_HOLES), m.get("drill", 0.0)
    if not n:
        return
    x, y, wide, high = around
    inset = min(1.2 * across, 0.3 * min(wide, high))
    corners: list[Point] = [
        (x + inset, y + inset),
        (x + wide - inset, y + inset),
        (x + wide - inset, y + high - inset),
        (x + inset, y + high - inset),
    ]
    for at in range(n):
        place = 4.0 * at / n
        side, part = int(place) % 4, place - int(place)
        (ax, ay), (bx, by) = corners[side], corners[(side + 1) % 4]
        plan.circle((ax + part * (bx - ax), ay + part * (by - ay)), across, bare=True)
    plan.note((x + wide / 2, y + high / 2 + 0.4 * plan.letter_mm), f"{m['holes']:g} × {plan.write(across)}")


def _sheet(plan: DimensionPlan, m: _M) -> None:
    wide, high, thick = m["width"], m["height"], m["thickness"]
    plan.rect((0, 0), wide, high)
    _holes(plan, m, (0, 0, wide, high))
    _sized(plan, wide, high)
    _thin(plan, wide, thick, high)


def _perforated(plan: DimensionPlan, m: _M) -> None:
    _sheet(plan, m)
    hole, pitch = m["hole"], m["pitch"]
    rows = max(1, min(4, int(0.5 * m["height"] / pitch)))
    large = max(1.0, 0.05 * max(m["width"], m["height"]) / pitch)  # drawn larger where they would be specks
    for row in range(rows):
        for at in range(5):
            x = 0.5 * m["width"] + (at - 2 + 0.5 * (row % 2)) * pitch * large
            y = 0.4 * m["height"] + (row - 1.5) * pitch * large * sin(pi / 3)
            plan.circle((x, y), hole * large, bare=True)
    plan.note((0.5 * m["width"], 0.85 * m["height"]), f"holes {plan.write(hole)}, every {plan.write(pitch)}")


def _disc(plan: DimensionPlan, m: _M) -> None:
    outer, thick = m["outer"], m["thickness"]
    middle = (outer / 2, outer / 2)
    plan.circle(middle, outer)
    if m["hole"]:
        plan.circle(middle, m["hole"], bare=True)
        plan.note((middle[0], middle[1] + 0.4 * plan.letter_mm), plan.write(m["hole"]))
    n, between = min(int(m["holes"]), _MOST_HOLES), 0.25 * (outer + max(m["hole"], 0.4 * outer))
    for at in range(n):
        turn = 2 * pi * at / n
        plan.circle((middle[0] + between * cos(turn), middle[1] + between * sin(turn)), m["drill"], bare=True)
    if n:
        plan.note((middle[0], 0.2 * outer), f"{m['holes']:g} × {plan.write(m['drill'])}")
    plan.across(0, outer, outer + 0.6 * plan.letter_mm)
    _thin(plan, outer, thick, outer)


def _long(plan: DimensionPlan, m: _M, section: tuple[float, float], end: Callable[[float], None]) -> None:
    """Draw a tube from the side, its end beside it."""
    length, (wide, high) = m["length"], section
    plan.rect((0, 0), length, high)
    n = min(int(m["holes"]), _MOST_HOLES)
    for at in range(n):
        plan.circle((length * (at + 0.5) / n, high / 2), m["drill"], bare=True)
    if n:
        plan.note((length / 2, -0.5 * plan.letter_mm), f"{m['holes']:g} × {plan.write(m['drill'])}")
    plan.across(0, length, high + 0.6 * plan.letter_mm)
    beside = length + _gap(plan)
    end(beside)
    plan.across(beside, beside + wide, high + 0.6 * plan.letter_mm)
    plan.note((beside + wide / 2, -0.5 * plan.letter_mm), f"wall {plan.write(m['wall'])}")


def _tube(plan: DimensionPlan, m: _M) -> None:
    outer = m["outer"]

    def end(at: float) -> None:
        plan.circle((at + outer / 2, outer / 2), outer)
        plan.circle((at + outer / 2, outer / 2), outer - 2 * m["wall"], bare=True)

    _long(plan, m, (outer, outer), end)


def _hollow(plan: DimensionPlan, m: _M) -> None:
    wide, high, wall = m["width"], m["height"], m["wall"]

    def end(at: float) -> None:
        plan.rect((at, 0), wide, high)
        plan.opening((at + wall, wall), wide - 2 * wall, high - 2 * wall)

    _long(plan, m, (wide, high), end)
    plan.down(0, high, -0.6 * plan.letter_mm)


def _ring(plan: DimensionPlan, m: _M) -> None:
    ring, bar = m["ring"], m["bar"]
    across = ring + bar
    plan.circle((across / 2, across / 2), across)
    plan.circle((across / 2, across / 2), ring - bar, bare=True)
    plan.across(bar / 2, across - bar / 2, across / 2, "middle to middle")
    plan.across(0, across, across + 0.6 * plan.letter_mm, "outside")
    beside = across + _gap(plan)
    plan.circle((beside + bar / 2, across / 2), bar)
    plan.note((beside + bar / 2, across / 2 + bar / 2 + 1.25 * plan.letter_mm), plan.write(bar))


def _box(plan: DimensionPlan, m: _M) -> None:
    wide, high, back = m["width"], m["height"], 0.35 * m["depth"]  # drawn slanting back
    plan.path([(0, 0), (back, -back), (wide + back, -back), (wide, 0)])
    plan.path([(wide, 0), (wide + back, -back), (wide + back, high - back), (wide, high)])
    plan.rect((0, 0), wide, high)
    _holes(plan, m, (0, 0, wide, high))
    _sized(plan, wide, high)
    plan.note((wide + back + 0.4 * plan.letter_mm, high - back), f"deep {plan.write(m['depth'])}", anchor="start")
    plan.note((back + wide / 2, -back - 0.5 * plan.letter_mm), f"sheet {plan.write(m['wall'])}")


def _cone(plan: DimensionPlan, m: _M) -> None:
    large, small, high = m["large"], m["small"], m["height"]
    wide = max(large, small)
    left = (wide - small) / 2
    plan.path([(left, 0), (left + small, 0), ((wide + large) / 2, high), ((wide - large) / 2, high)])
    plan.across((wide - large) / 2, (wide + large) / 2, high + 0.6 * plan.letter_mm)
    plan.down(0, high, -0.6 * plan.letter_mm)
    plan.note((wide / 2, -0.5 * plan.letter_mm), plan.write(small))
    plan.note((wide / 2, high / 2), f"sheet {plan.write(m['wall'])}")


def _wheel(plan: DimensionPlan, m: _M) -> None:
    outer, wall, hub, spoke = m["outer"], m["wall"], m["hub"], m["spoke"]
    inner = outer - 2 * wall
    cx = cy = outer / 2
    plan.circle((cx, cy), outer)
    plan.circle((cx, cy), inner, bare=True)
    for at in range(int(m["spokes"])):
        turn = 2 * pi * at / m["spokes"] - pi / 2
        along, across = (cos(turn), sin(turn)), (-sin(turn), cos(turn))
        near, far, half = 0.4 * hub, inner / 2, spoke / 2
        ends = [(near, -half), (far, -half), (far, half), (near, half)]
        plan.path([(cx + a * along[0] + b * across[0], cy + a * along[1] + b * across[1]) for a, b in ends])
    plan.circle((cx, cy), hub)
    plan.note((cx, cy + 0.4 * plan.letter_mm), plan.write(hub))
    plan.across(0, outer, outer + 0.6 * plan.letter_mm)
    beside = outer + _gap(plan)
    plan.rect((beside, 0), m["width"], outer)
    plan.across(beside, beside + m["width"], outer + 0.6 * plan.letter_mm)


def _frame(plan: DimensionPlan, m: _M) -> None:
    wide, high, bar, n = m["width"], m["height"], m["bar"], int(m["bars"])
    plan.rect((0, 0), wide, high)
    space = (wide - (n + 2) * bar) / (n + 1)
    for at in range(n + 1):
        plan.opening((bar + at * (space + bar), bar), space, high - 2 * bar)
    _sized(plan, wide, high)
    _thin(plan, wide, m["deep"], high)
    told = f", {m['holes']:g} × {plan.write(m['drill'])}" if m["holes"] else ""
    plan.note((wide / 2, -0.5 * plan.letter_mm), f"tube {plan.write(bar)}, wall {plan.write(m['wall'])}{told}")


_DRAWN: Mapping[str, Callable[[DimensionPlan, _M], None]] = {
    "plate": _sheet,
    "disc": _disc,
    "tube": _tube,
    "ring": _ring,
    "box": _box,
    "cone": _cone,
    "wheel": _wheel,
    "hollow section": _hollow,
    "frame": _frame,
    "perforated sheet": _perforated,
}
