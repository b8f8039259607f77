"""The cards for pictures, as pages to print at true size: four to cut out, and a ruler to check the printer with."""

from html import escape
from pathlib import Path

from pricing.papers.outfiles import save_all
from pricing.parts.bounds import need
from pricing.parts.photo_cards import CARD_MM, CARDS, RULER_MM, marker_cells
from pricing.parts.photo_cards import MARKER_MM as INK_MM

PAPERS_MM = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
"""Width and height of the papers, ISO 216 and ANSI/ASME Y14.1 (size A, rounded as printers name it) [mm]."""
_GAP, _TOP = 6.0, 24.0
_POINT = 72 / 25.4  # PDF units in a millimetre


def write_cards(folder: Path) -> list[Path]:
    """Write the page of cards for each paper, as PDF, into a folder, which is made when it is not there.

    Raises
    ------
    BadInput
        OpenCV is missing, or the folder cannot be written.
    """
    need("the cards", "cv2", extra="photos")
    import vl_convert  # heavy: only where a page is printed

    pages = {f"_{name.lower()}.pdf": vl_convert.svg_to_pdf(cards_page(name)) for name in PAPERS_MM}
    return save_all(folder, "cards", pages, replace=True)


def cards_page(paper: str) -> str:
    """Draw the page of one paper.

    Parameters
    ----------
    paper : str
        A key of `PAPERS_MM`.
    """
    wide, high = PAPERS_MM[paper]
    left = (wide - 2 * CARD_MM - _GAP) / 2
    body = [
        _text(wide / 2, 11, 5.2, "Cards for pictures of flat parts"),
        _text(wide / 2, 17.5, 3.4, "Print at 100 % (no fitting to the page), on matt white paper or thin card."),
    ]
    for number in range(CARDS):
        row, column = divmod(number, 2)
        body.append(_card(number, left + column * (CARD_MM + _GAP), _TOP + row * (CARD_MM + _GAP)))
    foot = _TOP + 2 * CARD_MM + _GAP + 12
    body += _ruler((wide - RULER_MM) / 2, foot)
    words = (
        'This line is 100 mm: measure it. If it is not, say what you measured: --ruler "99.4 mm".',
        "Cut along the dashed lines. Lay three or four cards flat round the part, on the same ground, not touching it.",
        "Plain matt ground, much lighter or darker than the part. No flash. Hold the phone flat above the middle,",
        "far enough that all cards and a hand's breadth of ground are in the picture.",
    )
    body += [_text(wide / 2, foot + 14 + 6 * k, 3.6, line) for k, line in enumerate(words)]
    size = f'width="{wide * _POINT:.4f}" height="{high * _POINT:.4f}"'
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide} {high}" {size} font-family="sans-serif">'
    return "\n".join([head, '<rect width="100%" height="100%" fill="#ffffff"/>', *body, "</svg>", ""])


def _card(number: int, x: float, y: float) -> str:
    margin, cells = (CARD_MM - INK_MM) / 2, marker_cells(number)
    side = INK_MM / len(cells)
    whites = "".join(
        f"M{x + margin + c * side:.4f} {y + margin + r * side:.4f}h{side:.4f}v{side:.4f}h{-side:.4f}z"
        for r, line in enumerate(cells.tolist())
        for c, white in enumerate(line)
        if white
    )
    ink = f'<rect x="{x + margin}" y="{y + margin}" width="{INK_MM}" height="{INK_MM}" fill="#000000"/>'
    cut = f'<rect x="{x}" y="{y}" width="{CARD_MM}" height="{CARD_MM}" fill="none" stroke="#999999" '
    cut += 'stroke-width="0.2" stroke-dasharray="2 2"/>'
    told = _text(x + CARD_MM / 2, y + CARD_MM - 3.2, 3.2, f"card {number + 1} of {CARDS}")
    return f'{cut}{ink}<path d="{whites}" fill="#ffffff"/>{told}'


def _ruler(x: float, y: float) -> list[str]:
    steps = round(RULER_MM / 10)
    ticks = "".join(f"M{x + 10 * k:.3f} {y}v{-4 if k % 5 == 0 else -2.5}" for k in range(steps + 1))
    marks = [_text(x + 50 * k, y + 4.6, 3.2, f"{50 * k}") for k in range(steps // 5 + 1)]
    return [f'<path d="M{x} {y}h{RULER_MM:g}{ticks}" stroke="#000000" stroke-width="0.25" fill="none"/>', *marks]


def _text(x: float, y: float, size: float, words: str) -> str:
    return f'<text x="{x}" y="{y}" font-size="{size}" text-anchor="middle" fill="#222222">{escape(words)}</text>'
