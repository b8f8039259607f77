"""A picture of what was read, as SVG: outlines by their role, lines to wipe, spots.

Roles differ by dash and label as well as by colour; the colours stay apart for colour-blind eyes. Each
outline carries its number, by which it is switched off.
"""

from base64 import b64encode
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

import numpy as np

from pricing.parts.curves import Points
from pricing.parts.reading import DrawingReading, Seen

_WIDTH, _HEIGHT, _EDGE = 900.0, 640.0, 30.0  # of the drawing's field, in pixels
_ROW = 22.0
_MOST_DRAWN, _MOST_LABELS, _MOST_SPOTS = 4000, 150, 2000
_STYLES = {
    "outer": ("#1b1b1b", "", "outline"),
    "hole": ("#0072b2", "7 3", "hole"),
    "plug": ("#a6611a", "2 3", "hole that gets a plug"),
    "off": ("#8a8a8a", "1 5", "switched off"),
    "bad": ("#d1004b", "10 4", "cannot be measured"),
}
_SPOT = "#d55e00"
_LINED = 'class="lined" stroke="#009e73" stroke-width="6" stroke-opacity="0.35"'
_METAL = 'class="metal" fill="#e9e9e6" fill-rule="evenodd"'


@dataclass(frozen=True, slots=True)
class Under:
    """A picture to lay outlines on: JPEG bytes, its lower left and its upper right corner [mm]."""

    jpeg: bytes
    low: tuple[float, float]
    high: tuple[float, float]


def picture(reading: DrawingReading, under: Under | None = None) -> str:
    """Draw what was read of a drawing, a mesh or a picture as SVG, complete in itself, with a title and a legend."""
    shown = sorted(reading.seen, key=_size, reverse=True)[:_MOST_DRAWN]
    spots = reading.spots_at[:_MOST_SPOTS]
    field = _Field([s.points for s in shown] + ([np.array([under.low, under.high])] if under else []))
    body = [field.image(under) if under else field.filled(shown)]
    body += [field.path(points, _LINED) for s in shown for points in s.lined]
    body += [_outline(field, s) for s in shown]
    body += [_label(field, s) for s in shown if len(shown) <= _MOST_LABELS]
    body += [_cross(*field.place(point)) for point in spots.tolist()]
    rows = _legend(shown, len(spots), "edge to sand" if reading.kind == "mesh" else "edge to sand, border to wipe")
    if hidden := len(reading.seen) - len(shown):
        rows.append(_text(_EDGE, f"{hidden} smaller outlines are not drawn"))
    height = field.height + _ROW * (len(rows) + 1)
    legend = [
        f'<g transform="translate(0 {field.height + _ROW * number:.1f})">{row}</g>'
        for number, row in enumerate(rows, 1)
    ]
    size = f"{_number(field.size[0])} × {_number(field.size[1])} mm"
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH:.0f} {height:.0f}" width="{_WIDTH:.0f}" '
        f'height="{height:.0f}" role="img" font-family="sans-serif" font-size="13">'
    )
    about = f"<title>{_safe(reading.source)}, {size}</title>"
    ground = '<rect width="100%" height="100%" fill="#ffffff"/>'
    return "\n".join([head, about, ground, '<g fill="none" stroke-width="1.4">', *body, *legend, "</g>", "</svg>", ""])


class _Field:
    """Millimetres of the drawing laid into the picture, with y upwards."""

    def __init__(self, outlines: Sequence[Points]) -> None:
        corners = np.concatenate([*outlines, np.zeros((0, 2))])
        low, high = (corners.min(axis=0), corners.max(axis=0)) if len(corners) else (np.zeros(2), np.ones(2))
        self.size = high - low
        room = (_WIDTH - 2 * _EDGE, _HEIGHT - 2 * _EDGE)
        self.scale = min(room[0] / max(self.size[0], 1e-9), room[1] / max(self.size[1], 1e-9))
        self.low, self.high = low, high
        self.height = self.size[1] * self.scale + 2 * _EDGE

    def place(self, point: Sequence[float]) -> tuple[float, float]:
        """Work out the pixel of a point."""
        x, y = point
        return float(_EDGE + (x - self.low[0]) * self.scale), float(_EDGE + (self.high[1] - y) * self.scale)

    def steps(self, points: Points) -> str:
        """Write points as the steps of a path, no finer than can be seen."""
        import shapely  # heavy: only where a picture is drawn

        pixels = (points - (self.low[0], self.high[1])) * (self.scale, -self.scale) + _EDGE
        fine = shapely.get_coordinates(shapely.simplify(shapely.linestrings(pixels), 0.1, preserve_topology=False))
        steps = "L".join(f"{x:.1f} {y:.1f}" for x, y in fine.tolist())
        return f"M{steps}"

    def path(self, points: Points, look: str) -> str:
        """Draw one line."""
        return f'<path {look} d="{self.steps(points)}"/>'

    def image(self, under: Under) -> str:
        """Lay the picture down."""
        (x0, y1), (x1, y0) = self.place(under.low), self.place(under.high)
        coded = b64encode(under.jpeg).decode()
        size = f'x="{x0:.1f}" y="{y0:.1f}" width="{x1 - x0:.1f}" height="{y1 - y0:.1f}"'
        return f'<image {size} preserveAspectRatio="none" href="data:image/jpeg;base64,{coded}"/>'

    def filled(self, shown: Sequence[Seen]) -> str:
        """Fill the metal between outlines and holes."""
        metal = "".join(f"{self.steps(s.points)}Z" for s in shown if s.role in {"outer", "hole", "plug"})
        return f'<path {_METAL} d="{metal}"/>' if metal else ""


def _size(one: Seen) -> float:
    return float(np.ptp(one.points, axis=0).max()) if one.role != "bad" else np.inf


def _outline(field: _Field, one: Seen) -> str:
    colour, dash, name = _STYLES[one.role]
    about = f"outline {one.id}: {name}" + (f", layer {one.layer}" if one.layer else "")
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    look = f'id="outline-{one.id}" data-outline="{one.id}" class="{one.role}" stroke="{colour}"{dashed}'
    return f'<path {look} d="{field.steps(one.points)}"><title>{_safe(about)}</title></path>'


def _label(field: _Field, one: Seen) -> str:
    x, y = field.place(one.points[len(one.points) // 3].tolist())
    halo = 'stroke="#ffffff" stroke-width="3" paint-order="stroke"'
    return f'<text x="{x + 3:.1f}" y="{y - 3:.1f}" font-size="12" fill="{_STYLES[one.role][0]}" {halo}>{one.id}</text>'


def _cross(x: float, y: float) -> str:
    return f'<path class="spot" stroke="{_SPOT}" d="M{x - 5:.1f} {y - 5:.1f}l10 10m0 -10l-10 10"/>'


def _legend(shown: Sequence[Seen], spots: int, wiped: str) -> list[str]:
    count = {role: sum(1 for s in shown if s.role == role) for role in _STYLES}
    rows = []
    for role, (colour, dash, name) in _STYLES.items():
        if count[role]:
            dashed = f' stroke-dasharray="{dash}"' if dash else ""
            swatch = f'<path stroke="{colour}"{dashed} d="M{_EDGE} -4h36"/>'
            rows.append(swatch + _text(_EDGE + 46, f"{name}: {count[role]}"))
    if any(s.lined for s in shown):
        swatch = f'<path {_LINED} d="M{_EDGE} -4h36"/>'
        rows.append(swatch + _text(_EDGE + 46, wiped))
    if spots:
        rows.append(_cross(_EDGE + 18, -4) + _text(_EDGE + 46, f"nook a fingertip does not reach: {spots}"))
    return rows


def _text(x: float, words: str) -> str:
    return f'<text x="{x:.0f}" y="0" fill="#1b1b1b">{_safe(words)}</text>'


def _safe(text: str) -> str:
    return escape("".join(c for c in text if c.isprintable()))


def _number(value: float) -> str:
    return f"{value:.4g}" if value < 1000 else f"{value:.0f}"
