"""One look for every page: colours that stay apart for colour-blind eyes, type, and the theme of the charts.

Gives    named colours, the style sheet of the widgets, and the settings every chart is drawn with.
Sources  pairs were chosen to differ in lightness as well as in hue: single against two-tone is blue against
         vermilion, the four kinds of money are navy, gold, sage and stone; nothing is told by colour alone.
"""

from functools import cache
from pathlib import Path
from typing import Any, Final

from pricing.basis.files import read_text

INK: Final = "#22303c"
SOFT: Final = "#55636f"
LINE: Final = "#dcd6ca"
SINGLE: Final = "#2a66a0"
TWO_TONE: Final = "#b8481f"
GAIN: Final = "#1d7458"
THIN: Final = "#8a6100"
LOSS: Final = "#a3312a"

MONEY_COLOURS: Final = {"cash": "#1f4460", "labour": "#dd9f3d", "machines": "#6c9f95", "overhead": "#b9b2a3"}
"""Colour of each of the four kinds of money."""

HOUR_COLOURS: Final = {
    "pay": "#dd9f3d",
    "dues": "#f0cf96",
    "bills": "#b9b2a3",
    "wear and interest": "#1f4460",
    "upkeep": "#6c9f95",
}
"""Colour of each part of what an hour costs."""

PAY_COLOURS: Final = {"pays": GAIN, "loses money": LOSS}
"""Colour of what pays, and of what does not."""

HEAT_COLOURS: Final = {
    "parts": "#b8481f",
    "racks": "#e0a183",
    "the oven itself": "#1f4460",
    "walls": "#6c9f95",
    "exhaust": "#dd9f3d",
    "longer stay": "#c9ddd8",
    "door": "#f0cf96",
    "fans": "#8d86b0",
    "flue and meter": "#b9b2a3",
}
"""Colour of each way that an oven's heat goes."""

SIDES: Final = ("Single-tone", "Two-tone")
"""Names of the two sides, in the order of their colours."""

FONT: Final = "system-ui, -apple-system, 'Segoe UI', Roboto, 'Noto Sans', 'Liberation Sans', sans-serif"
TEXT_PX: Final = 12
"""Smallest text of a chart."""


def asset(name: str, beside: str = __file__) -> str:
    """Write the text of a script or style sheet that lies beside a module."""
    return read_text(Path(beside).with_name(name))


def script(name: str, beside: str = __file__) -> str:
    """Write the script of a widget, with what all of them build on before it."""
    return f"{asset('dom.js')}\n{asset(name, beside)}"


@cache
def style_sheet() -> str:
    """Write the style sheet of all widgets, with the colours of this module put in."""
    colours = {
        "ink": INK,
        "soft": SOFT,
        "line": LINE,
        "single": SINGLE,
        "two-tone": TWO_TONE,
        "gain": GAIN,
        "thin": THIN,
        "loss": LOSS,
    }
    names = "".join(f"--pp-{name}: {colour}; " for name, colour in colours.items())
    return f":root {{ {names}--pp-font: {FONT}; }}\n{asset('look.css')}"


def chart_theme() -> dict[str, Any]:
    """Describe the configuration of every chart, as Vega-Lite takes it."""
    axis = {
        "labelFont": FONT,
        "titleFont": FONT,
        "labelFontSize": TEXT_PX,
        "titleFontSize": TEXT_PX,
        "labelColor": INK,
        "titleColor": SOFT,
        "titleFontWeight": "normal",
        "gridColor": "#ece7dd",
        "domainColor": LINE,
        "tickColor": LINE,
        "labelLimit": 210,
        "titlePadding": 6,
        "labelOverlap": "greedy",
        "labelSeparation": 4,
    }
    legend = {
        "labelFont": FONT,
        "labelFontSize": TEXT_PX,
        "titleFont": FONT,
        "titleFontSize": TEXT_PX,
        "labelColor": INK,
        "titleColor": SOFT,
        "symbolType": "square",
        "symbolSize": 90,
        "orient": "top",
        "title": None,
        "offset": 4,
        "padding": 0,
        "columnPadding": 12,
        "labelLimit": 260,
    }
    return {
        "background": "transparent",
        "font": FONT,
        "padding": 2,
        "axis": axis,
        "axisY": {"labelSeparation": 0},  # each bar has its name; side by side, labels need the room
        "legend": legend,
        "view": {"stroke": "transparent"},
        "text": {"font": FONT, "fontSize": TEXT_PX, "fill": INK},
        "line": {"strokeWidth": 2.5},
        "rule": {"strokeWidth": 1.5},
    }
