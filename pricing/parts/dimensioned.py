"""A plain drawing with its dimensions, as SVG: lines in millimetres, measures in the shop's own units."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from html import escape

Point = tuple[float, float]
Write = Callable[[float], str]
"""Writes a length in mm as the shop reads it."""
_INK, _METAL, _SOFT, _BARE = "#22303c", "#e9e9e6", "#55636f", "#ffffff"
_LETTER = 1 / 28  # height of a letter over the longer side of what is drawn


@dataclass
class DimensionPlan:
    """What is drawn, from the upper left, downwards; `svg` fits the field to it.

    Letters and arrows go by the longer side of what will be drawn, ``span_mm``; ``write`` puts a length in mm in words.
    """

    span_mm: float
    write: Write
    _shapes: list[str] = field(default_factory=list)
    _low: list[float] = field(default_factory=lambda: [0.0, 0.0])
    _high: list[float] = field(default_factory=lambda: [0.0, 0.0])

    @property
    def letter_mm(self) -> float:
        """Height of a letter. [mm]"""
        return self.span_mm * _LETTER

    def _seen(self, *points: Point) -> None:
        for point in points:
            for axis in (0, 1):
                self._low[axis] = min(self._low[axis], point[axis])
                self._high[axis] = max(self._high[axis], point[axis])

    def path(self, points: Sequence[Point], *, closed: bool = True, fill: str = _METAL, dashed: bool = False) -> None:
        """Draw a line through points."""
        self._seen(*points)
        d = "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in points) + ("Z" if closed else "")
        dash = ' stroke-dasharray="6 4"' if dashed else ""
        filled = fill if closed else "none"
        self._shapes.append(
            f'<path d="{d}" fill="{filled}" stroke="{_INK}" stroke-width="1.4"{dash}'
            ' vector-effect="non-scaling-stroke"/>'
        )

    def rect(self, at: Point, wide: float, high: float, *, fill: str = _METAL) -> None:
        """Draw a rectangle from its upper left corner."""
        x, y = at
        self.path([(x, y), (x + wide, y), (x + wide, y + high), (x, y + high)], fill=fill)

    def opening(self, at: Point, wide: float, high: float) -> None:
        """Draw a rectangle that one sees through."""
        self.rect(at, wide, high, fill=_BARE)

    def circle(self, centre: Point, across: float, *, bare: bool = False) -> None:
        """Draw a circle."""
        x, y = centre
        self._seen((x - across / 2, y - across / 2), (x + across / 2, y + across / 2))
        fill = _BARE if bare else _METAL
        self._shapes.append(
            f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{across / 2:.2f}" fill="{fill}" stroke="{_INK}" stroke-width="1.4"'
            ' vector-effect="non-scaling-stroke"/>'
        )

    def note(self, at: Point, words: str, *, anchor: str = "middle", turned: bool = False) -> None:
        """Write a word."""
        x, y = at
        wide = 0.62 * self.letter_mm * len(words)
        left = {"middle": wide / 2, "start": 0.0, "end": wide}[anchor]
        reach = (left, wide - left)
        if turned:
            self._seen((x - self.letter_mm, y - reach[1]), (x, y + reach[0]))
        else:
            self._seen((x - reach[0], y - self.letter_mm), (x + reach[1], y + 0.3 * self.letter_mm))
        turn = f' transform="rotate(-90 {x:.2f} {y:.2f})"' if turned else ""
        self._shapes.append(
            f'<text x="{x:.2f}" y="{y:.2f}" font-size="{self.letter_mm:.2f}" text-anchor="{anchor}" fill="{_INK}"'
            f"{turn}>{escape(words)}</text>"
        )

    def across(self, left: float, right: float, y: float, words: str = "") -> None:
        """Measure from left to right, on a line at ``y``."""
        self._measure((left, y), (right, y))
        told = f"{words} {self.write(right - left)}".strip()
        self.note(((left + right) / 2, y + 1.25 * self.letter_mm), told)

    def down(self, top: float, bottom: float, x: float) -> None:
        """Measure from top to bottom, on a line at ``x``."""
        self._measure((x, top), (x, bottom))
        self.note((x - 0.45 * self.letter_mm, (top + bottom) / 2), self.write(bottom - top), turned=True)

    def _measure(self, start: Point, end: Point) -> None:
        self._seen(start, end)
        tick = 0.35 * self.letter_mm
        level = start[1] == end[1]
        ends = "".join(
            f"M{x - (0 if level else tick):.2f} {y - (tick if level else 0):.2f}"
            f"L{x + (0 if level else tick):.2f} {y + (tick if level else 0):.2f}"
            for x, y in (start, end)
        )
        d = f"M{start[0]:.2f} {start[1]:.2f}L{end[0]:.2f} {end[1]:.2f}{ends}"
        self._shapes.append(
            f'<path d="{d}" fill="none" stroke="{_SOFT}" stroke-width="1" vector-effect="non-scaling-stroke"/>'
        )

    def svg(self, about: str) -> str:
        """Write the drawing; ``about`` says what it shows, for those who hear it."""
        edge = 0.6 * self.letter_mm
        x, y = self._low[0] - edge, self._low[1] - edge
        wide, high = self._high[0] - x + edge, self._high[1] - y + edge
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{x:.2f} {y:.2f} {wide:.2f} {high:.2f}" role="img"'
            f' aria-label="{escape(about)}" font-family="system-ui, sans-serif">'
            f'<rect x="{x:.2f}" y="{y:.2f}" width="{wide:.2f}" height="{high:.2f}" fill="#fff"/>'
            f"{''.join(self._shapes)}</svg>"
        )
