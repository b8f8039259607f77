"""The cards' pages: of the paper's size, true to scale, and found again by the detector that reads pictures."""

import io
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image
from pypdf import PdfReader

from pricing.papers.printed_cards import PAPERS_MM, cards_page, write_cards
from pricing.parts.photo_cards import CARDS, MARKER_MM, find_cards
from pricing.parts.photo_file import to_light

POINT_MM = 25.4 / 72


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("cards") / "new"
    assert [path.name for path in write_cards(folder)] == ["cards_a4.pdf", "cards_letter.pdf"]
    return folder


@pytest.mark.parametrize(("name", "size"), [("a4", (210, 297)), ("letter", (8.5 * 25.4, 11 * 25.4))])
def test_pages_have_the_size_of_their_paper(name: str, size: tuple[float, float], folder: Path) -> None:
    """ISO 216 A4: 210 × 297 mm; ANSI size A: 8.5 × 11 in."""
    (page,) = PdfReader(folder / f"cards_{name}.pdf").pages
    wide, high = (float(length) * POINT_MM for length in page.mediabox[2:])
    assert (wide, high) == pytest.approx(size, abs=0.05)
    assert "This line is 100 mm" in page.extract_text()
    assert not list(folder.glob("*.part"))


@pytest.mark.parametrize("paper", PAPERS_MM)
def test_markers_are_found_again_at_their_true_size(paper: str) -> None:
    import vl_convert

    png = vl_convert.svg_to_png(cards_page(paper), scale=3)
    dots = np.asarray(Image.open(io.BytesIO(png)).convert("L"))
    per_mm = dots.shape[1] / PAPERS_MM[paper][0]
    cards = find_cards(dots, to_light(dots))
    assert [card.number for card in cards] == list(range(CARDS))
    for card in cards:
        sides = np.hypot(*(np.roll(card.corners, -1, axis=0) - card.corners).T) / per_mm
        assert sides == pytest.approx(MARKER_MM, abs=0.15)
        top = card.sides[0]  # its upper side lies above its lower one, from left to right
        assert top[:, 1].mean() < card.sides[2][:, 1].mean()


def test_the_ruler_is_a_hundred_millimetres_long(folder: Path) -> None:
    page = PdfReader(folder / "cards_a4.pdf").pages[0]
    numbers = [line.split() for line in page.get_contents().get_data().decode("latin-1").splitlines()]
    starts = {(float(w[0]), float(w[1])) for w in numbers if len(w) == 3 and w[2] == "m"}
    ends = {(float(w[0]), float(w[1])) for w in numbers if len(w) == 3 and w[2] == "l"}
    assert any(abs(b[0] - a[0] - 100) < 1e-3 and abs(a[1] - b[1]) < 1e-6 for a in starts for b in ends)


def test_a_folder_that_cannot_be_made_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    from pricing.basis.errors import BadInput

    with pytest.raises(BadInput, match="can be written"):
        write_cards(tmp_path / "file")


def test_the_dictionary_is_opencvs_own() -> None:
    book = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    assert book.markerSize == 4
