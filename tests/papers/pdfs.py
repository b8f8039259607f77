"""What a PDF says: its words by page, its numbers, its metadata."""

import re
from pathlib import Path

from pypdf import PdfReader

NUMBER = re.compile(r"\d[\d,]*(?:\.\d+)?")


def page_texts(path: Path) -> list[str]:
    return [page.extract_text() for page in PdfReader(path).pages]


def text_of(path: Path) -> str:
    return "\n".join(page_texts(path))


def numbers(text: str) -> list[float]:
    return [float(found.replace(",", "")) for found in NUMBER.findall(text)]


def metadata(path: Path) -> str:
    reader = PdfReader(path)
    told = " ".join(f"{key} {value}" for key, value in (reader.metadata or {}).items())
    packet = reader.trailer["/Root"]["/Metadata"].get_object().get_data().decode()  # type: ignore[index]
    return f"{told} {packet}"


def text_places(path: Path) -> list[tuple[float, float, float, float]]:
    """Where texts begin, with the size of their page: (x, y, width, height). [pt]"""
    found = []
    for page in PdfReader(path).pages:
        width, height = float(page.mediabox.width), float(page.mediabox.height)

        def note(
            text: str,
            cm: list[float],
            tm: list[float],
            _font: object,
            _size: float,
            size: tuple[float, float] = (width, height),
        ) -> None:
            if text.strip():
                x, y = (tm[4] * cm[n] + tm[5] * cm[n + 2] + cm[n + 4] for n in (0, 1))
                if (x, y) != (0, 0):  # words of a chart have places of their own
                    found.append((x, y, *size))

        page.extract_text(visitor_text=note)
    return found
